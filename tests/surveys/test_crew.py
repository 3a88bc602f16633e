"""Training dates of the crew: what lapses is said in time, nobody is cleared, and nothing of it is public."""

import datetime
from collections.abc import Callable
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client

from surveys.crew import crew_on, crew_warnings
from surveys.models import CrewMember
from surveys.season_report import season_of
from tests.factories import make_station, make_visit

pytestmark = pytest.mark.django_db

SignIn = Callable[[str], Client]
TODAY = datetime.date(2024, 6, 1)


def member(initials: str = "JK", **fields: Any) -> CrewMember:
    """Somebody whose training holds all through 2024."""
    full = {"course": "Two days", "first_aid_until": "2025-01-31", "cpr_until": "2025-01-31"}
    made = CrewMember(initials=initials, **(full | fields))
    made.full_clean()
    made.save()
    made.refresh_from_db()
    return made


def said(year: int = 2024) -> list[str]:
    return crew_warnings(crew_on(year), season_of(year, today=TODAY), today=TODAY)


def test_nothing_is_said_where_all_dates_hold() -> None:
    member()
    assert said() == []


@pytest.mark.parametrize(
    ("until", "words"),
    [
        ("2024-05-31", "CPR of JK lapsed on 2024-05-31."),
        ("2024-06-01", "CPR of JK lapses on 2024-06-01."),
        ("2024-07-01", "CPR of JK lapses on 2024-07-01."),
        ("2024-07-02", ""),
        (None, "CPR of JK: no date is on record."),
    ],
)
def test_a_lapse_is_said_thirty_days_before_and_ever_after(until: str | None, words: str) -> None:
    member(cpr_until=until)
    assert said() == ([words] if words else [])


def test_no_course_is_not_known_and_a_course_without_an_end_holds() -> None:
    member("AA", course="")
    member("BB", course="Two days", course_until=None)
    member("CC", course="Two days", course_on="2019-06-01", course_until="2024-03-01")
    assert said() == ["No course of AA is on record.", "The course of CC lapsed on 2024-03-01."]


def test_who_has_left_is_watched_no_more() -> None:
    member(cpr_until="2024-01-01", left_on="2024-05-01")
    assert said() == []
    assert [one.initials for one in crew_on(2024)] == ["JK"]
    assert crew_on(2025) == []


def test_a_visit_led_after_a_lapse_is_named_whatever_the_letters() -> None:
    member("JK", first_aid_until="2024-05-01", cpr_until="2024-07-10")
    make_visit(make_station("WIL-01"), "2024-07-16", crew_lead="jk")
    make_visit(make_station("WIL-02"), "2024-04-30", crew_lead="JK")
    assert said()[-1] == (
        "JK led the visit to WIL-01 on 2024-07-16; by the dates on record these had lapsed: "
        "first aid on 2024-05-01 and CPR on 2024-07-10."
    )
    # An earlier season says what was so then, and nothing of today.
    assert said(2023) == []


def test_many_such_visits_are_one_line() -> None:
    member("JK", first_aid_until="2023-01-01", cpr_until="2025-01-01")
    for number in range(6):
        make_visit(make_station(f"WIL-{number:02d}"), f"2024-07-{number + 10}", crew_lead="JK")
    (line,) = [one for one in said() if "led" in one]
    assert line.startswith(
        "6 visits of 2024 were led by somebody whose training had lapsed. JK led the visit to"
    )


def test_the_page_takes_dates_and_clears_nobody(signed_in: SignIn) -> None:
    client = signed_in("biologist")
    assert client.post("/season/crew/", {"initials": "RO", "cpr_until": "2020-01-01"}).status_code == 302
    page = client.get("/season/").content.decode()
    assert "CPR of RO lapsed on 2020-01-01." in page
    assert "It clears nobody to go" in page
    assert not [words for words in ("safe to go", "cleared to", "fit for work") if words in page]


def test_the_same_initials_and_an_end_before_the_beginning_are_refused(signed_in: SignIn) -> None:
    member("JK")
    client = signed_in("biologist")
    answer = client.post("/season/crew/", {"initials": "jk"})
    assert answer.status_code == 422
    assert "Somebody of the crew has these initials already." in answer.content.decode()
    answer = client.post(
        "/season/crew/", {"initials": "MT", "course_on": "2024-02-01", "course_until": "2023-02-01"}
    )
    assert "The course ends before it was taken." in answer.content.decode()
    with pytest.raises(IntegrityError), transaction.atomic():
        CrewMember.objects.create(initials="Jk")


@pytest.mark.parametrize("role", ["reviewer", "planner", "outreach"])
def test_dates_of_people_are_seen_by_those_who_plan_visits_alone(signed_in: SignIn, role: str) -> None:
    member("Q.Z.", cpr_until="2020-01-01")
    answer = signed_in(role).get("/season/")
    assert "Q.Z." not in answer.content.decode()


def test_what_was_changed_or_taken_out_stays_in_the_history(signed_in: SignIn) -> None:
    one = member("JK")
    client = signed_in("biologist")
    client.post(f"/season/crew/{one.pk}/", {"initials": "JK", "cpr_until": "2026-01-01"})
    client.post(f"/season/crew/{one.pk}/", {"action": "drop"})
    events: Any = CrewMember.pgh_event_models["before_update"]  # type: ignore[attr-defined]
    assert [str(e.cpr_until) for e in events.objects.order_by("pgh_id")] == ["2025-01-31", "2026-01-01"]
    assert not CrewMember.objects.exists()
