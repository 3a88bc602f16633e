"""Creeks and stations side by side: small trajectories on one scale, and a table with its uncertainty."""

from dataclasses import dataclass
from typing import Any

from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from surveys.language import marked
from surveys.models import Station, Watershed
from surveys.models.places import SHAPES
from surveys.withholding import sees_all
from trends.listed import ListedOutcome
from trends.measures import INDEX, MEASURES
from trends.passed_over import measure_passed_over, names_passed_over
from trends.public_figures import guarded_watersheds
from trends.standings import Standing, creek_standings, outcomes_in_view, shared_axes, station_standings

# Pictures and rows of one part of the list; words and axes are those of the whole list.
PLACES_AT_ONCE = 48
# Sort keys that may stand in the address. Whatever has no value comes last, whichever way is asked.
SORTS = {
    "name": marked("name"),
    "latest": marked("latest value"),
    "slope": marked("change per decade"),
    "years": marked("years"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One place in view; ``part_of`` is the creek of a station."""

    name: str
    url: str
    part_of: str
    outcome: ListedOutcome


def ordered(places: list[Standing], sort: str, *, falling: bool) -> list[Standing]:
    """Places in the order asked for; unknown values last, equal values by name."""

    def value(place: Standing) -> float | None:
        match sort:
            case "latest":
                return place.latest_value
            case "slope":
                return place.slope
            case "years":
                return place.n_years or None
        return None

    by_name = sorted(places, key=lambda p: (p.part_of, p.name), reverse=falling and sort == "name")
    if sort == "name":
        return by_name
    known = [p for p in by_name if value(p) is not None]
    known.sort(key=lambda p: value(p) or 0.0, reverse=falling)
    return known + [p for p in by_name if value(p) is None]


@require_safe
def compare(request: HttpRequest) -> HttpResponse:
    measure = next((m for m in MEASURES if m.key == request.GET.get("measure")), INDEX)
    level = "stations" if request.GET.get("level") == "stations" else "creeks"
    sort = request.GET.get("sort", "name")
    sort = sort if sort in SORTS else "name"
    falling = request.GET.get("order") == "down"
    asked = dict(request.GET.lists())
    chosen = asked.get("creek", [])
    watersheds = list(Watershed.objects.defer(*SHAPES).order_by("name"))
    slugs = {w.slug for w in watersheds}
    chosen = [slug for slug in chosen if slug in slugs]
    among = [w for w in watersheds if not chosen or w.slug in chosen]
    of_stations = level == "stations"
    places = station_standings(among, measure) if of_stations else creek_standings(among, measure)
    kept_back = 0
    if measure is not INDEX and not sees_all(request.user):
        # Of a creek as well: a year in which one station was visited is that station's number.
        guarded = guarded_watersheds()
        shown = [p for p in places if (p.watershed if of_stations else p.place) not in guarded]
        kept_back, places = len(places) - len(shown), shown
    first, last, top = shared_axes(places, measure)
    page = Paginator(ordered(places, sort, falling=falling), PLACES_AT_ONCE).get_page(request.GET.get("page"))
    in_view = list(page.object_list)
    found: QuerySet[Any] = Station.objects.all() if of_stations else Watershed.objects.defer(*SHAPES)
    addresses = found.in_bulk([p.place for p in in_view])
    rows = [
        Row(name=p.name, url=addresses[p.place].get_absolute_url(), part_of=p.part_of, outcome=outcome)
        for p, outcome in zip(in_view, outcomes_in_view(in_view, places), strict=True)
    ]
    others = request.GET.copy()
    others.pop("page", None)
    return render(
        request,
        "trends/compare.html",
        {
            "rows": rows,
            "page": page,
            "query": others.urlencode(),
            "first": first,
            "last": last,
            "top": top,
            "measure": measure,
            "measures": MEASURES,
            "level": level,
            "sort": sort,
            "sorts": SORTS,
            "falling": falling,
            "kept_back": kept_back,
            "watersheds": watersheds,
            "chosen": chosen,
            "tested": sum(1 for p in places if p.p_value is not None),
            "staff": request.user.is_authenticated,
            "passed_over": [
                *measure_passed_over(asked, MEASURES, measure),
                *names_passed_over(asked, "creek", slugs),
                *names_passed_over(asked, "level", ("creeks", "stations")),
                *names_passed_over(asked, "sort", SORTS),
                *names_passed_over(asked, "order", ("up", "down")),
            ],
        },
    )
