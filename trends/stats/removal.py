"""Number of fish in a closed reach from the catches of several passes (removal method)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trends.stats._checks import BoolArray, FloatArray, IntArray, finite_or_missing, one_of, share
from trends.stats._removal_effort import estimate_with_effort
from trends.stats._removal_engine import estimate_rows
from trends.stats._removal_pooled import RemovalTotal, removal_total
from trends.stats._removal_result import METHODS, REASONS, RemovalEstimate


@dataclass(frozen=True, slots=True, kw_only=True)
class RemovalBatch:
    """One entry per row of catches; the fields are those of :class:`RemovalEstimate`."""

    n_hat: FloatArray
    standard_error: FloatArray
    lower: FloatArray
    upper: FloatArray
    confidence: float
    capture_probability: FloatArray
    capture_standard_error: FloatArray
    capture_lower: FloatArray
    capture_upper: FloatArray
    total_catch: IntArray
    n_passes: IntArray
    fit_chi2: FloatArray
    fit_p: FloatArray
    method: NDArray[np.object_]
    usable: BoolArray
    reason_code: NDArray[np.object_]
    reason: NDArray[np.object_]
    cautions: NDArray[np.object_]


def removal_estimate(
    catches: ArrayLike,
    *,
    method: str = "auto",
    confidence: float = 0.95,
    effort: Sequence[float] | None = None,
) -> RemovalEstimate:
    """Estimate how many fish were present from the falling catches of several passes.

    Parameters
    ----------
    catches : array_like of int, shape (passes,)
        Fish caught and kept out in pass 1, 2, ... [fish]. Missing passes at the end may
        be given as NaN.
    method : {"auto", "two-pass", "maximum-likelihood", "weighted"}
        ``auto`` is two-pass for two passes and maximum likelihood for more. Two-pass and
        maximum likelihood give the real-valued estimate, weighted the whole number of
        Carle & Strub with both weights 1.
    confidence : float in (0, 1)
        For the limits.
    effort : sequence of float, shape (passes,), optional
        Effort of each pass, such as current-on time [s]. When the efforts differ the
        equal-effort formulas do not hold; the chance of capture is then taken as
        1 - exp(-rate * effort) and fitted by maximum likelihood.

    Returns
    -------
    RemovalEstimate
        With ``usable`` False, a reason, the total catch and the lower limit where no
        finite estimate exists. A weighted number that rests on the weights alone is given,
        but is not usable.

    Raises
    ------
    ValueError
        Catches that are negative, not whole, or missing before a pass that was made;
        ``two-pass`` with another number of passes; unequal effort with a method other
        than ``auto`` or ``maximum-likelihood``.

    Notes
    -----
    Assumes a closed reach, every fish equally easy to catch, and the same chance of
    capture in every pass. In practice the chance falls from pass to pass and removal
    estimates lean low (Riley & Fausch 1992; Peterson, Thurow & Guzevich 2004; abstracts).
    A finite estimate exists only if sum (k-i) c_i > T (k-1)/2; for two passes, c1 > c2.
    The limits are by profile likelihood, not n_hat +- 1.96 standard errors, which miss
    too often. Species with different chances of capture pooled together bias it low.

    References
    ----------
    Seber, G.A.F. & Le Cren, E.D. 1967. J. Anim. Ecol. 36:631-643, as given in Bohlin et
    al. 1989, Hydrobiologia 173:9-43, equations 13-16 (two passes).
    Zippin, C. 1956. Biometrics 12:163-189; 1958. J. Wildl. Manage. 22:82-90 (k passes).
    Carle, F.L. & Strub, M.R. 1978. Biometrics 34:621-630 (weighted).

    Examples
    --------
    >>> result = removal_estimate([80, 30])
    >>> result.n_hat, result.lower, result.upper
    (128.0, 114.0, 157.0)
    >>> removal_estimate([20, 25, 22]).reason_code
    'no_decline'
    """
    one_of("method", method, METHODS)
    share("confidence", confidence)
    row = finite_or_missing("catches", catches)
    if effort is not None:
        given = finite_or_missing("effort", effort)
        if np.unique(given[~np.isnan(given)]).size > 1 or given.size != row.size:
            return estimate_with_effort(row, given, method, float(confidence))
        if np.isnan(given).any() or given.min(initial=1.0) <= 0:
            raise ValueError("effort must be given, and above 0, for every pass")
    columns = estimate_rows(row[None, :], method, float(confidence))
    return _first_row(columns, float(confidence))


def removal_batch(catches: ArrayLike, *, method: str = "auto", confidence: float = 0.95) -> RemovalBatch:
    """Removal estimates of many rows of catches, equal to the single calls.

    Parameters
    ----------
    catches : array_like of int, shape (rows, passes)
        Fish caught per pass [fish]; passes not made, at the end of a row, are NaN.
    method, confidence
        As in :func:`removal_estimate`.

    Returns
    -------
    RemovalBatch
        Arrays of shape (rows,).

    Raises
    ------
    ValueError
        As in :func:`removal_estimate`, naming the row.

    Notes
    -----
    The catches enter the estimate only through their total and one weighted sum, so the
    work is done once for each distinct pair.

    Examples
    --------
    >>> batch = removal_batch([[80, 30], [40, 10]])
    >>> batch.n_hat.round(2).tolist()
    [128.0, 53.33]
    """
    one_of("method", method, METHODS)
    share("confidence", confidence)
    rows = finite_or_missing("catches", catches, ndim=2)
    columns = estimate_rows(rows, method, float(confidence))
    return RemovalBatch(confidence=float(confidence), **columns)


def _first_row(columns: dict[str, NDArray[Any]], confidence: float) -> RemovalEstimate:
    """The first entry of every column, as Python numbers."""
    values: dict[str, Any] = {}
    for name, column in columns.items():
        value = column[0]
        values[name] = value.item() if isinstance(value, np.generic) else value
    return RemovalEstimate(confidence=confidence, **values)


__all__ = [
    "METHODS",
    "REASONS",
    "RemovalBatch",
    "RemovalEstimate",
    "RemovalTotal",
    "removal_batch",
    "removal_estimate",
    "removal_total",
]
