"""Watershed outlines and stream courses from GeoJSON (RFC 7946): checked, then stored whole or not at all."""

import json
import math
from typing import Any

import pghistory
from django.conf import settings
from django.db import transaction

from surveys.models import Watershed
from surveys.uploads.findings import ERROR, Finding
from surveys.uploads.list_records import ListResult
from surveys.uploads.values import fold

Point = list[float]
# The name of a feature's watershed stands in this property.
NAME = "watershed"
# More points than a picture of a few hundred pixels can show; a county layer should be simplified first.
MOST_POINTS = 20_000
DECIMALS = 6


def load_outlines(name: str, content: bytes, *, dry_run: bool = False) -> ListResult:
    """Replace the outlines and courses of the watersheds that the file names.

    Polygons become outlines (outer rings alone), lines become stream courses. Positions are longitude
    and latitude in WGS 84, as RFC 7946 demands. ``created`` counts watersheds that had no shape before.
    """
    result = ListResult()
    if len(content) > settings.UPLOAD_LIMIT_BYTES:
        limit = settings.UPLOAD_LIMIT_BYTES // 1024 // 1024
        _refuse(
            result, None, "too_large", f"The file is larger than {limit} MB.", "Simplify the shapes first."
        )
        return result
    features = _features(content, result)
    stored = {fold(w.name): w for w in Watershed.objects.all()} | {w.slug: w for w in Watershed.objects.all()}
    shapes: dict[int, tuple[Watershed, list[list[Point]], list[list[Point]]]] = {}
    for number, feature in enumerate(features, start=1):
        found = _shape(number, feature, stored, result)
        if found is None:
            continue
        watershed, outlines, courses = found
        kept = shapes.setdefault(watershed.pk, (watershed, [], []))
        kept[1].extend(outlines)
        kept[2].extend(courses)
    result.rows = len(features)
    if result.has_errors:
        return result
    with transaction.atomic(), pghistory.context(file=name):
        for watershed, outlines, courses in shapes.values():
            if (watershed.outlines, watershed.courses) == (outlines, courses):
                result.same += 1
                continue
            if watershed.outlines or watershed.courses:
                result.updated += 1
            else:
                result.created += 1
            if not dry_run:
                watershed.outlines, watershed.courses = outlines, courses
                watershed.save(update_fields=["outlines", "courses"])
    return result


def _refuse(
    result: ListResult, row: int | None, code: str, message: str, remedy: str, value: str = ""
) -> None:
    result.findings.append(
        Finding(level=ERROR, code=code, row=row, value=value, message=message, remedy=remedy)
    )


def _features(content: bytes, result: ListResult) -> list[Any]:
    try:
        read = json.loads(content.decode("utf-8-sig"))
    except (UnicodeDecodeError, ValueError, RecursionError):
        _refuse(result, None, "not_json", "The file is not JSON in UTF-8.", "Export the layer as GeoJSON.")
        return []
    if not isinstance(read, dict) or not isinstance(read.get("features"), list):
        _refuse(
            result,
            None,
            "not_geojson",
            "The file holds no FeatureCollection.",
            "Export the whole layer as GeoJSON (RFC 7946).",
        )
        return []
    if "crs" in read and "CRS84" not in str(read["crs"]) and "4326" not in str(read["crs"]):
        _refuse(
            result,
            None,
            "other_datum",
            "The file names a coordinate system other than WGS 84.",
            "Export it in WGS 84 (EPSG:4326).",
        )
    if not read["features"]:
        _refuse(result, None, "empty", "The file holds no feature.", "Check what was exported.")
    return read["features"]


def _shape(
    number: int, feature: Any, stored: dict[str, Watershed], result: ListResult
) -> tuple[Watershed, list[list[Point]], list[list[Point]]] | None:
    """The watershed of one feature with its rings and lines; None where something is refused."""
    properties = feature.get("properties") if isinstance(feature, dict) else None
    geometry = feature.get("geometry") if isinstance(feature, dict) else None
    named = str((properties or {}).get(NAME) or "").strip()
    watershed = stored.get(fold(named)) or stored.get(named)
    if watershed is None:
        _refuse(
            result,
            number,
            "unknown_watershed",
            f"Feature {number} belongs to no known watershed.",
            f"Give the property {NAME} the name of a watershed on record.",
            named,
        )
        return None
    kind = geometry.get("type") if isinstance(geometry, dict) else None
    parts: Any = geometry.get("coordinates") if isinstance(geometry, dict) else None
    wrapped = {
        "Polygon": lambda: [parts[0]],
        "MultiPolygon": lambda: [polygon[0] for polygon in parts],
        "LineString": lambda: [parts],
        "MultiLineString": lambda: list(parts),
    }.get(str(kind))
    try:
        lines = [[_point(p) for p in line] for line in wrapped()] if wrapped else None
    except (TypeError, ValueError, IndexError, KeyError) as problem:
        _refuse(
            result,
            number,
            "bad_position",
            f"Feature {number}: {problem or 'a position cannot be read'}.",
            "Positions are [longitude, latitude] in degrees.",
        )
        return None
    if lines is None:
        _refuse(
            result,
            number,
            "other_geometry",
            f"Feature {number} is neither a polygon nor a line.",
            "Outlines are polygons, stream courses are lines.",
            str(kind),
        )
        return None
    closed = str(kind).endswith("Polygon")
    if any(len(line) < (4 if closed else 2) or (closed and line[0] != line[-1]) for line in lines):
        _refuse(
            result,
            number,
            "open_ring",
            f"Feature {number} has a ring that is not closed, or a line of one point.",
            "The last position of a ring repeats the first.",
        )
        return None
    if sum(map(len, lines)) > MOST_POINTS:
        _refuse(
            result,
            number,
            "too_many_points",
            f"Feature {number} has more than {MOST_POINTS:,} points.",
            "Simplify the shape before exporting it.",
        )
        return None
    return (watershed, lines, []) if closed else (watershed, [], lines)


def _point(position: Any) -> Point:
    longitude, latitude = float(position[0]), float(position[1])
    if not (math.isfinite(longitude) and -180 <= longitude <= 180):
        raise ValueError(f"longitude {longitude} is not on the globe")
    if not (math.isfinite(latitude) and -90 <= latitude <= 90):
        raise ValueError(f"latitude {latitude} is not on the globe (is latitude written first?)")
    return [round(longitude, DECIMALS), round(latitude, DECIMALS)]
