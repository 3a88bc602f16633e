"""The season: what is due and done, permits, what was not sampled, and the close that locks it."""

import datetime
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from surveys.entry.saving import NotSaved, save_sheet, start_visit, stored_sheet
from surveys.history import visit_states
from surveys.models import (
    NotSampled,
    Permit,
    PlannedVisit,
    SamplingMethod,
    SeasonClose,
    Visit,
    VisitQuestion,
    VisitStatus,
)
from surveys.permits import known_permits, permit_warnings, permit_words
from surveys.planning import keep_not_sampled, keep_plan, plan_like
from surveys.queries import reasons_for_gaps
from surveys.restoring import NotRestored, restore_state
from surveys.review import StepRefused, move_visits, return_visit
from surveys.season import (
    NotClosed,
    SeasonLocked,
    changes_since,
    close_season,
    closed_years,
    reopen_season,
)
from surveys.season_report import report_of, season_of
from surveys.uploads.commit import NotTaken, new_upload, take
from surveys.uploads.plan import REFUSED as PLAN_REFUSED
from surveys.uploads.plan import prepare
from tests.factories import make_station, make_taxon, make_user, make_visit, make_watershed, season_csv

pytestmark = pytest.mark.django_db

SignIn = Callable[[str], Client]
LATE = datetime.date(2024, 12, 1)
ROW = {"station": "WIL-01", "visit_date": "2024-07-16", "pass": 1, "taxon": "Creek Chub", "count": 12}


def plan(code: str, day: str | None = None, year: int = 2024) -> PlannedVisit:
    on = datetime.date.fromisoformat(day) if day else None
    return PlannedVisit.objects.create(station=make_station(code), year=year, planned_on=on)


def states(today: datetime.date = LATE) -> dict[str, str]:
    return {row.station.code: row.state for row in season_of(2024, today=today).rows}


# --- what is due and what is done ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("status", "state"),
    [("accepted", "done"), ("submitted", "waiting"), ("returned", "returned"), ("draft", "begun")],
)
def test_a_planned_station_is_as_far_as_its_visit(status: str, state: str) -> None:
    make_visit(plan("WIL-01", "2024-07-10").station, "2024-07-16", status=status)
    assert states() == {"WIL-01": state}


def test_a_withdrawn_visit_leaves_its_station_missing() -> None:
    make_visit(plan("WIL-01", "2024-07-10").station, "2024-07-16", status="withdrawn")
    assert states() == {"WIL-01": "missing"}


def test_a_plan_is_due_until_its_day_has_passed() -> None:
    plan("WIL-01", "2024-07-10")
    assert states(datetime.date(2024, 7, 10)) == {"WIL-01": "due"}
    assert states(datetime.date(2024, 7, 11)) == {"WIL-01": "missing"}


def test_a_plan_without_a_day_is_due_until_the_year_is_over() -> None:
    plan("WIL-01")
    assert states(datetime.date(2024, 12, 31)) == {"WIL-01": "due"}
    assert states(datetime.date(2025, 1, 1)) == {"WIL-01": "missing"}


def test_a_reason_on_record_is_not_a_missing_visit() -> None:
    station = plan("WIL-01", "2024-07-10").station
    NotSampled.objects.create(station=station, year=2024, kind="dry", reason="no water below the weir")
    assert states() == {"WIL-01": "not sampled"}


def test_a_visit_that_nobody_planned_is_there_too() -> None:
    make_visit(make_station("WIL-01"), "2024-07-16")
    (row,) = season_of(2024).rows
    assert (row.state, row.planned) == ("done", False)


def test_unanswered_questions_are_counted() -> None:
    visit = make_visit(make_station("WIL-01"), "2024-07-16", status=VisitStatus.SUBMITTED)
    for answer in ("", "counted again"):
        VisitQuestion.objects.create(visit=visit, code="x", place="", message="odd", answer=answer)
    assert season_of(2024).counts()["unanswered"] == 1


def test_the_stations_of_the_season_before_are_planned_once() -> None:
    for code, day in (("WIL-01", "2023-07-01"), ("WIL-02", "2023-07-02"), ("WIL-03", "2021-07-02")):
        make_visit(make_station(code), day)
    plan("WIL-02")
    assert plan_like(2024, by=None) == 1
    assert plan_like(2024, by=None) == 0
    assert set(PlannedVisit.objects.values_list("station__code", flat=True)) == {"WIL-01", "WIL-02"}


