"""Mann-Kendall test and Sen slope of many series at once, equal to the single calls."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trends.stats._batch_parts import TieRuns, pair_pass, rising_pairs, row_medians, year_medians
from trends.stats._checks import (
    BoolArray,
    FloatArray,
    IntArray,
    calendar,
    finite_or_missing,
    one_of,
    share,
)
from trends.stats._exact_null import LARGEST_N_FOR_EXACT
from trends.stats._mann_kendall import METHODS
from trends.stats._moments import corrected_z, normal_p, normal_quantile
from trends.stats._neighbours import rows_with_neighbours_alike


@dataclass(frozen=True, slots=True, kw_only=True)
class TrendBatch:
    """One entry per series; NaN where ``usable`` is False (fewer than 3 values)."""

    usable: BoolArray
    n: IntArray
    s: IntArray
    var_s: FloatArray
    z: FloatArray
    p_value: FloatArray
    tau: FloatArray
    method: NDArray[np.str_]
    direction_confidence: FloatArray
    n_pairs: IntArray
    n_tied_pairs: IntArray
    tied_share: FloatArray
    n_missing: IntArray
    slope: FloatArray
    intercept: FloatArray
    lower: FloatArray
    upper: FloatArray
    confidence: float
    confidence_held: FloatArray
    limits: NDArray[np.str_]
    limits_available: BoolArray
    cautions: NDArray[np.object_]  # tuples of codes, as in MannKendall


def trend_batch(
    years: ArrayLike, values: ArrayLike, *, method: str = "auto", confidence: float = 0.95
) -> TrendBatch:
    """Test and slope of many yearly series that share a calendar.

    Parameters
    ----------
    years : array_like of float, shape (n,)
        The common calendar [year], no year twice, in any order.
    values : array_like of float, shape (series, n)
        One row per series [any unit, per row]. NaN means missing.
    method : {"auto", "exact", "normal"}
        As in ``mann_kendall``. The limits of the slope follow the single call's ``auto``.
    confidence : float in (0, 1)
        For the limits of the slope.

    Returns
    -------
    TrendBatch
        Arrays of the fields of ``MannKendall`` and ``SenSlope``. A series with fewer than
        3 values has ``usable`` False and NaN, where the single call would refuse.

    Raises
    ------
    ValueError
        An infinite value, a wrong shape, a year given twice, an unknown method.

    Notes
    -----
    The same formulas and cautions as the single calls; see there for sources.

    Examples
    --------
    >>> batch = trend_batch([2001, 2002, 2003, 2004], [[1, 2, 3, 4], [4, 4, 4, 4]])
    >>> batch.s.tolist(), batch.slope.tolist()
    ([6, 0], [1.0, 0.0])
    """
    one_of("method", method, METHODS)
    share("confidence", confidence)
    x = finite_or_missing("values", values, ndim=2)
    t = calendar(years, x.shape[1], table="values")
    order = np.argsort(t)
    if np.any(np.diff(order) != 1):
        t, x = t[order], x[:, order]
    present = ~np.isnan(x)
    n = np.count_nonzero(present, axis=1)
    usable = n >= 3
    in_order = np.sort(x, axis=1)
    runs = TieRuns.of(in_order)
    tied = runs.tied_pairs
    variance = np.where(usable, runs.variance(n), np.nan)
    n_pairs = n * (n - 1) // 2
    short = usable & (n <= LARGEST_N_FOR_EXACT)
    by_counting = short if method == "auto" else usable & (method == "exact")

    reach = normal_quantile(confidence) * np.sqrt(variance)
    low_rank, high_rank = (n_pairs - reach) / 2, (n_pairs + reach) / 2 + 1
    held = np.full(n.size, np.nan)
    patterns = runs.patterns(n, short | by_counting)
    if short.any():
        critical, chance = patterns.critical_values(1 - confidence, short)
        below = np.where(np.isnan(critical), 0, (n_pairs[short] - critical) // 2 + 1)
        low_rank[short], high_rank[short] = below, n_pairs[short] + 1 - below
        held[short] = 1 - 2 * chance

    # Rising, falling and tied pairs add up to all pairs.
    s = np.where(usable, 2 * rising_pairs(x) + tied - n_pairs, 0)
    slope, lower, upper = pair_pass(t, x, n_pairs, low_rank, high_rank)
    for column in (slope, lower, upper):
        column[~usable] = np.nan
    z = np.where(usable, corrected_z(s.astype(np.float64), np.nan_to_num(variance)), np.nan)
    p = normal_p(z)
    if by_counting.any():
        p[by_counting] = patterns.two_sided_p(s[by_counting], by_counting)
    with np.errstate(invalid="ignore", divide="ignore"):
        product = n_pairs * (n_pairs - tied)
        tau = np.where(usable & (product > 0), s / np.sqrt(product), np.nan)
        tied_share = np.where(usable, tied / n_pairs, np.nan)
        intercept = row_medians(in_order, n) - slope * year_medians(t, present, n)
    return TrendBatch(
        usable=usable,
        n=n,
        s=s,
        var_s=variance,
        z=z,
        p_value=p,
        tau=tau,
        method=np.where(usable, np.where(by_counting, "exact", "normal"), "none"),
        direction_confidence=1 - p / 2,
        n_pairs=n_pairs,
        n_tied_pairs=tied,
        tied_share=tied_share,
        n_missing=x.shape[1] - n,
        slope=slope,
        intercept=intercept,
        lower=lower,
        upper=upper,
        confidence=float(confidence),
        confidence_held=held,
        limits=np.where(usable, np.where(short, "exact", "interpolated"), "none"),
        limits_available=np.isfinite(lower) & np.isfinite(upper),
        cautions=_cautions(t, x, slope, n),
    )


def _cautions(t: FloatArray, x: FloatArray, slope: FloatArray, n: IntArray) -> NDArray[np.object_]:
    """The cautions of the single test, row by row."""
    table = np.empty(3, dtype=object)
    table[:] = [(), ("cannot_reach_0.05",), ("neighbours_alike",)]
    kind = np.where((n == 3) | (n == 4), 1, 0)
    kind[rows_with_neighbours_alike(t, x, slope, n)] = 2
    chosen: NDArray[np.object_] = table[kind]
    return chosen
