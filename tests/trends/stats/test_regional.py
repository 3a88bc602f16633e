"""Stations or seasons together: rules, properties and a plain second computation."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trends.stats.errors import InsufficientData
from trends.stats.kendall import mann_kendall, regional_kendall, seasonal_kendall

YEARS = list(range(2001, 2013))


def creek_table(seed: int = 1, stations: int = 4, shared: float = 0.0) -> np.ndarray:
    random = np.random.default_rng(seed)
    table = random.normal(size=(stations, len(YEARS))) + shared * random.normal(size=len(YEARS))
    table[random.random(table.shape) < 0.1] = np.nan
    return np.round(table, 1)


def test_the_sum_of_the_stations_is_the_regional_s() -> None:
    table = creek_table()
    result = regional_kendall(YEARS, table)
    singles = [mann_kendall(YEARS, row) for row in table]
    assert result.s == sum(single.s for single in singles)
    assert result.var_s == pytest.approx(sum(single.var_s for single in singles))
    assert result.station_s == tuple(single.s for single in singles)


def test_pairs_are_formed_within_a_station_only() -> None:
    # Two flat stations on very different levels: no slope may arise between them.
    result = regional_kendall([1, 2, 3], [[1, 1, 1], [100, 100, 100]])
    assert (result.s, result.slope, result.p_value, result.n_pairs) == (0, 0.0, 1.0, 6)


def test_directions_are_compared_without_continuity_correction() -> None:
    # van Belle & Hughes 1984: chi2_total - K * mean(Z)^2, worked out by hand for two stations.
    result = regional_kendall(range(6), [[1, 2, 3, 4, 5, 6], [6, 5, 4, 3, 2, 1]])
    z = 15 / math.sqrt(6 * 5 * 17 / 18)
    assert result.heterogeneity_chi2 == pytest.approx(2 * z**2)
    assert result.heterogeneity_df == 1
    assert result.heterogeneity_p < 0.001
    assert result.p_value == 1.0


def test_one_station_has_nothing_to_be_compared_with() -> None:
    result = regional_kendall(range(6), [[1, 3, 2, 5, 4, 6]])
    assert math.isnan(result.heterogeneity_p)
    assert result.heterogeneity_df == 0


def test_a_station_that_never_changes_is_left_out_of_the_comparison() -> None:
    with_flat = regional_kendall(range(6), [[1, 3, 2, 5, 4, 6], [6, 5, 3, 4, 1, 2], [7] * 6])
    without = regional_kendall(range(6), [[1, 3, 2, 5, 4, 6], [6, 5, 3, 4, 1, 2]])
    assert with_flat.heterogeneity_df == without.heterogeneity_df == 1
    assert with_flat.heterogeneity_chi2 == pytest.approx(without.heterogeneity_chi2)
    assert (with_flat.n_stations, without.n_stations) == (3, 2)


def test_a_station_with_one_year_adds_nothing_and_is_not_counted() -> None:
    nan = math.nan
    result = regional_kendall([1, 2, 3, 4], [[5, 6, 6, 8], [nan, 9, nan, nan]])
    assert (result.s, result.n_stations, result.n_stations_given) == (5, 1, 2)


def plain_covariance(table: np.ndarray) -> float:
    """Covariances summed pair by pair from the printed formula."""
    n = table.shape[1]
    total = 0.0
    for g, h in itertools.permutations(range(table.shape[0]), 2):
        ranks = []
        for row in (table[g], table[h]):
            present = [v for v in row if not math.isnan(v)]
            ranks.append(
                [
                    (len(present) + 1) / 2
                    if math.isnan(v)
                    else sum(w < v for w in present) + (sum(w == v for w in present) + 1) / 2
                    for v in row
                ]
            )
        concordant = 0.0
        for i, j in itertools.combinations(range(n), 2):
            product = (table[g][j] - table[g][i]) * (table[h][j] - table[h][i])
            concordant += 0.0 if math.isnan(product) else float(np.sign(product))
        n_g, n_h = (int(np.count_nonzero(~np.isnan(table[r]))) for r in (g, h))
        ranked = sum(a * b for a, b in zip(*ranks, strict=True))
        total += (concordant + 4 * ranked - n * (n_g + 1) * (n_h + 1)) / 3
    return total


def test_covariances_equal_the_printed_formula_pair_by_pair() -> None:
    table = creek_table(seed=3, shared=1.0)
    independent = regional_kendall(YEARS, table)
    corrected = regional_kendall(YEARS, table, correct_for_correlation=True)
    assert corrected.var_s - independent.var_s == pytest.approx(plain_covariance(table))
    assert corrected.s == independent.s
    assert corrected.p_value > independent.p_value


def test_stations_that_move_together_are_pointed_out() -> None:
    assert "stations_move_together" in regional_kendall(YEARS, creek_table(3, 6, shared=2.0)).cautions
    assert "stations_move_together" not in regional_kendall(YEARS, creek_table(4, 3)).cautions


def test_few_years_and_unlike_spans_are_pointed_out() -> None:
    nan = math.nan
    short = regional_kendall(
        range(8), [[1, 2, 3, 4, 5, 6, 7, 8], [nan] * 5 + [1, 2, 3]], correct_for_correlation=True
    )
    assert set(short.cautions) >= {"few_years_for_covariance", "spans_differ"}


@given(st.permutations(range(4)), st.booleans())
def test_the_order_of_the_stations_changes_nothing(order: list[int], correlated: bool) -> None:
    table = creek_table(seed=5, shared=0.5)
    one = regional_kendall(YEARS, table, correct_for_correlation=correlated)
    other = regional_kendall(YEARS, table[order], correct_for_correlation=correlated)
    assert one.s == other.s
    assert one.var_s == pytest.approx(other.var_s)
    assert (one.slope, one.n_pairs) == (other.slope, other.n_pairs)
    assert one.heterogeneity_chi2 == pytest.approx(other.heterogeneity_chi2)


def test_confidence_changes_the_limits() -> None:
    table = creek_table()
    assert regional_kendall(YEARS, table, confidence=0.5).upper < regional_kendall(YEARS, table).upper


def test_seasons_are_the_stations_of_one_place() -> None:
    table = creek_table(seed=6, stations=2)
    years = np.repeat(YEARS, 2)
    seasons = np.tile(["spring", "autumn"], len(YEARS))
    seasonal = seasonal_kendall(years, seasons, table.T.ravel())
    regional = regional_kendall(YEARS, table)
    assert seasonal.labels == ("spring", "autumn")
    assert (seasonal.s, seasonal.var_s, seasonal.p_value) == (regional.s, regional.var_s, regional.p_value)
    corrected = seasonal_kendall(years, seasons, table.T.ravel(), correct_for_correlation=True)
    assert corrected.var_s != seasonal.var_s


def test_two_values_for_one_season_of_a_year_are_refused() -> None:
    with pytest.raises(ValueError, match="two values for season a of year 2001"):
        seasonal_kendall([2001, 2001, 2002], ["a", "a", "a"], [1, 2, 3])


def test_too_few_years_everywhere_is_refused_with_a_code() -> None:
    with pytest.raises(InsufficientData) as caught:
        regional_kendall([1, 2], [[1, 2], [3, 4]])
    assert caught.value.code == "too_few_years"
    with pytest.raises(InsufficientData):
        seasonal_kendall([], [], [])


def test_wrong_shapes_are_refused_by_name() -> None:
    with pytest.raises(ValueError, match="same length, got 2, 1 and 2"):
        seasonal_kendall([1, 2], ["a"], [1, 2])
    with pytest.raises(ValueError, match="labels has 1 entries"):
        regional_kendall([1, 2, 3], [[1, 2, 3], [4, 5, 6]], labels=["a"])
    with pytest.raises(ValueError, match="more than once"):
        regional_kendall([1, 1, 3], [[1, 2, 3]])
