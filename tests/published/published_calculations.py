"""How each published statistic is obtained from the package; one short function per name.

``data`` is the data of a case as it stands in its TOML file; options follow as keywords.
Forms that only a source uses (one-sided, without continuity correction, another denominator)
are made here from the package's own S, variance and exact chances.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from scipy import stats

from trends.stats import _exact_null, _removal_likelihood, diversity, serial
from trends.stats.changepoint import pettitt
from trends.stats.kendall import mann_kendall, regional_kendall, seasonal_kendall, sen_slope
from trends.stats.removal import removal_estimate

Data = dict[str, Any]


def series(data: Data) -> tuple[list[float], list[float]]:
    """Years and values; years count from ``first_year``, or from 1, where none are given."""
    x = data["x"]
    first = data.get("first_year", 1)
    return data.get("t", list(range(first, first + len(x)))), x


def mk(data: Data, method: str = "auto"):
    return mann_kendall(*series(data), method=method)


def upper_chance(data: Data, s: int) -> float:
    """P(S >= s), exact given the ties of the data."""
    values = np.array(data.get("values_any_order", data.get("x", range(data.get("n", 0)))), dtype=float)
    n, ties = values.size, _exact_null.tie_sizes(values)
    tail, pairs = _exact_null.upper_tail(n, ties), _exact_null.untied_pairs(n, ties)
    if s >= 0:
        return float(tail[(pairs - s) // 2])
    return 1 - upper_chance(data, 2 - s)


def uncorrected(s: float, variance: float) -> float:
    return s / math.sqrt(variance)


def two_sided(z: float) -> float:
    return float(2 * stats.norm.sf(abs(z)))


def sen(data: Data, **options: Any):
    return sen_slope(*series(data), **options)


def is_critical(data: Data) -> int:
    """1 if P(S <= s) <= 0.2 and the next S nearer to 0 has a larger chance."""
    s = -data["S"]
    return int(upper_chance(data, s) <= 0.2 < upper_chance(data, s - 2))


def region(data: Data, correlated: bool = False):
    if "stations" in data:
        years = sorted({t for station in data["stations"] for t in station["t"]})
        table = [
            [dict(zip(station["t"], station["x"], strict=True)).get(t, math.nan) for t in years]
            for station in data["stations"]
        ]
    elif "blocks" in data:
        table, years = data["blocks"], list(range(len(data["blocks"][0])))
    else:
        table, years = np.transpose(data["blocks_as_columns_rows_are_years"]), data["years"]
    result = regional_kendall(years, table, correct_for_correlation=correlated)
    # The seasonal call must say the same of the same numbers.
    long = [(t, g, x) for g, row in enumerate(table) for t, x in zip(years, row, strict=True)]
    seasonal = seasonal_kendall(*zip(*long, strict=True), correct_for_correlation=correlated)
    assert (seasonal.s, seasonal.p_value, seasonal.slope) == (result.s, result.p_value, result.slope)
    return result


def block_p(data: Data, block: int) -> float:
    row = data["blocks"][block - 1]
    return mann_kendall(range(len(row)), row, method="normal").p_value


def serial_field(data: Data, correction: str, field: str, max_lag: int | None = None) -> float:
    years, x = series(data)
    options: dict[str, Any] = {} if correction == "trend_free_prewhitening" else {"cap_factor": False}
    if max_lag is not None:
        options["max_lag"] = max_lag
    result = getattr(serial, correction)(years, x, **options)
    return result.r[0] if field == "r1" else getattr(result, field)


def change(data: Data):
    return pettitt(data["x"])


def removal(data: Data, **options: Any):
    return removal_estimate(data["catches"], **options)


def weighted_sum(data: Data) -> int:
    k = len(data["catches"])
    return sum((k - i) * c for i, c in enumerate(data["catches"], start=1))


def whole_n(data: Data) -> float:
    """Most likely whole number of fish."""
    total, weighted = np.array([float(sum(data["catches"]))]), np.array([float(weighted_sum(data))])
    return float(_removal_likelihood.profile_limits(total, weighted, len(data["catches"]), 3.841).mode[0])


def asymptotic_cv(data: Data) -> float:
    q, k, n = np.array([1 - data["p"]]), data["passes"], np.array([float(data["N"])])
    return float(100 * np.sqrt(_removal_likelihood.number_variance(n, q, k))[0] / data["N"])


def other_zippin_se(data: Data, n: int) -> float:
    """The second printed form; it differs from the first unless N = T / (1 - q^k)."""
    total, k = sum(data["catches"]), len(data["catches"])
    p = total / (k * n - weighted_sum(data))
    return math.sqrt(n * (n - total) * total / (total**2 - n * (n - total) * (k * p) ** 2 / (1 - p)))


def no_fish_report(data: Data) -> str:
    found = removal(data)
    undefined = math.isnan(found.n_hat) and math.isnan(found.capture_probability)
    assert undefined and math.isnan(found.standard_error) and not found.usable
    return f"{found.total_catch} caught; no estimate of N or p; SE undefined"


def quick_p(data: Data) -> float:
    """(c1 - c3) / (c1 + c2), a quick value of the chance of capture."""
    c = data["catches"]
    return (c[0] - c[2]) / (c[0] + c[1])


def richness(data: Data) -> float:
    return diversity.hill_number(data["counts"], 0)


CALCULATIONS: dict[str, Callable[..., Any]] = {
    "s": lambda d: mk(d).s,
    "var_s": lambda d: mk(d).var_s,
    "z": lambda d: mk(d).z,
    "tau_a": lambda d: mk(d).s / math.comb(mk(d).n, 2),
    "tau_b": lambda d: mk(d).tau,
    "p_normal": lambda d: mk(d, "normal").p_value,
    "p_exact": lambda d: mk(d, "exact").p_value,
    "p_upper_normal": lambda d: mk(d, "normal").p_value / 2,
    "p_upper_exact": lambda d: upper_chance(d, mk(d).s),
    "p_lower_exact": lambda d: upper_chance(d, -mk(d).s),
    "z_uncorrected": lambda d: uncorrected(mk(d).s, mk(d).var_s),
    "p_uncorrected": lambda d: two_sided(uncorrected(mk(d).s, mk(d).var_s)),
    "exact_upper_tail": upper_chance,
    "smallest_exact_p": lambda d: mann_kendall(range(d["n"]), range(d["n"])).p_value,
    "is_critical_s": is_critical,
    "slope": lambda d: sen(d).slope,
    "intercept": lambda d: sen(d).intercept,
    "intercept_of_residuals": lambda d: float(
        np.nanmedian(np.array(series(d)[1]) - sen(d).slope * np.array(series(d)[0]))
    ),
    "n_pairs": lambda d: sen(d).n_pairs,
    "sen_lower": lambda d, **o: sen(d, **o).lower,
    "sen_upper": lambda d, **o: sen(d, **o).upper,
    "region_s": lambda d: region(d).s,
    "region_var_s": lambda d, **o: region(d, **o).var_s,
    "region_z": lambda d: region(d).z,
    "region_z_uncorrected": lambda d, **o: uncorrected(region(d, **o).s, region(d, **o).var_s),
    "region_p": lambda d, **o: region(d, **o).p_value,
    "region_p_uncorrected": lambda d, **o: two_sided(uncorrected(region(d, **o).s, region(d, **o).var_s)),
    "region_tau": lambda d: region(d).tau,
    "region_slope": lambda d: region(d).slope,
    "region_lower": lambda d: region(d).lower,
    "region_upper": lambda d: region(d).upper,
    "region_df": lambda d: region(d).heterogeneity_df,
    "region_chi2_total": lambda d: region(d).chi2_total,
    "region_heterogeneity_chi2": lambda d: region(d).heterogeneity_chi2,
    "region_heterogeneity_p": lambda d: region(d).heterogeneity_p,
    "block_p": block_p,
    "block_s": lambda d, block: region(d).station_s[block - 1],
    "serial": serial_field,
    "pettitt_k": lambda d: change(d).k,
    "pettitt_position": lambda d: change(d).change_after_index + 1,
    "pettitt_year": lambda d: d["first_year"] + change(d).change_after_index,
    "pettitt_p_approximate": lambda d: change(d).p_value,
    "removal_n": lambda d: removal(d).n_hat,
    "removal_p": lambda d: removal(d).capture_probability,
    "removal_se": lambda d: removal(d).standard_error,
    "removal_se_p": lambda d: removal(d).capture_standard_error,
    "removal_lower": lambda d: removal(d).lower,
    "removal_upper": lambda d: removal(d).upper,
    "finite_estimate": lambda d: "yes" if removal(d).usable else "no",
    "no_fish_report": no_fish_report,
    "total_catch": lambda d: removal(d).total_catch,
    "weighted_sum": weighted_sum,
    "whole_n": whole_n,
    "weighted_n": lambda d: removal(d, method="weighted").n_hat,
    "weighted_p": lambda d: removal(d, method="weighted").capture_probability,
    "weighted_se": lambda d: removal(d, method="weighted").standard_error,
    "other_zippin_se": other_zippin_se,
    "asymptotic_cv_percent": asymptotic_cv,
    "a_of_catches": lambda d: 2 * d["catches"][0] + d["catches"][1],
    "p_approximate": quick_p,
    "n_of_p_approximate": lambda d: sum(d["catches"]) / (1 - (1 - quick_p(d)) ** 3),
    "n_corrected_for_bias": lambda d: (
        removal(d).n_hat
        - (1 - removal(d).capture_probability)
        * (2 - removal(d).capture_probability)
        / removal(d).capture_probability ** 3
    ),
    "shannon": lambda d, **o: diversity.shannon(d["counts"], **o),
    "simpson": lambda d: diversity.simpson(d["counts"]),
    "inverse_simpson": lambda d, **o: diversity.inverse_simpson(d["counts"], **o),
    "simpson_evenness": lambda d: diversity.inverse_simpson(d["counts"]) / richness(d),
    "pielou": lambda d: diversity.pielou_evenness(d["counts"]),
    "hill": lambda d, order: diversity.hill_number(d["counts"], order),
    "heip": lambda d: (diversity.hill_number(d["counts"], 1) - 1) / (richness(d) - 1),
    "margalef": lambda d: (richness(d) - 1) / math.log(sum(d["counts"])),
    "berger_parker": lambda d: 1 / diversity.hill_number(d["counts"], math.inf),
    "chao1": lambda d, **o: diversity.chao1(d["counts"], **o),
    "rarefied": lambda d, sample_size: diversity.rarefied_richness(d["counts"], sample_size),
    "bray_curtis": lambda d: diversity.bray_curtis(d["first"], d["second"]),
}
