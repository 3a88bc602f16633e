"""Charts as files: which are drawn, what they are called and say, frames, and what happens without a browser."""

import asyncio
import datetime
import re
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from django.core.management import CommandError, call_command
from kaleido import Kaleido
from kaleido.errors import KaleidoError

from surveys.models import Catch, Taxon, Watershed
from tests.factories import make_station, make_visit
from tests.trends.hand_made import outcome as hand_made_outcome
from tests.trends.hand_made import period
from trends import charts
from trends.chart_frames import SIZES, SLIDE, caption, framed, frames
from trends.exports import charts as export
from trends.recompute import mark_all, recompute_marked

DAY = datetime.date(2024, 11, 5)


@pytest.fixture
def creek(db: None) -> str:
    for code in ("ALD-01", "ALD-02"):
        station = make_station(code, watershed="Alder Run", stratum="eastern_piedmont", catchment_km2=12)
        for year in range(2015, 2023):
            fish = {"Creek Chub": 10 + year - 2015, "Blacknose Dace": 20, "Mottled Sculpin": 3}
            make_visit(station, f"{year}-07-01", passes=[fish, {"Creek Chub": 4}], mean_width_m=4)
    # What the index needs to know beside the counts; invented.
    Taxon.objects.update(benthic=False, lithophilic=False, hybrid=False)
    Catch.objects.update(biomass_g=40.0)
    mark_all()
    recompute_marked()
    return station.watershed.slug


# --- frames ------------------------------------------------------------------------------------------


def figure() -> Any:
    outcome = hand_made_outcome(period())
    note = charts.NoteMark(
        number=1, title="Weir out", first=2012.3, last=None, category="dam", precision="day"
    )
    return charts.trajectory(outcome, notes=[note], cover=[(2008, 9.0), (2016, 14.0)])


def sizes_of_type(part: Any) -> list[float]:
    """Every type size that a figure names."""
    if isinstance(part, dict):
        own = [part["size"]] if "family" in part and "size" in part else []
        own += [v["size"] for k, v in part.items() if k in ("font", "tickfont", "textfont") and "size" in v]
        return own + [s for v in part.values() for s in sizes_of_type(v)]
    return [s for v in part for s in sizes_of_type(v)] if isinstance(part, list) else []


def test_the_type_of_a_slide_is_at_least_18_points() -> None:
    """18 pt on a slide of 13.33 inches: figure from the practice notes on slides (common practice, no source)."""
    made = framed(figure(), frames(figure(), "Words.")["slide"])
    inches = 13.333
    points = min(sizes_of_type(made["layout"])) * inches * 72 / SLIDE[0]
    assert points >= 18


def test_a_slide_is_sixteen_to_nine_and_tells_one_thing() -> None:
    frame = frames(figure(), "Words.")["slide"]
    made = framed(figure(), frame)
    assert frame["width"] * 9 == frame["height"] * 16
    assert round(frame["width"] * frame["scale"]) == 1920
    assert not [part for part in made["data"] if part.get("yaxis") in ("y2", "y3")]
    assert "yaxis2" not in made["layout"] and made["layout"]["yaxis"]["domain"] == [0, 1]


def test_print_is_six_and_a_half_inches_at_300_dots_on_white() -> None:
    frame = frames(figure(), "Words.")["print"]
    assert frame["width"] * frame["scale"] == 6.5 * 300 and frame["paper"] == "#ffffff"


@pytest.mark.parametrize("size", SIZES)
def test_a_frame_leaves_the_numbers_as_they_are(size: str) -> None:
    source = figure()
    made = framed(source, frames(source, "Words.")[size])
    main = [(p["name"], p["x"], p["y"]) for p in source["data"] if p.get("yaxis") is None]
    assert [(p["name"], p["x"], p["y"]) for p in made["data"] if p.get("yaxis") is None] == main
    assert made["layout"]["yaxis"]["range"] == source["layout"]["yaxis"]["range"]
    assert source["layout"]["meta"]["text"], "the page's own figure stays as it was"


