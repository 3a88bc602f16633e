"""The data beside each public page, as JSON and as CSV."""

import hashlib
import io
import json
from collections.abc import Callable
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.utils.cache import get_conditional_response
from django.utils.text import slugify
from django.views.decorators.csrf import csrf_exempt  # nothing is written: what is sent is answered with 405
from django.views.decorators.http import require_safe

from trends import twins
from trends.exports.tables import write_csv
from trends.twins import Twin

FRESH_S = 60


class FormConverter:
    """The ending of an address that asks for data."""

    regex = "json|csv"

    def to_python(self, value: str) -> str:
        return value

    def to_url(self, value: str) -> str:
        return value


def _answer(request: HttpRequest, twin: Twin | None, name: str, form: str) -> HttpResponse:
    if twin is None:
        raise Http404("There is no such page.")
    if form == "csv":
        text = io.StringIO(newline="")
        write_csv(text, twin.columns, twin.rows)
        response = HttpResponse(
            text.getvalue().encode(), content_type="text/csv; charset=utf-8; header=present"
        )
        response["Content-Disposition"] = f'attachment; filename="{slugify(name)}.csv"'
    else:
        content = json.dumps(twin.document(), ensure_ascii=False, allow_nan=False)
        response = HttpResponse(content.encode(), content_type="application/json")
    response["Cache-Control"] = f"public, max-age={FRESH_S}"
    etag = f'"{hashlib.sha256(response.content).hexdigest()[:32]}"'
    response["ETag"] = etag
    return get_conditional_response(request, etag=etag, response=response) or response


@csrf_exempt
@require_safe
def creeks(request: HttpRequest, form: str) -> HttpResponse:
    return _answer(request, twins.creeks(), "creeks", form)


def _of(make: Callable[[Any], Twin | None]) -> Callable[..., HttpResponse]:
    @csrf_exempt
    @require_safe
    def view(request: HttpRequest, key: Any, form: str) -> HttpResponse:
        return _answer(request, make(key), f"{make.__name__}-{key}", form)

    return view


watershed = _of(twins.watershed)
station = _of(twins.station)
visit = _of(twins.visit)
species = _of(twins.species)
