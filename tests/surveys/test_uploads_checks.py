"""Checks of a season file: for each rule one file where it fires, and one just inside where it does not.

The limits that only ask are the programme's own (common practice, no published source).
"""

import datetime
from typing import Any

import pytest

from surveys.uploads.checks import Checked, check_season
from surveys.uploads.context_checks import usual_day
from surveys.uploads.findings import ERROR, NOTE, WARNING, Finding, shortened
from surveys.uploads.known import Known, KnownMethod, KnownStation, NearTaxon
from surveys.uploads.reader import read_table
from tests.factories import season_csv

TWO_PASS = KnownMethod(key=1, code="two-pass")
SUMMER = KnownMethod(key=2, code="summer", season_starts="06-01", season_ends="09-30")
WINTER = KnownMethod(key=3, code="winter", season_starts="11-01", season_ends="02-28")
CHUB, DACE, SCULPIN = 11, 12, 13


def known(**changes: Any) -> Known:
    stations = [
        KnownStation(key=1, code="MILL-01", reach_length_m=75, mean_width_m=4),
        KnownStation(key=2, code="MILL-02"),
        KnownStation(
            key=3,
            code="OAK-01",
            reach_length_m=75,
            earlier_dates=tuple(datetime.date(year, 7, 15) for year in range(2018, 2024)),
            last_method="two-pass",
            most={CHUB: 10},
        ),
    ]
    values: dict[str, Any] = {
        "today": datetime.date(2024, 12, 31),
        "stations": {station.code.casefold(): station for station in stations},
        "taxa": {
            "semotilus atromaculatus": (CHUB,),
            "creek chub": (CHUB,),
            "crch": (CHUB,),
            "rhinichthys atratulus": (DACE,),
            "cottus bairdii": (SCULPIN,),
            "dace": (DACE, CHUB),
        },
        "taxon_names": {
            CHUB: "Semotilus atromaculatus",
            DACE: "Rhinichthys atratulus",
            SCULPIN: "Cottus bairdii",
        },
        "methods": {m.code: m for m in (TWO_PASS, SUMMER, WINTER)},
        "default_method": TWO_PASS,
    }
    return Known(**(values | changes))


BASE = {"station": "MILL-01", "visit_date": "2024-07-16", "pass": 1, "taxon": "Creek Chub", "count": 5}


def check(*rows: dict[str, Any], about: Known | None = None) -> Checked:
    content = season_csv(*({**BASE, **row} for row in rows))
    return check_season(read_table("season.csv", content), about or known())


def found(checked: Checked) -> list[tuple[str, int | None]]:
    return [(finding.code, finding.row) for finding in checked.findings]


def only(checked: Checked) -> Finding:
    assert len(checked.findings) == 1, checked.findings
    return checked.findings[0]


def test_a_faultless_file_gives_no_remark() -> None:
    checked = check({}, {"pass": 2, "count": 2}, {"pass": 3, "taxon": "no fish", "count": 0})
    assert checked.findings == ()
    assert checked.rows is not None
    assert checked.rows.visit_count == 1
    assert list(checked.rows.number_of_pass) == [1, 2, 3]


# --- headings -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["station", "visit_date", "pass", "taxon", "count"])
def test_a_missing_needed_column_is_an_error(name: str) -> None:
    row = {key: value for key, value in BASE.items() if key != name}
    checked = check_season(read_table("s.csv", season_csv(row)), known())
    assert [(f.code, f.column, f.level) for f in checked.findings] == [("missing_column", name, ERROR)]


def test_a_misspelled_needed_column_is_proposed() -> None:
    row = {("coutn" if key == "count" else key): value for key, value in BASE.items()}
    checked = check_season(read_table("s.csv", season_csv(row)), known())
    assert "'coutn'" in next(f.remedy for f in checked.findings if f.code == "missing_column")


def test_an_unknown_column_is_reported_and_passed_over() -> None:
    remark = only(check({"moon": "sunny"}))
    assert (remark.code, remark.level, remark.column) == ("unknown_column", NOTE, "moon")


def test_an_unknown_column_close_to_a_known_one_is_a_warning() -> None:
    remark = only(check({"efort_s": "600"}))
    assert (remark.code, remark.level) == ("unknown_column", WARNING)
    assert "effort_s" in remark.remedy


