"""Pages of the season: what is due and done, the plan, permits, what was not sampled, and the close."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.forms import ModelForm
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from surveys import access
from surveys.crew import crew_on, crew_warnings
from surveys.forms.season import CloseForm, CrewForm, NotSampledForm, PermitForm, PlanForm, ReopenForm
from surveys.language import worded, worded_n
from surveys.models import CrewMember, NotSampled, Permit, PlannedVisit, SeasonClose, Station, Visit
from surveys.models.season import LATEST_YEAR, OLDEST_YEAR
from surveys.permit_report import permit_report, report_csv
from surveys.permits import known_permits, permit_warnings
from surveys.planning import drop_not_sampled, drop_plan, keep_not_sampled, keep_plan, plan_like
from surveys.season import (
    NotClosed,
    SeasonLocked,
    changes_since,
    close_season,
    closed_years,
    locked_sentence,
    next_version,
    reopen_season,
)
from surveys.season_report import report_of, season_of, seasons_on_record
from surveys.uploads.export_season import season_file

MOVED_AT_ONCE = 12  # creeks


@access.allowed(access.SEE_UNACCEPTED)
@require_http_methods(["GET", "HEAD"])
def season(request: HttpRequest, year: int | None = None) -> HttpResponse:
    """One season: by default the one of today, or the latest on record while nothing is known of today's."""
    today = timezone.localdate().year
    on_record = seasons_on_record()
    year = _known_year(year or (today if today in on_record or not on_record else on_record[0]))
    shown = season_of(year)
    permits = known_permits()
    may_enter = access.may(request.user, access.ENTER)
    # The dates of people are for those who plan visits, not for all who see the season.
    crew = crew_on(year) if may_enter else []
    context = {
        "season": shown,
        "year": year,
        "years": sorted({*on_record, today}, reverse=True),
        "counts": shown.counts(),
        "permits": permits,
        "warnings": permit_warnings(permits, shown),
        "locked": locked_sentence(year) if year in closed_years() else "",
        "not_sampled": [gap for row in shown.rows for gap in row.not_sampled],
        "crew": crew,
        "crew_warnings": crew_warnings(crew, shown),
        "may_enter": may_enter,
    }
    return render(request, "surveys/season.html", context)


def _known_year(year: int) -> int:
    if not OLDEST_YEAR <= year <= LATEST_YEAR:
        raise Http404
    return year


@access.allowed(access.ENTER)
@require_POST
def season_plan_like(request: HttpRequest, year: int) -> HttpResponse:
    """Take the stations of the season before into the plan."""
    try:
        number = plan_like(_known_year(year), by=request.user)
    except SeasonLocked as refused:
        messages.error(request, str(refused))
    else:
        words = worded_n(
            "{n} station was added to the plan of {year}.",
            "{n} stations were added to the plan of {year}.",
            number,
            year=year,
        )
        messages.success(request, words)
    return redirect("surveys:season_year", year)


@access.allowed(access.ENTER)
@require_http_methods(["GET", "HEAD", "POST"])
def season_plan(request: HttpRequest, year: int, pk: int | None = None) -> HttpResponse:
    """Add a station to the plan, change when and who, or take it out."""
    plan = get_object_or_404(PlannedVisit, pk=pk, year=year) if pk else PlannedVisit()
    initial = {"station": request.GET.get("station", "")}
    form = PlanForm(_known_year(year), request.POST or None, instance=plan, initial=initial)
    title = worded("Plan a visit in {year}", year=year) if pk is None else f"{plan}"
    return _keep(request, form, title, year, lambda kept: keep_plan(kept, by=request.user), drop_plan)


@access.allowed(access.ENTER)
@require_http_methods(["GET", "HEAD", "POST"])
def season_not_sampled(request: HttpRequest, year: int, pk: int | None = None) -> HttpResponse:
    """Say why a station was not sampled, or only in part."""
    record = get_object_or_404(NotSampled, pk=pk, year=year) if pk else NotSampled()
    initial = {"station": request.GET.get("station", "")}
    form = NotSampledForm(_known_year(year), request.POST or None, instance=record, initial=initial)
    title = worded("A station that was not sampled in {year}", year=year)
    return _keep(
        request, form, title, year, lambda kept: keep_not_sampled(kept, by=request.user), drop_not_sampled
    )


