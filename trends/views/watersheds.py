"""One watershed: its trajectory beside its land-use notes, its stations, and what the data cannot say."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from surveys.models import Station, Watershed
from trends import charts
from trends.measures import BY_KEY, INDEX, Measure
from trends.reading import (
    computed_measures,
    cover_line,
    note_marks,
    numbered_notes,
    place_outcome,
    station_outcomes,
)


def chosen_measure(request: HttpRequest, offered: list[Measure]) -> Measure:
    """The measure named in the address where it is offered, else the index, else the first offered."""
    asked = BY_KEY.get(request.GET.get("measure", ""))
    if asked in offered and asked is not None:
        return asked
    return INDEX if INDEX in offered or not offered else offered[0]


@require_safe
def watershed(request: HttpRequest, slug: str) -> HttpResponse:
    place = get_object_or_404(Watershed, slug=slug)
    staff = request.user.is_authenticated
    offered = computed_measures(place)
    measure = chosen_measure(request, offered)
    outcome = place_outcome(place, None, measure.key)
    stations = list(Station.objects.filter(watershed=place).order_by("river_km", "code"))
    by_station = station_outcomes(stations, measure.key)
    notes = numbered_notes(place, staff=staff)
    cover = cover_line(place)
    chart = (
        charts.trajectory(outcome, notes=note_marks(notes), cover=cover, public=not staff)
        if outcome
        else None
    )
    return render(
        request,
        "trends/watershed.html",
        {
            "watershed": place,
            "measure": measure,
            "offered": offered,
            "outcome": outcome,
            "chart": chart,
            "stations": [{"station": s, "outcome": by_station.get(s.pk)} for s in stations],
            "tested": sum(1 for o in by_station.values() if o.current and o.current.p_value is not None),
            "notes": notes,
            "cover": cover,
            "staff": staff,
        },
    )
