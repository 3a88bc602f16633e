"""Cautions the tool raises by itself about a trend, each with the numbers that fired it.

Thresholds are proposals with no published source unless one is named; each is a constant here, and
its value is part of the sentence or of ``numbers``.
"""

import itertools
from collections.abc import Iterable
from statistics import median

import numpy as np

from surveys.models import Station
from trends.measures import Measure
from trends.outcomes import Caution, Outcome, Period, StationSeries
from trends.series import Record, VisitValue
from trends.stats.kendall import mann_kendall

LEAST_YEARS = 5
# USGS kept trend sites with at least 10 years of record (SIR 2009-5268, site selection).
FEW_YEARS = 10
LONG_GAP_YEARS = 3
LONG_GAP_PART = 1 / 3
ENDS_PART = 1 / 5
TIED_PART = 1 / 3
LEAST_DISTINCT = 4
LENGTH_DIFFERS = 0.10
WIDTH_DIFFERS = 0.30
SERIAL_LONG, SERIAL_SHORT = 0.2, 0.4


def _years(values: Iterable[int]) -> str:
    chosen = sorted(set(values))
    if len(chosen) > 6:
        return f"{len(chosen)} years between {chosen[0]} and {chosen[-1]}"
    return ", ".join(str(y) for y in chosen)


def raise_all(
    outcome: Outcome,
    measure: Measure,
    record: Record,
    stations: list[Station],
    *,
    mixed_index: bool = False,
    matters: float | None = None,
) -> tuple[Caution, ...]:
    """Every caution that holds for this outcome, gravest first."""
    visits = [v for s in stations for v in record.visits.get(s.pk, ())]
    found: list[Caution] = []
    period = outcome.current
    if period is not None:
        found += _few_years(period)
        found += _ends_and_gaps(period, outcome.series)
        found += _coarse(period, outcome.series)
        found += _one_year_carries_it(period, outcome.series)
        found += _serial(period, outcome.series)
        found += _either_way(period, measure, matters)
    found += _method_changed(outcome)
    found += _effort_changed(measure, visits, stations, record)
    found += _season(visits)
    found += _not_scored(measure, visits)
    if mixed_index:
        found.append(
            Caution(
                code="C16",
                level="stop",
                staff="The stations are scored by different index methods; their scores are not joined.",
                public="The stations here are rated in different ways, so they are not shown as one line.",
            )
        )
    found += _stations_disagree(outcome)
    found += _zero_catches(visits)
    order = {"stop": 0, "warn": 1, "note": 2}
    return tuple(sorted(found, key=lambda c: (order[c.level], c.code)))


def _few_years(period: Period) -> list[Caution]:
    if period.certainty == "not_assessed":
        return [
            Caution(
                code="C01",
                level="stop",
                staff=f"Too few years: {period.reason}.",
                public="There are not enough comparable years yet to name a direction.",
                numbers={"years": period.n, "least": LEAST_YEARS},
            )
        ]
    if period.n < FEW_YEARS:
        return [
            Caution(
                code="C02",
                level="warn",
                staff=f"{period.n} comparable years; with fewer than {FEW_YEARS} only a strong change "
                "could show.",
                public=f"With {period.n} years, only a strong change could show.",
                numbers={"years": period.n, "few": FEW_YEARS},
            )
        ]
    return []


def _period_years(period: Period, series: Iterable[StationSeries]) -> list[int]:
    return sorted({y.year for s in series for y in s.present() if y.method == period.method})


def _ends_and_gaps(period: Period, series: Iterable[StationSeries]) -> list[Caution]:
    years = _period_years(period, series)
    if len(years) < 2:
        return []
    span = years[-1] - years[0] + 1
    gaps = [(a, b, b - a - 1) for a, b in itertools.pairwise(years) if b - a > 1]
    found = []
    longest = max(gaps, key=lambda g: g[2], default=None)
    if longest and (longest[2] >= LONG_GAP_YEARS or longest[2] > LONG_GAP_PART * span):
        found.append(
            Caution(
                code="C04",
                level="warn",
                staff=f"No comparable value for {longest[2]} years, {longest[0] + 1} to {longest[1] - 1}.",
                public=f"There is a long gap in the record, {longest[0] + 1} to {longest[1] - 1}.",
                numbers={"gap_years": longest[2], "limit": LONG_GAP_YEARS},
            )
        )
    return found


