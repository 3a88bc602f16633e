"""The ways an effect before and after a change is estimated, each with an interval."""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from scipy import stats
from statsmodels.regression.linear_model import OLS
from statsmodels.regression.mixed_linear_model import MixedLM

from trends.stats._checks import BoolArray, FloatArray

SHUFFLES = 9_999
# Up to this many ways to label the years, all of them are gone through.
MOST_ARRANGEMENTS = 20_000
# Newey-West errors look at the neighbouring year only; with fewer years they mislead.
LEAST_YEARS_FOR_HAC = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class EffectEstimate:
    """One estimate of the effect; NaN limits and a reason where it could not be had."""

    method: str
    effect: float
    lower: float
    upper: float
    p_value: float
    standard_error: float  # on the logarithmic scale for a ratio; NaN for the randomisation
    n: int  # years, or station years for the mixed model
    usable: bool = True
    reason: str = ""

    def on_scale(self, ratio: bool) -> EffectEstimate:
        """The same estimate as a ratio, if it was made on logarithms."""
        if not ratio:
            return self
        return replace(
            self, effect=math.exp(self.effect), lower=math.exp(self.lower), upper=float(np.exp(self.upper))
        )


def welch_estimate(d: FloatArray, after: BoolArray, confidence: float) -> EffectEstimate:
    """Difference of the two means with Welch's t: the sides may scatter differently."""
    one, two = d[after], d[~after]
    effect = float(one.mean() - two.mean())
    parts = np.array([one.var(ddof=1) / one.size, two.var(ddof=1) / two.size])
    error = math.sqrt(float(parts.sum()))
    if error == 0:
        return EffectEstimate(
            method="Welch t",
            effect=effect,
            lower=math.nan,
            upper=math.nan,
            p_value=math.nan,
            standard_error=0.0,
            n=int(d.size),
            usable=False,
            reason="No scatter within the sides.",
        )
    free = float(parts.sum()) ** 2 / float(np.sum(parts**2 / (np.array([one.size, two.size]) - 1)))
    reach = float(stats.t.ppf(0.5 + confidence / 2, free)) * error
    return EffectEstimate(
        method="Welch t",
        effect=effect,
        lower=effect - reach,
        upper=effect + reach,
        p_value=float(2 * stats.t.sf(abs(effect) / error, free)),
        standard_error=error,
        n=int(d.size),
    )


def randomisation_estimate(d: FloatArray, after: BoolArray, confidence: float, seed: int) -> EffectEstimate:
    """Randomisation test over years; the limits are the effects that it does not reject.

    With few years the smallest p that can be reached may exceed 1 - confidence: the limits
    are then infinite.
    """
    labels = _arrangements(after, seed)
    n_after = int(after.sum())
    # The mean difference of arrangement a, once an effect e is taken out, is base - e * share.
    weights = labels / n_after - (1 - labels) / (d.size - n_after)
    base, shares = weights @ d, weights @ after.astype(np.float64)
    effect = float(d[after].mean() - d[~after].mean())
    tiny = 1e-9 * max(float(np.ptp(d)), 1e-300)

    def p_of(e: float) -> float:
        return float(np.mean(np.abs(base - e * shares) >= abs(effect - e) - tiny))

    alpha = 1 - confidence
    limits = []
    for side in (-1.0, 1.0):
        far = max(float(np.ptp(d)), 1e-12)
        while p_of(effect + side * far) > alpha and far < 1e6 * float(np.ptp(d)):
            far *= 2
        if p_of(effect + side * far) > alpha:
            limits.append(side * math.inf)
            continue
        near = 0.0
        for _ in range(60):
            middle = (near + far) / 2
            near, far = (middle, far) if p_of(effect + side * middle) > alpha else (near, middle)
        limits.append(effect + side * near)
    return EffectEstimate(
        method="randomisation",
        effect=effect,
        lower=limits[0],
        upper=limits[1],
        p_value=p_of(0.0),
        standard_error=math.nan,
        n=int(d.size),
    )


