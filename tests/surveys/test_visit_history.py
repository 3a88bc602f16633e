"""The history of a visit: no change escapes it, and any earlier state can be brought back."""

from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection, transaction
from django.test import Client

from surveys.entry.saving import save_sheet, stored_sheet
from surveys.history import visit_states
from surveys.models import Catch, RemovalPass, SamplingMethod, Visit, VisitStatus
from surveys.restoring import NotRestored, restore_state
from surveys.review import return_visit
from surveys.signals import visits_changed
from surveys.uploads.commit import new_upload, take
from tests.factories import make_method, make_station, make_taxon, make_user, make_visit, season_csv

# Each change is told from the others by its transaction, so the tests need real ones.
pytestmark = pytest.mark.django_db(transaction=True)

ROW = {"station": "WIL-01", "visit_date": "2024-07-16", "pass": 1, "taxon": "Creek Chub", "count": 12}
SignIn = Callable[[str], Client]


@pytest.fixture(autouse=True)
def _lists() -> None:
    if not SamplingMethod.objects.filter(is_default=True).exists():
        make_method(is_default=True)
    make_station("WIL-01")
    for name in ("Creek Chub", "Blacknose Dace"):
        make_taxon(name)


def load(*rows: dict[str, Any], name: str = "season.csv", accept: bool = True) -> Visit:
    take(new_upload(name, season_csv(*rows), by=None), by=None, replace=True, accept=accept)
    return Visit.objects.get()


def loaded() -> Visit:
    return load(ROW, {**ROW, "pass": 2, "count": 5})


def corrected() -> Visit:
    """Three chub fewer, a dace that was forgotten, and a third pass, by a second file."""
    return load(
        {**ROW, "count": 9},
        {**ROW, "taxon": "Blacknose Dace", "count": 2},
        {**ROW, "pass": 2, "count": 5},
        {**ROW, "pass": 3, "count": 1},
        name="corrected.csv",
    )


def counts(contents: Any) -> dict[tuple[int, int], int]:
    return {key: fields[0] for key, fields in contents.catches.items()}


def test_a_visit_that_was_never_changed_has_one_state() -> None:
    (only,) = visit_states(loaded())
    assert (only.number, only.altered, only.same_as_now) == (0, (), True)
    assert only.source == "the file season.csv"


def test_a_second_file_is_told_value_by_value() -> None:
    loaded()
    first, second = visit_states(corrected())
    told = {one.what: (one.before, one.after) for one in second.altered}
    assert told == {
        "pass 1, Creek Chub: fish": ("12", "9"),
        "pass 1, Blacknose Dace: fish": ("", "2"),
        "pass 3": ("", "made"),
        "pass 3, Creek Chub: fish": ("", "1"),
    }
    assert (first.contents.fish, second.contents.fish) == (17, 17)
    assert second.source == "the file corrected.csv"
    assert not first.same_as_now and second.same_as_now


def test_rows_taken_out_are_in_the_state_before() -> None:
    corrected()
    first, second = visit_states(loaded())
    assert set(first.contents.passes) == {1, 2, 3}
    assert set(second.contents.passes) == {1, 2}


def test_a_change_around_the_application_is_kept_as_well() -> None:
    visit = loaded()
    with connection.cursor() as cursor:
        cursor.execute("UPDATE surveys_catch SET count = 99 WHERE count = 12")
    _, second = visit_states(visit)
    assert [(one.before, one.after) for one in second.altered] == [("12", "99")]
    assert second.source == "outside the pages of this site"


def test_a_row_added_around_the_application_is_a_change() -> None:
    visit, taxon = loaded(), make_taxon("Blacknose Dace")
    Catch.objects.create(removal_pass=visit.passes.first(), taxon=taxon, count=4)
    first, second = visit_states(visit)
    assert [one.what for one in second.altered] == ["pass 1, Blacknose Dace: fish"]
    assert taxon.pk not in {key for _, key in first.contents.catches}


