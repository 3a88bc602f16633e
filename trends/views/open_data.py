"""The open data page and its files: what is accepted and public, for everybody, whoever asks."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_safe

from surveys.access import EXPORT, may
from surveys.language import told
from surveys.withholding import STATEMENT
from trends.exports import downloads
from trends.public_figures import NUMBERS_THERE


@require_safe
def open_data(request: HttpRequest) -> HttpResponse:
    return render(
        request,
        "trends/open_data.html",
        {
            "downloads": downloads.DOWNLOADS,
            "withheld": f"{told(STATEMENT)} {told(NUMBERS_THERE)}",
            "may_make_tokens": may(request.user, EXPORT),
        },
    )


@require_safe
def open_data_file(request: HttpRequest, name: str) -> HttpResponse:
    download = downloads.BY_NAME.get(name)
    if download is None:
        raise Http404("There is no such file.")
    content, etag = downloads.made(download)
    response = HttpResponse(content, content_type=download.content_type)
    response["Content-Disposition"] = f'attachment; filename="{download.name}"'
    response["Cache-Control"] = f"public, max-age={downloads.FRESH_S}"
    response["ETag"] = etag
    return get_conditional_response(request, etag=etag, response=response) or response
