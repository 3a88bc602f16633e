"""Other ways of looking at a tested series. None of them replaces the result; each is shown beside it.

Takes an outcome and, for drivers, the visits' readings; makes plain rows. No request, no template.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from surveys.language import marked, told, worded
from trends.measures import BY_KEY, Measure
from trends.number_words import format_confidence, format_p, format_slope, rounded, two_digits
from trends.outcomes import Outcome, Period, YearValue
from trends.stats.changepoint import pettitt
from trends.stats.drivers import adjust_for_driver
from trends.stats.errors import InsufficientData
from trends.stats.kendall import mann_kendall
from trends.stats.power import smallest_detectable_change
from trends.stats.serial import hamed_rao, lag_one, trend_free_prewhitening

# What a driver may be: readings that move a catch without the creek having changed.
DRIVERS = {
    "discharge_m3_s": marked("discharge on the day (m³/s)"),
    "water_temp_c": marked("water temperature (°C)"),
    "conductivity_us_cm": marked("conductivity (µS/cm)"),
    "turbidity_ntu": marked("turbidity (NTU)"),
    "effort_s": marked("current-on time of all passes (s)"),
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
    source = worded("lag-one correlation of what the line leaves over, with limits for independent years")
    try:
        like = lag_one(years, values)
    except (InsufficientData, ValueError) as refusal:
        return [
            Look(
                key="lag-one",
                title=worded("Do neighbouring years resemble each other?"),
                found=worded("Not tested: {reason}", reason=_words(refusal)),
                why_beside=worded("Years that are not neighbours say nothing about neighbouring years."),
                source=source,
            )
        ]
    if math.isnan(like.r):
        return []
    rows = [
        Look(
            key="lag-one",
            title=worded("Do neighbouring years resemble each other?"),
            found=worded(
                "Lag-one correlation {r}; independent years would give {lower} to {upper} ({n} years).",
                r=rounded(like.r, 2),
                # The formula of the limits overshoots in short records; a correlation cannot.
                lower=rounded(max(like.lower, -1.0), 2),
                upper=rounded(min(like.upper, 1.0), 2),
                n=like.n,
            ),
            why_beside=worded(
                "Where neighbouring years resemble each other, the test finds directions too easily."
            ),
            source=source,
        )
    ]
    for key, title, correct, cited in (
        (
            "hamed-rao",
            worded("With the variance corrected for it"),
            hamed_rao,
            worded("Hamed & Rao 1998, J. Hydrol. 204:182-196"),
        ),
        (
            "prewhitening",
            worded("With the likeness taken out first"),
            trend_free_prewhitening,
            worded("Yue, Pilon, Phinney & Cavadias 2002, Hydrol. Process. 16:1807-1829"),
        ),
    ):
        try:
            again = correct(years, values)
        except (InsufficientData, ValueError) as refusal:
            found = worded("Not made: {reason}", reason=_words(refusal))
        else:
            found = worded(
                "{p} instead of {plain}; confidence in the direction {confidence} ({n} years).",
                p=format_p(again.p_value),
                plain=format_p(again.plain.p_value),
                confidence=format_confidence(again.direction_confidence),
                n=again.n,
            )
        rows.append(
            Look(
                key=key,
                title=title,
                found=found,
                why_beside=worded(
                    "With fewer than about 20 years the correlation itself is too uncertain to correct for."
                ),
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
        found = worded("No single step stands out in these years; that does not show that there was none.")
    else:
        words = {
            "year": f"{years[step.change_after_index]:.0f}",
            "before": f"{step.median_before:.{measure.decimals}f}",
            "after": f"{step.median_after:.{measure.decimals}f}",
            "p": format_p(step.p_value),
            "how": worded("shuffling") if step.method == "permutation" else worded("formula"),
        }
        found = (
            worded(
                "If the change was one step, it came after {year}, to a higher level: median {before} before, "
                "{after} after; {p} by {how}.",
                **words,
            )
            if step.direction > 0
            else worded(
                "If the change was one step, it came after {year}, to a lower level: median {before} before, "
                "{after} after; {p} by {how}.",
                **words,
            )
        )
    return Look(
        key="step",
        title=worded("Was it a step rather than a slope?"),
        found=found,
        why_beside=worded(
            "A steady slope looks like a step to this test and the other way round, so the two are never "
            "counted as two findings."
        ),
        source=worded("Pettitt 1979, Appl. Statist. 28:126-135"),
    )


def _halves(years: np.ndarray, values: np.ndarray) -> Look | None:
    """The two halves tested alone: a rise and a fall that cancel out would show here."""
    half = len(values) // 2
    if half < 4:
        return None
    parts = [mann_kendall(years[:half], values[:half]), mann_kendall(years[half:], values[half:])]
    words = [
        worded(
            "{first} to {last}: S {s}, {p}",
            first=f"{first:.0f}",
            last=f"{last:.0f}",
            s=f"{part.s:+d}".replace("-", "−"),
            p=format_p(part.p_value),
        )
        for part, first, last in (
            (parts[0], years[0], years[half - 1]),
            (parts[1], years[half], years[-1]),
        )
    ]
    return Look(
        key="halves",
        title=worded("Do both halves go the same way?"),
        found="; ".join(words) + ".",
        why_beside=worded("Half the years show only strong changes."),
        source=worded("Mann-Kendall on each half; common practice, no source"),
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
        title=worded("With {reading} taken out", reading=told(DRIVERS[key])),
        found=worded(
            "Slope {slope}, {p}, instead of {plain_slope}, {plain_p} ({n} years; the reading accounts for {share} % "
            "of the variance).",
            slope=format_slope(measure, again.adjusted_slope.slope),
            p=format_p(again.adjusted.p_value),
            plain_slope=format_slope(measure, again.plain_slope.slope),
            plain_p=format_p(again.plain.p_value),
            n=again.n,
            share=f"{100 * again.explained:.0f}",
        ),
        why_beside=worded(
            "A reading that itself moved over the years takes part of the trend with it (its own tau with the years: "
            "{tau}).",
            tau=f"{again.driver_years_tau:.2f}".replace("-", "−"),
        ),
        source=worded(
            "Residuals from a LOWESS (Cleveland 1979, J. Am. Stat. Assoc. 74:829-836; statsmodels)"
        ),
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
        title=worded("What change could these years have shown?"),
        found=worded(
            "At the present scatter of {scatter} {unit} between years, {n} yearly values show a change of {change} "
            "with a chance of 8 in 10.",
            scatter=two_digits(period.scatter),
            unit=measure.unit,
            n=period.n,
            change=format_slope(measure, float(smallest)).lstrip("+"),
        ),
        why_beside=worded("It plans further visits; it does not make the present result surer."),
        source=worded("Power of the Mann-Kendall test at 5 %, two-sided; see How each number is made"),
    )


def _words(refusal: Exception) -> str:
    text = told(str(refusal))
    return text[0].upper() + text[1:] + ("" if text.endswith(".") else ".")
