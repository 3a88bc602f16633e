"""How each number is made, and each index method in full."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from trends import glossary, method_pages
from trends.glossary.cautions import LEVEL_MEANING
from trends.index import load_method
from trends.measures import MEASURES


@require_safe
def methods(request: HttpRequest) -> HttpResponse:
    return render(
        request,
        "trends/methods.html",
        {
            "measures": MEASURES,
            "statistics": glossary.STATISTICS,
            "certainty": glossary.CERTAINTY,
            "cautions": glossary.CAUTIONS,
            "levels": LEVEL_MEANING,
            "counting": glossary.COUNTING,
            "methods": method_pages.method_list(),
        },
    )


def _known(code: str) -> str:
    if code not in method_pages.known_codes():
        raise Http404("There is no index method of this name.")
    return code


@require_safe
def method(request: HttpRequest, code: str) -> HttpResponse:
    view = method_pages.method_view(load_method(_known(code)))
    return render(request, "trends/method_detail.html", {"view": view, "method": view.method})


@require_safe
def method_file(request: HttpRequest, code: str) -> HttpResponse:
    """The method as its YAML file, for those who check it or build on it."""
    response = HttpResponse(
        method_pages.file_text(_known(code)), content_type="application/yaml; charset=utf-8"
    )
    response["Content-Disposition"] = f'attachment; filename="{code}.yaml"'
    return response
