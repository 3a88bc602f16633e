"""Which permit covers a visit, and what a biologist has to be warned of in time. The permit itself decides;
this only compares days and waters as they were typed in."""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils import timezone

from surveys.models import Permit, Station
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
        return "No permit is on record here."
    return f"No permit on record covers {station.watershed} on {day:%Y-%m-%d}."


def permit_warnings(
    permits: Sequence[KnownPermit], season: Season, *, today: datetime.date | None = None
) -> list[str]:
    """What is expired, ends soon, is reported late, or is not covered in a season."""
    today = today or timezone.localdate()
    if not permits:
        return [
            "No permit is on record. Add those of this season, so that expiry and report dates are watched."
        ]
    return [*_of_permits(permits, season, today), *_not_covered(permits, season)]


def _of_permits(permits: Iterable[KnownPermit], season: Season, today: datetime.date) -> Iterable[str]:
    for one in permits:
        permit = one.permit
        if permit.valid_to.year < season.year and permit.report_due is None:
            continue
        if permit.valid_to < today and permit.valid_to.year >= season.year:
            yield f"{permit} expired on {permit.valid_to:%Y-%m-%d}."
        elif today <= permit.valid_to <= today + datetime.timedelta(days=SOON_DAYS):
            yield f"{permit} ends on {permit.valid_to:%Y-%m-%d}."
        if permit.report_due and not permit.report_sent:
            if permit.report_due < today:
                yield f"The report on {permit} was due on {permit.report_due:%Y-%m-%d} and is not marked as sent."
            elif permit.report_due <= today + datetime.timedelta(days=SOON_DAYS):
                yield f"The report on {permit} is due on {permit.report_due:%Y-%m-%d}."


def _not_covered(permits: Sequence[KnownPermit], season: Season) -> list[str]:
    """Each day that no permit covers; a season full of them, as one from before permits were kept here, is one line."""
    bare = list(_bare_days(permits, season))
    if len(bare) <= MOST_LINES:
        return [f"{place}: no permit on record covers that day and water." for place in bare]
    return [
        f"{len(bare)} visits of {season.year}: no permit on record covers their day and water. "
        f"The first is {bare[0]}."
    ]


def _bare_days(permits: Sequence[KnownPermit], season: Season) -> Iterable[str]:
    for row in season.rows:
        watershed = row.station.watershed_id
        days = {visit.visit_date: "visited" for visit in row.visits}
        for plan in row.plans:
            if plan.planned_on and not row.visits:
                days.setdefault(plan.planned_on, "planned for")
        for day, word in sorted(days.items()):
            if not any(one.covers(day, watershed) for one in permits):
                yield f"{row.station.code}, {word} {day:%Y-%m-%d}"
