"""The trajectory on paper: black and white, no script, notes as numbered ticks under the years.

Says the same as the live chart: every year, gaps with their reason, the line only where a direction
is supported, no line across a change of method.
"""

from collections.abc import Sequence

from django.utils.safestring import SafeString, mark_safe

from surveys.language import told, worded
from trends import svg, wording
from trends.break_words import break_label
from trends.chart_events import event_years
from trends.chart_land import lanes, place
from trends.chart_parts import runs, trend_line, value_range
from trends.measures import BY_KEY
from trends.outcomes import Outcome
from trends.reading import NumberedNote, note_marks

WIDTH = 760
LEFT, RIGHT, TOP = 56, 92, 16
MAIN, LANE = 190, 19


def brief_trajectory(
    outcome: Outcome, notes: Sequence[NumberedNote] = (), *, staff: bool = True
) -> SafeString:
    """One measure through the years with its land strip; words alone where there is no year."""
    years = wording.line_years(outcome)
    measure = BY_KEY[outcome.measure]
    title = wording.short_title(outcome, staff=staff)
    if not any(y.value is not None for y in years):
        words = svg.text("", WIDTH / 2, 30, worded("no comparable year yet"), "middle")
        return mark_safe(f"{svg.open_picture(WIDTH, 60, title)}{words}</svg>")
    first, last = years[0].year, years[-1].year
    low, high = value_range(outcome)
    start, end = first - 0.6, last + 0.6
    floor = TOP + MAIN

    def x(year: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * (year - start) / (end - start)

    def y(value: float) -> float:
        return floor - MAIN * (min(max(value, low), high) - low) / ((high - low) or 1)

    marks = note_marks(notes)
    rows = lanes(marks, start, end) if marks else []
    height = floor + 26 + LANE * (max(rows, default=-1) + 1)
    parts = [svg.open_picture(WIDTH, height, title, css="spark paper")]
    half = (x(first + 1) - x(first)) / 2
    for from_year, to_year, word in event_years(notes):
        if to_year >= first and from_year <= last:
            left, right = x(max(from_year, first)) - half, x(min(to_year, last)) + half
            parts.append(
                f'<rect class="event" x="{left:.1f}" y="{TOP}" width="{right - left:.1f}" height="{MAIN}"/>'
            )
            parts.append(svg.text("small", (left + right) / 2, TOP + 10, told(word), "middle"))
    for one in years:
        if one.value is None:
            parts.append(
                f'<rect class="gap" x="{x(one.year) - half:.1f}" y="{TOP}" width="{2 * half:.1f}" height="{MAIN}"/>'
            )
    bands, lines = _trends(outcome, x, y)
    parts += [*bands, *_axes(outcome, measure.axis_title, low, high, x, y, floor)]
    step = 1 if last - first < 14 else 2
    for one in years:
        parts.append(svg.line("year-tick", x(one.year), floor, x(one.year), floor + 4))
        if (one.year - first) % step == 0:
            parts.append(svg.text("", x(one.year), floor + 16, str(one.year), "middle"))
    if outcome.scope == "watershed" and len(outcome.series) > 1:
        for series in outcome.series:
            for run in runs(series.years, outcome.breaks):
                parts += [svg.shape("circle", "station", x(a), y(b), 1.6) for a, b in run]
    for run in runs(years, outcome.breaks):
        if len(run) > 1:
            parts.append(svg.polyline("line", [(x(a), y(b)) for a, b in run]))
    parts += lines
    parts += [svg.shape("circle", "dot", x(v.year), y(v.value), 3.6) for v in years if v.value is not None]
    for year in outcome.breaks:
        parts.append(svg.line("break", x(year - 0.5), TOP, x(year - 0.5), floor))
        parts.append(svg.text("break-label", x(year - 0.5) + 3, TOP - 4, break_label(outcome, year)))
    for mark, row in zip(marks, rows, strict=True):
        at = min(max(x(place(mark.first)), LEFT), WIDTH - RIGHT)
        level = floor + 32 + LANE * row
        if mark.last is not None and place(mark.last) > start:
            parts.append(
                svg.line("note-span", at, level, min(max(x(place(mark.last)), LEFT), WIDTH - RIGHT), level)
            )
        parts.append(svg.shape("circle", "note-mark", at, level, 8))
        parts.append(svg.text("note-number-in", at, level + 4, str(mark.number), "middle"))
    return mark_safe("".join([*parts, "</svg>"]))


def _trends(outcome: Outcome, x, y) -> tuple[list[str], list[str]]:  # type: ignore[no-untyped-def]
    bands, lines = [], []
    for period in outcome.periods:
        drawn = trend_line(outcome, period)
        if drawn is None:
            continue
        if drawn.upper:
            ring = " ".join(f"{x(a):.1f},{y(b):.1f}" for a, b in [*drawn.upper, *reversed(drawn.lower)])
            bands.append(f'<polygon class="band" points="{ring}"/>')
        css = "trend worse" if period.good is False else "trend"
        lines.append(svg.polyline(css, [(x(a), y(b)) for a, b in drawn.line]))
    return bands, lines


def _axes(outcome: Outcome, name: str, low: float, high: float, x, y, floor: float) -> list[str]:  # type: ignore[no-untyped-def]
    right = WIDTH - RIGHT
    parts = [
        svg.line("axis", LEFT, TOP, LEFT, floor),
        svg.line("axis", LEFT, floor, right, floor),
        svg.text("", 2, 10, name),
    ]
    for value in (low, (low + high) / 2, high):
        parts.append(svg.line("year-tick", LEFT - 4, y(value), LEFT, y(value)))
        parts.append(svg.text("", LEFT - 7, y(value) + 4, f"{value:g}", "end"))
    for word, band_low, band_high in outcome.ratings:
        parts.append(svg.line("axis", right, y(band_low), right + 6, y(band_low)))
        parts.append(svg.text("", right + 9, (y(band_low) + y(band_high)) / 2 + 4, told(word)))
    if outcome.ratings:
        parts.append(svg.line("axis", right, TOP, right, floor))
    return parts
