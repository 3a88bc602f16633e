"""The addresses under /api/v1/. Everybody gets what is public; a personal token opens what its role may see."""

import hashlib
from collections.abc import Callable
from functools import wraps
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import get_conditional_response, patch_vary_headers
from django.views.decorators.csrf import csrf_exempt

from surveys.withholding import STATEMENT
from trends.api import formats
from trends.api.limits import PER_MINUTE, count_request
from trends.api.openapi import document
from trends.api.parameters import DEFAULT_LIMIT, GREATEST_LIMIT, read_parameters
from trends.api.problems import KINDS, NOT_ALLOWED, NOT_FOUND, ApiProblem
from trends.api.readers import Reader, reader_of
from trends.api.resources import BY_NAME, RESOURCES, Resource, page
from trends.public_figures import NUMBERS_THERE

FRESH_S = 60
HTML = "text/html"
VARIES = ("Accept", "Authorization")
View = Callable[..., HttpResponse]


def api_view(view: View) -> View:
    """Read-only, counted, with refusals as problems and an ETag on every answer.

    Nothing is written and no cookie is read, so the guard of forms has nothing to guard here; it would
    answer an attempt to write with a page about forms instead of a problem.
    """

    @csrf_exempt
    @wraps(view)
    def answered(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        try:
            if request.method not in ("GET", "HEAD"):
                raise ApiProblem(NOT_ALLOWED, headers={"Allow": "GET, HEAD"})
            reader = _counted_reader(request)
            response = view(request, reader, *args, **kwargs)
        except ApiProblem as problem:
            response = problem.response(request)
            patch_vary_headers(response, VARIES)
            return response
        patch_vary_headers(response, VARIES)
        if reader.token:
            # Nothing that staff alone may see is kept anywhere on the way.
            response.headers["Cache-Control"] = "private, no-store"
            return response
        if response.headers.get("Content-Type", "").startswith(HTML):
            return response
        response.headers["Cache-Control"] = f"public, max-age={FRESH_S}"
        etag = f'"{hashlib.sha256(response.content).hexdigest()[:32]}"'
        response.headers["ETag"] = etag
        return get_conditional_response(request, etag=etag, response=response) or response

    return answered


def _counted_reader(request: HttpRequest) -> Reader:
    """Who reads; refused tokens count for their address, so that they cannot be tried without end."""
    try:
        reader = reader_of(request)
    except ApiProblem:
        count_request(request)
        raise
    count_request(request, reader.counted_as)
    return reader


def _resource(name: str) -> Resource:
    if name not in BY_NAME:
        raise ApiProblem(NOT_FOUND)
    return BY_NAME[name]


@api_view
def index(request: HttpRequest, reader: Reader) -> HttpResponse:
    """What there is: a page for people, the same list as JSON for programs."""
    read_parameters(request.GET, (), paged=False)
    if request.GET.get("format") is None and formats.preferred_form(request, [formats.JSON, HTML]) == HTML:
        return render(
            request,
            "trends/api_index.html",
            {
                "resources": RESOURCES,
                "problems": KINDS,
                "withheld": (STATEMENT, NUMBERS_THERE),
                "default_limit": DEFAULT_LIMIT,
                "greatest_limit": GREATEST_LIMIT,
                "per_minute": PER_MINUTE,
            },
        )
    formats.chosen_format(request, [formats.JSON])
    return _json_response(
        {
            "resources": [
                {"name": r.name, "summary": r.summary, "url": f"/api/v1/{r.name}"} for r in RESOURCES
            ],
            "openapi": "/api/v1/openapi.json",
            "withheld": reader.statement,
            "license": formats.LICENSE,
        }
    )


@api_view
def openapi(request: HttpRequest, reader: Reader) -> HttpResponse:
    read_parameters(request.GET, (), paged=False)
    return _json_response(document())


def _json_response(content: Any) -> HttpResponse:
    return HttpResponse(formats.dumped(content), content_type=formats.JSON)


@api_view
def listing(request: HttpRequest, reader: Reader, name: str) -> HttpResponse:
    resource = _resource(name)
    media = formats.chosen_format(request, formats.offered(resource))
    asked = read_parameters(request.GET, resource.filters)
    found = page(resource, reader, asked.conditions, after=asked.after, limit=asked.limit)
    more = len(found) > asked.limit
    found = found[: asked.limit]
    following = _address(request, after=resource.cursor.number(found[-1])) if more else None
    rows = list(resource.rows(found, reader))
    response = HttpResponse(
        formats.WRITERS[media](resource, rows, following, reader.statement),
        content_type=formats.CONTENT_TYPES[media],
    )
    links = [f'<{_address(request, after=None)}>; rel="first"']
    if following:
        links.append(f'<{following}>; rel="next"')
    response.headers["Link"] = ", ".join(links)
    if media == formats.CSV:
        response.headers["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    return response


def _address(request: HttpRequest, *, after: int | None) -> str:
    """This list from another place on; relative, so that it holds behind any proxy."""
    kept = [(key, value) for key, value in request.GET.items() if key != "after"]
    if after is not None:
        kept.append(("after", str(after)))
    return f"{request.path}?{urlencode(kept)}" if kept else request.path


@api_view
def detail(request: HttpRequest, reader: Reader, name: str, key: str) -> HttpResponse:
    resource = _resource(name)
    if not resource.field or (
        resource.field == "pk" and not (key.isascii() and key.isdigit() and len(key) < 19)
    ):
        raise ApiProblem(NOT_FOUND)
    formats.chosen_format(request, [formats.JSON])
    read_parameters(request.GET, (), paged=False)
    found = list(resource.source(reader).filter(**{resource.field: key})[:1])
    if not found:
        raise ApiProblem(NOT_FOUND)
    row = next(iter(resource.rows(found, reader)))
    return HttpResponse(formats.one_as_json(resource, row, reader.statement), content_type=formats.JSON)


@api_view
def nothing(request: HttpRequest, reader: Reader) -> HttpResponse:
    """Any other address under this one, told in the same form."""
    raise ApiProblem(NOT_FOUND)
