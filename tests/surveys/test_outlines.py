"""Watershed outlines from GeoJSON: RFC 7946 positions, whole or not at all."""

import json
from typing import Any

import pytest

from surveys.models import Watershed
from surveys.uploads.outlines import load_outlines
from tests.factories import make_watershed

pytestmark = pytest.mark.django_db

RING = [[-70.0, 38.0], [-69.9, 38.0], [-69.9, 38.1], [-70.0, 38.0]]


def feature(kind: str = "Polygon", coordinates: Any = None, watershed: str = "Willow Run") -> dict[str, Any]:
    return {
        "type": "Feature",
        "properties": {"watershed": watershed},
        "geometry": {"type": kind, "coordinates": [RING] if coordinates is None else coordinates},
    }


def collection(*features: Any, **more: Any) -> bytes:
    return json.dumps({"type": "FeatureCollection", "features": list(features), **more}).encode()


def test_polygons_are_outlines_and_lines_are_courses() -> None:
    make_watershed()
    result = load_outlines("layer.geojson", collection(feature(), feature("LineString", RING[:2])))
    assert (result.created, result.findings) == (1, [])
    kept = Watershed.objects.get()
    assert (kept.outlines, kept.courses) == ([RING], [RING[:2]])


def test_the_same_file_again_changes_nothing() -> None:
    make_watershed()
    load_outlines("layer.geojson", collection(feature()))
    again = load_outlines("layer.geojson", collection(feature()))
    assert (again.created, again.updated, again.same) == (0, 0, 1)


def test_a_dry_run_stores_nothing() -> None:
    make_watershed()
    assert load_outlines("layer.geojson", collection(feature()), dry_run=True).created == 1
    assert Watershed.objects.get().outlines == []


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"not json", "not_json"),
        (b"\xff\xfe", "not_json"),
        (b"[]", "not_geojson"),
        (collection(), "empty"),
        (collection(feature(watershed="Elm Run")), "unknown_watershed"),
        (collection(feature("Point", [0, 0])), "other_geometry"),
        (collection(feature(coordinates=[RING[:3]])), "open_ring"),
        (collection(feature(coordinates=[[[38.0, -170.0], *RING]])), "bad_position"),
        (collection(feature(coordinates=[[["west", 1], *RING]])), "bad_position"),
        (collection(feature(coordinates=[])), "bad_position"),
        (collection("text"), "unknown_watershed"),
        (collection(feature(), crs={"properties": {"name": "EPSG:26918"}}), "other_datum"),
    ],
)
def test_what_cannot_be_read_is_named_and_nothing_is_stored(content: bytes, code: str) -> None:
    make_watershed()
    result = load_outlines("layer.geojson", content)
    assert code in {f.code for f in result.findings}
    assert Watershed.objects.get().outlines == []


def test_one_bad_feature_refuses_the_whole_file() -> None:
    make_watershed()
    result = load_outlines("layer.geojson", collection(feature(), feature(watershed="Elm Run")))
    assert [f.row for f in result.findings] == [2]
    assert Watershed.objects.get().outlines == []
