"""Refusals in the form of RFC 9457: what went wrong, where, and what to do about it."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from http import HTTPStatus

from django.http import HttpRequest, HttpResponse
from django.utils.encoding import iri_to_uri

from surveys.said import marked

MEDIA_TYPE = "application/problem+json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of refusal; its address leads to its entry on the page that describes the interface.

    Programs read its words in English; the page says them in the language of its reader.
    """

    code: str
    status: HTTPStatus
    title: str
    remedy: str

    @property
    def address(self) -> str:
        return f"/api/v1/#problem-{self.code}"


BAD_PARAMETER = Kind(
    code="bad-parameter",
    status=HTTPStatus.BAD_REQUEST,
    title=marked("A parameter cannot be used"),
    remedy=marked("`errors` names each parameter and what it may be."),
)
NOT_FOUND = Kind(
    code="not-found",
    status=HTTPStatus.NOT_FOUND,
    title=marked("There is nothing public at this address"),
    remedy=marked("The list of resources is at /api/v1/."),
)
NOT_ON_RECORD = Kind(
    code="not-on-record",
    status=HTTPStatus.NOT_FOUND,
    title=marked("A filter names something that is not on record"),
    remedy=marked("`errors` names each parameter and the list where the names stand."),
)
NOT_ALLOWED = Kind(
    code="method-not-allowed",
    status=HTTPStatus.METHOD_NOT_ALLOWED,
    title=marked("This interface is read-only"),
    remedy=marked("Use GET or HEAD."),
)
NOT_ACCEPTABLE = Kind(
    code="not-acceptable",
    status=HTTPStatus.NOT_ACCEPTABLE,
    title=marked("The answer is not offered in this form"),
    remedy=marked("Ask for application/json or text/csv; stations are also offered as application/geo+json."),
)
TOO_MANY = Kind(
    code="too-many-requests",
    status=HTTPStatus.TOO_MANY_REQUESTS,
    title=marked("Too many requests in a minute"),
    remedy=marked("Wait for as many seconds as Retry-After says, and ask for larger pages."),
)
NOT_KNOWN = Kind(
    code="token-not-known",
    status=HTTPStatus.UNAUTHORIZED,
    title=marked("The token cannot be used"),
    remedy=marked(
        "It is mistyped, revoked, or past its last day. Leave the Authorization header out to read what is public."
    ),
)
KINDS = (BAD_PARAMETER, NOT_KNOWN, NOT_FOUND, NOT_ON_RECORD, NOT_ALLOWED, NOT_ACCEPTABLE, TOO_MANY)


@dataclass(frozen=True, slots=True, kw_only=True)
class ParameterError:
    """What is wrong with one parameter."""

    parameter: str
    code: str
    detail: str


class ApiProblem(Exception):  # noqa: N818 - the word of RFC 9457
    """Stops a request; the view turns it into a response."""

    def __init__(
        self,
        kind: Kind,
        detail: str = "",
        *,
        errors: Sequence[ParameterError] = (),
        headers: dict[str, str] | None = None,
    ) -> None:
        super().__init__(detail or kind.title)
        self.kind = kind
        self.detail = detail or kind.remedy
        self.errors = tuple(errors)
        self.headers = headers or {}

    def response(self, request: HttpRequest) -> HttpResponse:
        body: dict[str, object] = {
            "type": self.kind.address,
            "title": self.kind.title,
            "status": int(self.kind.status),
            "detail": self.detail,
            # Escaped as the address was asked: a URI holds no letters beyond ASCII.
            "instance": iri_to_uri(request.get_full_path_info().partition("?")[0]),
        }
        if self.errors:
            body["errors"] = [
                {"parameter": e.parameter, "code": e.code, "detail": e.detail} for e in self.errors
            ]
        return HttpResponse(
            json.dumps(body, ensure_ascii=False),
            status=int(self.kind.status),
            content_type=MEDIA_TYPE,
            headers={"Cache-Control": "no-store", **self.headers},
        )