def _arrangements(after: BoolArray, seed: int) -> FloatArray:
    """Ways to call as many years "after": all of them, or the true one and many shuffles."""
    n, n_after = after.size, int(after.sum())
    if math.comb(n, n_after) <= MOST_ARRANGEMENTS:
        chosen = list(combinations(range(n), n_after))
        labels = np.zeros((len(chosen), n))
        labels[np.arange(len(chosen))[:, None], np.array(chosen)] = 1
        return labels
    random = np.random.default_rng(seed)
    shuffled = random.permuted(np.tile(after.astype(np.float64), (SHUFFLES, 1)), axis=1)
    return np.vstack([after.astype(np.float64), shuffled])


def regression_estimates(d: FloatArray, after: BoolArray, confidence: float) -> list[EffectEstimate]:
    """Regression of D on the period, with errors that allow unequal scatter or alike neighbours.

    When every station has every year, the coefficient is the interaction of station group
    and period in a regression with a term for each year.
    """
    design = np.column_stack([np.ones(d.size), after.astype(np.float64)])
    model = OLS(d, design)
    fits = [("regression, HC3 errors", model.fit(cov_type="HC3", use_t=True))]
    if d.size >= LEAST_YEARS_FOR_HAC:
        hac = model.fit(cov_type="HAC", cov_kwds={"maxlags": 1, "use_correction": True}, use_t=True)
        fits.append(("regression, HAC errors", hac))
    estimates = []
    for name, fit in fits:
        lower, upper = fit.conf_int(alpha=1 - confidence)[1]
        estimates.append(
            EffectEstimate(
                method=name,
                effect=float(fit.params[1]),
                lower=float(lower),
                upper=float(upper),
                p_value=float(fit.pvalues[1]),
                standard_error=float(fit.bse[1]),
                n=int(d.size),
            )
        )
    return estimates


def mixed_model_estimate(
    t: FloatArray, inside: FloatArray, outside: FloatArray, change_year: float, confidence: float
) -> EffectEstimate:
    """Mixed model: a term for each year, impact, impact x after; stations as a random effect.

    Uses years in which a station is missing too. The scatter is taken to be alike at
    impact and control stations.
    """
    name = "mixed model, station random"
    table = np.vstack([inside, outside])
    station, column = np.nonzero(~np.isnan(table))
    values = table[station, column]
    is_impact = (station < inside.shape[0]).astype(np.float64)
    is_after = (t[column] >= change_year).astype(np.float64)
    present = np.unique(column)
    year_terms = (column[:, None] == present[None, :]).astype(np.float64)
    design = np.column_stack([is_impact * is_after, is_impact, year_terms])
    nothing = EffectEstimate(
        method=name,
        effect=math.nan,
        lower=math.nan,
        upper=math.nan,
        p_value=math.nan,
        standard_error=math.nan,
        n=int(values.size),
        usable=False,
        reason="The mixed model could not be fitted to these values.",
    )
    if np.linalg.matrix_rank(design) < design.shape[1] or values.size <= design.shape[1] + 1:
        return nothing
    with warnings.catch_warnings():
        # A station variance of 0 is a lawful answer, about which the fit warns.
        warnings.simplefilter("ignore")
        try:
            fit = MixedLM(values, design, groups=station).fit(reml=True)
        except (np.linalg.LinAlgError, ValueError):
            return nothing
    effect, error = float(fit.fe_params[0]), float(fit.bse_fe[0])
    if not (math.isfinite(effect) and math.isfinite(error) and error > 0):
        return nothing
    # Few years: t with the degrees of freedom left by the fixed terms and the stations.
    free = max(values.size - design.shape[1] - (table.shape[0] - 2), 1)
    reach = float(stats.t.ppf(0.5 + confidence / 2, free)) * error
    return replace(
        nothing,
        effect=effect,
        lower=effect - reach,
        upper=effect + reach,
        p_value=float(2 * stats.t.sf(abs(effect) / error, free)),
        standard_error=error,
        usable=True,
        reason="",
    )
