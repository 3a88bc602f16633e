"""A taxon's years and stations drawn as SVG text: the shape says it, colour only repeats it."""

import math
from collections.abc import Sequence

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from surveys.language import worded, worded_n
from trends import svg
from trends.species import StationMeeting, YearMark

CELL, RADIUS = 14, 4.2
MAP_WIDTH, MAP_EDGE = 420, 26
LEAST_MAP_HEIGHT, MOST_MAP_HEIGHT = 220, 520
LABEL_HEIGHT, LETTER_WIDTH = 12, 7.4


def _open_fixed(width: float, height: float, title: str) -> str:
    """A picture in a table cell: it keeps its size, and the table scrolls."""
    return (
        f'<svg viewBox="0 0 {width:g} {height:g}" width="{width:g}" height="{height:g}" role="img">'
        f'<title>{escape(title)}</title><g class="spark">'
    )


def strip_words(years: Sequence[YearMark]) -> str:
    """The strip as a sentence, for those who cannot see it."""
    chosen = {
        state: _runs([m.year for m in years if m.state == state])
        for state in ("met", "not met", "not visited")
    }
    parts = []
    if chosen["met"]:
        parts.append(worded("met in {years}", years=chosen["met"]))
    if chosen["not met"]:
        parts.append(worded("visited and not met in {years}", years=chosen["not met"]))
    if chosen["not visited"]:
        parts.append(worded("not visited in {years}", years=chosen["not visited"]))
    return "; ".join(parts) or worded("no year visited")


def _runs(years: list[int]) -> str:
    runs: list[list[int]] = []
    for year in years:
        if runs and year == runs[-1][-1] + 1:
            runs[-1].append(year)
        else:
            runs.append([year])
    return ", ".join(
        str(r[0]) if len(r) == 1 else worded("{first} to {last}", first=r[0], last=r[-1]) for r in runs
    )


def strip(years: Sequence[YearMark], *, labels: bool = True) -> SafeString:
    """Years in a row: filled dot met, ring visited and not met, short bar on sand not visited."""
    if not years:
        return mark_safe("")
    left = 16 if labels else 4
    width, height = 2 * left + CELL * len(years), 40 if labels else 20
    middle = 10
    start = svg.open_picture if labels else _open_fixed
    parts = [start(width, height, strip_words(years))]
    for i, mark in enumerate(years):
        x = left + CELL * (i + 0.5)
        if mark.state == "met":
            parts.append(f'<circle class="dot" cx="{x:g}" cy="{middle}" r="{RADIUS}"/>')
        elif mark.state == "not met":
            parts.append(f'<circle class="axis" cx="{x:g}" cy="{middle}" r="{RADIUS}"/>')
        else:
            parts.append(f'<rect class="gap" x="{left + CELL * i}" y="2" width="{CELL}" height="16"/>')
            parts.append(
                f'<line class="axis" x1="{x - 2.5:g}" y1="{middle}" x2="{x + 2.5:g}" y2="{middle}"/>'
            )
        if labels and (i == 0 or i == len(years) - 1 or (mark.year % 5 == 0 and 2 < i < len(years) - 3)):
            parts.append(f'<text x="{x:g}" y="34" text-anchor="middle">{mark.year}</text>')
    return mark_safe("".join([*parts, "</svg>" if labels else "</g></svg>"]))


def strip_key() -> list[tuple[SafeString, str]]:
    """The three shapes with their words."""
    shapes = ((1, 1, worded("met")), (1, 0, worded("visited, not met")), (0, 0, worded("not visited")))
    return [
        (strip([YearMark(year=0, made=made, met=met)], labels=False), words) for made, met, words in shapes
    ]


def _nice_length(most_km: float) -> float:
    """The longest round length that is not above ``most_km``."""
    power = 10.0 ** math.floor(math.log10(most_km))
    return max(step * power for step in (1, 2, 5) if step * power <= most_km)


