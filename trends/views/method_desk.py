"""The administrator's desk for index methods: bring, check, try, publish, choose, record a check."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from surveys.access import MANAGE, allowed
from surveys.language import worded, worded_n
from surveys.models import Station, Watershed
from trends import method_pages, publishing
from trends.index.checking import check_text
from trends.method_forms import MethodCheckForm, MethodFileForm, UseForm
from trends.method_trial import try_method
from trends.models import IndexMethodVersion, MethodCheck
from trends.shelf import draft_method, shelf, stratum_id

EVERY_CREEK = "all"


@allowed(MANAGE)
@require_http_methods(["GET", "HEAD", "POST"])
def desk(request: HttpRequest) -> HttpResponse:
    """The versions at hand, and the form that takes a new one: a faulty file is refused with its lines."""
    form = MethodFileForm(request.POST or None, request.FILES or None)
    remarks: tuple[Any, ...] = ()
    if request.method == "POST" and form.is_valid():
        text = form.cleaned_data["text"]
        checked = check_text(text)
        remarks = checked.remarks
        if checked.method is not None:
            try:
                draft = publishing.keep_draft(checked.method, text, by=request.user)
            except publishing.NotPublished as problem:
                form.add_error(None, str(problem))
            else:
                messages.success(
                    request, worded("The file has no fault. It is kept as a draft and scores nothing yet.")
                )
                return redirect("trends:method_draft", pk=draft.pk)
    status = 422 if form.errors or remarks else 200
    context = {
        "form": form,
        "remarks": remarks,
        "rows": IndexMethodVersion.objects.select_related("published_by"),
    }
    return render(request, "trends/method_desk.html", context, status=status)


def _version_page(request: HttpRequest, row: IndexMethodVersion, form: UseForm | None = None) -> HttpResponse:
    method = draft_method(row)
    standing = shelf()
    creek = request.GET.get("creek", "")
    watershed = get_object_or_404(Watershed, slug=creek) if creek and creek != EVERY_CREEK else None
    trial = try_method(method, watershed=watershed) if creek else None
    counts = publishing.strata_here()
    strata = [
        {
            "name": part.name,
            "visits": counts.get(stratum_id(part.code), 0),
            "by": standing.code_for(part.code),
        }
        for part in method.strata.values()
    ]
    return render(
        request,
        "trends/method_draft.html",
        {
            "row": row,
            "method": method,
            "view": method_pages.method_view(method),
            "strata": strata,
            "concerned": sum(one["visits"] for one in strata if one["by"] == method.code),
            "creeks": Watershed.objects.order_by("name"),
            "creek": creek,
            "watershed": watershed,
            "trial": trial,
            "form": form or UseForm(),
        },
        status=422 if form is not None and form.errors else 200,
    )


@allowed(MANAGE)
@require_safe
def draft(request: HttpRequest, pk: int) -> HttpResponse:
    """One version: its standing, a trial on past visits, and what may be done with it."""
    return _version_page(request, get_object_or_404(IndexMethodVersion, pk=pk))


@allowed(MANAGE)
@require_safe
def draft_in_full(request: HttpRequest, pk: int) -> HttpResponse:
    """A draft as its page would read once it is published."""
    view = method_pages.method_view(draft_method(get_object_or_404(IndexMethodVersion, pk=pk)))
    return render(request, "trends/method_detail.html", {"view": view, "method": view.method, "draft": pk})


@allowed(MANAGE)
@require_POST
def publish(request: HttpRequest, pk: int) -> HttpResponse:
    """Publish a draft, or change which visits a published version scores."""
    row = get_object_or_404(IndexMethodVersion, pk=pk)
    form = UseForm(request.POST)
    if not form.is_valid():
        return _version_page(request, row, form)
    words = form.cleaned_data["note"]
    try:
        if row.published_at is None:
            number = publishing.publish(
                row, by=request.user, note=words, in_use=form.in_use, applies_from=form.first_day
            )
            done = worded_n(
                "Published. Scored anew: {n} accepted visit; the scores they had are kept.",
                "Published. Scored anew: {n} accepted visits; the scores they had are kept.",
                number,
            )
        else:
            number = publishing.change_use(row, reason=words, in_use=form.in_use, applies_from=form.first_day)
            done = worded_n(
                "Changed. Scored anew: {n} accepted visit; the scores they had are kept.",
                "Changed. Scored anew: {n} accepted visits; the scores they had are kept.",
                number,
            )
    except publishing.NotPublished as problem:
        form.add_error(None, str(problem))
        return _version_page(request, row, form)
    messages.success(request, done)
    return redirect("trends:method_draft", pk=pk)


@allowed(MANAGE)
@require_POST
def discard(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(IndexMethodVersion, pk=pk)
    try:
        publishing.discard_draft(row)
    except publishing.NotPublished as problem:
        messages.error(request, str(problem))
        return redirect("trends:method_draft", pk=pk)
    messages.success(request, worded("The draft {draft} is dropped.", draft=row))
    return redirect("trends:method_desk")


RULE, NONE = "rule", "none"


@allowed(MANAGE)
@require_http_methods(["GET", "HEAD", "POST"])
def strata(request: HttpRequest) -> HttpResponse:
    """Which method scores which stratum: chosen, shown with what would change, then confirmed."""
    standing = shelf()
    wanted: dict[str, str | None] = {}
    rows = []
    for stratum, visits in publishing.strata_here().items():
        chosen = standing.choices.get(stratum)
        now = RULE if chosen is None else chosen or NONE
        asked = request.POST.get(f"stratum-{stratum}", now)
        if asked != now:
            wanted[stratum] = None if asked == RULE else "" if asked == NONE else asked
        rows.append(
            {
                "stratum": stratum,
                "visits": visits,
                "now": standing.code_for(stratum),
                "methods": publishing.methods_with(stratum, standing),
                "asked": asked,
            }
        )
    if request.method == "POST" and "confirm" in request.POST and wanted:
        try:
            number = publishing.choose_methods(wanted, by=request.user)
        except publishing.NotPublished as problem:
            messages.error(request, str(problem))
        else:
            messages.success(
                request,
                worded_n(
                    "Chosen. Scored anew: {n} accepted visit; the scores they had are kept.",
                    "Chosen. Scored anew: {n} accepted visits; the scores they had are kept.",
                    number,
                ),
            )
        return redirect("trends:method_strata")
    return render(
        request,
        "trends/method_strata.html",
        {"rows": rows, "changes": _changes(wanted) if request.method == "POST" else None},
    )


def _changes(wanted: dict[str, str | None]) -> list[dict[str, Any]]:
    """What each choice would do to the scores of its stratum's visits."""
    standing = shelf()
    found = []
    for stratum, code in wanted.items():
        spelled = [
            words
            for words in Station.objects.exclude(stratum="")
            .order_by()
            .values_list("stratum", flat=True)
            .distinct()
            if stratum_id(words) == stratum
        ]
        held = standing.held(code) if code else None
        trial = try_method(held.method(), strata=spelled) if held and spelled else None
        found.append({"stratum": stratum, "code": code, "trial": trial})
    return found


@allowed(MANAGE)
@require_http_methods(["GET", "HEAD", "POST"])
def check(request: HttpRequest, code: str) -> HttpResponse:
    """A named person records that the figures of a version were compared with the report."""
    held = shelf().held(code, request.GET.get("version", ""))
    if held is None:
        raise Http404(worded("There is no index method of this name and version."))
    method = held.method()
    given = MethodCheck(code=method.code, version=method.version)
    start = {"checked_by_name": request.user.get_full_name()}  # type: ignore[union-attr]
    form = MethodCheckForm(request.POST or None, instance=given, initial=start)
    if request.method == "POST" and form.is_valid():
        publishing.record_check(form.save(commit=False), by=request.user)
        messages.success(
            request,
            worded("The check is recorded. Pages that show a score by this version say so now."),
        )
        return redirect("trends:method", code=code)
    earlier = MethodCheck.objects.filter(code=method.code, version=method.version)
    context = {"form": form, "method": method, "earlier": earlier}
    return render(request, "trends/method_check.html", context, status=422 if form.errors else 200)
