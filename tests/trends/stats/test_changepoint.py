"""Pettitt's change of level."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trends.stats.changepoint import pettitt
from trends.stats.errors import InsufficientData

VALUES = st.lists(st.integers(-5, 5), min_size=3, max_size=12)


def plain_scores(values: list[float]) -> list[int]:
    """U_k pair by pair; the slow second implementation."""
    n = len(values)
    return [
        sum(int(np.sign(values[i] - values[j])) for i in range(k) for j in range(k, n)) for k in range(1, n)
    ]


@given(VALUES)
def test_the_statistic_agrees_with_a_plain_version(values: list[int]) -> None:
    scores = plain_scores(values)
    result = pettitt(values, method="approximate")
    assert result.k == max(abs(u) for u in scores)
    if result.k:
        at = result.change_after_index
        assert abs(scores[at]) == result.k
        assert result.direction == -np.sign(scores[at])
    else:
        assert (result.change_after_index, result.direction) == (None, 0)


def test_shuffles_come_near_the_chance_over_all_orders() -> None:
    values = [1.0, 2.0, 1.5, 3.0, 4.5, 4.0, 6.0]
    observed = max(abs(u) for u in plain_scores(values))
    reached = [
        max(abs(u) for u in plain_scores(list(order))) >= observed for order in itertools.permutations(values)
    ]
    result = pettitt(values)
    assert result.method == "permutation"
    assert result.p_value == pytest.approx(np.mean(reached), abs=0.01)


def test_positions_count_the_missing_years() -> None:
    nan = math.nan
    result = pettitt([1, nan, 2, 1, nan, 8, 9, 8])
    assert (result.change_after_index, result.n, result.n_missing) == (3, 6, 2)
    assert (result.median_before, result.median_after) == (1, 8)


def test_shuffles_below_thirty_values_and_the_approximation_from_thirty() -> None:
    assert pettitt(range(29)).method == "permutation"
    assert pettitt(range(30)).method == "approximate"
    assert pettitt(range(12), method="approximate").p_value != pettitt(range(12)).p_value


def test_the_same_numbers_give_the_same_answer() -> None:
    values = np.random.default_rng(3).normal(size=15)
    assert pettitt(values) == pettitt(values)
    assert pettitt(values).p_value != pettitt(values, seed=4).p_value


@given(VALUES)
def test_turning_the_order_round_keeps_the_statistic(values: list[int]) -> None:
    assert pettitt(values, method="approximate").k == pettitt(values[::-1], method="approximate").k


def test_a_constant_series_has_no_change() -> None:
    result = pettitt([4, 4, 4, 4])
    assert (result.k, result.change_after_index, result.p_value) == (0, None, 1.0)
    assert math.isnan(result.median_before)


def test_several_positions_with_the_same_score_are_pointed_out() -> None:
    assert pettitt([1, 2, 2, 1]).cautions == ("tied_positions",)


def test_a_steady_trend_gives_a_change_point_too() -> None:
    # Why the two must not be shown as separate findings.
    assert pettitt(range(20)).p_value < 0.001


def test_too_few_values_are_refused_with_a_code() -> None:
    with pytest.raises(InsufficientData) as caught:
        pettitt([1, math.nan, 2])
    assert caught.value.code == "too_few_years"
    with pytest.raises(ValueError, match="infinite"):
        pettitt([1, 2, math.inf])
