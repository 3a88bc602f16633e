"""Before-after comparisons, with or without control stations; the year is the unit.

D(year) is the impact value minus the mean of the controls in the same year; without
controls it is the impact value. The effect is the mean of D after minus the mean of D before.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from trends.stats._before_after_estimates import (
    EffectEstimate,
    mixed_model_estimate,
    randomisation_estimate,
    regression_estimates,
    welch_estimate,
)
from trends.stats._checks import FloatArray, calendar, finite_or_missing, positive, share
from trends.stats._mann_kendall import MannKendall, mann_kendall

LEAST_YEARS_A_SIDE = 3
SEED = 70_913
REASONS = {
    "": "",
    "too_few_years_before": "Fewer than 3 comparable years before the change: no effect is given.",
    "too_few_years_after": "Fewer than 3 comparable years after the change: no effect is given.",
    "no_scatter": "Every year before and after the change is alike but for one step: no uncertainty "
    "can be worked out.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class AfterWindow:
    """The effect if only these after-years are looked at."""

    first_year: float
    last_year: float
    n_after: int
    effect: float
    lower: float  # Welch limits
    upper: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BeforeAfter:
    """Outcome of a before-after comparison; carries no verdict."""

    usable: bool
    reason_code: str
    reason: str
    design: str  # "before-after" or "before-after-control-impact"
    scale: str  # "difference" [unit of the values] or "ratio" [after / before]
    change_year: float
    n_before: int
    n_after: int
    n_controls: int
    n_incomplete_years: int  # years left out because a station has no value
    years: FloatArray  # of the differences
    differences: FloatArray  # D(year); logarithms on the ratio scale
    control_mean: FloatArray  # the controls' own path; empty without controls
    mean_before: float
    mean_after: float
    effect: float  # NaN when not usable
    lower: float  # limits of the first estimate (Welch)
    upper: float
    confidence: float
    estimates: tuple[EffectEstimate, ...]
    by_after_years: tuple[AfterWindow, ...]
    drift_before: MannKendall | None  # trend of D before the change: were the stations parallel?
    just_significant: float  # smallest |effect| that could be significant, given this scatter
    detectable_with_power: float  # smallest |effect| seen with 80 % power
    cautions: tuple[str, ...]


def before_after(
    years: ArrayLike,
    impact: ArrayLike,
    *,
    change_year: float,
    controls: ArrayLike | None = None,
    left_out: Sequence[float] = (),
    ratio: bool = False,
    confidence: float = 0.95,
    seed: int = SEED,
) -> BeforeAfter:
    """Compare the years before and after a known change, against controls where there are any.

    Parameters
    ----------
    years : array_like of float, shape (n,)
        The common calendar [year], no year twice.
    impact : array_like of float, shape (n,) or (stations, n)
        Values of the impact station or stations [any unit]; NaN means missing.
    change_year : float
        First year that counts as after.
    controls : array_like of float, shape (n,) or (stations, n), optional
        Values of the control stations [same unit]. Two or more beat one (Underwood 1994).
    left_out : sequence of float
        Years of the works themselves, on neither side.
    ratio : bool
        Work on logarithms and give the effect as a ratio; every value must be above 0.
    confidence : float in (0, 1)
        For the limits.
    seed : int
        Of the shuffles, fixed so that two people get one answer.

    Returns
    -------
    BeforeAfter
        ``usable`` False, with a reason, under 3 comparable years on a side.

    Raises
    ------
    ValueError
        Wrong shapes, infinite values, a year given twice, values not above 0 with ``ratio``.

    Notes
    -----
    D needs a value at every station of the design; other years are counted as incomplete
    (the mixed model uses them). Without a control, weather and the change cannot be told
    apart (caution ``no_control``). A drift of D before the change means that the control is
    not parallel (``control_not_parallel``). The answer can hang on which after-years are
    looked at: every run of 3 or more is given. No estimate says why a difference arose.

    References
    ----------
    Stewart-Oaten, A., Murdoch, W.W. & Parker, K.R. 1986. Ecology 67:929-940 (differences
    by date; from memory).
    Underwood, A.J. 1994. Ecol. Appl. 4:3-15 (several controls; from memory).
    Smokorowski, K.E. & Randall, R.G. 2017. FACETS 2:212-232 (choice of after-years;
    abstract).

    Examples
    --------
    >>> result = before_after(
    ...     range(2001, 2009), [5, 6, 5, 6, 3, 2, 3, 2], change_year=2005, controls=[5, 5, 5, 5, 5, 5, 5, 5]
    ... )
    >>> result.effect, result.n_before, result.n_after
    (-3.0, 4, 4)
    """
    share("confidence", confidence)
    t, inside, outside = _tables(years, impact, controls, left_out, ratio)
    stations = np.vstack([inside, outside])
    complete = ~np.isnan(stations).any(axis=0)
    some = ~np.isnan(stations).all(axis=0)
    d = inside[:, complete].mean(axis=0)
    path = outside[:, complete].mean(axis=0) if outside.size else np.empty(0)
    if outside.size:
        d = d - path
    when = t[complete]
    after = when >= change_year
    n_after, n_before = int(after.sum()), int((~after).sum())
    code = ""
    if n_before < LEAST_YEARS_A_SIDE:
        code = "too_few_years_before"
    elif n_after < LEAST_YEARS_A_SIDE:
        code = "too_few_years_after"
    elif np.ptp(d[after]) == 0 and np.ptp(d[~after]) == 0:
        code = "no_scatter"
    enough = code in ("", "no_scatter")
    estimates: tuple[EffectEstimate, ...] = ()
    windows: tuple[AfterWindow, ...] = ()
    if not code:
        estimates = _estimates(t, inside, outside, d, after, change_year, confidence, seed)
        windows = _windows(when, d, after, confidence)
    effect = float(d[after].mean() - d[~after].mean()) if enough else math.nan
    seen, with_power = math.nan, math.nan
    if not code:
        spread = math.sqrt(
            (np.sum((d[after] - d[after].mean()) ** 2) + np.sum((d[~after] - d[~after].mean()) ** 2))
            / (d.size - 2)
        )
        seen = smallest_detectable_effect(n_before, n_after, spread, alpha=1 - confidence, power=0.5)
        with_power = smallest_detectable_effect(n_before, n_after, spread, alpha=1 - confidence, power=0.8)
    drift = mann_kendall(when[~after], d[~after]) if n_before >= 3 else None
    cautions = []
    if not outside.size:
        cautions.append("no_control")
    elif drift is not None and drift.p_value <= 0.1:
        cautions.append("control_not_parallel")
    if outside.shape[0] == 1:
        cautions.append("one_control")
    back = np.exp if ratio else np.asarray
    first = estimates[0] if estimates else None
    return BeforeAfter(
        usable=not code,
        reason_code=code,
        reason=REASONS[code],
        design="before-after-control-impact" if outside.size else "before-after",
        scale="ratio" if ratio else "difference",
        change_year=float(change_year),
        n_before=n_before,
        n_after=n_after,
        n_controls=int(outside.shape[0]),
        n_incomplete_years=int((some & ~complete).sum()),
        years=when,
        differences=d,
        control_mean=path,
        mean_before=float(d[~after].mean()) if n_before else math.nan,
        mean_after=float(d[after].mean()) if n_after else math.nan,
        effect=float(back(effect)),
        lower=float(back(first.lower)) if first else math.nan,
        upper=float(back(first.upper)) if first else math.nan,
        confidence=float(confidence),
        estimates=tuple(e.on_scale(ratio) for e in estimates),
        by_after_years=tuple(
            AfterWindow(
                first_year=w.first_year,
                last_year=w.last_year,
                n_after=w.n_after,
                effect=float(back(w.effect)),
                lower=float(back(w.lower)),
                upper=float(back(w.upper)),
            )
            for w in windows
        ),
        drift_before=drift,
        just_significant=seen,
        detectable_with_power=with_power,
        cautions=tuple(cautions),
    )


def smallest_detectable_effect(
    n_before: int, n_after: int, residual_sd: float, *, alpha: float = 0.05, power: float = 0.8
) -> float:
    """Smallest step that so many years before and after could show.

    Parameters
    ----------
    n_before, n_after : int
        Years on each side, at least 2 together more than 2.
    residual_sd : float
        Standard deviation of D between years, within a side [unit of the values].
    alpha, power : float in (0, 1)
        A power of 0.5 gives the step that is just significant.

    Returns
    -------
    float
        [unit of the values]; (t_(1-alpha/2) + t_power) * sd * sqrt(1/n_before + 1/n_after).

    References
    ----------
    Spooner, J., Dressing, S.A. & Meals, D.W. 2011. Minimum detectable change analysis.
    EPA Tech Notes 7 (opening seen).

    Examples
    --------
    >>> round(smallest_detectable_effect(5, 5, 1.0, power=0.8), 2)
    2.02
    """
    share("alpha", alpha)
    share("power", power)
    positive("residual_sd", residual_sd)
    free = n_before + n_after - 2
    if min(n_before, n_after) < 1 or free < 1:
        raise ValueError(f"n_before and n_after must leave a degree of freedom, got {n_before} and {n_after}")
    quantiles = stats.t.ppf(1 - alpha / 2, free) + stats.t.ppf(power, free)
    return float(quantiles * residual_sd * math.sqrt(1 / n_before + 1 / n_after))


def _tables(
    years: ArrayLike, impact: ArrayLike, controls: ArrayLike | None, left_out: Sequence[float], ratio: bool
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Calendar, impact table and control table in order of time, without the years left out."""
    inside = _as_table("impact", impact)
    t = calendar(years, inside.shape[1], table="impact")
    outside = _as_table("controls", controls) if controls is not None else np.empty((0, t.size))
    if outside.shape[1] != t.size:
        raise ValueError(f"controls has {outside.shape[1]} columns but years has {t.size} entries")
    order = np.argsort(t)
    order = order[~np.isin(t[order], np.asarray(list(left_out), dtype=np.float64))]
    t, inside, outside = t[order], inside[:, order], outside[:, order]
    if ratio:
        for name, table in (("impact", inside), ("controls", outside)):
            if np.nanmin(table, initial=math.inf) <= 0:
                raise ValueError(f"{name} must be above 0 everywhere for a ratio")
        inside, outside = np.log(inside), np.log(outside)
    return t, inside, outside


