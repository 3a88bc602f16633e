"""Years needed: against a simulated table, against simulation, against the smallest records."""

from __future__ import annotations

import math
import pickle

import numpy as np
import pytest
from scipy.stats import multivariate_normal, norm

from trends.stats import power
from trends.stats.errors import InsufficientData
from trends.stats.kendall import trend_batch
from trends.stats.power import power_of_trend, smallest_detectable_change, years_to_detect

# Years for 80 % power, two-sided normal test with continuity correction: a table of 4 000
# simulated series per cell made apart from this code (no printed source; last digit +-1).
RATIOS = (0.05, 0.075, 0.10, 0.15, 0.20, 0.25, 0.30, 0.40, 0.50, 0.75, 1.0)
TABLE = {
    0.05: (36, 28, 23, 18, 15, 14, 12, 10, 9, 8, 7),
    0.10: (33, 25, 21, 17, 14, 12, 11, 10, 9, 7, 6),
}
CELLS = [(a, d, y) for a, row in TABLE.items() for d, y in zip(RATIOS, row, strict=True)]


@pytest.mark.parametrize(("alpha", "ratio", "years"), CELLS)
@pytest.mark.parametrize("method", ["formula", "simulation"])
def test_years_agree_with_the_simulated_table(alpha: float, ratio: float, years: int, method: str) -> None:
    found = years_to_detect(ratio, 1.0, alpha=alpha, power=0.8, method=method)
    assert abs(found - years) <= 1
    assert found.power_reached >= 0.8
    assert found.method == method


# S is in few steps with 8 years, and the normal curve for it is then off by up to 4 points.
@pytest.mark.parametrize(("n", "ratio", "error"), [(8, 0.4, 0.04), (15, 0.2, 0.025), (30, 0.05, 0.025)])
def test_formula_and_a_simulated_test_agree_within_error(n: int, ratio: float, error: float) -> None:
    random = np.random.default_rng(77)
    series = random.normal(size=(6000, n)) + ratio * np.arange(n)
    seen = np.mean(trend_batch(range(n), series, method="normal").p_value <= 0.05)
    assert power_of_trend(range(n), ratio, 1.0) == pytest.approx(seen, abs=error)


def test_moments_of_s_agree_with_simulation_for_years_with_gaps() -> None:
    years = np.array([0, 1, 4, 5, 9, 10, 11], dtype=float)
    random = np.random.default_rng(78)
    s = trend_batch(years, random.normal(size=(40_000, 7)) + 0.2 * years).s
    mean, variance = power._moments_under_trend(years, 0.2)
    assert mean == pytest.approx(s.mean(), abs=0.1)
    assert variance == pytest.approx(s.var(), rel=0.03)


def test_without_a_trend_the_variance_is_that_of_the_test() -> None:
    for n in (3, 7, 20):
        mean, variance = power._moments_under_trend(np.arange(n, dtype=float), 0.0)
        assert mean == pytest.approx(0, abs=1e-12)
        assert variance == pytest.approx(n * (n - 1) * (2 * n + 5) / 18)


def test_chances_of_two_differences_agree_with_scipy() -> None:
    h = np.array([-2.0, -0.7, 0.0, 0.4, 1.5])
    both = power._both_below(h, norm.cdf(h))
    for i in range(5):
        for j in range(5):
            expected = multivariate_normal.cdf([h[i], h[j]], cov=[[1, 0.5], [0.5, 1]])
            assert both[i, j] == pytest.approx(expected, abs=1e-6)


def test_the_sign_and_the_unit_do_not_matter() -> None:
    assert years_to_detect(-0.05, 0.5) == years_to_detect(0.1, 1.0) == years_to_detect(5, 50)


def test_every_parameter_changes_the_answer() -> None:
    base = years_to_detect(0.1, 1.0, alpha=0.05, power=0.8)
    assert years_to_detect(0.1, 1.0, alpha=0.2, power=0.8) < base
    assert years_to_detect(0.1, 1.0, alpha=0.05, power=0.5) < base
    assert years_to_detect(0.2, 1.0) < base < years_to_detect(0.1, 2.0)


@pytest.mark.parametrize("method", ["formula", "simulation"])
def test_no_change_is_never_found(method: str) -> None:
    found = years_to_detect(0.0, 1.0, method=method)
    assert math.isinf(found)
    assert not found.reachable
    assert found.years == math.inf


def test_the_answer_is_a_plain_number_and_survives_storing() -> None:
    found = years_to_detect(0.1, 1.0)
    assert (found, int(found), found.years) == (23.0, 23, 23.0)
    again = pickle.loads(pickle.dumps(found))
    assert (again, again.method, again.alpha) == (found, found.method, found.alpha)


def test_even_the_steepest_trend_needs_five_years_at_five_percent() -> None:
    # With 4 years the smallest two-sided p is 0.083 (exact), 0.089 (normal).
    assert years_to_detect(1e6, 1.0) == 5
    assert years_to_detect(1e6, 1.0, alpha=0.1) == 4


def test_smallest_change_is_the_one_that_has_the_power_stated() -> None:
    years = [2001, 2002, 2005, 2006, 2009, 2010, 2011, 2015]
    found = smallest_detectable_change(years, 0.5)
    assert power_of_trend(years, found.slope, 0.5) == pytest.approx(0.8, abs=1e-4)
    assert found.total_change == pytest.approx(14 * found.slope)
    assert smallest_detectable_change(years, 0.5, power=0.5).slope < found.slope
    assert smallest_detectable_change(years, 0.5, alpha=0.2).slope < found.slope
    assert (found.n, found.span_years) == (8, 14)


def test_four_years_can_show_nothing() -> None:
    assert math.isinf(smallest_detectable_change(range(4), 1.0).slope)


def test_wrong_input_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="residual_sd"):
        years_to_detect(0.1, 0.0)
    with pytest.raises(ValueError, match="slope must be finite"):
        years_to_detect(math.nan, 1.0)
    with pytest.raises(ValueError, match="power must lie"):
        years_to_detect(0.1, 1.0, power=80)
    with pytest.raises(ValueError, match="method must be one of"):
        years_to_detect(0.1, 1.0, method="guess")
    with pytest.raises(InsufficientData):
        smallest_detectable_change([2001, 2001, 2002], 1.0)
