"""Pages for sending a season file: choose, look at the plan, take it or lay it aside."""

from collections.abc import Callable
from functools import wraps

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.text import get_valid_filename
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.decorators.http import require_http_methods, require_safe

from surveys import access
from surveys.forms.names import NamesForm
from surveys.forms.uploads import TakeForm, UploadForm
from surveys.language import worded, worded_n
from surveys.models import Upload, UploadStatus
from surveys.review_queue import returned_visits
from surveys.uploads.answers import answers_of, keep_answers, mark_of, questions_of
from surveys.uploads.columns import SEASON_FILE
from surveys.uploads.commit import NotTaken, check_upload, discard, take
from surveys.uploads.differences import place_of
from surveys.uploads.findings import Finding
from surveys.uploads.name_choices import prepare_upload
from surveys.uploads.plan import Plan
from surveys.uploads.preview import by_row, warnings_by_visit, with_remarks
from surveys.uploads.reader import read_table, too_large
from surveys.uploads.schema import example_text, schema_text

View = Callable[..., HttpResponse]

RECENT = 20
REMARK_ROWS_PER_PAGE = 100
# Room for the other fields of the form and for the frame around the file.
_FORM_ROOM = 256 * 1024
_DRAIN_TIMES = 5


def refuse_by_size(view: View) -> View:
    """Answer 413 by the announced length, before the body is stored or parsed.

    The rest of a body of moderate size is read and dropped, so that the browser gets to the answer
    instead of reporting a broken connection.
    """

    @wraps(view)
    def guarded(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        try:
            length = int(request.META.get("CONTENT_LENGTH") or 0)
        except ValueError:
            length = 0
        if length > settings.UPLOAD_LIMIT_BYTES + _FORM_ROOM:
            left = settings.UPLOAD_LIMIT_BYTES * _DRAIN_TIMES
            while left > 0 and (block := request.read(1 << 20)):
                left -= len(block)
            return _too_large(request, length)
        return view(request, *args, **kwargs)

    return guarded


def _too_large(request: HttpRequest, size: int) -> HttpResponse:
    finding = too_large(size, settings.UPLOAD_LIMIT_BYTES)
    return render(request, "surveys/upload_too_large.html", {"finding": finding}, status=413)


# The size is looked at before the token is, because looking for the token reads the whole body.
@csrf_exempt
@access.allowed(access.SEE_UNACCEPTED)
@require_http_methods(["GET", "HEAD", "POST"])
@refuse_by_size
@csrf_protect
def upload_list(request: HttpRequest) -> HttpResponse:
    """Send a file; below, what was sent lately and what came back from the reviewer."""
    may_enter = access.may(request.user, access.ENTER)
    form = UploadForm()
    if request.method == "POST":
        return _receive(request)
    return render(
        request,
        "surveys/upload_list.html",
        {
            "form": form if may_enter else None,
            "uploads": access.visible_uploads(request.user)
            .defer("content")
            .select_related("uploaded_by")[:RECENT],
            "returned": returned_visits(),
            "columns": SEASON_FILE,
        },
    )


@access.allowed(access.ENTER)
def _receive(request: HttpRequest) -> HttpResponse:
    form = UploadForm(request.POST, request.FILES)
    if not form.is_valid():
        context = {"form": form, "uploads": [], "returned": [], "columns": SEASON_FILE}
        return render(request, "surveys/upload_list.html", context, status=422)
    sent = form.cleaned_data["file"]
    if sent.size > settings.UPLOAD_LIMIT_BYTES:
        return _too_large(request, sent.size)
    upload, there_before = check_upload(sent.name, sent.read(), by=request.user)
    if there_before and upload.status == UploadStatus.TAKEN:
        messages.info(
            request,
            worded(
                "This file was already taken on {day}; everything in it is stored. Nothing changes.",
                day=f"{upload.taken_at:%Y-%m-%d}",
            ),
        )
    elif there_before:
        messages.info(request, worded("This file is already here and waits to be taken."))
    return redirect(upload)


@access.allowed(access.SEE_UNACCEPTED)
@require_http_methods(["GET", "HEAD", "POST"])
def upload(request: HttpRequest, pk: int) -> HttpResponse:
    """One file: the plan while it waits, and what became of it afterwards."""
    sent = get_object_or_404(access.visible_uploads(request.user).select_related("uploaded_by"), pk=pk)
    if request.method == "POST":
        return _decide(request, sent)
    if sent.status != UploadStatus.CHECKED:
        return _kept(request, sent)
    plan = prepare_upload(sent)
    return _preview(request, sent, plan, TakeForm(plan))


def _preview(
    request: HttpRequest, sent: Upload, plan: Plan, form: TakeForm, status: int = 200
) -> HttpResponse:
    warnings = warnings_by_visit(plan)
    remarks = Paginator(by_row(plan.findings), REMARK_ROWS_PER_PAGE).get_page(request.GET.get("page"))
    may_enter = access.may(request.user, access.ENTER)
    names = NamesForm(sent, plan, may_remember=access.may(request.user, access.MANAGE))
    context = {
        "upload": sent,
        "plan": plan,
        "names": names if may_enter and (names.questions or names.settled) else None,
        "counts": plan.counts(),
        "remarks": remarks,
        "visits": [(visit, warnings.get(visit.number, [])) for visit in plan.visits],
        "questions": len(asked := questions_of(plan)),
        "answered": sum(mark_of(finding) in given for finding in asked) if (given := answers_of(sent)) else 0,
        "going_back": [visit for visit in plan.changed if visit.goes_back],
        "form": form if may_enter else None,
    }
    return render(request, "surveys/upload.html", context, status=status)


def _kept(request: HttpRequest, sent: Upload) -> HttpResponse:
    kept = [
        Finding(
            level=f.level,
            code=f.code,
            row=f.row,
            column=f.column,
            value=f.value,
            message=f.message,
            remedy=f.remedy,
        )
        for f in sent.findings.all()
    ]
    remarks = Paginator(by_row(kept), REMARK_ROWS_PER_PAGE).get_page(request.GET.get("page"))
    visits = [
        (visit, [(place_of(one["what"]), one) for one in visit["differences"]])
        for visit in sent.summary.get("visits", [])
    ]
    context = {"upload": sent, "remarks": remarks, "visits": visits}
    return render(request, "surveys/upload_kept.html", context)


@access.allowed(access.ENTER)
def _decide(request: HttpRequest, sent: Upload) -> HttpResponse:
    if request.POST.get("action") == "discard":
        discard(sent)
        messages.success(
            request,
            worded("{name} is laid aside. Nothing of it is stored as a visit.", name=sent.file_name),
        )
        return redirect("surveys:upload_list")
    plan = prepare_upload(sent)
    form = TakeForm(plan, request.POST)
    if not form.is_valid():
        return _preview(request, sent, plan, form, status=422)
    try:
        taken = take(
            sent,
            by=request.user,
            replace=form.cleaned_data.get("replace", False),
            seen=form.cleaned_data["seen"],
        )
    except NotTaken as refusal:
        messages.error(request, str(refusal))
        return redirect(sent)
    if not taken.changed:
        messages.info(request, worded("Everything in this file is stored already. Nothing changes."))
        return redirect(sent)
    counts = taken.plan.counts()
    number = counts["visits_new"] + counts["visits_changed"]
    messages.success(
        request,
        worded_n(
            "{n} visit is stored and waiting for the reviewer.",
            "{n} visits are stored and waiting for the reviewer.",
            number,
        ),
    )
    return redirect(sent)


@access.allowed(access.ENTER)
@require_http_methods(["GET", "HEAD", "POST"])
def upload_answers(request: HttpRequest, pk: int) -> HttpResponse:
    """Each warning on a file that waits, with room for an answer to the reviewer."""
    sent = get_object_or_404(access.visible_uploads(request.user), pk=pk, status=UploadStatus.CHECKED)
    plan = prepare_upload(sent)
    asked = questions_of(plan)
    if request.method == "POST":
        given = {mark: request.POST[mark] for mark in map(mark_of, asked) if mark in request.POST}
        number = keep_answers(sent, plan, given, by=request.user)
        messages.success(request, worded("{n} of {all} warnings are answered.", n=number, all=len(asked)))
        return redirect(sent)
    answers = answers_of(sent)
    page = Paginator(asked, REMARK_ROWS_PER_PAGE).get_page(request.GET.get("page"))
    rows = [(finding, mark_of(finding), answers.get(mark_of(finding), "")) for finding in page]
    return render(request, "surveys/upload_answers.html", {"upload": sent, "page": page, "rows": rows})


@access.allowed(access.SEE_UNACCEPTED)
@require_safe
def upload_remarks(request: HttpRequest, pk: int) -> HttpResponse:
    """The rows as they came, with a column of remarks, to be put right and sent again."""
    sent = get_object_or_404(access.visible_uploads(request.user), pk=pk)
    content = bytes(sent.content)
    findings = (
        prepare_upload(sent).findings if sent.status == UploadStatus.CHECKED else list(sent.findings.all())
    )
    table = read_table(sent.file_name, content)
    name = f"{sent.file_name.rsplit('.', 1)[0]}-remarks.csv"
    return _download("\ufeff" + with_remarks(table, findings), name, "text/csv; charset=utf-8")


@access.allowed(access.SEE_UNACCEPTED)
@require_safe
def upload_file(request: HttpRequest, pk: int) -> HttpResponse:
    """The file as it came, byte for byte."""
    sent = get_object_or_404(access.visible_uploads(request.user), pk=pk)
    return _download(bytes(sent.content), sent.file_name, "application/octet-stream")


@require_safe
def season_schema(request: HttpRequest) -> HttpResponse:
    return _download(schema_text(), "season-file.json", "application/json")


@require_safe
def season_example(request: HttpRequest) -> HttpResponse:
    return _download(example_text(), "season-file-example.csv", "text/csv; charset=utf-8")


def _download(content: str | bytes, name: str, kind: str) -> HttpResponse:
    return HttpResponse(
        content,
        content_type=kind,
        headers={"Content-Disposition": f'attachment; filename="{get_valid_filename(name)}"'},
    )
