"""Total of several taxa by the removal method: pooled, and taxon by taxon."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trends.stats._checks import finite_or_missing
from trends.stats._removal_result import RemovalEstimate


@dataclass(frozen=True, slots=True, kw_only=True)
class RemovalTotal:
    """Two ways to a total; neither is a verdict."""

    pooled: RemovalEstimate  # all taxa as if they were one; leans low when they are caught unequally
    by_taxon: tuple[RemovalEstimate, ...]
    labels: tuple[str, ...]
    separate: float  # sum over taxa with an estimate, plus the catch of the others [fish]
    separate_standard_error: float  # over taxa with an estimate; NaN when there is none
    separate_lower: float  # separate -+ 1.96 standard errors, never below the catch
    separate_upper: float  # infinite when a taxon has no estimate
    without_estimate: tuple[str, ...]  # taxa that enter with their catch alone
    complete: bool  # every taxon that was caught has an estimate
    total_catch: int


def removal_total(
    catches_by_taxon: ArrayLike,
    *,
    labels: Sequence[str] | None = None,
    method: str = "auto",
    confidence: float = 0.95,
    effort: Sequence[float] | None = None,
) -> RemovalTotal:
    """Estimate the fish of all taxa together, pooled and as a sum of taxa.

    Parameters
    ----------
    catches_by_taxon : array_like of int, shape (taxa, passes)
        Fish of each taxon in each pass [fish].
    labels : sequence of str, optional
        Names of the taxa.
    method, confidence, effort
        As in :func:`trends.stats.removal.removal_estimate`.

    Returns
    -------
    RemovalTotal

    Raises
    ------
    ValueError
        As in ``removal_estimate``; or a wrong number of labels.

    Notes
    -----
    Where some taxon has no estimate, the separate sum counts its catch only: it is then
    a least value, ``complete`` is False and the upper limit infinite. The separate limits
    add the variances of the taxa as independent and use the normal curve.

    Examples
    --------
    >>> from trends.stats.removal import removal_total
    >>> total = removal_total([[80, 30], [40, 10], [3, 3]], labels=["a", "b", "c"])
    >>> round(total.separate, 1), total.without_estimate
    (187.3, ('c',))
    """
    from scipy.special import ndtri

    from trends.stats.removal import removal_estimate

    rows = finite_or_missing("catches_by_taxon", catches_by_taxon, ndim=2)
    names = tuple(labels) if labels is not None else tuple(str(i) for i in range(rows.shape[0]))
    if len(names) != rows.shape[0]:
        raise ValueError(f"labels has {len(names)} entries but catches_by_taxon has {rows.shape[0]} rows")
    if rows.shape[0] == 0:
        raise ValueError("catches_by_taxon must hold at least one taxon")
    by_taxon = tuple(
        removal_estimate(row, method=method, confidence=confidence, effort=effort) for row in rows
    )
    pooled = removal_estimate(rows.sum(axis=0), method=method, confidence=confidence, effort=effort)
    usable = [estimate for estimate in by_taxon if estimate.usable]
    missing = tuple(
        name
        for name, estimate in zip(names, by_taxon, strict=True)
        if not estimate.usable and estimate.total_catch > 0
    )
    total = int(np.nansum(rows))
    separate = float(sum(e.n_hat if e.usable else e.total_catch for e in by_taxon))
    error = math.sqrt(sum(e.standard_error**2 for e in usable)) if usable else math.nan
    reach = float(ndtri(0.5 + confidence / 2)) * error
    return RemovalTotal(
        pooled=pooled,
        by_taxon=by_taxon,
        labels=names,
        separate=separate if total else math.nan,
        separate_standard_error=error,
        separate_lower=max(float(total), separate - reach) if usable else float(total),
        separate_upper=math.inf if missing or not usable else max(float(total), separate + reach),
        without_estimate=missing,
        complete=bool(usable) and not missing,
        total_catch=total,
    )
