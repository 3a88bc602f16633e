"""The county at a glance: each watershed's state, direction and years."""

from typing import Any

from django.core.paginator import Paginator
from django.db.models import Count, Exists, OuterRef
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from surveys.language import told, worded
from surveys.models import Visit, Watershed
from surveys.models.places import SHAPES
from trends.county_words import county_finding
from trends.listed import ListedOutcome
from trends.measures import INDEX
from trends.reading import watershed_outcomes, with_lines

# A county has some dozens; a state's hundreds come in parts.
CREEKS_AT_ONCE = 100


def why_no_score(watershed: Watershed, outcome: ListedOutcome | None) -> str:
    """Why a watershed has no index score, in a sentence that says what would give it one."""
    if not watershed.has_accepted:  # type: ignore[attr-defined]
        return worded("no visit has been accepted yet.")
    if outcome is None:
        return worded("its results are being computed.")
    reason = outcome.first_reason
    return f"{told(reason)}." if reason else worded("the index could not be made from its visits.")


@require_safe
def overview(request: HttpRequest) -> HttpResponse:
    accepted = Visit.objects.accepted().filter(station__watershed=OuterRef("pk"))
    watersheds = list(
        Watershed.objects.defer(*SHAPES)
        .annotate(station_count=Count("stations"), has_accepted=Exists(accepted))
        .order_by("name")
    )
    outcomes = watershed_outcomes(watersheds, INDEX.key)
    page = Paginator(watersheds, CREEKS_AT_ONCE).get_page(request.GET.get("page"))
    in_view: list[Any] = list(page.object_list)
    drawn = with_lines(outcomes, in_view)
    rows = [
        {
            "watershed": w,
            "outcome": drawn.get(w.pk),
            "stations": w.station_count,
            "why": why_no_score(w, drawn.get(w.pk)),
        }
        for w in in_view
    ]
    staff = request.user.is_authenticated
    return render(
        request,
        "trends/overview.html",
        {
            "rows": rows,
            "page": page,
            "measure": INDEX,
            "finding": county_finding([outcomes.get(w.pk) for w in watersheds], staff=staff),
            "tested": sum(1 for o in outcomes.values() if o.current and o.current.p_value is not None),
            "staff": staff,
        },
    )
