"""The numbers behind one result: what went in, the formula, its source, and other ways of looking."""

from collections import defaultdict
from statistics import median

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from surveys.models import Station, Watershed
from surveys.queries import effort_and_water
from trends.glossary.statistics import STATISTICS
from trends.outcomes import Outcome
from trends.passed_over import measure_passed_over
from trends.public_figures import measures_for
from trends.reading import computed_measures, place_outcome
from trends.second_looks import DRIVERS, line_points, looks
from trends.views.watersheds import chosen_measure


@require_safe
def station_result(request: HttpRequest, code: str) -> HttpResponse:
    place = get_object_or_404(Station.objects.select_related("watershed"), code=code)
    offered = measures_for(request.user, computed_measures(place.watershed, place), place.watershed_id)
    measure = chosen_measure(request, offered)
    outcome = place_outcome(place.watershed, place, measure.key) if measure in offered else None
    return _result(request, place, offered, measure.key, outcome, _drivers(place))


@require_safe
def watershed_result(request: HttpRequest, slug: str) -> HttpResponse:
    place = get_object_or_404(Watershed, slug=slug)
    offered = measures_for(request.user, computed_measures(place), place.pk)
    measure = chosen_measure(request, offered)
    outcome = place_outcome(place, None, measure.key) if measure in offered else None
    return _result(request, place, offered, measure.key, outcome, {})


def _drivers(station: Station) -> dict[str, dict[int, float]]:
    """Median reading by year of each driver over the station's accepted visits in season."""
    found: dict[str, dict[int, list[float]]] = {key: defaultdict(list) for key in DRIVERS}
    for year, readings in effort_and_water(station):
        for key in DRIVERS:
            value = readings.get(key)
            if value is not None:
                found[key][year].append(value)
    return {key: {year: median(v) for year, v in by_year.items()} for key, by_year in found.items()}


def _result(
    request: HttpRequest,
    place: Station | Watershed,
    offered: list,  # type: ignore[type-arg]
    measure: str,
    outcome: Outcome | None,
    drivers: dict[str, dict[int, float]],
) -> HttpResponse:
    period = outcome.current if outcome else None
    chosen = next((m for m in offered if m.key == measure), None)
    keys = _statistics_used(outcome) if outcome else ()
    return render(
        request,
        "trends/result.html",
        {
            "place": place,
            "is_station": isinstance(place, Station),
            "watershed": place.watershed if isinstance(place, Station) else place,
            "offered": offered,
            "measure": chosen,
            "outcome": outcome,
            "period": period,
            "points": line_points(outcome, period) if outcome and period else [],
            "statistics": [one for one in STATISTICS if one.key in keys],
            "looks": looks(outcome, drivers) if outcome else [],
            "staff": request.user.is_authenticated,
            "passed_over": measure_passed_over(dict(request.GET.lists()), offered, chosen) if chosen else [],
        },
    )


def _statistics_used(outcome: Outcome) -> tuple[str, ...]:
    """The procedures that made this result, by their key on the methods page."""
    period = outcome.current
    if period is None or period.p_value is None:
        return ()
    if "shuffled" in period.test:
        return ("regional-kendall", "shuffled-years", "sen-slope", "sen-limits", "heterogeneity")
    if period.test.startswith("Regional"):
        return ("regional-kendall", "correlation", "sen-slope", "sen-limits", "heterogeneity")
    return ("mann-kendall", "sen-slope", "sen-limits")