@access.allowed(access.ENTER)
@require_http_methods(["GET", "HEAD", "POST"])
def season_permit(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    permit = get_object_or_404(Permit, pk=pk) if pk else Permit()
    form = PermitForm(request.POST or None, instance=permit)
    title = worded("A permit") if pk is None else worded("Permit {permit}", permit=permit)
    return _keep(request, form, title, None, lambda _: form.save(), lambda kept: kept.delete())


@access.allowed(access.ENTER)
@require_http_methods(["GET", "HEAD", "POST"])
def season_crew(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """One person of the crew: training dates as they were typed in."""
    person = get_object_or_404(CrewMember, pk=pk) if pk else CrewMember()
    form = CrewForm(request.POST or None, instance=person)
    title = (
        worded("Somebody of the crew")
        if pk is None
        else worded("{initials}: training dates", initials=person)
    )
    return _keep(request, form, title, None, lambda _: form.save(), lambda kept: kept.delete())


def _keep(
    request: HttpRequest,
    form: "ModelForm[Any]",
    title: str,
    year: int | None,
    keep: Callable[[Any], Any],
    drop: Callable[[Any], Any],
) -> HttpResponse:
    """One record with its form: shown, stored, or taken out."""
    back = reverse("surveys:season_year", args=[year]) if year else reverse("surveys:season")
    there = form.instance.pk is not None
    if request.method == "POST":
        try:
            if there and request.POST.get("action") == "drop":
                drop(form.instance)
                messages.success(request, worded("Taken out. What it said stays in the history."))
                return redirect(back)
            if form.is_valid():
                keep(form.instance)
                messages.success(request, worded("Stored."))
                return redirect(back)
        except SeasonLocked as refused:
            messages.error(request, str(refused))
            return redirect(back)
    context = {
        "form": form,
        "title": title,
        "back": back,
        "there": there,
        "year": year,
        "stations": Station.objects.with_places() if "station" in form.fields else [],
    }
    return render(request, "surveys/season_form.html", context, status=422 if form.errors else 200)


@access.allowed(access.SEE_UNACCEPTED)
@require_http_methods(["GET", "HEAD", "POST"])
def season_close(request: HttpRequest, year: int) -> HttpResponse:
    """The report of a season, its signature, and the way to open it again."""
    _known_year(year)
    may_sign = access.may(request.user, access.REVIEW)
    closes = list(SeasonClose.objects.filter(year=year).select_related("signed_by", "reopened_by"))
    in_force = next((close for close in closes if close.reopened_at is None), None)
    form = (ReopenForm if in_force else CloseForm)(request.POST or None)
    if request.method == "POST" and may_sign and form.is_valid():
        return _sign(request, year, form.cleaned_data)
    watersheds = sorted({row.station.watershed for row in season_of(year).rows}, key=str)
    # A county of many creeks is asked for it first: each trend is worked out twice.
    moved = len(watersheds) <= MOVED_AT_ONCE or "moved" in request.GET
    report = in_force.report if in_force else report_of(year, moved=moved)
    earlier = closes[1:] if in_force else closes
    context = {
        "year": year,
        "report": report,
        "in_force": in_force,
        "earlier": [(close, changes_since(close, report)) for close in earlier],
        "form": form if may_sign else None,
        "version": next_version(year),
        "watersheds": watersheds,
        "moved": moved or in_force,
    }
    return render(request, "surveys/season_close.html", context, status=422 if form.errors else 200)


def _sign(request: HttpRequest, year: int, given: dict[str, Any]) -> HttpResponse:
    try:
        if "reason" in given:
            reopen_season(year, by=request.user, reason=given["reason"])
            messages.success(
                request,
                worded("The season {year} is open again. Close it anew when the change is made.", year=year),
            )
        else:
            close = close_season(year, by=request.user, remark=given["remark"])
            messages.success(
                request,
                worded(
                    "The season {year} is closed as version {version} and locked.",
                    year=year,
                    version=close.version,
                ),
            )
    except NotClosed as refused:
        messages.error(request, str(refused))
    return redirect("surveys:season_close", year)


@access.allowed(access.SEE_UNACCEPTED)
@require_safe
def season_export(request: HttpRequest, year: int) -> HttpResponse:
    """The accepted visits of a year as a season file."""
    visits = Visit.objects.accepted().filter(visit_date__year=_known_year(year))
    return HttpResponse(
        season_file(visits),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="season_{year}.csv"'},
    )


@access.allowed(access.SEE_UNACCEPTED)
@require_safe
def permit_report_page(request: HttpRequest, year: int) -> HttpResponse:
    """What was taken under each permit, with the fish released, died and kept."""
    permit = _chosen_permit(request)
    context = {
        "year": _known_year(year),
        "report": permit_report(year, permit),
        "permit": permit,
        "permits": known_permits(),
    }
    return render(request, "surveys/permit_report.html", context)


@access.allowed(access.SEE_UNACCEPTED)
@require_safe
def permit_report_file(request: HttpRequest, year: int) -> HttpResponse:
    text = report_csv(permit_report(_known_year(year), _chosen_permit(request)))
    response = HttpResponse(text, content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="permit-report-{year}.csv"'
    return response


def _chosen_permit(request: HttpRequest) -> Permit | None:
    key = request.GET.get("permit", "")
    return get_object_or_404(Permit, pk=int(key)) if key.isdecimal() and len(key) < 10 else None
