"""What changed among the fish of a creek between two spans of years, and how sure that is.

The year is the unit. Only stations visited in both spans by one sampling method are compared, over
the passes that all their visits share, so that neither a new station, nor a longer reach, nor a third
pass is taken for a new fish.
"""

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from statistics import mean

import numpy as np

from surveys.language import said, worded
from surveys.models import Taxon
from surveys.queries import VisitRecord
from trends.number_words import two_digits
from trends.stats.diversity import bray_curtis

# Years in a span where the record is long enough; never more than half of the visited years.
SPAN_YEARS = 5
LEAST_SPAN_YEARS = 2
# Gained or lost is "probable" when so rare a chance would have hidden the fish in the other span
# (no published threshold; the same 0.05 as elsewhere on the site).
MISSED_BY_CHANCE = 0.05
MOST_ARRANGEMENTS = 5_000
SEED = 41_117


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """One of the two spans: its years and the visits behind it."""

    years: tuple[int, ...]
    visits: int

    @property
    def words(self) -> str:
        first, last = self.years[0], self.years[-1]
        return str(first) if first == last else worded("{first} to {last}", first=first, last=last)


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A species met in one span alone. ``missed`` is the chance that it was there all the same.

    That chance is (1 - share) to the power of the visits of the other span, where share is the part
    of visits that met it in its own span.
    """

    taxon: Taxon
    met: int
    of: int
    missed: float

    @property
    def probable(self) -> bool:
        return self.missed < MISSED_BY_CHANCE

    @property
    def words(self) -> str:
        name = self.taxon.common_name or self.taxon.scientific_name
        words = {
            "name": name,
            "met": self.met,
            "visits": self.of,
            "chance": f"{100 * self.missed:.0f} %" if self.missed >= 0.01 else worded("below 1 %"),
        }
        if self.probable:
            return worded(
                "{name}, at {met} of {visits} visits: a probable change (chance of missing it {chance})",
                **words,
            )
        return worded(
            "{name}, at {met} of {visits} visits: it may have been missed (chance of missing it {chance})",
            **words,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Turnover:
    """Bray-Curtis difference between the two spans, 0 alike to 1 nothing in common; p by shuffled years."""

    value: float
    p_value: float
    arrangements: int
    every_arrangement: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Community:
    """What changed; ``reason`` says why nothing can be compared."""

    reason: str = ""
    early: Span | None = None
    late: Span | None = None
    stations: tuple[str, ...] = ()
    stations_left_out: tuple[str, ...] = ()
    passes: int = 0
    gained: tuple[Change, ...] = ()
    lost: tuple[Change, ...] = ()
    kept: int = 0
    turnover: Turnover | None = None

    @property
    def turnover_public(self) -> str:
        """The turnover without its test in numbers."""
        return f"{self._turnover}." if self.turnover else ""

    @property
    def _turnover(self) -> str:
        assert self.turnover is not None
        value = f"{self.turnover.value:.2f}"
        if self.turnover.p_value <= MISSED_BY_CHANCE:
            return worded(
                "Turnover {value} on a scale from 0, the same mix of fish, to 1, none in common: "
                "more than years differ anyway",
                value=value,
            )
        return worded(
            "Turnover {value} on a scale from 0, the same mix of fish, to 1, none in common: "
            "no more than years can differ anyway",
            value=value,
        )

    @property
    def turnover_words(self) -> str:
        if self.turnover is None:
            return ""
        p = two_digits(self.turnover.p_value)
        if self.turnover.every_arrangement:
            return worded(
                "{turnover} (p = {p}, every way to part the years tried).", turnover=self._turnover, p=p
            )
        return worded(
            "{turnover} (p = {p}, {number} random ways to part the years tried).",
            turnover=self._turnover,
            p=p,
            number=f"{self.turnover.arrangements:,}",
        )


def community(
    records: Sequence[VisitRecord], early: range | None = None, late: range | None = None
) -> Community:
    """Compare two spans of years, by default the first and the last of the record.

    Parameters
    ----------
    records : accepted visits, already cut to what the reader may see
    """
    visits = [r for r in records if r.passes and r.in_season]
    years = sorted({r.date.year for r in visits})
    length = min(SPAN_YEARS, len(years) // 2)
    before = [y for y in years if early is None or y in early][: length if early is None else None]
    after = (
        [y for y in years if late is None or y in late][-length if late is None else 0 :] if length else []
    )
    if len(before) < LEAST_SPAN_YEARS or len(after) < LEAST_SPAN_YEARS or before[-1] >= after[0]:
        return Community(
            reason=said(
                "{years}; two spans of at least {least} years are needed.",
                years=said("1 visited year") if len(years) == 1 else said("{n} visited years", n=len(years)),
                least=LEAST_SPAN_YEARS,
            )
        )
    at = {True: {r.station_code for r in visits if r.date.year in before}}
    at[False] = {r.station_code for r in visits if r.date.year in after}
    ways: dict[str, set[str]] = defaultdict(set)
    for r in visits:
        if r.date.year in (*before, *after):
            ways[r.station_code].add(r.method_code)
    shared = {code for code in at[True] & at[False] if len(ways[code]) == 1}
    if not shared:
        return Community(reason=said("No station was visited in both spans of years by one method."))
    old = [r for r in visits if r.date.year in before and r.station_code in shared]
    new = [r for r in visits if r.date.year in after and r.station_code in shared]
    passes = min(len(r.passes) for r in (*old, *new))
    met_old, met_new = _met(old, passes), _met(new, passes)
    return Community(
        early=Span(years=tuple(sorted({r.date.year for r in old})), visits=len(old)),
        late=Span(years=tuple(sorted({r.date.year for r in new})), visits=len(new)),
        stations=tuple(sorted(shared)),
        stations_left_out=tuple(sorted((at[True] | at[False]) - shared)),
        passes=passes,
        gained=_changes(met_new, met_old, len(new), len(old)),
        lost=_changes(met_old, met_new, len(old), len(new)),
        kept=len(set(met_old) & set(met_new)),
        turnover=_turnover(old, new, passes),
    )


def _counts(record: VisitRecord, passes: int) -> dict[Taxon, int]:
    found: dict[Taxon, int] = defaultdict(int)
    for one in record.passes[:passes]:
        for caught in one.catches:
            if caught.taxon.is_species:
                found[caught.taxon] += caught.count
    return found


def _met(records: Iterable[VisitRecord], passes: int) -> dict[Taxon, int]:
    """Visits that met each species."""
    met: dict[Taxon, int] = defaultdict(int)
    for record in records:
        for taxon in _counts(record, passes):
            met[taxon] += 1
    return met


def _changes(here: dict[Taxon, int], there: dict[Taxon, int], visits: int, others: int) -> tuple[Change, ...]:
    found = [
        Change(taxon=taxon, met=met, of=visits, missed=(1 - met / visits) ** others)
        for taxon, met in here.items()
        if taxon not in there
    ]
    return tuple(sorted(found, key=lambda c: (c.missed, c.taxon.scientific_name)))


def _turnover(old: Sequence[VisitRecord], new: Sequence[VisitRecord], passes: int) -> Turnover | None:
    """Mean mix of the years of each span; years are shuffled between the spans for the p."""
    by_year: dict[int, list[dict[Taxon, int]]] = defaultdict(list)
    for record in (*old, *new):
        counts = _counts(record, passes)
        if sum(counts.values()):
            by_year[record.date.year].append(counts)
    taxa = sorted(
        {t for rows in by_year.values() for row in rows for t in row}, key=lambda t: t.scientific_name
    )
    years = sorted(by_year)
    split = sum(1 for y in years if y in {r.date.year for r in old})
    if not taxa or split < LEAST_SPAN_YEARS or len(years) - split < LEAST_SPAN_YEARS:
        return None
    mixes = np.array(
        [[mean(row.get(t, 0) / sum(row.values()) for row in by_year[y]) for t in taxa] for y in years]
    )

    def difference(chosen: Sequence[int]) -> float:
        mask = np.zeros(len(years), dtype=bool)
        mask[list(chosen)] = True
        return float(bray_curtis(mixes[mask].mean(axis=0), mixes[~mask].mean(axis=0)))

    seen = difference(range(split))
    every = math.comb(len(years), split) <= MOST_ARRANGEMENTS
    if every:
        tried = [difference(c) for c in combinations(range(len(years)), split)]
    else:
        random = np.random.default_rng(SEED)
        tried = [seen] + [
            difference(random.permutation(len(years))[:split].tolist()) for _ in range(MOST_ARRANGEMENTS - 1)
        ]
    reached = sum(1 for value in tried if value >= seen - 1e-12)
    return Turnover(
        value=seen, p_value=reached / len(tried), arrangements=len(tried), every_arrangement=every
    )
