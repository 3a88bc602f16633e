"""Policy: which measures are followed, how many years are needed, what word a result earns.

The numbers come from ``trends.stats``; what to make of them is decided here and nowhere else. Every
threshold is a named constant with its source, and the words themselves live in ``wording``.
"""

import itertools
import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from statistics import median

import numpy as np

from surveys.language import marked, said
from surveys.models import Station
from trends import cautions
from trends.cautions.limits import LEAST_YEARS
from trends.cautions.retest import retest
from trends.further_years import planning, target_per_decade, with_smallest_change
from trends.measures import BY_KEY, INDEX, INDEX_ALL_FISH, MEASURES, Measure
from trends.outcomes import Certainty, Direction, Outcome, Period, StationSeries, YearValue
from trends.record import Record
from trends.scores import loaded_method, rating_words
from trends.series import middle_series, station_series
from trends.station_directions import compare_stations
from trends.stats.kendall import RegionalKendall, mann_kendall, regional_kendall, sen_slope
from trends.stats.mean_line import least_squares_limits
from trends.stats.shuffle import ShuffledYears, shuffled_years

# Words by confidence in the direction; 0.85 as the lower limit of "likely" is stricter than the
# two-thirds of several published scales (reading of Kendall's test after McBride 2019, J. Environ. Qual.).
VERY_LIKELY, LIKELY, LEANING = 0.95, 0.85, 0.70
# Stations disagree when the homogeneity chi-square (van Belle & Hughes 1984) is this unlikely.
DISAGREE_P = 0.05
COMPARED: dict[str, float] = {"least_years": LEAST_YEARS, "likely": LIKELY, "differ_p": DISAGREE_P}
# Covariance between stations is added to the variance from this many years on
# (USGS SIR 2005-5275 warns against it with 10 or fewer values).
LEAST_YEARS_FOR_COVARIANCE = 11
# "Steady" is claimed only when the whole 95 % interval of the slope lies inside these limits, per
# decade (no published source: a quarter of a rating class of the index, so that two decades at the
# limit would still be less than a class), and the least-squares slope with it.
STEADY_PART_OF_CLASS = 0.25
STEADY_PER_DECADE = {"native_richness": 0.5, "intolerant_share_pct": 2.5, "tolerant_share_pct": 2.5}
FOLLOWED = tuple(m.key for m in MEASURES)


def followed(record: Record) -> tuple[str, ...]:
    """The measures that are followed in a watershed: where places are withheld the index of all fish as well."""
    return (*FOLLOWED, INDEX_ALL_FISH.key) if record.guarded else FOLLOWED


def class_width(measure: Measure, ratings: Sequence[tuple[str, float, float]]) -> float | None:
    """Median distance between neighbouring rating limits of the index, in points."""
    if not measure.is_index or len(ratings) < 2:
        return None
    lows = sorted(low for _, low, _ in ratings)
    return median(b - a for a, b in itertools.pairwise(lows))


def certainty_of(
    confidence: float, slope: float, lower: float, upper: float, steady_per_decade: float | None
) -> Certainty:
    """The word a tested series earns; the same numbers always give the same word.

    A direction needs a slope of its own: a median change of zero is no direction, however sure the
    test is that one sign prevails. A confidence that lies on a limit but for the last bits of its
    arithmetic lies on it.
    """
    confidence = round(confidence, 12)
    if confidence >= VERY_LIKELY and slope != 0:
        return "very_likely"
    if steady_per_decade is not None and -steady_per_decade <= 10 * lower and 10 * upper <= steady_per_decade:
        return "steady"
    if slope == 0:
        return "unclear"
    if confidence >= LIKELY:
        return "likely"
    return "leaning" if confidence >= LEANING else "unclear"


def direction_for(slope: float, certainty: Certainty) -> Direction:
    if certainty in ("very_likely", "likely", "leaning") and slope:
        return "up" if slope > 0 else "down"
    return "none"


def is_good(measure: Measure, direction: Direction) -> bool | None:
    if direction == "none" or measure.better is None:
        return None
    return (direction == "up") == (measure.better == "higher")


def _provable(
    lower: float, upper: float, band: float | None, years: np.ndarray, values: np.ndarray
) -> tuple[float, float]:
    """The limits that a claim of steadiness must keep inside its band.

    Sen's limits, stretched to the least-squares slope. Where most years share one value Sen's limits are both
    0, even when the last years have fallen away: limits without width are no proof, and those of the
    least-squares slope stand in for them.
    """
    if band is None or 10 * max(upper, -lower) > band:
        return lower, upper  # no claim that could need proof
    low, high = least_squares_limits(years, values)
    if lower == upper:
        return low, high
    slope = (low + high) / 2
    return min(lower, slope), max(upper, slope)


def _finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _scatter(years: np.ndarray, values: np.ndarray, slope: float, intercept: float) -> float | None:
    """Standard deviation of the values about the line, with n - 2 in the denominator."""
    if len(values) < 4:
        return None
    residuals = values - (intercept + slope * years)
    return float(np.sqrt(np.sum((residuals - residuals.mean()) ** 2) / (len(values) - 2)))