def test_headings_that_differ_in_signs_alone_refuse_nothing() -> None:
    """Columns that are passed over anyway, and shares beside the numbers they are taken from."""
    content = b"station,visit_date,pass,taxon,count,Count %,# Native,% Native\n"
    content += b"MILL-01,2024-07-16,1,Creek Chub,5,40,2,30\n"
    checked = check_season(read_table("s.csv", content), known())
    assert [(f.level, f.code, f.column) for f in checked.findings] == [
        (NOTE, "unknown_column", heading) for heading in ("Count %", "# Native", "% Native")
    ]
    assert checked.rows is not None and checked.rows.cells["count"].values == (5,)


def test_a_share_is_never_read_as_the_number_it_is_a_share_of() -> None:
    content = b"station,visit_date,pass,taxon,count,Anomalies (%)\nMILL-01,2024-07-16,1,Creek Chub,40,5\n"
    checked = check_season(read_table("s.csv", content), known())
    assert [(f.code, f.column) for f in checked.findings] == [("unknown_column", "Anomalies (%)")]
    assert checked.rows is not None and checked.rows.cells["anomalies"].value(0) is None


def test_a_heading_twice_is_an_error() -> None:
    content = b"station,visit_date,pass,taxon,count,count\nMILL-01,2024-07-16,1,Creek Chub,5,6\n"
    checked = check_season(read_table("s.csv", content), known())
    assert [f.code for f in checked.findings] == ["duplicate_heading"]


def test_headings_in_any_order_and_case_are_read() -> None:
    content = b"Count,PASS,Visit Date,taxon,station\n5,1,2024-07-16,Creek Chub,MILL-01\n"
    checked = check_season(read_table("s.csv", content), known())
    assert {f.code for f in checked.findings} == {"heading_spelling"}
    assert checked.rows is not None


@pytest.mark.parametrize(
    ("written", "column"),
    [
        ("Biomass (g)", "biomass_g"),
        ("Effort [s]", "effort_s"),
        ("Reach length - m", "reach_length_m"),
        ("Turbidity / NTU", "turbidity_ntu"),
        ("Conductivity (\u00b5S/cm)", "conductivity_us_cm"),
        ("Dissolved oxygen mg/L", "dissolved_oxygen_mg_l"),
        ("Discharge (m\u00b3/s)", "discharge_m3_s"),
    ],
)
def test_a_unit_is_read_however_it_is_set_apart(written: str, column: str) -> None:
    row = {**BASE, written: 20}
    checked = check_season(read_table("season.csv", season_csv(row)), known())
    assert ("heading_spelling", column) in [(f.code, f.column) for f in checked.findings]
    assert checked.rows is not None and checked.rows.cells[column].values == (20,)


def test_a_heading_without_letters_known_here_is_only_passed_over() -> None:
    content = "station,visit_date,pass,taxon,count,\u7ad9,\u6eaa,?\nMILL-01,2024-07-16,1,Creek Chub,5,a,b,c\n"
    checked = check_season(read_table("season.csv", content.encode()), known())
    assert [f.code for f in checked.findings] == ["unknown_column"] * 3


def test_prose_is_not_a_table() -> None:
    checked = check_season(read_table("s.txt", b"Dear all,\nthe fish were fine.\n"), known())
    assert [f.code for f in checked.findings] == ["not_a_table"]


# --- cells and names ------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["station", "visit_date", "pass", "taxon", "count"])
def test_a_needed_cell_left_empty_is_an_error(name: str) -> None:
    checked = check({}, {"pass": 2}, {"pass": 3, name: ""})
    assert ("required_blank", 4) in found(checked)


def test_a_bad_cell_is_named_by_row_and_column() -> None:
    remark = only(check({}, {"taxon": "Cottus bairdii", "count": "many"}))
    assert (remark.row, remark.column, remark.value) == (3, "count", "many")


def test_an_unknown_station_gets_the_nearest_codes() -> None:
    remark = only(check({"station": "MIL-01"}))
    assert (remark.code, remark.level) == ("unknown_station", ERROR)
    assert "MILL-01" in remark.remedy


def test_a_station_in_another_case_is_read_and_reported() -> None:
    assert only(check({"station": "mill-01"})).code == "station_spelling"


@pytest.mark.parametrize("name", ["Creek Chub", "creek  chub", "SEMOTILUS ATROMACULATUS", "CrCh"])
def test_a_taxon_goes_by_any_of_its_names(name: str) -> None:
    assert check({"taxon": name}).findings == ()