def _as_table(name: str, values: ArrayLike) -> FloatArray:
    one_station = np.ndim(values) == 1
    table = finite_or_missing(name, values, ndim=1 if one_station else 2)
    return table[None, :] if one_station else table


def _estimates(
    t: FloatArray,
    inside: FloatArray,
    outside: FloatArray,
    d: FloatArray,
    after: np.ndarray,
    change_year: float,
    confidence: float,
    seed: int,
) -> tuple[EffectEstimate, ...]:
    found = [
        welch_estimate(d, after, confidence),
        randomisation_estimate(d, after, confidence, seed),
        *regression_estimates(d, after, confidence),
    ]
    if inside.shape[0] + outside.shape[0] > 2 and outside.size:
        found.append(mixed_model_estimate(t, inside, outside, change_year, confidence))
    return tuple(found)


def _windows(
    when: FloatArray, d: FloatArray, after: np.ndarray, confidence: float
) -> tuple[AfterWindow, ...]:
    """The effect for every run of at least three after-years."""
    before, later, years = d[~after], d[after], when[after]
    windows = []
    for first in range(later.size):
        for last in range(first + LEAST_YEARS_A_SIDE - 1, later.size):
            chosen = later[first : last + 1]
            side = np.repeat([False, True], [before.size, chosen.size])
            estimate = welch_estimate(np.concatenate([before, chosen]), side, confidence)
            windows.append(
                AfterWindow(
                    first_year=float(years[first]),
                    last_year=float(years[last]),
                    n_after=int(chosen.size),
                    effect=estimate.effect,
                    lower=estimate.lower,
                    upper=estimate.upper,
                )
            )
    return tuple(windows)
