"""The printable field sheet of a station, on A4 or US letter."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from surveys import access
from surveys.field_sheet import field_sheet as sheet_of
from surveys.models import Station
from surveys.said import marked

PAPERS = {"a4": "A4", "letter": marked("US letter")}


@access.allowed(access.SEE_UNACCEPTED)
@require_safe
def field_sheet(request: HttpRequest, code: str) -> HttpResponse:
    """One side to print and fill in by the creek."""
    station = get_object_or_404(Station.objects.with_places(), code=code)
    paper = request.GET.get("paper", "a4")
    context = {
        "sheet": sheet_of(station, today=timezone.localdate()),
        "paper": paper if paper in PAPERS else "a4",
        "papers": PAPERS,
    }
    return render(request, "surveys/field_sheet.html", context)
