"""The sheet of a visit: what texts become, and what the checks say. Limits are those of the stored record."""

import pytest

from surveys.entry.checking import check_sheet
from surveys.entry.expected import expected_taxa
from surveys.entry.saving import Clash, NotOpen, NotSaved, hand_in, save_sheet, start_visit, stored_sheet
from surveys.entry.sheet import (
    Sheet,
    depletion_words,
    differences,
    pass_counts,
    same_text,
    sheet_from,
    take_stored,
)
from surveys.models import Catch, RemovalPass, Visit, VisitQuestion, VisitStatus
from surveys.review_queue import clean_visit_ids, warnings_of
from tests.factories import make_method, make_station, make_taxon, make_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def visit(person):
    import datetime

    station = make_station("WIL-01")
    return start_visit(station, datetime.date(2024, 7, 16), make_method(), by=person("biologist"))[0]


def typed(**texts: str) -> Sheet:
    whole = {"visit_date": "2024-07-16", "method": "two-pass", "reach_length_m": "75"}
    return sheet_from({**whole, **texts})


def cells(number: int, taxon: int, count: str, young: str = "", marks: str = "", weight: str = "") -> dict:
    return {
        f"count-{number}-{taxon}": count,
        f"young_of_year-{number}-{taxon}": young,
        f"anomalies-{number}-{taxon}": marks,
        f"biomass_g-{number}-{taxon}": weight,
    }


def codes(checked) -> set[str]:
    return {remark.code for remark in checked.remarks}


def test_names_that_are_no_field_are_left_out():
    sheet = sheet_from({"status": "accepted", "count-1-5": "3", "count-0-5": "3", "count-99-5": "2"})
    assert sheet.texts == {"count-1-5": "3"}


def test_what_is_saved_comes_back_as_it_was_typed(visit, person):
    chub = make_taxon("Creek Chub").pk
    sheet = typed(
        **cells(1, chub, "12", "3", "0", "148.5"), **{"effort_s-1": "640", "no_fish-2": "1"}, ph="7.4"
    )
    saved = save_sheet(visit.pk, sheet, revision=1, by=person("biologist"))
    assert saved.changed
    assert saved.visit.revision == 2
    assert stored_sheet(saved.visit).texts == sheet.texts


def test_zero_anomalies_and_not_looked_for_stay_apart(visit, person):
    chub, dace = make_taxon("Creek Chub").pk, make_taxon("Blacknose Dace").pk
    sheet = typed(**cells(1, chub, "12", marks="0"), **cells(1, dace, "4"))
    save_sheet(visit.pk, sheet, revision=1, by=person("biologist"))
    assert Catch.objects.get(taxon=chub).anomalies == 0
    assert Catch.objects.get(taxon=dace).anomalies is None


def test_a_pass_that_says_nothing_of_fish_is_refused(visit, person):
    sheet = typed(**{"effort_s-1": "600"})
    with pytest.raises(NotSaved) as refused:
        save_sheet(visit.pk, sheet, revision=1, by=person("biologist"))
    assert [remark.code for remark in refused.value.remarks if remark.level == "error"] == ["blank_pass"]
    assert not RemovalPass.objects.exists()


def test_zeros_alone_do_not_say_no_fish(visit):
    chub = make_taxon("Creek Chub").pk
    assert "blank_pass" in codes(check_sheet(visit, typed(**cells(1, chub, "0"))))


def test_a_blank_pass_between_two_is_refused(visit):
    chub = make_taxon("Creek Chub").pk
    checked = check_sheet(visit, typed(**cells(1, chub, "5"), **cells(3, chub, "1")))
    assert [(r.code, r.field) for r in checked.errors] == [("blank_pass", "no_fish-2")]


def test_no_fish_is_a_pass_without_catches(visit, person):
    save_sheet(visit.pk, typed(**{"no_fish-1": "1"}), revision=1, by=person("biologist"))
    assert RemovalPass.objects.get(visit=visit).catches.count() == 0


def test_no_fish_beside_fish_is_refused(visit):
    chub = make_taxon("Creek Chub").pk
    checked = check_sheet(visit, typed(**cells(1, chub, "5"), **{"no_fish-1": "1"}))
    assert codes(checked) >= {"no_fish_beside_fish"}
    assert checked.values == {}