def _coarse(period: Period, series: tuple[StationSeries, ...]) -> list[Caution]:
    if period.certainty == "not_assessed" or len(series) != 1:
        return []
    values = [y.value for y in series[0].present() if y.method == period.method]
    distinct = len(set(values))
    pairs = len(values) * (len(values) - 1) / 2
    tied = sum(values.count(v) * (values.count(v) - 1) / 2 for v in set(values))
    if distinct < LEAST_DISTINCT or tied > TIED_PART * pairs:
        return [
            Caution(
                code="C05",
                level="warn",
                staff=f"{distinct} different values; {tied:.0f} of {pairs:.0f} pairs of years are tied.",
                public="This number moves in few steps, so small changes do not show.",
                numbers={"distinct": distinct, "tied_pairs": tied, "pairs": pairs},
            )
        ]
    return []


def _one_year_carries_it(period: Period, series: tuple[StationSeries, ...]) -> list[Caution]:
    """Leave each year out in turn; name the years without which the direction is no longer supported."""
    if len(series) != 1 or period.certainty not in ("very_likely", "likely") or period.n <= LEAST_YEARS:
        return []
    points = [y for y in series[0].present() if y.method == period.method]
    years = np.array([y.year for y in points], dtype=float)
    values = np.array([y.value for y in points], dtype=float)
    carrying = []
    for i in range(len(points)):
        keep = np.arange(len(points)) != i
        again = mann_kendall(years[keep], values[keep])
        if again.direction_confidence < 0.85 or np.sign(again.s) != np.sign(period.s or 0):
            carrying.append(points[i].year)
    if not carrying:
        return []
    return [
        Caution(
            code="C19",
            level="warn",
            staff=f"Without {_years(carrying)} the direction is no longer likely.",
            public=f"The direction rests on single years: {_years(carrying)}.",
            numbers={"years": carrying},
        )
    ]


def _serial(period: Period, series: tuple[StationSeries, ...]) -> list[Caution]:
    if len(series) != 1 or period.slope is None or period.intercept is None:
        return []
    points = [y for y in series[0].present() if y.method == period.method]
    values = np.array([y.value for y in points], dtype=float)
    years = np.array([y.year for y in points], dtype=float)
    residuals = values - (period.intercept + period.slope * years)
    residuals = residuals - residuals.mean()
    total = float(np.sum(residuals**2))
    follow = np.diff(years) == 1
    if total == 0 or follow.sum() < LEAST_YEARS - 1:
        return []
    r1 = float(np.sum(residuals[1:][follow] * residuals[:-1][follow])) / total
    limit = SERIAL_LONG if period.n >= FEW_YEARS else SERIAL_SHORT
    if r1 <= limit:
        return []
    return [
        Caution(
            code="C21",
            level="warn",
            staff=f"Neighbouring years resemble each other (lag-one correlation {r1:.2f}, limit {limit}); "
            "the test then finds directions too easily.",
            public="Neighbouring years resemble each other, so the direction is less sure than it looks.",
            numbers={"lag_one": round(r1, 3), "limit": limit},
        )
    ]


def _either_way(period: Period, measure: Measure, matters: float | None) -> list[Caution]:
    """The limits hold both a rise and a fall that would matter, so the size is not known."""
    if matters is None or period.lower is None or period.upper is None:
        return []
    if 10 * period.lower > -matters or 10 * period.upper < matters:
        return []
    return [
        Caution(
            code="C32",
            level="warn",
            staff=f"The limits hold both a rise and a fall of {matters:g} {measure.unit} a decade; more years "
            "are needed to tell.",
            public="Both a rise and a fall that matter would still fit these years.",
            numbers={"lower": 10 * period.lower, "upper": 10 * period.upper, "matters": matters},
        )
    ]


