"""The shape of an assessed trend: series, comparable periods, statistics, cautions. Plain data.

An outcome is made by ``trends.assessments``, stored as JSON, and read by ``wording`` and ``charts``.
It holds no sentence: words are made from it. A number that could not be made is None, and the
reason stands beside it.
"""

from dataclasses import dataclass, field
from typing import Any, Literal

from surveys.said import marked
from trends.plain import from_plain, to_plain

__all__ = [
    "NO_VISIT",
    "Caution",
    "Certainty",
    "Direction",
    "Level",
    "Outcome",
    "Period",
    "StationSeries",
    "YearValue",
    "from_plain",
    "to_plain",
    "way_of",
]

# Why a year is empty where nobody was there.
NO_VISIT = marked("no accepted visit")

Certainty = Literal[
    "very_likely",  # confidence in the direction 0.95 or more
    "likely",  # 0.85 to 0.95
    "leaning",  # 0.70 to 0.85; staff only, the public reads "cannot tell"
    "unclear",  # below 0.70
    "steady",  # the whole interval lies inside the band fixed beforehand
    "disagree",  # the stations move in different directions; no single statement
    "not_assessed",  # too few comparable years, or a caution that stops the verdict
]
Direction = Literal["up", "down", "none"]
Level = Literal["stop", "warn", "note"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One remark the tool makes by itself: stable code, grade, the numbers that fired it, two sentences."""

    code: str
    level: Level
    staff: str
    public: str
    numbers: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class YearValue:
    """One year of one station: the median over the accepted visits in season, or why there is none."""

    year: int
    value: float | None
    visits: tuple[int, ...] = ()
    reason: str = ""
    method: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class StationSeries:
    """A station's years, every year from the first to the last visit of its watershed, visited or not."""

    station: str
    name: str
    years: tuple[YearValue, ...]

    def present(self) -> list[YearValue]:
        return [y for y in self.years if y.value is not None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Period:
    """A run of years made by one sampling method, and what the test says about it alone.

    Slopes are in the measure's unit per year; a decade is ten of them. ``n`` is the number of
    different years with a value; ``n_values`` counts station-years. For a watershed the test is the
    regional one and ``stations`` names who went in.
    """

    method: str
    method_name: str
    first_year: int
    last_year: int
    n: int
    n_values: int
    stations: tuple[str, ...]
    certainty: Certainty
    direction: Direction
    # True: the direction is the good one; False: the bad one; None: neither, or no direction.
    good: bool | None
    reason: str = ""
    test: str = ""
    s: float | None = None
    z: float | None = None
    p_value: float | None = None
    p_adjusted: float | None = None
    tau: float | None = None
    direction_confidence: float | None = None
    slope: float | None = None
    intercept: float | None = None
    lower: float | None = None
    upper: float | None = None
    confidence: float = 0.95
    limits: str = ""
    heterogeneity_p: float | None = None
    stations_up: tuple[str, ...] = ()
    stations_down: tuple[str, ...] = ()
    scatter: float | None = None
    smallest_change_per_decade: float | None = None
    years_needed: int | None = None
    years_needed_for: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """Everything that is known about one measure at one place."""

    measure: str
    scope: Literal["station", "watershed"]
    place: str
    place_name: str
    series: tuple[StationSeries, ...]
    # The watershed's line: median over its stations by year, with the number of stations.
    middle: tuple[YearValue, ...]
    periods: tuple[Period, ...]
    cautions: tuple[Caution, ...] = ()
    # The years at which the line is parted: the first year of a new sampling method or layout of a station.
    breaks: tuple[int, ...] = ()
    latest_year: int | None = None
    latest_value: float | None = None
    latest_rating: str = ""
    latest_stations: int = 0
    index_method: str = ""
    index_version: str = ""
    scale: tuple[float, float] | None = None
    ratings: tuple[tuple[str, float, float], ...] = ()
    gaps: tuple[tuple[int, str], ...] = ()

    @property
    def current(self) -> Period | None:
        """The period that reaches furthest: the one a headline speaks of."""
        return max(self.periods, key=lambda p: (p.last_year, p.n_values), default=None)

    @property
    def apart(self) -> tuple[Period, ...]:
        """Periods that run beside the current one: some stations were sampled in another way meanwhile.

        Where every station changed at once the periods follow each other, and this is empty.
        """
        current = self.current
        if current is None:
            return ()
        return tuple(p for p in self.periods if p is not current and p.last_year >= current.first_year)


def way_of(method: str) -> str:
    """The sampling method of a key that may also hold the day from which a station's layout stands."""
    return method.partition("@")[0]
