"""What is drawn, and what is not: the figures' content, their table, their text, and the server's SVG."""

import json
import re
from collections.abc import Iterator
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree

import plotly.graph_objects as go
import pytest

from tests.trends.hand_made import KINDS, RATINGS, YEARS, outcome, period, series
from trends import charts, sparklines
from trends.chart_parts import nice_ceiling, runs, trend_line, value_range
from trends.chart_style import CLAY, PAPER, PLUM, SAND, WATER
from trends.charts import NoteMark


def trace(figure: dict[str, Any], name: str) -> dict[str, Any] | None:
    return next((t for t in figure["data"] if t["name"] == name), None)


def words(figure: dict[str, Any]) -> list[str]:
    return [a["text"] for a in figure["layout"]["annotations"]]


def drawn(figure: dict[str, Any], name: str) -> list[tuple[int, float]]:
    one = trace(figure, name)
    assert one is not None
    return [(x, y) for x, y in zip(one["x"], one["y"], strict=True) if x is not None]


def lines_of(one: dict[str, Any]) -> Iterator[list[int]]:
    """The runs of x that plotly joins: an empty point parts them."""
    run: list[int] = []
    for x in [*one["x"], None]:
        if x is None:
            yield run
            run = []
        else:
            run.append(x)


@pytest.mark.parametrize("name", KINDS)
def test_every_kind_makes_a_figure_that_the_library_accepts(name: str) -> None:
    figure = charts.trajectory(KINDS[name])
    go.Figure(json.loads(json.dumps(figure)))
    assert figure["layout"]["title"]["text"]
    assert figure["layout"]["meta"]["text"]


@pytest.mark.parametrize("name", [n for n in KINDS if n != "nothing"])
def test_every_year_stands_on_the_axis(name: str) -> None:
    axis = charts.trajectory(KINDS[name])["layout"]["xaxis"]
    assert axis["tickvals"] == list(YEARS)
    assert axis["ticktext"] == [str(y) for y in YEARS]


@pytest.mark.parametrize("name", KINDS)
def test_a_line_only_where_a_direction_is_supported(name: str) -> None:
    figure = charts.trajectory(KINDS[name])
    supported = name in {
        "very likely better", "likely worse", "split by method", "no limits", "neutral rising",
        "share that should fall",
    }  # fmt: skip
    assert (trace(figure, "slope") is not None) == supported
    assert ('class="trend' in sparklines.spark(KINDS[name])) == supported
    assert ('class="trend' in sparklines.static_chart_svg(KINDS[name])) == supported


def test_the_line_runs_from_first_to_last_year_of_its_period() -> None:
    line = trace(charts.trajectory(KINDS["split by method"]), "slope")
    assert line is not None
    assert line["x"] == [2013, 2017]


def test_the_band_needs_limits() -> None:
    assert trace(charts.trajectory(KINDS["very likely better"]), "95 % band") is not None
    assert trace(charts.trajectory(KINDS["no limits"]), "95 % band") is None


def test_the_band_pinches_at_the_middle_year_and_holds_the_line() -> None:
    one = KINDS["very likely better"]
    line = trend_line(one, one.periods[0])
    assert line is not None
    # Median of the 11 years with a value, 2006 to 2017 without 2012, by hand: 2011.
    assert line.lower[1] == line.upper[1]
    assert line.lower[1][0] == 2011
    for end in (0, 1):
        place = 2 * end
        assert line.lower[place][1] < line.line[end][1] < line.upper[place][1]


def test_a_missing_year_is_a_gap_on_sand_with_its_reason() -> None:
    figure = charts.trajectory(KINDS["very likely better"])
    median = trace(figure, "Alder Run")
    assert median is not None
    assert 2012 not in median["x"]
    assert not any(2011 in run and 2013 in run for run in lines_of(median))
    gap = next(s for s in figure["layout"]["shapes"] if s["name"] == "gap")
    assert (gap["x0"], gap["x1"], gap["fillcolor"]) == (2011.5, 2012.5, SAND)
    assert "high water all summer" in words(figure)


def test_no_line_crosses_a_method_break() -> None:
    figure = charts.trajectory(KINDS["split by method"])
    for one in figure["data"]:
        if "lines" in one["mode"]:
            for run in lines_of(one):
                assert not (min(run, default=9999) < 2013 <= max(run, default=0)), one["name"]
    rule = next(s for s in figure["layout"]["shapes"] if s["name"] == "method break")
    assert rule["x0"] == rule["x1"] == 2012.5
    assert rule["line"]["color"] == PLUM
    assert "2013: new method" in words(figure)


def test_a_break_parts_neighbouring_years() -> None:
    years = KINDS["very likely better"].series[0].years
    assert [len(r) for r in runs(years, (2009,))] == [3, 3, 5]


