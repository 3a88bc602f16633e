"""Removal estimates of a whole table of catches; the single call is a table of one row."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import special

from trends.stats import _removal_likelihood as likelihood
from trends.stats._checks import BoolArray, FloatArray, IntArray
from trends.stats._removal_result import (
    CAUTIONS,
    LARGEST_VARIATION,
    LEAST_CAPTURE_PROBABILITY,
    LEAST_CATCH_MORE_PASSES,
    LEAST_CATCH_TWO_PASSES,
    LEAST_NUMBER_MORE_PASSES,
    LEAST_NUMBER_TWO_PASSES,
    POOR_FIT,
    REASONS,
)

Columns = dict[str, NDArray[Any]]
FLOATS = (
    "n_hat",
    "standard_error",
    "lower",
    "upper",
    "capture_probability",
    "capture_standard_error",
    "capture_lower",
    "capture_upper",
)
REASON_CODES = tuple(REASONS)
# A table of every possible pair is filled directly up to this many cells.
LARGEST_TABLE = 4_000_000
# Up to this many cells a pair can be numbered without losing a digit in a float.
LARGEST_KEY = 2**53
# Rows worked on together where every row counts; their columns should fit a core's cache.
ROWS_PER_BLOCK = 16_384


def estimate_rows(rows: FloatArray, method: str, confidence: float) -> Columns:
    """Columns of results, one entry per row, whatever its number of passes."""
    n_passes = passes_made(rows)
    if rows.shape[0] and n_passes.min() == n_passes.max():
        part = np.ascontiguousarray(rows[:, : n_passes[0]])
        return {**_of_passes(part, part.shape[1], method, confidence), "n_passes": n_passes}
    columns = _empty(rows.shape[0])
    columns["n_passes"] = n_passes
    for k in np.unique(n_passes):
        chosen = np.flatnonzero(n_passes == k)
        for name, column in _of_passes(rows[chosen, :k], int(k), method, confidence).items():
            columns[name][chosen] = column
    return columns


def passes_made(rows: FloatArray) -> IntArray:
    """Number of passes of every row; refuses catches that no crew can have made."""
    missing = np.isnan(rows)
    n_passes: IntArray = rows.shape[1] - np.count_nonzero(missing, axis=1)
    if missing.any():
        gap = np.flatnonzero((missing[:, :-1] & ~missing[:, 1:]).any(axis=1))
        if gap.size:
            raise ValueError(f"catches: row {gap[0]} misses a pass before one that was made")
    if rows.shape[0] and (rows.shape[1] == 0 or n_passes.min() == 0):
        raise ValueError("catches must hold at least one pass")
    with np.errstate(invalid="ignore"):
        wrong = (rows < 0) | (rows != np.floor(rows)) & ~missing
    if wrong.any():
        row, column = np.argwhere(wrong)[0]
        raise ValueError(
            f"catches: pass {column + 1} of row {row} must be a whole number, 0 or more; "
            f"got {rows[row, column]:g}"
        )
    return n_passes


def _empty(size: int) -> Columns:
    columns: Columns = {name: np.full(size, np.nan) for name in (*FLOATS, "fit_chi2", "fit_p")}
    columns["total_catch"] = np.zeros(size, dtype=np.int64)
    columns["n_passes"] = np.zeros(size, dtype=np.int64)
    columns["usable"] = np.zeros(size, dtype=np.bool_)
    for name in ("method", "reason_code", "reason", "cautions"):
        columns[name] = np.empty(size, dtype=object)
    return columns


def _of_passes(catches: FloatArray, k: int, method: str, confidence: float) -> Columns:
    """Results for rows that all have ``k`` passes."""
    if method == "two-pass" and k != 2:
        raise ValueError(f"method 'two-pass' needs exactly 2 passes, got {k}")
    used = method if method != "auto" else ("two-pass" if k == 2 else "maximum-likelihood")
    total = catches.sum(axis=1)
    weighted = catches @ np.arange(k - 1, -1, -1, dtype=np.float64)
    t, x, back = distinct_pairs(total, weighted)
    summary = _of_pairs(t, x, k, "none" if k == 1 else used, confidence)
    reason, flags = summary.pop("reason_index"), summary.pop("caution_bits")
    columns: Columns = {name: column[back] for name, column in summary.items()}
    columns["total_catch"] = total.astype(np.int64)
    columns["method"] = np.broadcast_to(_objects(("none" if k == 1 else used,)), total.shape)
    columns["reason_code"] = _objects(REASON_CODES)[reason][back]
    columns["reason"] = _objects(tuple(REASONS.values()))[reason][back]
    fit, fit_p = fit_of_catches(catches, columns["n_hat"], columns["capture_probability"], columns["usable"])
    columns["fit_chi2"], columns["fit_p"] = fit, fit_p
    bits = flags[back]
    with np.errstate(invalid="ignore"):
        bits |= (fit_p < POOR_FIT).view(np.uint8) << CAUTIONS.index("poor_fit")
    bits |= later_pass_not_smaller(catches).view(np.uint8) << CAUTIONS.index("later_pass_not_smaller")
    columns["cautions"] = _caution_table()[bits]
    return columns


def distinct_pairs(total: FloatArray, weighted: FloatArray) -> tuple[FloatArray, FloatArray, IntArray]:
    """The distinct (T, X) and, for every row, which of them it has."""
    width = int(weighted.max(initial=0)) + 1
    cells = (int(total.max(initial=0)) + 1) * width
    if cells > LARGEST_KEY:
        pairs, back = np.unique(np.column_stack([total, weighted]), axis=0, return_inverse=True)
        return pairs[:, 0].copy(), pairs[:, 1].copy(), back.ravel()
    key = (total * width + weighted).astype(np.int64)
    if total.size > 1000 and cells <= LARGEST_TABLE:
        seen = np.zeros(cells, dtype=np.bool_)
        seen[key] = True
        found = np.flatnonzero(seen)
        number = np.zeros(cells, dtype=np.int64)
        number[found] = np.arange(found.size)
        back = number[key]
    else:
        found, back = np.unique(key, return_inverse=True)
    return (found // width).astype(np.float64), (found % width).astype(np.float64), back


def _of_pairs(t: FloatArray, x: FloatArray, k: int, method: str, confidence: float) -> Columns:
    """Estimates, limits, reasons and cautions of distinct (T, X)."""
    columns: Columns = {name: np.full(t.size, np.nan) for name in FLOATS}
    columns["usable"] = np.zeros(t.size, dtype=np.bool_)
    columns["lower"], columns["upper"] = t.copy(), np.full(t.size, np.inf)
    reason = np.full(t.size, REASON_CODES.index("one_pass"))
    columns["reason_index"] = reason
    columns["caution_bits"] = np.zeros(t.size, dtype=np.uint8)
    if k == 1:
        return columns
    reason[t == 0] = REASON_CODES.index("no_fish")
    some = np.flatnonzero(t > 0)
    if some.size == 0:
        return columns
    t, x = t[some], x[some]
    drop = float(special.chdtri(1, 1 - confidence))
    profile = likelihood.profile_limits(t, x, k, drop)
    columns["lower"][some], columns["upper"][some] = profile.lower, profile.upper
    low, high = likelihood.capture_limits(t, x, k, profile.mode, profile.highest, drop)
    columns["capture_lower"][some], columns["capture_upper"][some] = low, high
    finite = likelihood.has_finite_estimate(t, x, k)
    columns["usable"][some] = finite
    failed = "from_weights" if method == "weighted" else "no_decline"
    reason[some] = np.where(finite, 0, REASON_CODES.index(failed))
    given = np.ones_like(finite) if method == "weighted" else finite
    n, q = point_estimates(t[given], x[given], k, method)
    where = some[given]
    columns["n_hat"][where] = n
    columns["standard_error"][where] = np.sqrt(likelihood.number_variance(n, q, k))
    columns["capture_probability"][where] = 1 - q
    columns["capture_standard_error"][where] = np.sqrt(likelihood.capture_variance(n, q, k))
    columns["caution_bits"][some] = caution_bits(
        columns["n_hat"][some],
        columns["standard_error"][some],
        columns["capture_probability"][some],
        columns["upper"][some],
        t,
        k,
    )
    return columns


def point_estimates(t: FloatArray, x: FloatArray, k: int, method: str) -> tuple[FloatArray, FloatArray]:
    """Number of fish and chance of escaping one pass."""
    if method == "weighted":
        n = likelihood.carle_strub_number(t, x, k)
        return n, 1 - t / (k * n - x)
    if k == 2:
        # The closed form: c1 = X and c2 = T - X, so q = c2/c1.
        first, second = x, t - x
        return first**2 / (first - second), second / first
    q = likelihood.escape_probability(t, x, k)
    return t / (1 - q**k), q


def caution_bits(
    n: FloatArray, error: FloatArray, p: FloatArray, upper: FloatArray, t: FloatArray, k: int
) -> NDArray[np.uint8]:
    """The cautions of every estimate, one bit each in the order of ``CAUTIONS``."""
    least = LEAST_NUMBER_TWO_PASSES if k == 2 else LEAST_NUMBER_MORE_PASSES
    least_catch = LEAST_CATCH_TWO_PASSES if k == 2 else LEAST_CATCH_MORE_PASSES
    estimated = ~np.isnan(n)
    with np.errstate(invalid="ignore", divide="ignore"):
        flags = {
            "low_capture_probability": p < LEAST_CAPTURE_PROBABILITY,
            "wide": estimated & ~(error <= LARGEST_VARIATION * n),
            "small_number": n < least,
            "all_in_first_pass": p == 1,
            "no_upper_limit": np.isinf(upper),
            "interval_may_be_narrow": t < least_catch,
        }
    bits = np.zeros(n.size, dtype=np.uint8)
    for name, flag in flags.items():
        bits |= flag.view(np.uint8) << CAUTIONS.index(name)
    return bits


def fit_of_catches(
    catches: FloatArray, n: FloatArray, p: FloatArray, usable: BoolArray
) -> tuple[FloatArray, FloatArray]:
    """Chi-square of the catches against a constant chance of capture, k - 2 degrees of freedom."""
    rows, k = catches.shape
    chi2, tail = np.full(rows, np.nan), np.full(rows, np.nan)
    if k < 3:
        return chi2, tail
    for start in range(0, rows, ROWS_PER_BLOCK):
        part = slice(start, start + ROWS_PER_BLOCK)
        sought = usable[part]
        numbers, chance = n[part][sought], p[part][sought]
        expected = numbers * chance
        summed = np.zeros(numbers.size)
        for caught in catches[part][sought].T:
            summed += (caught - expected) ** 2 / np.where(expected > 0, expected, 1.0)
            expected = expected * (1 - chance)
        # One degree of freedom is the common case, and its tail is the normal curve's.
        chances = special.erfc(np.sqrt(summed / 2)) if k == 3 else special.chdtrc(k - 2, summed)
        chi2[part][sought], tail[part][sought] = summed, chances
    return chi2, tail


def later_pass_not_smaller(catches: FloatArray) -> BoolArray:
    """True where some pass took fish, and at least as many as the pass before it."""
    found = np.zeros(catches.shape[0], dtype=np.bool_)
    for i in range(1, catches.shape[1]):
        found |= (catches[:, i] >= catches[:, i - 1]) & (catches[:, i] > 0)
    return found


def _objects(words: tuple[str, ...]) -> NDArray[np.object_]:
    table = np.empty(len(words), dtype=object)
    table[:] = words
    return table


def _caution_table() -> NDArray[np.object_]:
    """Every combination of cautions, found by its bits."""
    table = np.empty(1 << len(CAUTIONS), dtype=object)
    for bits in range(table.size):
        table[bits] = tuple(code for i, code in enumerate(CAUTIONS) if bits >> i & 1)
    return table
