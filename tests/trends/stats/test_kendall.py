"""Mann-Kendall test and Sen slope: rules at the edges, properties, a slow second implementation."""

from __future__ import annotations

import itertools
import math
from collections import Counter

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from trends.stats import _exact_null
from trends.stats.errors import InsufficientData
from trends.stats.kendall import mann_kendall, sen_slope

# Whole numbers over 8 keep sums, differences and scalings exact in binary.
EIGHTHS = st.integers(-400, 400).map(lambda v: v / 8)
SERIES = st.lists(st.one_of(EIGHTHS, st.just(math.nan)), min_size=3, max_size=14)


def enough(values: list[float]) -> bool:
    return sum(not math.isnan(v) for v in values) >= 3


def plain_s_and_ties(values: list[float]) -> tuple[int, float]:
    """S and its variance, pair by pair; the slow second implementation."""
    n = len(values)
    s = 0
    for i, j in itertools.combinations(range(n), 2):
        s += (values[j] > values[i]) - (values[j] < values[i])
    ties = sum(a * (a - 1) * (2 * a + 5) for a in Counter(values).values())
    return s, (n * (n - 1) * (2 * n + 5) - ties) / 18


def plain_exact_p(values: list[float]) -> float:
    """Two-sided p by going through every order of the values."""
    observed = abs(plain_s_and_ties(values)[0])
    reached = [abs(plain_s_and_ties(list(order))[0]) >= observed for order in itertools.permutations(values)]
    return sum(reached) / len(reached)


def plain_slopes(years: list[float], values: list[float]) -> list[float]:
    return sorted(
        (values[j] - values[i]) / (years[j] - years[i])
        for i, j in itertools.combinations(range(len(values)), 2)
        if years[j] != years[i]
    )


@pytest.mark.parametrize("seed", range(12))
def test_the_test_agrees_with_a_slow_plain_version(seed: int) -> None:
    random = np.random.default_rng(seed)
    values = random.integers(0, 4, random.integers(3, 8)).astype(float).tolist()
    result = mann_kendall(range(len(values)), values)
    s, variance = plain_s_and_ties(values)
    assert result.s == s
    assert result.var_s == pytest.approx(variance, abs=1e-9)
    assert result.p_value == pytest.approx(plain_exact_p(values), abs=1e-12)


@pytest.mark.parametrize("seed", range(12))
def test_the_slope_agrees_with_a_slow_plain_version(seed: int) -> None:
    random = np.random.default_rng(seed)
    n = int(random.integers(3, 30))
    years = np.sort(random.choice(60, n, replace=False)).astype(float).tolist()
    values = np.round(random.normal(5, 2, n), 1).tolist()
    slopes = plain_slopes(years, values)
    result = sen_slope(years, values)
    half = len(slopes) // 2
    middle = slopes[half] if len(slopes) % 2 else (slopes[half - 1] + slopes[half]) / 2
    assert result.slope == pytest.approx(middle)
    assert result.n_pairs == len(slopes)
    assert result.intercept == pytest.approx(np.median(values) - middle * np.median(years))


def test_exact_chances_equal_enumeration_for_every_tie_pattern_of_six() -> None:
    for values in itertools.combinations_with_replacement(range(3), 6):
        array = np.array(values, dtype=float)
        ties = _exact_null.tie_sizes(array)
        seen = Counter(plain_s_and_ties(list(order))[0] for order in itertools.permutations(values))
        tail = _exact_null.upper_tail(6, ties)
        pairs = _exact_null.untied_pairs(6, ties)
        for m, chance in enumerate(tail):
            expected = sum(count for s, count in seen.items() if s >= pairs - 2 * m) / 720
            assert chance == pytest.approx(expected, abs=1e-14)


def test_counts_stay_whole_beyond_machine_integers() -> None:
    counts = _exact_null.discordance_counts(25, (2, 3))
    assert sum(int(c) for c in counts) == math.factorial(25) // (2 * 6)
    assert all(int(c) > 0 for c in counts)


def test_exact_is_used_up_to_twenty_years_and_the_normal_curve_beyond() -> None:
    assert mann_kendall(range(20), range(20)).method == "exact"
    assert mann_kendall(range(21), range(21)).method == "normal"
    assert sen_slope(range(20), range(20)).limits == "exact"
    assert sen_slope(range(21), range(21)).limits == "interpolated"


