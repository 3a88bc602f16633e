"""Pairs of years, and whether neighbouring years resemble each other beyond the trend."""

from __future__ import annotations

import numpy as np

from trends.stats._checks import BoolArray, FloatArray, IntArray

# Lag-one autocorrelation above which a result carries a caution (judgement: at r = 0.3 the
# plain test gives twice the false alarms it should, see the README).
ALIKE_FROM_TEN_YEARS = 0.2
ALIKE_WITH_FEWER_YEARS = 0.4
LEAST_YEARS = 5


def pair_slopes(years: FloatArray, values: FloatArray) -> FloatArray:
    """Sorted slopes of all pairs from different years."""
    first, second = np.triu_indices(years.size, k=1)
    run = years[second] - years[first]
    apart = run != 0
    slopes: FloatArray = (values[second] - values[first])[apart] / run[apart]
    slopes.sort()
    return slopes


def autocorrelation(values: FloatArray, max_lag: int) -> FloatArray:
    """Autocorrelations at lags 1..max_lag, denominator with all n terms; NaN if all are alike."""
    centred = values - values.mean()
    whole = float(centred @ centred)
    # Detrending an exact line leaves rounding behind, which must not be read as a pattern.
    if whole <= 1e-24 * max(1.0, float(np.abs(values).max()) ** 2) * values.size:
        return np.full(max_lag, np.nan)
    return np.array([float(centred[lag:] @ centred[:-lag]) / whole for lag in range(1, max_lag + 1)])


def neighbours_alike(years: FloatArray, values: FloatArray, slope: float) -> bool:
    """True when the lag-one autocorrelation around the slope is high; False where gaps forbid a look."""
    steps = np.diff(years)
    if years.size < LEAST_YEARS or steps[0] <= 0 or not np.allclose(steps, steps[0], rtol=1e-9, atol=0):
        return False
    bar = ALIKE_FROM_TEN_YEARS if years.size >= 10 else ALIKE_WITH_FEWER_YEARS
    return bool(autocorrelation(values - slope * (years - years[0]), 1)[0] > bar)


def rows_with_neighbours_alike(t: FloatArray, x: FloatArray, slope: FloatArray, n: IntArray) -> BoolArray:
    """The same for every row of a table, gaps at either end of a row set aside."""
    alike = np.zeros(n.size, dtype=np.bool_)
    steps = np.diff(t)
    if t.size < LEAST_YEARS or not np.allclose(steps, steps[0], rtol=1e-9, atol=0):
        return alike
    present = ~np.isnan(x)
    first = present.argmax(axis=1)
    last = t.size - 1 - present[:, ::-1].argmax(axis=1)
    whole = np.flatnonzero((n >= LEAST_YEARS) & (last - first + 1 == n))
    if not whole.size:
        return alike
    here, size = present[whole], n[whole]
    left = x[whole] - slope[whole, None] * (t - t[first[whole], None])
    largest = np.abs(np.where(here, left, 0.0)).max(axis=1)
    centred = np.where(here, left - (np.where(here, left, 0.0).sum(axis=1) / size)[:, None], 0.0)
    spread = (centred**2).sum(axis=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        r = (centred[:, 1:] * centred[:, :-1]).sum(axis=1) / spread
    bar = np.where(size >= 10, ALIKE_FROM_TEN_YEARS, ALIKE_WITH_FEWER_YEARS)
    alike[whole] = (spread > 1e-24 * np.maximum(1.0, largest**2) * size) & (r > bar)
    return alike