def test_index_axis_is_its_full_scale_with_rating_words() -> None:
    figure = charts.trajectory(KINDS["unclear"])
    assert figure["layout"]["yaxis"]["range"] == [1.0, 5.0]
    assert figure["layout"]["yaxis"]["title"]["text"] == "Fish index score (points)"
    assert {word for word, _, _ in RATINGS} <= set(words(figure))
    filled = [s for s in figure["layout"]["shapes"] if s["name"] != "gap" and s["type"] == "rect"]
    assert filled == []


def test_other_axes_start_at_zero() -> None:
    assert charts.trajectory(KINDS["neutral rising"])["layout"]["yaxis"]["range"][0] == 0
    assert value_range(KINDS["share that should fall"]) == (0, 100)


def test_no_legend_but_names_at_the_line_ends() -> None:
    figure = charts.trajectory(KINDS["unclear"])
    assert figure["layout"]["showlegend"] is False
    assert {"ALD-01", "ALD-02", "median"} <= set(words(figure))


def test_names_at_the_line_ends_keep_apart() -> None:
    same = dict.fromkeys(YEARS, 3.0)
    rows = tuple(series(f"S{i}", same) for i in range(6))
    figure = charts.trajectory(outcome(period(), series=rows))
    spots = sorted(a["y"] for a in figure["layout"]["annotations"] if a["name"] in ("wide", "always"))
    least = (5 - 1) / charts.MAIN_PX * 12
    assert all(b - a >= least for a, b in pairwise(spots))
    assert spots[-1] <= 5


def test_many_stations_stay_one_trace() -> None:
    rows = tuple(series(f"S{i}", dict.fromkeys(YEARS, 3.0)) for i in range(80))
    figure = charts.trajectory(outcome(period(), series=rows))
    assert len(figure["data"]) <= 6
    assert "stations" in words(figure)


def test_a_chosen_station_stands_out() -> None:
    figure = charts.trajectory(KINDS["unclear"], highlight_station="ALD-02")
    assert trace(figure, "ALD-02") is not None
    assert "ALD-02" not in (trace(figure, "stations") or {})["text"]


NOTES = [
    NoteMark(number=1, title="Roofs", first=2007.3, last=2009.6, category="building", precision="month"),
    NoteMark(number=2, title="Pond", first=2008.0, last=2009.0, category="dam", precision="year"),
    NoteMark(number=3, title="Spill", first=2014.2, last=None, category="pipe", precision="day"),
    NoteMark(number=4, title="Later road", first=2030.5, last=None, category="road", precision="day"),
]


def test_notes_are_numbered_marks_and_spans_below_the_years() -> None:
    figure = charts.trajectory(KINDS["unclear"], notes=NOTES)
    marks = trace(figure, "notes")
    assert marks is not None
    assert marks["text"] == ["1", "2", "3", "4›"]
    # March 2014 lies before the summer visit, whose dot stands on 2014.
    assert marks["x"][2] == pytest.approx(2013.7)
    assert marks["marker"]["color"] == [CLAY, PAPER, CLAY, CLAY]
    assert marks["y"][0] != marks["y"][1]
    assert "Spill (pipe)" in marks["hovertext"][2]
    assert figure["layout"]["yaxis2"]["domain"][1] < figure["layout"]["yaxis"]["domain"][0]


def test_hard_surface_is_a_thin_line_from_zero_with_its_ends_named() -> None:
    figure = charts.trajectory(KINDS["unclear"], cover=[(2001, 4.0), (2006, 8.2), (2016, 15.4)])
    assert drawn(figure, "hard surface") == [(2006, 8.2), (2016, 15.4)]
    assert figure["layout"]["yaxis3"]["range"][0] == 0
    assert {"hard surface 8 %", "15 %"} <= set(words(figure))


def test_without_notes_and_cover_there_is_no_strip() -> None:
    layout = charts.trajectory(KINDS["unclear"])["layout"]
    assert "yaxis2" not in layout
    assert layout["yaxis"]["domain"] == [0, 1]


def test_the_table_equals_the_dots() -> None:
    one = KINDS["likely worse"]
    figure = charts.trajectory(one)
    table = figure.table
    assert table.header == ("Year", "Median of stations", "ALD-01", "ALD-02", "Remark")
    from_table = [(int(r[0]), float(r[1])) for r in table.rows if r[1] != "–"]
    assert from_table == drawn(figure, "Alder Run")
    stations = drawn(figure, "stations")
    for column in (2, 3):
        assert all((int(r[0]), float(r[column])) in stations for r in table.rows if r[column] != "–")
    assert len(stations) == sum(1 for r in table.rows for c in (2, 3) if r[c] != "–")
    assert table.rows[6] == ("2012", "–", "–", "–", "high water all summer")


def test_the_text_says_kind_verdict_extremes_and_gaps() -> None:
    text = charts.text_alternative(KINDS["likely worse"])
    assert text.startswith(
        "Dot chart. Fish index score in Alder Run, 11 years from 2006 to 2017, scale 1 to 5."
    )
    assert "fish health probably got worse." in text
    assert "Lowest 2.80 in 2006, highest 3.24 in 2017, latest 3.24 in 2017." in text
    assert text.endswith("No value for 2012.")