def test_a_caption_says_method_years_source_and_date() -> None:
    words = caption(figure(), "Alder County stream fish record", DAY)
    assert "Sampled by:" in words and "Years 2006 to 2017" in words
    assert (
        "Source: Alder County stream fish record, CC BY 4.0." in words
        and "Drawn on 5 November 2024." in words
    )


def test_numbered_notes_are_explained_where_the_strip_is_shown() -> None:
    made = frames(figure(), "Words.")
    assert "1 Weir out" in made["print"]["caption"] and "1 Weir out" not in made["slide"]["caption"]


def test_public_pictures_carry_no_p_value() -> None:
    assert not re.search(r"\bp\s*[=<]", str(framed(figure(), frames(figure(), "Words.")["screen"])))


# --- which charts ------------------------------------------------------------------------------------


@pytest.mark.django_db
def test_every_measure_and_every_station_gets_a_picture(creek: str) -> None:
    names = [p.name for p in export.watershed_pictures(Watershed.objects.get(slug=creek))]
    assert "alder-run-richness" in names and "alder-run-index-score" in names
    assert names[-2:] == ["alder-run-station-ald-01-index-score", "alder-run-station-ald-02-index-score"]
    assert len(set(names)) == len(names)


def test_neither_names_nor_words_betray_a_withheld_species(county: Any) -> None:
    """In a watershed with such a species the index alone is drawn, if it can be made."""
    pictures = export.watershed_pictures(county.guarded.watershed)
    for one in pictures:
        assert "etheostoma" not in one.name and "Etheostoma" not in str(one.figure)
        assert one.outcome.measure == "index_score"


# --- without a browser, and with bad input -----------------------------------------------------------------


def run(slug: str, out: Path, kind: str = "png", **more: Any) -> None:
    call_command("export_charts", watershed=slug, out=out, format=kind, verbosity=0, **more)


