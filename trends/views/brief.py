"""The planner's brief: looked at by anybody, issued by planners, opened again years later."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from surveys.access import EXPORT, SEE_SENSITIVE, WRITE_BRIEFS, allowed, may
from surveys.language import told, worded
from surveys.models import Watershed
from surveys.withholding import sees_all
from trends import brief
from trends.brief_proposals import PROPOSALS
from trends.choice import record_years
from trends.exports import brief as printing
from trends.exports.brief import NotPrinted
from trends.issuing import NotIssued, issue_brief, since_issue
from trends.measures import BY_KEY
from trends.models import IssuedBrief
from trends.passed_over import names_passed_over, years_passed_over


def _lists(query: QueryDict) -> dict[str, list[str]]:
    return {key: query.getlist(key) for key in query}


@require_safe
def brief_page(request: HttpRequest, slug: str) -> HttpResponse:
    watershed = get_object_or_404(Watershed, slug=slug)
    everything = sees_all(request.user)
    staff = request.user.is_authenticated
    content, asked = brief.for_creek(watershed, _lists(request.GET), sees_all=everything, staff=staff)
    issued = IssuedBrief.objects.filter(watershed=watershed).defer("content") if everything else []
    offered = [BY_KEY[key] for key in brief.offered_measures(watershed, sees_all=everything)]
    stations = list(watershed.stations.order_by("river_km", "code"))
    years = record_years(watershed)
    params = _lists(request.GET)
    return render(
        request,
        "trends/brief.html",
        {
            "watershed": watershed,
            "brief": content,
            "hash": brief.content_hash(content) if content else "",
            "asked": asked,
            "address": asked.query(),
            "proposals": PROPOSALS,
            "offered": offered,
            "stations": stations,
            "years": years,
            "passed_over": [
                *names_passed_over(params, "measure", [m.key for m in offered]),
                *names_passed_over(params, "station", [s.code for s in stations]),
                *names_passed_over(params, "proposal", [p.key for p in PROPOSALS]),
                *years_passed_over(params, years),
            ],
            "may_issue": may(request.user, WRITE_BRIEFS),
            "may_export": may(request.user, EXPORT),
            "issued_before": issued,
        },
    )


@allowed(EXPORT)
@require_safe
def brief_pdf(request: HttpRequest, slug: str) -> HttpResponse:
    watershed = get_object_or_404(Watershed, slug=slug)
    content, asked = brief.for_creek(watershed, _lists(request.GET), sees_all=sees_all(request.user))
    back = f"{reverse('trends:brief', args=[slug])}?{asked.query()}"
    if content is None:
        messages.error(request, worded("There is no accepted visit to write a brief about."))
        return redirect(back)
    paper = "a4" if request.GET.get("paper") == "a4" else "letter"
    return _pdf(request, f"brief-{slug}.pdf", back, content, paper=paper)


def _pdf(request: HttpRequest, name: str, back: str, content: dict[str, Any], **how: Any) -> HttpResponse:
    try:
        made = printing.brief_pdf(content, **how)
    except NotPrinted as problem:
        messages.error(request, told(problem))
        return redirect(back)
    return HttpResponse(
        made,
        content_type="application/pdf",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


@allowed(WRITE_BRIEFS)
@require_POST
def issue(request: HttpRequest, slug: str) -> HttpResponse:
    watershed = get_object_or_404(Watershed, slug=slug)
    params = _lists(QueryDict(request.POST.get("address", "")))
    answers = {
        key.removeprefix("answer-"): str(text)
        for key, text in request.POST.items()
        if key.startswith("answer-")
    }
    try:
        kept = issue_brief(
            watershed,
            params,
            by=request.user,
            title=request.POST.get("title", ""),
            answers=answers,
            seen_hash=request.POST.get("hash", ""),
        )
    except NotIssued as problem:
        messages.error(request, told(problem))
        return redirect(f"{reverse('trends:brief', args=[slug])}?{request.POST.get('address', '')}")
    messages.success(request, worded("The brief is issued and kept as it stands."))
    return redirect("trends:brief_issued", pk=kept.pk)


@allowed(SEE_SENSITIVE)
@require_safe
def issued(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(IssuedBrief.objects.select_related("watershed"), pk=pk)
    return render(
        request,
        "trends/brief_issued.html",
        {
            "issued": one,
            "brief": one.content,
            "since": since_issue(one),
            "may_export": may(request.user, EXPORT),
        },
    )


@allowed(EXPORT)
@require_safe
def issued_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(IssuedBrief.objects.select_related("watershed"), pk=pk)
    paper = "a4" if request.GET.get("paper") == "a4" else "letter"
    back = reverse("trends:brief_issued", args=[pk])
    name = f"brief-{one.watershed.slug}-{one.pk}.pdf"
    return _pdf(request, name, back, one.content, paper=paper, issued=_issue_words(one))


def _issue_words(one: IssuedBrief) -> dict[str, object]:
    return {
        "pk": one.pk,
        "title": one.title,
        "answers": one.answers,
        "content_hash": one.content_hash,
        "issued_by_name": one.issued_by_name,
        "issued_at": one.issued_at,
    }
