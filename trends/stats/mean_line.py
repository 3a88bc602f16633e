"""Limits of the least-squares slope, which sees what a median of pairs cannot.

Where more than half of the pairs of years are tied, as with an index of few steps, every quantile of the
pairs near the middle is zero: Sen's slope and both its limits are 0 whatever the other years did.
"""

from numpy.typing import ArrayLike
from scipy.stats import linregress, t

from trends.stats._checks import yearly_series


def least_squares_limits(
    years: ArrayLike, values: ArrayLike, *, confidence: float = 0.95
) -> tuple[float, float]:
    """Lower and upper limit of the least-squares slope, by Student's t with n - 2 degrees of freedom."""
    series = yearly_series(years, values)
    fitted = linregress(series.years, series.values)
    half = float(t.ppf((1 + confidence) / 2, series.n - 2) * fitted.stderr)
    return float(fitted.slope) - half, float(fitted.slope) + half