def test_an_unknown_taxon_gets_the_nearest_names() -> None:
    near = NearTaxon(
        key=CHUB,
        scientific_name="Semotilus atromaculatus",
        common_name="Creek Chub",
        name="Creek Chub",
        kind="common name",
        alike=0.8,
    )
    remark = only(check({"taxon": "Creek Chubb"}, about=known(near={"creek chubb": (near,)})))
    assert (remark.code, remark.level) == ("unknown_taxon", ERROR)
    assert "Semotilus atromaculatus (Creek Chub)" in remark.remedy


def test_an_unknown_taxon_is_not_also_called_new_to_the_station() -> None:
    assert only(check({"station": "OAK-01", "taxon": "Creek Chubb"})).code == "unknown_taxon"


def test_a_name_of_two_taxa_is_asked_about() -> None:
    remark = only(check({"taxon": "dace"}))
    assert remark.code == "ambiguous_taxon"
    assert "Rhinichthys atratulus" in remark.message


@pytest.mark.parametrize("written", ["None", "NA", "no_fish", "-"])
def test_a_word_for_no_name_is_never_a_new_taxon(written: str) -> None:
    """People write "none" for a pass without fish; it would become a taxon of that name."""
    checked = check({"taxon": written, "count": 0}, about=known(create_taxa=True))
    (told,) = [f for f in checked.findings if f.code == "unknown_taxon"]
    assert "'no fish' with count 0" in told.remedy
    assert checked.new_taxa == {}


def test_unknown_taxa_can_be_taken_along() -> None:
    checked = check({"taxon": "Luxilus cornutus"}, about=known(create_taxa=True))
    assert only(checked).code == "taxon_created"
    assert checked.new_taxa == {"luxilus cornutus": "Luxilus cornutus"}


def test_an_unknown_method_is_an_error() -> None:
    remark = only(check({"method": "sumer"}))
    assert remark.code == "unknown_method"
    assert "summer" in remark.remedy


def test_without_any_method_there_is_an_error() -> None:
    assert only(check({}, about=known(default_method=None))).code == "no_method"


# --- one row --------------------------------------------------------------------------------------


def test_today_is_lawful_and_tomorrow_is_the_future() -> None:
    assert "future_date" not in dict(found(check({"visit_date": "2024-12-31"})))
    assert only(check({"visit_date": "2025-01-01"})).code == "future_date"


def test_a_date_of_another_century_is_refused() -> None:
    assert check({"visit_date": "1900-01-01"}).findings == ()
    assert only(check({"visit_date": "1899-12-31"})).code == "out_of_range"


@pytest.mark.parametrize("name", ["young_of_year", "anomalies"])
def test_a_part_cannot_be_more_than_the_count(name: str) -> None:
    assert check({name: 5}).findings == ()
    remark = only(check({name: 6}))
    assert remark.level == ERROR
    assert remark.column == name


def test_a_named_taxon_with_count_zero_is_noted() -> None:
    remark = check({}, {"taxon": "Cottus bairdii", "count": 0}).findings
    assert [(f.code, f.level) for f in remark] == [("zero_count", NOTE)]


def test_no_fish_has_count_zero() -> None:
    assert check({"taxon": "No Fish", "count": 0}).findings == ()
    assert only(check({"taxon": "no fish", "count": 2})).code == "no_fish_with_count"


def test_no_fish_cannot_stand_beside_fish() -> None:
    checked = check({}, {"taxon": "no fish", "count": 0})
    assert [(f.code, f.row, f.level) for f in checked.findings] == [("no_fish_beside_fish", 3, ERROR)]


def test_weights_have_to_fit_the_fish() -> None:
    assert check({"biomass_g": 60}).findings == ()
    assert only(check({"biomass_g": 0})).code == "fish_without_weight"
    assert only(check({"biomass_g": 0.01})).code == "unusual_weight"
    checked = check({}, {"taxon": "Cottus bairdii", "count": 0, "biomass_g": 3})
    assert ("weight_without_fish", 3) in found(checked)


@pytest.mark.parametrize(
    ("name", "inside", "asked", "refused"),
    [
        ("water_temp_c", 25, 25.1, 40.1),
        ("ph", 9.5, 9.6, 14.1),
        ("conductivity_us_cm", 20, 19, 0.5),
        ("dissolved_oxygen_mg_l", 4, 3.9, 25.1),
        ("turbidity_ntu", 25, 26, 4001),
        ("effort_s", 7200, 7201, 86401),
    ],
)
def test_a_reading_is_taken_asked_about_or_refused(
    name: str, inside: float, asked: float, refused: float
) -> None:
    assert check({name: inside}).findings == ()
    assert only(check({name: asked})).level == WARNING
    assert only(check({name: refused})).level == ERROR


