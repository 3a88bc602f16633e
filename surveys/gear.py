"""Which visits a meter or a unit was used at: what has to be looked at again when it turns out to have been off."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from surveys.models import RemovalPass, Visit, VisitStatus
from surveys.said import marked

METER, UNIT = marked("meter"), marked("unit")


@dataclass(frozen=True, slots=True, kw_only=True)
class GearUse:
    """A meter or unit as it was written down, with the visits and the first and last day of its use."""

    name: str
    kind: str
    visits: int
    first: datetime.date
    last: datetime.date


def gear_on_record() -> list[GearUse]:
    """Every meter and unit as written down, by name; two ways of writing are two lines."""
    visits = Visit.objects.exclude(status=VisitStatus.WITHDRAWN)
    found: dict[tuple[str, str], set[int]] = {}
    days: dict[int, datetime.date] = dict(visits.values_list("pk", "visit_date"))
    for pk, meters in visits.exclude(meters="").values_list("pk", "meters"):
        for name in _each(meters):
            found.setdefault((name, METER), set()).add(pk)
    units = RemovalPass.objects.filter(visit__in=visits).exclude(gear_unit="")
    for pk, unit in units.values_list("visit", "gear_unit"):
        found.setdefault((unit.strip(), UNIT), set()).add(pk)
    return [
        GearUse(
            name=name,
            kind=kind,
            visits=len(keys),
            first=min(days[pk] for pk in keys),
            last=max(days[pk] for pk in keys),
        )
        for (name, kind), keys in sorted(found.items(), key=lambda one: (one[0][0].casefold(), one[0][1]))
    ]


def visits_with(
    gear: str,
    first: datetime.date | None = None,
    last: datetime.date | None = None,
    *,
    whole: bool = False,
) -> QuerySet[Visit]:
    """Visits whose meters or units hold these words, from day to day, both included; the earliest first.

    Withdrawn visits are left out. Letters may be large or small. ``whole``: only the name as it stands in the
    list of gear, so that M1 does not bring M10 along.
    """
    found = Visit.objects.exclude(status=VisitStatus.WITHDRAWN).filter(
        Q(meters__icontains=gear) | Q(passes__gear_unit__icontains=gear)
    )
    if whole:
        named = found.values_list("pk", "meters", "passes__gear_unit")
        found = found.filter(
            pk__in={pk for pk, meters, unit in named if gear in _each(meters) or gear == (unit or "").strip()}
        )
    if first is not None:
        found = found.filter(visit_date__gte=first)
    if last is not None:
        found = found.filter(visit_date__lte=last)
    return (
        found.select_related("station")
        .prefetch_related("passes")
        .distinct()
        .order_by("visit_date", "station__code")
    )


def _each(written: str) -> Iterable[str]:
    """The meters of a visit stand in one field, apart by commas or semicolons."""
    return {part.strip() for part in written.replace(";", ",").split(",") if part.strip()}
