"""The OpenAPI 3.1 document, made from the table of resources so that it cannot fall behind."""

from collections.abc import Sequence
from functools import cache
from typing import Any

from surveys.withholding import STATEMENT
from trends.api import formats
from trends.api.nested import ENTRIES
from trends.api.parameters import DEFAULT_LIMIT, GREATEST_ID, GREATEST_LIMIT
from trends.api.problems import (
    BAD_PARAMETER,
    KINDS,
    MEDIA_TYPE,
    NOT_ALLOWED,
    NOT_FOUND,
    NOT_KNOWN,
    NOT_ON_RECORD,
    TOO_MANY,
    Kind,
)
from trends.api.resources import RESOURCES, Resource
from trends.exports.tables import Column
from trends.public_figures import NUMBERS_THERE

VERSION = "1.0.0"
TYPES: dict[str, dict[str, Any]] = {
    "date": {"type": "string", "format": "date"},
    "datetime": {"type": "string", "format": "date-time"},
    "array": {"type": "array"},
}
Plain = dict[str, Any]
# Headers that come with a refusal.
SAID_BESIDE = {
    TOO_MANY: ("Retry-After", "Seconds until requests are answered again"),
    NOT_KNOWN: ("WWW-Authenticate", "The kind of token that is read here"),
    NOT_ALLOWED: ("Allow", "What the address answers to"),
}
TOKEN_SCHEME: Plain = {
    "type": "http",
    "scheme": "bearer",
    "description": "A token made by a member of staff on the page /data/tokens/; it ends on a set day. "
    "It is read from the Authorization header alone. Answers to it are not to be stored (Cache-Control).",
}


def _property(column: Column) -> Plain:
    made = dict(TYPES.get(column.kind, {"type": column.kind}))
    if column.kind == "array":
        made["items"] = _entry(column.key)
    if not column.required:
        made["type"] = [made["type"], "null"]
    made["description"] = f"{column.text} [{column.unit}]" if column.unit else column.text
    return made


def _entry(key: str) -> Plain:
    """One entry of the list that a column holds."""
    columns = ENTRIES.get(key)
    return _object(columns) if columns else {"type": "string"}


def _object(columns: Sequence[Column]) -> Plain:
    return {
        "type": "object",
        "properties": {c.key: _property(c) for c in columns},
        "required": [c.key for c in columns],
        "additionalProperties": False,
    }


def _record(resource: Resource) -> Plain:
    return {"description": resource.summary, **_object(resource.columns)}


def _ref(kind: str, name: str) -> Plain:
    return {"$ref": f"#/components/{kind}/{name}"}


def _envelope(data: Plain, *, paged: bool) -> Plain:
    properties: Plain = {
        "data": data,
        "withheld": {"type": "string", "description": "What is held back by rule, and why"},
        "license": {"type": "string", "format": "uri"},
    }
    if paged:
        properties["next"] = {"type": ["string", "null"], "description": "Address of the next page"}
    return {"type": "object", "properties": properties, "required": list(properties)}


def _feature_collection(record: str) -> Plain:
    point = {
        "type": ["object", "null"],
        "properties": {
            "type": {"const": "Point"},
            "coordinates": {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2},
        },
        "required": ["type", "coordinates"],
    }
    feature = {
        "type": "object",
        "properties": {
            "type": {"const": "Feature"},
            "id": {"type": "string"},
            "geometry": point,
            "properties": {"type": "object"},
        },
        "required": ["type", "id", "geometry", "properties"],
    }
    return {
        "type": "object",
        "description": f"{record} as points, longitude first, WGS 84 (RFC 7946)",
        "properties": {
            "type": {"const": "FeatureCollection"},
            "features": {"type": "array", "items": feature},
        },
        "required": ["type", "features"],
    }


def _parameter(name: str, text: str, schema: Plain, *, place: str = "query") -> Plain:
    return {
        "name": name,
        "in": place,
        "required": place == "path",
        "description": text,
        "schema": schema,
    }


def _format_parameter(media: list[str]) -> Plain:
    words = [word for word, one in formats.BY_WORD.items() if one in media]
    return _parameter("format", "Goes before the Accept header", {"type": "string", "enum": words})


def _problems(*left_out: Kind) -> Plain:
    return {str(int(k.status)): _ref("responses", k.code) for k in KINDS if k not in left_out}


def _answer(text: str, content: Plain, *, paged: bool = False) -> Plain:
    headers: Plain = {"ETag": {"description": "Changes with the content", "schema": {"type": "string"}}}
    if paged:
        headers["Link"] = {
            "description": "first and, where there is more, next (RFC 8288)",
            "schema": {"type": "string"},
        }
    return {"description": text, "headers": headers, "content": content}


NOT_MODIFIED = {"description": "The content is still that of the ETag in If-None-Match"}


