"""The data of a public page: the same address with ``.json`` or ``.csv``. Who asks makes no difference.

The CSV holds the page's main table; the JSON holds it too, with everything else the page tells. All of
it is what the public may have: accepted data, and sensitive taxa for the whole watershed alone.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from surveys.models import Station, Taxon, Visit, Watershed
from surveys.withholding import STATEMENT
from trends.api.readers import PUBLIC
from trends.api.resources import BY_NAME
from trends.county_words import county_finding
from trends.exports.sources import LICENSE_URL, source_words
from trends.exports.tables import Column
from trends.exports.trends import plain_value
from trends.exports.visits import STANDING
from trends.measures import BY_KEY, INDEX
from trends.method_standing import Standings
from trends.models import TrendResult
from trends.outcomes import Outcome
from trends.public_figures import KEPT_BACK, LEAST_STATIONS, guarded_watersheds
from trends.reading import cover_line, outcome_of, watershed_outcomes
from trends.species import WatershedMeeting, occurrence
from trends.wording import line_years

Row = Mapping[str, Any]

SERIES_COLUMNS = (
    Column(key="measure", kind="string", text="What is followed over the years", required=True),
    Column(key="measure_name", kind="string", text="The measure in words"),
    Column(key="unit", kind="string", text="Unit of the value"),
    Column(key="year", kind="integer", text="Calendar year", required=True),
    Column(key="station", kind="string", text="Station code; empty for the median of the stations"),
    Column(
        key="value", kind="number", text="Median of the comparable visits of the year", unit="unit column"
    ),
    Column(key="reason", kind="string", text="Why there is no value"),
    Column(key="sampling_method", kind="string", text="Code of the sampling method"),
    Column(key="index_standing", kind="string", text=STANDING),
)
MEETING_COLUMNS = (
    Column(key="watershed", kind="string", text="Watershed, as in its address", required=True),
    Column(key="year", kind="integer", text="Calendar year; empty for all years together"),
    Column(key="visits", kind="integer", text="Accepted visits", unit="visits"),
    Column(key="visits_met", kind="integer", text="Visits that met the taxon", unit="visits"),
    Column(key="met", kind="boolean", text="Whether it was met"),
    Column(key="remark", kind="string", text="Why counts and years are kept back"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Twin:
    """The main table of a page, and the other parts of its JSON by name."""

    about: Row
    columns: Sequence[Column]
    rows: Sequence[Row]
    parts: Mapping[str, Any] = field(default_factory=dict)

    def document(self) -> dict[str, Any]:
        return {
            "about": _plain(self.about),
            "fields": [column.table_field() for column in self.columns],
            "rows": [{c.key: plain_value(row.get(c.key)) for c in self.columns} for row in self.rows],
            **self.parts,
            "withheld": STATEMENT,
            "source": source_words(),
            "license": LICENSE_URL,
        }


def _plain(row: Row) -> dict[str, Any]:
    return {key: plain_value(value) for key, value in row.items()}


def _resource_rows(name: str, found: Iterable[Any]) -> list[dict[str, Any]]:
    """Records as the interface for programs gives them, so that the two never differ."""
    resource = BY_NAME[name]
    keys = [column.key for column in resource.columns]
    return [{key: plain_value(row.get(key)) for key in keys} for row in resource.rows(list(found), PUBLIC)]


# --- one for each kind of page --------------------------------------------------------------------------


def creeks() -> Twin:
    """The overview: the index of every watershed."""
    watersheds = list(Watershed.objects.order_by("name"))
    results = BY_NAME["trends"].source(PUBLIC).filter(station__isnull=True, measure=INDEX.key)
    outcomes = watershed_outcomes(watersheds, INDEX.key)
    return Twin(
        about={
            "page": "/",
            "finding": county_finding([outcomes.get(w.pk) for w in watersheds], staff=False),
        },
        columns=[c for c in BY_NAME["trends"].columns if not c.nested],
        rows=_resource_rows("trends", results),
        parts={"watersheds": _resource_rows("watersheds", watersheds)},
    )


def watershed(slug: str) -> Twin | None:
    found = Watershed.objects.filter(slug=slug).first()
    if found is None:
        return None
    results = BY_NAME["trends"].source(PUBLIC).filter(watershed=found, station__isnull=True)
    stations = Station.objects.with_places().filter(watershed=found).order_by("river_km", "code")
    return Twin(
        about=_resource_rows("watersheds", [found])[0],
        columns=SERIES_COLUMNS,
        rows=_series(results, guarded=found.pk in guarded_watersheds([found.pk])),
        parts={
            "trends": _resource_rows("trends", results),
            "stations": _resource_rows("stations", stations),
            "notes": _resource_rows("notes", BY_NAME["notes"].source(PUBLIC).filter(watershed=found)),
            "impervious_pct": [{"year": year, "value": value} for year, value in cover_line(found)],
        },
    )


def station(code: str) -> Twin | None:
    found = Station.objects.with_places().filter(code=code).first()
    if found is None:
        return None
    results = BY_NAME["trends"].source(PUBLIC).filter(station=found)
    guarded = found.watershed_id in guarded_watersheds([found.watershed_id])
    visits = BY_NAME["visits"].source(PUBLIC).filter(station=found).order_by("visit_date")
    measured = BY_NAME["indicators"].source(PUBLIC).filter(station=found).order_by("visit_date")
    return Twin(
        about=_resource_rows("stations", [found])[0],
        columns=SERIES_COLUMNS,
        rows=_series(results, guarded=guarded),
        parts={
            "trends": _resource_rows("trends", results),
            "visits": _resource_rows("visits", visits),
            "indicators": _resource_rows("indicators", measured),
            "scores": _resource_rows("scores", measured),
        },
    )


def visit(pk: int) -> Twin | None:
    found = Visit.objects.accepted().filter(pk=pk)
    if not found.exists():
        return None
    catches = BY_NAME["catches"].source(PUBLIC).filter(removal_pass__visit=pk)
    catches = catches.order_by("removal_pass__pass_number", "taxon__scientific_name")
    measured = BY_NAME["indicators"].source(PUBLIC).filter(pk=pk)
    return Twin(
        about=_resource_rows("visits", BY_NAME["visits"].source(PUBLIC).filter(pk=pk))[0],
        columns=BY_NAME["catches"].columns,
        rows=_resource_rows("catches", catches),
        parts={
            "indicators": _resource_rows("indicators", measured),
            "scores": _resource_rows("scores", measured),
        },
    )


def species(slug: str) -> Twin | None:
    taxon = Taxon.objects.filter(slug=slug).first()
    if taxon is None:
        return None
    hidden = taxon.sensitive_location
    found = occurrence(taxon, with_stations=not hidden)
    return Twin(
        about={
            "taxon": taxon.slug,
            "scientific_name": taxon.scientific_name,
            "common_name": taxon.common_name,
            "family": taxon.family,
            "native": taxon.native,
            "tolerance": taxon.tolerance,
            "trophic_guild": taxon.trophic_guild,
            "places_withheld": hidden,
            "url": taxon.get_absolute_url(),
        },
        columns=MEETING_COLUMNS,
        rows=_withheld_meetings(found.watersheds) if hidden else _meetings(found.watersheds),
        parts={}
        if hidden
        else {
            "stations": [
                {
                    "station": one.code,
                    "visits": one.meeting.made,
                    "visits_met": one.meeting.met,
                    "first_year": one.meeting.first_year,
                    "last_year": one.meeting.last_year,
                }
                for one in found.stations
            ]
        },
    )


# --- their tables ------------------------------------------------------------------------------------


def _series(results: Iterable[TrendResult], *, guarded: bool) -> list[Row]:
    """Every year of every measure: the line's value and each station's, or why there is none."""
    rows: list[Row] = []
    standings = Standings()
    for result in results:
        hidden = guarded and result.measure != INDEX.key
        rows += series_rows(outcome_of(result), kept_back=hidden, standings=standings)
    return rows


def series_rows(
    outcome: Outcome, *, kept_back: bool = False, standings: Standings | None = None
) -> list[Row]:
    measure = BY_KEY[outcome.measure]
    standing = (standings or Standings()).behind(outcome)
    base = {"measure": measure.key, "measure_name": measure.name, "unit": measure.unit}
    lines = [("" if outcome.scope == "watershed" else outcome.place, line_years(outcome))]
    if outcome.scope == "watershed":
        lines += [(one.station, one.years) for one in outcome.series]
    rows: list[Row] = []
    visited = {(s.station, y.year) for s in outcome.series for y in s.years if y.visits}
    years_visited = {year for _, year in visited}
    for place, years in lines:
        for one in years:
            # Of a visited year not even the reason is told: it could be that of the one fish that is not listed.
            hidden = kept_back and ((place, one.year) in visited if place else one.year in years_visited)
            rows.append(
                {
                    **base,
                    "year": one.year,
                    "station": place,
                    "value": None if hidden else one.value,
                    "reason": KEPT_BACK if hidden else one.reason,
                    # A year without a value names no method on the line: so none is named where it is kept back.
                    "sampling_method": "" if hidden else one.method,
                    "index_standing": standing,
                }
            )
    return rows


def _meetings(found: Iterable[WatershedMeeting]) -> list[Row]:
    rows: list[Row] = []
    for one in found:
        for mark in one.meeting.years:
            if mark.made:
                rows.append(_meeting_row(one.watershed, mark.year, mark.made, mark.met))
        rows.append(_meeting_row(one.watershed, None, one.meeting.made, one.meeting.met))
    return rows


def _meeting_row(place: Watershed, year: int | None, made: int, met: int) -> Row:
    return {"watershed": place.slug, "year": year, "visits": made, "visits_met": met, "met": met > 0}


def _withheld_meetings(found: Iterable[WatershedMeeting]) -> list[Row]:
    """Met or not in each watershed with stations enough to hide among.

    A year with a single visit, or a share of all visits, would name the station; so neither is given.
    """
    visited = visited_stations()
    return [
        {"watershed": one.watershed.slug, "met": one.meeting.met > 0, "remark": STATEMENT}
        for one in found
        if visited.get(one.watershed.pk, 0) >= LEAST_STATIONS
    ]


def visited_stations() -> dict[int, int]:
    """How many stations of each watershed have an accepted visit."""
    pairs = Visit.objects.accepted().order_by().values_list("station__watershed", "station").distinct()
    counts: dict[int, int] = {}
    for place, _ in pairs:
        counts[place] = counts.get(place, 0) + 1
    return counts
