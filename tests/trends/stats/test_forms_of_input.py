"""Numbers in the forms that other libraries hand over: masked arrays, tables with gaps, text, dates."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest

from trends.stats import diversity
from trends.stats.before_after import before_after
from trends.stats.changepoint import pettitt
from trends.stats.kendall import mann_kendall, regional_kendall, seasonal_kendall, sen_slope, trend_batch
from trends.stats.removal import removal_estimate

YEARS = [2001, 2002, 2003, 2004, 2005, 2006]
GAP = [3.0, 4.0, 6.0, math.nan, 9.0, 5.0]
MASKED = np.ma.masked_array([3, 4, 6, -999, 9, 5], mask=[0, 0, 0, 1, 0, 0])


@pytest.mark.parametrize(
    "given",
    [
        MASKED,
        MASKED.astype(object),
        [3, 4, 6, None, 9, 5],
        pd.Series([3, 4, 6, None, 9, 5], dtype="Int64", index=list("fedcba")),
        [3, 4, 6, pd.NA, 9, 5],
        np.array(["3", "4", "6", "nan", "9", "5"]),
    ],
    ids=["masked", "masked objects", "none", "nullable", "na", "text"],
)
def test_a_gap_is_a_gap_however_it_is_written(given: object) -> None:
    assert mann_kendall(YEARS, given) == mann_kendall(YEARS, GAP)
    assert sen_slope(YEARS, given) == sen_slope(YEARS, GAP)
    assert pettitt(given) == pettitt(GAP)


def test_what_stands_under_a_mask_is_not_read_in_a_table_either() -> None:
    table = np.ma.stack([MASKED, MASKED])
    assert regional_kendall(YEARS, table) == regional_kendall(YEARS, [GAP, GAP])
    assert trend_batch(YEARS, table).slope.tolist() == trend_batch(YEARS, [GAP, GAP]).slope.tolist()
    assert before_after(YEARS, MASKED, change_year=2004).n_after == 2


def test_a_value_without_a_season_is_left_out() -> None:
    # Two unknown seasons are not one season.
    years, values = [1, 1, 2, 2, 3, 3, 4], [1, 9, 2, 5, 4, 1, 6]
    masked = np.ma.masked_array(["low", "high"] * 3 + ["low"], mask=[0, 1] * 3 + [0])
    for seasons in (masked, *(["low", gap] * 3 + ["low"] for gap in (None, math.nan, pd.NA))):
        result = seasonal_kendall(years, seasons, values)
        assert (result.labels, result.s, result.n_values) == (("low",), 6, 4)


def test_a_masked_pass_was_not_made() -> None:
    made, given = (removal_estimate(c) for c in ([60, 25], np.ma.masked_array([60, 25, -99], mask=[0, 0, 1])))
    assert (given.n_passes, given.n_hat, given.lower) == (2, made.n_hat, made.lower)


def test_a_masked_count_is_unknown_and_not_zero() -> None:
    with pytest.raises(ValueError, match=r"counts\[2\] is missing: unknown is not zero"):
        diversity.shannon(np.ma.masked_array([3, 4, 0], mask=[0, 0, 1]))


@pytest.mark.parametrize(
    ("call", "named"),
    [
        # Dates would be read as nanoseconds, and the slope with them.
        (lambda: sen_slope(pd.to_datetime([f"{y}-07-01" for y in YEARS]), GAP), "years must be numbers"),
        (lambda: sen_slope([datetime.date(y, 7, 1) for y in YEARS], GAP), "years must be numbers"),
        (lambda: mann_kendall(YEARS, np.array(GAP) * 1j), "values must be numbers"),
        (lambda: diversity.rarefied_richness([1, 2], math.nan), "sample_size must be a whole number"),
        (lambda: diversity.rarefied_richness([1, 2], math.inf), "sample_size must be a whole number"),
    ],
    ids=["timestamps", "dates", "complex", "nan", "inf"],
)
def test_what_is_no_number_is_refused_by_name(call: Callable[[], object], named: str) -> None:
    with pytest.raises(ValueError, match=named):
        call()
