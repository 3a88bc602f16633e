"""Did it make a difference: the years before and after a dated note, against control stations."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from surveys.withholding import sees_all
from trends import brief, chart_effect, effect_words, effects
from trends.measures import BY_KEY, INDEX, leading
from trends.models import LandUseNote
from trends.passed_over import measure_passed_over, names_passed_over
from trends.public_figures import guarded_watersheds


@require_safe
def effect(request: HttpRequest, pk: int) -> HttpResponse:
    staff = sees_all(request.user)
    notes = LandUseNote.objects.current() if staff else LandUseNote.objects.public()
    note = get_object_or_404(notes.select_related("watershed", "station__watershed"), pk=pk)
    if note.category in effects.NO_EFFECT:
        raise Http404("A change of the survey is no change of the creek.")
    offered = [BY_KEY[key] for key in brief.offered_measures(note.watershed, sees_all=sees_all(request.user))]
    measure = BY_KEY.get(request.GET.get("measure", ""))
    if measure not in offered or measure is None:
        measure = leading(offered)
    asked = request.GET.getlist("control")
    open_to_all = measure is INDEX or sees_all(request.user)
    found = effects.effect(
        note,
        measure.key,
        asked if "control" in request.GET else None,
        staff=staff,
        # A control is shown year by year, as on its own page.
        kept_back=() if open_to_all else guarded_watersheds(),
    )
    return render(
        request,
        "trends/effect.html",
        {
            "note": note,
            "watershed": note.watershed,
            "effect": found,
            "measure": measure,
            "offered": offered,
            "finding": effect_words.headline(found),
            "further": effect_words.further(found),
            "estimates": effect_words.estimate_rows(found),
            "ratio": effect_words.ratio_words(found),
            "assumptions": effect_words.assumptions(found),
            "windows": effect_words.windows_words(found),
            "picture": chart_effect.difference_chart(found),
            "windows_picture": chart_effect.windows_chart(found),
            "table": chart_effect.effect_table(found),
            "span": (found.rows[0].year, found.rows[-1].year) if found.rows else (None, None),
            "made": effect_words.made_of(found),
            "chosen": {s.code for s in found.controls},
            "staff": staff,
            "passed_over": [
                *(measure_passed_over(dict(request.GET.lists()), offered, measure) if offered else ()),
                *names_passed_over({"control": asked}, "control", [o.station.code for o in found.options]),
            ],
        },
    )
