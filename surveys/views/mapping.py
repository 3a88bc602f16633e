"""Pages for files of another layout: send them, say what the headings mean, see one report of all."""

import uuid
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.text import get_valid_filename
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.decorators.http import require_http_methods, require_safe

from surveys import access
from surveys.check_settings import rules_in_force
from surveys.forms.mapping import (
    FilesForm,
    MappingForm,
    initial_of,
    mapping_from_post,
    role_choices,
    sheet_fields,
)
from surveys.language import told, worded, worded_n
from surveys.models import ColumnMapping, MappedFile, UploadStatus
from surveys.uploads.findings import has_errors
from surveys.uploads.mapped import keep_mapping, proposal, receive_files, sheets_of, take_batch
from surveys.uploads.mapping import Mapped, convert
from surveys.uploads.mapping_spec import HEADINGS, FileMapping, from_plain
from surveys.views.uploads import refuse_by_size

PREVIEW_ROWS, PREVIEW_FINDINGS = 12, 12


# The size is looked at before the token is, because looking for the token reads the whole body.
@csrf_exempt
@access.allowed(access.ENTER)
@require_http_methods(["GET", "HEAD", "POST"])
@refuse_by_size
@csrf_protect
def mapping_list(request: HttpRequest) -> HttpResponse:
    """Send files of another layout; below, the mappings that are kept and the files sent lately."""
    form = FilesForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        sent = form.cleaned_data["files"]
        batch = receive_files([(file.name, file.read()) for file in sent], by=request.user)
        return redirect("surveys:mapping_batch", batch)
    recent = MappedFile.objects.defer("content").select_related("upload").order_by("-sent_at", "-pk")[:30]
    context = {
        "form": form,
        "mappings": ColumnMapping.objects.select_related("made_by"),
        "recent": recent,
    }
    return render(request, "surveys/mapping_list.html", context, status=422 if form.errors else 200)


@access.allowed(access.ENTER)
@require_http_methods(["GET", "HEAD", "POST"])
def mapping_batch(request: HttpRequest, batch: uuid.UUID) -> HttpResponse:
    """One report over all files of a batch, and one word to take them."""
    files = list(MappedFile.objects.filter(batch=batch).defer("content").select_related("upload"))
    if not files:
        return redirect("surveys:mapping_list")
    if request.method == "POST":
        if request.POST.get("looked") != "1":
            messages.error(request, worded("Tick that you have looked at what was found in the files."))
            return redirect("surveys:mapping_batch", batch)
        taken, left = take_batch(batch, by=request.user)
        messages.success(
            request, worded("{n} of {all} files are taken.", n=len(taken), all=len(taken) + len(left))
        )
        for upload, reason in left:
            messages.error(request, f"{upload.file_name}: {told(reason)}")
        return redirect("surveys:mapping_batch", batch)
    rows = [_report(file) for file in files]
    context = {
        "rows": rows,
        "batch": batch,
        "totals": {
            key: sum(row["counts"].get(key, 0) for row in rows)
            for key in ("rows", "visits", "fish", "errors", "warnings")
        },
        "to_take": sum(
            row["state"] == UploadStatus.CHECKED and not row["counts"].get("errors") for row in rows
        ),
        "to_map": [row["file"] for row in rows if not row["file"].upload and not row["unreadable"]],
    }
    return render(request, "surveys/mapping_batch.html", context)


def _report(file: MappedFile) -> dict[str, Any]:
    errors = [finding for finding in file.findings if finding["level"] == "error"]
    return {
        "file": file,
        "counts": file.upload.summary.get("counts", {}) if file.upload else {},
        "state": file.upload.status if file.upload else "",
        "errors": errors[:PREVIEW_FINDINGS],
        "more_errors": max(0, len(errors) - PREVIEW_FINDINGS),
        # A fault found before any mapping was chosen lies in the file, not in the mapping.
        "unreadable": bool(errors) and not file.spec,
        "warnings": [finding for finding in file.findings if finding["level"] == "warning"],
    }


