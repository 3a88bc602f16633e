"""Other ways of looking at a tested series. None of them replaces the result; each is shown beside it.

Takes an outcome and, for drivers, the visits' readings; makes plain rows. No request, no template.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from trends.measures import BY_KEY, Measure
from trends.number_words import format_p, format_slope
from trends.outcomes import Outcome, Period, YearValue
from trends.stats.changepoint import pettitt
from trends.stats.drivers import adjust_for_driver
from trends.stats.errors import InsufficientData
from trends.stats.kendall import mann_kendall
from trends.stats.power import smallest_detectable_change
from trends.stats.serial import hamed_rao, lag_one, trend_free_prewhitening

# What a driver may be: readings that move a catch without the creek having changed.
DRIVERS = {
    "discharge_m3_s": "discharge on the day (m³/s)",
    "water_temp_c": "water temperature (°C)",
    "conductivity_us_cm": "conductivity (µS/cm)",
    "turbidity_ntu": "turbidity (NTU)",
    "effort_s": "current-on time of all passes (s)",
}
LEAST_YEARS_FOR_DRIVER = 8
ALPHA, POWER = 0.05, 0.80


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One other way of looking: what it asks, what it found, and why it does not replace the result."""

    key: str
    title: str
    found: str
    why_beside: str
    source: str


def line_points(outcome: Outcome, period: Period) -> list[YearValue]:
    """The years with a value of the line that the period speaks of."""
    years = outcome.middle if outcome.scope == "watershed" else outcome.series[0].years
    return [y for y in years if y.value is not None and y.method == period.method]


def looks(outcome: Outcome, drivers: Mapping[str, Mapping[int, float]]) -> list[Look]:
    """Every other way of looking at the current period of an outcome.

    Parameters
    ----------
    drivers : driver key -> year -> median reading of that year's visits; used at single stations

    Returns
    -------
    list of Look, empty where the period was not tested
    """
    period = outcome.current
    if period is None or period.p_value is None:
        return []
    measure = BY_KEY[outcome.measure]
    points = line_points(outcome, period)
    years = np.array([y.year for y in points], dtype=float)
    values = np.array([y.value for y in points], dtype=float)
    found = [*_serial(years, values), _step(years, values, measure), _halves(years, values)]
    if outcome.scope == "station":
        found += [
            look
            for key in DRIVERS
            if (look := _driver(key, drivers.get(key, {}), points, measure)) is not None
        ]
    smallest = _smallest(years, period, measure)
    return [look for look in [*found, smallest] if look is not None]


def _serial(years: np.ndarray, values: np.ndarray) -> list[Look]:
    source = "lag-one correlation of what the line leaves over, with limits for independent years"
    try:
        like = lag_one(years, values)
    except (InsufficientData, ValueError) as refusal:
        return [
            Look(
                key="lag-one",
                title="Do neighbouring years resemble each other?",
                found=f"Not tested: {_words(refusal)}",
                why_beside="Years that are not neighbours say nothing about neighbouring years.",
                source=source,
            )
        ]
    if math.isnan(like.r):
        return []
    rows = [
        Look(
            key="lag-one",
            title="Do neighbouring years resemble each other?",
            found=f"Lag-one correlation {like.r:.2f}; independent years would give {like.lower:.2f} to "
            f"{like.upper:.2f} ({like.n} years).",
            why_beside="Where neighbouring years resemble each other, the test finds directions too easily.",
            source=source,
        )
    ]
    for key, title, correct, cited in (
        (
            "hamed-rao",
            "With the variance corrected for it",
            hamed_rao,
            "Hamed & Rao 1998, J. Hydrol. 204:182-196",
        ),
        (
            "prewhitening",
            "With the likeness taken out first",
            trend_free_prewhitening,
            "Yue, Pilon, Phinney & Cavadias 2002, Hydrol. Process. 16:1807-1829",
        ),
    ):
        try:
            again = correct(years, values)
        except (InsufficientData, ValueError) as refusal:
            found = f"Not made: {_words(refusal)}"
        else:
            found = (
                f"{format_p(again.p_value)} instead of {format_p(again.plain.p_value)}; confidence in the "
                f"direction {again.direction_confidence:.2f} ({again.n} years)."
            )
        rows.append(
            Look(
                key=key,
                title=title,
                found=found,
                why_beside="With fewer than about 20 years the correlation itself is too uncertain to correct for.",
                source=cited,
            )
        )
    return rows


