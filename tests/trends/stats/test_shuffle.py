"""Shuffling whole years: the regional test for short records."""

import numpy as np
import pytest

from trends.stats.errors import InsufficientData
from trends.stats.kendall import mann_kendall, regional_kendall, sen_slope
from trends.stats.shuffle import shuffled_years


@pytest.mark.parametrize("n", [4, 5, 6, 7, 8])
def test_one_station_gives_the_exact_mann_kendall_test(n: int) -> None:
    """Published reference: the exact null of S (Kendall 1975), by the other implementation here."""
    values = np.random.default_rng(n).normal(size=n)
    shuffled = shuffled_years(range(n), [values])
    assert shuffled.all_orders
    assert shuffled.p_value == pytest.approx(mann_kendall(range(n), values).p_value, rel=1e-12)


@pytest.mark.parametrize("n", [5, 7, 8])
def test_one_station_has_the_exact_limits_of_the_slope(n: int) -> None:
    values = np.random.default_rng(n + 10).normal(size=n)
    shuffled, single = shuffled_years(range(n), [values]), sen_slope(range(n), values, limits="exact")
    assert (shuffled.lower, shuffled.upper) == pytest.approx((single.lower, single.upper))


def test_ties_are_kept_as_they_are() -> None:
    values = [1.0, 1.0, 2.0, 2.0, 3.0, 1.0]
    assert shuffled_years(range(6), [values]).p_value == pytest.approx(
        mann_kendall(range(6), values, method="exact").p_value
    )


def test_four_years_never_reach_one_in_twenty() -> None:
    """2 / 4! = 0.083: arithmetic."""
    assert shuffled_years(range(4), [[1, 2, 3, 4], [5, 6, 7, 8]]).p_value == pytest.approx(2 / 24)


def test_a_second_station_that_copies_the_first_adds_no_proof() -> None:
    values = np.random.default_rng(3).normal(size=7)
    once, twice = shuffled_years(range(7), [values]), shuffled_years(range(7), [values, values])
    assert twice.p_value == pytest.approx(once.p_value)
    assert twice.s == 2 * once.s


def test_a_missing_value_moves_with_its_year() -> None:
    table = np.array([[1.0, 2.0, np.nan, 4.0, 5.0], [2.0, np.nan, 3.0, 5.0, 4.0]])
    assert shuffled_years(range(5), table).s == regional_kendall(range(5), table).s


def test_years_without_any_value_are_left_out() -> None:
    table = [[1.0, np.nan, 3.0, 2.0, 5.0]]
    assert shuffled_years(range(5), table).n_years == 4


def test_stations_that_share_wet_and_dry_years_raise_no_more_false_alarms_than_named() -> None:
    rng = np.random.default_rng(20)
    alarms = 0
    for _ in range(300):
        shared = rng.normal(size=6)
        table = np.sqrt(0.6) * shared + np.sqrt(0.4) * rng.normal(size=(4, 6))
        alarms += shuffled_years(range(6), table).p_value <= 0.05
    # 300 trials at 5 %: more than 26 would be three standard errors too many.
    assert alarms <= 26


def test_random_orders_are_the_same_every_time() -> None:
    values = np.random.default_rng(5).normal(size=(3, 10))
    first, again = shuffled_years(range(10), values), shuffled_years(range(10), values)
    assert not first.all_orders
    assert first == again


def test_fewer_than_three_years_are_refused() -> None:
    with pytest.raises(InsufficientData) as refused:
        shuffled_years(range(3), [[1.0, 2.0, np.nan]])
    assert refused.value.code == "too_few_years"
