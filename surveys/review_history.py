"""A visit beside the last visits to its station: the counts of each fish then and now, and how the visits were made."""

import datetime
from dataclasses import dataclass
from statistics import median

from django.db.models import Count, Q

from surveys.language import worded, worded_n
from surveys.models import Catch, Taxon, Visit, VisitStatus
from surveys.queries import VisitRecord, visit_records
from surveys.said import marked

SHOWN_VISITS = 5
FIRST_IN_WATERSHED, FIRST_HERE, MISSING = (
    marked("first in the watershed"),
    marked("first here"),
    marked("not now"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FishRow:
    """One taxon: its fish now and at each visit shown, in the order of the columns. Zero is a zero: the visit was
    made and caught none."""

    taxon: Taxon
    now: int
    usual: float
    then: tuple[int, ...]
    mark: str  # what a reviewer's eye should stop at, or nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeRow:
    """How the visits were made, or what they sum to; None where it was not written down."""

    name: str
    now: float | None
    usual: float | None
    then: tuple[float | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    visits: tuple[VisitRecord, ...]  # the latest first
    earlier: int  # visits before this one, also those not shown
    fish: tuple[FishRow, ...]
    sums: tuple[MadeRow, ...]
    made: tuple[MadeRow, ...]
    unlike: tuple[str, ...]  # which visits were made in another way, in words


def history_beside(record: VisitRecord) -> History:
    """The visits before a visit at its station; withdrawn ones are no measure. Six queries, however many visits."""
    before = Visit.objects.filter(station=record.station_id, visit_date__lt=record.date).exclude(
        status=VisitStatus.WITHDRAWN
    )
    days = list(before.order_by("-visit_date").values_list("pk", flat=True))
    shown = tuple(reversed(visit_records(Visit.objects.filter(pk__in=days[:SHOWN_VISITS])))) if days else ()
    here, around = _met_before(record)
    return History(
        visits=shown,
        earlier=len(days),
        fish=_fish(record, shown, here, around),
        sums=(
            _row(marked("All fish"), [one.total_catch for one in (record, *shown)]),
            _row(marked("Taxa"), [len(one.counts_by_taxon()) for one in (record, *shown)]),
        ),
        made=(
            _row(marked("Passes"), [len(one.passes) for one in (record, *shown)]),
            _row(marked("Current on, s"), [_effort(one) for one in (record, *shown)]),
            _row(marked("Reach, m"), [one.reach_length_m for one in (record, *shown)]),
            _row(marked("Mean width, m"), [one.mean_width_m for one in (record, *shown)]),
        ),
        unlike=tuple(_unlike(record, shown)),
    )


def _met_before(record: VisitRecord) -> tuple[frozenset[int], frozenset[int]]:
    """Taxa met before this visit at its station, and anywhere in its watershed."""
    caught = (
        Catch.objects.exclude(removal_pass__visit__status=VisitStatus.WITHDRAWN)
        .filter(
            removal_pass__visit__station__watershed=record.watershed_id,
            removal_pass__visit__visit_date__lt=record.date,
        )
        .order_by()
        .values_list("taxon_id")
        .annotate(here=Count("pk", filter=Q(removal_pass__visit__station=record.station_id)))
    )
    met = list(caught)
    return frozenset(taxon for taxon, here in met if here), frozenset(taxon for taxon, _ in met)


def _fish(
    record: VisitRecord, shown: tuple[VisitRecord, ...], here: frozenset[int], around: frozenset[int]
) -> tuple[FishRow, ...]:
    columns = [
        {taxon.pk: sum(counts) for taxon, counts in one.counts_by_taxon().items()} for one in (record, *shown)
    ]
    taxa = {taxon.pk: taxon for one in (record, *shown) for taxon in one.counts_by_taxon()}
    rows = []
    for key, taxon in taxa.items():
        now, *then = (column.get(key, 0) for column in columns)
        rows.append(
            FishRow(
                taxon=taxon,
                now=now,
                usual=median(then) if then else 0,
                then=tuple(then),
                mark=_mark(key, now, then, here, around),
            )
        )
    return tuple(sorted(rows, key=lambda row: (not row.now, -row.now, -row.usual, str(row.taxon))))


def _mark(key: int, now: int, then: list[int], here: frozenset[int], around: frozenset[int]) -> str:
    if now and around and key not in around:
        return FIRST_IN_WATERSHED
    if now and here and key not in here:
        return FIRST_HERE
    return MISSING if not now and then and all(then) else ""


def _effort(record: VisitRecord) -> int | None:
    seconds = [one.effort_s for one in record.passes if one.effort_s is not None]
    return sum(seconds) if seconds and len(seconds) == len(record.passes) else None


def _row(name: str, values: list[int] | list[float | None] | list[int | None]) -> MadeRow:
    now, *then = values
    known = [value for value in then if value is not None]
    return MadeRow(name=name, now=now, usual=median(known) if known else None, then=tuple(then))


def _unlike(record: VisitRecord, shown: tuple[VisitRecord, ...]) -> list[str]:
    """Counts of these visits are no like for like with those of now."""
    words = []
    for one in shown:
        how = []
        if one.method_code != record.method_code:
            how.append(worded("by {method}", method=one.method_name))
        if len(one.passes) != len(record.passes):
            how.append(worded_n("{n} pass", "{n} passes", len(one.passes)))
        if how:
            words.append(f"{_day(one.date)} ({', '.join(how)})")
    return words


def _day(day: datetime.date) -> str:
    return f"{day:%Y-%m-%d}"