def _step(years: np.ndarray, values: np.ndarray, measure: Measure) -> Look | None:
    try:
        step = pettitt(values)
    except (InsufficientData, ValueError):
        return None
    if step.change_after_index is None:
        found = "No change of level was found."
    else:
        way = "higher" if step.direction > 0 else "lower"
        found = (
            f"If the change was one step, it came after {years[step.change_after_index]:.0f}, to a {way} level: "
            f"median {step.median_before:.{measure.decimals}f} before, {step.median_after:.{measure.decimals}f} "
            f"after; {format_p(step.p_value)} by {'shuffling' if step.method == 'permutation' else 'formula'}."
        )
    return Look(
        key="step",
        title="Was it a step rather than a slope?",
        found=found,
        why_beside="A steady slope looks like a step to this test and the other way round, so the two are never "
        "counted as two findings.",
        source="Pettitt 1979, Appl. Statist. 28:126-135",
    )


def _halves(years: np.ndarray, values: np.ndarray) -> Look | None:
    """The two halves tested alone: a rise and a fall that cancel out would show here."""
    half = len(values) // 2
    if half < 4:
        return None
    parts = [mann_kendall(years[:half], values[:half]), mann_kendall(years[half:], values[half:])]
    words = [
        f"{first:.0f} to {last:.0f}: S {part.s:+d}, {format_p(part.p_value)}".replace("-", "−")
        for part, first, last in (
            (parts[0], years[0], years[half - 1]),
            (parts[1], years[half], years[-1]),
        )
    ]
    return Look(
        key="halves",
        title="Do both halves go the same way?",
        found="; ".join(words) + ".",
        why_beside="Half the years show only strong changes.",
        source="Mann-Kendall on each half; common practice, no source",
    )


def _driver(
    key: str, readings: Mapping[int, float], points: Sequence[YearValue], measure: Measure
) -> Look | None:
    used = [y for y in points if y.year in readings]
    if len(used) < LEAST_YEARS_FOR_DRIVER:
        return None
    driver = np.array([readings[y.year] for y in used], dtype=float)
    if np.ptp(driver) == 0:
        return None
    try:
        again = adjust_for_driver([y.year for y in used], [y.value or 0.0 for y in used], driver)
    except (InsufficientData, ValueError):
        return None
    return Look(
        key=f"driver-{key}",
        title=f"With {DRIVERS[key]} taken out",
        found=f"Slope {format_slope(measure, again.adjusted_slope.slope)}, {format_p(again.adjusted.p_value)}, "
        f"instead of {format_slope(measure, again.plain_slope.slope)}, {format_p(again.plain.p_value)} "
        f"({again.n} years; the reading accounts for {100 * again.explained:.0f} % of the variance).",
        why_beside="A reading that itself moved over the years takes part of the trend with it "
        f"(its own tau with the years: {again.driver_years_tau:.2f}).".replace("-0", "−0"),
        source="Residuals from a LOWESS (Cleveland 1979, J. Am. Stat. Assoc. 74:829-836; statsmodels)",
    )


def _smallest(years: np.ndarray, period: Period, measure: Measure) -> Look | None:
    if not period.scatter:
        return None
    try:
        smallest = smallest_detectable_change(years, period.scatter, alpha=ALPHA, power=POWER).slope
    except (InsufficientData, ValueError):
        return None
    if not math.isfinite(smallest):
        return None
    return Look(
        key="smallest",
        title="What change could these years have shown?",
        found=f"At the present scatter of {period.scatter:.2g} {measure.unit} between years, {period.n} yearly values "
        f"show a change of {format_slope(measure, float(smallest)).lstrip('+')} with a chance of 8 in 10.",
        why_beside="It plans further visits; it does not make the present result surer.",
        source="Power of the Mann-Kendall test at 5 %, two-sided; see How each number is made",
    )


def _words(refusal: Exception) -> str:
    text = str(refusal)
    return text[0].upper() + text[1:] + ("" if text.endswith(".") else ".")
