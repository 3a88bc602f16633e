"""Take a measured driver, such as flow or temperature, out of a series before its trend."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats
from statsmodels.nonparametric.smoothers_lowess import lowess

from trends.stats._checks import FloatArray, finite_or_missing, yearly_series
from trends.stats._mann_kendall import MannKendall
from trends.stats._mann_kendall import of_series as mann_kendall_of_series
from trends.stats._sen import SenSlope
from trends.stats._sen import of_series as sen_slope_of_series
from trends.stats.errors import InsufficientData

# A smooth curve through fewer points follows the points, not the driver (judgement).
LEAST_YEARS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class DriverAdjusted:
    """Trend before and after the driver was taken out."""

    years: FloatArray
    fitted: FloatArray  # value expected from the driver alone
    residuals: FloatArray  # value minus fitted
    plain: MannKendall
    plain_slope: SenSlope
    adjusted: MannKendall  # of the residuals
    adjusted_slope: SenSlope
    explained: float  # share of the variance that the driver accounts for
    driver_years_tau: float  # Kendall tau of the driver itself with the years
    fraction: float
    n: int
    n_missing: int
    method: str
    cautions: tuple[str, ...]


def adjust_for_driver(
    years: ArrayLike, values: ArrayLike, driver: ArrayLike, *, fraction: float = 0.75, iterations: int = 3
) -> DriverAdjusted:
    """Trend of what is left once a smooth curve on the driver is taken out.

    Parameters
    ----------
    years, values : array_like of float, shape (n,)
        The series.
    driver : array_like of float, shape (n,)
        The driver at each visit, for example discharge [m3/s]. NaN means missing; the
        year is then left out of both trends.
    fraction : float in (0, 1]
        Share of the years that each piece of the curve looks at.
    iterations : int
        Rounds in which far-off years lose weight.

    Returns
    -------
    DriverAdjusted

    Raises
    ------
    InsufficientData
        "too_few_years": fewer than 8 years with value and driver; "constant_driver".

    Notes
    -----
    If the driver has a trend of its own, part of the true trend is taken out with it:
    caution ``driver_has_trend``. ``few_years`` is set below 15 years, where the curve
    follows the points closely. Both trends are over the same years.

    References
    ----------
    Cleveland, W.S. 1979. J. Am. Stat. Assoc. 74:829-836 (the smooth curve, by statsmodels).
    Hirsch, R.M., Alexander, R.B. & Smith, R.A. 1991. Water Resour. Res. 27:803-813
    (adjusting before the test; from memory).

    Examples
    --------
    >>> flow = [1, 5, 2, 4, 3, 5, 1, 2, 4, 3]
    >>> index = [10 - f + 0.1 * i for i, f in enumerate(flow)]
    >>> adjust_for_driver(range(2001, 2011), index, flow).adjusted.n
    10
    """
    if not 0 < fraction <= 1:
        raise ValueError(f"fraction must lie above 0 and not above 1, got {fraction}")
    x, d = finite_or_missing("values", values), finite_or_missing("driver", driver)
    if x.size != d.size:
        raise ValueError(f"values and driver must have the same length, got {x.size} and {d.size}")
    series = yearly_series(years, np.where(np.isnan(d), np.nan, x), minimum=LEAST_YEARS)
    order = np.argsort(finite_or_missing("years", years), kind="stable")
    known = order[~(np.isnan(x) | np.isnan(d) | np.isnan(finite_or_missing("years", years)))[order]]
    drive = d[known]
    if np.all(drive == drive[0]):
        raise InsufficientData("constant_driver", f"driver is the same in every year ({drive[0]:g})")
    fitted = np.asarray(
        lowess(series.values, drive, frac=fraction, it=iterations, return_sorted=False), dtype=np.float64
    )
    if np.isnan(fitted).any():
        raise InsufficientData(
            "driver_too_uneven", "driver repeats too often for a smooth curve; use a larger fraction"
        )
    residuals = series.values - fitted
    left = type(series)(series.years, residuals, series.n_missing)
    spread = float(np.var(series.values))
    own = stats.kendalltau(series.years, drive)
    cautions = []
    if series.n < 15:
        cautions.append("few_years")
    if float(own.pvalue) <= 0.1:
        cautions.append("driver_has_trend")
    return DriverAdjusted(
        years=series.years,
        fitted=fitted,
        residuals=residuals,
        plain=mann_kendall_of_series(series),
        plain_slope=sen_slope_of_series(series),
        adjusted=mann_kendall_of_series(left),
        adjusted_slope=sen_slope_of_series(left),
        explained=1 - float(np.var(residuals)) / spread if spread > 0 else math.nan,
        driver_years_tau=float(own.statistic),
        fraction=float(fraction),
        n=series.n,
        n_missing=series.n_missing,
        method="LOWESS residuals",
        cautions=tuple(cautions),
    )