# --- one pass -------------------------------------------------------------------------------------


def test_a_taxon_twice_in_a_pass_is_an_error_under_any_name() -> None:
    checked = check({}, {"taxon": "crch"})
    assert [(f.code, f.row) for f in checked.findings] == [("duplicate_row", 3)]
    assert "row 2" in checked.findings[0].message


def test_a_taxon_in_two_passes_or_visits_is_no_duplicate() -> None:
    assert check({}, {"pass": 2}, {"station": "OAK-01"}, {"visit_date": "2024-07-17"}).findings == ()


def test_a_value_of_the_pass_has_to_be_the_same_in_it() -> None:
    sculpin = {"taxon": "Cottus bairdii", "count": 1}
    assert check({"effort_s": 600}, {"effort_s": "600.0", **sculpin}).findings == ()
    remark = only(check({"effort_s": 600}, {"effort_s": 650, **sculpin}))
    assert (remark.code, remark.level, remark.row) == ("pass_value_differs", ERROR, 3)


def test_a_value_of_the_pass_may_differ_between_passes() -> None:
    assert check({"effort_s": 600}, {"effort_s": 650, "pass": 2, "count": 1}).findings == ()


def test_a_value_given_in_some_rows_of_a_pass_is_asked_about() -> None:
    remark = only(check({"effort_s": 600}, {"effort_s": "", "taxon": "Cottus bairdii", "count": 1}))
    assert (remark.code, remark.level) == ("pass_value_partly_blank", WARNING)


def test_batches_heavier_than_the_pass_are_asked_about() -> None:
    sculpin = {"taxon": "Cottus bairdii", "count": 1, "biomass_g": 40, "pass_biomass_g": 100}
    assert check({"biomass_g": 60, "pass_biomass_g": 100}, sculpin).findings == ()
    remark = only(check({"biomass_g": 61, "pass_biomass_g": 100}, sculpin))
    assert (remark.code, remark.level) == ("batches_above_pass", WARNING)


def test_batches_much_lighter_than_the_pass_are_asked_about_when_all_were_weighed() -> None:
    assert check({"biomass_g": 95, "pass_biomass_g": 100}).findings == ()
    assert only(check({"biomass_g": 94, "pass_biomass_g": 100})).code == "batches_below_pass"
    unweighed = {"taxon": "Cottus bairdii", "count": 1, "pass_biomass_g": 100}
    assert check({"biomass_g": 50, "pass_biomass_g": 100}, unweighed).findings == ()


# --- one visit ------------------------------------------------------------------------------------


def test_a_gap_in_the_passes_is_an_error() -> None:
    assert check({}, {"pass": 2}, {"pass": 3}).findings == ()
    remark = only(check({}, {"pass": 3}))
    assert (remark.code, remark.level, remark.row) == ("pass_gap", ERROR, 3)
    assert "pass 2 is missing" in remark.message


def test_a_visit_that_starts_with_pass_two_has_a_gap() -> None:
    assert "pass 1 is missing" in only(check({"pass": 2})).message


def test_an_unreadable_pass_is_not_also_called_a_gap() -> None:
    assert found(check({}, {"pass": "x"}, {"pass": 3})) == [("not_a_whole_number", 3)]


@pytest.mark.parametrize(
    ("name", "one", "other"),
    [
        ("water_temp_c", 18, 19),
        ("stop_nets", "both", "none"),
        ("reach_length_m", 75, 80),
        ("crew_lead", "A", "B"),
    ],
)
def test_a_value_of_the_visit_has_to_be_the_same_in_it(name: str, one: Any, other: Any) -> None:
    assert check({name: one}, {name: one, "pass": 2, "count": 1}).findings == ()
    remark = only(check({name: one}, {name: other, "pass": 2, "count": 1}))
    assert (remark.code, remark.level, remark.row, remark.column) == ("visit_value_differs", ERROR, 3, name)


def test_a_value_of_the_visit_may_differ_between_visits() -> None:
    assert check({"water_temp_c": 18}, {"water_temp_c": 19, "visit_date": "2024-07-17"}).findings == ()


def test_notes_of_a_visit_are_put_together() -> None:
    checked = check(
        {"notes": "clear"},
        {"notes": "clear", "pass": 2, "count": 1},
        {"notes": "eels", "pass": 3, "count": 1},
    )
    assert checked.findings == ()
    assert checked.rows is not None
    assert checked.rows.visit_notes() == ["clear\neels"]