def _not_assessed(base: Period, n: int) -> Period:
    reason = (
        said("1 comparable year; at least {least} are needed before a direction is named", least=LEAST_YEARS)
        if n == 1
        else said(
            "{n} comparable years; at least {least} are needed before a direction is named",
            n=n,
            least=LEAST_YEARS,
        )
    )
    return replace(
        base,
        certainty="not_assessed",
        reason=reason,
    )


def assess_period(
    measure: Measure,
    method: tuple[str, str],
    rows: dict[str, list[YearValue]],
    ratings: Sequence[tuple[str, float, float]],
) -> Period:
    """Test one comparable period: one sampling method, one station or several.

    Parameters
    ----------
    method : code and name of the sampling method
    rows : station code -> its years with a value, each made by this method
    """
    years = sorted({y.year for values in rows.values() for y in values})
    base = Period(
        method=method[0],
        method_name=method[1],
        first_year=years[0],
        last_year=years[-1],
        n=len(years),
        n_values=sum(len(v) for v in rows.values()),
        stations=tuple(rows),
        certainty="not_assessed",
        direction="none",
        good=None,
    )
    width = class_width(measure, ratings)
    steady = STEADY_PART_OF_CLASS * width if width else STEADY_PER_DECADE.get(measure.key)
    enough = {code: v for code, v in rows.items() if len(v) >= LEAST_YEARS}
    if not enough:
        return _not_assessed(base, max(len(v) for v in rows.values()))
    if len(rows) == 1:
        return _one_station(base, measure, next(iter(rows.values())), steady, width)
    return _several_stations(base, measure, rows, steady, width)


def _one_station(
    base: Period, measure: Measure, values: list[YearValue], steady: float | None, width: float | None
) -> Period:
    years = np.array([y.year for y in values], dtype=float)
    numbers = np.array([y.value for y in values], dtype=float)
    test = mann_kendall(years, numbers)
    slope = sen_slope(years, numbers)
    limits = _provable(slope.lower, slope.upper, steady, years, numbers)
    certainty = certainty_of(test.direction_confidence, slope.slope, *limits, steady)
    direction = direction_for(slope.slope, certainty)
    scatter = _scatter(years, numbers, slope.slope, slope.intercept)
    tested = replace(
        base,
        certainty=certainty,
        direction=direction,
        good=is_good(measure, direction),
        test=said("Mann-Kendall, exact") if test.method == "exact" else said("Mann-Kendall, normal"),
        s=float(test.s),
        z=float(test.z),
        p_value=float(test.p_value),
        tau=_finite(test.tau),
        direction_confidence=float(test.direction_confidence),
        slope=float(slope.slope),
        intercept=float(slope.intercept),
        lower=_finite(slope.lower),
        upper=_finite(slope.upper),
        confidence=float(slope.confidence),
        limits=slope.limits,
        scatter=scatter,
        **planning(measure, width, scatter),  # type: ignore[arg-type]
    )
    return with_smallest_change(tested, years)


def _several_stations(
    base: Period,
    measure: Measure,
    rows: dict[str, list[YearValue]],
    steady: float | None,
    width: float | None,
) -> Period:
    years = np.array(sorted({y.year for values in rows.values() for y in values}), dtype=float)
    matrix = np.full((len(rows), len(years)), np.nan)
    position = {int(year): i for i, year in enumerate(years)}
    for row, values in enumerate(rows.values()):
        for one in values:
            matrix[row, position[one.year]] = one.value
    short = len(years) < LEAST_YEARS_FOR_COVARIANCE
    test = regional_kendall(years, matrix, correct_for_correlation=not short)
    # Both keep stations of one creek from counting as independent proofs: in short records whole
    # years are shuffled, in longer ones the covariances are added to the variance.
    sure: ShuffledYears | RegionalKendall = shuffled_years(years, matrix) if short else test
    compared = compare_stations(rows, years, matrix, **COMPARED)
    # The line is drawn, and its scatter taken, about the creek's middle line, not about single stations.
    centre = np.nanmedian(matrix, axis=0)
    within = _provable(sure.lower, sure.upper, steady, years, centre)
    certainty = certainty_of(sure.direction_confidence, test.slope, *within, steady)
    if compared.disagree:
        certainty = "disagree"
    direction = direction_for(test.slope, certainty)
    intercept = float(np.median(centre) - test.slope * np.median(years))
    scatter = _scatter(years, centre, test.slope, intercept)
    if isinstance(sure, ShuffledYears):
        name, limits = (
            (
                said("Regional Kendall, whole years shuffled in every order")
                if sure.all_orders
                else said(
                    "Regional Kendall, whole years shuffled in {n} random orders", n=f"{sure.n_orders:,}"
                )
            ),
            marked("from the shuffled years"),
        )
    else:
        name, limits = (
            said("Regional Kendall, corrected for correlation between stations"),
            marked("interpolated"),
        )
    tested = replace(
        base,
        certainty=certainty,
        direction=direction,
        good=is_good(measure, direction),
        reason=said("its stations move in different directions") if certainty == "disagree" else "",
        test=name,
        s=float(test.s),
        z=None if short else float(test.z),
        p_value=float(sure.p_value),
        tau=_finite(test.tau),
        direction_confidence=float(sure.direction_confidence),
        slope=float(test.slope),
        intercept=intercept,
        lower=_finite(sure.lower),
        upper=_finite(sure.upper),
        confidence=float(test.confidence),
        limits=limits,
        heterogeneity_p=compared.p,
        stations_up=compared.rising,
        stations_down=compared.falling,
        scatter=scatter,
        **planning(measure, width, scatter),  # type: ignore[arg-type]
    )
    return with_smallest_change(tested, years)


