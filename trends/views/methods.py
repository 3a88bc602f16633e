"""How each number is made, and each index method in full."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from surveys.language import worded
from surveys.withholding import sees_all
from trends import glossary, method_pages
from trends.glossary.cautions import LEVEL_MEANING
from trends.measures import EVERY_MEASURE
from trends.public_figures import guarded_watersheds
from trends.score_versions import drawing, rows_of, series_of, watersheds_with_earlier_scores
from trends.shelf import Held, shelf


@require_safe
def methods(request: HttpRequest) -> HttpResponse:
    return render(
        request,
        "trends/methods.html",
        {
            "measures": EVERY_MEASURE,
            "statistics": glossary.STATISTICS,
            "certainty": glossary.CERTAINTY,
            "cautions": glossary.CAUTIONS,
            "levels": LEVEL_MEANING,
            "counting": glossary.COUNTING,
            "methods": method_pages.method_list(),
        },
    )


def _held(code: str, version: str) -> Held:
    held = shelf().held(code, version)
    if held is None:
        raise Http404("There is no index method of this name and version.")
    return held


@require_safe
def method(request: HttpRequest, code: str) -> HttpResponse:
    """A method in its present version, or in the one asked for; where versions scored, both series."""
    view = method_pages.method_view(_held(code, request.GET.get("version", "")).method())
    # These are scores of all fish: where places are withheld they are for those who may see them.
    creeks = watersheds_with_earlier_scores(
        code, without=() if sees_all(request.user) else guarded_watersheds()
    )
    creek = next((one for one in creeks if one.slug == request.GET.get("creek")), next(iter(creeks), None))
    series = series_of(creek, code) if creek else []
    title = (
        worded("Index of {creek} by version of the method, median of each year", creek=creek) if creek else ""
    )
    return render(
        request,
        "trends/method_detail.html",
        {
            "view": view,
            "method": view.method,
            "creeks": creeks,
            "creek": creek,
            "series": series,
            "series_rows": rows_of(series),
            "series_drawing": drawing(series, view.method, title),
        },
    )


@require_safe
def method_file(request: HttpRequest, code: str) -> HttpResponse:
    """The method as its YAML file, for those who check it or build on it."""
    held = _held(code, request.GET.get("version", ""))
    response = HttpResponse(method_pages.file_text(held), content_type="application/yaml; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{code}.yaml"'
    return response
