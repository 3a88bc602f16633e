"""One page of rows as JSON, CSV or GeoJSON, and the choice between them."""

import io
import json
from collections.abc import Mapping, Sequence
from typing import Any

from django.http import HttpRequest

from trends.api.problems import BAD_PARAMETER, NOT_ACCEPTABLE, ApiProblem, ParameterError
from trends.api.resources import Resource
from trends.exports.tables import write_csv
from trends.exports.trends import plain_value

LICENSE = "https://creativecommons.org/licenses/by/4.0/"
JSON, CSV, GEOJSON = "application/json", "text/csv", "application/geo+json"
BY_WORD = {"json": JSON, "csv": CSV, "geojson": GEOJSON}
CONTENT_TYPES = {JSON: JSON, CSV: "text/csv; charset=utf-8; header=present", GEOJSON: GEOJSON}
# RFC 7946 advises no more than seven; the eighth is below a centimetre.
DECIMALS_OF_A_PLACE = 7


def offered(resource: Resource) -> list[str]:
    return [JSON, CSV, GEOJSON] if resource.places else [JSON, CSV]


def chosen_format(request: HttpRequest, media_types: Sequence[str]) -> str:
    """The form asked for by ``?format=``, else by the Accept header, else JSON."""
    word = request.GET.get("format")
    if word is not None:
        words = [w for w, media in BY_WORD.items() if media in media_types]
        if word not in words:
            error = ParameterError(
                parameter="format", code="invalid", detail=f"Must be one of: {', '.join(words)}."
            )
            raise ApiProblem(BAD_PARAMETER, errors=[error])
        return BY_WORD[word]
    preferred = preferred_form(request, media_types)
    if preferred is None:
        raise ApiProblem(NOT_ACCEPTABLE, f"Offered here: {', '.join(media_types)}.")
    return preferred


def preferred_form(request: HttpRequest, media_types: Sequence[str]) -> str | None:
    """The form that the Accept header likes best, or None where it likes none of them.

    What the header says of a form beside its name, as in "application/json; charset=utf-8", is left out
    before the framework reads it, which would take it for another form; every answer is UTF-8 anyway.
    """
    liked = []
    for one in request.headers.get("Accept", "*/*").split(","):
        name, *about = (part.strip() for part in one.split(";"))
        liked.append(";".join([name, *(part for part in about if part.lower().startswith("q="))]))
    asked = HttpRequest()
    asked.META["HTTP_ACCEPT"] = ",".join(liked)
    return asked.get_preferred_type(list(media_types))


def _plain(resource: Resource, row: Mapping[str, Any]) -> dict[str, Any]:
    """A row with the columns of the resource alone, in their order."""
    return {column.key: plain_value(row.get(column.key)) for column in resource.columns}


def dumped(document: Any) -> bytes:
    return json.dumps(document, ensure_ascii=False, allow_nan=False).encode()


def as_json(
    resource: Resource, rows: Sequence[Mapping[str, Any]], following: str | None, withheld: str
) -> bytes:
    return dumped(
        {
            "data": [_plain(resource, row) for row in rows],
            "next": following,
            "withheld": withheld,
            "license": LICENSE,
        }
    )


def as_csv(
    resource: Resource, rows: Sequence[Mapping[str, Any]], following: str | None, withheld: str
) -> bytes:
    text = io.StringIO(newline="")
    write_csv(text, resource.columns, rows)
    return text.getvalue().encode()


def as_geojson(
    resource: Resource, rows: Sequence[Mapping[str, Any]], following: str | None, withheld: str
) -> bytes:
    features = [_feature(_plain(resource, row)) for row in rows]
    return dumped({"type": "FeatureCollection", "features": features})


def _feature(row: dict[str, Any]) -> dict[str, Any]:
    latitude, longitude = row.pop("latitude"), row.pop("longitude")
    geometry = None
    if latitude is not None:
        position = [round(longitude, DECIMALS_OF_A_PLACE), round(latitude, DECIMALS_OF_A_PLACE)]
        geometry = {"type": "Point", "coordinates": position}
    return {"type": "Feature", "id": row["station"], "geometry": geometry, "properties": row}


def one_as_json(resource: Resource, row: Mapping[str, Any], withheld: str) -> bytes:
    return dumped({"data": _plain(resource, row), "withheld": withheld, "license": LICENSE})


WRITERS = {JSON: as_json, CSV: as_csv, GEOJSON: as_geojson}
