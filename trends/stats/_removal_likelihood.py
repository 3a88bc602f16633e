"""Likelihood arithmetic of the removal method, on arrays of distinct catch summaries.

Catches c_1..c_k enter only through T = sum c_i and X = sum (k - i) c_i. One entry of the
arrays below is one such pair; all have the same number of passes k. Entries with T = 0
must not be handed in.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy import special

from trends.stats._checks import BoolArray, FloatArray

# Beyond this many fish per fish caught, an upper limit is no longer told from "none".
LARGEST_RATIO = 1e7
HALVINGS = 60
# Limits of the capture probability are needed to 10 places only.
HALVINGS_OF_LIMITS = 34


_LOG_FACTORIALS: FloatArray = special.gammaln(np.arange(1.0, 65_537.0))


def log_factorial(n: FloatArray) -> FloatArray:
    """Logarithm of n! of whole numbers; small ones are looked up."""
    known = n < _LOG_FACTORIALS.size
    if known.all():
        return _LOG_FACTORIALS[n.astype(np.int64)]
    found: FloatArray = _LOG_FACTORIALS[np.where(known, n, 0.0).astype(np.int64)]
    found[~known] = special.gammaln(n[~known] + 1)
    return found


@dataclass(frozen=True, slots=True)
class Profile:
    """Limits on whole N, the most likely whole N (infinite when there is none), its log-likelihood."""

    lower: FloatArray
    upper: FloatArray
    mode: FloatArray
    highest: FloatArray


def has_finite_estimate(total: FloatArray, weighted: FloatArray, k: int) -> BoolArray:
    """True where the catch fell enough for a finite estimate: X > T (k - 1) / 2."""
    finite: BoolArray = weighted > total * (k - 1) / 2
    return finite


def escape_probability(total: FloatArray, weighted: FloatArray, k: int) -> FloatArray:
    """Chance q of escaping one pass, by maximum likelihood; only for finite estimates.

    Zippin's equation q/p - k q^k/(1 - q^k) = sum (i-1) c_i / T says that the mean number
    of passes survived by the fish caught equals its expectation. Written as a ratio of
    polynomials it has no trouble near q = 1.
    """
    survived = (k - 1) - weighted / total
    low, high = np.zeros_like(total), np.ones_like(total)
    for _ in range(HALVINGS):
        q = (low + high) / 2
        caught, passes = np.ones_like(q), np.zeros_like(q)
        power = np.ones_like(q)
        for i in range(1, k):
            power = power * q
            caught += power
            passes += i * power
        too_low = passes < survived * caught
        low, high = np.where(too_low, q, low), np.where(too_low, high, q)
    return np.where(survived <= 0, 0.0, (low + high) / 2)


def number_variance(n: FloatArray, q: FloatArray, k: int) -> FloatArray:
    """Variance of the estimated number (Zippin 1958); NaN where the formula gives none."""
    p, all_passes = 1 - q, q**k
    below = (1 - all_passes) ** 2 - (p * k) ** 2 * q ** (k - 1)
    with np.errstate(divide="ignore", invalid="ignore"):
        variance: FloatArray = np.where(below > 0, n * (1 - all_passes) * all_passes / below, np.nan)
    return variance


def capture_variance(n: FloatArray, q: FloatArray, k: int) -> FloatArray:
    """Variance of the capture probability (Zippin 1958); NaN where the formula gives none."""
    p = 1 - q
    below = n * (q * (1 - q**k) ** 2 - (p * k) ** 2 * q**k)
    with np.errstate(divide="ignore", invalid="ignore"):
        variance = np.where(below > 0, (q * p) ** 2 * (1 - q**k) / below, np.nan)
    return np.where(q == 0, 0.0, variance)


def carle_strub_number(total: FloatArray, weighted: FloatArray, k: int) -> FloatArray:
    """Smallest whole N whose weighted likelihood is not raised by one more fish; weights 1."""

    def falls(n: FloatArray) -> BoolArray:
        ratio = (n + 1) / (n - total + 1)
        left = k * n - weighted
        for i in range(1, k + 1):
            ratio = ratio * (left - total + 1 + k - i) / (left + 2 + k - i)
        fallen: BoolArray = ratio <= 1
        return fallen

    return first_whole(falls, total)


def log_likelihood(n: FloatArray, total: FloatArray, weighted: FloatArray, k: int) -> FloatArray:
    """Log-likelihood of N fish with the best capture probability for that N."""
    chances = k * n - weighted
    p = total / chances
    missed = special.xlog1py(chances - total, -np.minimum(p, 1.0))
    ways = log_factorial(n) - log_factorial(n - total)
    # For many fish the two gamma terms cancel; Stirling's series for their difference does not.
    many = (n > 1e4) & (n > 4 * total)
    if many.any():
        big, few = n[many], total[many]
        rest = big - few
        ways[many] = (
            few * np.log(big)
            - (rest + 0.5) * np.log1p(-few / big)
            - few
            + (1 / big - 1 / rest) / 12
            - (1 / big**3 - 1 / rest**3) / 360
        )
    result: FloatArray = ways + total * np.log(p) + missed
    return result


def limit_of_log_likelihood(total: FloatArray, k: int) -> FloatArray:
    """What the log-likelihood tends to as N grows without end."""
    limit: FloatArray = total * np.log(total / k) - total
    return limit


def profile_limits(total: FloatArray, weighted: FloatArray, k: int, drop: float) -> Profile:
    """Lower and upper limit on whole N.

    All N with 2 (highest - logL(N)) <= drop belong to the interval; the upper limit is
    infinite when the likelihood stays that high for ever.
    """
    far = limit_of_log_likelihood(total, k)
    # Without a finite estimate the best number is taken to be endless, and the drop is
    # counted from there: slightly wider than from a faint peak on whole N.
    peaked = has_finite_estimate(total, weighted, k)
    mode = np.full_like(total, np.inf)
    highest = far.copy()
    if peaked.any():
        t, x = total[peaked], weighted[peaked]

        def past_peak(n: FloatArray) -> BoolArray:
            over: BoolArray = log_likelihood(n + 1, t, x, k) <= log_likelihood(n, t, x, k)
            return over

        mode[peaked] = first_whole(past_peak, t)
        highest[peaked] = np.maximum(far[peaked], log_likelihood(mode[peaked], t, x, k))
    floor = highest - drop / 2 - 1e-12 * np.abs(highest)

    def inside(n: FloatArray) -> BoolArray:
        enough: BoolArray = log_likelihood(n, total, weighted, k) >= floor
        return enough

    # Of many fish the interval is narrow, and steps that double from the catch would leap over it:
    # the search ends at the most likely number, which is inside.
    lower = first_whole(inside, total, np.where(inside(np.where(peaked, mode, total)), mode, np.inf))
    upper = np.full_like(total, np.inf)
    bounded = far < floor
    if bounded.any():
        t, x, low = total[bounded], weighted[bounded], floor[bounded]

        def outside(n: FloatArray) -> BoolArray:
            gone: BoolArray = log_likelihood(n, t, x, k) < low
            return gone

        upper[bounded] = first_whole(outside, mode[bounded]) - 1
        upper[bounded] = np.where(upper[bounded] > LARGEST_RATIO * t, np.inf, upper[bounded])
    return Profile(lower, upper, mode, highest)


def capture_limits(
    total: FloatArray, weighted: FloatArray, k: int, mode: FloatArray, highest: FloatArray, drop: float
) -> tuple[FloatArray, FloatArray]:
    """Profile limits of the capture probability; 0 and 1 where the likelihood stays high up to there."""
    floor = highest - drop / 2 - 1e-12 * np.abs(highest)

    def high_enough(p: FloatArray) -> BoolArray:
        # For a given p the likelihood is highest at the whole part of T / (1 - q^k).
        with np.errstate(divide="ignore"):
            ever = -np.expm1(k * np.log1p(-p))
            n = np.maximum(total, np.floor(total / ever * (1 + 1e-12)))
            ways = log_factorial(n) - log_factorial(n - total)
            value = ways + total * np.log(p) + special.xlog1py(k * n - weighted - total, -p)
        enough: BoolArray = value >= floor
        return enough

    with np.errstate(invalid="ignore"):
        best = np.where(np.isfinite(mode), total / (k * mode - weighted), 1e-9)
    low, inner = np.full_like(total, 1e-9), best.copy()
    outer, high = best.copy(), np.ones_like(total)
    for _ in range(HALVINGS_OF_LIMITS):
        middle = (low + inner) / 2
        good = high_enough(middle)
        low, inner = np.where(good, low, middle), np.where(good, middle, inner)
        middle = (outer + high) / 2
        good = high_enough(middle)
        outer, high = np.where(good, middle, outer), np.where(good, high, middle)
    without_end = limit_of_log_likelihood(total, k) >= floor
    return np.where(without_end, 0.0, inner), np.where(high_enough(np.ones_like(total)), 1.0, outer)


def first_whole(
    condition: Callable[[FloatArray], BoolArray], start: FloatArray, reached: FloatArray | None = None
) -> FloatArray:
    """Smallest whole number from ``start`` on that meets a condition which, once met, stays met.

    It need stay met up to ``reached`` only, where that is given and finite: a number that meets it.
    """
    low = start - 1.0  # not met, or not asked
    step = np.ones_like(start)
    known: BoolArray = np.zeros(start.shape, dtype=np.bool_) if reached is None else np.isfinite(reached)
    high: FloatArray = start.copy() if reached is None else np.where(known, reached, start)
    for _ in range(40):
        open_ended = ~known & ~condition(high) & (high < LARGEST_RATIO * np.maximum(start, 1.0))
        if not open_ended.any():
            break
        low = np.where(open_ended, high, low)
        step = np.where(open_ended, step * 2, step)
        high = np.where(open_ended, high + step, high)
    while np.any(high - low > 1):
        middle = np.floor((low + high) / 2)
        met = condition(np.maximum(middle, start)) & (middle >= start)
        wide = high - low > 1
        high = np.where(wide & met, middle, high)
        low = np.where(wide & ~met, middle, low)
    return high
