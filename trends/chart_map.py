"""Stations on a map without tiles: position, north, scale; the form of a mark tells the direction."""

import math
from collections.abc import Mapping, Sequence

from django.utils.safestring import SafeString, mark_safe

from surveys.language import told, worded, worded_n
from surveys.models import Station
from trends import svg, wording
from trends.outcomes import Outcome

WIDTH, EDGE, FOOT = 520, 34, 36
LEAST_HEIGHT, MOST_HEIGHT = 240, 400
LETTER = 6.4
FORMS = {
    wording.BETTER: ("up", "dot"),
    wording.WORSE: ("down", "dot worse"),
    wording.RISING: ("up", "hollow"),
    wording.FALLING: ("down", "hollow"),
    wording.STEADY: ("bar", "dot"),
    wording.CANNOT_TELL: ("diamond", "hollow"),
}


def station_map(
    stations: Sequence[Station],
    outcomes: Mapping[int, Outcome],
    outlines: Sequence[Sequence[tuple[float, float]]] = (),
    streams: Sequence[Sequence[tuple[float, float]]] = (),
    *,
    staff: bool = False,
) -> SafeString:
    """Stations by position, in a frame with north and a scale; empty where none has a position.

    Parameters
    ----------
    outcomes : by station id
    outlines, streams : rings and lines as (longitude, latitude), where the watershed has them on record
    """
    placed = [s for s in stations if s.latitude is not None and s.longitude is not None]
    if not placed:
        return mark_safe("")
    every = [(s.longitude or 0.0, s.latitude or 0.0) for s in placed]
    every += [point for ring in (*outlines, *streams) for point in ring]
    west, east = min(a for a, _ in every), max(a for a, _ in every)
    south, north = min(b for _, b in every), max(b for _, b in every)
    mid_lon, mid_lat = (west + east) / 2, (south + north) / 2
    east_km = svg.KM_PER_DEGREE * max(math.cos(math.radians(mid_lat)), 0.01)
    # A single station still gets a map of 2 km, so that the scale bar means something.
    wide = max((east - west) * east_km, 2.0)
    tall = max((north - south) * svg.KM_PER_DEGREE, 1.0)
    scale = min((WIDTH - 2 * EDGE - 60) / wide, (MOST_HEIGHT - 2 * EDGE - FOOT) / tall)
    height = round(max(LEAST_HEIGHT, tall * scale + 2 * EDGE + FOOT))

    def spot(lon: float, lat: float) -> tuple[float, float]:
        return (
            WIDTH / 2 - 24 + (lon - mid_lon) * east_km * scale,
            (height - FOOT) / 2 - (lat - mid_lat) * svg.KM_PER_DEGREE * scale,
        )

    title = worded_n(
        "Map of {n} station; the form of each mark tells its direction",
        "Map of {n} stations; the form of each mark tells its direction",
        len(placed),
    )
    parts = [
        svg.open_picture(WIDTH, height, title),
        f'<rect class="edge" fill="none" x="0.5" y="0.5" width="{WIDTH - 1}" height="{height - 1}"/>',
    ]
    parts += [svg.polyline("outline", [spot(*p) for p in ring]) for ring in outlines]
    parts += [svg.polyline("stream", [spot(*p) for p in course]) for course in streams]
    if not streams:
        parts += _order_lines(placed, spot)
    marks = [(*spot(s.longitude or 0.0, s.latitude or 0.0), s) for s in placed]
    for x, y, s in marks:
        outcome = outcomes.get(s.pk)
        form, css = FORMS[wording.mark(outcome.current if outcome else None)]
        verdict = wording.outcome_verdict(outcome, staff=staff) if outcome else worded("not assessed")
        parts.append(svg.shape(form, css, x, y, 6, f"{s.code}: {verdict}"))
    parts += _labels([(x, y, _label(s, outcomes.get(s.pk))) for x, y, s in marks])
    return mark_safe("".join([*parts, *_scale_and_north(scale, height), "</svg>"]))


def _label(station: Station, outcome: Outcome | None) -> str:
    rating = told(outcome.latest_rating) if outcome else ""
    return f"{station.code}, {rating}" if rating else station.code


def _order_lines(placed: Sequence[Station], spot) -> list[str]:  # type: ignore[no-untyped-def]
    """Stations of one stream joined in their order: which is up, not the course of the water."""
    parts = []
    for name in dict.fromkeys(s.stream for s in placed):
        own = sorted(
            (s for s in placed if s.stream == name and s.river_km is not None), key=lambda s: s.river_km or 0
        )
        if len(own) > 1:
            parts.append(svg.polyline("order", [spot(s.longitude or 0.0, s.latitude or 0.0) for s in own]))
    return parts


def _labels(spots: list[tuple[float, float, str]]) -> list[str]:
    """Words beside the marks where there is room, else the code alone, else none: the table names all."""
    taken = [(x - 8, y - 8, x + 8, y + 8) for x, y, _ in spots]
    drawn = []
    for x, y, words in spots:
        for label in dict.fromkeys((words, words.split(",")[0])):
            place = _free_place(x, y, label, taken)
            if place is not None:
                at, base, anchor, box = place
                taken.append(box)
                drawn.append(svg.text("map-label", at, base, label, anchor))
                break
    return drawn


def _free_place(
    x: float, y: float, words: str, taken: list[svg.Box]
) -> tuple[float, float, str, svg.Box] | None:
    """Where the words begin, in which way, and the room they take; None where there is none beside the mark."""
    width = LETTER * len(words)
    for at, base, anchor in (
        (x + 11, y + 4, "start"),
        (x - 11, y + 4, "end"),
        (x, y - 12, "middle"),
        (x, y + 21, "middle"),
    ):
        left, right = svg.ends(at, width, anchor)
        box = (left, base - 11, right, base + 3)
        if svg.stays_inside(at, width, anchor, WIDTH) and box[1] >= 3 and not svg.meets(box, taken):
            return at, base, anchor, box
    return None


def _scale_and_north(scale: float, height: float) -> list[str]:
    power = 10.0 ** math.floor(math.log10(160 / scale))
    km = max(step * power for step in (1, 2, 5) if step * power <= 160 / scale)
    length, y, north = km * scale, height - 16, WIDTH - 26
    words = f"{km:g} km" if km >= 1 else f"{1000 * km:g} m"
    return [
        f'<path class="axis" fill="none" d="M18,{y - 5:.1f} V{y:.1f} H{18 + length:.1f} V{y - 5:.1f}"/>',
        svg.text("", 24 + length, y + 2, words),
        f'<path class="axis" fill="none" d="M{north},{height - 12:.1f} V{height - 40:.1f} '
        f'M{north - 5},{height - 33:.1f} L{north},{height - 41:.1f} L{north + 5},{height - 33:.1f}"/>',
        svg.text("", north - 9, height - 14, "N", "end"),
    ]