def test_without_a_browser_the_message_says_what_to_do(
    creek: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(export.shutil, "which", lambda name: None)
    monkeypatch.delenv("BROWSER_PATH", raising=False)
    with pytest.raises(CommandError, match=r"No Chromium is installed.*apt-get"):
        run(creek, tmp_path)
    monkeypatch.setenv("BROWSER_PATH", str(tmp_path / "nothing"))
    with pytest.raises(CommandError, match="no such file"):
        run(creek, tmp_path)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.django_db
def test_an_unknown_watershed_is_refused_with_the_known_ones(creek: str, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="Known: alder-run"):
        run("nowhere", tmp_path)


@pytest.mark.django_db
def test_a_watershed_without_results_says_what_would_fill_it(tmp_path: Path) -> None:
    make_station("REE-01", watershed="Reed Run")
    with pytest.raises(CommandError, match="no result to draw yet"):
        run("reed-run", tmp_path)


def test_a_file_in_the_place_of_the_folder_is_refused(creek: str, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("")
    with pytest.raises(CommandError, match="takes a folder"):
        run(creek, tmp_path / "taken")


# --- drawn -------------------------------------------------------------------------------------------


START = {"png": b"\x89PNG\r\n\x1a\n", "svg": b"<svg", "pdf": b"%PDF"}


@pytest.mark.browser
@pytest.mark.parametrize("kind", list(START))
def test_files_are_what_their_names_say(
    creek: str, tmp_path: Path, kind: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    few = export.watershed_pictures(Watershed.objects.get(slug=creek))[:2]
    written = export.write_pictures(few, tmp_path, kind)
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(f"{one.name}.{kind}" for one in few)
    for path in written:
        assert path.read_bytes().startswith(START[kind])
    if kind == "png":
        header = written[0].read_bytes()[16:24]
        assert int.from_bytes(header[:4], "big") == 2200
    if kind == "svg":
        text = written[0].read_text(encoding="utf-8")
        assert "Source: stream fish record kept in Rillmark" in text and "http://127" not in text


@pytest.mark.browser
def test_a_picture_that_takes_too_long_stops_the_batch_with_a_message(creek: str, tmp_path: Path) -> None:
    pictures = export.watershed_pictures(Watershed.objects.get(slug=creek))
    began = time.monotonic()
    with pytest.raises(export.NotDrawnError, match="was not drawn within"):
        export.write_pictures(pictures, tmp_path, "png", limit_s=0.001)
    assert time.monotonic() - began < 40
    assert list(tmp_path.iterdir()) == []


@pytest.mark.browser
@pytest.mark.parametrize(
    ("fault", "limit_s", "told"),
    [
        (KaleidoError(525, "no such axis"), 30, "could not be drawn: .*no such axis"),
        (OSError("the line is closed"), 30, "could not be drawn: the line is closed"),
        # Time that is up while the browser is being told what to draw breaks the line to it.
        (OSError("the line is closed"), 0.01, "was not drawn within 0.01 seconds; 0 of"),
    ],
)
def test_a_picture_that_the_browser_cannot_draw_stops_the_batch_with_a_message(
    creek: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: Exception, limit_s: float, told: str
) -> None:
    async def refuse(*_given: Any, **_named: Any) -> bytes:
        await asyncio.sleep(0.02)
        raise fault

    monkeypatch.setattr(Kaleido, "calc_fig", refuse)
    pictures = export.watershed_pictures(Watershed.objects.get(slug=creek))
    with pytest.raises(export.NotDrawnError, match=told):
        export.write_pictures(pictures, tmp_path, "png", limit_s=limit_s)
    assert list(tmp_path.iterdir()) == []


SVG = "{http://www.w3.org/2000/svg}"


def dots_of_the_line(svg: str) -> list[float]:
    """Values of the bold line's dots, from their heights and those of the axis' figures."""
    root = ElementTree.fromstring(svg)
    heights: dict[ElementTree.Element, float] = {}

    def place(element: ElementTree.Element, above: float) -> None:
        moved = re.match(r"translate\([-\d.]+, ?([-\d.]+)\)", element.get("transform", ""))
        heights[element] = above + (float(moved[1]) if moved else 0.0)
        for child in element:
            place(child, heights[element])

    place(root, 0.0)
    figures = [
        (heights[text], float((text.text or "").replace(",", "").replace("\u2212", "-")))
        for group in root.iter(f"{SVG}g")
        if group.get("class") == "ytick"
        for text in group.iter(f"{SVG}text")
    ]
    (y0, v0), (y1, v1) = figures[0], figures[-1]
    layer = next(g for g in root.iter(f"{SVG}g") if (g.get("class") or "").startswith("scatterlayer"))
    dots = [p for p in layer[-1].iter(f"{SVG}path") if p.get("class") == "point"]
    return [v0 + (heights[dot] - y0) / (y1 - y0) * (v1 - v0) for dot in dots]


@pytest.mark.browser
def test_the_numbers_in_the_drawing_are_those_of_the_table(creek: str, tmp_path: Path) -> None:
    """Heights of the dots, read against the ticks of the axis, give the values of the table back."""
    picture = next(
        p
        for p in export.watershed_pictures(Watershed.objects.get(slug=creek))
        if p.name.endswith("-total-catch")
    )
    [path] = export.write_pictures([picture], tmp_path, "svg")
    svg = path.read_text(encoding="utf-8")
    read = dots_of_the_line(svg)
    table = [float(row[1].replace(",", "")) for row in picture.figure.table.rows]
    assert read == pytest.approx(table, abs=0.01 * max(table))


def test_drawing_has_a_loop_of_its_own_also_where_one_runs_already() -> None:
    """As on a server that answers asynchronously."""

    async def drawn() -> list[Path]:
        return [Path("one.svg")]

    async def within() -> list[Path]:
        return export.run_in_a_loop(drawn)

    with ThreadPoolExecutor(max_workers=1) as other:
        assert other.submit(lambda: asyncio.run(within())).result() == [Path("one.svg")]
        assert other.submit(lambda: export.run_in_a_loop(drawn)).result() == [Path("one.svg")]