@pytest.mark.parametrize(
    ("texts", "field"),
    [
        ({"water_temp_c": "41"}, "water_temp_c"),
        ({"ph": "14.5"}, "ph"),
        ({"reach_length_m": "5"}, "reach_length_m"),
        ({"mean_width_m": "60"}, "mean_width_m"),
        ({"visit_date": "2999-01-01"}, "visit_date"),
        ({"visit_date": ""}, "visit_date"),
        ({"method": ""}, "method"),
    ],
)
def test_what_a_file_would_be_refused_for_a_sheet_is_too(visit, texts, field):
    errors = check_sheet(visit, typed(**texts)).errors
    assert [remark.field for remark in errors] == [field]


def test_more_young_than_fish_is_refused_at_its_cell(visit):
    chub = make_taxon("Creek Chub").pk
    errors = check_sheet(visit, typed(**cells(1, chub, "2", young="3"))).errors
    assert [(r.code, r.field) for r in errors] == [("young_above_count", f"young_of_year-1-{chub}")]
    assert errors[0].place == "Pass 1, Creek Chub: fish of the year"


def test_a_line_without_its_count_asks_for_the_count(visit):
    chub = make_taxon("Creek Chub").pk
    errors = check_sheet(visit, typed(**cells(1, chub, "", weight="20"))).errors
    assert [(r.field, r.message) for r in errors] == [(f"count-1-{chub}", "The number of fish is missing.")]


def test_a_growing_catch_is_asked_about_and_not_refused(visit):
    chub = make_taxon("Creek Chub").pk
    checked = check_sheet(visit, typed(**cells(1, chub, "5"), **cells(2, chub, "9")))
    assert checked.errors == []
    assert "later_pass_larger" in {question.code for question in checked.questions}


def test_the_visit_itself_is_no_earlier_visit(visit, person):
    chub = make_taxon("Creek Chub").pk
    sheet = typed(**cells(1, chub, "5"))
    save_sheet(visit.pk, sheet, revision=1, by=person("biologist"))
    assert "taxon_new_to_station" not in codes(check_sheet(visit, sheet))
    make_visit(visit.station, "2023-07-16", passes=[{"Bluegill": 2}])
    assert "taxon_new_to_station" in codes(check_sheet(visit, sheet))


def test_expected_taxa_stand_in_order_of_how_often_they_were_met():
    station = make_station("WIL-02")
    make_visit(station, "2021-07-16", passes=[{"Creek Chub": 1, "Blacknose Dace": 40}])
    make_visit(station, "2022-07-16", passes=[{"Creek Chub": 1}])
    make_visit(station, "2023-07-16", passes=[{"Bluegill": 9}], status=VisitStatus.WITHDRAWN)
    met = expected_taxa(station)
    assert [(one.taxon.common_name, one.visits, one.of_visits) for one in met] == [
        ("Creek Chub", 2, 2),
        ("Blacknose Dace", 1, 2),
    ]


def test_saving_the_same_again_changes_nothing(visit, person):
    sheet = typed(**{"no_fish-1": "1"})
    save_sheet(visit.pk, sheet, revision=1, by=person("biologist"))
    again = save_sheet(visit.pk, sheet, revision=2, by=person("biologist"))
    assert not again.changed
    assert Visit.objects.get(pk=visit.pk).revision == 2


def test_the_second_of_two_savers_is_told_and_stores_nothing(visit, person):
    chub = make_taxon("Creek Chub").pk
    save_sheet(visit.pk, typed(**cells(1, chub, "5")), revision=1, by=person("biologist"))
    with pytest.raises(Clash):
        save_sheet(visit.pk, typed(**cells(1, chub, "8")), revision=1, by=person("administrator"))
    assert Catch.objects.get().count == 5


def test_earlier_values_stay_in_the_history(visit, person):
    from django.apps import apps

    chub = make_taxon("Creek Chub").pk
    save_sheet(visit.pk, typed(**cells(1, chub, "5")), revision=1, by=person("biologist"))
    save_sheet(visit.pk, typed(**cells(1, chub, "8")), revision=2, by=person("biologist"))
    event = apps.get_model("surveys", "CatchEvent").objects.get()
    assert event.count == 5
    assert event.pgh_context.metadata["entry"] == "desk"


