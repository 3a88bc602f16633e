"""Removal estimates: refusals, properties, the batch, unequal effort, a slow second search."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from trends.stats.removal import (
    REASONS,
    RemovalEstimate,
    removal_batch,
    removal_estimate,
    removal_total,
)

CATCHES = st.lists(st.integers(0, 60), min_size=2, max_size=5)
FIELDS = [name for name in RemovalEstimate.__dataclass_fields__ if name != "confidence"]


def log_likelihood(n: int, catches: list[int]) -> float:
    """The likelihood of N, written out pass by pass."""
    total, k = sum(catches), len(catches)
    x = sum((k - i) * c for i, c in enumerate(catches, start=1))
    p = total / (k * n - x)
    missed = k * n - x - total
    value = math.lgamma(n + 1) - math.lgamma(n - total + 1) + total * math.log(p)
    return value + (missed * math.log(1 - p) if missed else 0.0)


def plain_limits(catches: list[int], far: int = 4000) -> tuple[float, float]:
    """Profile limits by trying every whole number up to ``far``."""
    total, k = sum(catches), len(catches)
    x = sum((k - i) * c for i, c in enumerate(catches, start=1))
    limit = total * math.log(total / k) - total
    values = {n: log_likelihood(n, catches) for n in range(total, far)}
    finite = x > total * (k - 1) / 2
    highest = max(limit, *values.values()) if finite else limit
    inside = [n for n, v in values.items() if 2 * (highest - v) <= 3.841459]
    return min(inside), math.inf if 2 * (highest - limit) <= 3.841459 else max(inside)


def plain_weighted(catches: list[int]) -> int:
    """Carle & Strub's number by counting up from the catch."""
    total, k = sum(catches), len(catches)
    x = sum((k - i) * c for i, c in enumerate(catches, start=1))
    n = total
    while True:
        ratio = (n + 1) / (n - total + 1)
        for i in range(1, k + 1):
            ratio *= (k * n - x - total + 1 + k - i) / (k * n - x + 2 + k - i)
        if ratio <= 1:
            return n
        n += 1


@pytest.mark.parametrize("seed", range(40))
def test_limits_agree_with_trying_every_number(seed: int) -> None:
    random = np.random.default_rng(seed)
    left, catches = int(random.integers(3, 120)), []
    for _ in range(int(random.integers(2, 5))):
        catches.append(int(random.binomial(left, random.uniform(0.3, 0.8))))
        left -= catches[-1]
    if sum(catches) == 0:
        catches[0] = 1
    result = removal_estimate(catches)
    low, high = plain_limits(catches)
    assert result.lower == low
    assert result.upper == high or (high == 3999 and result.upper > high)


@pytest.mark.parametrize("catches", [[3000, 900], [5000, 2500], [6000, 2000, 700], [20_000, 9000]])
def test_limits_of_thousands_of_fish_agree_with_trying_every_number(catches: list[int]) -> None:
    # A shoal: the interval is narrow beside the fish that were missed, and must not be leapt over.
    result = removal_estimate(catches)
    assert (result.lower, result.upper) == plain_limits(catches, far=sum(catches) * 2)


