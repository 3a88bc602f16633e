"""Stations: the list, and one station's years and species by year."""

from collections import defaultdict
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from surveys.access import SEE_UNACCEPTED, may, visible_visits
from surveys.models import Station, Taxon, Visit, Watershed
from surveys.models.places import SHAPES
from surveys.queries import VisitRecord, visit_records
from surveys.withholding import STATEMENT, sees_all, shown_to
from trends import charts
from trends.lists_behind import lists_behind
from trends.measures import INDEX
from trends.models import VisitResult
from trends.passed_over import measure_passed_over
from trends.public_figures import KEPT_BACK_SENTENCE, measures_for, score_told
from trends.reading import (
    computed_measures,
    cover_line,
    note_marks,
    numbered_notes,
    place_outcome,
)
from trends.standings import outcomes_in_view, station_standings
from trends.views.watersheds import chosen_measure

# A county has some dozens; a state's thousands come in parts.
STATIONS_AT_ONCE = 100


@require_safe
def station_list(request: HttpRequest) -> HttpResponse:
    stations = (
        Station.objects.select_related("watershed")
        .defer(*(f"watershed__{shape}" for shape in SHAPES))
        .order_by("watershed__name", "river_km", "code")
    )
    page = Paginator(stations, STATIONS_AT_ONCE).get_page(request.GET.get("page"))
    in_view = list(page.object_list)
    standings = station_standings(Watershed.objects.defer(*SHAPES), INDEX)
    keys = {s.pk for s in in_view}
    shown = [one for one in standings if one.place in keys]
    outcomes = {
        one.place: outcome for one, outcome in zip(shown, outcomes_in_view(shown, standings), strict=True)
    }
    rows = [{"station": s, "outcome": outcomes.get(s.pk)} for s in in_view]
    tested = sum(1 for one in standings if one.p_value is not None)
    return render(
        request,
        "trends/station_list.html",
        {
            "rows": rows,
            "page": page,
            "measure": INDEX,
            "tested": tested,
            "staff": request.user.is_authenticated,
        },
    )


def species_by_year(records: list[VisitRecord]) -> tuple[list[int], list[tuple[Taxon, list[int | None]]]]:
    """Fish of each taxon by year, shape (taxa, years); None in a year without a visit, 0 where not caught."""
    if not records:
        return [], []
    visited = {r.date.year for r in records}
    years = list(range(min(visited), max(visited) + 1))
    caught: dict[Taxon, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    for record in records:
        for taxon, counts in record.counts_by_taxon().items():
            caught[taxon][record.date.year] += sum(counts)
    rows = [
        (taxon, [by_year.get(y, 0) if y in visited else None for y in years])
        for taxon, by_year in caught.items()
    ]
    rows.sort(key=lambda row: (-sum(1 for c in row[1] if c), row[0].scientific_name))
    return years, rows


def _visit_row(
    visit: Visit, result: VisitResult | None, fish: int | None, everything: bool
) -> dict[str, Any]:
    score, rating = score_told(result, everything=everything)
    return {"visit": visit, "result": result, "score": score, "rating": rating, "fish": fish}


@require_safe
def station(request: HttpRequest, code: str) -> HttpResponse:
    place = get_object_or_404(Station.objects.with_places(), code=code)
    staff = request.user.is_authenticated
    visits = visible_visits(request.user).filter(station=place).select_related("method")
    everything = sees_all(request.user)
    computed = computed_measures(place.watershed, place)
    offered = measures_for(request.user, computed, place.watershed_id)
    measure = chosen_measure(request, offered)
    outcome = place_outcome(place.watershed, place, measure.key) if measure in offered else None
    notes = numbered_notes(place.watershed, staff=everything, station=place)
    chart = None
    if outcome:
        chart = charts.trajectory(
            outcome, notes=note_marks(notes), cover=cover_line(place.watershed), public=not staff
        )
    records = shown_to(request.user, visit_records(visits.accepted()))
    years, species = species_by_year(records)
    rows = [(taxon.scientific_name, taxon.common_name, counts) for taxon, counts in species]
    fish = {r.visit_id: r.total_catch for r in records}
    results = {r.visit_id: r for r in VisitResult.objects.filter(visit__station=place)}
    return render(
        request,
        "trends/station.html",
        {
            "station": place,
            "measure": measure,
            "offered": offered,
            "outcome": outcome,
            "chart": chart,
            "notes": notes,
            "visits": [
                _visit_row(v, results.get(v.pk) if v.is_accepted else None, fish.get(v.pk), everything)
                for v in visits.order_by("-visit_date")
            ],
            "has_accepted": visits.accepted().exists(),
            "species": species,
            "species_chart": charts.species_by_year(rows, years) if rows else None,
            "trait_lists": lists_behind([place.stratum]),
            "withheld": "" if everything else STATEMENT,
            "kept_back": KEPT_BACK_SENTENCE if len(offered) < len(computed) else "",
            "sees_unaccepted": may(request.user, SEE_UNACCEPTED),
            "staff": staff,
            "passed_over": measure_passed_over(dict(request.GET.lists()), offered, measure)
            if offered
            else [],
        },
    )