def test_the_method_asked_for_changes_the_p_value() -> None:
    values = [3, 1, 4, 1, 5, 9, 2, 6]
    exact, normal = (mann_kendall(range(8), values, method=m).p_value for m in ("exact", "normal"))
    assert exact != normal


def test_the_limits_asked_for_change_the_limits() -> None:
    random = np.random.default_rng(5)
    values = random.normal(size=12)
    found = {sen_slope(range(12), values, limits=w).lower for w in ("exact", "interpolated", "rounded")}
    assert len(found) >= 2
    assert sen_slope(range(12), values, confidence=0.8).lower > sen_slope(range(12), values).lower


def test_all_values_alike_is_no_trend_and_no_error() -> None:
    # Edge rule: S = 0, no division by zero, tau undefined.
    result = mann_kendall([2001, 2003, 2004, 2009], [4, 4, 4, 4])
    assert (result.s, result.var_s, result.z, result.p_value) == (0, 0.0, 0.0, 1.0)
    assert result.direction_confidence == 0.5
    assert math.isnan(result.tau)
    slope = sen_slope([2001, 2003, 2004, 2009], [4, 4, 4, 4])
    assert slope.slope == 0
    assert not slope.limits_available


def test_limits_that_cannot_be_had_are_infinite_and_say_so() -> None:
    # With 4 years P(S >= 6) = 1/24 is above 0.025, so no pair of ranks holds 95 %.
    result = sen_slope([1, 2, 3, 4], [1.0, 2.5, 3.0, 4.0])
    assert (result.lower, result.upper) == (-math.inf, math.inf)
    assert not result.limits_available
    narrower = sen_slope([1, 2, 3, 4], [1.0, 2.5, 3.0, 4.0], confidence=0.9)
    assert narrower.limits_available
    assert narrower.confidence_held == pytest.approx(1 - 2 / 24)


def test_a_missed_year_keeps_its_width() -> None:
    assert sen_slope([2001, 2002, 2005, 2009], [10, 12, 15, 20]).slope == 1.25


def test_years_may_be_fractions_and_in_any_order() -> None:
    ordered = sen_slope([2001.2, 2002.7, 2004.4], [1, 2, 4])
    mixed = sen_slope([2004.4, 2001.2, 2002.7], [4, 1, 2])
    assert ordered == mixed


def test_repeated_years_form_no_pair() -> None:
    # Three-term variance: Kendall 1976, eq. 4.4; the value is worked out by hand:
    # n=4, one tie of 2 in the years: (4*3*13 - 2*1*9)/18 = 138/18.
    result = mann_kendall([2001, 2001, 2002, 2003], [1, 5, 6, 7])
    assert result.s == 5
    assert result.n_pairs == 5
    assert result.var_s == pytest.approx(138 / 18)
    assert sen_slope([2001, 2001, 2002, 2003], [1, 5, 6, 7]).n_pairs == 5


def test_exact_chances_with_repeated_years_equal_enumeration() -> None:
    years, values = [1, 1, 2, 3, 3], [2.0, 1.0, 4.0, 3.0, 5.0]
    result = mann_kendall(years, values)

    def s_of(order: tuple[float, ...]) -> int:
        pairs = itertools.combinations(range(5), 2)
        return sum(int(np.sign(order[j] - order[i])) for i, j in pairs if years[i] != years[j])

    reached = [abs(s_of(order)) >= abs(result.s) for order in itertools.permutations(values)]
    assert result.method == "exact"
    assert result.p_value == pytest.approx(np.mean(reached))


def test_ties_on_both_sides_use_the_normal_curve_and_refuse_exact() -> None:
    years, values = [1, 1, 2, 3], [5, 6, 6, 7]
    assert mann_kendall(years, values).method == "normal"
    with pytest.raises(ValueError, match="exact"):
        mann_kendall(years, values, method="exact")
    with pytest.raises(ValueError, match="exact"):
        sen_slope(years, values, limits="exact")


def test_too_few_values_are_refused_with_a_code() -> None:
    with pytest.raises(InsufficientData, match="fewer than 3") as caught:
        mann_kendall([1, 2, 3], [1, math.nan, 3])
    assert caught.value.code == "too_few_years"
    with pytest.raises(InsufficientData) as caught:
        sen_slope([2001, 2001, 2001], [1, 2, 3])
    assert caught.value.code == "one_year_only"


