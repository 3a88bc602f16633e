"""The tables of the open data package: the lists of the interface for programs, and what they lack.

Whatever both give comes from the same rows, as the public may have them, so that they cannot differ.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import islice
from typing import Any

from surveys.models import RemovalPass, SamplingMethod, Taxon, VisitStatus, Watershed
from trends.api.readers import PUBLIC
from trends.api.resources import BY_NAME, Resource
from trends.exports.tables import Column
from trends.exports.visits import STANDING
from trends.models import LandCover
from trends.public_figures import withheld_taxa

CHUNK = 1_000
Row = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One file: what it holds, what a row is known by, and which columns lead to other tables."""

    name: str
    summary: str
    columns: tuple[Column, ...]
    rows: Callable[[], Iterable[Row]]
    key: tuple[str, ...] = ()
    # Own columns -> the table and the columns they lead to.
    links: tuple[tuple[tuple[str, ...], str, tuple[str, ...]], ...] = ()


def _column(key: str, kind: Any, text: str, unit: str = "", *, required: bool = False) -> Column:
    return Column(key=key, kind=kind, text=text, unit=unit, required=required)


def _link(column: str, table: str) -> tuple[tuple[str, ...], str, tuple[str, ...]]:
    return (column,), table, (column,)


def _all_rows(resource: Resource) -> Iterator[Row]:
    """Every public row of a list, read in blocks."""
    source = resource.source(PUBLIC).order_by("pk").iterator(chunk_size=CHUNK)
    while block := list(islice(source, CHUNK)):
        yield from resource.rows(block, PUBLIC)


def _listed(name: str, key: tuple[str, ...] = (), links: Any = ()) -> Table:
    resource = BY_NAME[name]
    return Table(
        name=name,
        summary=resource.summary,
        columns=tuple(c for c in resource.columns if not c.nested),
        rows=lambda: _all_rows(resource),
        key=key,
        links=tuple(links),
    )


def _nested(name: str, column: str) -> Iterator[tuple[Row, Row]]:
    """The entries of a list within the rows of a list, each with the row it stands in."""
    for row in _all_rows(BY_NAME[name]):
        for one in row[column] or ():
            yield row, one


def _score_metrics() -> Iterator[Row]:
    for row, metric in _nested("scores", "metrics"):
        yield {"visit": row["visit"], **metric, "index_standing": row["index_standing"]}


def _trend_years() -> Iterator[Row]:
    kept = ("scope", "watershed", "station", "measure", "unit", "index_standing")
    for row, year in _nested("trends", "years"):
        yield {**{key: row[key] for key in kept}, **year}


def _withheld() -> Iterator[Row]:
    slugs = dict(Watershed.objects.values_list("pk", "slug"))
    for place, taxa in sorted(withheld_taxa(slugs).items()):
        for taxon in taxa:
            yield {
                "watershed": slugs[place],
                "scientific_name": taxon.scientific_name,
                "common_name": taxon.common_name,
            }


def _methods() -> Iterator[Row]:
    for one in SamplingMethod.objects.order_by("code"):
        yield {"method": one.code, "name": one.name, "reference": one.reference}


def _taxa() -> Iterator[Row]:
    """Taxa that the catches name; those whose places are withheld stand in a table of their own."""
    named = BY_NAME["catches"].source(PUBLIC).order_by().values("taxon")
    for one in Taxon.objects.filter(pk__in=named).order_by("slug"):
        yield {
            "taxon": one.slug,
            "scientific_name": one.scientific_name,
            "authorship": one.authorship,
            "common_name": one.common_name,
            "rank": one.rank,
            "family": one.family,
            "native": one.native,
        }


def _passes() -> Iterator[Row]:
    """Passes without the weight of all fish, which would tell of fish that are not listed."""
    source = RemovalPass.objects.filter(visit__status=VisitStatus.ACCEPTED).order_by("visit", "pass_number")
    for one in source.iterator(chunk_size=CHUNK):
        yield {
            "visit": one.visit_id,
            "pass": one.pass_number,
            "effort_s": one.effort_s,
            "waveform": one.waveform,
            "anodes": one.anodes,
            "netters": one.netters,
        }


def _land_cover() -> Iterator[Row]:
    for one in LandCover.objects.select_related("watershed").order_by("watershed__slug", "year"):
        yield {
            "watershed": one.watershed.slug,
            "year": one.year,
            "impervious_pct": one.impervious_pct,
            "forest_pct": one.forest_pct,
        }


