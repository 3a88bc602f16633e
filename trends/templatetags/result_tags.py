"""What templates say about single results: slopes with their limits, remarks on removal estimates."""

from collections.abc import Mapping
from typing import Any

from django import template

from surveys.language import marked, told, worded
from trends.measures import BY_KEY
from trends.number_words import format_confidence, format_p, format_slope, format_value
from trends.outcomes import Outcome, Period, YearValue
from trends.wording import outcome_verdict

register = template.Library()

# Code of a caution -> a short word for the table, and the sentence that stands once below it.
REMOVAL_REMARKS = {
    "low_capture_probability": (
        marked("weak"),
        marked("weak: less than three in ten of the fish present are caught in a pass"),
    ),
    "wide": (marked("wide"), marked("wide: the standard error is more than a quarter of the estimate")),
    "small_number": (
        marked("few fish"),
        marked("few fish: the standard error is of doubtful value at this number"),
    ),
    "all_in_first_pass": (
        marked("all in the first pass"),
        marked("all in the first pass: the formula's error of 0 means nothing"),
    ),
    "no_upper_limit": (marked("no upper limit"), marked("no upper limit: the catches set none")),
    "poor_fit": (
        marked("poor fit"),
        marked("poor fit: the chance of capture seems to have changed from pass to pass"),
    ),
    "later_pass_not_smaller": (
        marked("uneven fall"),
        marked("uneven fall: a later pass caught as many as one before it"),
    ),
    "interval_may_be_narrow": (
        marked("limits narrow"),
        marked("limits narrow: they miss the true number more often than named"),
    ),
    "nets_not_recorded": (
        marked("nets not recorded"),
        marked("nets not recorded: whether the reach was closed is not known"),
    ),
}
METHODS = {
    "two-pass": marked("by the two-pass formula"),
    "maximum-likelihood": marked("by the maximum likelihood"),
    "weighted": marked("by the weighted likelihood"),
}


@register.simple_tag
def slope_words(outcome: Outcome, period: Period) -> str:
    """The change per decade with its limits, or that there is none to give."""
    if period.slope is None:
        return worded("no slope")
    measure = BY_KEY[outcome.measure]
    text = format_slope(measure, period.slope)
    if period.lower is None and period.upper is None:
        return worded("{slope}; too few years for limits", slope=text)
    low = worded("no lower limit") if period.lower is None else format_slope(measure, period.lower)
    high = worded("no upper limit") if period.upper is None else format_slope(measure, period.upper)
    return worded("{slope} ({low} to {high})", slope=text, low=low, high=high)


@register.simple_tag
def removal_remarks(row: Mapping[str, Any]) -> str:
    """What to mind about a usable estimate, in short words that ``removal_key`` explains."""
    short = [told(REMOVAL_REMARKS.get(c, (c.replace("_", " "), ""))[0]) for c in row["cautions"]]
    return ", ".join(short) or worded("none")


@register.simple_tag
def removal_key(total: Mapping[str, Any] | None, rows: list[Mapping[str, Any]]) -> list[str]:
    """The methods and remarks that occur among estimates, each explained once."""
    shown = [row for row in [total, *rows] if row and row["usable"]]
    codes = {code for row in shown for code in row["cautions"]}
    methods = dict.fromkeys(METHODS.get(row["method"], row["method"]) for row in shown)
    return [told(name) for name in methods] + [told(w) for c, (_, w) in REMOVAL_REMARKS.items() if c in codes]


@register.simple_tag
def expected_alarms(tests: int) -> str:
    """How many of so many tests at one in twenty stand out by chance alone."""
    expected = 0.05 * tests
    return f"{expected:.1f}" if expected < 10 else f"{expected:.0f}"


@register.filter
def p_words(value: float) -> str:
    """A p-value as the pages write it."""
    return format_p(value)


@register.filter
def confidence_words(value: float) -> str:
    """A confidence in the direction as the pages write it."""
    return format_confidence(value)


@register.filter
def result_words(outcome: Outcome) -> str:
    """The verdict in staff's words, as the heading of the page behind it."""
    return outcome_verdict(outcome, staff=True)


@register.filter
def result_rows(outcome: Outcome) -> list[dict[str, Any]]:
    """Year by year what went in: each station's value where there are several, and the line's."""
    measure = BY_KEY[outcome.measure]

    def cell(one: YearValue) -> str:
        return "–" if one.value is None else format_value(measure, one.value, unit=False)

    rows = []
    for position, line in enumerate(outcome.middle):
        stations = [s.years[position] for s in outcome.series]
        cells = (
            [*(cell(s) for s in stations), cell(line)]
            if outcome.scope == "watershed"
            else [cell(stations[0])]
        )
        shown = line if outcome.scope == "watershed" else stations[0]
        visits = sorted({pk for s in stations for pk in s.visits})
        rows.append({"year": line.year, "cells": cells, "remark": told(shown.reason), "visits": visits})
    return rows
