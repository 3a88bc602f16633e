"""Checks of what the field sheet says beyond the catch: for each rule one file where it fires, and one just inside
where it does not.

The half hour between passes is asked for in a European stream guide kept by the Colorado Water Conservation Board
(document 133521, p. 28). The other limits that ask are the programme's own (common practice, no published source).
"""

import datetime
import io
from dataclasses import replace
from typing import Any

import openpyxl
import pytest

from surveys.uploads.checks import Checked, check_season
from surveys.uploads.findings import ERROR, NOTE, WARNING
from surveys.uploads.known import EarlierVisit, Known, KnownMethod, KnownStation
from surveys.uploads.reader import read_table
from tests.factories import season_csv

METHOD = KnownMethod(key=1, code="two-pass")
LAST = {
    "water_temp_c": 18.5,
    "conductivity_us_cm": 240.0,
    "ph": 7.4,
    "turbidity_ntu": 4.1,
    "conductivity_basis": "ambient",
    "waveform": "pulsed DC",
    "anodes": 1,
    "netters": 2,
}
KNOWN = Known(
    today=datetime.date(2024, 12, 31),
    stations={
        "mill-01": KnownStation(
            key=1,
            code="MILL-01",
            method=METHOD,
            reach_length_m=75,
            earlier=(EarlierVisit(date=datetime.date(2023, 7, 12), method=1, values=LAST),),
        )
    },
    taxa={"creek chub": (11,), "american eel": (12,)},
    taxon_names={11: "Semotilus atromaculatus", 12: "Anguilla rostrata"},
    methods={"two-pass": METHOD},
    default_method=METHOD,
)
BASE = {"station": "MILL-01", "visit_date": "2024-07-16", "pass": 1, "taxon": "Creek Chub", "count": 12}
TIMES = {"started_at": "09:00", "ended_at": "09:20", "effort_s": 900}


def check(*rows: dict[str, Any], known: Known = KNOWN) -> Checked:
    return check_season(read_table("season.csv", season_csv(*({**BASE, **row} for row in rows))), known)


def told(*rows: dict[str, Any], known: Known = KNOWN) -> list[tuple[str, str, str]]:
    return [(f.level, f.code, f.column) for f in check(*rows, known=known).findings]


def cell(name: str, *rows: dict[str, Any]) -> Any:
    found = check(*rows).rows
    assert found is not None
    return found.cells[name].value(0)


# --- weights --------------------------------------------------------------------------------------


def test_the_net_weight_is_worked_out_where_it_is_not_given() -> None:
    row = {"gross_g": 398.5, "tare_g": 250}
    assert told(row) == [(NOTE, "weight_worked_out", "biomass_g")]
    assert cell("biomass_g", row) == 148.5


@pytest.mark.parametrize(
    ("row", "finding"),
    [
        ({"gross_g": 250, "tare_g": 250.1}, (ERROR, "net_below_zero", "gross_g")),
        ({"gross_g": 398.5}, (ERROR, "half_a_weight", "tare_g")),
        ({"tare_g": 250, "biomass_g": 148.5}, (ERROR, "half_a_weight", "gross_g")),
        ({"gross_g": 398.5, "tare_g": 250, "biomass_g": 149.5}, (WARNING, "net_differs", "biomass_g")),
        ({"weighed": 13, "biomass_g": 100}, (ERROR, "weighed_above_count", "weighed")),
        ({"weighed": 12}, (WARNING, "weighed_without_weight", "weighed")),
    ],
)
def test_weights_that_cannot_be_or_do_not_agree(row: dict[str, Any], finding: tuple[str, str, str]) -> None:
    assert told(row) == [finding]


@pytest.mark.parametrize(
    "row",
    [
        {"gross_g": 398.5, "tare_g": 250, "biomass_g": 148.5},
        {"gross_g": 398.5, "tare_g": 250, "biomass_g": 149},
        {"weighed": 12, "biomass_g": 100},
        {"weighed": 4, "biomass_g": 40},
    ],
)
def test_weights_that_agree_are_not_remarked(row: dict[str, Any]) -> None:
    assert told(row) == []