def test_a_season_takes_the_same_queries_however_many_stations(
    django_assert_max_num_queries: Callable[[int], Any],
) -> None:
    for number in range(6):
        make_visit(plan(f"WIL-{number}").station, "2024-07-16")
    with django_assert_max_num_queries(5):
        season_of(2024)


# --- permits -------------------------------------------------------------------------------------


def permit(first: str, last: str, *watersheds: str, **fields: Any) -> Permit:
    made = Permit.objects.create(
        number=f"P-{Permit.objects.count()}", body="State office", valid_from=first, valid_to=last, **fields
    )
    made.watersheds.set([make_watershed(name) for name in watersheds])
    return Permit.objects.get(pk=made.pk)


def test_a_permit_covers_its_first_and_last_day_and_its_waters() -> None:
    station, other = make_station("WIL-01"), make_station("OTH-01", watershed="Otter Run")
    permit("2024-06-01", "2024-09-30", "Willow Run")
    for day, place, covered in [
        ("2024-06-01", station, True),
        ("2024-09-30", station, True),
        ("2024-10-01", station, False),
        ("2024-07-01", other, False),
    ]:
        assert (permit_words(place, datetime.date.fromisoformat(day)) == "") is covered


def test_visits_and_plans_without_a_permit_are_named() -> None:
    permit("2024-06-01", "2024-06-30")
    make_visit(make_station("WIL-01"), "2024-07-16")
    plan("WIL-02", "2024-08-01")
    plan("WIL-03", "2024-06-20")
    told = permit_warnings(known_permits(), season_of(2024), today=datetime.date(2024, 5, 1))
    assert [line.split(":")[0] for line in told] == [
        "WIL-01, visited 2024-07-16",
        "WIL-02, planned for 2024-08-01",
    ]


@pytest.mark.parametrize(
    ("today", "fields", "words"),
    [
        ("2024-09-05", {}, ["ends on 2024-09-30"]),
        ("2024-10-01", {}, ["expired on 2024-09-30"]),
        ("2024-08-01", {}, []),
        ("2024-08-01", {"report_due": "2024-08-20"}, ["is due on 2024-08-20"]),
        ("2024-08-21", {"report_due": "2024-08-20"}, ["was due on 2024-08-20"]),
        ("2024-08-21", {"report_due": "2024-08-20", "report_sent": "2024-08-19"}, []),
    ],
)
def test_what_ends_or_is_due_is_told_in_time(today: str, fields: dict[str, str], words: list[str]) -> None:
    permit("2024-06-01", "2024-09-30", **fields)
    told = permit_warnings(known_permits(), season_of(2024), today=datetime.date.fromisoformat(today))
    assert len(told) == len(words)
    assert all(word in line for word, line in zip(words, told, strict=True))


def test_without_any_permit_there_is_one_warning_only() -> None:
    make_visit(make_station("WIL-01"), "2024-07-16")
    assert len(permit_warnings(known_permits(), season_of(2024))) == 1


# --- reasons for gaps ----------------------------------------------------------------------------


def test_the_reasons_of_a_watershed_are_keyed_by_station_and_year() -> None:
    station = make_station("WIL-01")
    for kind, reason in (("cancelled", "the creek was in flood"), ("dry", "no water in August")):
        keep_not_sampled(NotSampled(station=station, year=2024, kind=kind, reason=reason), by=None)
    assert reasons_for_gaps(station.watershed) == {
        (station.pk, 2024): "cancelled: the creek was in flood; dry: no water in August"
    }


# --- the close -----------------------------------------------------------------------------------


def closed(year: int = 2024) -> Visit:
    visit = make_visit(make_station("WIL-01"), f"{year}-07-16")
    close_season(year, by=make_user("reviewer"), remark="check the scale")
    return visit


def test_a_closed_season_keeps_its_report_and_its_version() -> None:
    closed()
    close = SeasonClose.objects.get()
    assert (close.version, close.remark) == ("2024", "check the scale")
    assert close.report["counts"]["done"] == 1
    assert close.report["visits"] == [{"station": "WIL-01", "date": "2024-07-16", "revision": 1, "fish": 17}]
    assert closed_years() == {2024}


@pytest.mark.parametrize("status", ["draft", "submitted", "returned"])
def test_a_season_with_undecided_visits_stays_open(status: str) -> None:
    make_visit(status=status)
    with pytest.raises(NotClosed, match="not decided"):
        close_season(2024, by=None)


