"""The season pages in their rarer states: permits and training that lapse, a season closed, opened and closed again."""

import datetime
from collections.abc import Callable

import pytest
from django.contrib.auth import get_user_model
from django.test import Client
from django.urls import reverse
from django.utils import timezone, translation

from surveys.models import (
    CrewMember,
    NotSampled,
    Permit,
    PlannedVisit,
    SeasonClose,
    Station,
    StationVersion,
    Visit,
    VisitStatus,
)
from surveys.season import close_season, reopen_season
from tests.made_up_language import county, data_words, made_up_language, not_given_out

__all__ = ["county", "made_up_language"]  # fixtures

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("county", "made_up_language")]


@pytest.fixture
def person() -> object:
    return get_user_model().objects.get(username="administrator")


@pytest.fixture
def words_of(person: object) -> Callable[..., list[str]]:
    """Words of a page of the desk that were not given out, after an answer of 200."""
    client = Client()
    client.force_login(person)  # type: ignore[arg-type]

    def ask(name: str, *keys: object) -> list[str]:
        with translation.override("es"):
            address = reverse(name, args=keys)
        response = client.get(address)
        assert response.status_code == 200, address
        return list(not_given_out(response, data_words()))

    return ask


def test_plans_gaps_and_crew_with_what_is_odd_about_them(words_of: Callable[..., list[str]]) -> None:
    year = timezone.localdate().year
    today = timezone.localdate()
    one, two, three = Station.objects.order_by("code")[:3]
    plan = PlannedVisit.objects.create(station=one, year=year, planned_on=today, crew="QX", note="Zzyx")
    PlannedVisit.objects.create(station=three, year=year)
    gap = NotSampled.objects.create(station=two, year=year, kind="dry", reason="Qwyjibo")
    week = datetime.timedelta(days=7)
    member = CrewMember.objects.create(
        initials="QX", course="Blorp", course_until=today - week, first_aid_until=today + week
    )
    CrewMember.objects.create(initials="QZ")
    lapsed = Permit.objects.create(
        number="P-1", body="Xanadu", valid_from=today - week, valid_to=today - datetime.timedelta(days=1)
    )
    ending = Permit.objects.create(
        number="P-2",
        body="Xanadu",
        valid_from=today - 2 * week,
        valid_to=today - week,
        report_due=today - datetime.timedelta(days=1),
    )
    late = Permit.objects.create(
        number="P-3", body="Xanadu", valid_from=today, valid_to=today + week, report_due=today + week
    )
    late.watersheds.add(two.watershed)
    for name, keys in (
        ("surveys:season_year", [year]),
        ("surveys:season_plan", [year, plan.pk]),
        ("surveys:season_not_sampled", [year, gap.pk]),
        ("surveys:season_crew", [member.pk]),
        ("surveys:season_permit", [lapsed.pk]),
        ("surveys:permit_report", [year]),
        ("surveys:field_sheet", [one.code]),
    ):
        assert words_of(name, *keys) == [], name
    assert ending.pk


def test_a_visit_led_after_a_lapse(words_of: Callable[..., list[str]]) -> None:
    visit = Visit.objects.accepted().filter(visit_date__year=2024).latest("visit_date")
    Visit.objects.filter(pk=visit.pk).update(crew_lead="QX")
    CrewMember.objects.create(
        initials="QX",
        course="Blorp",
        course_until="2020-01-01",
        cpr_until="2020-01-01",
        first_aid_until="2020-01-01",
    )
    assert words_of("surveys:season_year", 2024) == []


def test_a_season_that_was_closed_opened_and_closed_again(
    words_of: Callable[..., list[str]], person: object
) -> None:
    year = 2012
    close_season(year, by=person, remark="Qwyjibo")
    assert words_of("surveys:season_year", year) == []
    assert words_of("surveys:season_close", year) == []
    reopen_season(year, by=person, reason="Qwyjibo")
    Visit.objects.accepted().filter(visit_date__year=year).update(revision=7)
    assert words_of("surveys:season_close", year) == []
    close_season(year, by=person)
    assert words_of("surveys:season_close", year) == []


def test_what_is_signed_is_kept_in_english_and_told_in_the_language_of_the_reader(person: object) -> None:
    """Whoever signs may read Spanish; the report is the same for everybody."""
    with translation.override("es"):
        close = close_season(2012, by=person)
    row = SeasonClose.objects.get(pk=close.pk).report["moved"][0]
    assert "⟦" not in row["before"] and "⟦" in row["before_in"]["es"]
    assert {one["state"] for one in close.report["rows"]} <= {"done", "missing", "not sampled"}


def test_a_station_laid_out_anew(words_of: Callable[..., list[str]]) -> None:
    station = Station.objects.order_by("code").first()
    assert station
    one = StationVersion.objects.create(
        station=station, valid_from="2019-05-01", reason="Qwyjibo", width_rule="Blorp", joined_why="Zzyx"
    )
    StationVersion.objects.create(station=station, valid_from="2021-05-01", reason="Qwyjibo")
    Visit.objects.filter(station=station, status=VisitStatus.DRAFT).delete()
    assert words_of("surveys:station_layout", station.code) == []
    assert words_of("surveys:station_version", station.code, one.pk) == []
