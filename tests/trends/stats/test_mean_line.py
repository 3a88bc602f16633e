"""Limits of the least-squares slope, against statsmodels and against the ties that blind Sen's limits."""

import numpy as np
import pytest
import statsmodels.api as sm

from trends.stats.kendall import sen_slope
from trends.stats.mean_line import least_squares_limits

# An index of five steps that held at one value for eighteen years and fell two classes in the last two.
FALLEN = [8, 8, 8, 8, 8, 8, 6, 7, 8, 9, 9, 8, 8, 9, 8, 8, 8, 8, 4, 4]


@pytest.mark.parametrize("confidence", [0.90, 0.95])
def test_the_limits_are_those_of_a_general_library(confidence: float) -> None:
    years, values = np.arange(2005, 2025), np.array(FALLEN) / 3
    reference = sm.OLS(values, sm.add_constant(years - 2014.5)).fit().conf_int(1 - confidence)[1]

    assert least_squares_limits(years, values, confidence=confidence) == pytest.approx(tuple(reference))


def test_missing_years_are_left_out() -> None:
    assert least_squares_limits([2001, 2002, 2003, 2004], [1.0, np.nan, 3.1, 3.9]) == pytest.approx(
        least_squares_limits([2001, 2003, 2004], [1.0, 3.1, 3.9])
    )


def test_a_fall_at_the_end_is_seen_where_ties_hide_it_from_the_median_of_pairs() -> None:
    years, values = range(2005, 2025), [v / 3 for v in FALLEN]
    sen = sen_slope(years, values)

    assert (sen.lower, sen.upper) == (0.0, 0.0)
    assert 10 * least_squares_limits(years, values)[0] < -0.25
