"""Many places side by side: where each stands, told in columns, and the short outcomes of those in view.

An order, a shared scale and the adjustment for many tests need every place, so they are made from a few
numbers of each; the outcome, which takes longer to read, is read for the places in view alone.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import QuerySet

from surveys.models import Watershed
from trends.chart_parts import nice_ceiling
from trends.listed import ListedOutcome, listed_outcome
from trends.many_tests import adjusted_p, with_adjusted
from trends.measures import Measure
from trends.models import TrendResult


@dataclass(frozen=True, slots=True)
class Standing:
    """The numbers of one place by which a list is put in order and drawn; ``part_of`` is a station's creek."""

    result: int
    place: int  # id of the station or of the watershed
    watershed: int
    name: str
    part_of: str
    p_value: float | None
    slope: float | None
    n_years: int
    latest_value: float | None
    highest: float | None
    scale_top: float | None
    first_drawn: int | None
    last_drawn: int | None


def creek_standings(watersheds: Iterable[Watershed], measure: Measure) -> list[Standing]:
    """Watersheds with a value, by name. One query."""
    rows = _rows(measure).filter(station__isnull=True, watershed__in=list(watersheds))
    return [
        Standing(pk, watershed, watershed, name, "", *numbers)
        for pk, watershed, name, *numbers in rows.order_by("watershed__name").values_list(
            "pk", "watershed_id", "watershed__name", *_NUMBERS
        )
    ]


def station_standings(watersheds: Iterable[Watershed], measure: Measure) -> list[Standing]:
    """Their stations with a value, by watershed and code. One query."""
    named = {w.pk: w.name for w in watersheds}
    rows = _rows(measure).filter(station__isnull=False, watershed__in=list(named))
    return [
        Standing(pk, station, watershed, f"{code} {name}".strip(), named[watershed], *numbers)
        for pk, station, watershed, code, name, *numbers in rows.order_by(
            "watershed__name", "station__code"
        ).values_list("pk", "station_id", "watershed_id", "station__code", "station__name", *_NUMBERS)
    ]


_NUMBERS = (
    "p_value", "slope", "n_years", "latest_value", "highest", "scale_top", "first_drawn", "last_drawn",
)  # fmt: skip


def _rows(measure: Measure) -> "QuerySet[TrendResult]":
    return TrendResult.objects.filter(measure=measure.key, latest_value__isnull=False)


def shared_axes(
    standings: Sequence[Standing], measure: Measure
) -> tuple[int | None, int | None, float | None]:
    """First year, last year and highest value over all places: every picture is drawn on these."""
    first = [s.first_drawn for s in standings if s.first_drawn is not None]
    last = [s.last_drawn for s in standings if s.last_drawn is not None]
    if not first or not last:
        return None, None, None
    return min(first), max(last), max(_top(s, measure) for s in standings)


def _top(one: Standing, measure: Measure) -> float:
    """The end of the axis that ``chart_parts.value_range`` gives the place by itself."""
    if one.scale_top is not None:
        return one.scale_top
    if measure.full_scale is not None:
        return float(measure.full_scale[1])
    return nice_ceiling(one.highest if one.highest is not None else 1.0)


def outcomes_in_view(shown: Iterable[Standing], among: Sequence[Standing]) -> list[ListedOutcome]:
    """The short outcomes of the places in view, their words decided by the tests of all. One query."""
    chosen = list(shown)
    p_of = dict(zip([s.result for s in among], adjusted_p([s.p_value for s in among]), strict=True))
    summaries = dict(
        TrendResult.objects.filter(pk__in=[s.result for s in chosen]).values_list("pk", "summary")
    )
    return [with_adjusted(listed_outcome(**summaries[s.result]), p_of[s.result]) for s in chosen]