def test_the_weight_of_a_fish_rests_on_the_fish_that_were_weighed() -> None:
    """By hand: 60 kg are 5 kg for each of 12 fish, but 30 kg for each of two."""
    assert told({"biomass_g": 50_000}) == []
    assert told({"biomass_g": 50_000, "weighed": 2}) == [(WARNING, "unusual_weight", "biomass_g")]


# --- what became of the fish, and where they were held -----------------------------------------------


@pytest.mark.parametrize("names", [("released", "died", "kept"), ("in_main", "in_eel_well", "in_other")])
def test_parts_make_up_the_count(names: tuple[str, str, str]) -> None:
    first, second, third = names
    assert told({first: 10, second: 1, third: 1}) == []
    assert told({first: 10, second: 1, third: 0}) == [(ERROR, "parts_differ_from_count", first)]
    assert told({first: 13, second: 0, third: 0}) == [(ERROR, "parts_differ_from_count", first)]
    # What is not given can only be guessed where the others leave something over.
    assert told({second: 1}) == [(ERROR, "parts_differ_from_count", second)]
    assert told({first: 12}) == []
    assert cell(third, {first: 12}) == 0


def test_no_fish_has_no_fate() -> None:
    row = {"taxon": "no fish", "count": 0, "died": 1}
    assert told(row) == [(ERROR, "parts_differ_from_count", "died")]


# --- times --------------------------------------------------------------------------------------------


def test_a_pass_ends_after_it_starts() -> None:
    assert told({"started_at": "09:00", "ended_at": "09:01"}) == []
    assert told({"started_at": "09:00", "ended_at": "09:00"}) == [
        (ERROR, "pass_ends_before_start", "ended_at")
    ]


def test_the_current_is_not_on_for_longer_than_the_clock_says() -> None:
    """Times are written to the minute, so that 20 minutes may have been nearly 21: 1,260 s."""
    assert told({**TIMES, "effort_s": 1_260}) == []
    assert told({**TIMES, "effort_s": 1_261}) == [(ERROR, "effort_above_clock", "effort_s")]


@pytest.mark.parametrize(
    ("start", "findings"),
    [
        ("09:50", []),
        ("09:49", [(WARNING, "short_rest", "started_at")]),
        ("09:20", [(WARNING, "short_rest", "started_at")]),
        ("09:19", [(ERROR, "passes_overlap", "started_at")]),
    ],
)
def test_passes_follow_each_other_with_half_an_hour_between(start: str, findings: list[Any]) -> None:
    second = {"pass": 2, "count": 3, "started_at": start, "ended_at": "10:30", "effort_s": 600}
    assert told(TIMES, second) == findings
    # The order of the rows in the file does not matter.
    assert told(second, TIMES) == findings


def test_passes_of_two_visits_may_lie_side_by_side() -> None:
    assert told(TIMES, {**TIMES, "visit_date": "2024-07-17"}) == []


# --- the current ----------------------------------------------------------------------------------------


def test_alternating_current_is_refused_unless_the_programme_allows_it() -> None:
    finding = ("alternating_current", "waveform")
    row = {"waveform": "AC"}
    fresh = replace(KNOWN, stations={"mill-01": replace(KNOWN.stations["mill-01"], earlier=())})
    assert told(row, known=fresh) == [(ERROR, *finding)]
    assert told(row, known=replace(fresh, alternating_current=True)) == [(WARNING, *finding)]
    assert told({"waveform": "pulsed DC"}, known=fresh) == []


def test_fast_pulses_are_asked_about_where_eels_are() -> None:
    eel = {"taxon": "American Eel", "count": 2, "pulse_hz_first": 31}
    assert told(eel) == [(WARNING, "fast_pulses", "pulse_hz_first")]
    assert told({**eel, "pulse_hz_first": 30}) == []
    assert told({"pulse_hz_first": 60}) == []


