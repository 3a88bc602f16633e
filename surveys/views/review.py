"""Pages of the reviewer: the visits that wait, and the steps of one visit."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from surveys import access
from surveys.field_record import field_record
from surveys.forms.entry import words_from_post
from surveys.forms.review import ACCEPT, REOPEN, RETURN, TARGETS, WITHDRAW, StepForm, VisitsForm
from surveys.language import worded
from surveys.models import Visit, VisitStatus
from surveys.queries import visit_records
from surveys.review import STEPS, StepRefused, move_visits, submit_visit
from surveys.review_history import history_beside
from surveys.review_queue import as_waiting, clean_visit_ids, waiting_visits, warnings_of
from surveys.said import marked, said

VISITS_PER_PAGE = 50

# What is said of one visit, and of several.
DONE = {
    ACCEPT: (
        marked("{visit}: accepted; from now on it counts."),
        marked("{n} visits: each accepted; from now on it counts."),
    ),
    RETURN: (marked("{visit}: returned."), marked("{n} visits: each returned.")),
    WITHDRAW: (
        marked("{visit}: withdrawn from every result."),
        marked("{n} visits: each withdrawn from every result."),
    ),
    REOPEN: (marked("{visit}: taken back to draft."), marked("{n} visits: each taken back to draft.")),
}


@access.allowed(access.REVIEW)
@require_http_methods(["GET", "HEAD", "POST"])
def review(request: HttpRequest) -> HttpResponse:
    """The visits that wait. Those without a warning can be accepted in one go."""
    if request.method == "POST":
        return _decide_many(request)
    return _queue(request, StepForm())


def _queue(request: HttpRequest, form: StepForm, status: int = 200) -> HttpResponse:
    page = Paginator(waiting_visits(), VISITS_PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "page": page,
        "waiting": as_waiting(list(page), request.user),
        "clean_count": len(clean_visit_ids(request.user)),
        "form": form,
    }
    return render(request, "surveys/review.html", context, status=status)


def _decide_many(request: HttpRequest) -> HttpResponse:
    if request.POST.get("action") == "accept_clean":
        ids = clean_visit_ids(request.user)
        return _step(request, ids, ACCEPT, said("No warning on any of these visits."))
    waiting = list(Visit.objects.awaiting_review().values_list("pk", flat=True))
    form = VisitsForm(waiting, request.POST)
    if not form.is_valid():
        return _queue(request, form, status=422)
    given = form.cleaned_data
    return _step(request, given["visits"], given["action"], given["remark"])


def _step(request: HttpRequest, ids: list[int], action: str, remark: str) -> HttpResponse:
    """Take one step for several visits, all or none, and say what was done."""
    if not ids:
        messages.info(request, worded("There was no visit to accept."))
        return redirect("surveys:review")
    if refusal := _own_visits(request, ids, action):
        messages.error(request, refusal)
        return redirect("surveys:review")
    try:
        moved = move_visits(ids, TARGETS[action], by=request.user, remark=remark)
    except StepRefused as refused:
        messages.error(request, str(refused))
    else:
        one, many = DONE[action]
        n = len(moved)
        messages.success(request, worded(one, visit=moved[0]) if n == 1 else worded(many, n=n))
    return redirect("surveys:review")


def _own_visits(request: HttpRequest, ids: list[int], action: str) -> str:
    """Why this person may not accept these visits, or nothing."""
    if action != ACCEPT:
        return ""
    own = [
        v for v in Visit.objects.filter(pk__in=ids).with_places() if not access.may_accept(request.user, v)
    ]
    if not own:
        return ""
    return worded(
        "{visit} was entered by you. A second person has to accept it; leave it out and accept the others, "
        "or ask a colleague.",
        visit=own[0],
    )


@access.allowed(access.REVIEW)
@require_http_methods(["GET", "HEAD", "POST"])
def review_visit(request: HttpRequest, pk: int) -> HttpResponse:
    """One visit: what was caught, what was odd, who did what, and the steps that are open."""
    visit = get_object_or_404(Visit.objects.with_places().select_related("entered_by"), pk=pk)
    form = StepForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        return _step(request, [visit.pk], form.cleaned_data["action"], form.cleaned_data["remark"])
    record = visit_records(Visit.objects.filter(pk=visit.pk))[0]
    open_steps = {name for name, status in TARGETS.items() if visit.status in STEPS[status]}
    context = {
        "visit": visit,
        "record": record,
        "by_taxon": record.counts_by_taxon(),
        "history": history_beside(record),
        "field": field_record(visit),
        "vouchers": visit.vouchers.select_related("taxon", "confirmed_as").defer("photo"),
        "warnings": warnings_of([visit]).get(visit.pk, ()),
        "steps": visit.steps.select_related("by"),
        "form": form,
        "open_steps": open_steps,
        "may_accept": access.may_accept(request.user, visit),
    }
    return render(request, "surveys/review_visit.html", context, status=422 if form.errors else 200)


@access.allowed(access.ENTER)
@require_POST
def resubmit(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand a returned visit in again as it is, with an answer to the reviewer."""
    visit = get_object_or_404(Visit, pk=pk, status__in=[VisitStatus.RETURNED, VisitStatus.DRAFT])
    remark = words_from_post(request.POST, "remark")
    if not remark:
        words = worded("Answer the reviewer in a few words, then hand the visit in again.")
        messages.error(request, words)
        return redirect("surveys:upload_list")
    try:
        submit_visit(visit.pk, by=request.user, remark=remark)
    except StepRefused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, worded("{visit} waits for the reviewer again.", visit=visit))
    return redirect("surveys:upload_list")
