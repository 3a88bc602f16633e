"""The one table of resources: columns, filters, where the records come from. All else is made from it."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import Model, QuerySet

from surveys.models import Catch, SamplingMethod, Station, Visit, VisitStatus, Watershed
from surveys.said import marked
from trends.api import rows
from trends.api.cursors import BY_CATCH, BY_NUMBER, Cursor
from trends.api.parameters import Filter, Named
from trends.api.readers import Reader
from trends.exports.tables import Column
from trends.exports.trends import COLUMNS as TREND_COLUMNS
from trends.exports.trends import NESTED_COLUMNS as TREND_NESTED
from trends.exports.trends import WITHHELD, trend_results
from trends.exports.visits import EFFORT_COLUMNS, MADE_FROM_COLUMNS, PLACE_COLUMNS, STANDING, WATER_COLUMNS
from trends.measures import EVERY_MEASURE, INDEX
from trends.models import LandUseNote, NoteCategory

CERTAINTIES = (
    "very_likely", "likely", "leaning", "unclear", "steady", "disagree", "not_assessed", WITHHELD
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Resource:
    """One kind of record that can be listed."""

    name: str
    summary: str
    columns: tuple[Column, ...]
    filters: tuple[Filter, ...]
    source: Callable[[Reader], QuerySet[Any]]
    rows: Callable[[list[Any], Reader], Iterable[dict[str, Any]]]
    # Field and column by which one record is asked for; empty where records are only listed.
    field: str = ""
    key: str = ""
    places: bool = False
    cursor: Cursor = BY_NUMBER

    @property
    def one(self) -> str:
        """What a single record is called."""
        return self.name.removesuffix("es") if self.name.endswith("ches") else self.name.removesuffix("s")


WATERSHEDS = Named(model=Watershed, field="slug", what="watershed", listed_at="/api/v1/watersheds")
STATIONS = Named(model=Station, field="code", what="station", listed_at="/api/v1/stations")
METHODS = Named(
    model=SamplingMethod,
    field="code",
    what="sampling method",
    listed_at="/api/v1/visits, in the column method",
)


def _column(key: str, kind: Any, text: str, unit: str = "", *, required: bool = False) -> Column:
    return Column(key=key, kind=kind, text=text, unit=unit, required=required)


def _place_filters(path: str) -> tuple[Filter, Filter]:
    """Filters by watershed and station, where ``path`` leads to the station."""
    return (
        Filter(
            name="watershed",
            text="Watershed, as in its address",
            field=f"{path}watershed__slug",
            of=WATERSHEDS,
        ),
        Filter(name="station", text="Station code", field=f"{path}code", of=STATIONS),
    )


def _date_filters(path: str) -> tuple[Filter, ...]:
    return (
        Filter(name="year", text="Calendar year", field=f"{path}__year", kind="year"),
        Filter(name="from", text="First date", field=f"{path}__gte", kind="date"),
        Filter(name="to", text="Last date", field=f"{path}__lte", kind="date"),
    )


ADDRESS = _column("url", "string", "Address of the page about it", required=True)
STATUS = _column(
    "status",
    "string",
    "accepted; with a token also draft, submitted or returned: numbers that nobody has reviewed",
    required=True,
)
VISIT_PLACE = tuple(
    c for c in PLACE_COLUMNS if c.key in {"visit", "station", "watershed", "visit_date", "year", "method"}
)
VISIT_FILTERS = (
    *_place_filters("station__"),
    *_date_filters("visit_date"),
    Filter(name="method", text="Code of the sampling method", field="method__code", of=METHODS),
)


def _visits(reader: Reader) -> QuerySet[Visit]:
    visits = Visit.objects.all() if reader.unaccepted else Visit.objects.accepted()
    return visits.with_places()


def _with_results(reader: Reader) -> QuerySet[Visit]:
    """Results are made of accepted visits alone, whoever reads them."""
    return Visit.objects.accepted().select_related("station__watershed", "method", "result")


def _catches(reader: Reader) -> QuerySet[Catch]:
    """Catches of accepted visits; those of sensitive taxa are told to the public for the watershed alone."""
    catches = Catch.objects.select_related("taxon", "removal_pass__visit__station__watershed")
    if not reader.unaccepted:
        catches = catches.filter(removal_pass__visit__status=VisitStatus.ACCEPTED)
    return catches if reader.all_places else catches.filter(taxon__sensitive_location=False)


def _notes(reader: Reader) -> QuerySet[LandUseNote]:
    notes = LandUseNote.objects.current() if reader.all_places else LandUseNote.objects.public()
    return notes.select_related("watershed", "station")


RESOURCES: tuple[Resource, ...] = (
    Resource(
        name="watersheds",
        summary=marked("Watersheds, with the species whose exact places within them are withheld"),
        columns=(
            _column("watershed", "string", "The watershed's name in addresses", required=True),
            _column("name", "string", "Name", required=True),
            _column("description", "string", "What is said of it"),
            _column("stations", "integer", "Number of stations", required=True),
            _column("withheld_species", "array", "Species known from the watershed whose places are withheld"),
            ADDRESS,
        ),
        filters=(),
        source=lambda reader: Watershed.objects.all(),
        rows=rows.watershed_rows,
        field="slug",
        key="watershed",
    ),
    Resource(
        name="stations",
        summary=marked("Stations: fixed places that are visited year after year"),
        columns=(
            _column("station", "string", "Station code", required=True),
            _column("watershed", "string", "Watershed, as in its address", required=True),
            _column("stream", "string", "Stream", required=True),
            _column("name", "string", "Name"),
            _column("latitude", "number", "Degrees north, WGS 84", "degree"),
            _column("longitude", "number", "Degrees east, WGS 84", "degree"),
            _column(
                "position_uncertainty_m",
                "number",
                "How far the true place may lie from the position; empty where not known",
                "m",
            ),
            _column("river_km", "number", "Distance from the mouth", "km"),
            _column("catchment_km2", "number", "Catchment area", "km2"),
            _column("stratum", "string", "Region or stream class that decides which index applies"),
            _column("reach_length_m", "number", "Length of the fixed reach", "m"),
            _column("mean_width_m", "number", "Mean width", "m"),
            _column("elevation_m", "number", "Elevation", "m"),
            _column("method", "string", "Code of the usual sampling method"),
            _column("control_for", "string", "Code of the station it is a control for"),
            ADDRESS,
        ),
        filters=(
            Filter(name="watershed", text="Watershed, as in its address", field="watershed__slug", of=WATERSHEDS),
            Filter(name="stream", text="Name of the stream", field="stream"),
            Filter(name="stratum", text="Region or stream class", field="stratum"),
        ),
        source=lambda reader: Station.objects.with_places(),
        rows=rows.station_rows,
        field="code",
        key="station",
        places=True,
    ),
    Resource(
        name="visits",
        summary=marked("Accepted visits with reach and water readings"),
        columns=(
            *(c for c in PLACE_COLUMNS if not c.key.endswith("_name")),
            STATUS,
            *EFFORT_COLUMNS,
            *WATER_COLUMNS,
            ADDRESS,
        ),
        filters=VISIT_FILTERS,
        source=_visits,
        rows=rows.visit_rows,
        field="pk",
        key="visit",
    ),
    Resource(
        name="catches",
        summary=marked("Fish of one taxon in one pass; species whose places are withheld are not listed"),
        columns=(
            _column("visit", "integer", "Number of the visit", required=True),
            _column("station", "string", "Station code", required=True),
            _column("watershed", "string", "Watershed, as in its address", required=True),
            _column("visit_date", "date", "Date of the visit", required=True),
            STATUS,
            _column("pass", "integer", "Number of the pass", required=True),
            _column("effort_s", "integer", "Current-on time of the pass", "s"),
            _column("taxon", "string", "The taxon's name in addresses", required=True),
            _column("scientific_name", "string", "Scientific name", required=True),
            _column("common_name", "string", "Common name"),
            _column("count", "integer", "Number of fish", "fish", required=True),
            _column("young_of_year", "integer", "Of these, fish of the year", "fish"),
            _column("anomalies", "integer", "Of these, fish with anomalies", "fish"),
            _column(
                "biomass_g", "number", "Weight of these fish together; empty where not all were weighed", "g"
            ),
            _column("estimated", "boolean", "Whether the number was estimated, not counted", required=True),
        ),
        filters=(
            *_place_filters("removal_pass__visit__station__"),
            *_date_filters("removal_pass__visit__visit_date"),
            # Of a name that is on no list the answer is as empty as of one whose places are withheld.
            Filter(name="taxon", text="The taxon's name in addresses", field="taxon__slug"),
        ),
        source=_catches,
        rows=rows.catch_rows,
        cursor=BY_CATCH,
    ),
    Resource(
        name="indicators",
        summary=marked("What is measured at each accepted visit, with a reason for each number that is missing"),
        columns=(
            *VISIT_PLACE,
            *rows.indicator_columns(),
            *MADE_FROM_COLUMNS,
        ),
        filters=VISIT_FILTERS,
        source=_with_results,
        rows=rows.indicator_rows,
    ),
    Resource(
        name="scores",
        summary=marked("Index score of each accepted visit, with its metrics or the reason why there is none"),
        columns=(
            *VISIT_PLACE,
            _column(
                INDEX.key,
                "number",
                f"{INDEX.formula} Made of the fish in the public lists; for those who may see all places, of all fish.",
                INDEX.unit,
            ),
            _column("rating", "string", "Rating that the score earns"),
            _column("index_method", "string", "Code of the index method"),
            _column("index_version", "string", "Version of the index method"),
            _column("index_standing", "string", STANDING),
            _column("reason", "string", "Why there is no score"),
            _column("metrics", "array", "Value, unit, points and remark of each metric"),
            _column("metrics_reason", "string", "Why the metrics are not given"),
            *MADE_FROM_COLUMNS,
        ),
        filters=(
            *VISIT_FILTERS,
            Filter(
                name="index_method", text="Code of the index method", field="result__index_method"
            ),
            Filter(name="rating", text="Rating that the score earns", field="told_rating"),
        ),
        source=lambda reader: rows.with_told_rating(_with_results(reader), reader),
        rows=rows.score_rows,
    ),
    Resource(
        name="trends",
        summary=marked("Trend of each measure at each station and over each watershed"),
        columns=(*TREND_COLUMNS, *TREND_NESTED),
        filters=(
            Filter(name="watershed", text="Watershed, as in its address", field="watershed__slug", of=WATERSHEDS),
            Filter(name="station", text="Station code", field="station__code", of=STATIONS),
            Filter(
                name="measure",
                text="What is followed",
                field="measure",
                kind="word",
                words=tuple(m.key for m in EVERY_MEASURE),
            ),
            Filter(
                name="certainty",
                text="The word for it; leaning is told to staff alone",
                field="told_certainty",
                kind="word",
                words=CERTAINTIES,
            ),
            Filter(
                name="whole_watershed",
                text="true: watersheds alone; false: stations alone",
                field="station__isnull",
                kind="yes_no",
            ),
        ),
        source=lambda reader: rows.with_told_certainty(trend_results(public=not reader.all_places), reader),
        rows=rows.trend_rows,
    ),
    Resource(
        name="notes",
        summary=marked("Public notes on what happened on the land and the water"),
        columns=(
            _column("note", "integer", "Number of the note", required=True),
            _column("watershed", "string", "Watershed, as in its address", required=True),
            _column("station", "string", "Station code; empty where it concerns the watershed"),
            _column("category", "string", "Kind of event", required=True),
            _column("starts_on", "date", "When it began", required=True),
            _column("ends_on", "date", "When it ended"),
            _column("date_precision", "string", "day, month, year or decade", required=True),
            _column("title", "string", "Title", required=True),
            _column("text", "string", "What happened"),
            _column("source", "string", "Where this is known from"),
        ),
        filters=(
            Filter(name="watershed", text="Watershed, as in its address", field="watershed__slug", of=WATERSHEDS),
            Filter(name="station", text="Station code", field="station__code", of=STATIONS),
            Filter(
                name="category",
                text="Kind of event",
                field="category",
                kind="word",
                words=tuple(NoteCategory.values),
            ),
            Filter(name="from", text="Began on or after", field="starts_on__gte", kind="date"),
            Filter(name="to", text="Began on or before", field="starts_on__lte", kind="date"),
        ),
        source=_notes,
        rows=rows.note_rows,
    ),
)  # fmt: skip
BY_NAME: dict[str, Resource] = {resource.name: resource for resource in RESOURCES}


def page(
    resource: Resource, reader: Reader, conditions: dict[str, Any], *, after: int | None, limit: int
) -> list[Model]:
    """Records in the order of the list, one more than asked for where there are more.

    A page starts after a record, not at a count, so that records added meanwhile shift nothing.
    """
    found = resource.source(reader).filter(**conditions)
    if after is not None:
        found = found.filter(resource.cursor.after(after))
    return list(found.order_by(*resource.cursor.fields)[: limit + 1])
