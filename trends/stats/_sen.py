"""The Sen slope of one yearly series, with its confidence limits."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trends.stats._checks import FloatArray, YearlySeries, one_of, share, yearly_series
from trends.stats._exact_null import LARGEST_N_FOR_EXACT, critical_s, tie_sizes, untied_pairs, upper_tail
from trends.stats._moments import normal_quantile, variance_of_s
from trends.stats._neighbours import neighbours_alike, pair_slopes

LIMITS = ("auto", "exact", "interpolated", "rounded")


@dataclass(frozen=True, slots=True, kw_only=True)
class SenSlope:
    """Median yearly change with limits; carries no verdict."""

    slope: float  # [unit of the values per year]
    intercept: float  # median(values) - slope * median(years) [unit of the values]
    lower: float  # [unit of the values per year]; -inf where no limit can be had
    upper: float
    confidence: float  # asked for
    confidence_held: float  # really held by the ranks used; NaN where not counted
    limits: str  # "exact", "interpolated" or "rounded"
    limits_available: bool  # False where lower or upper is infinite
    n: int  # values used
    n_pairs: int  # pairs from different years
    n_missing: int
    cautions: tuple[str, ...]  # codes; see trends/stats/README.md


def sen_slope(
    years: ArrayLike, values: ArrayLike, *, confidence: float = 0.95, limits: str = "auto"
) -> SenSlope:
    """Median change per year over all pairs of years, with confidence limits.

    Parameters
    ----------
    years : array_like of float, shape (n,)
        Calendar year of each value [year], in any order. Gaps keep their width; a year
        may repeat, and no slope is formed within it.
    values : array_like of float, shape (n,)
        One value per entry of ``years`` [any unit]. NaN means missing.
    confidence : float in (0, 1)
        0.95 asks for 95 % limits; 0.05 is not read as the same thing.
    limits : {"auto", "exact", "interpolated", "rounded"}
        How the ranks of the limits are chosen. ``exact``: from the exact null of S given
        the ties. ``interpolated``: between neighbouring slopes at the ranks of the normal
        formula. ``rounded``: those ranks rounded to whole numbers. ``auto`` is exact up to
        20 values and interpolated beyond.

    Returns
    -------
    SenSlope
        [unit of the values per year]; ``intercept`` [unit of the values].

    Raises
    ------
    InsufficientData
        "too_few_years": fewer than 3 values; "one_year_only": all of one year.
    ValueError
        An infinite value, a wrong shape, a confidence outside (0, 1), an unknown
        ``limits``, or ``exact`` when both years and values hold ties.

    Notes
    -----
    Where the confidence asked for cannot be had (4 years at 95 %, say), the limits are
    infinite and ``limits_available`` is False. With ties in the values the exact ranks
    may fall between two slopes; the outer one is taken. The limits assume independent
    years. The intercept is Conover's, median(values) - slope * median(years); the median
    of values - slope * years is another, and may differ.

    References
    ----------
    Sen, P.K. 1968. Estimates of the regression coefficient based on Kendall's tau.
    J. Am. Stat. Assoc. 63:1379-1389.
    Gilbert, R.O. 1987. Statistical Methods for Environmental Pollution Monitoring,
    section 16.5 (ranks of the limits; from memory, confirmed by printed examples).
    Hollander, M. & Wolfe, D.A. 1999. Nonparametric Statistical Methods, 2nd ed., section
    9.3 (exact ranks; from memory).

    Examples
    --------
    >>> result = sen_slope([2001, 2002, 2005, 2009], [10, 12, 15, 20])
    >>> result.slope, result.limits_available
    (1.25, False)
    """
    share("confidence", confidence)
    one_of("limits", limits, LIMITS)
    return of_series(yearly_series(years, values), float(confidence), limits)


def of_series(series: YearlySeries, confidence: float = 0.95, limits: str = "auto") -> SenSlope:
    """Work out the slope of a series that was checked before."""
    slopes = pair_slopes(series.years, series.values)
    value_ties, year_ties = tie_sizes(series.values), tie_sizes(series.years)
    used = resolve_limits(limits, series.n, value_ties, year_ties)
    held = math.nan
    if used == "exact":
        lower, upper, held = exact_limits(slopes, series.n, value_ties or year_ties, confidence)
    else:
        reach = normal_quantile(confidence) * math.sqrt(variance_of_s(series.n, value_ties, year_ties))
        low_rank, high_rank = (slopes.size - reach) / 2, (slopes.size + reach) / 2 + 1
        if used == "rounded":
            low_rank, high_rank = float(np.rint(low_rank)), float(np.rint(high_rank - 1)) + 1
            if series.n <= LARGEST_N_FOR_EXACT and not (value_ties and year_ties):
                held = confidence_of_ranks(low_rank, slopes.size, series.n, value_ties or year_ties)
        lower, upper = at_rank(slopes, low_rank), at_rank(slopes, high_rank)
    slope = float(np.median(slopes))
    return SenSlope(
        slope=slope,
        intercept=float(np.median(series.values) - slope * np.median(series.years)),
        lower=lower,
        upper=upper,
        confidence=confidence,
        confidence_held=held,
        limits=used,
        limits_available=math.isfinite(lower) and math.isfinite(upper),
        n=series.n,
        n_pairs=int(slopes.size),
        n_missing=series.n_missing,
        cautions=("neighbours_alike",) if neighbours_alike(series.years, series.values, slope) else (),
    )


def resolve_limits(limits: str, n: int, value_ties: tuple[int, ...], year_ties: tuple[int, ...]) -> str:
    """The kind of limits that will be used, or a refusal when ``exact`` cannot be had."""
    both_tied = bool(value_ties) and bool(year_ties)
    if limits == "exact" and both_tied:
        raise ValueError("limits 'exact' are not available when both years and values hold ties")
    if limits == "auto":
        return "exact" if n <= LARGEST_N_FOR_EXACT and not both_tied else "interpolated"
    return limits


def exact_limits(
    slopes: FloatArray, n: int, ties: tuple[int, ...], confidence: float
) -> tuple[float, float, float]:
    """Lower limit, upper limit and the confidence really held, from the exact null of S."""
    critical = critical_s(1 - confidence, n, ties)
    if critical is None:
        return -math.inf, math.inf, 1.0
    s, chance = critical
    below = exact_lower_rank(slopes.size, s)
    return float(slopes[below - 1]), float(slopes[slopes.size - below]), 1 - 2 * chance


def exact_lower_rank(n_pairs: int, s: int) -> int:
    """Rank of the lower limit; an odd difference, which ties can bring, is taken outwards."""
    return (n_pairs - s) // 2 + 1


def confidence_of_ranks(low_rank: float, n_pairs: int, n: int, ties: tuple[int, ...]) -> float:
    """Confidence that the exact null gives to the slopes from ``low_rank`` to its mirror image."""
    if low_rank < 1:
        return 1.0
    s = n_pairs - 2 * (int(low_rank) - 1)
    pairs = untied_pairs(n, ties)
    if s > pairs:
        return 1.0
    if s <= 0 or pairs == 0:
        return math.nan
    # S has the parity of the untied pairs: the next value that can occur is meant.
    return 1 - 2 * float(upper_tail(n, ties)[(pairs - s) // 2])


def at_rank(slopes: FloatArray, rank: float) -> float:
    """Slope at a rank counted from 1, interpolated; infinite beyond the ends."""
    if rank < 1:
        return -math.inf
    if rank > slopes.size:
        return math.inf
    below = int(rank)
    share_above = rank - below
    if share_above == 0:
        return float(slopes[below - 1])
    low, high = float(slopes[below - 1]), float(slopes[below])
    return low + share_above * (high - low)
