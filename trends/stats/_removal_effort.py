"""Removal estimate when the passes were made with unequal effort, by maximum likelihood."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from scipy import optimize, special

from trends.stats._checks import FloatArray
from trends.stats._removal_engine import caution_bits, later_pass_not_smaller, passes_made
from trends.stats._removal_likelihood import LARGEST_RATIO
from trends.stats._removal_result import CAUTIONS, POOR_FIT, REASONS, RemovalEstimate

# Capture rates per unit of mean effort between which the estimate is sought.
SMALLEST_RATE, LARGEST_RATE = 1e-6, 60.0


class _EffortLikelihood:
    """Catches c_i with chance 1 - exp(-rate f_i), f_i the effort relative to its mean."""

    def __init__(self, catches: FloatArray, effort: FloatArray) -> None:
        self.catches = catches
        self.effort = effort / effort.mean()
        self.total = float(catches.sum())
        self.all_effort = float(self.effort.sum())
        self.taken = np.cumsum(catches)

    def rate(self) -> float:
        """Most likely rate, with the best number for it; NaN when the catch did not fall enough."""
        before = np.cumsum(self.effort) - self.effort

        def slope(rate: float) -> float:
            gained = self.catches * (self.effort / np.expm1(rate * self.effort) - before)
            return float(gained.sum() - self.total * self.all_effort / math.expm1(rate * self.all_effort))

        if slope(LARGEST_RATE) >= 0:
            return math.inf
        if slope(SMALLEST_RATE) <= 0:
            return math.nan
        return float(optimize.brentq(slope, SMALLEST_RATE, LARGEST_RATE, xtol=1e-14, rtol=1e-14))

    def at(self, n: float, rate: float) -> float:
        """Log-likelihood of ``n`` fish at a rate."""
        caught = self.catches > 0
        left = float((n - self.taken) @ self.effort)
        ways = float(special.gammaln(n + 1) - special.gammaln(n - self.total + 1))
        if math.isinf(rate):
            return ways if left == 0 and caught[1:].sum() == 0 else -math.inf
        hits = self.catches[caught] @ np.log(-np.expm1(-rate * self.effort[caught]))
        return ways + float(hits) - rate * left

    def profile(self, n: float) -> float:
        """Log-likelihood of ``n`` fish at the best rate for that number."""
        left = float((n - self.taken) @ self.effort)
        if left <= 0:
            return self.at(n, math.inf)

        def slope(log_rate: float) -> float:
            return float(self.catches @ (self.effort / np.expm1(math.exp(log_rate) * self.effort))) - left

        low, high = math.log(self.total / (self.total + n) / self.all_effort) - 5, math.log(LARGEST_RATE)
        if slope(high) > 0:
            return self.at(n, LARGEST_RATE)
        return self.at(n, math.exp(float(optimize.brentq(slope, low, high, xtol=1e-13))))

    @property
    def limit(self) -> float:
        """What the profile tends to as the number of fish grows without end."""
        caught = self.catches > 0
        share = self.effort[caught] / self.all_effort
        return float(self.catches[caught] @ np.log(self.total * share)) - self.total

    def best_at_rate(self, rate: float) -> float:
        """Log-likelihood at a rate, with the best whole number of fish for it."""
        ever = -math.expm1(-rate * self.all_effort)
        return self.at(max(self.total, math.floor(self.total / ever * (1 + 1e-12))), rate)


def estimate_with_effort(
    row: FloatArray, effort: FloatArray, method: str, confidence: float
) -> RemovalEstimate:
    """Estimate for one row of catches; see :func:`trends.stats.removal.removal_estimate`.

    The variance is the inverse of the expected information of number and rate; with equal
    effort it is Zippin's formula.
    """
    if method not in ("auto", "maximum-likelihood"):
        raise ValueError(f"method {method!r} needs the same effort in every pass; use maximum-likelihood")
    k = int(passes_made(row[None, :])[0])
    if effort.size not in (k, row.size):
        raise ValueError(f"effort has {effort.size} entries for {k} passes")
    catches, effort = row[:k], effort[:k]
    if np.isnan(effort).any() or effort.min() <= 0:
        raise ValueError("effort must be given, and above 0, for every pass")
    total = float(catches.sum())
    if k == 1 or total == 0:
        code = "one_pass" if k == 1 else "no_fish"
        return _result(catches, confidence, code=code, lower=total, upper=math.inf)
    model = _EffortLikelihood(catches, effort)
    drop = float(special.chdtri(1, 1 - confidence))
    rate = model.rate()
    lower, upper, highest = _limits(model, drop, rate)
    low_rate, high_rate = _rate_limits(model, highest - drop / 2, rate)
    low_p, high_p = -math.expm1(-low_rate), -math.expm1(-high_rate)
    if math.isnan(rate):
        return _result(
            catches,
            confidence,
            code="no_decline",
            lower=lower,
            upper=upper,
            capture_lower=low_p,
            capture_upper=high_p,
        )
    expected = None
    if math.isinf(rate):
        n, variance, rate_variance, p = total, 0.0, 0.0, 1.0
    else:
        p = -math.expm1(-rate)
        missed = math.exp(-rate * model.all_effort)
        n = total / (1 - missed)
        survive = np.exp(-rate * (np.cumsum(model.effort) - model.effort))
        chance = -np.expm1(-rate * model.effort)
        of_rate = n * float(np.sum(model.effort**2 * survive * (1 - chance) / chance))
        of_number = (1 - missed) / (n * missed)
        variance = 1 / (of_number - model.all_effort**2 / of_rate)
        rate_variance = 1 / (of_rate - model.all_effort**2 / of_number)
        expected = n * survive * chance
    return _result(
        catches,
        confidence,
        code="",
        lower=lower,
        upper=upper,
        n_hat=n,
        standard_error=math.sqrt(variance),
        capture_probability=p,
        capture_standard_error=(1 - p) * math.sqrt(rate_variance),
        capture_lower=low_p,
        capture_upper=high_p,
        expected=expected,
    )


def _limits(model: _EffortLikelihood, drop: float, rate: float) -> tuple[float, float, float]:
    """Profile limits on whole N and the highest log-likelihood."""
    total, cap = model.total, LARGEST_RATIO * model.total
    inner, highest = total, model.limit
    if not math.isnan(rate):
        inner = (
            total if math.isinf(rate) else float(math.floor(total / -math.expm1(-rate * model.all_effort)))
        )
        while inner > total and model.profile(inner - 1) >= model.profile(inner):
            inner -= 1
        highest = max(highest, model.profile(inner))
    floor = highest - drop / 2 - 1e-12 * abs(highest)
    while model.profile(inner) < floor and inner < cap:
        inner = inner * 2 + 1
    lower = _first(lambda n: model.profile(n) >= floor, total, inner)
    if model.limit >= floor:
        return lower, math.inf, highest
    outer = inner * 2 + 1
    while model.profile(outer) >= floor and outer < cap:
        outer *= 2
    upper = _first(lambda n: model.profile(n) < floor, inner, outer) - 1
    return lower, (upper if outer < cap else math.inf), highest


def _first(condition: Callable[[float], bool], low: float, high: float) -> float:
    """Smallest whole number from ``low`` to ``high`` that meets a condition ``high`` meets."""
    if condition(low):
        return low
    while high - low > 1:
        middle = float(math.floor((low + high) / 2))
        low, high = (low, middle) if condition(middle) else (middle, high)
    return high


def _rate_limits(model: _EffortLikelihood, floor: float, rate: float) -> tuple[float, float]:
    """Profile limits of the rate; 0 and infinity where the likelihood stays high up to there."""
    floor -= 1e-9 * max(1.0, abs(floor))
    best = SMALLEST_RATE if math.isnan(rate) else min(rate, LARGEST_RATE)
    low, inner = SMALLEST_RATE, best
    outer, high = best, LARGEST_RATE
    for _ in range(80):
        middle = (low + inner) / 2
        low, inner = (low, middle) if model.best_at_rate(middle) >= floor else (middle, inner)
        middle = (outer + high) / 2
        outer, high = (middle, high) if model.best_at_rate(middle) >= floor else (outer, middle)
    lowest = 0.0 if model.limit >= floor else inner
    return lowest, (math.inf if model.best_at_rate(LARGEST_RATE) >= floor else outer)


def _result(
    catches: FloatArray,
    confidence: float,
    *,
    code: str,
    lower: float,
    upper: float,
    n_hat: float = math.nan,
    standard_error: float = math.nan,
    capture_probability: float = math.nan,
    capture_standard_error: float = math.nan,
    capture_lower: float = math.nan,
    capture_upper: float = math.nan,
    expected: FloatArray | None = None,
) -> RemovalEstimate:
    k, chi2, fit_p = catches.size, math.nan, math.nan
    if k > 2 and expected is not None:
        chi2 = float(np.sum((catches - expected) ** 2 / expected))
        fit_p = float(special.chdtrc(k - 2, chi2))
    bits = 0
    if k > 1 and catches.sum() > 0:
        n, error, p, top = (np.array([v]) for v in (n_hat, standard_error, capture_probability, upper))
        caught = np.array([float(catches.sum())])
        bits = int(caution_bits(n, error, p, top, caught, k)[0])
    if later_pass_not_smaller(catches[None, :])[0]:
        bits |= 1 << CAUTIONS.index("later_pass_not_smaller")
    if fit_p < POOR_FIT:
        bits |= 1 << CAUTIONS.index("poor_fit")
    return RemovalEstimate(
        n_hat=n_hat,
        standard_error=standard_error,
        lower=lower,
        upper=upper,
        confidence=confidence,
        capture_probability=capture_probability,
        capture_standard_error=capture_standard_error,
        capture_lower=capture_lower,
        capture_upper=capture_upper,
        total_catch=int(catches.sum()),
        n_passes=k,
        fit_chi2=chi2,
        fit_p=fit_p,
        method="maximum-likelihood" if k > 1 else "none",
        usable=code == "",
        reason_code=code,
        reason=REASONS[code],
        cautions=tuple(c for i, c in enumerate(CAUTIONS) if bits >> i & 1),
    )