def test_the_page_names_the_person_and_the_desk(person: Callable[[str], Any]) -> None:
    biologist = person("biologist")
    with transaction.atomic():
        visit = make_visit(make_station("WIL-01"), status=VisitStatus.DRAFT, entered_by=biologist)
    sheet = stored_sheet(visit)
    sheet.texts["water_temp_c"] = "18.5"
    save_sheet(visit.pk, sheet, revision=1, by=biologist)
    first, second = visit_states(visit)
    assert first.by == "some-biologist"
    assert second.source == "typed at the desk"
    assert [(a.what, a.before, a.after) for a in second.altered] == [("water temperature, °C", "", "18.5")]


def test_a_step_of_the_review_is_a_state_with_its_remark() -> None:
    visit, reviewer = loaded(), make_user("reviewer")
    return_visit(visit.pk, by=reviewer, remark="weights are missing")
    last = visit_states(visit)[-1]
    assert [(one.what, one.after) for one in last.altered] == [("status", "returned")]
    assert last.by == str(reviewer)
    assert [step.remark for step in last.steps] == ["weights are missing"]


def test_an_earlier_state_comes_back_exactly_and_waits_for_the_reviewer() -> None:
    before = visit_states(loaded())[0].contents
    visit, biologist = corrected(), make_user("biologist")
    restore_state(visit.pk, 0, seen=2, by=biologist, reason="the second file was of another station")
    visit.refresh_from_db()
    states = visit_states(visit)
    assert states[-1].contents == before
    assert (visit.status, visit.revision, visit.entered_by) == (VisitStatus.SUBMITTED, 3, biologist)
    assert visit.upload.file_name == "season.csv"
    assert "another station" in visit.steps.last().remark
    # What was replaced is still there, and can be brought back in its turn.
    restore_state(visit.pk, 1, seen=3, by=biologist, reason="it was right after all")
    assert counts(visit_states(visit)[-1].contents) == counts(states[1].contents)


def test_bringing_back_what_was_accepted_tells_those_who_compute() -> None:
    heard: list[set[int]] = []

    def listen(station_ids: set[int], **kwargs: Any) -> None:
        heard.append(station_ids)

    loaded()
    visit = corrected()
    visits_changed.connect(listen)
    try:
        restore_state(visit.pk, 0, seen=2, by=None, reason="because")
    finally:
        visits_changed.disconnect(listen)
    assert heard == [{visit.station_id}]


@pytest.mark.parametrize(
    ("number", "seen", "reason", "words"),
    [
        (0, 2, " ", "Say why"),
        (0, 1, "because", "changed meanwhile"),
        (5, 2, "because", "changed meanwhile"),
        (1, 2, "because", "nothing to bring back"),
    ],
    ids=["no reason", "older page", "no such state", "as it stands"],
)
def test_what_cannot_be_brought_back_is_refused(number: int, seen: int, reason: str, words: str) -> None:
    loaded()
    visit = corrected()
    with pytest.raises(NotRestored, match=words):
        restore_state(visit.pk, number, seen=seen, by=None, reason=reason)
    visit.refresh_from_db()
    assert visit.revision == 2


def test_a_day_that_another_visit_holds_by_now_is_refused() -> None:
    visit = loaded()
    Visit.objects.filter(pk=visit.pk).update(visit_date="2024-08-01")
    make_visit(visit.station, "2024-07-16")
    with pytest.raises(NotRestored, match="Another visit"):
        restore_state(visit.pk, 0, seen=2, by=None, reason="because")


def test_a_withdrawn_visit_is_taken_back_to_draft_first() -> None:
    loaded()
    visit = corrected()
    Visit.objects.update(status=VisitStatus.WITHDRAWN)
    with pytest.raises(NotRestored, match="withdrawn"):
        restore_state(visit.pk, 0, seen=3, by=None, reason="because")


@pytest.mark.parametrize(
    ("role", "status"),
    [
        ("", 302),
        ("planner", 403),
        ("outreach", 403),
        ("biologist", 200),
        ("reviewer", 200),
        ("administrator", 200),
    ],
)
def test_who_may_see_the_history(signed_in: SignIn, role: str, status: int) -> None:
    assert signed_in(role).get(f"/visits/{loaded().pk}/history/").status_code == status