def _method_changed(outcome: Outcome) -> list[Caution]:
    methods = {p.method for p in outcome.periods}
    if len(methods) < 2 and not outcome.breaks:
        return []
    if outcome.apart:
        return [
            Caution(
                code="C06",
                level="warn",
                staff=f"{', '.join(p.stations)} used {p.method_name}, {p.first_year} to {p.last_year}; those years "
                "are tested apart.",
                public=f"Until {p.last_year} some stations were sampled in another way; those years are kept apart.",
                numbers={"stations": list(p.stations), "years": [p.first_year, p.last_year]},
            )
            for p in outcome.apart
        ]
    named = "; ".join(f"{p.method_name}, {p.first_year} to {p.last_year}" for p in outcome.periods)
    when = _years(outcome.breaks) if outcome.breaks else "between stations"
    return [
        Caution(
            code="C06",
            level="stop",
            staff=f"The sampling method changed ({when}): {named}. No line runs across the change.",
            public=f"The way of sampling changed ({when}). Years before and after are not joined.",
            numbers={"breaks": list(outcome.breaks), "methods": sorted(methods)},
        )
    ]


def _effort_changed(
    measure: Measure, visits: list[VisitValue], stations: list[Station], record: Record
) -> list[Caution]:
    found = []
    lengths, passes = set(), set()
    for station in stations:
        own = list(record.visits.get(station.pk, ()))
        known = [v.reach_length_m for v in own if v.reach_length_m is not None]
        if known:
            usual = median(known)
            lengths |= {
                v.date.year
                for v in own
                if v.reach_length_m is not None and abs(v.reach_length_m - usual) > LENGTH_DIFFERS * usual
            }
        by_method: dict[str, set[int]] = {}
        for v in own:
            by_method.setdefault(v.method, set()).add(v.passes)
        passes |= {
            v.date.year for v in own if len(by_method[v.method]) > 1 and v.passes > min(by_method[v.method])
        }
    if lengths:
        found.append(
            Caution(
                code="C08",
                level="warn",
                staff=f"The reach was more than 10 % longer or shorter than usual in {_years(lengths)}.",
                public=f"A longer or shorter stretch was fished in {_years(lengths)}.",
                numbers={"years": sorted(lengths)},
            )
        )
    if passes:
        found.append(
            Caution(
                code="C09",
                level="warn",
                staff=f"More passes than in other years in {_years(passes)}; more passes catch more fish.",
                public=f"More fishing was done in {_years(passes)} than in other years.",
                numbers={"years": sorted(passes)},
            )
        )
    open_nets = {v.date.year for v in visits if v.stop_nets not in ("both", "")}
    if open_nets:
        found.append(
            Caution(
                code="C10",
                level="note",
                staff=f"The reach was not closed by nets at both ends in {_years(open_nets)}.",
                public=f"Fish could leave the stretch while it was fished in {_years(open_nets)}.",
                numbers={"years": sorted(open_nets)},
            )
        )
    return found


def _season(visits: list[VisitValue]) -> list[Caution]:
    outside = {v.date.year for v in visits if not v.in_season}
    if not outside:
        return []
    return [
        Caution(
            code="C12",
            level="warn",
            staff=f"Visits outside the season of their method in {_years(outside)} are shown but not used.",
            public=f"Some visits in {_years(outside)} were made in another season and are not compared.",
            numbers={"years": sorted(outside)},
        )
    ]


def _not_scored(measure: Measure, visits: list[VisitValue]) -> list[Caution]:
    missing = {v.date.year: v.reasons[measure.key] for v in visits if v.reasons.get(measure.key)}
    if not missing:
        return []
    example = next(iter(missing.values()))
    return [
        Caution(
            code="C15",
            level="note",
            staff=f"{measure.name} could not be made for some visits of {_years(missing)}: {example}.",
            public=f"This number could not be made for some visits of {_years(missing)}.",
            numbers={"years": sorted(missing)},
        )
    ]


def _stations_disagree(outcome: Outcome) -> list[Caution]:
    period = outcome.current
    if period is None or period.certainty != "disagree":
        return []
    return [
        Caution(
            code="C26",
            level="stop",
            staff=f"Stations move in different directions (heterogeneity p {period.heterogeneity_p:.3f}); "
            "no single statement fits the creek.",
            public="The stations on this creek do not agree, so no single statement fits it.",
            numbers={"heterogeneity_p": period.heterogeneity_p},
        )
    ]


def _zero_catches(visits: list[VisitValue]) -> list[Caution]:
    empty = {v.date.year for v in visits if v.total_catch == 0}
    if not empty:
        return []
    return [
        Caution(
            code="C38",
            level="note",
            staff=f"A visit caught no fish in {_years(empty)}. That is a result, not a missing visit.",
            public=f"A visit caught no fish in {_years(empty)}.",
            numbers={"years": sorted(empty)},
        )
    ]
