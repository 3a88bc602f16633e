"""Records as rows of the interface: what the reader may have of them, a fixed number of queries a page."""

from collections.abc import Iterable, Iterator
from typing import Any

from django.db.models import Case, Count, F, Q, QuerySet, Value, When

from surveys.models import Catch, Station, Visit, Watershed
from trends.api.readers import Reader
from trends.exports import trends as trend_export
from trends.exports.tables import Column
from trends.exports.visits import gear_cells, measure_cells, measure_columns, place_cells
from trends.measures import INDEX
from trends.method_standing import Standings
from trends.models import LandUseNote, TrendResult
from trends.public_figures import (
    KEPT_BACK,
    Figures,
    guarded_watersheds,
    public_figures,
    stored_figures,
    withheld_taxa,
)

Row = dict[str, Any]
_INDEX_KEYS = {
    INDEX.key,
    f"{INDEX.key}_reason",
    "index_rating",
    "index_method",
    "index_version",
    "index_standing",
}


def indicator_columns() -> list[Column]:
    """The measures but the index score, which is a resource of its own."""
    return [column for column in measure_columns() if column.key not in _INDEX_KEYS]


def watershed_rows(found: list[Watershed], reader: Reader) -> Iterator[Row]:
    ids = [one.pk for one in found]
    stations = dict(
        Station.objects.filter(watershed__in=ids).order_by().values_list("watershed").annotate(n=Count("pk"))
    )
    told = withheld_taxa(ids)
    for one in found:
        yield {
            "watershed": one.slug,
            "name": one.name,
            "description": one.description,
            "stations": stations.get(one.pk, 0),
            "withheld_species": [
                {"scientific_name": t.scientific_name, "common_name": t.common_name}
                for t in told.get(one.pk, [])
            ],
            "url": one.get_absolute_url(),
        }


def station_rows(found: list[Station], reader: Reader) -> Iterator[Row]:
    for one in found:
        yield {
            "station": one.code,
            "watershed": one.watershed.slug,
            "stream": one.stream,
            "name": one.name,
            "latitude": one.latitude,
            "longitude": one.longitude,
            "position_uncertainty_m": one.position_uncertainty_m,
            "river_km": one.river_km,
            "catchment_km2": one.catchment_km2,
            "stratum": one.stratum,
            "reach_length_m": one.reach_length_m,
            "mean_width_m": one.mean_width_m,
            "elevation_m": one.elevation_m,
            "method": one.method.code if one.method else None,
            "control_for": one.control_for.code if one.control_for else None,
            "url": one.get_absolute_url(),
        }


def visit_rows(found: list[Visit], reader: Reader) -> Iterator[Row]:
    gear = gear_cells([one.pk for one in found])
    for one in found:
        told = {"status": one.status, "url": one.get_absolute_url()}
        yield place_cells(one) | gear.get(one.pk, {"passes": 0}) | told


def catch_rows(found: list[Catch], reader: Reader) -> Iterator[Row]:
    for one in found:
        visit = one.removal_pass.visit
        yield {
            "visit": visit.pk,
            "station": visit.station.code,
            "watershed": visit.station.watershed.slug,
            "visit_date": visit.visit_date,
            "status": visit.status,
            "pass": one.removal_pass.pass_number,
            "effort_s": one.removal_pass.effort_s,
            "taxon": one.taxon.slug,
            "scientific_name": one.taxon.scientific_name,
            "common_name": one.taxon.common_name,
            "count": one.count,
            "young_of_year": one.young_of_year,
            "anomalies": one.anomalies,
            "biomass_g": None if one.weighed is not None and one.weighed < one.count else one.biomass_g,
            "estimated": one.estimated,
        }


def _figures(found: list[Visit], reader: Reader, *, score_alone: bool = False) -> dict[int, Figures]:
    if reader.all_places:
        return {one.pk: stored_figures(getattr(one, "result", None)) for one in found}
    return public_figures(found, score_alone=score_alone)


def indicator_rows(found: list[Visit], reader: Reader) -> Iterator[Row]:
    figures = _figures(found, reader)
    for one in found:
        yield place_cells(one) | measure_cells(getattr(one, "result", None), figures[one.pk])


def score_rows(found: list[Visit], reader: Reader) -> Iterator[Row]:
    figures = _figures(found, reader, score_alone=True)
    standings = Standings()
    for one in found:
        cells = measure_cells(getattr(one, "result", None), figures[one.pk])
        metrics = figures[one.pk].metrics
        yield place_cells(one) | cells | {
            "rating": cells["index_rating"],
            "index_standing": standings.of(cells["index_method"], cells["index_version"]),
            "reason": cells[f"{INDEX.key}_reason"],
            "metrics": None
            if metrics is None
            else [
                {
                    "metric": key,
                    "name": metric["name"],
                    "value": metric["value"],
                    "unit": metric["unit"],
                    "points": metric["points"],
                    "remark": metric["reason"],
                }
                for key, metric in metrics.items()
            ],
            "metrics_reason": KEPT_BACK if metrics is None else "",
        }  # fmt: skip


def with_told_rating(visits: QuerySet[Visit], reader: Reader) -> QuerySet[Visit]:
    """Visits with the rating that is told: to the public that of the fish that are listed."""
    rating = "result__index_rating" if reader.all_places else "result__listed_rating"
    return visits.annotate(told_rating=F(rating))


def with_told_certainty(results: QuerySet[TrendResult], reader: Reader) -> QuerySet[TrendResult]:
    """Results with the word that is told: to the public a mere leaning is unclear, and what is kept back has none."""
    if reader.all_places:
        return results.annotate(told_certainty=F("certainty"))
    kept_back = Q(watershed__in=guarded_watersheds()) & ~Q(measure=INDEX.key)
    word = Case(
        When(kept_back, then=Value(trend_export.WITHHELD)),
        When(certainty="leaning", then=Value("unclear")),
        default=F("certainty"),
    )
    return results.annotate(told_certainty=word)


def trend_rows(found: list[TrendResult], reader: Reader) -> Iterable[Row]:
    if reader.all_places:
        return trend_export.trend_rows(found)
    guarded = guarded_watersheds({one.watershed_id for one in found})
    return trend_export.trend_rows(found, public=True, guarded=guarded)


def note_rows(found: list[LandUseNote], reader: Reader) -> Iterator[Row]:
    for one in found:
        yield {
            "note": one.pk,
            "watershed": one.watershed.slug,
            "station": one.station.code if one.station else None,
            "category": one.category,
            "starts_on": one.starts_on,
            "ends_on": one.ends_on,
            "date_precision": one.date_precision,
            "title": one.title,
            "text": one.text,
            "source": one.source,
        }