def test_a_history_of_no_visit_is_not_found(signed_in: SignIn) -> None:
    assert signed_in("biologist").get("/visits/999999/history/").status_code == 404


def test_the_page_brings_a_state_back(signed_in: SignIn) -> None:
    loaded()
    visit, client = corrected(), signed_in("biologist")
    page = f"/visits/{visit.pk}/history/"
    shown = client.get(page).content.decode()
    assert "corrected.csv" in shown and "Bring state 1 back" in shown
    assert "Bring state 2 back" not in shown
    assert client.post(page, {"number": 1, "seen": 2, "reason": ""}).status_code == 422
    answer = client.post(page, {"number": 1, "seen": 2, "reason": "wrong station"}, follow=True)
    assert "waits for the reviewer" in answer.content.decode()
    assert RemovalPass.objects.count() == 2
    assert "some-biologist" in answer.content.decode()


def test_the_page_of_the_visit_leads_to_its_history(signed_in: SignIn) -> None:
    visit = loaded()
    link = f"/visits/{visit.pk}/history/"
    assert link in signed_in("biologist").get(f"/visits/{visit.pk}/").content.decode()
    assert link not in signed_in("planner").get(f"/visits/{visit.pk}/").content.decode()


def test_more_states_take_no_more_queries(
    signed_in: SignIn, django_assert_max_num_queries: Callable[[int], Any]
) -> None:
    loaded()
    visit = corrected()
    for _ in range(3):
        loaded()
        corrected()
    with django_assert_max_num_queries(13):
        visit_states(Visit.objects.get(pk=visit.pk))


SHEET = {
    "weather": "sunny", "widths_m": "3; 4", "checks_made": "trained; first aid", "identifier": "K. L.",
    "started_at": "09:00", "ended_at": "09:40", "waveform": "pulsed DC", "anodes": 2, "volts_first": 250,
    "released": 11, "died": 1, "kept": 0, "in_main": 12, "in_eel_well": 0, "in_other": 0, "weighed": 12,
    "gross_g": 398.5, "tare_g": 250, "unsure": 1,
}  # fmt: skip


def test_a_change_of_the_field_record_is_told_and_can_be_taken_back() -> None:
    """What the sheet says beyond the catch is kept, told in words and brought back like the catch itself."""
    visit = load({**ROW, **SHEET})
    load(
        {
            **ROW,
            **SHEET,
            "weather": "rain",
            "widths_m": "3; 5",
            "started_at": "09:10",
            "died": 2,
            "released": 10,
        }
    )
    first, second = visit_states(visit)
    told = {(one.what, one.before, one.after) for one in second.altered}
    assert told == {
        ("weather", "sunny", "rain"),
        ("widths at the transects, m", "3.0; 4.0", "3.0; 5.0"),
        ("pass 1: began", "09:00", "09:10"),
        ("pass 1, Creek Chub: released", "11", "10"),
        ("pass 1, Creek Chub: died", "1", "2"),
    }
    restore_state(visit.pk, 0, seen=2, by=make_user("biologist"), reason="The first sheet was right.")
    assert visit_states(visit)[-1].contents == first.contents
    assert Visit.objects.get().widths_m == [3.0, 4.0]
    assert Catch.objects.get().died == 1


def test_a_file_without_the_columns_leaves_the_field_record_as_it_is() -> None:
    """A file that has no column for it says nothing about it: only what it speaks of is changed."""
    visit = load({**ROW, **SHEET})
    load({**ROW, "biomass_g": 148.5, "water_temp_c": 19})
    assert [one.what for one in visit_states(visit)[-1].altered] == ["water temperature, °C"]
    # A new count takes the parts with it that no longer make it up.
    load({**ROW, "count": 13, "biomass_g": 148.5, "water_temp_c": 19})
    kept = Catch.objects.get()
    assert (kept.count, kept.released, kept.in_main, kept.gross_g) == (13, None, None, None)
    visit.refresh_from_db()
    assert (visit.weather, visit.passes.get().waveform) == ("sunny", "pulsed DC")
