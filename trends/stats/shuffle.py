"""Regional trend for short records: whole years are shuffled, so that stations stay tied together."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import permutations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trends.stats._checks import FloatArray, calendar, finite_or_missing, share
from trends.stats._sen import at_rank, exact_lower_rank, pair_slopes
from trends.stats.errors import InsufficientData

# Up to this many years every order is tried (8! = 40 320); beyond, as many random ones as named.
ALL_ORDERS_UP_TO = 8
RANDOM_ORDERS = 19_999
SEED = 20_260_101


@dataclass(frozen=True, slots=True, kw_only=True)
class ShuffledYears:
    """Outcome of shuffling years; carries no verdict."""

    s: int  # sum over the stations, as in the regional test
    p_value: float  # two-sided: share of orders with |S| at least as large
    direction_confidence: float  # 1 - p/2
    slope: float  # median of all within-station slopes [unit of the values per year]
    lower: float  # limits by ranks from the shuffled S; infinite where they cannot be had
    upper: float
    confidence: float
    n_years: int
    n_orders: int
    all_orders: bool  # every order was tried, so the p-value is exact


def shuffled_years(
    years: ArrayLike, values_by_station: ArrayLike, *, confidence: float = 0.95, seed: int = SEED
) -> ShuffledYears:
    """Test whether stations together tend to rise or fall, without assuming that they are independent.

    Under no trend the years could have come in any order, for all stations at once. Shuffling whole
    years keeps whatever makes stations alike in a wet or a dry year, which the sum of the stations'
    variances does not.

    Parameters
    ----------
    years : array_like of float, shape (n,)
        The common calendar [year], no year twice, in any order.
    values_by_station : array_like of float, shape (stations, n)
        One row per station. NaN means missing; a missing value moves with its year.
    confidence : float in (0, 1)
        For the limits of the slope.
    seed : int
        For the random orders beyond 8 years.

    Returns
    -------
    ShuffledYears

    Raises
    ------
    InsufficientData : "too_few_years", fewer than 3 years with values

    Notes
    -----
    The years must resemble each other no more than by chance: serial correlation is not corrected
    for. The p-value cannot fall below 2 / n! for untied values, so that 4 years never reach 0.05.

    References
    ----------
    The statistic is that of Hirsch, Slack & Smith 1982, Water Resour. Res. 18:107-121; that the joint
    order of the years is what is exchangeable underlies Dietz & Killeen 1981, J. Am. Stat. Assoc.
    76:169-174 (from memory). The limits invert the test on the pooled slopes, as Sen 1968 does for one.

    Examples
    --------
    >>> shuffled_years([2001, 2002, 2003, 2004], [[5, 6, 7, 8], [2, 3, 4, 6]]).p_value
    0.08333333333333333
    """
    share("confidence", confidence)
    table = finite_or_missing("values_by_station", values_by_station, ndim=2)
    t = calendar(years, table.shape[1], table="values_by_station")
    order = np.argsort(t)
    t, table = t[order], table[:, order]
    seen = ~np.isnan(table).all(axis=0)
    t, table = t[seen], table[:, seen]
    n = t.size
    if n < 3:
        raise InsufficientData("too_few_years", f"values_by_station has {n} years with values; 3 are needed")
    agreement = _agreement(table)
    observed = int(agreement[np.triu_indices(n, 1)].sum())
    sums, exact = _sums_of_orders(agreement, n, seed)
    at_least = int(np.count_nonzero(np.abs(sums) >= abs(observed)))
    # A random set of orders counts the observed one too, so that the p-value is never zero.
    p_value = at_least / sums.size if exact else (at_least + 1) / (sums.size + 1)
    slopes = np.sort(np.concatenate([_slopes(t, row) for row in table]))
    lower, upper = _limits(slopes, sums, confidence)
    return ShuffledYears(
        s=observed,
        p_value=p_value,
        direction_confidence=1 - p_value / 2,
        slope=float(np.median(slopes)) if slopes.size else 0.0,
        lower=lower,
        upper=upper,
        confidence=confidence,
        n_years=n,
        n_orders=int(sums.size),
        all_orders=exact,
    )


def _agreement(table: FloatArray) -> FloatArray:
    """For each pair of years, rising stations minus falling ones, shape (n, n), antisymmetric."""
    difference = table[:, None, :] - table[:, :, None]
    return np.asarray(np.nansum(np.sign(difference), axis=0), dtype=float)


def _sums_of_orders(agreement: FloatArray, n: int, seed: int) -> tuple[FloatArray, bool]:
    """S of each order of the years: half the sum of agreement times the sign of the new places."""
    exact = n <= ALL_ORDERS_UP_TO
    signs = _signs_of_orders(n, 0 if exact else seed)
    # Whole numbers far below 2**24, so that half the digits lose nothing.
    sums = signs @ agreement[np.triu_indices(n, 1)].astype(np.float32)
    return sums.astype(np.float64), exact


@lru_cache(maxsize=8)
def _signs_of_orders(n: int, seed: int) -> NDArray[np.float32]:
    """For each order the sign of every pair's new places, shape (orders, pairs): the same for every table."""
    if n <= ALL_ORDERS_UP_TO:
        places = np.array(list(permutations(range(n))), dtype=np.int16)
    else:
        rng = np.random.default_rng(seed)
        places = rng.permuted(np.tile(np.arange(n, dtype=np.int16), (RANDOM_ORDERS, 1)), axis=1)
    first, second = np.triu_indices(n, 1)
    signs: NDArray[np.float32] = np.sign(places[:, second] - places[:, first]).astype(np.float32)
    signs.setflags(write=False)
    return signs


def _slopes(t: FloatArray, row: FloatArray) -> FloatArray:
    present = ~np.isnan(row)
    if present.sum() < 2:
        return np.empty(0)
    return pair_slopes(t[present], row[present])


def _limits(slopes: FloatArray, sums: FloatArray, confidence: float) -> tuple[float, float]:
    """Ranks as for one exact series, X being the smallest sum with P(S >= X) at most alpha / 2."""
    tail = (1 - confidence) / 2
    values = np.unique(np.abs(sums))
    at_least = sums.size - np.searchsorted(np.sort(sums), values, side="left")
    reached = values[at_least / sums.size <= tail]
    if not reached.size or not slopes.size:
        return -math.inf, math.inf
    low_rank = exact_lower_rank(slopes.size, int(reached[0]))
    if low_rank < 1:
        return -math.inf, math.inf
    return at_rank(slopes, low_rank), at_rank(slopes, slopes.size + 1 - low_rank)
