"""Do the stations of a creek move the same way, and which of them rise or fall by their own years?

A creek must not say of a station what the station's own page does not, so the directions here are those
that a station's test supports by itself, likely or better, and not the mere signs of its part of the sum.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from trends.stats.kendall import regional_kendall, trend_batch


@dataclass(frozen=True, slots=True, kw_only=True)
class StationsCompared:
    """``p`` is that of the test whether stations agree; None with fewer than two to compare."""

    rising: tuple[str, ...]
    falling: tuple[str, ...]
    p: float | None
    disagree: bool


def compare_stations(
    codes: Iterable[str],
    years: np.ndarray,
    matrix: np.ndarray,
    *,
    least_years: float,
    likely: float,
    differ_p: float,
) -> StationsCompared:
    """Compare the stations that have years enough for a direction of their own.

    The test of agreement compares Z, which grows with the length of a record: a station of two visits, or
    a short record that rises beside a long one that rises, would be told apart by it. So the first is not
    asked, and stations that all move one way by themselves do not disagree, however their Z differ.

    Parameters
    ----------
    matrix : shape (stations, years), NaN where a station has no value
    least_years : years with a value below which no direction is named
    likely : confidence in the direction from which one is
    differ_p : p of the test of agreement below which stations are taken to differ
    """
    tests = trend_batch(years, matrix)
    long_enough = tests.n >= least_years
    ways = np.where(long_enough & (tests.direction_confidence >= likely), np.sign(tests.slope), 0)
    named = list(zip(codes, ways, strict=True))
    rising = tuple(code for code, way in named if way > 0)
    falling = tuple(code for code, way in named if way < 0)
    n = int(np.count_nonzero(long_enough))
    p = regional_kendall(years, matrix[long_enough]).heterogeneity_p if n > 1 else math.nan
    differ = p < differ_p and max(len(rising), len(falling)) < n
    return StationsCompared(
        rising=rising, falling=falling, p=None if math.isnan(p) else float(p), disagree=differ
    )