def test_a_wide_pulse_and_a_hidden_bottom_are_asked_about() -> None:
    assert told({"pulse_width_ms_first": 5}) == []
    assert told({"pulse_width_ms_first": 5.1}) == [(WARNING, "unusual_value", "pulse_width_ms_first")]
    assert told({"bottom_visible": "partly"}) == []
    assert told({"bottom_visible": "no"}) == [(WARNING, "unusual_value", "bottom_visible")]


# --- the visit --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "findings"),
    [
        ("2024-07-16", []),
        ("2024-06-16", []),
        ("2024-06-15", [(WARNING, "calibration_old", "calibrated_on")]),
        ("2024-07-17", [(ERROR, "calibrated_after_visit", "calibrated_on")]),
    ],
)
def test_meters_are_calibrated_before_the_visit_and_not_long_ago(day: str, findings: list[Any]) -> None:
    assert told({"calibrated_on": day}) == findings


def test_the_mean_width_is_that_of_the_widths() -> None:
    assert told({"widths_m": "3; 4; 5", "mean_width_m": 4.2}) == []
    assert told({"widths_m": "3; 4; 5", "mean_width_m": 4.21}) == [
        (WARNING, "width_differs_from_widths", "mean_width_m")
    ]


def test_three_readings_equal_to_the_last_visit_are_asked_about() -> None:
    two = {"water_temp_c": 18.5, "ph": 7.4}
    assert told(two) == []
    (finding,) = check({**two, "turbidity_ntu": 4.1}).findings
    assert (finding.level, finding.code) == (WARNING, "readings_repeated")
    assert "2023-07-12" in finding.message and "turbidity" in finding.message
    # A visit from before the one that is known has nothing to be copied from.
    assert told({**two, "turbidity_ntu": 4.1, "visit_date": "2023-07-12"}) == []


def test_a_conductivity_of_another_kind_and_other_gear_are_asked_about() -> None:
    assert told({"conductivity_basis": "25 C"}) == [(WARNING, "basis_differs", "conductivity_basis")]
    assert told({"anodes": 2}) == [(WARNING, "gear_differs", "anodes")]
    assert told({"waveform": "DC"}) == [(WARNING, "gear_differs", "waveform")]
    same = {name: LAST[name] for name in ("conductivity_basis", "waveform", "anodes", "netters")}
    assert told(same) == []


def test_values_of_a_pass_and_of_a_visit_are_the_same_in_every_row() -> None:
    second = {"taxon": "American Eel", "count": 1}
    assert told({"waveform": "DC"}, {**second, "waveform": "pulsed DC"})[0] == (
        ERROR,
        "pass_value_differs",
        "waveform",
    )
    (finding,) = check({"widths_m": "3; 4"}, {**second, "widths_m": "3; 5"}).findings
    assert finding.code == "visit_value_differs"
    assert finding.message.startswith("widths_m is 3.0; 5.0 here, but 3.0; 4.0 earlier")


def test_a_workbook_s_own_times_days_and_marks_are_read() -> None:
    """Cells of a spreadsheet that are times, days or yes-or-no, not text."""
    book = openpyxl.Workbook()
    sheet = book.active
    row = {
        **BASE,
        "visit_date": datetime.date(2024, 7, 16),
        "started_at": datetime.time(9, 5),
        "ended_at": datetime.time(9, 40, 30),
        "calibrated_on": datetime.date(2024, 7, 15),
        "unsure": True,
        "anodes": 1.0,
    }
    sheet.append(list(row))
    sheet.append(list(row.values()))
    stored = io.BytesIO()
    book.save(stored)
    checked = check_season(read_table("season.xlsx", stored.getvalue()), KNOWN)
    assert [(f.code, f.column) for f in checked.findings] == []
    assert checked.rows is not None
    cells = {
        name: checked.rows.cells[name].value(0) for name in ("started_at", "ended_at", "unsure", "anodes")
    }
    assert cells == {
        "started_at": datetime.time(9, 5),
        "ended_at": datetime.time(9, 40, 30),
        "unsure": True,
        "anodes": 1,
    }