@access.allowed(access.ENTER)
@require_http_methods(["GET", "HEAD", "POST"])
def mapping_file(request: HttpRequest, pk: int) -> HttpResponse:
    """What the headings of one file mean, with a preview of the rows that follow."""
    file = get_object_or_404(MappedFile, pk=pk)
    sheets, findings = sheets_of(file.file_name, bytes(file.content))
    if has_errors(findings):
        reason = told(findings[0].message)
        messages.error(request, worded("{name} cannot be read: {reason}", name=file.file_name, reason=reason))
        return redirect("surveys:mapping_batch", file.batch)
    if request.method != "POST":
        chosen = ColumnMapping.objects.filter(name=request.GET.get("use", "")).first()
        mapping = from_plain(chosen.spec) if chosen else proposal(file, sheets)
        form = MappingForm(initial=initial_of(mapping, chosen.name if chosen else file.mapping_name))
        return _show(request, file, sheets, mapping, form)
    form = MappingForm(request.POST)
    complete = form.is_valid()
    mapping = mapping_from_post(sheets, request.POST, form.cleaned_data)
    if request.POST.get("action") == "preview":
        return _show(request, file, sheets, mapping, form, part=request.POST.get("part") == "1")
    if not complete:
        return _show(request, file, sheets, mapping, form, status=422)
    if file.upload and file.upload.status != UploadStatus.CHECKED:
        messages.error(
            request,
            worded("{name} is taken already.", name=file.file_name)
            if file.upload.status == UploadStatus.TAKEN
            else worded("{name} is discarded already.", name=file.file_name),
        )
        return redirect("surveys:mapping_batch", file.batch)
    number = keep_mapping(file, mapping, name=form.cleaned_data["name"], by=request.user)
    messages.success(
        request,
        worded_n(
            "The mapping {name} is kept, and {n} file was read by it.",
            "The mapping {name} is kept, and {n} files were read by it.",
            number,
            name=form.cleaned_data["name"],
        ),
    )
    return redirect("surveys:mapping_batch", file.batch)


def _show(
    request: HttpRequest,
    file: MappedFile,
    sheets: Any,
    mapping: FileMapping,
    form: MappingForm,
    *,
    part: bool = False,
    status: int = 200,
) -> HttpResponse:
    mapped = convert(sheets, mapping)
    context = {"file": file, "form": form, **_preview(mapped)}
    if part:
        return render(request, "surveys/mapping_preview.html", context)
    context |= {
        "sheets": sheet_fields(sheets, mapping),
        "choices": role_choices(),
        "mappings": ColumnMapping.objects.all(),
        "limit": settings.UPLOAD_LIMIT_ROWS,
    }
    return render(request, "surveys/mapping_file.html", context, status=status)


def _preview(mapped: Mapped) -> dict[str, Any]:
    first = list(zip(mapped.rows, mapped.sources, strict=True))[:PREVIEW_ROWS]
    used = [name for name in HEADINGS if any(row.get(name) for row, _ in first)]
    found = rules_in_force().raised(mapped.findings)
    return {
        "headings": used,
        "rows": [(source, [row.get(name, "") for name in used]) for row, source in first],
        "row_count": len(mapped.rows),
        "found": found[:PREVIEW_FINDINGS],
        "more_found": max(0, len(found) - PREVIEW_FINDINGS),
    }


@access.allowed(access.SEE_UNACCEPTED)
@require_safe
def mapping_original(request: HttpRequest, pk: int) -> HttpResponse:
    """A file of another layout as it came, byte for byte."""
    file = get_object_or_404(MappedFile, pk=pk)
    return HttpResponse(
        bytes(file.content),
        content_type="application/octet-stream",
        headers={"Content-Disposition": f'attachment; filename="{get_valid_filename(file.file_name)}"'},
    )
