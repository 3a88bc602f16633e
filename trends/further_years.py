"""How many more years, and how small a change: planning ahead from the scatter a series has shown."""

import math
from bisect import bisect_left
from dataclasses import replace
from functools import lru_cache
from threading import Lock

import numpy as np

from trends.measures import Measure
from trends.outcomes import Period
from trends.stats.power import smallest_detectable_change, years_to_detect

# The change that "years needed" is worked out for, per decade: half a rating class, or as named.
TARGET_PART_OF_CLASS = 0.5
TARGET_PER_DECADE = {"native_richness": 1.0, "intolerant_share_pct": 10.0, "tolerant_share_pct": 10.0}
ALPHA, POWER = 0.05, 0.80


@lru_cache(maxsize=10_000)
def _smallest_in_scatters(years: tuple[int, ...]) -> float | None:
    """Yearly change, in units of the scatter, that visits in these years show with the power stated."""
    change = smallest_detectable_change(years, 1.0, alpha=ALPHA, power=POWER).slope
    return float(change) if math.isfinite(change) else None


def with_smallest_change(period: Period, years: np.ndarray) -> Period:
    """Where no direction could be named: the change that these years would have shown."""
    if period.certainty not in ("unclear", "leaning") or not period.scatter:
        return period
    smallest = _smallest_in_scatters(tuple(int(y) for y in years))
    if smallest is None:
        return period
    return replace(period, smallest_change_per_decade=10 * smallest * period.scatter)


def target_per_decade(measure: Measure, width: float | None) -> float | None:
    """The change per decade that would matter, or None where none is named for this measure."""
    return TARGET_PART_OF_CLASS * width if width else TARGET_PER_DECADE.get(measure.key)


def planning(measure: Measure, width: float | None, scatter: float | None) -> dict[str, float | int | None]:
    """Yearly visits needed to see the target change at the present scatter; forward only."""
    target = target_per_decade(measure, width)
    if not target or not scatter:
        return {}
    needed = _years_needed(round(target / 10 / scatter, 3))
    return {"years_needed": needed, "years_needed_for": target} if needed else {}


# Answers found so far: changes in units of the scatter, in rising order, and the years each needs.
_CHANGES: list[float] = []
_YEARS: list[float] = []
_years_lock = Lock()


def _years_needed(change_in_scatters: float) -> int | None:
    """Yearly visits needed; only the change in units of the scatter matters, so answers are kept.

    A greater change never needs more years, so a change between two that need the same needs that too.
    """
    if change_in_scatters <= 0:
        return None
    with _years_lock:
        at = bisect_left(_CHANGES, change_in_scatters)
        known = at < len(_CHANGES) and (
            _CHANGES[at] == change_in_scatters or (at > 0 and _YEARS[at - 1] == _YEARS[at])
        )
        if not known:
            found = years_to_detect(change_in_scatters, 1.0, alpha=ALPHA, power=POWER, method="formula")
            _CHANGES.insert(at, change_in_scatters)
            _YEARS.insert(at, float(found))
        years = _YEARS[at]
    return int(years) if math.isfinite(years) else None