@pytest.mark.parametrize(("first", "passes"), [(1_000_000, 3), (1_000_000_000, 3), (10**13, 2)])
def test_no_number_of_fish_is_too_large(first: int, passes: int) -> None:
    # Nine tenths are caught each time, so a ninth more than the first catch was there.
    result = removal_estimate([first // 10**i for i in range(passes)])
    assert result.n_hat == pytest.approx(first / 0.9)
    assert result.total_catch < result.lower < result.n_hat < result.upper < result.n_hat * 1.01


@given(CATCHES.filter(lambda c: sum(c) > 0))
def test_the_weighted_number_agrees_with_counting_up(catches: list[int]) -> None:
    assert removal_estimate(catches, method="weighted").n_hat == plain_weighted(catches)


@settings(max_examples=40)
@given(CATCHES)
def test_no_number_lies_below_the_catch(catches: list[int]) -> None:
    for method in ("auto", "maximum-likelihood", "weighted"):
        result = removal_estimate(catches, method=method)
        assert result.total_catch == sum(catches)
        assert result.lower >= result.total_catch
        assert result.upper >= result.lower
        if not math.isnan(result.n_hat):
            assert result.n_hat >= result.total_catch - 1e-9


@given(CATCHES.filter(lambda c: sum(c) > 0))
def test_an_estimate_exists_exactly_when_the_catch_fell_enough(catches: list[int]) -> None:
    k = len(catches)
    x = sum((k - i) * c for i, c in enumerate(catches, start=1))
    result = removal_estimate(catches)
    assert result.usable == (x > sum(catches) * (k - 1) / 2)
    assert bool(result.reason) == (not result.usable)
    assert math.isnan(result.n_hat) == (not result.usable)


@settings(max_examples=30)
@given(st.lists(CATCHES, min_size=1, max_size=6), st.sampled_from(["auto", "weighted", "maximum-likelihood"]))
def test_batch_equals_single_calls(rows: list[list[int]], method: str) -> None:
    width = max(len(row) for row in rows)
    table = [row + [math.nan] * (width - len(row)) for row in rows]
    batch = removal_batch(table, method=method)
    for i, row in enumerate(rows):
        single = removal_estimate(row, method=method)
        for field in FIELDS:
            one, other = getattr(single, field), getattr(batch, field)[i]
            assert one == other or (math.isnan(one) and math.isnan(other)), field


def test_batch_equals_single_calls_among_thousands() -> None:
    random = np.random.default_rng(8)
    table = random.binomial([60, 30, 15], 0.5, size=(3000, 3)).astype(float)
    batch = removal_batch(table)
    for i in range(0, 3000, 211):
        single = removal_estimate(table[i])
        assert (single.n_hat, single.lower, single.upper, single.fit_p) == (
            batch.n_hat[i],
            batch.lower[i],
            batch.upper[i],
            batch.fit_p[i],
        )


def test_two_passes_by_likelihood_are_the_two_pass_formula() -> None:
    one, other = (removal_estimate([80, 30], method=m) for m in ("two-pass", "maximum-likelihood"))
    assert one.n_hat == pytest.approx(other.n_hat)
    assert one.standard_error == pytest.approx(other.standard_error)
    assert (one.method, other.method) == ("two-pass", "maximum-likelihood")
    assert removal_estimate([80, 30]).method == "two-pass"
    assert removal_estimate([80, 30, 10]).method == "maximum-likelihood"


@pytest.mark.parametrize("p", [0.05, 0.3, 0.6, 0.95])
@pytest.mark.parametrize("k", [3, 4, 6])
def test_expected_catches_give_back_their_number(p: float, k: int) -> None:
    # Catches equal to their expectation have N and p as their estimate, but for rounding.
    n = 1_000_000
    catches = [round(n * p * (1 - p) ** i) for i in range(k)]
    result = removal_estimate(catches)
    assert result.n_hat == pytest.approx(n, rel=1e-3)
    assert result.capture_probability == pytest.approx(p, rel=1e-3)


def test_one_pass_is_a_count() -> None:
    result = removal_estimate([12])
    assert (result.usable, result.reason_code, result.total_catch) == (False, "one_pass", 12)
    assert (result.lower, result.upper, result.method) == (12, math.inf, "none")
    assert result.reason == REASONS["one_pass"]


def test_no_fish_leaves_everything_undefined_but_the_catch() -> None:
    result = removal_estimate([0, 0, 0])
    assert (result.usable, result.reason_code, result.total_catch, result.lower) == (False, "no_fish", 0, 0)
    assert math.isnan(result.n_hat) and math.isnan(result.standard_error)
    assert math.isnan(result.capture_probability)


def test_a_number_from_the_weights_alone_is_given_but_not_usable() -> None:
    result = removal_estimate([7, 7], method="weighted")
    assert (result.n_hat, result.usable, result.reason_code) == (20, False, "from_weights")
    assert removal_estimate([40, 10], method="weighted").usable


def test_all_fish_in_the_first_pass_is_marked() -> None:
    result = removal_estimate([10, 0])
    assert (result.n_hat, result.standard_error, result.capture_probability) == (10, 0, 1)
    assert "all_in_first_pass" in result.cautions
    assert result.capture_lower < 1


def test_cautions_follow_the_published_rules() -> None:
    # Seber 1982, from memory: N p^3 > 16 q^2 (1 + q), the same as a CV under 25 %.
    for catches in ([200, 120], [60, 40], [40, 10], [300, 100]):
        result = removal_estimate(catches)
        p = result.capture_probability
        rule = result.n_hat * p**3 > 16 * (1 - p) ** 2 * (2 - p)
        assert ("wide" not in result.cautions) == rule
    assert "small_number" in removal_estimate([40, 10]).cautions
    assert "small_number" not in removal_estimate([200, 50]).cautions
    assert "low_capture_probability" in removal_estimate([100, 80]).cautions
    assert "poor_fit" in removal_estimate([100, 10, 40]).cautions
    assert "later_pass_not_smaller" in removal_estimate([20, 25, 18]).cautions
    assert "later_pass_not_smaller" not in removal_estimate([60, 25, 10, 0, 0]).cautions
    assert "interval_may_be_narrow" in removal_estimate([10, 4, 1]).cautions


def test_confidence_changes_every_limit() -> None:
    wide, narrow = removal_estimate([38, 26, 12]), removal_estimate([38, 26, 12], confidence=0.8)
    assert wide.lower < narrow.lower and wide.upper > narrow.upper
    assert wide.capture_lower < narrow.capture_lower and wide.capture_upper > narrow.capture_upper


def test_capture_limits_hold_the_estimate() -> None:
    for catches in ([80, 30], [38, 26, 12], [244, 86, 43], [10, 2, 1, 0]):
        result = removal_estimate(catches)
        assert result.capture_lower < result.capture_probability < result.capture_upper


def test_equal_efforts_change_nothing() -> None:
    assert removal_estimate([38, 26, 12], effort=[900, 900, 900]) == removal_estimate([38, 26, 12])


def test_nearly_equal_efforts_give_nearly_the_same() -> None:
    plain = removal_estimate([38, 26, 12])
    result = removal_estimate([38, 26, 12], effort=[900, 900.001, 900])
    assert result.n_hat == pytest.approx(plain.n_hat, rel=1e-4)
    assert result.standard_error == pytest.approx(plain.standard_error, rel=1e-4)
    assert result.capture_standard_error == pytest.approx(plain.capture_standard_error, rel=1e-4)
    assert (result.lower, result.upper) == (plain.lower, plain.upper)
    assert result.fit_chi2 == pytest.approx(plain.fit_chi2, rel=1e-3)


def test_unequal_effort_agrees_with_a_general_minimiser() -> None:
    catches, effort = np.array([100, 60, 20]), np.array([1.0, 1.0, 0.5]) / (2.5 / 3)

    def loss(parameters: np.ndarray) -> float:
        # Catches given their total: multinomial over the passes.
        chance = -np.expm1(-math.exp(parameters[0]) * effort)
        alive = np.concatenate([[1.0], np.cumprod(1 - chance)[:-1]])
        return -float(catches @ np.log(chance * alive / (1 - np.prod(1 - chance))))

    best = minimize(loss, [math.log(0.4)], method="Nelder-Mead", options={"xatol": 1e-10, "fatol": 1e-12})
    rate = math.exp(best.x[0])
    result = removal_estimate(catches, effort=[1, 1, 0.5])
    assert result.n_hat == pytest.approx(180 / -math.expm1(-rate * effort.sum()), rel=1e-5)
    assert result.lower <= result.n_hat <= result.upper


def test_a_longer_second_pass_with_the_same_catch_is_a_decline() -> None:
    assert not removal_estimate([10, 10]).usable
    assert removal_estimate([10, 10], effort=[600, 900]).usable
    assert removal_estimate([10, 10], effort=[900, 600]).reason_code == "no_decline"


@pytest.mark.parametrize(
    ("catches", "options", "named"),
    [
        ([10, -1], {}, "pass 2 of row 0 must be a whole number"),
        ([10, 2.5], {}, "pass 2 of row 0 must be a whole number"),
        ([10, math.nan, 3], {}, "misses a pass before one that was made"),
        ([], {}, "at least one pass"),
        ([10, math.inf], {}, "infinite"),
        ([10, 5, 2], {"method": "two-pass"}, "exactly 2 passes, got 3"),
        ([10, 5], {"method": "guess"}, "method must be one of"),
        ([10, 5], {"effort": [1, 2], "method": "weighted"}, "needs the same effort"),
        ([10, 5], {"effort": [1, 2, 3]}, "effort has 3 entries for 2 passes"),
        ([10, 5], {"effort": [1, 0]}, "above 0"),
        ([10, 5], {"confidence": 95}, "confidence must lie between"),
    ],
)
def test_wrong_input_is_refused_by_name(catches: list, options: dict, named: str) -> None:
    with pytest.raises(ValueError, match=named):
        removal_estimate(catches, **options)


def test_a_pass_that_was_not_made_may_be_missing_at_the_end() -> None:
    one, other = removal_estimate([40, 10, math.nan]), removal_estimate([40, 10])
    assert (one.n_passes, one.n_hat, one.lower, one.upper) == (2, other.n_hat, other.lower, other.upper)


def test_total_by_taxon_adds_estimates_and_says_what_is_missing() -> None:
    total = removal_total([[80, 30], [40, 10], [3, 3], [0, 0]], labels=["a", "b", "c", "d"])
    assert total.separate == pytest.approx(128 + 53.333333 + 6)
    assert total.separate_standard_error == pytest.approx(math.hypot(10.068565, 3.1426968))
    assert total.without_estimate == ("c",)
    assert not total.complete
    assert total.separate_upper == math.inf
    assert total.pooled.total_catch == total.total_catch == 166


def test_pooling_taxa_of_unlike_capture_leans_low() -> None:
    # 1000 fish with p = 0.8 and 1000 with p = 0.3, three passes, catches as expected.
    rows = [[round(1000 * p * (1 - p) ** i) for i in range(3)] for p in (0.8, 0.3)]
    total = removal_total(rows)
    assert total.complete
    assert total.pooled.n_hat < 1800 < total.separate


def test_a_total_without_any_estimate_is_the_catch() -> None:
    total = removal_total([[3, 3], [2, 5]])
    assert (total.separate, total.separate_lower, total.separate_upper) == (13, 13, math.inf)
    assert math.isnan(removal_total([[0, 0]]).separate)
