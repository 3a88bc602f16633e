"""The handout for a meeting: one page for everybody, its words edited by outreach staff."""

from django import forms
from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import translation
from django.views.decorators.http import require_http_methods, require_safe

from surveys.access import EDIT_HANDOUTS, EXPORT, allowed
from surveys.language import marked, other_language, told, worded
from surveys.models import Watershed
from trends.exports.offline_pack import pack_bytes
from trends.handout import Handout, handout
from trends.handout_editing import earlier_words, faults, save_texts, version
from trends.handout_parts import EVERY, NAMES


@require_safe
def page(request: HttpRequest, slug: str) -> HttpResponse:
    watershed = get_object_or_404(Watershed, slug=slug)
    return render(
        request,
        "trends/handout.html",
        {
            "watershed": watershed,
            "handout": handout(watershed),
            "address": request.build_absolute_uri(watershed.get_absolute_url()),
        },
    )


class HandoutForm(forms.Form):
    """A box of words for each part; empty words bring the draft back."""

    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: object, shown: Handout, language: str, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        sections = {**shown.sections, **{s.part.key: s for s in shown.questions}}
        for part in EVERY:
            section = sections[part.key]
            whose = marked("The draft.") if section.edited is None else marked("Edited.")
            self.fields[part.key] = forms.CharField(
                label=part.heading,
                required=False,
                initial=section.text,
                max_length=2000,
                widget=forms.Textarea(
                    attrs={"rows": 6 if part.key == "helps" else 3, "lang": language, "translate": "no"}
                ),
                help_text=" ".join([whose, *section.remarks]),
            )

    def clean(self) -> dict[str, object]:
        cleaned = super().clean() or {}
        for part in EVERY:
            for fault in faults(part, cleaned.get(part.key) or told(part.draft)):
                self.add_error(part.key, fault)
        return cleaned


@allowed(EDIT_HANDOUTS)
@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HttpRequest, slug: str) -> HttpResponse:
    """The words of one language, which is named in the address; the page speaks that of its reader."""
    reader = translation.get_language()
    language = request.GET.get("words", reader)
    if language not in dict(settings.LANGUAGES):
        raise Http404(worded("There is no handout in that language."))
    with translation.override(language):
        return _edit(request, slug, language, reader)


def _edit(request: HttpRequest, slug: str, language: str, reader: str) -> HttpResponse:
    watershed = get_object_or_404(Watershed, slug=slug)
    shown = handout(watershed)
    now = version(watershed)
    form = HandoutForm(request.POST or None, shown=shown, language=language, initial={"seen": now})
    if request.method == "POST" and form.is_valid():
        if form.cleaned_data["seen"] != now:
            form.add_error(
                None,
                marked(
                    "Somebody else changed this handout meanwhile. Open it in another window, compare, "
                    "and save again to put your words in the place of theirs."
                ),
            )
            # The form shows their words again, now with knowledge of the other's.
            again = request.POST.copy()
            again["seen"] = now
            form.data = again
        else:
            texts = {part.key: form.cleaned_data[part.key] for part in EVERY}
            changed = save_texts(watershed, texts, by=request.user)
            done = marked("The words are kept.")
            unchanged = marked("Nothing was changed, so nothing was kept.")
            messages.success(request, done if changed else unchanged)
            return redirect("trends:handout", slug=slug)
    context = {
        "language": language,
        "reader": reader,
        "languages": settings.LANGUAGES,
        "watershed": watershed,
        "form": form,
        "names": [(name, text, shown.facts.values[name]) for name, text in NAMES.items()],
        "earlier": earlier_words(watershed),
    }
    status = 422 if form.errors else 200
    with translation.override(reader):
        return render(request, "trends/handout_edit.html", context, status=status)


@allowed(EXPORT)
@require_safe
def pack(request: HttpRequest, slug: str) -> HttpResponse:
    """Everything for a meeting as one archive that opens from a memory stick."""
    watershed = get_object_or_404(Watershed, slug=slug)
    response = HttpResponse(pack_bytes(watershed), content_type="application/zip")
    other = other_language()
    name = f"{watershed.slug}-meeting{f'-{other}' if other else ''}.zip"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
