"""The statistics held against general libraries; where they differ, who is right and why.

Versions are those pinned in pyproject.toml. Differences are listed in trends/stats/README.md.
"""

from __future__ import annotations

import math

import numpy as np
import pymannkendall
import pytest
from scipy import stats
from scipy.spatial.distance import braycurtis
from scipy.stats import mstats
from skbio.diversity import alpha

from trends.stats import diversity, serial
from trends.stats.kendall import mann_kendall, regional_kendall, sen_slope

SEEDS = range(8)


def a_series(seed: int, n: int = 26, decimals: int = 1) -> np.ndarray:
    return np.round(np.random.default_rng(seed).normal(5, 1.5, n), decimals)


@pytest.mark.parametrize("n", [3, 7, 12, 20])
def test_exact_p_without_ties_is_that_of_scipy(n: int) -> None:
    values = np.random.default_rng(n).permutation(n)
    expected = stats.kendalltau(range(n), values, method="exact")
    result = mann_kendall(range(n), values)
    assert result.p_value == pytest.approx(expected.pvalue, rel=1e-12)
    assert result.tau == pytest.approx(expected.statistic)


@pytest.mark.parametrize("seed", SEEDS)
def test_tau_b_with_ties_is_that_of_scipy(seed: int) -> None:
    values = a_series(seed, decimals=0)
    assert mann_kendall(range(26), values).tau == pytest.approx(stats.kendalltau(range(26), values).statistic)


def test_scipy_refuses_exact_chances_with_ties_and_has_none_for_a_constant() -> None:
    # Both are needed here, so neither is taken from SciPy.
    with pytest.raises(ValueError, match="Ties found"):
        stats.kendalltau([1, 2, 3], [1, 1, 2], method="exact")
    assert math.isnan(stats.kendalltau([1, 2, 3], [1, 1, 1]).pvalue)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_normal_test_is_that_of_pymannkendall(seed: int) -> None:
    values = a_series(seed)
    expected = pymannkendall.original_test(values)
    result = mann_kendall(range(26), values, method="normal")
    assert (result.s, result.var_s) == (expected.s, pytest.approx(expected.var_s))
    assert (result.z, result.p_value) == (pytest.approx(expected.z), pytest.approx(expected.p))
    assert sen_slope(range(26), values).slope == pytest.approx(expected.slope)


def test_pymannkendall_closes_gaps_and_we_keep_their_width() -> None:
    # Values on a line of 1 a year with a gap of three years: the slope is 1 by construction.
    values = [1.0, 2.0, math.nan, math.nan, math.nan, 6.0, 7.0]
    years = range(2001, 2008)
    assert sen_slope(years, values).slope == 1.0
    dense = [v for v in values if not math.isnan(v)]
    assert pymannkendall.sens_slope(dense).slope > 1.0


@pytest.mark.parametrize("seed", SEEDS)
def test_slope_and_rounded_limits_are_those_of_scipy(seed: int) -> None:
    values = a_series(seed, n=15, decimals=3)
    expected = stats.theilslopes(values, range(15), alpha=0.95)
    result = sen_slope(range(15), values, limits="rounded")
    assert result.slope == pytest.approx(expected.slope)
    assert result.intercept == pytest.approx(expected.intercept)
    assert (result.lower, result.upper) == (
        pytest.approx(expected.low_slope),
        pytest.approx(expected.high_slope),
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_seasonal_p_values_are_those_of_scipy(seed: int) -> None:
    table = np.random.default_rng(seed).integers(0, 9, size=(13, 4)).astype(float)
    table[np.random.default_rng(seed + 100).random(table.shape) < 0.1] = np.nan
    expected = mstats.kendalltau_seasonal(np.ma.masked_invalid(table))
    plain = regional_kendall(range(13), table.T)
    shared = regional_kendall(range(13), table.T, correct_for_correlation=True)
    assert plain.p_value == pytest.approx(float(expected["global p-value (indep)"]))
    assert shared.p_value == pytest.approx(float(expected["global p-value (dep)"]))


def test_scipy_compares_seasons_with_a_continuity_correction_and_we_without() -> None:
    # van Belle & Hughes 1984 and USEPA use Z without it; the published example 14-10 of the
    # USEPA guidance (tests/published) confirms the form used here.
    table = np.random.default_rng(2).integers(0, 9, size=(13, 4)).astype(float)
    total = float(mstats.kendalltau_seasonal(np.ma.masked_invalid(table))["chi2 total"])
    result = regional_kendall(range(13), table.T)
    with_correction = [
        (abs(s) - 1) ** 2 / v if s else 0.0
        for s, v in zip(result.station_s, result.station_var_s, strict=True)
    ]
    assert total == pytest.approx(sum(with_correction))
    assert result.chi2_total > total


@pytest.mark.parametrize("seed", SEEDS)
def test_serial_corrections_are_those_of_pymannkendall(seed: int) -> None:
    random = np.random.default_rng(seed)
    values = np.cumsum(random.normal(size=40)) * 0.4 + random.normal(size=40)
    years = range(40)
    hamed = pymannkendall.hamed_rao_modification_test(values, lag=3)
    ours = serial.hamed_rao(years, values, max_lag=3, cap_factor=False)
    assert ours.var_s == pytest.approx(hamed.var_s)
    yue = pymannkendall.yue_wang_modification_test(values, lag=1)
    ours = serial.yue_wang(years, values, max_lag=1, cap_factor=False)
    assert ours.var_s == pytest.approx(yue.var_s)
    white = pymannkendall.trend_free_pre_whitening_modification_test(values)
    ours = serial.trend_free_prewhitening(years, values)
    assert ours.s == white.s


@pytest.mark.parametrize("seed", SEEDS)
def test_diversity_is_that_of_scikit_bio(seed: int) -> None:
    counts = np.random.default_rng(seed).integers(0, 12, 15)
    assert diversity.shannon(counts) == pytest.approx(alpha.shannon(counts, base=math.e))
    assert diversity.simpson(counts) == pytest.approx(alpha.simpson(counts))
    assert diversity.pielou_evenness(counts) == pytest.approx(alpha.pielou_e(counts))
    assert diversity.chao1(counts) == pytest.approx(alpha.chao1(counts))
    assert diversity.hill_number(counts, 1.5) == pytest.approx(alpha.hill(counts, order=1.5))


def test_scikit_bio_calls_one_taxon_even_and_we_call_it_undefined() -> None:
    assert alpha.pielou_e([5]) == 1
    assert math.isnan(diversity.pielou_evenness([5]))


@pytest.mark.parametrize("seed", SEEDS)
def test_dissimilarity_is_that_of_scipy(seed: int) -> None:
    a, b = np.random.default_rng(seed).integers(0, 12, (2, 15))
    assert diversity.bray_curtis(a, b) == pytest.approx(braycurtis(a, b))
