"""What a rule looks at: one outcome with the visits, notes and stations behind it."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property
from statistics import median
from typing import Any

from surveys.models import Station
from surveys.said import marked, said
from trends.measures import Measure
from trends.models import LandUseNote
from trends.outcomes import Caution, Level, Outcome, Period, YearValue
from trends.record import Record, VisitValue

# The confidence in the direction and its sign once the years named are left out; None: cannot be tested.
Retest = Callable[[frozenset[int]], tuple[float, int] | None]


@dataclass(frozen=True, kw_only=True)
class Situation:
    """One measure at one place, with everything that a rule may ask about."""

    outcome: Outcome
    measure: Measure
    record: Record
    stations: tuple[Station, ...]
    mixed_index: bool = False
    matters: float | None = None
    class_width: float | None = None
    retest: Retest | None = None

    @property
    def period(self) -> Period | None:
        return self.outcome.current

    @cached_property
    def visits(self) -> tuple[VisitValue, ...]:
        return tuple(v for s in self.stations for v in self.record.visits.get(s.pk, ()))

    def visits_of(self, station: Station) -> tuple[VisitValue, ...]:
        return self.record.visits.get(station.pk, ())

    @cached_property
    def points(self) -> list[YearValue]:
        """The current period's years with a value: the one station's, or the middle of several."""
        period = self.period
        if period is None:
            return []
        if len(self.outcome.series) == 1:
            return [y for y in self.outcome.series[0].present() if y.method == period.method]
        by_year: dict[int, list[float]] = {}
        for one in self.outcome.series:
            for y in one.present():
                if y.method == period.method and y.value is not None:
                    by_year.setdefault(y.year, []).append(y.value)
        return [YearValue(year=y, value=median(v), method=period.method) for y, v in sorted(by_year.items())]

    def concerns(self, note: LandUseNote) -> bool:
        """Whether a note speaks of the whole watershed or of one of these stations."""
        return note.station_id is None or note.station_id in {x.pk for x in self.stations}

    @cached_property
    def supported(self) -> bool:
        period = self.period
        return period is not None and period.certainty in ("very_likely", "likely")


def years_words(values: Iterable[int]) -> str:
    """A few years by name; many by their number, first and last."""
    chosen = sorted(set(values))
    if len(chosen) > 6:
        return said("{n} years between {first} and {last}", n=len(chosen), first=chosen[0], last=chosen[-1])
    return ", ".join(str(y) for y in chosen)


def caution(code: str, level: Level, staff: str, public: str, **numbers: Any) -> Caution:
    return Caution(code=code, level=level, staff=staff, public=public, numbers=numbers)


def percent(part: float) -> str:
    return f"{100 * part:.0f} %"


def fraction(part: float) -> str:
    words = {
        1 / 2: marked("half"),
        1 / 3: marked("a third"),
        1 / 4: marked("a quarter"),
        1 / 5: marked("a fifth"),
    }
    return next((w for value, w in words.items() if abs(part - value) < 1e-9), percent(part))
