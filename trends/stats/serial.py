"""Years that resemble their neighbours: the lag-one test and three corrections.

Nothing here is applied silently. Each function returns the plain test beside the
corrected one, so that both can be shown. All of them need one value a year and no gaps:
closing up a gap would join years that are not neighbours.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trends.stats._checks import FloatArray, YearlySeries, share, yearly_series
from trends.stats._mann_kendall import MannKendall
from trends.stats._mann_kendall import of_series as mann_kendall_of_series
from trends.stats._moments import corrected_z, normal_p, normal_quantile
from trends.stats._neighbours import autocorrelation
from trends.stats._sen import of_series as sen_slope_of_series
from trends.stats.errors import InsufficientData

# Below this many years r is so uncertain that correcting does little good (judgement; no
# published threshold was found).
FEW_YEARS = 20
LEAST_YEARS = 4
# Prewhitened values are rounded to this many significant figures before they are compared,
# or near-ties would be decided by the last bit.
SIGNIFICANT_FIGURES = 9


@dataclass(frozen=True, slots=True, kw_only=True)
class LagOne:
    """Likeness of neighbouring years once the trend is taken out."""

    r: float  # lag-one autocorrelation of values - slope * years; NaN for a constant series
    lower: float  # limits for independent years, -1/n -+ quantile / sqrt(n)
    upper: float
    p_value: float  # two-sided, normal
    n: int
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SerialCorrection:
    """The plain test and the test corrected for serial correlation."""

    plain: MannKendall
    correction: str  # "hamed-rao", "yue-wang" or "trend-free-prewhitening"
    s: int
    var_s: float
    factor: float  # corrected variance / plain variance, after the cap; 1 for prewhitening
    factor_uncapped: float
    capped: bool
    z: float
    p_value: float  # two-sided, normal
    direction_confidence: float
    r: tuple[float, ...]  # autocorrelations considered, lag 1, 2, ...
    lags_used: tuple[int, ...]
    slope: float  # Sen slope that was taken out
    n: int
    cautions: tuple[str, ...]


def lag_one(years: ArrayLike, values: ArrayLike, *, confidence: float = 0.95) -> LagOne:
    """Do neighbouring years resemble each other, beyond the trend?

    Parameters
    ----------
    years : array_like of float, shape (n,)
        Equally spaced, without gaps [year].
    values : array_like of float, shape (n,)
        One value per year.
    confidence : float in (0, 1)
        For the limits that independent years would stay within.

    Returns
    -------
    LagOne

    Raises
    ------
    InsufficientData
        "too_few_years": fewer than 4 years; "gaps": years missing or unequally spaced.

    Notes
    -----
    The denominator holds all n terms, and the Sen slope is taken out first.

    References
    ----------
    Salas, J.D., Delleur, J.W., Yevjevich, V. & Lane, W.L. 1980. Applied Modeling of
    Hydrologic Time Series (mean -1/n and limits; from memory).

    Examples
    --------
    >>> round(lag_one(range(2001, 2011), [3, 4, 4, 5, 3, 2, 2, 3, 5, 6]).r, 3)
    0.5
    """
    reach = normal_quantile(share("confidence", confidence))
    series = _without_gaps(years, values)
    r = float(autocorrelation(_detrended(series)[0], 1)[0])
    n = series.n
    return LagOne(
        r=r,
        lower=(-1 - reach * math.sqrt(n)) / n,
        upper=(-1 + reach * math.sqrt(n)) / n,
        p_value=normal_p((r + 1 / n) * math.sqrt(n)),
        n=n,
        cautions=_cautions(n),
    )


def hamed_rao(
    years: ArrayLike,
    values: ArrayLike,
    *,
    max_lag: int | None = None,
    alpha: float = 0.05,
    cap_factor: bool = True,
) -> SerialCorrection:
    """Mann-Kendall test with the variance correction of Hamed & Rao.

    Parameters
    ----------
    years, values : array_like of float, shape (n,)
        One value per year, no gaps.
    max_lag : int, optional
        Lags looked at; all by default.
    alpha : float in (0, 1)
        A lag counts when its autocorrelation differs from 0 at this level.
    cap_factor : bool
        Never let the correction make the test more eager (judgement).

    Returns
    -------
    SerialCorrection

    Raises
    ------
    InsufficientData
        As in :func:`lag_one`.
    ValueError
        ``max_lag`` outside 1..n-1.

    Notes
    -----
    The Sen slope is taken out, autocorrelations are those of the ranks:
    V* = V [1 + 2/(n(n-1)(n-2)) sum (n-i)(n-i-1)(n-i-2) r_i].

    References
    ----------
    Hamed, K.H. & Rao, A.R. 1998. A modified Mann-Kendall trend test for autocorrelated
    data. J. Hydrol. 204:182-196 (formula from memory).

    Examples
    --------
    >>> hamed_rao(range(12), [1, 2, 1, 3, 2, 4, 3, 3, 5, 4, 6, 5]).correction
    'hamed-rao'
    """
    series = _without_gaps(years, values)
    residuals, slope = _detrended(series)
    n = series.n
    r = autocorrelation(_mid_ranks(residuals), _lags(max_lag, n))
    counts = np.abs(r) > normal_quantile(1 - share("alpha", alpha)) / math.sqrt(n)
    lags = np.arange(1, r.size + 1)
    weights = (n - lags) * (n - lags - 1.0) * (n - lags - 2)
    factor = 1 + 2 / (n * (n - 1) * (n - 2)) * float(np.sum((weights * r)[counts]))
    used = tuple(int(lag) for lag in lags[counts])
    return _corrected(series, "hamed-rao", factor, cap_factor, r, used, slope)


def yue_wang(
    years: ArrayLike, values: ArrayLike, *, max_lag: int = 1, cap_factor: bool = True
) -> SerialCorrection:
    """Mann-Kendall test with the variance correction of Yue & Wang, few lags only.

    Parameters
    ----------
    years, values : array_like of float, shape (n,)
        One value per year, no gaps.
    max_lag : int
        Lags used, 1 by default. Over all lags sample autocorrelations sum to -1/2, so
        the factor loses its meaning: above 3 the caution ``many_lags`` is set.
    cap_factor : bool
        Never let the correction make the test more eager (judgement).

    Returns
    -------
    SerialCorrection

    Raises
    ------
    InsufficientData
        As in :func:`lag_one`.
    ValueError
        ``max_lag`` outside 1..n-1.

    References
    ----------
    Yue, S. & Wang, C.Y. 2004. The Mann-Kendall test modified by effective sample size.
    Water Resour. Manage. 18:201-218 (formula from memory).

    Examples
    --------
    >>> yue_wang(range(12), [1, 2, 1, 3, 2, 4, 3, 3, 5, 4, 6, 5]).lags_used
    (1,)
    """
    series = _without_gaps(years, values)
    residuals, slope = _detrended(series)
    n = series.n
    r = autocorrelation(residuals, _lags(max_lag, n))
    lags = np.arange(1, r.size + 1)
    factor = 1 + 2 * float(np.sum((1 - lags / n) * r))
    return _corrected(series, "yue-wang", factor, cap_factor, r, tuple(int(i) for i in lags), slope)


def trend_free_prewhitening(years: ArrayLike, values: ArrayLike) -> SerialCorrection:
    """Mann-Kendall test after trend-free prewhitening: one year is lost.

    Parameters
    ----------
    years, values : array_like of float, shape (n,)
        One value per year, no gaps.

    Returns
    -------
    SerialCorrection
        ``s`` and ``var_s`` are those of the prewhitened series, of n - 1 years.

    Raises
    ------
    InsufficientData
        As in :func:`lag_one`.

    Notes
    -----
    y = x - slope t; y' = y_t - r_1 y_(t-1); the slope is added back and the normal test
    applied. Prewhitening is always done, whatever r_1. It is known to leave too many false
    alarms when years are strongly alike (see the simulation in the README).

    References
    ----------
    Yue, S., Pilon, P., Phinney, B. & Cavadias, G. 2002. The influence of autocorrelation
    on the ability to detect trend in hydrological series. Hydrol. Process. 16:1807-1829
    (formula from memory).

    Examples
    --------
    >>> trend_free_prewhitening(range(12), [1, 2, 1, 3, 2, 4, 3, 3, 5, 4, 6, 5]).n
    11
    """
    series = _without_gaps(years, values)
    residuals, slope = _detrended(series)
    r = autocorrelation(residuals, 1)
    r_one = 0.0 if math.isnan(r[0]) else float(r[0])
    since = series.years - series.years[0]
    white = residuals[1:] - r_one * residuals[:-1] + slope * since[1:]
    rounded = _to_significant(white, SIGNIFICANT_FIGURES)
    test = mann_kendall_of_series(YearlySeries(series.years[1:], rounded, 0), "normal")
    return SerialCorrection(
        plain=mann_kendall_of_series(series),
        correction="trend-free-prewhitening",
        s=test.s,
        var_s=test.var_s,
        factor=1.0,
        factor_uncapped=1.0,
        capped=False,
        z=test.z,
        p_value=test.p_value,
        direction_confidence=test.direction_confidence,
        r=(float(r[0]),),
        lags_used=(1,),
        slope=slope,
        n=test.n,
        cautions=_cautions(series.n),
    )


def _without_gaps(years: ArrayLike, values: ArrayLike) -> YearlySeries:
    series = yearly_series(years, values, minimum=LEAST_YEARS)
    steps = np.diff(series.years)
    if not np.allclose(steps, steps[0], rtol=1e-9, atol=0) or steps[0] <= 0:
        raise InsufficientData(
            "gaps", "years must be equally spaced without gaps to look at neighbouring years"
        )
    return series


def _detrended(series: YearlySeries) -> tuple[FloatArray, float]:
    slope = sen_slope_of_series(series, limits="interpolated").slope
    residuals: FloatArray = series.values - slope * (series.years - series.years[0])
    return residuals, slope


def _lags(max_lag: int | None, n: int) -> int:
    lags = n - 1 if max_lag is None else int(max_lag)
    if not 1 <= lags <= n - 1:
        raise ValueError(f"max_lag must lie between 1 and {n - 1}, got {max_lag}")
    return lags


def _mid_ranks(values: FloatArray) -> FloatArray:
    # Rounded first: detrending turns equal values into values that differ in the last bit.
    _, group, counts = np.unique(
        _to_significant(values, SIGNIFICANT_FIGURES), return_inverse=True, return_counts=True
    )
    last = np.cumsum(counts)
    ranks: FloatArray = (last - (counts - 1) / 2)[group]
    return ranks


def _to_significant(values: FloatArray, figures: int) -> FloatArray:
    largest = float(np.abs(values).max(initial=0.0))
    if largest == 0:
        return values
    rounded: FloatArray = np.round(values, figures - 1 - math.floor(math.log10(largest)))
    return rounded


def _corrected(
    series: YearlySeries,
    name: str,
    factor: float,
    cap: bool,
    r: FloatArray,
    used: tuple[int, ...],
    slope: float,
) -> SerialCorrection:
    plain = mann_kendall_of_series(series)
    cautions = list(_cautions(series.n))
    if name == "yue-wang" and len(used) > 3:
        cautions.append("many_lags")
    if math.isnan(factor):
        factor = 1.0  # nothing is left once the trend is taken out, so nothing to correct
    applied = max(factor, 1.0) if cap else factor
    if applied <= 0:
        cautions.append("variance_not_positive")
    variance = plain.var_s * applied if applied > 0 else math.nan
    z = math.nan if math.isnan(variance) else corrected_z(float(plain.s), variance)
    p = normal_p(z)
    return SerialCorrection(
        plain=plain,
        correction=name,
        s=plain.s,
        var_s=variance,
        factor=applied,
        factor_uncapped=factor,
        capped=applied != factor,
        z=z,
        p_value=p,
        direction_confidence=1 - p / 2,
        r=tuple(float(v) for v in r),
        lags_used=used,
        slope=slope,
        n=series.n,
        cautions=tuple(cautions),
    )


def _cautions(n: int) -> tuple[str, ...]:
    return ("few_years_for_autocorrelation",) if n < FEW_YEARS else ()