def test_title_and_subtitle_name_finding_measure_stations_and_years() -> None:
    title = charts.trajectory(KINDS["likely worse"])["layout"]["title"]
    assert title["text"] == "Fish health in Alder Run: probably getting worse"
    assert title["subtitle"]["text"] == (
        "Fish index score (points); 2 stations; 11 comparable years, 2006 to 2017"
    )


def test_the_figure_of_eighty_stations_stays_small() -> None:
    rows = tuple(series(f"S-{i:02}", dict.fromkeys(YEARS, 3.123456)) for i in range(80))
    assert len(json.dumps(charts.trajectory(outcome(period(), series=rows)))) < 60_000


SPECIES = [
    ("Rhinichthys atratulus", "Eastern Blacknose Dace", [40, None, 10]),
    ("Cottus caeruleomentum", "", [0, None, 2]),
]


def test_species_chart_keeps_no_visit_apart_from_not_caught() -> None:
    figure = charts.species_by_year(SPECIES, [2010, 2011, 2012])
    caught, absent = trace(figure, "caught"), trace(figure, "not caught")
    assert caught is not None
    assert absent is not None
    assert (absent["x"], absent["y"]) == ([2010], [1])
    assert 2011 not in caught["x"]
    assert [s["x0"] for s in figure["layout"]["shapes"]] == [2010.5]
    assert figure.table.rows == (
        ("Eastern Blacknose Dace", "40", "–", "10"),
        ("Cottus caeruleomentum", "0", "–", "2"),
    )
    assert (
        figure["layout"]["title"]["text"]
        == "2 kinds of fish caught in 2 visited years; 1 in every one of them"
    )


def test_dot_area_follows_the_count() -> None:
    caught = trace(charts.species_by_year(SPECIES, [2010, 2011, 2012]), "caught")
    assert caught is not None
    # A quarter of the fish, a quarter of the area, half the diameter.
    assert caught["marker"]["size"][1] == pytest.approx(caught["marker"]["size"][0] / 2)


@pytest.mark.parametrize(
    ("totals", "said"),
    [
        ([42, 12, 7], "The catch fell with each pass: 42 in pass 1, 12 in pass 2 and 7 in pass 3"),
        ([12, 15], "The catch did not fall with each pass: 12 in pass 1 and 15 in pass 2"),
        ([9], "9 in pass 1; a single pass cannot show how many were missed"),
    ],
)
def test_depletion_says_whether_the_catch_fell(totals: list[int], said: str) -> None:
    figure = charts.depletion(totals, [("Brown Trout", totals)])
    assert figure["layout"]["title"]["text"] == said
    assert figure["data"][0]["y"] == totals
    assert figure.table.rows[-1] == ("All fish", *(str(t) for t in totals), str(sum(totals)))


def test_small_multiples_share_years_and_value_axis() -> None:
    figure = charts.small_multiple(KINDS["unclear"], years=(2000, 2020))
    assert figure["layout"]["xaxis"]["range"] == [1999.4, 2020.6]
    assert figure["layout"]["yaxis"]["range"] == [1.0, 5.0]


@pytest.mark.parametrize("name", KINDS)
def test_server_drawn_pictures_are_sound_xml_without_inline_style(name: str) -> None:
    for svg in (sparklines.spark(KINDS[name]), sparklines.static_chart_svg(KINDS[name])):
        ElementTree.fromstring(svg)
        assert "style=" not in svg
        assert not re.search(r"""["']#""", svg)


def test_the_small_picture_has_a_dot_for_each_year_and_a_name() -> None:
    svg = sparklines.spark(KINDS["split by method"])
    assert svg.count('class="dot"') == 11
    assert svg.count('class="gap"') == 1
    assert svg.count('class="break"') == 1
    assert re.search(r"<title>Fish health in Alder Run: .*</title>", svg)


def test_small_pictures_side_by_side_can_share_years_and_axis() -> None:
    wide = sparklines.spark(KINDS["unclear"], years_shown=(2000, 2020), top=10.0)
    assert wide.count('class="year-tick"') == 21
    assert ">2000</text>" in wide
    assert ">2020</text>" in wide


def test_names_are_escaped_in_pictures() -> None:
    svg = sparklines.spark(outcome(period(), place_name="<b>Run & Co</b>"))
    assert "<b>" not in svg


@pytest.mark.parametrize(("value", "top"), [(0, 1), (7, 8), (19.2, 20), (23, 25), (193, 200), (0.013, 0.015)])
def test_axis_ends_are_round(value: float, top: float) -> None:
    assert nice_ceiling(value) == pytest.approx(top)


def test_colours_of_the_line_follow_the_verdict() -> None:
    for name, colour in (("very likely better", WATER), ("likely worse", CLAY)):
        line = trace(charts.trajectory(KINDS[name]), "slope")
        assert line is not None
        assert line["line"]["color"] == colour
