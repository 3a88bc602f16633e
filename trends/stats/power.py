"""How many years are needed to see a change, and what change a record could have shown.

These look forward, or at a stated change. They do not compute the power of a test that
was already made from its own result, which says nothing that its p-value does not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy import optimize, special

from trends.stats._checks import FloatArray, finite_or_missing, one_of, positive, share
from trends.stats._moments import normal_quantile
from trends.stats.errors import InsufficientData

METHODS = ("formula", "simulation")
LEAST_YEARS, MOST_YEARS = 4, 200
SIMULATED_SERIES = 4_000
SEED = 41_507


class YearsToDetect(float):
    """A number of years that remembers how it was worked out.

    It can be used as the plain number; infinite when no record up to 200 years suffices.
    """

    __slots__ = ("alpha", "method", "power_asked", "power_reached", "ratio")

    def __new__(
        cls,
        years: float,
        *,
        alpha: float,
        power_asked: float,
        power_reached: float,
        method: str,
        ratio: float,
    ) -> YearsToDetect:
        """Make the number and attach its origin."""
        self = super().__new__(cls, years)
        self.alpha, self.method, self.ratio = alpha, method, ratio
        self.power_asked, self.power_reached = power_asked, power_reached
        return self

    alpha: float
    method: str
    power_asked: float
    power_reached: float
    ratio: float  # |slope| / residual_sd

    def __getnewargs_ex__(self) -> tuple[tuple[float], dict[str, Any]]:
        """What is needed to store and restore the number."""
        return (float(self),), {name: getattr(self, name) for name in self.__slots__}

    @property
    def years(self) -> float:
        """The number of yearly visits needed."""
        return float(self)

    @property
    def reachable(self) -> bool:
        """False when no record of up to 200 years suffices."""
        return math.isfinite(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class DetectableChange:
    """The smallest yearly change that a record of these years could show."""

    slope: float  # [unit of the values per year]
    total_change: float  # slope times the span of the record
    residual_sd: float
    alpha: float
    power: float
    n: int
    span_years: float
    method: str


def years_to_detect(
    slope: float, residual_sd: float, *, alpha: float = 0.05, power: float = 0.8, method: str = "formula"
) -> YearsToDetect:
    """Yearly visits needed before a steady change is likely to be seen.

    Parameters
    ----------
    slope : float
        Yearly change [unit of the values per year]; its sign does not matter.
    residual_sd : float
        Standard deviation of the years around the trend [unit of the values].
    alpha : float in (0, 1)
        Level of the two-sided Mann-Kendall test.
    power : float in (0, 1)
        Chance wanted that the test finds the change.
    method : {"formula", "simulation"}
        ``formula``: exact mean and variance of S under the change, then the normal curve.
        ``simulation``: 4 000 series per length with a fixed seed.

    Returns
    -------
    YearsToDetect
        Smallest number of years, 4 or more, whose power reaches ``power``.

    Raises
    ------
    ValueError
        A standard deviation that is not above 0, alpha or power outside (0, 1).

    Notes
    -----
    One value a year, no gaps, independent normal scatter, normal test with continuity
    correction. Years that resemble their neighbours need more. The last digit of the two
    methods may differ by one; below 10 years the formula's power is up to 4 points low.

    References
    ----------
    Kendall, M.G. & Gibbons, J.D. 1990. Rank Correlation Methods, 5th ed. (mean and
    variance of S through pairs and triples; derived here, checked by simulation).

    Examples
    --------
    >>> int(years_to_detect(-0.05, 0.5, alpha=0.05, power=0.8))
    23
    """
    one_of("method", method, METHODS)
    share("alpha", alpha)
    share("power", power)
    positive("residual_sd", residual_sd)
    if not math.isfinite(slope):
        raise ValueError(f"slope must be finite, got {slope}")
    ratio = abs(float(slope)) / float(residual_sd)
    reach = _formula_power if method == "formula" else _simulated_power

    def result(years: float, reached: float) -> YearsToDetect:
        return YearsToDetect(
            years, alpha=alpha, power_asked=power, power_reached=reached, method=method, ratio=ratio
        )

    # Simulation starts a little before the formula's answer: it is slow, and near it.
    first = LEAST_YEARS
    if method == "simulation":
        guess = years_to_detect(ratio, 1.0, alpha=alpha, power=power)
        if not guess.reachable:
            return result(math.inf, math.nan)
        first = max(LEAST_YEARS, int(guess) - 4)
        while first > LEAST_YEARS and reach(first, ratio, alpha) >= power:
            first = max(LEAST_YEARS, first - 4)
    else:
        # Power grows with the years but for small steps, so leap first and then walk.
        leap = LEAST_YEARS
        while reach(min(2 * leap, MOST_YEARS), ratio, alpha) < power:
            if 2 * leap >= MOST_YEARS:
                return result(math.inf, reach(MOST_YEARS, ratio, alpha))
            leap *= 2
        low, high = leap, min(2 * leap, MOST_YEARS)
        while high - low > 8:
            middle = (low + high) // 2
            low, high = (low, middle) if reach(middle, ratio, alpha) >= power else (middle, high)
        first = max(LEAST_YEARS, low - 4)
    for years in range(first, MOST_YEARS + 1):
        reached = reach(years, ratio, alpha)
        if reached >= power:
            return result(years, reached)
    return result(math.inf, math.nan)


def smallest_detectable_change(
    years: ArrayLike, residual_sd: float, *, alpha: float = 0.05, power: float = 0.8
) -> DetectableChange:
    """Smallest steady yearly change that visits in these years would show with the power stated.

    Parameters
    ----------
    years : array_like of float, shape (n,)
        The years with a value [year]; gaps keep their width.
    residual_sd : float
        Standard deviation of the years around the trend [unit of the values].
    alpha, power : float in (0, 1)
        As in :func:`years_to_detect`.

    Returns
    -------
    DetectableChange
        ``slope`` is infinite when no change, however large, could be seen.

    Raises
    ------
    InsufficientData
        "too_few_years": fewer than 3 years.

    Examples
    --------
    >>> change = smallest_detectable_change(range(2001, 2024), 0.5)
    >>> round(change.slope, 2)
    0.05
    """
    share("alpha", alpha)
    share("power", power)
    positive("residual_sd", residual_sd)
    t = finite_or_missing("years", years)
    t = np.unique(t[~np.isnan(t)])
    if t.size < 3:
        raise InsufficientData("too_few_years", f"years holds fewer than 3 different years: {t.size}")
    span = float(t[-1] - t[0])
    low, high = 0.0, 20.0 / float(np.diff(t).min())
    if power_of_trend(t, high, 1.0, alpha=alpha) < power:
        low = high = math.inf
    else:
        crossing = optimize.brentq(
            lambda d: power_of_trend(t, d, 1.0, alpha=alpha) - power, low, high, xtol=1e-14, rtol=1e-13
        )
    while math.isfinite(high) and high - low > 1e-7 * high:
        middle = (low + high) / 2
        # Power grows with the change, so away from the crossing its side tells; close by it is worked out.
        if abs(middle - crossing) > 1e-9 * crossing:
            reached = middle > crossing
        else:
            reached = power_of_trend(t, middle, 1.0, alpha=alpha) >= power
        low, high = (low, middle) if reached else (middle, high)
    slope = high * float(residual_sd)
    return DetectableChange(
        slope=slope,
        total_change=slope * span,
        residual_sd=float(residual_sd),
        alpha=float(alpha),
        power=float(power),
        n=int(t.size),
        span_years=span,
        method="formula",
    )


def power_of_trend(years: ArrayLike, slope: float, residual_sd: float, *, alpha: float = 0.05) -> float:
    """Chance that the two-sided Mann-Kendall test on these years finds a steady change.

    Parameters
    ----------
    years : array_like of float, shape (n,)
        Different years [year].
    slope : float
        Yearly change [unit of the values per year].
    residual_sd : float
        Standard deviation around it [unit of the values].
    alpha : float in (0, 1)
        Level of the test.

    Returns
    -------
    float
        0 when not even a perfect run would be significant.
    """
    t = np.sort(finite_or_missing("years", years))
    d = float(slope) / float(residual_sd)
    n = t.size
    needed = _critical_s(n, alpha)
    if needed > n * (n - 1) // 2:
        return 0.0
    mean, variance = _moments_under_trend(t, d)
    spread = math.sqrt(max(variance, 1e-12))
    up = special.ndtr((mean - (needed - 1)) / spread)
    down = special.ndtr((-mean - (needed - 1)) / spread)
    return float(up + down)


def _critical_s(n: int, alpha: float) -> int:
    """Smallest S, of the parity S can have, that the normal test with correction rejects."""
    bar = normal_quantile(1 - alpha) * math.sqrt(n * (n - 1) * (2 * n + 5) / 18) + 1
    s = math.ceil(bar)
    return s + (s - n * (n - 1) // 2) % 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Lags:
    """Which gaps lie between the years, and how often each pair of gaps meets in one year."""

    lags: FloatArray  # every difference of two years, falling ones too, in rising order
    forward: FloatArray  # number of pairs of years, the later minus the earlier, with this gap
    meetings: FloatArray  # shape (lags, lags): over the years, both gaps counted from the same year


@lru_cache(maxsize=1024)
def _lags_of(years: tuple[float, ...]) -> _Lags:
    t = np.array(years, dtype=np.float64)
    gaps = np.round(t[None, :] - t[:, None], 9)
    lags, place = np.unique(gaps, return_inverse=True)
    from_year = np.zeros((t.size, lags.size))
    np.put_along_axis(from_year, place.reshape(gaps.shape), 1.0, axis=1)
    forward = np.where(lags > 0, from_year.sum(axis=0), 0.0)
    return _Lags(lags=lags, forward=forward, meetings=from_year.T @ from_year)


def _moments_under_trend(t: FloatArray, d: float) -> tuple[float, float]:
    """Mean and variance of S for a trend d, in standard deviations a year.

    Two pairs are correlated only when they share a year; with the shared year in the
    same place in both, their differences have correlation 1/2.
    """
    found = _lags_of(tuple(t.tolist()))
    lags = found.lags
    h = lags * d / math.sqrt(2)
    chance = special.ndtr(h)
    mean_sign = 2 * chance - 1
    both = 4 * _both_below(h, chance) - 2 * chance[:, None] - 2 * chance[None, :] + 1
    covariance = (both - np.outer(mean_sign, mean_sign)) * np.outer(np.sign(lags), np.sign(lags))
    own = 1 - mean_sign**2
    np.fill_diagonal(covariance, own)
    # The year itself has lag 0 and sign 0; what it would add to its own year is taken off again.
    at_zero = float(own[lags.size // 2]) * t.size
    variance = float((covariance * found.meetings).sum()) - at_zero - float(found.forward @ own)
    return float(found.forward @ mean_sign), variance


def _both_below(h: FloatArray, chance: FloatArray) -> FloatArray:
    """P(U < h_i, V < h_j) for standard normal U, V with correlation 1/2, by Owen's T.

    Swapping U and V transposes. Where ``h`` is symmetric about 0, as the gaps between years are, half of
    the rows are the other half turned round, for Owen's T is even in its first argument.
    """
    root = math.sqrt(0.75)
    symmetric = bool(np.array_equal(h, -h[::-1]))
    rows = h[h.size // 2 if symmetric else 0 :, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        first = special.owens_t(rows, (h[None, :] / rows - 0.5) / root)
    # At h = 0 Owen's form has a limit: T(0, +-infinity) = +-1/4.
    limit = np.where(h == 0, np.arctan(-0.5 / root) / (2 * math.pi), np.sign(h) * 0.25)
    first = np.where(rows == 0, limit[None, :], first)
    if symmetric:
        first = np.concatenate([first[: -1 - h.size // 2 : -1, ::-1], first])
    a, b = h[:, None], h[None, :]
    apart = (a * b < 0) | ((a * b == 0) & (a + b < 0))
    result: FloatArray = (chance[:, None] + chance[None, :]) / 2 - first - first.T - np.where(apart, 0.5, 0.0)
    return np.where((a == 0) & (b == 0), 0.25 + math.asin(0.5) / (2 * math.pi), result)


@lru_cache(maxsize=4096)
def _formula_power(years: int, ratio: float, alpha: float) -> float:
    return power_of_trend(np.arange(years, dtype=np.float64), ratio, 1.0, alpha=alpha)


@lru_cache(maxsize=4096)
def _simulated_power(years: int, ratio: float, alpha: float) -> float:
    random = np.random.default_rng([SEED, years])
    scatter = random.standard_normal((SIMULATED_SERIES, years))
    x = scatter + ratio * np.arange(years)
    s = np.zeros(SIMULATED_SERIES)
    for lag in range(1, years):
        s += np.sign(x[:, lag:] - x[:, :-lag]).sum(axis=1)
    return float(np.mean(np.abs(s) >= _critical_s(years, alpha)))