def test_a_later_pass_with_more_fish_is_asked_about() -> None:
    assert check({}, {"pass": 2, "count": 5}).findings == ()
    remark = only(check({}, {"pass": 2, "count": 6}))
    assert (remark.code, remark.level, remark.row) == ("later_pass_larger", WARNING, 3)


# --- against earlier years ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "day", "inside"),
    [
        ("summer", "2024-06-01", True),
        ("summer", "2024-05-31", False),
        ("summer", "2024-09-30", True),
        ("summer", "2024-10-01", False),
        ("winter", "2024-12-31", True),
        ("winter", "2024-02-28", True),
        ("winter", "2024-03-01", False),
    ],
)
def test_a_date_outside_the_season_is_asked_about(code: str, day: str, inside: bool) -> None:
    codes = [f.code for f in check({"method": code, "visit_date": day}).findings]
    assert codes == ([] if inside else ["out_of_season"])


def test_a_date_far_from_the_usual_one_is_asked_about() -> None:
    # The station is usually visited on 15 July (day 196; 197 in the two leap years).
    assert check({"station": "OAK-01", "visit_date": "2024-08-13"}).findings == ()
    assert only(check({"station": "OAK-01", "visit_date": "2024-08-16"})).code == "unusual_day"


def test_a_station_visited_in_two_seasons_has_no_usual_day() -> None:
    spring = [datetime.date(year, 4, 20) for year in range(2015, 2020)]
    autumn = [datetime.date(year, 10, 20) for year in range(2015, 2020)]
    assert usual_day(spring) == 110
    assert usual_day([*spring, *autumn]) is None
    assert usual_day(spring[:2]) is None


def test_a_change_of_method_is_asked_about() -> None:
    assert check({"station": "OAK-01", "method": "two-pass"}).findings == ()
    assert only(check({"station": "OAK-01", "method": "summer"})).code == "method_differs"


def test_a_reach_or_width_unlike_the_station_is_asked_about() -> None:
    assert check({"reach_length_m": 82.5, "mean_width_m": 5.2}).findings == ()
    checked = check({"reach_length_m": 82.6, "mean_width_m": 5.21})
    assert [f.code for f in checked.findings] == ["reach_length_m_differs", "mean_width_m_differs"]


def test_an_assumed_reach_is_said() -> None:
    remark = only(check({"station": "MILL-02"}))
    assert (remark.code, remark.level) == ("reach_assumed", NOTE)
    assert "75 m" in remark.message


def test_a_taxon_new_to_a_station_is_noted() -> None:
    remark = only(check({"station": "OAK-01", "taxon": "Cottus bairdii"}))
    assert (remark.code, remark.level) == ("taxon_new_to_station", NOTE)


def test_at_a_new_station_no_taxon_is_called_new() -> None:
    assert check({"taxon": "Cottus bairdii"}).findings == ()


def test_a_count_far_above_any_earlier_one_is_asked_about() -> None:
    assert check({"station": "OAK-01", "count": 100}).findings == ()
    assert only(check({"station": "OAK-01", "count": 101})).code == "unusual_count"


# --- all at once ----------------------------------------------------------------------------------


def test_all_faults_are_found_in_one_go() -> None:
    checked = check(
        {"station": "NOWHERE"},
        {"visit_date": "03/04/2024"},
        {"pass": "one"},
        {"taxon": "Nemo"},
        {"count": -4},
        {"visit_date": "2024-07-17", "young_of_year": 9},
    )
    rows = {finding.row for finding in checked.findings if finding.level == ERROR}
    assert rows == {2, 3, 4, 5, 6, 7}


def test_forty_faults_give_forty_findings() -> None:
    checked = check(
        *({"visit_date": f"2024-05-{day:02d}", "count": "x"} for day in range(1, 21)),
        *({"visit_date": f"2024-06-{day:02d}", "pass": "x"} for day in range(1, 21)),
    )
    assert len(checked.findings) == 40


def test_a_long_list_of_the_same_remark_is_shortened_and_counted() -> None:
    many = [Finding(level=ERROR, code="negative", message="below zero", row=row) for row in range(2, 32)]
    kept = shortened(many, most=10)
    assert len(kept) == 11
    assert kept[-1].message.startswith("20 more rows")


def test_an_unreadable_count_is_not_also_called_a_small_one() -> None:
    assert found(check({"count": "x"}, {"pass": 2, "count": 5})) == [("not_a_whole_number", 2)]
