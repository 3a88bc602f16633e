"""Serial correlation, drivers and many tests at once."""

from __future__ import annotations

import math

import numpy as np
import pytest
from statsmodels.tsa.stattools import acf

from trends.stats._neighbours import autocorrelation
from trends.stats.drivers import adjust_for_driver
from trends.stats.errors import InsufficientData
from trends.stats.kendall import mann_kendall
from trends.stats.multiple import benjamini_hochberg
from trends.stats.serial import hamed_rao, lag_one, trend_free_prewhitening, yue_wang

WAVE = [math.sin(i / 3) + 0.02 * i for i in range(30)]
YEARS = list(range(1990, 2020))


def test_autocorrelations_are_those_of_statsmodels() -> None:
    values = np.random.default_rng(1).normal(size=25)
    assert autocorrelation(values, 6) == pytest.approx(acf(values, nlags=6, fft=False)[1:])


def test_all_autocorrelations_sum_to_minus_one_half() -> None:
    # Why the Yue-Wang factor over all lags means nothing.
    values = np.random.default_rng(2).normal(size=25)
    assert autocorrelation(values, 24).sum() == pytest.approx(-0.5)
    assert "many_lags" in yue_wang(YEARS, WAVE, max_lag=29, cap_factor=False).cautions
    assert "many_lags" not in yue_wang(YEARS, WAVE, max_lag=3).cautions


def test_years_alike_give_a_high_lag_one_and_less_certainty() -> None:
    assert lag_one(YEARS, WAVE).r > lag_one(YEARS, WAVE).upper
    assert lag_one(YEARS, WAVE).p_value < 0.01
    for corrected in (hamed_rao(YEARS, WAVE, max_lag=3), yue_wang(YEARS, WAVE)):
        assert corrected.factor > 1
        assert corrected.p_value > corrected.plain.p_value
        assert corrected.plain == mann_kendall(YEARS, WAVE)


def test_a_correction_never_makes_the_test_more_eager_unless_asked() -> None:
    saw = [(-1) ** i + 0.05 * i for i in range(30)]
    capped, free = yue_wang(YEARS, saw), yue_wang(YEARS, saw, cap_factor=False)
    assert free.factor < 1
    assert (capped.factor, capped.capped, capped.factor_uncapped) == (1.0, True, free.factor)
    assert hamed_rao(YEARS, saw).factor >= 1 > hamed_rao(YEARS, saw, cap_factor=False).factor


def test_every_option_changes_the_result() -> None:
    assert hamed_rao(YEARS, WAVE, max_lag=1).factor != hamed_rao(YEARS, WAVE, max_lag=4).factor
    assert hamed_rao(YEARS, WAVE, alpha=0.5).lags_used != hamed_rao(YEARS, WAVE, alpha=0.001).lags_used
    assert yue_wang(YEARS, WAVE, max_lag=1).factor != yue_wang(YEARS, WAVE, max_lag=2).factor
    assert lag_one(YEARS, WAVE, confidence=0.5).upper < lag_one(YEARS, WAVE).upper


def test_prewhitening_loses_one_year() -> None:
    result = trend_free_prewhitening(YEARS, WAVE)
    assert (result.n, result.plain.n) == (29, 30)


def test_an_exact_line_is_left_as_it_is() -> None:
    line = [0.1 * i for i in range(12)]
    assert math.isnan(lag_one(range(12), line).r)
    assert hamed_rao(range(12), line).factor == 1
    assert trend_free_prewhitening(range(12), line).s == 55


def test_few_years_carry_a_caution() -> None:
    assert lag_one(range(8), [1, 3, 2, 4, 3, 5, 4, 6]).cautions == ("few_years_for_autocorrelation",)
    assert lag_one(YEARS, WAVE).cautions == ()


@pytest.mark.parametrize("call", [lag_one, hamed_rao, yue_wang, trend_free_prewhitening])
def test_gaps_are_refused_rather_than_closed(call) -> None:
    with pytest.raises(InsufficientData) as caught:
        call([2001, 2002, 2004, 2005, 2006], [1, 2, 3, 4, 6])
    assert caught.value.code == "gaps"
    with pytest.raises(InsufficientData) as caught:
        call([2001, 2002, 2003], [1, 2, 3])
    assert caught.value.code == "too_few_years"


def test_lags_beyond_the_series_are_refused() -> None:
    with pytest.raises(ValueError, match="max_lag must lie between 1 and 29"):
        hamed_rao(YEARS, WAVE, max_lag=30)


def test_a_driver_taken_out_brings_the_trend_to_light() -> None:
    random = np.random.default_rng(4)
    flow = random.gamma(2.0, 2.0, 25)
    values = 30 - 2 * flow + 0.15 * np.arange(25) + random.normal(0, 0.3, 25)
    result = adjust_for_driver(range(2000, 2025), values, flow)
    assert result.adjusted.p_value < 0.001 < result.plain.p_value
    assert result.adjusted_slope.slope == pytest.approx(0.15, abs=0.05)
    assert result.explained > 0.8


def test_driver_rows_stay_with_their_years_in_any_order() -> None:
    random = np.random.default_rng(5)
    flow, values = random.normal(size=20), random.normal(size=20)
    values[3], flow[7] = math.nan, math.nan
    order = random.permutation(20)
    years = np.arange(2000, 2020)
    one = adjust_for_driver(years, values, flow)
    other = adjust_for_driver(years[order], values[order], flow[order])
    assert one.residuals == pytest.approx(other.residuals)
    assert (one.n, one.n_missing) == (18, 2)


def test_a_driver_with_a_trend_of_its_own_is_pointed_out() -> None:
    flow = np.arange(12) + np.random.default_rng(6).normal(0, 0.5, 12)
    result = adjust_for_driver(range(12), flow * 2, flow)
    assert set(result.cautions) == {"few_years", "driver_has_trend"}


def test_a_driver_without_change_or_too_few_years_is_refused() -> None:
    with pytest.raises(InsufficientData) as caught:
        adjust_for_driver(range(10), range(10), [3] * 10)
    assert caught.value.code == "constant_driver"
    with pytest.raises(InsufficientData) as caught:
        adjust_for_driver(range(7), range(7), range(7))
    assert caught.value.code == "too_few_years"
    with pytest.raises(ValueError, match="same length"):
        adjust_for_driver(range(10), range(10), range(9))
    with pytest.raises(ValueError, match="fraction"):
        adjust_for_driver(range(10), range(10), range(10), fraction=0)


def test_adjusted_p_values_follow_the_published_steps() -> None:
    # Benjamini & Hochberg 1995, the 15 p-values of their thrombolysis example (from memory):
    # at 0.05 the four smallest are rejected, where Bonferroni rejects three.
    p = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344]
    p += [0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0000]
    result = benjamini_hochberg(p)
    assert (result.n_tests, result.n_rejected, result.n_rejected_raw) == (15, 4, 9)
    assert result.rejected.tolist() == [True] * 4 + [False] * 11
    assert result.expected_false_alarms == pytest.approx(0.75)


def test_tests_not_made_are_not_counted() -> None:
    result = benjamini_hochberg([0.01, math.nan, 0.04])
    assert result.n_tests == 2
    assert math.isnan(result.p_adjusted[1])
    assert result.p_adjusted[0] == pytest.approx(0.02)
    assert benjamini_hochberg([math.nan]).n_tests == 0
    assert benjamini_hochberg([0.03, 0.04], alpha=0.01).n_rejected == 0


def test_a_p_value_above_one_is_refused() -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        benjamini_hochberg([0.2, 1.2])
