"""The palette: contrast of every pair that touches, and one palette in the style sheet and the charts.

Least contrast: WCAG 2.2, success criteria 1.4.3 (text, 4.5:1) and 1.4.11 (lines and marks, 3:1).
"""

import re
from pathlib import Path

import pytest
import wcag_contrast_ratio as contrast
from plotly import graph_objects

from trends import chart_style

STATIC = Path(__file__).resolve().parents[2] / "static"
CSS = {path.name: path.read_text(encoding="utf-8") for path in (STATIC / "css").glob("*.css")}


def tokens(selector: str) -> dict[str, str]:
    block = CSS["site.css"].split(f"{selector} {{", 1)[1].split("}", 1)[0]
    return dict(re.findall(r"--([a-z]+):\s*(#[0-9a-f]{6})", block))


LIGHT = tokens(":root")
DARK = {**LIGHT, **tokens(".dark-room")}

TEXT_PAIRS = [
    ("ink", "paper"),
    ("stone", "paper"),
    ("water", "paper"),
    ("clay", "paper"),
    ("plum", "paper"),
    ("paper", "water"),  # buttons
    ("paper", "clay"),  # numbers in the note marks
    ("ink", "sand"),  # reasons on gaps
    ("ink", "mist"),
]
MARK_PAIRS = [("water", "mist"), ("clay", "mist"), ("water", "sand"), ("clay", "sand"), ("stone", "sand")]


def ratio(one: str, other: str) -> float:
    def parts(colour: str) -> tuple[float, ...]:
        return tuple(int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))

    return contrast.rgb(parts(one), parts(other))


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["paper", "dark room"])
@pytest.mark.parametrize("pair", TEXT_PAIRS, ids=lambda p: "-on-".join(p))
def test_text_is_readable(palette: dict[str, str], pair: tuple[str, str]) -> None:
    assert ratio(palette[pair[0]], palette[pair[1]]) >= 4.5


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["paper", "dark room"])
@pytest.mark.parametrize("pair", MARK_PAIRS, ids=lambda p: "-on-".join(p))
def test_lines_and_marks_stand_out(palette: dict[str, str], pair: tuple[str, str]) -> None:
    assert ratio(palette[pair[0]], palette[pair[1]]) >= 3


@pytest.mark.parametrize("token", ["paper", "ink", "stone", "water", "clay", "plum", "sand", "mist"])
def test_charts_and_style_sheet_share_one_palette(token: str) -> None:
    assert getattr(chart_style, token.upper()) == LIGHT[token]


def test_style_sheets_ask_nothing_of_other_sites() -> None:
    for name, text in CSS.items():
        assert not re.search(r"https?:|@import|//[a-z]", text), name


def test_motion_stops_for_those_who_asked() -> None:
    assert "prefers-reduced-motion: reduce" in CSS["site.css"]


def test_the_stand_in_for_the_librarys_map_style_has_the_librarys_id() -> None:
    """The installed library looks for exactly this id before it writes a style element."""
    library = Path(graph_objects.__file__).parents[1] / "package_data" / "plotly.min.js"
    wanted = re.findall(r'getElementById\("([0-9a-f]{64})"\)', library.read_text(encoding="utf-8"))
    script = (STATIC / "js" / "trajectory-chart.js").read_text(encoding="utf-8")
    assert wanted
    assert all(one in script for one in wanted)


def test_templates_carry_no_inline_style_or_script() -> None:
    """The content policy refuses both. A brief printed to a file has no address to load its style from."""
    for path in (STATIC.parent / "templates").rglob("*.html"):
        if path.name == "brief_file.html":
            continue
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"\sstyle\s*=|<style|\son[a-z]+\s*=\s*[\"']", text), path.name
        assert not re.search(r"<script(?![^>]*\ssrc=)", text), path.name