def test_an_empty_or_a_closed_season_is_not_closed() -> None:
    with pytest.raises(NotClosed, match="no season"):
        close_season(2024, by=None)
    closed()
    with pytest.raises(NotClosed, match="closed already"):
        close_season(2024, by=None)


def test_no_step_of_the_review_moves_a_locked_visit() -> None:
    visit = closed()
    with pytest.raises(StepRefused, match="closed and locked"):
        return_visit(visit.pk, by=None, remark="because")
    visit.refresh_from_db()
    assert visit.status == VisitStatus.ACCEPTED


def test_no_earlier_state_is_brought_back_into_a_locked_season() -> None:
    visit = make_visit(make_station("WIL-01"), "2024-07-16")
    Visit.objects.filter(pk=visit.pk).update(crew_lead="K. L.", revision=2)
    close_season(2024, by=None)
    with pytest.raises(NotRestored, match="closed and locked"):
        restore_state(visit.pk, 0, seen=len(visit_states(visit)), by=None, reason="because")


def test_entry_neither_begins_nor_saves_in_a_locked_season() -> None:
    visit = closed()
    method = SamplingMethod.objects.first()
    assert method is not None
    with pytest.raises(NotSaved, match="closed and locked"):
        start_visit(visit.station, datetime.date(2024, 8, 1), method, by=None)
    draft = make_visit(visit.station, "2025-08-01", status=VisitStatus.DRAFT)
    sheet = stored_sheet(draft)
    sheet.texts["visit_date"] = "2024-08-01"
    with pytest.raises(NotSaved, match="closed and locked"):
        save_sheet(draft.pk, sheet, revision=1, by=None)
    assert not Visit.objects.filter(visit_date="2024-08-01").exists()


def test_a_file_cannot_change_or_add_to_a_locked_season() -> None:
    make_taxon("Creek Chub")
    closed()
    for row in ({**ROW, "count": 13}, {**ROW, "visit_date": "2024-08-01"}):
        plan_of_file = prepare("season.csv", season_csv(row))
        assert [f.code for f in plan_of_file.findings if f.level == "error"] == ["season_closed"]
        assert [v.kind for v in plan_of_file.visits] == [PLAN_REFUSED]
        with pytest.raises(NotTaken):
            take(new_upload("season.csv", season_csv(row), by=None), by=None, replace=True, accept=True)


def test_a_file_that_says_what_is_stored_is_no_change() -> None:
    make_taxon("Creek Chub")
    closed()
    same = season_csv(ROW, {**ROW, "pass": 2, "count": 5}, method=Visit.objects.get().method.code)
    assert prepare("season.csv", same).nothing_to_do


def test_plans_and_reasons_of_a_locked_season_stand() -> None:
    station = closed().station
    with pytest.raises(SeasonLocked):
        keep_plan(PlannedVisit(station=station, year=2024), by=None)
    with pytest.raises(SeasonLocked):
        keep_not_sampled(NotSampled(station=station, year=2024, kind="dry", reason="dry"), by=None)
    keep_plan(PlannedVisit(station=station, year=2025), by=None)


def test_opening_again_needs_a_reason_and_a_new_close_is_a_new_version() -> None:
    visit, reviewer = closed(), make_user("reviewer")
    with pytest.raises(NotClosed, match="Say why"):
        reopen_season(2024, by=reviewer, reason=" ")
    reopen_season(2024, by=reviewer, reason="a scale was off")
    assert closed_years() == frozenset()
    Visit.objects.filter(pk=visit.pk).update(revision=2)
    second = close_season(2024, by=reviewer)
    first = SeasonClose.objects.get(version="2024")
    assert second.version == "2024.2"
    assert (first.reopened_by, first.reopened_why) == (reviewer, "a scale was off")
    assert changes_since(first, second.report) == ["WIL-01 on 2024-07-16: corrected (revision 1 to 2)"]


def test_other_seasons_stay_open() -> None:
    closed()
    other = make_visit(make_station("WIL-01"), "2025-07-16", status=VisitStatus.SUBMITTED)
    move_visits([other.pk], VisitStatus.ACCEPTED, by=None)
    assert report_of(2025)["counts"]["done"] == 1


# --- the pages -----------------------------------------------------------------------------------

