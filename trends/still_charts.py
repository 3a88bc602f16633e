"""A figure as plain SVG, for as long as its script has not drawn it, where there is none, and on paper.

Draws what the figures of visits are made of: bars, marks, lines, level text at the axes and beside the
lines. A trajectory has a drawing of its own (``trends.sparklines``).
"""

from collections.abc import Callable, Iterator
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from trends import svg
from trends.chart_style import Figure
from trends.ticks import round_ticks

WIDTH = 760
# Below the plot: the years' or passes' names, and the name of the axis.
TICK, NAME = 18, 40

Place = Callable[[float], float]


def still_of(figure: Figure) -> SafeString:
    """The figure without its title, which the page shows above; every mark where the live chart has it.

    Parameters
    ----------
    figure : bars and scatters on one pair of linear axes, each with ``range``
    """
    layout = figure["layout"]
    margin = layout["margin"]
    above = margin["t"] - layout["meta"].get("title_height", 0)
    height = layout["height"] - layout["meta"].get("title_height", 0)
    left, right, floor = margin["l"], WIDTH - margin["r"], height - margin["b"]
    x = _placed(layout["xaxis"]["range"], left, right)
    y = _placed(layout["yaxis"]["range"], floor, above)
    parts = [svg.open_picture(WIDTH, height, layout["title"]["text"], css="spark plain")]
    for shape in layout.get("shapes", ()):
        from_x, to_x = x(shape["x0"]), x(shape["x1"])
        parts.append(_rect("gap", from_x, above, to_x - from_x, floor - above))
    parts += _axes(layout, x, y, left, right, above, floor)
    for trace in figure["data"]:
        parts += _bars(trace, x, y) if trace["type"] == "bar" else _marks(trace, x, y)
    for note in layout.get("annotations", ()):
        at = x(note["x"]) + note.get("xshift", 0)
        parts.append(svg.text("", at, y(note["y"]) + 4, note["text"]))
    return mark_safe("".join([*parts, "</svg>"]))


def _placed(ends: list[float], start: float, stop: float) -> Place:
    low, high = ends
    return lambda value: start + (stop - start) * (value - low) / ((high - low) or 1)


def _rect(css: str, x: float, y: float, width: float, height: float) -> str:
    return f'<rect class="{css}" x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}"/>'


def _ticks(axis: dict[str, Any]) -> list[tuple[float, str]]:
    if "tickvals" in axis:
        words = axis.get("ticktext") or [f"{value:g}" for value in axis["tickvals"]]
        return list(zip(axis["tickvals"], words, strict=True))
    low, high = sorted(axis["range"])
    return round_ticks(low, high)


def _axes(
    layout: dict[str, Any], x: Place, y: Place, left: float, right: float, above: float, floor: float
) -> Iterator[str]:
    yield svg.line("axis", left, floor, right, floor)
    if layout["yaxis"].get("showline", True):
        yield svg.line("axis", left, above, left, floor)
    ticks = _ticks(layout["xaxis"])
    # No two names of years in each other's way; the last is always named.
    step = -(-len(ticks) * 40 // max(int(right - left), 1))
    for i, (value, words) in enumerate(ticks):
        yield svg.line("year-tick", x(value), floor, x(value), floor + 4)
        if (len(ticks) - 1 - i) % step == 0:
            yield svg.text("", x(value), floor + TICK, words, "middle")
    for value, words in _ticks(layout["yaxis"]):
        yield svg.text("", left - 8, y(value) + 4, words, "end")
    yield svg.text("", (left + right) / 2, floor + NAME, _name(layout["xaxis"]), "middle")
    if name := _name(layout["yaxis"]):
        yield svg.text("", 2, max(12, above - 4), name)


def _name(axis: dict[str, Any]) -> str:
    title = axis.get("title") or {}
    return str(title.get("text", "") if isinstance(title, dict) else title)


def _bars(trace: dict[str, Any], x: Place, y: Place) -> Iterator[str]:
    half = trace["width"] / 2
    words = trace.get("text") or [""] * len(trace["x"])
    for at, value, said in zip(trace["x"], trace["y"], words, strict=True):
        yield _rect("bar", x(at - half), y(value), x(at + half) - x(at - half), y(0) - y(value))
        yield svg.text("", x(at), y(value) - 6, said, "middle")


def _marks(trace: dict[str, Any], x: Place, y: Place) -> Iterator[str]:
    points = [(x(a), y(b)) for a, b in zip(trace["x"], trace["y"], strict=True)]
    if "lines" in trace["mode"] and len(points) > 1:
        yield svg.polyline("station-line", points)
    marker = trace.get("marker", {})
    sizes = marker.get("size", 6)
    of_each = sizes if isinstance(sizes, list) else [sizes] * len(points)
    words = trace.get("text") or [""] * len(points)
    for (a, b), size, said in zip(points, of_each, words, strict=True):
        if marker.get("symbol") == "line-ew-open":
            yield svg.line("axis", a - size / 2, b, a + size / 2, b)
        else:
            yield svg.shape("circle", "station" if "lines" in trace["mode"] else "dot", a, b, size / 2, said)
