"""Which permit covers a visit, and what a biologist has to be warned of in time. The permit itself decides;
this only compares days and waters as they were typed in."""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils import timezone

from surveys.models import Permit, Station
from surveys.said import marked, said
from surveys.season_report import Season

SOON_DAYS = 30
MOST_LINES = 4  # more would bury the other warnings


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownPermit:
    """A permit with the keys of its watersheds; none stands for every water."""

    permit: Permit
    watersheds: frozenset[int]

    def covers(self, day: datetime.date, watershed: int) -> bool:
        in_time = self.permit.valid_from <= day <= self.permit.valid_to
        return in_time and (not self.watersheds or watershed in self.watersheds)


def known_permits() -> list[KnownPermit]:
    return [
        KnownPermit(permit=permit, watersheds=frozenset(w.pk for w in permit.watersheds.all()))
        for permit in Permit.objects.prefetch_related("watersheds")
    ]


def permit_words(station: Station, day: datetime.date) -> str:
    """Why a visit on this day needs a second look at the permits, or nothing."""
    permits = known_permits()
    if any(one.covers(day, station.watershed_id) for one in permits):
        return ""
    if not permits:
        return said("No permit is on record here.")
    return said("No permit on record covers {water} on {day}.", water=station.watershed, day=day)


def permit_warnings(
    permits: Sequence[KnownPermit], season: Season, *, today: datetime.date | None = None
) -> list[str]:
    """What is expired, ends soon, is reported late, or is not covered in a season."""
    today = today or timezone.localdate()
    if not permits:
        return [
            said(
                "No permit is on record. Add those of this season, so that expiry and report dates are watched."
            )
        ]
    return [*_of_permits(permits, season, today), *_not_covered(permits, season)]


def _of_permits(permits: Iterable[KnownPermit], season: Season, today: datetime.date) -> Iterable[str]:
    for one in permits:
        permit = one.permit
        if permit.valid_to.year < season.year and permit.report_due is None:
            continue
        if permit.valid_to < today and permit.valid_to.year >= season.year:
            yield said("{permit} expired on {day}.", permit=permit, day=permit.valid_to)
        elif today <= permit.valid_to <= today + datetime.timedelta(days=SOON_DAYS):
            yield said("{permit} ends on {day}.", permit=permit, day=permit.valid_to)
        if permit.report_due and not permit.report_sent:
            if permit.report_due < today:
                yield said(
                    "The report on {permit} was due on {day} and is not marked as sent.",
                    permit=permit,
                    day=permit.report_due,
                )
            elif permit.report_due <= today + datetime.timedelta(days=SOON_DAYS):
                yield said("The report on {permit} is due on {day}.", permit=permit, day=permit.report_due)


def _not_covered(permits: Sequence[KnownPermit], season: Season) -> list[str]:
    """Each day that no permit covers; a season full of them, as one from before permits were kept here, is one line."""
    bare = list(_bare_days(permits, season))
    if len(bare) <= MOST_LINES:
        return [
            said("{place}: no permit on record covers that day and water.", place=place) for place in bare
        ]
    return [
        said(
            "{n} visits of {year}: no permit on record covers their day and water. The first is {place}.",
            n=len(bare),
            year=season.year,
            place=bare[0],
        )
    ]


def _bare_days(permits: Sequence[KnownPermit], season: Season) -> Iterable[str]:
    for row in season.rows:
        watershed = row.station.watershed_id
        days = {visit.visit_date: marked("{station}, visited {day}") for visit in row.visits}
        for plan in row.plans:
            if plan.planned_on and not row.visits:
                days.setdefault(plan.planned_on, marked("{station}, planned for {day}"))
        for day, pattern in sorted(days.items()):
            if not any(one.covers(day, watershed) for one in permits):
                yield said(pattern, station=row.station.code, day=day)
