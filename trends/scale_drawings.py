"""Cut points drawn as a ruled edge: where on the scale which points or words begin. SVG as text.

Class names only, as in ``sparklines``: the style sheet gives the colours, and a dark room its own.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from surveys.language import told
from trends.index.exact import exact, short
from trends.index.method import RatingClass
from trends.index.points import Band

WIDTH, HEIGHT = 340, 56
LEFT, RIGHT, EDGE = 14, 326, 30
# Two labels nearer than this would run into each other.
LEAST_APART = 26

_FULL = {"%": Fraction(100), "part of 1": Fraction(1), "part of the line": Fraction(1)}


@dataclass(frozen=True, slots=True)
class Step:
    """A stretch of the scale, or a single value (low == high), with the points it earns."""

    low: Fraction
    high: Fraction
    points: Fraction | None


def _limits(bands: Sequence[Band]) -> list[Fraction]:
    found = {
        limit
        for band in bands
        for limit in (band.at_least, band.above, band.at_most, band.below)
        if limit is not None
    }
    return sorted(found)


def _span(limits: list[Fraction], unit: str) -> tuple[Fraction, Fraction, bool]:
    """Low and high end of the picture, and whether the scale goes on beyond it."""
    low = min(Fraction(0), limits[0])
    full = _FULL.get(unit)
    if full is not None and limits[-1] <= full:
        # A scale whose cuts all lie near zero would be unreadable at full length.
        if limits[-1] * 3 <= full and limits[-1] > 0:
            return low, limits[-1] * Fraction(8, 5), True
        return low, full, False
    top = limits[-1]
    return low, (top * Fraction(3, 2) if top > 0 else top + 1), True


def _points(bands: Sequence[Band], value: Fraction) -> Fraction | None:
    return next((band.points for band in bands if band.holds(value)), None)


def stretches(bands: Sequence[Band], low: Fraction, high: Fraction) -> list[Step]:
    """The scale from low to high as stretches of equal points; single values that differ stand alone."""
    places = sorted({low, high, *(v for v in _limits(bands) if low <= v <= high)})
    steps: list[Step] = []
    for i, place in enumerate(places):
        here = _points(bands, place)
        before = _points(bands, (places[i - 1] + place) / 2) if i else None
        after = _points(bands, (place + places[i + 1]) / 2) if i + 1 < len(places) else None
        neighbours = [p for p, there in ((before, i > 0), (after, i + 1 < len(places))) if there]
        if here not in neighbours:
            steps.append(Step(place, place, here))
        if i + 1 < len(places):
            if steps and steps[-1].points == after and steps[-1].low < steps[-1].high and here == after:
                steps[-1] = Step(steps[-1].low, places[i + 1], after)
            else:
                steps.append(Step(place, places[i + 1], after))
    return steps


def _x(value: Fraction, low: Fraction, high: Fraction) -> float:
    return round(LEFT + (RIGHT - LEFT) * float((value - low) / (high - low)), 1)


def _text(x: float, y: float, words: str, css: str = "", anchor: str = "middle") -> str:
    name = f' class="{css}"' if css else ""
    return f'<text{name} x="{x:g}" y="{y:g}" text-anchor="{anchor}">{escape(words)}</text>'


def _line(css: str, x1: float, y1: float, x2: float, y2: float) -> str:
    return f'<line class="{css}" x1="{x1:g}" y1="{y1:g}" x2="{x2:g}" y2="{y2:g}"/>'


def _open(width: int, height: int, title: str) -> str:
    return (
        f'<svg class="spark scale" viewBox="0 0 {width} {height}" width="{width}" role="img">'
        f"<title>{escape(title)}</title>"
    )


def cut_points(bands: Sequence[Band], unit: str, title: str) -> SafeString:
    """A ruled edge with the cut points under it and the points between them; empty without limits."""
    limits = _limits(bands)
    if not limits:
        return mark_safe("")
    low, high, goes_on = _span(limits, unit)
    steps = stretches(bands, low, high)
    parts = [_open(WIDTH, HEIGHT, title), _line("axis", LEFT, EDGE, RIGHT, EDGE)]
    for step in steps:
        words = "–" if step.points is None else short(step.points)
        centre = (_x(step.low, low, high) + _x(step.high, low, high)) / 2
        if step.low == step.high:
            parts.append(f'<circle class="dot" cx="{centre:g}" cy="{EDGE}" r="3.2"/>')
        parts.append(_text(centre, EDGE - 8, words, "line-label"))
    taken: list[float] = []
    for value in limits:
        at = _x(value, low, high)
        parts.append(_line("axis", at, EDGE - 5, at, EDGE + 5))
        # A label that would run into its neighbour steps down by a line.
        crowded = bool(taken) and at - taken[-1] < LEAST_APART
        parts.append(_text(at, EDGE + (25 if crowded else 17), _short_words(value)))
        taken.append(at)
    for value, there in ((low, True), (high, not goes_on)):
        at = _x(value, low, high)
        if there and all(abs(at - other) >= LEAST_APART for other in taken):
            parts += [_line("year-tick", at, EDGE, at, EDGE + 5), _text(at, EDGE + 17, _short_words(value))]
    if goes_on:
        parts.append(
            f'<path class="axis" d="M{RIGHT - 5},{EDGE - 3} L{RIGHT},{EDGE} L{RIGHT - 5},{EDGE + 3}"/>'
        )
    return mark_safe("".join([*parts, "</svg>"]))


def _short_words(value: Fraction) -> str:
    if value.denominator == 3:
        return f"{value.numerator}/3"
    return short(value)


def continuous(floor: Fraction, ceiling: Fraction, best: Fraction, better: str, title: str) -> SafeString:
    """A slope from no points to the most points between floor and ceiling."""
    span = (ceiling - floor) * Fraction(1, 5)
    low, high = floor - span, ceiling + span
    a, b = _x(floor, low, high), _x(ceiling, low, high)
    start, end = (EDGE - 2, 8) if better == "higher" else (8, EDGE - 2)
    places = f"{LEFT},{start} {a:g},{start} {b:g},{end} {RIGHT},{end}"
    lower, upper = (Fraction(0), best) if better == "higher" else (best, Fraction(0))
    return mark_safe(
        "".join(
            [
                _open(WIDTH, HEIGHT, title),
                _line("axis", LEFT, EDGE, RIGHT, EDGE),
                f'<polyline class="trend" fill="none" points="{places}"/>',
                _text(a, EDGE + 17, short(floor)),
                _text(b, EDGE + 17, short(ceiling)),
                _text(LEFT, start - 4 if start > 12 else 22, short(lower), "line-label", "start"),
                _text(RIGHT, end - 4 if end > 12 else 22, short(upper), "line-label", "end"),
                "</svg>",
            ]
        )
    )


def ratings_edge(
    ratings: Sequence[RatingClass], score_range: tuple[float, float] | None, title: str
) -> SafeString:
    """The rating words along a ruled edge, lowest score at the foot; a gap between classes is broken."""
    if not ratings or score_range is None:
        return mark_safe("")
    low, high = exact(score_range[0]), exact(score_range[1])
    height = max(150, 34 * len(ratings))
    top, foot, edge = 14, height - 14, 46

    def y(value: Fraction) -> float:
        return round(foot - (foot - top) * float((value - low) / (high - low)), 1)

    parts = [_open(220, height, title), _line("axis", edge, top, edge, foot)]
    ends = [high, *(r.at_least for r in ratings[:-1])]
    for rating, next_start in zip(ratings, ends, strict=True):
        upper = next_start if rating.at_most is None else rating.at_most
        parts.append(_line("axis", edge - 5, y(rating.at_least), edge + 5, y(rating.at_least)))
        parts.append(_text(edge - 9, y(rating.at_least) + 4, short(rating.at_least), anchor="end"))
        parts.append(
            _text(
                edge + 14, (y(rating.at_least) + y(upper)) / 2 + 4, told(rating.word), "line-label", "start"
            )
        )
        if rating.at_most is not None and upper < next_start:
            parts.append(_line("break", edge, y(upper), edge, y(next_start)))
    if all(abs(y(r.at_least) - y(high)) > 12 for r in ratings):
        parts.append(_text(edge - 9, y(high) + 4, short(high), anchor="end"))
    parts.append(_line("axis", edge - 5, top, edge + 5, top))
    return mark_safe("".join([*parts, "</svg>"]))
