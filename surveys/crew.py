"""Whose training lapses, in time to do something about it. It compares dates as they were typed in and clears
nobody: the crew leader and the employer's safety programme decide who goes.

What is watched is what the trade asks of a crew: training on the gear, first aid and CPR that are current
(U.S. Geological Survey, Open-File Report 93-104, 1993, p. 16).
"""

import datetime
from collections.abc import Iterator, Sequence

from django.utils import timezone

from surveys.models import CrewMember
from surveys.said import AND, linked, marked, said
from surveys.season_report import Season

SOON_DAYS = 30
WATCHED = (
    ("course_until", marked("The course")),
    ("first_aid_until", marked("First aid")),
    ("cpr_until", marked("CPR")),
)
_ON_A_DAY = {
    "course_until": marked("the course on {day}"),
    "first_aid_until": marked("first aid on {day}"),
    "cpr_until": marked("CPR on {day}"),
}
MOST_LINES = 4  # more would bury the other warnings


def crew_on(year: int) -> list[CrewMember]:
    """Everybody who had not left before that year."""
    return [one for one in CrewMember.objects.all() if one.left_on is None or one.left_on.year >= year]


def crew_warnings(
    crew: Sequence[CrewMember], season: Season, *, today: datetime.date | None = None
) -> list[str]:
    """What has lapsed, lapses soon or is not on record today, and who led a visit of the season after a lapse."""
    today = today or timezone.localdate()
    found = [*_after_a_lapse(crew, season)]
    if season.year >= today.year:
        found = [*_today(crew, today), *found]
    return found


def _today(crew: Sequence[CrewMember], today: datetime.date) -> Iterator[str]:
    for one in crew:
        if one.left_on is not None and one.left_on <= today:
            continue
        for field, name in WATCHED:
            until = getattr(one, field)
            if until is None:
                if field != "course_until":
                    yield said("{training} of {person}: no date is on record.", training=name, person=one)
                elif not one.course:
                    yield said("No course of {person} is on record.", person=one)
            elif until < today:
                yield said("{training} of {person} lapsed on {day}.", training=name, person=one, day=until)
            elif until <= today + datetime.timedelta(days=SOON_DAYS):
                yield said("{training} of {person} lapses on {day}.", training=name, person=one, day=until)


def _after_a_lapse(crew: Sequence[CrewMember], season: Season) -> list[str]:
    known = {one.initials.casefold(): one for one in crew}
    lines = []
    for row in season.rows:
        for visit in row.visits:
            one = known.get(visit.crew_lead.strip().casefold())
            if one is None:
                continue
            lapsed = [
                said(_ON_A_DAY[field], day=until)
                for field, _ in WATCHED
                if (until := getattr(one, field)) is not None and until < visit.visit_date
            ]
            if lapsed:
                lines.append(
                    said(
                        "{person} led the visit to {station} on {day}; "
                        "by the dates on record these had lapsed: {training}.",
                        person=one,
                        station=row.station.code,
                        day=visit.visit_date,
                        training=linked(said, AND, lapsed),
                    )
                )
    if len(lines) <= MOST_LINES:
        return lines
    return [
        said(
            "{n} visits of {year} were led by somebody whose training had lapsed.",
            n=len(lines),
            year=season.year,
        )
        + f" {lines[0]}"
    ]
