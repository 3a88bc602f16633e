"""The batch trend call equals the single calls, field by field."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from trends.stats.errors import InsufficientData
from trends.stats.kendall import mann_kendall, sen_slope, trend_batch

TEST_FIELDS = [
    *("n", "s", "var_s", "z", "p_value", "tau", "method", "direction_confidence"),
    *("n_pairs", "n_tied_pairs", "tied_share", "n_missing", "cautions"),
]
SLOPE_FIELDS = ["slope", "intercept", "lower", "upper", "confidence_held", "limits", "limits_available"]


def same(one: object, other: object) -> bool:
    return one == other or (isinstance(one, float) and math.isnan(one) and math.isnan(float(other)))


def assert_equal_to_single_calls(years: np.ndarray, table: np.ndarray, method: str = "auto") -> None:
    batch = trend_batch(years, table, method=method)
    for i, row in enumerate(table):
        if np.count_nonzero(~np.isnan(row)) < 3:
            assert not batch.usable[i]
            assert math.isnan(batch.p_value[i]) and math.isnan(batch.slope[i])
            continue
        test, slope = mann_kendall(years, row, method=method), sen_slope(years, row)
        for fields, single in ((TEST_FIELDS, test), (SLOPE_FIELDS, slope)):
            for field in fields:
                assert same(getattr(single, field), getattr(batch, field)[i]), (i, field)


def with_gaps(shape: tuple[int, int], share: float, decimals: int, seed: int) -> np.ndarray:
    random = np.random.default_rng(seed)
    table = np.round(random.normal(5, 1.5, shape), decimals)
    table[random.random(shape) < share] = np.nan
    return table


@pytest.mark.parametrize("columns", [3, 4, 5, 12, 20, 21, 33])
@pytest.mark.parametrize("decimals", [0, 1, 6], ids=["many ties", "some ties", "no ties"])
def test_batch_equals_single_calls(columns: int, decimals: int) -> None:
    table = with_gaps((60, columns), 0.15, decimals, seed=columns)
    assert_equal_to_single_calls(np.arange(1990, 1990 + columns), table)


@pytest.mark.parametrize("method", ["exact", "normal"])
def test_batch_equals_single_calls_for_a_method_asked_for(method: str) -> None:
    assert_equal_to_single_calls(np.arange(26), with_gaps((40, 26), 0.1, 1, seed=3), method)


def test_batch_takes_years_with_gaps_and_in_any_order() -> None:
    years = np.array([2010, 2001, 2003, 2007, 2008, 2020, 2002], dtype=float)
    assert_equal_to_single_calls(years, with_gaps((50, 7), 0.1, 1, seed=4))


@settings(max_examples=60, deadline=None)
@given(
    arrays(
        np.float64,
        st.tuples(st.integers(1, 5), st.integers(3, 12)),
        elements=st.one_of(st.integers(-3, 3).map(float), st.just(math.nan)),
    )
)
def test_batch_equals_single_calls_on_any_small_table(table: np.ndarray) -> None:
    assert_equal_to_single_calls(np.arange(table.shape[1]), table)


def test_a_row_with_too_few_values_is_marked_where_the_single_call_refuses() -> None:
    batch = trend_batch([1, 2, 3], [[1, math.nan, 3], [1, 2, 3]])
    assert batch.usable.tolist() == [False, True]
    assert batch.method.tolist() == ["none", "exact"]
    with pytest.raises(InsufficientData):
        mann_kendall([1, 2, 3], [1, math.nan, 3])


def test_confidence_changes_the_limits() -> None:
    table = with_gaps((5, 15), 0.0, 3, seed=6)
    assert np.all(trend_batch(range(15), table, confidence=0.8).upper < trend_batch(range(15), table).upper)


def test_an_empty_table_gives_empty_arrays() -> None:
    assert trend_batch([1, 2, 3], np.empty((0, 3))).s.size == 0


@pytest.mark.parametrize(
    ("years", "table", "named"),
    [
        ([1, 1, 2], [[1, 2, 3]], "years holds 1 more than once"),
        ([1, 2], [[1, 2, 3]], "years has 2 entries but values has 3 columns"),
        ([1, math.nan, 3], [[1, 2, 3]], r"years\[1\] is missing"),
        ([1, 2, 3], [[1, math.inf, 3]], r"values\[0, 1\] is infinite"),
        ([1, 2, 3], [1, 2, 3], "values must have 2 dimension"),
    ],
)
def test_wrong_input_is_refused_by_name(years: list, table: list, named: str) -> None:
    with pytest.raises(ValueError, match=named):
        trend_batch(years, table)


def test_series_in_the_thousands_cross_the_blocks_unharmed() -> None:
    table = with_gaps((5000, 8), 0.1, 1, seed=9)
    batch = trend_batch(range(8), table)
    for i in (0, 2047, 2048, 2142, 2143, 4999):
        assert batch.s[i] == mann_kendall(range(8), table[i]).s
        assert batch.upper[i] == sen_slope(range(8), table[i]).upper
