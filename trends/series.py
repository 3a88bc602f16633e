"""From stored visit results to yearly series: which visits stand for a year, and which were left out.

The value of a year at a station is the median over its accepted visits inside the season window of
their sampling method. Everything that is not used is listed with the reason.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from statistics import median

from surveys.language import said
from surveys.models import Station
from trends.common_level import COUNTED, groups_of, on_common_level
from trends.measures import BY_KEY
from trends.outcomes import NO_VISIT, StationSeries, YearValue
from trends.record import Record, VisitValue


def station_series(record: Record, station: Station, measure: str, years: Iterable[int]) -> StationSeries:
    """One station's yearly values of a measure, with a row for each of ``years``.

    Where a year holds visits by more than one sampling method, the method with most visits stands
    for it, and of equals the one used last; the other visits are named in the reason.
    """
    record = record.told_as(measure)
    key = (station.pk, measure, tuple(years))
    if key not in record.kept_series:
        record.kept_series[key] = _station_series(record, station, measure, key[2])
    return record.kept_series[key]


def _without_doubtful_area(visits: tuple[VisitValue, ...], measure: str) -> tuple[VisitValue, ...]:
    """The visits, those of an unusual reach without the number for the area (caution C08)."""
    from trends.cautions.reach_size import in_doubt

    doubts = in_doubt(visits)
    return tuple(
        replace(
            v,
            values={**v.values, measure: None},
            reasons={
                **v.reasons,
                measure: f"the reach was {' and '.join(sorted(doubts[v.visit_id]))} than usual",
            },
        )
        if v.visit_id in doubts and v.values.get(measure) is not None
        else v
        for v in visits
    )


def _station_series(record: Record, station: Station, measure: str, years: tuple[int, ...]) -> StationSeries:
    by_year: dict[int, list[VisitValue]] = defaultdict(list)
    visits = record.visits.get(station.pk, ())
    if BY_KEY[measure].per_area:
        visits = _without_doubtful_area(visits, measure)
    if measure in COUNTED:
        visits = on_common_level(visits, measure, groups_of(visits, record.held_to_genus, record.splits))
    for visit in visits:
        by_year[visit.date.year].append(visit)
    return StationSeries(
        station=station.code,
        name=station.name,
        years=tuple(
            _year_value(year, by_year.get(year, []), measure, _why_empty(record, station.pk, year))
            for year in years
        ),
    )


def _why_empty(record: Record, station: int, year: int) -> str:
    """Why a year without an accepted visit is empty: the station's own reason, the season's, or not known."""
    return record.gap_reasons.get((station, year)) or record.no_season.get(year, NO_VISIT)


def _year_value(year: int, visits: list[VisitValue], measure: str, why_empty: str) -> YearValue:
    if not visits:
        return YearValue(year=year, value=None, reason=why_empty)
    in_season = [v for v in visits if v.in_season]
    if not in_season:
        days = ", ".join(f"{v.date:%Y-%m-%d}" for v in visits)
        return YearValue(
            year=year,
            value=None,
            visits=tuple(v.visit_id for v in visits),
            reason=said("visited outside the season of its method ({days})", days=days),
            method=visits[-1].method,
        )
    counts: dict[str, int] = defaultdict(int)
    for visit in in_season:
        counts[visit.method] += 1
    method = max(counts, key=lambda code: (counts[code], max(v.date for v in in_season if v.method == code)))
    used = [v for v in in_season if v.method == method and v.values.get(measure) is not None]
    if not used:
        reason = next(
            (v.reasons[measure] for v in in_season if v.reasons.get(measure)), said("it could not be made")
        )
        return YearValue(
            year=year,
            value=None,
            visits=tuple(v.visit_id for v in in_season),
            reason=reason,
            method=method,
        )
    return YearValue(
        year=year,
        value=median(v.values[measure] for v in used),  # type: ignore[type-var]
        visits=tuple(v.visit_id for v in used),
        reason="; ".join(
            filter(
                None,
                [
                    *dict.fromkeys(v.remarks.get(measure, "") for v in used),
                    _not_used(len(visits) - len(used)),
                ],
            )
        ),
        method=method,
    )


def _not_used(visits: int) -> str:
    if not visits:
        return ""
    return said("1 more visit not used") if visits == 1 else said("{n} more visits not used", n=visits)


def middle_series(
    series: Iterable[StationSeries], years: Iterable[int], no_season: dict[int, str], method: str = ""
) -> list[YearValue]:
    """Median over the stations, year by year; ``reason`` says how many stations stand for the year.

    A year's median never mixes sampling methods: where ``method`` was used that year, only stations
    sampled by it stand for the year; else those sampled by the method most of them had.
    """
    chosen = list(series)
    by_year: dict[int, list[YearValue]] = defaultdict(list)
    for one in chosen:
        for y in one.years:
            by_year[y.year].append(y)
    rows = []
    for year in years:
        values = [y for y in by_year[year] if y.value is not None]
        if not values:
            reasons = {y.reason for y in by_year[year]} - {"", NO_VISIT}
            rows.append(
                YearValue(
                    year=year,
                    value=None,
                    reason=no_season.get(year) or "; ".join(sorted(reasons)) or NO_VISIT,
                )
            )
            continue
        used = [y.method for y in values]
        kept = method if method in used else max(sorted(set(used)), key=used.count)
        values = [y for y in values if y.method == kept]
        rows.append(
            YearValue(
                year=year,
                value=median(y.value for y in values if y.value is not None),
                visits=tuple(v for y in values for v in y.visits),
                # Of one station alone there is nothing to count.
                reason=said("{n} of {all} stations", n=len(values), all=len(chosen))
                if len(chosen) > 1
                else "",
                method=kept,
            )
        )
    return rows
