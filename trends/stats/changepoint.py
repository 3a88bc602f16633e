"""A single change of level in a series (Pettitt)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from trends.stats._checks import finite_or_missing, one_of
from trends.stats.errors import InsufficientData

# The approximation is conservative below this length; shuffles are used instead.
LEAST_N_FOR_APPROXIMATION = 30
SHUFFLES = 9_999
SEED = 20_001
METHODS = ("auto", "permutation", "approximate")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pettitt:
    """Outcome of Pettitt's test; carries no verdict."""

    k: int  # largest |U|
    change_after_index: int | None  # position, from 0, of the last value before the change
    direction: int  # 1: higher afterwards, -1: lower, 0: no change of level to be found
    p_value: float  # by ``method``
    p_approximate: float
    method: str  # "permutation" or "approximate"
    n_shuffles: int  # 0 for the approximation
    n: int
    n_missing: int
    median_before: float  # NaN where no change was found
    median_after: float
    cautions: tuple[str, ...]


def pettitt(values: ArrayLike, *, method: str = "auto", seed: int = SEED) -> Pettitt:
    """Find the most likely year of a single change of level, and its p-value.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        Values in order of time [any unit]. NaN means missing; positions count the missing.
    method : {"auto", "permutation", "approximate"}
        ``auto`` is 9 999 shuffles below 30 values and Pettitt's approximation from 30 on.
    seed : int
        Of the shuffles. Fixed, so that two people get one answer.

    Returns
    -------
    Pettitt

    Raises
    ------
    InsufficientData
        "too_few_years": fewer than 3 values.

    Notes
    -----
    U_k = sum over i <= k < j of sgn(x_i - x_j); p is about 2 exp(-6 K^2 / (n^3 + n^2)),
    cut at 1. A steady trend also gives a "significant" change point: the two must not be
    shown as separate findings. When several positions reach the same K the first is given
    and the caution ``tied_positions`` set. Assumes independent years.

    References
    ----------
    Pettitt, A.N. 1979. A non-parametric approach to the change-point problem. Appl.
    Statist. 28:126-135.

    Examples
    --------
    >>> result = pettitt([3, 4, 3, 4, 3, 8, 9, 8, 9, 8])
    >>> result.change_after_index, result.direction
    (4, 1)
    """
    one_of("method", method, METHODS)
    given = finite_or_missing("values", values)
    places = np.flatnonzero(~np.isnan(given))
    x = given[places]
    n = int(x.size)
    if n < 3:
        raise InsufficientData("too_few_years", f"values has fewer than 3 values that are not missing: {n}")
    ranks = stats.rankdata(x)
    # Twice the mid-ranks are whole numbers, so U and the comparison of K are exact.
    u = _scores(np.rint(2 * ranks).astype(np.int64))
    k = int(np.abs(u).max())
    approximate = min(1.0, 2.0 * float(np.exp(-6.0 * k**2 / (n**3 + n**2))))
    used = method if method != "auto" else ("permutation" if n < LEAST_N_FOR_APPROXIMATION else "approximate")
    p = _shuffled_p(np.rint(2 * ranks).astype(np.int64), k, seed) if used == "permutation" else approximate
    reached = np.flatnonzero(np.abs(u) == k)
    at = int(reached[0])
    return Pettitt(
        k=k,
        change_after_index=int(places[at]) if k else None,
        direction=-int(np.sign(u[at])) if k else 0,
        p_value=p,
        p_approximate=approximate,
        method=used,
        n_shuffles=SHUFFLES if used == "permutation" else 0,
        n=n,
        n_missing=int(given.size - n),
        median_before=float(np.median(x[: at + 1])) if k else float("nan"),
        median_after=float(np.median(x[at + 1 :])) if k else float("nan"),
        cautions=("tied_positions",) if k and reached.size > 1 else (),
    )


def _scores(doubled_ranks: np.ndarray) -> np.ndarray:
    """U_1..U_(n-1) along the last axis, from twice the mid-ranks."""
    n = doubled_ranks.shape[-1]
    running = np.cumsum(doubled_ranks, axis=-1)[..., :-1]
    scores: np.ndarray = running - np.arange(1, n) * (n + 1)
    return scores


def _shuffled_p(doubled_ranks: np.ndarray, k: int, seed: int) -> float:
    """Share of shuffles, the series itself among them, that reach K."""
    random = np.random.default_rng(seed)
    shuffled = random.permuted(np.tile(doubled_ranks, (SHUFFLES, 1)), axis=1)
    reach = np.abs(_scores(shuffled)).max(axis=1) >= k
    return float((1 + np.count_nonzero(reach)) / (SHUFFLES + 1))
