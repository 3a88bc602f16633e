"""The statistics behind a finding in one line, for staff."""

from surveys.language import told, worded
from trends.measures import Measure
from trends.number_words import (
    capital,
    counted,
    format_confidence,
    format_p,
    per_decade,
    phrase,
    range_decimals,
    rounded,
    unit_words,
)
from trends.outcomes import Period


def footnote(period: Period, measure: Measure | None = None) -> str:
    """The statistics in one line for staff. A p-value never stands without the slope and its interval."""
    parts = [capital(told(period.test) or worded("no test"))]
    size = counted(period.n, "year", "years")
    if len(period.stations) > 1:
        stations = counted(len(period.stations), "station", "stations")
        size += f", {stations}, " + counted(period.n_values, "station-year", "station-years")
    parts.append(f"n = {size}")
    if period.method_name or period.method:
        parts.append(worded("method {name}", name=period.method_name or period.method))
    if period.slope is None:
        parts.append(phrase(told(period.reason)) if period.reason else worded("no slope was made"))
        return "; ".join(parts) + "."
    if period.s is not None:
        parts.append(f"S = {rounded(period.s, 0)}")
    if period.p_value is not None:
        raw = format_p(period.p_value)
        parts.append(
            raw
            if period.p_adjusted is None
            else worded(
                "{p} (adjusted for the list: {adjusted})", p=raw, adjusted=format_p(period.p_adjusted)
            )
        )
    if period.direction_confidence is not None:
        share = format_confidence(period.direction_confidence)
        parts.append(worded("confidence in the direction {share}", share=share))
    places = range_decimals(period.slope, period.lower, period.upper)
    slope = per_decade(period.slope, places)
    parts.append(
        worded("Sen slope {slope} {unit} a decade", slope=slope, unit=unit_words(measure))
        if measure
        else worded("Sen slope {slope} a decade", slope=slope)
    )
    percent = f"{100 * period.confidence:.0f} %"
    if period.lower is None or period.upper is None:
        parts.append(worded("too few years for {percent} limits", percent=percent))
    else:
        low, high = per_decade(period.lower, places), per_decade(period.upper, places)
        interval = worded("{percent} interval {low} to {high}", percent=percent, low=low, high=high)
        kind = told(period.limits)
        parts.append(worded("{interval} (limits {kind})", interval=interval, kind=kind) if kind else interval)
    if period.heterogeneity_p is not None:
        parts.append(worded("test of agreement between stations {p}", p=format_p(period.heterogeneity_p)))
    return "; ".join(parts) + "."
