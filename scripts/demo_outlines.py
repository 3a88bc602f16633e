"""Invented outlines and stream courses of the demo's watersheds, drawn around its stations."""

import json
import math
from collections.abc import Iterable
from itertools import pairwise
from pathlib import Path
from typing import Protocol

MARGIN_DEGREES = 0.012
CORNERS = 28


class Placed(Protocol):
    watershed: str
    stream: str
    latitude: float
    longitude: float
    river_km: float


def write_outlines(path: Path, stations: Iterable[Placed]) -> None:
    """GeoJSON with a polygon for each watershed and a line for each stream that has two stations."""
    by_watershed: dict[str, list[Placed]] = {}
    for station in stations:
        by_watershed.setdefault(station.watershed, []).append(station)
    features = []
    for name, placed in by_watershed.items():
        features.append(_feature(name, "Polygon", [_ring(placed)]))
        lowest = min(placed, key=lambda s: s.river_km)
        by_stream: dict[str, list[Placed]] = {}
        for station in placed:
            by_stream.setdefault(station.stream, []).append(station)
        for stream, own in by_stream.items():
            line = sorted(own, key=lambda s: s.river_km)
            if stream != lowest.stream:
                # A side stream begins where the main one is nearest.
                main = [s for s in placed if s.stream == lowest.stream]
                joint = min(main, key=lambda s: abs(s.river_km - line[0].river_km))
                line = [joint, *line]
            if len(line) > 1:
                features.append(_feature(name, "LineString", _course(line)))
    text = json.dumps({"type": "FeatureCollection", "features": features}, separators=(",", ":"))
    path.write_text(text + "\n", encoding="utf-8")


def _feature(watershed: str, kind: str, coordinates: list) -> dict[str, object]:
    return {
        "type": "Feature",
        "properties": {"watershed": watershed},
        "geometry": {"type": kind, "coordinates": coordinates},
    }


def _ring(placed: list[Placed]) -> list[list[float]]:
    """A rounded shape around the stations, counter-clockwise as RFC 7946 asks, with an uneven edge."""
    west, east = min(s.longitude for s in placed), max(s.longitude for s in placed)
    south, north = min(s.latitude for s in placed), max(s.latitude for s in placed)
    middle = (west + east) / 2, (south + north) / 2
    half = (east - west) / 2 * 1.3 + MARGIN_DEGREES, (north - south) / 2 * 1.3 + MARGIN_DEGREES
    points = []
    for corner in range(CORNERS):
        turn = 2 * math.pi * corner / CORNERS
        uneven = 1 + 0.07 * math.sin(3 * turn + len(placed)) + 0.04 * math.cos(7 * turn)
        points.append(
            [
                round(middle[0] + half[0] * uneven * math.cos(turn), 5),
                round(middle[1] + half[1] * uneven * math.sin(turn), 5),
            ]
        )
    return [*points, points[0]]


def _course(line: list[Placed]) -> list[list[float]]:
    """From station to station with a bend between, as creeks have."""
    points: list[list[float]] = []
    for below, above in pairwise(line):
        bend = 0.12 if len(points) % 4 == 0 else -0.12
        across = (above.latitude - below.latitude) * bend, (below.longitude - above.longitude) * bend
        points.append([below.longitude, below.latitude])
        points.append(
            [
                round((below.longitude + above.longitude) / 2 + across[0], 5),
                round((below.latitude + above.latitude) / 2 + across[1], 5),
            ]
        )
    points.append([line[-1].longitude, line[-1].latitude])
    return points
