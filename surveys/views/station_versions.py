"""Pages of a station in time: its layouts, and the form for one of them."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from surveys import access
from surveys.forms.season import VersionForm
from surveys.language import worded
from surveys.models import Station, StationVersion
from surveys.season import SeasonLocked, closed_among, locked_words
from surveys.station_versions import drop_version, keep_version


@access.allowed(access.SEE_UNACCEPTED)
@require_safe
def layout(request: HttpRequest, code: str) -> HttpResponse:
    """How a station was laid out, and since when."""
    station = get_object_or_404(Station.objects.with_places(), code=code)
    context = {
        "station": station,
        "versions": station.versions.order_by("valid_from").select_related("by"),
        "may_enter": access.may(request.user, access.ENTER),
    }
    return render(request, "surveys/station_layout.html", context)


@access.allowed(access.ENTER)
@require_http_methods(["GET", "HEAD", "POST"])
def version(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """One layout; 0 stands for one that is not stored yet."""
    station = get_object_or_404(Station, code=code)
    kept = get_object_or_404(StationVersion, pk=pk, station=station) if pk else StationVersion()
    locked_now = locked_words(closed_among([kept.valid_from])) if pk else ""
    form = VersionForm(station, request.POST or None, instance=kept)
    back = reverse("surveys:station_layout", args=[code])
    if request.method == "POST":
        if pk and request.POST.get("action") == "drop":
            try:
                drop_version(kept)
            except SeasonLocked as locked:
                messages.error(request, worded("Nothing was taken out.") + f" {locked}")
            else:
                messages.success(request, worded("Taken out; years before and after are one series again."))
            return redirect(back)
        if form.is_valid():
            try:
                keep_version(form.instance, by=request.user)
            except SeasonLocked as locked:
                form.add_error("valid_from", str(locked))
            else:
                messages.success(request, worded("Stored; the station’s trends are made anew."))
                return redirect(back)
    context = {
        "form": form,
        "title": worded("{station}: a layout from a day on", station=station.code),
        "back": back,
        "back_words": worded("Layouts of {station}", station=station.code),
        "there": bool(pk) and not locked_now,
        "locked_words": locked_now,
    }
    return render(request, "surveys/season_form.html", context, status=422 if form.errors else 200)