STAFF = [("", 302), ("planner", 403), ("outreach", 403), ("biologist", 200), ("reviewer", 200)]


@pytest.mark.parametrize(("role", "status"), STAFF)
@pytest.mark.parametrize(
    "page", ["/season/", "/season/2024/", "/season/2024/close/", "/season/2024/season.csv"]
)
def test_who_may_open_the_season(signed_in: SignIn, page: str, role: str, status: int) -> None:
    make_visit(plan("WIL-01", "2024-07-10").station, "2024-07-16")
    assert signed_in(role).get(page).status_code == status


@pytest.mark.parametrize("page", ["/season/2024/plan/", "/season/2024/not-sampled/", "/season/permits/"])
@pytest.mark.parametrize(("role", "status"), [*STAFF[:-1], ("reviewer", 403)])
def test_who_may_plan(signed_in: SignIn, page: str, role: str, status: int) -> None:
    assert signed_in(role).get(page).status_code == status


def test_a_year_out_of_range_is_not_found(signed_in: SignIn) -> None:
    assert signed_in("biologist").get("/season/1200/").status_code == 404
    assert signed_in("biologist").get("/season/2024/plan/77/").status_code == 404


def test_planning_by_the_page(signed_in: SignIn) -> None:
    make_station("WIL-01")
    client = signed_in("biologist")
    wrong = client.post("/season/2024/plan/", {"station": "NO-1", "planned_on": "2025-01-01"})
    assert wrong.status_code == 422
    assert "There is no station with this code" in wrong.content.decode()
    form = {"station": "WIL-01", "planned_on": "2024-07-10", "crew": "K. L."}
    shown = client.post("/season/2024/plan/", form, follow=True).content.decode()
    assert "K. L." in shown and "2024-07-10" in shown
    assert client.post("/season/2024/plan/", form).status_code == 422  # in the plan already
    (kept,) = PlannedVisit.objects.all()
    page = f"/season/2024/plan/{kept.pk}/"
    assert 'value="WIL-01"' in client.get(page).content.decode()
    client.post(page, {**form, "crew": "M. N."})
    kept.refresh_from_db()
    assert kept.crew == "M. N."
    client.post(page, {"action": "drop"})
    assert not PlannedVisit.objects.exists()


def test_a_gap_is_explained_by_the_page(signed_in: SignIn) -> None:
    make_station("WIL-01")
    client = signed_in("biologist")
    page = "/season/2024/not-sampled/"
    assert 'value="WIL-01"' in client.get(f"{page}?station=WIL-01").content.decode()
    assert client.post(page, {"station": "WIL-01", "kind": "dry", "reason": ""}).status_code == 422
    shown = client.post(page, {"station": "WIL-01", "kind": "dry", "reason": "no water"}, follow=True)
    assert "dry: no water" in shown.content.decode()


def test_a_permit_is_kept_by_the_page(signed_in: SignIn) -> None:
    client = signed_in("biologist")
    form = {"number": "SC-7", "body": "State office", "valid_from": "2024-06-01", "valid_to": "2024-05-01"}
    assert "ends before it begins" in client.post("/season/permits/", form).content.decode()
    client.post("/season/permits/", {**form, "valid_to": "2024-09-30"})
    assert Permit.objects.get().number == "SC-7"
    assert "SC-7" in client.get("/season/2024/").content.decode()


def test_a_reviewer_closes_and_opens_by_the_page(signed_in: SignIn) -> None:
    make_visit(make_station("WIL-01"), "2024-07-16")
    page = "/season/2024/close/"
    signed_in("biologist").post(page, {"remark": ""})
    assert not SeasonClose.objects.exists()
    client = signed_in("reviewer")
    assert (
        "closed as version 2024 and locked" in client.post(page, {"remark": ""}, follow=True).content.decode()
    )
    assert "closed and locked" in client.get("/season/2024/").content.decode()
    assert client.post(page, {"reason": ""}).status_code == 422
    shown = client.post(page, {"reason": "a scale was off"}, follow=True).content.decode()
    assert "a scale was off" in shown and "open again" in shown


def test_beginning_a_visit_in_a_locked_season_says_so_beside_the_day(signed_in: SignIn) -> None:
    closed()
    given = {"station": "WIL-01", "visit_date": "2024-08-01"}
    answer = signed_in("biologist").post("/entry/", given)
    assert answer.status_code == 422
    assert "The season 2024 is closed and locked" in answer.content.decode()
