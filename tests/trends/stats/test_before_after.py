"""Before-after and before-after-control-impact: recovery of a planted effect, refusals."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import stats

from trends.stats.before_after import before_after, smallest_detectable_effect

YEARS = np.arange(2000, 2014)
CHANGE = 2007


def planted(seed: int, effect: float, controls: int = 3) -> tuple[np.ndarray, np.ndarray]:
    """An impact station and controls that share the weather of each year."""
    random = np.random.default_rng(seed)
    weather = random.normal(0, 1.0, YEARS.size)
    impact = 5 + weather + random.normal(0, 0.4, YEARS.size) + effect * (YEARS >= CHANGE)
    level = random.normal(5, 1, controls)[:, None]
    return impact, level + weather + random.normal(0, 0.4, (controls, YEARS.size))


def test_a_planted_effect_is_recovered_with_the_coverage_stated() -> None:
    held = dict.fromkeys(("Welch t", "randomisation", "regression, HC3 errors"), 0)
    runs = 200
    for seed in range(runs):
        impact, controls = planted(seed, -1.0)
        result = before_after(YEARS, impact, change_year=CHANGE, controls=controls[:1])
        for estimate in result.estimates:
            if estimate.method in held:
                held[estimate.method] += estimate.lower <= -1.0 <= estimate.upper
    # Binomial error of 200 runs at 95 % is 1.5 points; three of these either way.
    assert all(0.90 <= count / runs <= 0.995 for count in held.values()), held


def test_controls_take_out_the_weather_they_share() -> None:
    impact, controls = planted(3, -1.0)
    alone = before_after(YEARS, impact, change_year=CHANGE)
    paired = before_after(YEARS, impact, change_year=CHANGE, controls=controls)
    assert paired.upper - paired.lower < alone.upper - alone.lower
    assert (alone.design, paired.design) == ("before-after", "before-after-control-impact")
    assert alone.cautions == ("no_control",)


def test_two_ways_at_least_and_the_mixed_model_with_several_stations() -> None:
    impact, controls = planted(4, -1.0)
    several = before_after(YEARS, impact, change_year=CHANGE, controls=controls)
    single = before_after(YEARS, impact, change_year=CHANGE, controls=controls[0])
    names = [estimate.method for estimate in several.estimates]
    assert names[-1] == "mixed model, station random"
    assert len(single.estimates) == 4
    assert "one_control" in single.cautions
    # Complete and balanced: every way is the same contrast.
    for estimate in several.estimates:
        assert estimate.usable
        assert estimate.effect == pytest.approx(several.effect, abs=1e-6)


def test_welch_agrees_with_scipy() -> None:
    impact, controls = planted(5, -1.0)
    result = before_after(YEARS, impact, change_year=CHANGE, controls=controls)
    d = impact - controls.mean(axis=0)
    expected = stats.ttest_ind(d[YEARS >= CHANGE], d[YEARS < CHANGE], equal_var=False)
    limits = expected.confidence_interval(0.95)
    welch = result.estimates[0]
    assert welch.p_value == pytest.approx(expected.pvalue)
    assert (welch.lower, welch.upper) == (pytest.approx(limits.low), pytest.approx(limits.high))


def test_randomisation_goes_through_every_arrangement_of_a_short_record() -> None:
    years, d = range(8), [5.0, 6.1, 5.2, 5.9, 3.0, 2.4, 3.3, 2.1]
    result = before_after(years, d, change_year=4)
    observed = abs(np.mean(d[4:]) - np.mean(d[:4]))
    reached = []
    for chosen in itertools.combinations(range(8), 4):
        after = np.mean([d[i] for i in chosen])
        before = np.mean([d[i] for i in range(8) if i not in chosen])
        reached.append(abs(after - before) >= observed - 1e-9)
    randomised = result.estimates[1]
    assert randomised.p_value == pytest.approx(np.mean(reached))
    assert randomised.lower < result.effect < randomised.upper < 0


def test_three_years_a_side_give_no_randomisation_limits() -> None:
    # 20 arrangements: the smallest two-sided p is 0.1, so 95 % cannot be had.
    result = before_after(range(6), [5, 6, 5.5, 3, 2, 2.5], change_year=3)
    randomised = result.estimates[1]
    assert randomised.p_value == pytest.approx(0.1)
    assert (randomised.lower, randomised.upper) == (-math.inf, math.inf)
    eighty = before_after(range(6), [5, 6, 5.5, 3, 2, 2.5], change_year=3, confidence=0.8)
    assert math.isfinite(eighty.estimates[1].lower)


def test_under_three_years_a_side_nothing_is_given_and_the_reason_is_said() -> None:
    impact, _ = planted(6, 0.0)
    late = before_after(YEARS, impact, change_year=2012)
    early = before_after(YEARS, impact, change_year=2002)
    assert (late.usable, late.reason_code) == (False, "too_few_years_after")
    assert (early.usable, early.reason_code) == (False, "too_few_years_before")
    assert math.isnan(late.effect) and late.estimates == () and late.by_after_years == ()
    assert late.reason.startswith("Fewer than 3")


def test_years_of_the_works_are_on_neither_side() -> None:
    impact, _ = planted(7, 0.0)
    result = before_after(YEARS, impact, change_year=CHANGE, left_out=[2006, 2007, 2008])
    assert (result.n_before, result.n_after) == (6, 5)
    assert 2007 not in result.years


def test_every_run_of_three_or_more_after_years_is_given() -> None:
    impact, controls = planted(8, -1.0)
    result = before_after(YEARS, impact, change_year=CHANGE, controls=controls)
    # Seven after-years: 5 runs of 3, 4 of 4, 3 of 5, 2 of 6, 1 of 7.
    assert len(result.by_after_years) == 15
    whole = result.by_after_years[4]
    assert (whole.first_year, whole.last_year, whole.effect) == (2007, 2013, result.effect)


def test_a_year_needs_every_station_of_the_design() -> None:
    impact, controls = planted(9, -1.0)
    controls[1, 2], impact[5] = math.nan, math.nan
    result = before_after(YEARS, impact, change_year=CHANGE, controls=controls)
    assert (result.n_incomplete_years, result.n_before) == (2, 5)
    assert result.estimates[-1].n == 54  # station years used by the mixed model


def test_a_drift_before_the_change_is_pointed_out() -> None:
    impact, controls = planted(10, 0.0)
    drifting = impact + np.where(YEARS < CHANGE, 2.0 * (YEARS - 2000), 14)
    result = before_after(YEARS, drifting, change_year=CHANGE, controls=controls)
    assert "control_not_parallel" in result.cautions
    assert result.drift_before.s > 0


def test_a_ratio_is_the_difference_of_logarithms() -> None:
    impact, _ = planted(11, -0.5)
    plain = before_after(YEARS, impact, change_year=CHANGE)
    ratio = before_after(YEARS, np.exp(impact), change_year=CHANGE, ratio=True)
    assert ratio.scale == "ratio"
    assert math.log(ratio.effect) == pytest.approx(plain.effect)
    assert math.log(ratio.estimates[0].upper) == pytest.approx(plain.upper)
    assert math.log(ratio.by_after_years[0].effect) == pytest.approx(plain.by_after_years[0].effect)
    with pytest.raises(ValueError, match="above 0 everywhere"):
        before_after(YEARS, np.zeros(14), change_year=CHANGE, ratio=True)


def test_a_step_without_scatter_gives_no_limits() -> None:
    result = before_after(range(6), [5, 5, 5, 3, 3, 3], change_year=3)
    assert (result.usable, result.reason_code, result.effect) == (False, "no_scatter", -2)


def test_the_order_of_the_controls_changes_nothing() -> None:
    impact, controls = planted(12, -1.0)
    one = before_after(YEARS, impact, change_year=CHANGE, controls=controls)
    other = before_after(YEARS[::-1], impact[::-1], change_year=CHANGE, controls=controls[::-1, ::-1])
    assert one.effect == pytest.approx(other.effect)
    assert one.estimates[-1].lower == pytest.approx(other.estimates[-1].lower, rel=1e-4)


# Smallest differences in units of the scatter of D: a table worked out apart from this code
# from t quantiles, after Spooner, Dressing & Meals 2011 (EPA Tech Notes 7; opening seen).
@pytest.mark.parametrize(
    ("before", "after", "just", "with_power"),
    [(3, 3, 2.27, 3.04), (5, 3, 1.79, 2.45), (5, 5, 1.46, 2.02), (5, 10, 1.18, 1.66), (10, 10, 0.94, 1.33)],
)
def test_smallest_effects_agree_with_the_table(
    before: int, after: int, just: float, with_power: float
) -> None:
    assert smallest_detectable_effect(before, after, 1.0, power=0.5) == pytest.approx(just, abs=0.005)
    assert smallest_detectable_effect(before, after, 1.0) == pytest.approx(with_power, abs=0.005)


def test_wrong_input_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="controls has 3 columns"):
        before_after([1, 2], [1, 2], change_year=2, controls=[1, 2, 3])
    with pytest.raises(ValueError, match="more than once"):
        before_after([1, 1], [1, 2], change_year=2)
    with pytest.raises(ValueError, match="degree of freedom"):
        smallest_detectable_effect(1, 1, 1.0)