WATERSHED = _column("watershed", "string", "Watershed, as in its address", required=True)
VISIT = _column("visit", "integer", "Number of the visit", required=True)
STATION = _link("station", "stations")
PLACE = (_link("watershed", "watersheds"), STATION)

TABLES: tuple[Table, ...] = (
    _listed("watersheds", ("watershed",)),
    Table(
        name="withheld_species",
        summary="Species whose places are withheld: known from the watershed, not told for a place in it",
        columns=(
            WATERSHED,
            _column("scientific_name", "string", "Scientific name", required=True),
            _column("common_name", "string", "Common name"),
        ),
        rows=_withheld,
        key=("watershed", "scientific_name"),
        links=(_link("watershed", "watersheds"),),
    ),
    Table(
        name="land_cover",
        summary="Hard surfaces and forest in each watershed, by year of the mapping",
        columns=(
            WATERSHED,
            _column("year", "integer", "Year of the mapping", required=True),
            _column("impervious_pct", "number", "Share under hard surfaces", "%"),
            _column("forest_pct", "number", "Share under forest", "%"),
        ),
        rows=_land_cover,
        key=("watershed", "year"),
        links=(_link("watershed", "watersheds"),),
    ),
    Table(
        name="methods",
        summary="Sampling methods that visits name by their code",
        columns=(
            _column("method", "string", "Code of the sampling method", required=True),
            _column("name", "string", "Name"),
            _column("reference", "string", "Where the protocol is written down"),
        ),
        rows=_methods,
        key=("method",),
    ),
    Table(
        name="taxa",
        summary="Taxa that the catches name",
        columns=(
            _column("taxon", "string", "The taxon's name in addresses", required=True),
            _column("scientific_name", "string", "Scientific name", required=True),
            _column("authorship", "string", "Who named it and when; empty where not recorded"),
            _column("common_name", "string", "Common name"),
            _column("rank", "string", "Rank of the name"),
            _column("family", "string", "Family"),
            _column("native", "boolean", "Whether it is native here; empty where not known"),
        ),
        rows=_taxa,
        key=("taxon",),
    ),
    _listed("stations", ("station",), (_link("watershed", "watersheds"), _link("method", "methods"))),
    _listed("visits", ("visit",), (*PLACE, _link("method", "methods"))),
    Table(
        name="passes",
        summary="Passes of each visit; one without catches caught no fish that is listed",
        columns=(
            VISIT,
            _column("pass", "integer", "Number of the pass", required=True),
            _column("effort_s", "integer", "Current-on time", "s"),
            _column("waveform", "string", "Form of the current; empty where not recorded"),
            _column("anodes", "integer", "Number of anodes; empty where not recorded"),
            _column("netters", "integer", "Number of people with nets; empty where not recorded"),
        ),
        rows=_passes,
        key=("visit", "pass"),
        links=(_link("visit", "visits"),),
    ),
    _listed(
        "catches",
        ("visit", "pass", "taxon"),
        ((("visit", "pass"), "passes", ("visit", "pass")), _link("taxon", "taxa")),
    ),
    _listed("indicators", ("visit",), (_link("visit", "visits"), STATION)),
    _listed("scores", ("visit",), (_link("visit", "visits"), STATION)),
    Table(
        name="score_metrics",
        summary="Value and points of each metric behind an index score, where they are given",
        columns=(
            VISIT,
            _column("metric", "string", "Key of the metric", required=True),
            _column("name", "string", "Name"),
            _column("value", "number", "Value", "as the unit column says"),
            _column("unit", "string", "Unit of the value"),
            _column("points", "number", "Points earned", "points"),
            _column("remark", "string", "Why there is no value or there are no points"),
            _column("index_standing", "string", STANDING),
        ),
        rows=_score_metrics,
        key=("visit", "metric"),
        links=(_link("visit", "scores"),),
    ),
    _listed("trends", (), PLACE),
    Table(
        name="trend_years",
        summary="The values over the years that each trend was made from",
        columns=(
            _column("scope", "string", "station, or watershed for all its stations", required=True),
            WATERSHED,
            _column("station", "string", "Station code; empty for a watershed"),
            _column("measure", "string", "What is followed over the years", required=True),
            _column("year", "integer", "Year", required=True),
            _column("value", "number", "Value of the year", "as the unit column says"),
            _column("unit", "string", "Unit of the value"),
            _column("reason", "string", "Why there is no value"),
            _column("index_standing", "string", f"For the index score: {STANDING[0].lower()}{STANDING[1:]}"),
        ),
        rows=_trend_years,
        links=PLACE,
    ),
    _listed("notes", ("note",), PLACE),
)
