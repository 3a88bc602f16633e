"""Small trajectories drawn on the server as SVG: seen before, and without, any script.

They carry class names only; ``static/css/charts.css`` gives the colours, so that the pages' strict
content policy holds and a dark room gets its own. Dots are years; years without a value stay gaps.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from surveys.language import told, worded
from trends import wording
from trends.break_words import break_label
from trends.chart_parts import runs, trend_line, value_range
from trends.measures import BY_KEY
from trends.outcomes import Outcome, YearValue


@dataclass(frozen=True, slots=True)
class _Box:
    """Turns years and values into places on the picture."""

    left: float
    top: float
    width: float
    height: float
    first: int
    last: int
    low: float
    high: float

    def x(self, year: float) -> float:
        steps = max(self.last - self.first, 1)
        return round(self.left + self.width * (year - self.first) / steps, 1)

    def y(self, value: float) -> float:
        part = (value - self.low) / ((self.high - self.low) or 1)
        return round(self.top + self.height * (1 - part), 1)

    def points(self, values: Iterable[tuple[float, float]]) -> str:
        return " ".join(f"{self.x(a):g},{self.y(b):g}" for a, b in values)


def _open(width: int, height: int, title: str, *, named: bool) -> str:
    role = ' role="img"' if named else ' aria-hidden="true"'
    label = f"<title>{escape(title)}</title>" if named else ""
    return (
        f'<svg class="spark" viewBox="0 0 {width} {height}" width="{width}" height="{height}"{role}>{label}'
    )


def _line(css: str, x1: float, y1: float, x2: float, y2: float) -> str:
    return f'<line class="{css}" x1="{x1:g}" y1="{y1:g}" x2="{x2:g}" y2="{y2:g}"/>'


def _text(css: str, x: float, y: float, words: str, anchor: str = "start") -> str:
    name = f' class="{css}"' if css else ""
    return f'<text{name} x="{x:g}" y="{y:g}" text-anchor="{anchor}">{escape(words)}</text>'


def _gaps(box: _Box, years: Iterable[YearValue]) -> list[str]:
    half = box.width / max(box.last - box.first, 1) / 2
    size = f'y="{box.top:g}" width="{2 * half:.1f}" height="{box.height:g}"'
    return [f'<rect class="gap" x="{box.x(y.year) - half:g}" {size}/>' for y in years if y.value is None]


def _dots(
    box: _Box, years: tuple[YearValue, ...], outcome: Outcome, css: str, line: str, size: float
) -> list[str]:
    parts = []
    for run in runs(years, outcome.breaks):
        if len(run) > 1:
            parts.append(f'<polyline class="{line}" points="{box.points(run)}" fill="none"/>')
        parts += [f'<circle class="{css}" cx="{box.x(a):g}" cy="{box.y(b):g}" r="{size:g}"/>' for a, b in run]
    return parts


def _trends(box: _Box, outcome: Outcome) -> tuple[list[str], list[str]]:
    """The mist band, which lies under the dots, and the line, which lies over them."""
    bands, lines = [], []
    for period in outcome.periods:
        drawn = trend_line(outcome, period)
        if drawn is None:
            continue
        if drawn.upper:
            ring = [*drawn.upper, *reversed(drawn.lower)]
            clipped = [(a, min(max(b, box.low), box.high)) for a, b in ring]
            bands.append(f'<polygon class="band" points="{box.points(clipped)}"/>')
        css = "trend worse" if period.good is False else "trend"
        lines.append(f'<polyline class="{css}" points="{box.points(drawn.line)}" fill="none"/>')
    return bands, lines


def _nothing(width: int, height: int, title: str) -> SafeString:
    words = _text("", width / 2, height / 2, worded("no comparable year yet"), "middle")
    return mark_safe(f"{_open(width, height, title, named=True)}{words}</svg>")


def spark(
    outcome: Outcome,
    width: int = 320,
    height: int = 88,
    *,
    years_shown: tuple[int, int] | None = None,
    top: float | None = None,
    staff: bool = False,
) -> SafeString:
    """The trajectory at a glance: dots, gaps, method breaks, and a line where a direction is supported.

    ``years_shown`` and ``top`` give pictures that stand side by side the same years and value axis.
    """
    years = wording.line_years(outcome)
    title = wording.short_title(outcome, staff=staff)
    if not any(y.value is not None for y in years):
        return _nothing(width, height, title)
    low, high = value_range(outcome)
    first, last = years_shown or (years[0].year, years[-1].year)
    years = tuple(y for y in years if first <= y.year <= last)
    box = _Box(6, 6, width - 12, height - 28, first, last, low, max(high, top or high))
    bands, lines = _trends(box, outcome)
    floor = box.top + box.height
    parts = [
        _open(width, height, title, named=True),
        *_gaps(box, years),
        *bands,
        _line("axis", box.left, floor + 3, box.left + box.width, floor + 3),
        *(_line("year-tick", box.x(y), floor + 3, box.x(y), floor + 6) for y in range(first, last + 1)),
        *lines,
        *_dots(box, years, outcome, "dot", "line", 2.6),
        *(_line("break", box.x(b - 0.5), box.top, box.x(b - 0.5), floor + 3) for b in outcome.breaks),
        _text("", box.left, height - 3, str(box.first)),
        _text("", box.left + box.width, height - 3, str(box.last), "end") if box.last > box.first else "",
        "</svg>",
    ]
    return mark_safe("".join(parts))


def static_chart_svg(outcome: Outcome, width: int = 760, height: int = 380) -> SafeString:
    """The chart of the page before the live one takes its place, and where no script runs.

    Hidden from assistive technology by the chart component, whose sentence and table say the same.
    """
    years = wording.line_years(outcome)
    title = wording.short_title(outcome)
    if not any(y.value is not None for y in years):
        return _nothing(width, height, title)
    measure = BY_KEY[outcome.measure]
    low, high = value_range(outcome)
    box = _Box(52, 26, width - 152, height - 78, years[0].year, years[-1].year, low, high)
    floor, right = box.top + box.height + 6, box.left + box.width + 10
    bands, lines = _trends(box, outcome)
    parts = [_open(width, height, title, named=False), *_gaps(box, years), *bands]
    parts += [
        _line("axis", box.left - 10, box.top, box.left - 10, floor),
        _line("axis", box.left - 10, floor, right, floor),
        _text("", 2, 12, measure.axis_title),
    ]
    for value in (low, (low + high) / 2, high):
        parts.append(_line("year-tick", box.left - 14, box.y(value), box.left - 10, box.y(value)))
        words = (
            wording.format_value(measure, round(value, 2), unit=False) if measure.decimals else f"{value:g}"
        )
        parts.append(_text("", box.left - 17, box.y(value) + 4, words, "end"))
    for word, band_low, band_high in outcome.ratings:
        parts.append(_line("axis", right, box.y(band_low), right + 7, box.y(band_low)))
        parts.append(_text("", right + 10, (box.y(band_low) + box.y(band_high)) / 2 + 4, told(word)))
    if outcome.ratings:
        parts.append(_line("axis", right, box.top, right, floor))
    step = 1 if len(years) <= 14 else 2
    for i, one in enumerate(years):
        parts.append(_line("year-tick", box.x(one.year), floor, box.x(one.year), floor + 5))
        if i % step == 0:
            parts.append(_text("", box.x(one.year), floor + 18, str(one.year), "middle"))
    if outcome.scope == "watershed":
        for series in outcome.series:
            parts += _dots(box, series.years, outcome, "station", "station-line", 1.8)
    parts += lines
    parts += _dots(box, years, outcome, "dot", "line", 4)
    for year in outcome.breaks:
        parts.append(_line("break", box.x(year - 0.5), box.top, box.x(year - 0.5), floor))
        parts.append(_text("break-label", box.x(year - 0.5) + 4, box.top - 4, break_label(outcome, year)))
    return mark_safe("".join([*parts, "</svg>"]))
