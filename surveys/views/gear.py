"""Visits by the meter or unit that was used at them."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from surveys import access
from surveys.forms.gear import GearForm
from surveys.gear import gear_on_record, visits_with


@access.allowed(access.SEE_UNACCEPTED)
@require_safe
def gear(request: HttpRequest) -> HttpResponse:
    """What gear is on record, and the visits of one of them between two days."""
    form = GearForm(request.GET if "gear" in request.GET else None)
    found = None
    if form.is_bound and form.is_valid():
        given = form.cleaned_data
        found = list(visits_with(given["gear"], given["first"], given["last"], whole=given["whole"]))
    context = {"form": form, "found": found, "on_record": gear_on_record()}
    return render(request, "surveys/gear.html", context, status=422 if form.errors else 200)