@pytest.mark.parametrize("status", ["submitted", "accepted", "withdrawn"])
def test_only_drafts_and_returned_visits_are_changed(person, status):
    held = make_visit(status=status)
    with pytest.raises(NotOpen):
        save_sheet(held.pk, stored_sheet(held), revision=1, by=person("biologist"))


def test_questions_are_to_be_looked_at_before_a_visit_is_handed_in(visit, person):
    chub = make_taxon("Creek Chub").pk
    sheet = typed(**cells(1, chub, "5"), **cells(2, chub, "9"), stop_nets="both", crew_lead="K. L.")
    with pytest.raises(NotSaved):
        hand_in(visit.pk, sheet, revision=1, by=person("biologist"))
    assert Visit.objects.get(pk=visit.pk).status == VisitStatus.DRAFT
    hand_in(
        visit.pk,
        sheet,
        revision=1,
        by=person("biologist"),
        looked=check_sheet(visit, sheet).mark,
        remark="counted twice",
    )
    assert Visit.objects.get(pk=visit.pk).status == VisitStatus.SUBMITTED
    question = VisitQuestion.objects.get(visit=visit)
    assert (question.code, question.answer) == ("later_pass_larger", "counted twice")
    # The reviewer sees it, and it is not accepted in bulk with the visits that have none.
    assert "Answer: counted twice" in warnings_of([question.visit])[visit.pk][0]
    assert clean_visit_ids(person("reviewer")) == []


def test_having_looked_at_other_questions_does_not_do(visit, person):
    chub = make_taxon("Creek Chub").pk
    rest = {"stop_nets": "both", "crew_lead": "K. L."}
    seen = check_sheet(visit, typed(**cells(1, chub, "5"), **cells(2, chub, "9"), **rest)).mark
    with pytest.raises(NotSaved):
        sheet = typed(**cells(1, chub, "5"), **cells(2, chub, "19"), **rest)
        hand_in(visit.pk, sheet, revision=1, by=person("biologist"), looked=seen)


def test_a_visit_without_a_pass_is_not_handed_in(visit, person):
    with pytest.raises(NotSaved) as refused:
        hand_in(visit.pk, typed(), revision=1, by=person("biologist"))
    assert refused.value.remarks[0].code == "no_pass"


def test_two_sheets_side_by_side_know_what_was_not_touched():
    base = {"ph": "7.0", "water_temp_c": "18"}
    mine = sheet_from({"ph": "7.2", "water_temp_c": "18", "count-1-4": "3"})
    stored = sheet_from({"ph": "7.0", "water_temp_c": "19.5"})
    found = {one.name: one for one in differences(mine, stored, base)}
    assert {name: one.untouched for name, one in found.items()} == {
        "ph": False,
        "water_temp_c": True,
        "count-1-4": False,
    }
    take_stored(mine, stored, ["water_temp_c", "count-1-4"])
    assert mine.texts == {"ph": "7.2", "water_temp_c": "19.5"}


def test_one_number_written_two_ways_is_no_difference():
    assert same_text("18.50", "18.5")
    assert not same_text("18.5", "")


def test_blank_passes_have_no_total():
    sheet = sheet_from({"count-1-4": "3", "count-1-5": "0", "no_fish-3": "1"})
    assert pass_counts(sheet) == [3, None, 0]


def test_whether_the_catch_fell_is_said_without_an_estimate():
    assert depletion_words([34, 12]) == ["Pass 1: 34 fish.", "Pass 2: 12 fish after 34; the catch fell."]
    assert "did not fall" in depletion_words([12, 12])[1]
    assert depletion_words([None, 4]) == []


def test_a_typed_sheet_is_compared_with_the_past_of_its_station(visit):
    """Creek Chub was met at each of five visits, the watershed never held Bluegill: both are asked about."""
    for year in range(2019, 2024):
        make_visit(visit.station, f"{year}-07-16", passes=[{"Creek Chub": 4}])
    gill = make_taxon("Bluegill").pk
    remarks = {one.code: one for one in check_sheet(visit, typed(**cells(1, gill, "2"))).questions}
    assert remarks["taxon_new_to_watershed"].field == f"count-1-{gill}"
    assert remarks["taxon_missing"].field == "", "no line of the sheet is the missing one"


