"""Creeks and stations side by side: small trajectories on one scale, and a table with its uncertainty."""

from dataclasses import dataclass, replace

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from surveys.models import Station, Watershed
from surveys.withholding import sees_all
from trends.assessments import adjust
from trends.chart_parts import value_range
from trends.listed import ListedOutcome
from trends.measures import BY_KEY, INDEX, MEASURES
from trends.public_figures import guarded_watersheds
from trends.reading import every_outcome, with_lines

# Pictures and rows of one part of the list; words and axes are those of the whole list.
PLACES_AT_ONCE = 48
# Sort keys that may stand in the address. Whatever has no value comes last, whichever way is asked.
SORTS = {"name": "name", "latest": "latest value", "slope": "change per decade", "years": "years"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One place in the comparison; ``part_of`` is the creek of a station."""

    name: str
    url: str
    part_of: str
    place: Watershed | Station
    outcome: ListedOutcome


def shared_axes(rows: list[Row]) -> tuple[int | None, int | None, float | None]:
    """First year, last year and highest value over all rows: every picture is drawn on these."""
    drawn = [
        (o.first_drawn, o.last_drawn)
        for o in (row.outcome for row in rows)
        if o.first_drawn is not None and o.last_drawn is not None
    ]
    if not drawn:
        return None, None, None
    top = max(value_range(row.outcome)[1] for row in rows)
    return min(first for first, _ in drawn), max(last for _, last in drawn), top


def ordered(rows: list[Row], sort: str, *, falling: bool) -> list[Row]:
    """Rows in the order asked for; unknown values last, equal values by name."""

    def value(row: Row) -> float | None:
        period = row.outcome.current
        match sort:
            case "latest":
                return row.outcome.latest_value
            case "slope":
                return period.slope if period else None
            case "years":
                return float(period.n) if period else None
        return None

    by_name = sorted(rows, key=lambda r: (r.part_of, r.name), reverse=falling and sort == "name")
    if sort == "name":
        return by_name
    known = [r for r in by_name if value(r) is not None]
    known.sort(key=lambda r: value(r) or 0.0, reverse=falling)
    return known + [r for r in by_name if value(r) is None]


@require_safe
def compare(request: HttpRequest) -> HttpResponse:
    measure = BY_KEY.get(request.GET.get("measure", ""), INDEX)
    level = "stations" if request.GET.get("level") == "stations" else "creeks"
    sort = request.GET.get("sort", "name")
    sort = sort if sort in SORTS else "name"
    falling = request.GET.get("order") == "down"
    chosen = request.GET.getlist("creek")
    watersheds = list(Watershed.objects.order_by("name"))
    slugs = {w.slug for w in watersheds}
    chosen = [slug for slug in chosen if slug in slugs]
    places = every_outcome(
        [w for w in watersheds if not chosen or w.slug in chosen], measure.key, stations=level == "stations"
    )
    kept_back = 0
    if level == "stations" and measure is not INDEX and not sees_all(request.user):
        guarded = guarded_watersheds()
        shown = [(p, o) for p, o in places if isinstance(p, Station) and p.watershed_id not in guarded]
        kept_back, places = len(places) - len(shown), list(shown)
    adjusted = adjust([outcome for _, outcome in places])
    rows = [
        Row(
            name=f"{place.code} {place.name}".strip() if isinstance(place, Station) else place.name,
            url=place.get_absolute_url(),
            part_of=place.watershed.name if isinstance(place, Station) else "",
            place=place,
            outcome=outcome,
        )
        for (place, _), outcome in zip(places, adjusted, strict=True)
    ]
    rows = ordered(rows, sort, falling=falling)
    first, last, top = shared_axes(rows)
    page = Paginator(rows, PLACES_AT_ONCE).get_page(request.GET.get("page"))
    shown_rows = list(page.object_list)
    lines = with_lines((row.place, row.outcome) for row in shown_rows)
    shown_rows = [replace(row, outcome=outcome) for row, outcome in zip(shown_rows, lines, strict=True)]
    others = request.GET.copy()
    others.pop("page", None)
    return render(
        request,
        "trends/compare.html",
        {
            "rows": shown_rows,
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
            "tested": sum(1 for r in rows if r.outcome.current and r.outcome.current.p_value is not None),
            "staff": request.user.is_authenticated,
        },
    )
