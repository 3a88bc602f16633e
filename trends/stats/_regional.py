"""Kendall tests of several stations, or several seasons, taken together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from trends.stats._checks import FloatArray, calendar, finite_or_missing, season_labels, share
from trends.stats._exact_null import tie_sizes
from trends.stats._moments import corrected_z, normal_p, normal_quantile, variance_of_s
from trends.stats._neighbours import pair_slopes
from trends.stats._sen import at_rank
from trends.stats.errors import InsufficientData

# The covariance form is advised only with more years than this (USGS SIR 2005-5275).
LEAST_YEARS_FOR_COVARIANCE = 10
# Covariances above this share of the variance make the uncorrected p too small to show
# without a caution (judgement).
SHARED_VARIANCE = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class RegionalKendall:
    """Outcome for several stations (or seasons) together; carries no verdict."""

    s: int  # sum over the stations
    var_s: float
    z: float  # continuity correction once, on the sum
    p_value: float  # two-sided, normal
    tau: float  # mean of the stations' S / pairs
    slope: float  # median of all within-station slopes [unit of the values per year]
    lower: float  # limits from interpolated ranks; infinite where they cannot be had
    upper: float
    confidence: float
    direction_confidence: float  # 1 - p/2
    heterogeneity_chi2: float  # do the stations move in different directions?
    heterogeneity_df: int
    heterogeneity_p: float  # NaN with fewer than two stations to compare
    chi2_total: float
    chi2_trend: float
    n_stations: int  # stations with at least two values
    n_stations_given: int
    n_years: int  # years in the common calendar
    n_values: int
    n_pairs: int
    corrected_for_correlation: bool
    method: str
    labels: tuple[str, ...]  # of the stations or seasons, in the order of the next fields
    station_s: tuple[int, ...]
    station_var_s: tuple[float, ...]
    station_n: tuple[int, ...]
    cautions: tuple[str, ...]


def regional_kendall(
    years: ArrayLike,
    values_by_station: ArrayLike,
    *,
    correct_for_correlation: bool = False,
    confidence: float = 0.95,
    labels: Sequence[str] | None = None,
) -> RegionalKendall:
    """Test whether several stations together tend to rise or to fall.

    Parameters
    ----------
    years : array_like of float, shape (n,)
        The common calendar [year], no year twice, in any order.
    values_by_station : array_like of float, shape (stations, n)
        One row per station [the same unit for all]. NaN means missing; stations may have
        different years.
    correct_for_correlation : bool
        Add the covariances between stations to the variance: wet and dry years hit every
        creek. Advised with more than 10 years only.
    confidence : float in (0, 1)
        For the limits of the slope.
    labels : sequence of str, optional
        Names of the stations, carried into the result.

    Returns
    -------
    RegionalKendall

    Raises
    ------
    InsufficientData
        "too_few_years": no station has 3 values.
    ValueError
        An infinite value, a wrong shape, a year given twice.

    Notes
    -----
    Pairs are formed within a station only. A station with one value adds nothing and is
    not counted; one whose values are all alike adds nothing to S and is left out of the
    comparison of directions, which uses Z without continuity correction. If that
    comparison is significant the stations move in different directions and one combined
    trend should not be shown. Stations with far longer records dominate S (caution
    ``spans_differ``). In the covariances a missing year takes the mean rank.

    References
    ----------
    Hirsch, R.M., Slack, J.R. & Smith, R.A. 1982. Water Resour. Res. 18:107-121.
    Hirsch, R.M. & Slack, J.R. 1984. Water Resour. Res. 20:727-732 (covariances).
    van Belle, G. & Hughes, J.P. 1984. Water Resour. Res. 20:127-136 (directions).
    Helsel, D.R. & Frans, L.M. 2006. Environ. Sci. Technol. 40:4066-4073 (stations).
    Formulas from memory, confirmed by printed answers (see tests/published).

    Examples
    --------
    >>> both = regional_kendall([2001, 2002, 2003, 2004], [[5, 6, 6, 8], [2, 3, 4, 6]])
    >>> both.s, both.n_stations, both.slope
    (11, 2, 1.0)
    """
    share("confidence", confidence)
    table = finite_or_missing("values_by_station", values_by_station, ndim=2)
    t = calendar(years, table.shape[1], table="values_by_station")
    names = tuple(labels) if labels is not None else tuple(str(i) for i in range(table.shape[0]))
    if len(names) != table.shape[0]:
        raise ValueError(f"labels has {len(names)} entries but values_by_station has {table.shape[0]} rows")
    order = np.argsort(t)
    return _of_table(t[order], table[:, order], correct_for_correlation, float(confidence), names)


def seasonal_kendall(
    years: ArrayLike,
    seasons: Sequence[object],
    values: ArrayLike,
    *,
    correct_for_correlation: bool = False,
    confidence: float = 0.95,
) -> RegionalKendall:
    """Test whether a station with several seasons a year tends to rise or to fall.

    Parameters
    ----------
    years : array_like of float, shape (n,)
        Year of each value [year].
    seasons : sequence, shape (n,)
        Season of each value: any label, such as 1 to 12 or "spring". None and NaN mean
        missing: the value has no season to be compared within, and is left out.
    values : array_like of float, shape (n,)
        One value per year and season [any unit]. NaN means missing.
    correct_for_correlation, confidence
        As in :func:`regional_kendall`, with seasons in the place of stations.

    Returns
    -------
    RegionalKendall
        ``labels`` holds the seasons; ``n_stations`` counts them.

    Raises
    ------
    InsufficientData
        "too_few_years": no season has 3 values.
    ValueError
        Unequal lengths, an infinite value, or two values for one season of one year.

    References
    ----------
    Hirsch, R.M., Slack, J.R. & Smith, R.A. 1982. Water Resour. Res. 18:107-121.

    Examples
    --------
    >>> result = seasonal_kendall([1, 1, 2, 2, 3, 3], ["a", "b"] * 3, [1, 5, 2, 6, 4, 7])
    >>> result.s, result.labels
    (6, ('a', 'b'))
    """
    share("confidence", confidence)
    t = finite_or_missing("years", years)
    x = finite_or_missing("values", values)
    season_of = season_labels(seasons)
    if not t.size == x.size == len(season_of):
        raise ValueError(
            "years, seasons and values must have the same length, "
            f"got {t.size}, {len(season_of)} and {x.size}"
        )
    if t.size == 0 or np.isnan(t).all():
        raise InsufficientData("too_few_years", "values has fewer than 3 values in every season: 0")
    named = list(dict.fromkeys(season for season in season_of if season is not None))
    row_of = {name: row for row, name in enumerate(named)}
    common = np.unique(t[~np.isnan(t)])
    table = np.full((len(named), common.size), np.nan)
    for year, season, value in zip(t, season_of, x, strict=True):
        if season is None or math.isnan(year) or math.isnan(value):
            continue
        cell = row_of[season], int(np.searchsorted(common, year))
        if not math.isnan(table[cell]):
            raise ValueError(f"values holds two values for season {season} of year {year:g}")
        table[cell] = value
    return _of_table(common, table, correct_for_correlation, float(confidence), tuple(named))


def _of_table(
    t: FloatArray, table: FloatArray, correlated: bool, confidence: float, labels: tuple[str, ...]
) -> RegionalKendall:
    present = ~np.isnan(table)
    n_by_station = present.sum(axis=1)
    if n_by_station.size == 0 or n_by_station.max(initial=0) < 3:
        most = int(n_by_station.max(initial=0))
        raise InsufficientData(
            "too_few_years", f"values has fewer than 3 values in every row: at most {most}"
        )
    signs = [_sign_matrix(row) for row in table]
    s_by_station = np.array([int(np.triu(m, 1).sum()) for m in signs])
    v_by_station = np.array(
        [
            variance_of_s(int(n), tie_sizes(row[p])) if n > 1 else 0.0
            for n, row, p in zip(n_by_station, table, present, strict=True)
        ]
    )
    slopes = np.sort(
        np.concatenate([pair_slopes(t[p], row[p]) for row, p in zip(table, present, strict=True)])
    )
    s, variance = int(s_by_station.sum()), float(v_by_station.sum())
    cautions = []
    shared = covariance_sum(table, signs)
    if not correlated and shared > SHARED_VARIANCE * variance:
        cautions.append("stations_move_together")
    if correlated:
        variance += shared
        if t.size <= LEAST_YEARS_FOR_COVARIANCE:
            cautions.append("few_years_for_covariance")
    if variance < 0:
        # The covariances are estimates; with few years they can outweigh the variances.
        variance = math.nan
        cautions.append("variance_not_positive")
    used = n_by_station >= 2
    if n_by_station[used].max() > 2 * n_by_station[used].min():
        cautions.append("spans_differ")
    z = math.nan if math.isnan(variance) else corrected_z(float(s), variance)
    p = normal_p(z)
    reach = normal_quantile(confidence) * math.sqrt(variance)
    lower, upper = -math.inf, math.inf
    if not math.isnan(reach):
        lower = at_rank(slopes, (slopes.size - reach) / 2)
        upper = at_rank(slopes, (slopes.size + reach) / 2 + 1)
    total, trend, df = _chi_squares(s_by_station, v_by_station)
    apart = max(total - trend, 0.0)
    pairs = n_by_station[used] * (n_by_station[used] - 1) / 2
    return RegionalKendall(
        s=s,
        var_s=variance,
        z=z,
        p_value=p,
        tau=float(np.mean(s_by_station[used] / pairs)),
        slope=float(np.median(slopes)),
        lower=lower,
        upper=upper,
        confidence=confidence,
        direction_confidence=1 - p / 2,
        heterogeneity_chi2=apart,
        heterogeneity_df=df,
        heterogeneity_p=float(stats.chi2.sf(apart, df)) if df > 0 else math.nan,
        chi2_total=total,
        chi2_trend=trend,
        n_stations=int(used.sum()),
        n_stations_given=int(table.shape[0]),
        n_years=int(present.any(axis=0).sum()),
        n_values=int(n_by_station.sum()),
        n_pairs=int(slopes.size),
        corrected_for_correlation=correlated,
        method="normal",
        labels=labels,
        station_s=tuple(int(v) for v in s_by_station),
        station_var_s=tuple(float(v) for v in v_by_station),
        station_n=tuple(int(v) for v in n_by_station),
        cautions=tuple(cautions),
    )


def _sign_matrix(row: FloatArray) -> FloatArray:
    """Signs of x_j - x_i; 0 where either is missing."""
    signs: FloatArray = np.nan_to_num(np.sign(row[None, :] - row[:, None]), nan=0.0)
    return signs


def _chi_squares(s: np.ndarray, variance: FloatArray) -> tuple[float, float, int]:
    """Total and trend chi-square and degrees of freedom of their difference."""
    can_move = variance > 0
    k = int(can_move.sum())
    if k == 0:
        return 0.0, 0.0, 0
    z = s[can_move] / np.sqrt(variance[can_move])
    return float(np.sum(z**2)), float(k * np.mean(z) ** 2), k - 1


def covariance_sum(table: FloatArray, signs: Sequence[FloatArray]) -> float:
    """Sum of the covariances of S over all ordered pairs of different stations.

    cov_gh = [K_gh + 4 sum_i R_ig R_ih - n (n_g + 1)(n_h + 1)] / 3, with n the number of
    years in the common calendar (Hirsch & Slack 1984).
    """
    keep = [row for row in range(table.shape[0]) if np.count_nonzero(~np.isnan(table[row])) > 1]
    n = table.shape[1]
    counts = np.array([np.count_nonzero(~np.isnan(table[row])) for row in keep])
    ranks = np.array([_ranks(table[row]) for row in keep])
    upper = np.triu_indices(n, 1)
    flat = np.array([signs[row][upper] for row in keep])
    concordance = flat @ flat.T
    covariance = (concordance + 4 * ranks @ ranks.T - n * np.outer(counts + 1, counts + 1)) / 3
    return float(covariance.sum() - np.trace(covariance))


def _ranks(row: FloatArray) -> FloatArray:
    """Mid-ranks within the station; a missing year takes the mean rank."""
    present = ~np.isnan(row)
    ranks = np.full(row.size, (np.count_nonzero(present) + 1) / 2)
    ranks[present] = stats.rankdata(row[present])
    return ranks