def station_map(stations: Sequence[StationMeeting]) -> SafeString:
    """Visited stations by their position: filled where met, hollow where not. North is up.

    Degrees of longitude are drawn at their length in the middle of the map, which is true enough
    for a county.
    """
    placed = [s for s in stations if s.latitude is not None and s.longitude is not None]
    if not placed:
        return mark_safe("")
    latitudes = [s.latitude or 0.0 for s in placed]
    longitudes = [s.longitude or 0.0 for s in placed]
    middle = (min(latitudes) + max(latitudes)) / 2
    east_km = svg.KM_PER_DEGREE * max(math.cos(math.radians(middle)), 0.01)
    # A single station still gets a map of 2 km, so that the scale bar means something.
    wide = max((max(longitudes) - min(longitudes)) * east_km, 2.0)
    tall = max((max(latitudes) - min(latitudes)) * svg.KM_PER_DEGREE, 1.0)
    inner = MAP_WIDTH - 2 * MAP_EDGE
    scale = min(inner / wide, (MOST_MAP_HEIGHT - 2 * MAP_EDGE - 30) / tall)
    height = max(LEAST_MAP_HEIGHT, tall * scale + 2 * MAP_EDGE + 30)
    centre_x, centre_y = MAP_WIDTH / 2, (height - 30) / 2
    mid_longitude = (min(longitudes) + max(longitudes)) / 2
    met = sum(1 for s in placed if s.meeting.met)
    title = worded_n(
        "Map of {n} visited station: met at {met}, not met at {other}",
        "Map of {n} visited stations: met at {met}, not met at {other}",
        len(placed),
        met=met,
        other=len(placed) - met,
    )
    parts = [
        svg.open_picture(MAP_WIDTH, round(height), title),
        f'<rect class="edge" x="0.5" y="0.5" fill="none" width="{MAP_WIDTH - 1}" '
        f'height="{round(height) - 1}"/>',
    ]
    spots = [
        (
            centre_x + ((one.longitude or 0.0) - mid_longitude) * east_km * scale,
            centre_y - ((one.latitude or 0.0) - middle) * svg.KM_PER_DEGREE * scale,
            one,
        )
        for one in placed
    ]
    # Filled marks lie over hollow ones where stations are close together.
    for x, y, one in sorted(spots, key=lambda spot: bool(spot[2].meeting.met)):
        css = "dot" if one.meeting.met else "axis"
        told = escape(
            worded_n(
                "{code}: met in {met} of {n} visit",
                "{code}: met in {met} of {n} visits",
                one.meeting.made,
                code=one.code,
                met=one.meeting.met,
            )
        )
        parts.append(f'<circle class="{css}" cx="{x:.1f}" cy="{y:.1f}" r="5"><title>{told}</title></circle>')
    parts += _labels([(x, y, one.code) for x, y, one in spots])
    return mark_safe("".join([*parts, *_scale_and_north(scale, height), "</svg>"]))


def _labels(spots: list[tuple[float, float, str]]) -> list[str]:
    """Codes beside their marks, where there is room; the list under the map names every station."""
    taken = [(x - 6, y - 6, x + 6, y + 6) for x, y, _ in spots]
    drawn = []
    for x, y, code in spots:
        width = LETTER_WIDTH * len(code)
        for at, base, anchor in (
            (x + 8, y + 4, "start"),
            (x - 8, y + 4, "end"),
            (x, y - 9, "middle"),
            (x, y + 18, "middle"),
        ):
            left, right = svg.ends(at, width, anchor)
            box = (left, base - LABEL_HEIGHT + 2, right, base + 2)
            if svg.stays_inside(at, width, anchor, MAP_WIDTH) and box[1] >= 2 and not svg.meets(box, taken):
                taken.append(box)
                drawn.append(svg.text("", at, base, code, anchor))
                break
    return drawn


def _scale_and_north(scale: float, height: float) -> list[str]:
    km = _nice_length(150 / scale)
    length = km * scale
    words = f"{km:g} km" if km >= 1 else f"{1000 * km:g} m"
    y = height - 14
    north = MAP_WIDTH - 24
    return [
        f'<path class="axis" d="M16,{y - 4:.1f} V{y:.1f} H{16 + length:.1f} V{y - 4:.1f}"/>',
        f'<text x="{22 + length:.1f}" y="{y + 1:.1f}">{words}</text>',
        f'<path class="axis" d="M{north},{height - 12:.1f} V{height - 36:.1f} M{north - 4},{height - 30:.1f} '
        f'L{north},{height - 37:.1f} L{north + 4},{height - 30:.1f}"/>',
        f'<text x="{north - 8}" y="{height - 14:.1f}" text-anchor="end">{worded("N")}</text>',
    ]
