"""Every limit that fires a caution, by name, with its source.

A limit without a named source is a choice made here; no published one was found. A county may set
its own by the environment variable ``CAUTION_LIMITS``, a JSON object of these names; each value
stands in the sentence or in the numbers of its caution, so that a reader sees what was used.
"""

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

# With 4 values the smallest two-sided exact p is 2/4! = 0.083; with 5 it is 0.017 (arithmetic).
LEAST_YEARS = 5
# USGS kept trend sites with at least 10 years of record (SIR 2009-5268, site selection).
FEW_YEARS = 10
# A value in the first and in the last fifth of the period (same USGS rule).
ENDS_PART = 1 / 5
LONG_GAP_YEARS = 3
LONG_GAP_PART = 1 / 3
TIED_PART = 1 / 3
LEAST_DISTINCT = 4
LENGTH_DIFFERS = 0.10
WIDTH_DIFFERS = 0.30
EFFORT_LEAST, EFFORT_MOST = 0.5, 2.0
DAYS_OFF = 30
EVENT_MONTHS = 12
# Likeness of neighbouring years: with FEW_YEARS or more, and with fewer.
SERIAL_LONG, SERIAL_SHORT = 0.2, 0.4
# A curve or a step is clearly better than a line when its corrected information criterion (AICc)
# is lower by this much (common practice: a difference above 4 to 7 leaves the line little support).
CURVE_BEATS = 6.0
STEP_YEARS = 1
CONFOUNDED_YEARS = 2
# The year is the unit; with fewer than three on a side a mean has hardly any scatter of its own.
LEAST_YEARS_A_SIDE = 3
CONTROL_DRIFT_P = 0.1
FISH_FOR_ANOMALIES = 25
# Poor catching: the water much cloudier or higher than at this station's other visits.
TURBIDITY_TIMES, TURBIDITY_LEAST_NTU = 3.0, 25.0
FLOW_TIMES = 3.0
# A direction counts as supported from this confidence on: the lower end of "likely".
DIRECTION_CONFIDENCE = 0.85

NAMES = frozenset(
    name for name, value in globals().items() if name.isupper() and isinstance(value, int | float)
)


def _own_limits() -> None:
    for name, value in getattr(settings, "CAUTION_LIMITS", {}).items():
        if name not in NAMES:
            raise ImproperlyConfigured(
                f"CAUTION_LIMITS names {name}, which is no limit. Known are: {', '.join(sorted(NAMES))}."
            )
        if value <= 0:
            raise ImproperlyConfigured(f"CAUTION_LIMITS: {name} must be above 0.")
        globals()[name] = type(globals()[name])(value)


_own_limits()
