"""Pages of the public, kept as they were made for as long as nothing in the database has changed.

What is asked of the database is one short question: which transactions may be seen now
(``txid_current_snapshot``, PostgreSQL documentation, section 9.27.14). Reading takes no transaction number,
so the answer stays the same until somebody writes, and where it is the same two readers see the same rows.
A page is kept only if the answer was the same before and after it was made; so it can be told neither from
rows that nobody had committed yet nor later than the moment they were.

In this process's memory alone, and for readers without any cookie: whoever is signed in has pages of their own.
"""

import hashlib
from collections.abc import Callable

from django.conf import settings
from django.core.cache import caches
from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.translation import get_language

from trends.middleware import TRANSLATED

# Forms, data for programs and the like: not worth a question, for no page of theirs is kept.
NEVER = ("/account/", "/admin/", "/api/", "/entry/", "/healthz", "/review/", "/season/", "/upload/")
LONGEST_ADDRESS = 600
KEEP_S = 24 * 3600


class KeptPages:
    """Answers with the page that was made before, where it still is the page that would be made now."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        state = _state() if _may_be_kept(request) else None
        if state is None:
            return self.get_response(request)
        pages = caches[settings.KEPT_PAGES]
        key = _key(request, state)
        kept = pages.get(key)
        if kept is not None:
            content, headers = kept
            return HttpResponse(content, headers=headers)
        response = self.get_response(request)
        if _is_public(request, response) and _state() == state:
            pages.set(key, (response.content, dict(response.headers)), KEEP_S)
        return response


def _may_be_kept(request: HttpRequest) -> bool:
    """A page that is the same for every reader. Inside a transaction its own changes would not be told."""
    return (
        request.method == "GET"
        and not request.COOKIES
        and "Authorization" not in request.headers
        and not _without_language(request.path).startswith(NEVER)
        and not connection.in_atomic_block
    )


def _without_language(path: str) -> str:
    """An address as it is in English, where the language is no part of it."""
    first, _, rest = path.removeprefix("/").partition("/")
    return f"/{rest}" if first in dict(settings.LANGUAGES) else path


def _state() -> str | None:
    """Which transactions may be seen now; None where the database does not answer."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT txid_current_snapshot()::text")
            return str(cursor.fetchone()[0])
    except DatabaseError:
        return None


def _key(request: HttpRequest, state: str) -> str:
    """Everything that a page is made of beside the rows: its address, its language and the day."""
    address = request.build_absolute_uri()
    parts = (state, timezone.localdate().isoformat(), get_language() or "", address)
    return f"page:{hashlib.sha256(chr(0).join(parts).encode()).hexdigest()}"


def _is_public(request: HttpRequest, response: HttpResponse) -> bool:
    match = request.resolver_match
    return (
        match is not None
        and match.view_name in TRANSLATED
        and response.status_code == 200
        and not response.streaming
        and not response.cookies
        and "CSRF_COOKIE_NEEDS_UPDATE" not in request.META
        and response.get("Content-Type", "").startswith("text/html")
        and len(request.get_full_path()) <= LONGEST_ADDRESS
    )
