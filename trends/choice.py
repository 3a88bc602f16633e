"""What part of a creek's record is looked at: stations and years, as they stand in an address.

Where everything is chosen the stored outcome is read; else the same assessment is made of the part.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from urllib.parse import urlencode

from django.db.models import Max, Min

from surveys.models import Visit, Watershed
from trends.assessments import assess
from trends.number_words import listed
from trends.outcomes import Outcome
from trends.reading import place_outcome
from trends.record import Record, read_record


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """Codes of the stations chosen, empty for all of them, and the first and last year looked at."""

    stations: tuple[str, ...] = ()
    first: int | None = None
    last: int | None = None

    @property
    def is_whole(self) -> bool:
        return not self.stations and self.first is None and self.last is None

    def query(self, **more: str) -> str:
        """The part of an address that brings this view back."""
        pairs = [("station", code) for code in self.stations]
        pairs += [("from", str(self.first))] if self.first is not None else []
        pairs += [("to", str(self.last))] if self.last is not None else []
        return urlencode([*pairs, *((k, v) for k, v in more.items() if v)])


def read_choice(asked: Mapping[str, list[str]], codes: Iterable[str], years: range) -> Choice:
    """A choice from the lists of an address; what is not on record is passed over.

    All stations, and a first or last year at or beyond the ends, are the same as no choice.
    """
    known = list(codes)
    wanted = {one.strip() for one in asked.get("station", [])}
    chosen = tuple(code for code in known if code in wanted)
    first, last = _year(asked, "from"), _year(asked, "to")
    if first is not None and last is not None and first > last:
        first, last = last, first
    if not years or (first is not None and first <= years[0]):
        first = None
    if not years or (last is not None and last >= years[-1]):
        last = None
    return Choice(stations=() if len(chosen) == len(known) else chosen, first=first, last=last)


def _year(asked: Mapping[str, list[str]], name: str) -> int | None:
    text = (asked.get(name) or [""])[-1].strip()
    return int(text) if text.isdecimal() and len(text) == 4 else None


def narrowed(record: Record, choice: Choice) -> Record:
    """The part of a record that was chosen."""
    if choice.is_whole:
        return record
    stations = tuple(s for s in record.stations if not choice.stations or s.code in choice.stations)
    first, last = choice.first or 0, choice.last or 9999
    return record.keeping(lambda visit: first <= visit.date.year <= last, stations)


def chosen_outcome(
    watershed: Watershed,
    choice: Choice,
    measure: str,
    record: Record | None = None,
    *,
    with_cautions: bool = True,
) -> Outcome | None:
    """The outcome of the whole creek as stored, or of the part that was chosen, made now."""
    if choice.is_whole:
        return place_outcome(watershed, None, measure)
    part = narrowed(record or read_record(watershed), choice)
    if not part.visits:
        return None
    outcome = assess(part, measure, with_cautions=with_cautions)
    if choice.stations:
        outcome = replace(outcome, place_name=f"{listed(list(choice.stations))}, {watershed.name}")
    return outcome


def record_years(watershed: Watershed) -> range:
    """Every year from the first accepted visit to the last."""
    ends = (
        Visit.objects.accepted()
        .in_watershed(watershed)
        .aggregate(first=Min("visit_date"), last=Max("visit_date"))
    )
    return range(ends["first"].year, ends["last"].year + 1) if ends["first"] else range(0)