@pytest.mark.parametrize(
    ("years", "values", "named"),
    [
        ([1, 2, 3], [1, math.inf, 3], r"values\[1\] is infinite"),
        ([1, -math.inf, 3], [1, 2, 3], r"years\[1\] is infinite"),
        ([1, 2, 3], [1, 2], "same length, got 3 and 2"),
        ([[1, 2, 3]], [1, 2, 3], "years must have 1 dimension"),
        ([1, 2, 3], ["a", "b", "c"], "values must be numbers"),
    ],
)
def test_wrong_input_is_refused_by_name(years: list, values: list, named: str) -> None:
    for call in (mann_kendall, sen_slope):
        with pytest.raises(ValueError, match=named):
            call(years, values)


def test_unknown_words_and_confidences_are_refused() -> None:
    with pytest.raises(ValueError, match="method must be one of"):
        mann_kendall([1, 2, 3], [1, 2, 3], method="bayes")
    with pytest.raises(ValueError, match="limits must be one of"):
        sen_slope([1, 2, 3], [1, 2, 3], limits="wide")
    with pytest.raises(ValueError, match="confidence must lie between"):
        sen_slope([1, 2, 3], [1, 2, 3], confidence=95)


def test_a_short_series_says_that_it_cannot_be_significant() -> None:
    assert mann_kendall(range(4), range(4)).cautions == ("cannot_reach_0.05",)
    assert mann_kendall(range(5), range(5)).cautions == ()


def test_years_alike_with_their_neighbours_carry_a_caution() -> None:
    wave = [math.sin(i / 3) for i in range(20)]
    assert mann_kendall(range(20), wave).cautions == ("neighbours_alike",)
    assert sen_slope(range(20), wave).cautions == ("neighbours_alike",)


@given(SERIES.filter(enough))
def test_turning_the_order_round_turns_the_sign(values: list[float]) -> None:
    years = list(range(len(values)))
    forward, backward = mann_kendall(years, values), mann_kendall(years, values[::-1])
    assert (forward.s, forward.p_value) == (-backward.s, backward.p_value)
    assert sen_slope(years, values).slope == -sen_slope(years, values[::-1]).slope


@given(SERIES.filter(enough))
def test_a_monotone_change_of_scale_keeps_the_test(values: list[float]) -> None:
    years = range(len(values))
    changed = [v**3 + v for v in values]
    assert mann_kendall(years, values).s == mann_kendall(years, changed).s
    assert mann_kendall(years, values).p_value == mann_kendall(years, changed).p_value


@given(SERIES.filter(enough), st.integers(-50, 50), st.sampled_from([0.25, 0.5, 2.0, 8.0]))
def test_the_slope_follows_shift_and_scale(values: list[float], shift: int, scale: float) -> None:
    years = range(len(values))
    plain = sen_slope(years, values)
    moved = sen_slope(years, [v + shift for v in values])
    wider = sen_slope(years, [v * scale for v in values])
    assert moved.slope == plain.slope
    assert (wider.slope, wider.lower, wider.upper) == (
        plain.slope * scale,
        plain.lower * scale,
        plain.upper * scale,
    )


@given(SERIES.filter(enough))
def test_missing_values_only_remove(values: list[float]) -> None:
    years = list(range(2000, 2000 + len(values)))
    kept = [(t, v) for t, v in zip(years, values, strict=True) if not math.isnan(v)]
    with_gaps, without = mann_kendall(years, values), mann_kendall(*zip(*kept, strict=True))
    assert (with_gaps.s, with_gaps.n, with_gaps.p_value) == (without.s, without.n, without.p_value)
    assert with_gaps.n_missing == len(values) - len(kept)
    assert sen_slope(years, values).slope == sen_slope(*zip(*kept, strict=True)).slope


@given(SERIES.filter(enough))
def test_limits_hold_the_slope_and_p_stays_a_chance(values: list[float]) -> None:
    result = sen_slope(range(len(values)), values)
    assert result.lower <= result.slope <= result.upper
    assert 0 < mann_kendall(range(len(values)), values).p_value <= 1


@settings(max_examples=60)
@given(st.lists(EIGHTHS, min_size=5, max_size=12, unique=True))
def test_a_limit_lies_where_the_test_stops_rejecting(values: list[float]) -> None:
    years = np.arange(len(values), dtype=float)
    result = sen_slope(years, values)
    assume(result.limits_available and result.upper > result.lower)
    inside = (result.lower + result.upper) / 2
    just_out = result.upper + (result.upper - result.lower) * 1e-6
    assert mann_kendall(years, np.array(values) - inside * years).p_value > 0.05
    assert mann_kendall(years, np.array(values) - just_out * years).p_value <= 0.05 + 1e-12