def test_what_a_visit_holds_itself_is_no_past(visit, person):
    """Saved once, the first Bluegill of the watershed is still the first when the sheet is checked again."""
    make_visit(visit.station, "2023-07-16", passes=[{"Creek Chub": 4}])
    sheet = typed(**cells(1, make_taxon("Bluegill").pk, "2"))
    save_sheet(visit.pk, sheet, revision=1, by=person("biologist"))
    assert "taxon_new_to_watershed" in codes(check_sheet(visit, sheet))


def _of_the_field(chub: int) -> dict[str, str]:
    return {
        "widths_m": "3.2; 3",
        "checks_made": "trained; gear tested",
        "calibrated_on": "2024-07-15",
        "started_at-1": "09:40",
        "volts_first-1": "250",
        "waveform-1": "pulsed DC",
        f"gross_g-1-{chub}": "398.5",
        f"tare_g-1-{chub}": "250",
        f"released-1-{chub}": "12",
        f"unsure-1-{chub}": "1",
    }


def test_the_record_of_the_field_comes_back_as_it_was_typed(visit, person):
    """With what follows from it: net weight, the mean of the widths, and no fish of the parts left empty."""
    chub = make_taxon("Creek Chub").pk
    typed_texts = {**cells(1, chub, "12"), **_of_the_field(chub)}
    save_sheet(visit.pk, typed(**typed_texts), revision=1, by=person("biologist"))
    kept = stored_sheet(Visit.objects.get(pk=visit.pk))
    assert {name: kept.text(name) for name in _of_the_field(chub)} == _of_the_field(chub)
    assert (kept.text("mean_width_m"), kept.text("biomass_g", 1, chub)) == ("3.1", "148.5")
    assert (kept.text("died", 1, chub), kept.text("kept", 1, chub)) == ("0", "0")


def test_a_page_that_does_not_show_a_field_does_not_wipe_it(visit, person):
    """An empty text clears a field; one that did not come along at all leaves it as it was."""
    chub = make_taxon("Creek Chub").pk
    by = person("biologist")
    save_sheet(visit.pk, typed(**cells(1, chub, "12"), **_of_the_field(chub)), revision=1, by=by)
    older = typed(**cells(1, chub, "12", weight="148.5"), ph="7.4", **{"volts_first-1": ""})
    save_sheet(visit.pk, older, revision=2, by=by)
    kept = stored_sheet(Visit.objects.get(pk=visit.pk))
    assert (kept.text("ph"), kept.text("widths_m"), kept.text("started_at", 1)) == ("7.4", "3.2; 3", "09:40")
    assert kept.text("volts_first", 1) == ""
    assert kept.text("released", 1, chub) == "12"


@pytest.mark.parametrize(
    ("texts", "code", "words"),
    [
        (
            {"gross_g": "398.5"},
            "half_a_weight",
            "“weight with the container” is given, “weight of the container” is",
        ),
        (
            {"gross_g": "398.5", "tare_g": "250", "biomass_g": "160"},
            "net_differs",
            "but “batch weight” is 160 g.",
        ),
        ({"widths_m": "2; 2", "mean_width_m": "3"}, "width_differs_from_widths", "but “Mean width” is 3 m."),
        ({"bottom_visible": "no"}, "unusual_value", "“bottom visible” is 'no'"),
    ],
)
def test_a_remark_names_a_field_as_the_sheet_does_and_never_as_a_file(visit, texts, code, words):
    chub = make_taxon("Creek Chub").pk
    of_line = {
        f"{name}-1-{chub}": text for name, text in texts.items() if name in ("gross_g", "tare_g", "biomass_g")
    }
    of_visit = {name: text for name, text in texts.items() if f"{name}-1-{chub}" not in of_line}
    said = check_sheet(visit, typed(**(cells(1, chub, "12") | of_line), **of_visit)).remarks
    assert any(one.code == code and words in one.message for one in said)
    assert not [one for one in said if "_" in f"{one.message} {one.remedy}"]
