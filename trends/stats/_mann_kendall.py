"""The Mann-Kendall test of one yearly series."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trends.stats._checks import YearlySeries, one_of, yearly_series
from trends.stats._exact_null import LARGEST_N_FOR_EXACT, tie_sizes, two_sided_p, untied_pairs
from trends.stats._moments import corrected_z, normal_p, variance_of_s
from trends.stats._neighbours import neighbours_alike, pair_slopes

METHODS = ("auto", "exact", "normal")


@dataclass(frozen=True, slots=True, kw_only=True)
class MannKendall:
    """Outcome of the Mann-Kendall test; carries no verdict."""

    n: int  # values used
    s: int  # rising pairs minus falling pairs
    var_s: float  # variance of s under no trend, ties corrected
    z: float  # with continuity correction
    p_value: float  # two-sided
    tau: float  # tau-b; NaN when all values are alike
    method: str  # "exact" or "normal": where p_value comes from
    direction_confidence: float  # 1 - p/2
    n_pairs: int  # pairs from different years
    n_tied_pairs: int  # of these, pairs with equal values
    tied_share: float  # n_tied_pairs / n_pairs
    n_missing: int  # values left out because missing
    cautions: tuple[str, ...]  # codes; see trends/stats/README.md


def mann_kendall(years: ArrayLike, values: ArrayLike, *, method: str = "auto") -> MannKendall:
    """Test whether a yearly series tends to rise or to fall.

    Parameters
    ----------
    years : array_like of float, shape (n,)
        Calendar year of each value [year], in any order. Fractions are allowed. A year
        may repeat; no pair is formed within a year.
    values : array_like of float, shape (n,)
        One value per entry of ``years`` [any unit]. NaN means missing.
    method : {"auto", "exact", "normal"}
        Where the p-value comes from. ``auto`` is exact, given the ties, up to 20 values
        and normal with tie and continuity correction beyond.

    Returns
    -------
    MannKendall

    Raises
    ------
    InsufficientData
        "too_few_years": fewer than 3 values are present; "one_year_only": all of them
        belong to the same year.
    ValueError
        An infinite value, a wrong shape, an unknown method, or ``exact`` asked for when
        both years and values hold ties, for which no exact count is at hand.

    Notes
    -----
    Assumes independent years, the same method and effort each year and one direction
    of change. It is no test for a jump or for a rise and a fall, and it does not correct
    for years that resemble their neighbours (see ``trends.stats.serial``). ``auto``
    turns to normal when both years and values hold ties. A constant series has s = 0,
    p = 1 and no tau. The smallest two-sided p that can be reached is 0.33 with 3 years,
    0.083 with 4 and 0.017 with 5.

    References
    ----------
    Mann, H.B. 1945. Nonparametric tests against trend. Econometrica 13:245-259.
    Kendall, M.G. 1976. Rank Correlation Methods, 4th ed. (ties in both, eq. 4.4).
    Valz, P.D. & Thompson, M.E. 1994. Exact inference for Kendall's S. J. Comput. Graph.
    Stat. 3:459-472 (exact chances with ties).
    McBride, G.B. 2019. Has water quality improved or been maintained? J. Environ. Qual.
    48 (confidence in direction).

    Examples
    --------
    >>> result = mann_kendall([2001, 2002, 2003, 2004, 2005], [3, 4, 6, 7, 9])
    >>> result.s, round(result.p_value, 4), result.method
    (10, 0.0167, 'exact')
    """
    one_of("method", method, METHODS)
    return of_series(yearly_series(years, values), method)


def of_series(series: YearlySeries, method: str = "auto") -> MannKendall:
    """Run the test on a series that was checked before."""
    n = series.n
    value_ties, year_ties = tie_sizes(series.values), tie_sizes(series.years)
    s, n_tied = count_pairs(series)
    variance = variance_of_s(n, value_ties, year_ties)
    z = corrected_z(s, variance)
    used = resolve_method(method, n, value_ties, year_ties)
    # With ties on one side only, S has the same null whichever side they are on.
    p = two_sided_p(s, n, value_ties or year_ties) if used == "exact" else normal_p(z)
    n_pairs = untied_pairs(n, year_ties)
    product = untied_pairs(n, value_ties) * n_pairs
    return MannKendall(
        n=n,
        s=s,
        var_s=variance,
        z=z,
        p_value=p,
        tau=s / math.sqrt(product) if product else math.nan,
        method=used,
        direction_confidence=1 - p / 2,
        n_pairs=n_pairs,
        n_tied_pairs=n_tied,
        tied_share=n_tied / n_pairs,
        n_missing=series.n_missing,
        cautions=cautions_for(series),
    )


def direction_of(years: ArrayLike, values: ArrayLike) -> tuple[int, float]:
    """S and the confidence in the direction, as in ``mann_kendall``, without what takes the pair slopes.

    For tests that are repeated with some years left out, where nothing else of the result is looked at.
    """
    series = yearly_series(years, values)
    value_ties, year_ties = tie_sizes(series.values), tie_sizes(series.years)
    s, _ = count_pairs(series)
    if resolve_method("auto", series.n, value_ties, year_ties) == "exact":
        p = two_sided_p(s, series.n, value_ties or year_ties)
    else:
        p = normal_p(corrected_z(s, variance_of_s(series.n, value_ties, year_ties)))
    return s, 1 - p / 2


def count_pairs(series: YearlySeries) -> tuple[int, int]:
    """S, and the number of pairs from different years that have equal values."""
    differences = np.sign(series.values[None, :] - series.values[:, None])
    later = series.years[None, :] > series.years[:, None]
    s = int(differences[later].sum())
    n_tied = int(np.count_nonzero(later & (differences == 0)))
    return s, n_tied


def resolve_method(method: str, n: int, value_ties: tuple[int, ...], year_ties: tuple[int, ...]) -> str:
    """The method that will be used, or a refusal when ``exact`` cannot be had."""
    both_tied = bool(value_ties) and bool(year_ties)
    if method == "exact" and both_tied:
        raise ValueError("method 'exact' is not available when both years and values hold ties")
    if method == "auto":
        return "exact" if n <= LARGEST_N_FOR_EXACT and not both_tied else "normal"
    return method


def cautions_for(series: YearlySeries) -> tuple[str, ...]:
    """Codes of what to bear in mind with the p-value of this series."""
    # With 4 years even a perfect run of rises has p = 0.083.
    if series.n <= 4:
        return ("cannot_reach_0.05",)
    slope = float(np.median(pair_slopes(series.years, series.values)))
    return ("neighbours_alike",) if neighbours_alike(series.years, series.values, slope) else ()
