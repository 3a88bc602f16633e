"""Diversity of a catch and difference between two catches.

Unknown is not zero: where a measure has no value (no fish at all, one species for an
evenness, a sample larger than the catch) the answer is NaN, never 0. Missing or negative
counts are refused with ``ValueError``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from trends.stats._checks import FloatArray, not_negative, positive, whole_counts


def shannon(counts: ArrayLike, *, base: float = math.e) -> float:
    """Shannon diversity H' = -sum p log p.

    Parameters
    ----------
    counts : array_like of float, shape (taxa,)
        Fish, or grams, of each taxon; zeros are left out.
    base : float
        Of the logarithm: e by default, 2 or 10 in some papers. Above 1.

    Returns
    -------
    float
        0 for one taxon, NaN when nothing was caught.

    References
    ----------
    Shannon, C.E. 1948. Bell Syst. Tech. J. 27:379-423.

    Examples
    --------
    >>> round(shannon([1, 2, 3, 4]), 6)
    1.279854
    """
    if positive("base", base) <= 1:
        raise ValueError(f"base must be above 1, got {base}")
    p = _shares(counts)
    if p.size == 0:
        return math.nan
    return float(special.entr(p).sum() / math.log(base))


def simpson(counts: ArrayLike) -> float:
    """Simpson diversity 1 - sum p^2: the chance that two fish drawn with replacement differ.

    Parameters
    ----------
    counts : array_like of float, shape (taxa,)
        Fish, or grams, of each taxon.

    Returns
    -------
    float
        0 for one taxon, NaN when nothing was caught.

    References
    ----------
    Simpson, E.H. 1949. Nature 163:688.

    Examples
    --------
    >>> round(simpson([1, 0, 2, 5, 2]), 2)
    0.66
    """
    p = _shares(counts)
    return math.nan if p.size == 0 else float(1 - np.sum(p**2))


def inverse_simpson(counts: ArrayLike, *, small_sample: bool = False) -> float:
    """Inverse of Simpson's concentration, 1/sum p^2; or of its small-sample form.

    Parameters
    ----------
    counts : array_like, shape (taxa,)
        Fish of each taxon; whole numbers for the small-sample form.
    small_sample : bool
        Use sum n(n-1) / N(N-1), fish drawn without replacement.

    Returns
    -------
    float
        NaN when nothing was caught, or when no two fish are alike in the small-sample form.

    Examples
    --------
    >>> inverse_simpson([1, 0, 2, 5, 2], small_sample=True)
    3.75
    """
    if not small_sample:
        p = _shares(counts)
        return math.nan if p.size == 0 else float(1 / np.sum(p**2))
    n = whole_counts("counts", counts)
    alike = float(np.sum(n * (n - 1)))
    return float(n.sum() * (n.sum() - 1) / alike) if alike > 0 else math.nan


def pielou_evenness(counts: ArrayLike) -> float:
    """Pielou's evenness J' = H' / ln S, S the taxa present.

    Parameters
    ----------
    counts : array_like of float, shape (taxa,)
        Fish, or grams, of each taxon.

    Returns
    -------
    float
        NaN with fewer than two taxa, where the quotient is 0/0. (One general library
        answers 1 there; that is a convention, not a result.)

    References
    ----------
    Pielou, E.C. 1966. J. Theor. Biol. 13:131-144.

    Examples
    --------
    >>> round(pielou_evenness([1, 1, 1, 1, 0, 0]), 6)
    1.0
    """
    p = _shares(counts)
    return math.nan if p.size < 2 else float(special.entr(p).sum() / math.log(p.size))


def hill_number(counts: ArrayLike, order: float) -> float:
    """Effective number of taxa of a given order: 0 counts taxa, 1 is exp(H'), 2 is 1/sum p^2.

    Parameters
    ----------
    counts : array_like of float, shape (taxa,)
        Fish, or grams, of each taxon.
    order : float
        0 or more; infinity gives 1 / the largest share.

    Returns
    -------
    float
        NaN when nothing was caught.

    References
    ----------
    Hill, M.O. 1973. Diversity and evenness: a unifying notation. Ecology 54:427-432.

    Examples
    --------
    >>> round(hill_number([1, 2, 3, 4, 5], 2), 6)
    4.090909
    """
    if math.isnan(order) or order < 0:
        raise ValueError(f"order must be 0 or more, got {order}")
    p = _shares(counts)
    if p.size == 0:
        return math.nan
    if order == 1:
        return float(math.exp(special.entr(p).sum()))
    if math.isinf(order):
        return float(1 / p.max())
    # Powers relative to the largest share, and logarithms, so that no order overflows.
    largest = float(p.max())
    total = float(np.sum((p / largest) ** order))
    return math.exp((math.log(total) + order * math.log(largest)) / (1 - order))


def chao1(counts: ArrayLike, *, bias_corrected: bool = True) -> float:
    """Least number of taxa likely to be present, from those met once and twice.

    Parameters
    ----------
    counts : array_like of int, shape (taxa,)
        Fish of each taxon.
    bias_corrected : bool
        Use S + f1 (f1 - 1) / (2 (f2 + 1)), which always has a value; the classic form is
        S + f1^2 / (2 f2).

    Returns
    -------
    float
        NaN when nothing was caught, or for the classic form when no taxon was met twice
        and some once.

    References
    ----------
    Chao, A. 1984. Scand. J. Stat. 11:265-270 (from memory, confirmed by printed values).

    Examples
    --------
    >>> chao1([0, 1, 1, 4, 2, 5, 2, 4, 1, 2])
    9.75
    """
    n = whole_counts("counts", counts)
    seen, once, twice = (int(np.count_nonzero(c)) for c in (n > 0, n == 1, n == 2))
    if seen == 0:
        return math.nan
    if bias_corrected:
        return seen + once * (once - 1) / (2 * (twice + 1))
    if twice == 0:
        return math.nan if once else float(seen)
    return seen + once**2 / (2 * twice)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rarefaction:
    """Taxa expected in a smaller catch, with the spread between such catches."""

    richness: float  # [taxa]; NaN when the catch is smaller than the sample asked for
    standard_deviation: float  # between random samples of that size from this catch
    lower: float  # richness -+ normal quantile times that, kept within 1 (or 0) and the taxa seen
    upper: float
    confidence: float
    sample_size: int
    n_individuals: int
    n_taxa: int


def rarefied_richness(counts: ArrayLike, sample_size: int) -> float:
    """Taxa expected if only ``sample_size`` of the fish caught had been looked at.

    Parameters
    ----------
    counts : array_like of int, shape (taxa,)
        Fish of each taxon.
    sample_size : int
        Fish drawn without replacement; 0 or more.

    Returns
    -------
    float
        NaN when fewer fish were caught than ``sample_size``: no extrapolation.

    References
    ----------
    Hurlbert, S.H. 1971. The nonconcept of species diversity. Ecology 52:577-586.

    Examples
    --------
    >>> round(rarefied_richness([0, 1, 1, 4, 2, 5, 2, 4, 1, 2], 5), 6)
    4.029885
    """
    n, size = _checked_sample(counts, sample_size)
    if size > n.sum():
        return math.nan
    return float(np.sum(1 - _chance_absent(n[n > 0], float(n.sum()), size)))


def rarefaction(counts: ArrayLike, sample_size: int, *, confidence: float = 0.95) -> Rarefaction:
    """Rarefied richness with the spread between random samples of that size.

    Parameters
    ----------
    counts : array_like of int, shape (taxa,)
        Fish of each taxon.
    sample_size : int
        Fish drawn without replacement.
    confidence : float in (0, 1)
        For ``lower`` and ``upper``.

    Returns
    -------
    Rarefaction

    Notes
    -----
    The spread is that of drawing from this catch; it does not say how another day's catch
    would differ.

    References
    ----------
    Heck, K.L., van Belle, G. & Simberloff, D. 1975. Ecology 56:1459-1461 (variance; from
    memory, checked by drawing samples).

    Examples
    --------
    >>> result = rarefaction([5, 5], 2)
    >>> round(result.richness, 4), round(result.standard_deviation, 4)
    (1.5556, 0.4969)
    """
    n, size = _checked_sample(counts, sample_size)
    present, whole = n[n > 0], float(n.sum())
    richness = spread = lower = upper = math.nan
    if size <= whole:
        absent = _chance_absent(present, whole, size)
        both = _chance_absent(present[:, None] + present[None, :], whole, size)
        covariance = both - np.outer(absent, absent)
        np.fill_diagonal(covariance, absent * (1 - absent))
        richness, spread = float(np.sum(1 - absent)), math.sqrt(max(float(covariance.sum()), 0.0))
        reach = float(special.ndtri(0.5 + confidence / 2)) * spread
        lower = max(min(1.0, size), richness - reach) if present.size else 0.0
        upper = min(float(present.size), richness + reach)
    return Rarefaction(
        richness=richness,
        standard_deviation=spread,
        lower=lower,
        upper=upper,
        confidence=confidence,
        sample_size=size,
        n_individuals=int(whole),
        n_taxa=int(present.size),
    )


def bray_curtis(first: ArrayLike, second: ArrayLike) -> float:
    """Bray-Curtis dissimilarity, sum |a - b| / sum (a + b): 0 alike, 1 nothing in common.

    Parameters
    ----------
    first, second : array_like of float, shape (taxa,)
        Fish, or grams, of the same taxa in the same order.

    Returns
    -------
    float
        NaN when neither catch holds anything.

    References
    ----------
    Bray, J.R. & Curtis, J.T. 1957. Ecol. Monogr. 27:325-349.

    Examples
    --------
    >>> bray_curtis([1, 2], [3, 2])
    0.25
    """
    a, b = not_negative("first", first), not_negative("second", second)
    if a.size != b.size:
        raise ValueError(f"first and second must have the same length, got {a.size} and {b.size}")
    both = float(a.sum() + b.sum())
    return float(np.abs(a - b).sum() / both) if both > 0 else math.nan


def _shares(counts: ArrayLike) -> FloatArray:
    """Shares of the taxa that are present; empty when none is."""
    n = not_negative("counts", counts)
    n = n[n > 0]
    # Scaled by the largest first, so that the sum cannot overflow.
    scaled = n / n.max(initial=1.0)
    shares: FloatArray = scaled / scaled.sum() if n.size else scaled
    return shares


def _checked_sample(counts: ArrayLike, sample_size: int) -> tuple[FloatArray, int]:
    n = whole_counts("counts", counts)
    if not math.isfinite(sample_size) or sample_size != int(sample_size) or sample_size < 0:
        raise ValueError(f"sample_size must be a whole number, 0 or more; got {sample_size}")
    return n, int(sample_size)


def _chance_absent(n: FloatArray, whole: float, size: int) -> FloatArray:
    """Chance that none of ``n`` fish is among ``size`` drawn out of ``whole``."""
    left = whole - n
    possible = left >= size
    safe = np.where(possible, left, size)
    log_chance = (
        special.gammaln(safe + 1)
        - special.gammaln(safe - size + 1)
        - special.gammaln(whole + 1)
        + special.gammaln(whole - size + 1)
    )
    chance: FloatArray = np.where(possible, np.exp(log_chance), 0.0)
    return chance