def _list_operation(resource: Resource) -> Plain:
    media = formats.offered(resource)
    page = _envelope({"type": "array", "items": _ref("schemas", resource.name)}, paged=True)
    content: Plain = {formats.JSON: {"schema": page}, formats.CSV: {"schema": {"type": "string"}}}
    if resource.places:
        content[formats.GEOJSON] = {"schema": _feature_collection(resource.name)}
    limit = {"type": "integer", "minimum": 1, "maximum": GREATEST_LIMIT, "default": DEFAULT_LIMIT}
    after = {"type": "integer", "minimum": 0, "maximum": GREATEST_ID}
    return {
        "operationId": f"list_{resource.name}",
        "summary": resource.summary,
        "tags": [resource.name],
        "parameters": [
            _parameter("limit", "Records on a page", limit),
            _parameter("after", "Where the page starts; taken from the link to the next page", after),
            _format_parameter(media),
            *(_parameter(f.name, f.text, f.schema()) for f in resource.filters),
        ],
        "responses": {
            "200": _answer("One page of records", content, paged=True),
            "304": NOT_MODIFIED,
            **_problems(NOT_FOUND),
        },
    }


def _detail_operation(resource: Resource) -> Plain:
    kind = "integer" if resource.field == "pk" else "string"
    content = {formats.JSON: {"schema": _envelope(_ref("schemas", resource.name), paged=False)}}
    return {
        "operationId": f"read_{resource.one}",
        "summary": f"One {resource.one}",
        "tags": [resource.name],
        "parameters": [
            _parameter(resource.key, "Which one", {"type": kind}, place="path"),
            _format_parameter([formats.JSON]),
        ],
        "responses": {
            "200": _answer("The record", content),
            "304": NOT_MODIFIED,
            **_problems(NOT_ON_RECORD),
        },
    }


def _problem_schema() -> Plain:
    error = {
        "type": "object",
        "properties": {name: {"type": "string"} for name in ("parameter", "code", "detail")},
        "required": ["parameter", "code", "detail"],
    }
    return {
        "type": "object",
        "description": "Why a request was refused (RFC 9457)",
        "properties": {
            "type": {"type": "string", "format": "uri-reference"},
            "title": {"type": "string"},
            "status": {"type": "integer"},
            "detail": {"type": "string"},
            "instance": {"type": "string", "format": "uri-reference"},
            "errors": {"type": "array", "items": error},
        },
        "required": ["type", "title", "status", "detail", "instance"],
    }


def _problem_response(kind: Kind) -> Plain:
    example: Plain = {
        "type": kind.address,
        "title": kind.title,
        "status": int(kind.status),
        "detail": kind.remedy,
        "instance": "/api/v1/visits",
    }
    if kind is BAD_PARAMETER:
        detail = "Must be a year from 1800 to 2200."
        example["errors"] = [{"parameter": "year", "code": "invalid", "detail": detail}]
    if kind is NOT_ON_RECORD:
        detail = "No watershed goes by “millrun”. The names stand at /api/v1/watersheds."
        example["errors"] = [{"parameter": "watershed", "code": "not-on-record", "detail": detail}]
    header, meaning = SAID_BESIDE.get(kind, ("", ""))
    headers = {header: {"description": meaning, "schema": {"type": "string"}}} if header else {}
    return {
        "description": f"{kind.title}. {kind.remedy}",
        "headers": headers,
        "content": {MEDIA_TYPE: {"schema": _ref("schemas", "problem"), "example": example}},
    }


def _plain_operation(name: str, summary: str) -> Plain:
    content = {formats.JSON: {"schema": {"type": "object"}}}
    return {
        "operationId": name,
        "summary": summary,
        "parameters": [_format_parameter([formats.JSON])] if name == "index" else [],
        "responses": {
            "200": _answer(summary, content),
            "304": NOT_MODIFIED,
            **_problems(NOT_FOUND, NOT_ON_RECORD),
        },
    }


@cache
def document() -> Plain:
    """The whole document; the same for as long as the program runs."""
    paths: Plain = {
        "/": {"get": _plain_operation("index", "What there is")},
        "/openapi.json": {"get": _plain_operation("openapi", "This document")},
    }
    for resource in RESOURCES:
        paths[f"/{resource.name}"] = {"get": _list_operation(resource)}
        if resource.field:
            paths[f"/{resource.name}/{{{resource.key}}}"] = {"get": _detail_operation(resource)}
    return {
        "openapi": "3.1.0",
        "jsonSchemaDialect": "https://json-schema.org/draft/2020-12/schema",
        "info": {
            "title": "Rillmark: stream fish surveys and trends",
            "version": VERSION,
            "description": "Accepted, public records, for everybody. Staff send a personal token and also read "
            "what their role may see: records that nobody has reviewed yet, and exact places of every species. "
            "Missing is null, which is never the same as 0. "
            f"{STATEMENT} {NUMBERS_THERE}",
            "license": {"name": "Data: CC BY 4.0", "identifier": "CC-BY-4.0"},
        },
        "servers": [{"url": "/api/v1"}],
        "tags": [{"name": r.name, "description": r.summary} for r in RESOURCES],
        "paths": paths,
        # Either nothing, or a token; both are right everywhere.
        "security": [{}, {"personal_token": []}],
        "components": {
            "securitySchemes": {"personal_token": TOKEN_SCHEME},
            "schemas": {**{r.name: _record(r) for r in RESOURCES}, "problem": _problem_schema()},
            "responses": {kind.code: _problem_response(kind) for kind in KINDS},
        },
    }
