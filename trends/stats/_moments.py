"""Variance, continuity correction and normal p of Kendall's S, shared by every test."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import overload

import numpy as np
from scipy import special

from trends.stats._checks import FloatArray


def variance_of_s(n: int, value_ties: Sequence[int], year_ties: Sequence[int] = ()) -> float:
    """Variance of S under no trend, with ties in the values and, if any, in the years.

    References
    ----------
    Kendall, M.G. 1976. Rank Correlation Methods, 4th ed., equation 4.4 (as quoted in
    the help of general statistics packages; page not seen).
    """
    whole = n * (n - 1) * (2 * n + 5)
    of_values = sum(a * (a - 1) * (2 * a + 5) for a in value_ties)
    of_years = sum(b * (b - 1) * (2 * b + 5) for b in year_ties)
    variance = (whole - of_values - of_years) / 18
    if value_ties and year_ties:
        pairs = sum(a * (a - 1) for a in value_ties) * sum(b * (b - 1) for b in year_ties)
        variance += pairs / (2 * n * (n - 1))
        if n > 2:
            triples = sum(a * (a - 1) * (a - 2) for a in value_ties) * sum(
                b * (b - 1) * (b - 2) for b in year_ties
            )
            variance += triples / (9 * n * (n - 1) * (n - 2))
    # All values (or all years) alike leave only rounding behind.
    return variance if variance > 1e-9 else 0.0


@overload
def corrected_z(s: float, variance: float) -> float: ...
@overload
def corrected_z(s: FloatArray, variance: FloatArray) -> FloatArray: ...
def corrected_z(s: float | FloatArray, variance: float | FloatArray) -> float | FloatArray:
    """Standard score of S, moved one towards 0 because S is a whole number; 0 where variance is 0."""
    numerator = np.sign(s) * np.maximum(np.abs(s) - 1.0, 0.0)
    spread = np.sqrt(variance)
    z = np.divide(numerator, spread, out=np.zeros_like(spread, dtype=np.float64), where=spread > 0)
    return float(z) if np.ndim(z) == 0 else z


@overload
def normal_p(z: float) -> float: ...
@overload
def normal_p(z: FloatArray) -> FloatArray: ...
def normal_p(z: float | FloatArray) -> float | FloatArray:
    """Two-sided p of a standard score."""
    p = special.erfc(np.abs(z) / math.sqrt(2.0))
    return float(p) if np.ndim(p) == 0 else p


def normal_quantile(confidence: float) -> float:
    """The score that the middle ``confidence`` of a normal distribution stays within."""
    return float(special.ndtri(0.5 + confidence / 2))
