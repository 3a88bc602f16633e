"""Land-use notes: written, changed and withdrawn by planners."""

from django.contrib import messages
from django.db import transaction
from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from surveys.access import WRITE_NOTES, allowed
from surveys.language import worded
from surveys.models import Watershed
from trends.forms import LandUseNoteForm, WithdrawForm
from trends.judged_anew import notes_changed
from trends.models import LandUseNote


@allowed(WRITE_NOTES)
@require_http_methods(["GET", "HEAD", "POST"])
def add_note(request: HttpRequest, slug: str) -> HttpResponse:
    watershed = get_object_or_404(Watershed, slug=slug)
    note = LandUseNote(watershed=watershed, written_by=request.user)  # type: ignore[misc]
    return _edit(request, note, worded("Add a land-use note"), worded("The note is kept."))


@allowed(WRITE_NOTES)
@require_http_methods(["GET", "HEAD", "POST"])
def edit_note(request: HttpRequest, pk: int) -> HttpResponse:
    note = get_object_or_404(LandUseNote.objects.current().select_related("watershed"), pk=pk)
    return _edit(request, note, worded("Change a land-use note"), worded("The change is kept."))


def _edit(request: HttpRequest, note: LandUseNote, title: str, done: str) -> HttpResponse:
    form = LandUseNoteForm(request.POST or None, instance=note)
    if request.method == "POST" and form.is_valid():
        with transaction.atomic():
            form.save()
            notes_changed(note.watershed)
        messages.success(request, done)
        return redirect("trends:watershed", slug=note.watershed.slug)
    status = 422 if form.errors else 200
    context = {"form": form, "note": note, "watershed": note.watershed, "title": title}
    return render(request, "trends/note_form.html", context, status=status)


@allowed(WRITE_NOTES)
@require_http_methods(["GET", "HEAD", "POST"])
def withdraw_note(request: HttpRequest, pk: int) -> HttpResponse:
    note = get_object_or_404(LandUseNote.objects.current().select_related("watershed"), pk=pk)
    form = WithdrawForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        note.withdrawn_at = timezone.now()
        note.withdrawn_by = request.user  # type: ignore[assignment]
        note.withdrawn_why = form.cleaned_data["why"]
        with transaction.atomic():
            note.save(update_fields=["withdrawn_at", "withdrawn_by", "withdrawn_why"])
            notes_changed(note.watershed)
        messages.success(request, worded("The note is withdrawn. It is kept in the history."))
        return redirect("trends:watershed", slug=note.watershed.slug)
    status = 422 if form.errors else 200
    context = {"form": form, "note": note, "watershed": note.watershed}
    return render(request, "trends/note_withdraw.html", context, status=status)


@allowed(WRITE_NOTES)
@require_safe
def note_list(request: HttpRequest) -> HttpResponse:
    """Every note that stands, by watershed, for those who write them."""
    watersheds = Watershed.objects.prefetch_related(
        Prefetch("notes", queryset=LandUseNote.objects.current().select_related("station"))
    )
    return render(request, "trends/note_list.html", {"watersheds": watersheds})
