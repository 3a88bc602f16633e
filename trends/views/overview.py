"""The county at a glance: each watershed's state, direction and years."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from surveys.models import Watershed
from trends.measures import INDEX
from trends.reading import watershed_outcomes


@require_safe
def overview(request: HttpRequest) -> HttpResponse:
    watersheds = list(Watershed.objects.order_by("name"))
    outcomes = watershed_outcomes(watersheds, INDEX.key)
    rows = [{"watershed": w, "outcome": outcomes.get(w.pk)} for w in watersheds]
    tested = sum(1 for o in outcomes.values() if o.current and o.current.p_value is not None)
    return render(
        request,
        "trends/overview.html",
        {"rows": rows, "measure": INDEX, "tested": tested, "staff": request.user.is_authenticated},
    )