def _periods(
    measure: Measure,
    series: Sequence[StationSeries],
    method_names: dict[str, str],
    ratings: Sequence[tuple[str, float, float]],
) -> tuple[Period, ...]:
    rows: dict[str, dict[str, list[YearValue]]] = defaultdict(lambda: defaultdict(list))
    for one in series:
        for value in one.present():
            rows[value.method][one.station].append(value)
    found = [
        assess_period(measure, (code, method_names.get(code, code)), dict(stations), ratings)
        for code, stations in rows.items()
    ]
    return tuple(sorted(found, key=lambda p: (p.first_year, p.last_year)))


def _breaks(line: Sequence[YearValue]) -> tuple[int, ...]:
    """The first year of each new sampling method along a line of years."""
    years: set[int] = set()
    if line:
        present = [y for y in line if y.method and y.value is not None]
        years.update(b.year for a, b in itertools.pairwise(present) if a.method != b.method)
    return tuple(sorted(years))


def assess(
    record: Record, measure_key: str, station: Station | None = None, *, with_cautions: bool = True
) -> Outcome:
    """One measure at one station, or over the watershed where ``station`` is None.

    Without cautions where only the verdict is shown: most of the work is the test with years left out.
    """
    measure = BY_KEY[measure_key]
    record = record.told_as(measure_key)
    years = record.years()
    stations = list(record.stations) if station is None else [station]
    stations = [s for s in stations if record.visits.get(s.pk)]
    series = tuple(station_series(record, s, measure_key, years) for s in stations)
    index_code, index_version = _index_of(record, stations) if measure.is_index else ("", "")
    ratings, scale = _ratings(index_code, index_version)
    names = {v.method: v.method_name for s in stations for v in record.visits.get(s.pk, ())}
    mixed = measure.is_index and index_code == "" and any(s.present() for s in series)
    periods = () if mixed else _periods(measure, series, names, ratings)
    current = max(periods, key=lambda p: (p.last_year, p.n_values), default=None)
    leading = current.method if current else ""
    middle = tuple(middle_series(series, years, record.no_season, leading)) if series else ()
    latest = next((y for y in reversed(middle) if y.value is not None), None)
    place = record.watershed.slug if station is None else station.code
    outcome = Outcome(
        measure=measure_key,
        scope="watershed" if station is None else "station",
        place=place,
        place_name=record.watershed.name if station is None else (station.name or station.code),
        series=series,
        middle=middle,
        periods=periods,
        breaks=_breaks(middle),
        latest_year=latest.year if latest else None,
        latest_value=latest.value if latest else None,
        latest_rating=_rating_of(index_code, index_version, latest.value)
        if latest and latest.value is not None and index_code
        else "",
        latest_stations=sum(
            1 for s in series for y in s.years if latest and y.year == latest.year and y.value is not None
        ),
        index_method=index_code,
        index_version=index_version,
        scale=scale if measure.is_index else measure.full_scale,
        ratings=ratings,
        gaps=tuple((y.year, y.reason) for y in middle if y.value is None),
    )
    if not with_cautions:
        return outcome
    width = class_width(measure, ratings)
    return replace(
        outcome,
        cautions=cautions.raise_all(
            outcome,
            measure,
            record,
            stations,
            mixed_index=mixed,
            matters=target_per_decade(measure, width),
            class_width=width,
            retest=lambda left_out: retest(outcome, left_out, covariance_from=LEAST_YEARS_FOR_COVARIANCE),
        ),
    )


def _index_of(record: Record, stations: Iterable[Station]) -> tuple[str, str]:
    """The index method and version of these stations' scores; empty where they differ."""
    found = {
        (v.index_method, v.index_version)
        for s in stations
        for v in record.visits.get(s.pk, ())
        if v.index_method and v.values.get(INDEX.key) is not None
    }
    return found.pop() if len(found) == 1 else ("", "")


def _ratings(
    code: str, version: str
) -> tuple[tuple[tuple[str, float, float], ...], tuple[float, float] | None]:
    method = loaded_method(code, version) if code else None
    if method is None:
        return (), None
    _low, high = method.score_range or (0.0, 0.0)
    cuts = sorted((float(r.at_least), r.word) for r in method.ratings)
    tops = [cut for cut, _ in cuts[1:]] + [float(high)]
    bands = tuple((word, cut, top) for (cut, word), top in zip(cuts, tops, strict=True))
    return bands, method.score_range


def _rating_of(code: str, version: str, score: float) -> str:
    return rating_words(loaded_method(code, version), score)
