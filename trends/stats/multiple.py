"""Many tests at once: the false discovery rate of Benjamini & Hochberg."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from statsmodels.stats.multitest import multipletests

from trends.stats._checks import BoolArray, FloatArray, finite_or_missing, share


@dataclass(frozen=True, slots=True, kw_only=True)
class Adjusted:
    """Adjusted p-values in the order given; NaN where no test was made."""

    p_adjusted: FloatArray
    rejected: BoolArray  # p_adjusted <= alpha
    alpha: float
    n_tests: int
    n_rejected_raw: int  # p <= alpha without adjustment
    n_rejected: int
    expected_false_alarms: float  # alpha * n_tests, if nothing changes anywhere
    method: str


def benjamini_hochberg(p_values: ArrayLike, *, alpha: float = 0.05) -> Adjusted:
    """Adjust the p-values of many stations so that false alarms stay a small share of the alarms.

    Parameters
    ----------
    p_values : array_like of float, shape (tests,)
        Two-sided p-values; NaN where no test was made, which is not counted as a test.
    alpha : float in (0, 1)
        Largest expected share of false alarms among the alarms.

    Returns
    -------
    Adjusted

    Raises
    ------
    ValueError
        A p-value outside 0 to 1.

    Notes
    -----
    Holds for independent tests, and for stations that move together; see the paper of
    2001 for the latter.

    References
    ----------
    Benjamini, Y. & Hochberg, Y. 1995. J. R. Stat. Soc. B 57:289-300.
    Benjamini, Y. & Yekutieli, D. 2001. Ann. Stat. 29:1165-1188.

    Examples
    --------
    >>> benjamini_hochberg([0.01, 0.04, 0.03]).p_adjusted.round(3).tolist()
    [0.03, 0.04, 0.04]
    """
    share("alpha", alpha)
    p = finite_or_missing("p_values", p_values)
    made = ~np.isnan(p)
    if np.any((p[made] < 0) | (p[made] > 1)):
        raise ValueError("p_values must lie between 0 and 1")
    adjusted = np.full(p.size, np.nan)
    if made.any():
        adjusted[made] = multipletests(p[made], alpha=alpha, method="fdr_bh")[1]
    rejected = np.zeros(p.size, dtype=np.bool_)
    rejected[made] = adjusted[made] <= alpha
    return Adjusted(
        p_adjusted=adjusted,
        rejected=rejected,
        alpha=float(alpha),
        n_tests=int(made.sum()),
        n_rejected_raw=int(np.count_nonzero(p[made] <= alpha)),
        n_rejected=int(rejected.sum()),
        expected_false_alarms=float(alpha) * int(made.sum()),
        method="Benjamini-Hochberg",
    )
