"""Reads stored outcomes and notes for pages, charts and exports; computes nothing anew."""

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from django.db.models import QuerySet

from surveys.models import Station, Watershed
from trends.cautions import still_hold
from trends.charts import NoteMark
from trends.listed import ListedOutcome, listed_outcome, years_of
from trends.many_tests import adjust
from trends.measures import EVERY_MEASURE, Measure
from trends.models import LandUseNote, TrendResult
from trends.outcomes import Outcome, from_plain


def outcome_of(result: TrendResult) -> Outcome:
    return still_hold(from_plain(Outcome, result.outcome), datetime.date.today())


def watershed_outcomes(watersheds: Iterable[Watershed], measure: str) -> dict[int, ListedOutcome]:
    """The watershed-wide outcome of one measure as lists show it, by watershed id; words adjusted for many.

    Without the lines, which ``with_lines`` adds for the watersheds in view.
    """
    results = _of_watersheds(watersheds, measure).values_list("watershed", "summary__rest")
    found = [(pk, rest) for pk, rest in results if rest]
    outcomes = adjust([listed_outcome(rest) for _, rest in found])
    return dict(zip([pk for pk, _ in found], outcomes, strict=True))


def with_lines(
    outcomes: Mapping[int, ListedOutcome], in_view: Iterable[Watershed]
) -> dict[int, ListedOutcome]:
    """The outcomes of the watersheds in view with the years of their small lines. One query."""
    shown = [w for w in in_view if w.pk in outcomes]
    if not shown:
        return {}
    lines = dict(
        _of_watersheds(shown, outcomes[shown[0].pk].measure).values_list("watershed", "summary__line")
    )
    return {w.pk: replace(outcomes[w.pk], middle=years_of(lines[w.pk] or ())) for w in shown}


def _of_watersheds(watersheds: Iterable[Watershed], measure: str) -> QuerySet[TrendResult]:
    return TrendResult.objects.filter(
        watershed__in=list(watersheds), station__isnull=True, measure=measure
    ).order_by("watershed")


def station_outcomes(stations: Iterable[Station], measure: str) -> dict[int, Outcome]:
    """The outcome of one measure at each station, by station id; words adjusted for showing many."""
    results = list(TrendResult.objects.filter(station__in=list(stations), measure=measure))
    ids = [r.station_id for r in results]
    return {
        pk: outcome
        for pk, outcome in zip(ids, adjust([outcome_of(r) for r in results]), strict=True)
        if pk is not None
    }


def place_outcome(watershed: Watershed, station: Station | None, measure: str) -> Outcome | None:
    """One stored outcome as it stands alone, or None where nothing has been computed yet."""
    result = TrendResult.objects.filter(watershed=watershed, station=station, measure=measure).first()
    return outcome_of(result) if result else None


def computed_measures(watershed: Watershed, station: Station | None = None) -> list[Measure]:
    """The measures that have at least one value here, in the order they are offered."""
    found = TrendResult.objects.filter(watershed=watershed, station=station).order_by()
    filled = {
        key for key, year in found.values_list("measure", "summary__rest__latest_year") if year is not None
    }
    return [m for m in EVERY_MEASURE if m.key in filled]


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberedNote:
    """A note with the number it carries on the chart and in the list beside it."""

    number: int
    note: LandUseNote


def numbered_notes(
    watershed: Watershed, *, staff: bool, station: Station | None = None
) -> list[NumberedNote]:
    """Notes of a watershed in order of time; private ones for staff alone."""
    notes = LandUseNote.objects.current() if staff else LandUseNote.objects.public()
    notes = notes.filter(watershed=watershed).select_related("station")
    if station is not None:
        notes = notes.filter(station=station) | notes.filter(station__isnull=True)
    return [NumberedNote(number=i, note=n) for i, n in enumerate(notes.order_by("starts_on", "title"), 1)]


def note_marks(notes: Sequence[NumberedNote]) -> list[NoteMark]:
    """Notes as marks on the time axis; a date known to the month or less is drawn as a span."""
    marks = []
    for one in notes:
        first, last = _extent(one.note)
        marks.append(
            NoteMark(
                number=one.number,
                title=one.note.title,
                first=first,
                last=last,
                category=one.note.get_category_display(),
                precision=one.note.date_precision,
            )
        )
    return marks


def _extent(note: LandUseNote) -> tuple[float, float | None]:
    def position(day: object) -> float:
        return day.year + (day.timetuple().tm_yday - 1) / 365.25  # type: ignore[attr-defined]

    first = position(note.starts_on)
    last = position(note.ends_on) if note.ends_on else None
    width = {"day": 0.0, "month": 1 / 12, "year": 1.0, "decade": 10.0}[note.date_precision]
    if note.date_precision == "year":
        first = float(note.starts_on.year)
    elif note.date_precision == "decade":
        first = float(note.starts_on.year // 10 * 10)
    if width and (last is None or last - first < width):
        last = first + width
    return first, last


def cover_line(watershed: Watershed) -> list[tuple[int, float]]:
    """Share of hard surface by year of mapping, percent; years without a figure left out."""
    return [
        (year, pct)
        for year, pct in watershed.land_cover.order_by("year").values_list("year", "impervious_pct")
        if pct is not None
    ]
