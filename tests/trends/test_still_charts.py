"""A figure drawn plainly shows every number of the live one, at the same places."""

import re
import xml.etree.ElementTree as ET

from trends.chart_visits import depletion, species_by_year
from trends.still_charts import still_of

SVG = "{http://www.w3.org/2000/svg}"
YEARS = [2019, 2020, 2021]
ROWS = [
    ("Semotilus atromaculatus", "Creek Chub", [40, None, 10]),
    ("Cottus bairdii", "Mottled Sculpin", [0, None, 3]),
]


def _drawn(still: str) -> ET.Element:
    return ET.fromstring(re.sub("^<svg", '<svg xmlns="http://www.w3.org/2000/svg"', still))


def _words(picture: ET.Element) -> list[str]:
    return [one.text or "" for one in picture.iter(f"{SVG}text")]


def _of_class(picture: ET.Element, name: str) -> list[ET.Element]:
    return [one for one in picture.iter() if one.get("class") == name]


def test_bars_are_as_high_as_the_catch_of_their_pass() -> None:
    picture = _drawn(
        still_of(depletion([80, 40, 10], [("Creek Chub", [60, 30, 8]), ("Sculpin", [20, 10, 2])]))
    )
    heights = [float(bar.get("height") or 0) for bar in _of_class(picture, "bar")]
    assert [round(one / heights[2], 1) for one in heights] == [8.0, 4.0, 1.0]
    assert {"80", "40", "10", "1", "2", "3", "Creek Chub", "Sculpin"} <= set(_words(picture))
    # Both lines of kinds, each with a mark for each pass.
    assert len(_of_class(picture, "station-line")) == 2
    assert len(_of_class(picture, "station")) == 6


def test_the_area_of_a_dot_is_the_number_of_fish() -> None:
    picture = _drawn(still_of(species_by_year(ROWS, YEARS)))
    radii = {one.findtext(f"{SVG}title"): float(one.get("r") or 0) for one in _of_class(picture, "dot")}
    assert set(radii) == {
        "Creek Chub, 2019: 40 caught",
        "Creek Chub, 2021: 10 caught",
        "Mottled Sculpin, 2021: 3 caught",
    }
    assert round(radii["Creek Chub, 2019: 40 caught"] / radii["Creek Chub, 2021: 10 caught"], 2) == 2


def test_not_caught_is_a_dash_and_a_year_without_visit_is_sand() -> None:
    picture = _drawn(still_of(species_by_year(ROWS, YEARS)))
    dashes = [
        one
        for one in _of_class(picture, "axis")
        if 0 < float(one.get("x2") or 0) - float(one.get("x1") or 0) < 10
    ]
    assert len(dashes) == 1
    assert len(_of_class(picture, "gap")) == 1
    assert {"2019", "2020", "2021", "Creek Chub", "Mottled Sculpin"} <= set(_words(picture))


def test_many_years_do_not_write_over_each_other() -> None:
    years = list(range(1980, 2025))
    picture = _drawn(still_of(species_by_year([("Cottus bairdii", "", [1] * len(years))], years)))
    named = [int(words) for words in _words(picture) if words.isdigit()]
    assert named[-1] == 2024
    assert len(named) < 20
