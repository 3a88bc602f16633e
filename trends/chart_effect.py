"""Pictures of a comparison before and after: the difference by year, and the effect by choice of after-years."""

from django.utils.safestring import SafeString, mark_safe

from surveys.language import told, worded
from trends import svg
from trends.chart_words import ABSENT, ChartTable
from trends.effect_words import SIDES
from trends.effects import Effect
from trends.number_words import format_value, rounded
from trends.ticks import round_ticks

WIDTH, LEFT, RIGHT = 760, 60, 26
TOP, UPPER, GAP, LOWER = 24, 112, 46, 112
ROW = 17
KEY = 24
# Width of a letter, on the safe side.
LETTER = 6.6


def difference_chart(effect: Effect) -> SafeString:
    """Above: stations concerned and controls by year. Below: their difference, with the mean of each side."""
    rows = [r for r in effect.rows if r.impact is not None or r.control is not None]
    if len(rows) < 2:
        return mark_safe("")
    first, last = effect.rows[0].year, effect.rows[-1].year
    with_control = any(r.control is not None for r in rows)
    height = TOP + UPPER + (GAP + LOWER if with_control else 0) + 30 + KEY

    def x(year: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * (year - first + 0.6) / (last - first + 1.2)

    floor = height - 30 - KEY
    parts = [svg.open_picture(WIDTH, height, worded("Before and after: {title}", title=effect.note.title))]
    half = (x(first + 1) - x(first)) / 2
    for r in effect.rows:
        if r.side == "during":
            parts.append(
                f'<rect class="gap" x="{x(r.year) - half:.1f}" y="{TOP}" width="{2 * half:.1f}" '
                f'height="{floor - TOP:.1f}"/>'
            )
            parts.append(svg.text("small", x(r.year), TOP - 4, worded("works"), "middle"))
    after = [r.year for r in effect.rows if r.side == "after"]
    if after:
        at = x(min(after)) - half
        parts.append(svg.line("break", at, TOP - 10, at, floor))
        # At the left edge the words stand clear of the axis' name.
        words_at = max(at + 4, 4 + LETTER * (len(effect.measure.axis_title) + 2))
        parts.append(
            svg.text("break-label", words_at, TOP - 12, worded("after, from {year}", year=str(min(after))))
        )
    both = [v for r in rows for v in (r.impact, r.control) if v is not None]
    y = _scale(_ends(both), TOP + 6, TOP + UPPER)
    parts += _axis(effect.measure.axis_title, _ends(both), y, TOP, TOP + UPPER)
    for name, form, css, values in (
        (worded("controls"), "square", "hollow", [(r.year, r.control) for r in rows]),
        (worded("stations concerned"), "circle", "dot", [(r.year, r.impact) for r in rows]),
    ):
        known = [(year, v) for year, v in values if v is not None]
        parts += [svg.shape(form, css, x(year), y(v), 4, f"{name}, {year}: {v:.2f}") for year, v in known]
    if with_control:
        parts += _lower(effect, x, TOP + UPPER + GAP, floor)
    else:
        parts += _means(effect, x, y)
    for year in range(first, last + 1):
        parts.append(svg.line("year-tick", x(year), floor, x(year), floor + 4))
        if (year - first) % (1 if last - first < 14 else 2) == 0:
            parts.append(svg.text("", x(year), floor + 17, str(year), "middle"))
    parts += _key(height - 8, with_control)
    return mark_safe("".join([*parts, "</svg>"]))


def _key(level: float, with_control: bool) -> list[str]:
    """What the marks stand for, beside each its words."""
    named = [("circle", "dot", worded("stations concerned"))]
    if with_control:
        named.append(("square", "hollow", worded("controls")))
    parts, at = [], LEFT + 6.0
    for form, css, words in named:
        parts += [svg.shape(form, css, at, level - 4, 4), svg.text("", at + 10, level, words)]
        at += 40 + LETTER * 1.5 * len(words)  # with room for the larger words of a slide
    return parts


def _ends(values: list[float]) -> tuple[float, float]:
    """The ends of an axis that leaves some room around its values."""
    room = 0.08 * (max(values) - min(values)) or 1.0
    return min(values) - room, max(values) + room


def _scale(ends: tuple[float, float], top: float, floor: float):  # type: ignore[no-untyped-def]
    low, high = ends
    return lambda value: floor - (floor - top) * (value - low) / (high - low)


def _axis(name: str, ends: tuple[float, float], y, top: float, floor: float) -> list[str]:  # type: ignore[no-untyped-def]
    parts = [
        svg.line("axis", LEFT, top, LEFT, floor),
        svg.line("axis", LEFT, floor, WIDTH - RIGHT, floor),
        svg.text("", 2, top - 10, name),
    ]
    for value, words in round_ticks(*ends, most=4):
        parts.append(svg.line("year-tick", LEFT - 4, y(value), LEFT, y(value)))
        parts.append(svg.text("", LEFT - 7, y(value) + 4, words, "end"))
    return parts


def _lower(effect: Effect, x, top: float, floor: float) -> list[str]:  # type: ignore[no-untyped-def]
    known = [r for r in effect.rows if r.difference is not None]
    values = [r.difference for r in known if r.difference is not None]
    if not values:
        return []
    ends = _ends([*values, 0.0])
    y = _scale(ends, top, floor)
    parts = _axis(worded("Difference, stations concerned minus controls"), ends, y, top, floor)
    parts.append(svg.line("edge", LEFT, y(0), WIDTH - RIGHT, y(0)))
    css = {"before": "hollow", "after": "dot", "during": "faint-dot"}
    for r in known:
        words = f"{r.year}, {told(SIDES[r.side])}: {r.difference:.2f}"
        parts.append(svg.shape("circle", css[r.side], x(r.year), y(r.difference), 4.5, words))
    return [*parts, *_means(effect, x, y)]


def _means(effect: Effect, x, y) -> list[str]:  # type: ignore[no-untyped-def]
    """The mean of each side as a level line over its own years; no line joins the two."""
    parts = []
    for side in ("before", "after"):
        own = [r for r in effect.rows if r.side == side and r.difference is not None]
        if len(own) > 1:
            mean = sum(r.difference or 0.0 for r in own) / len(own)
            parts.append(svg.line("trend", x(own[0].year) - 8, y(mean), x(own[-1].year) + 8, y(mean)))
    return parts


def windows_chart(effect: Effect) -> SafeString:
    """The effect and its limits for each run of three or more after-years; the whole run first."""
    result = effect.result
    if result is None or len(result.by_after_years) < 2:
        return mark_safe("")
    windows = sorted(result.by_after_years, key=lambda w: (-w.n_after, w.first_year))
    low = min(0.0, *(w.lower for w in windows))
    high = max(0.0, *(w.upper for w in windows))
    height = 40 + ROW * len(windows)
    left = 172  # the words keep clear of the lines on a slide, too, where they are larger

    def x(value: float) -> float:
        return left + (WIDTH - left - RIGHT) * (value - low) / ((high - low) or 1)

    parts = [
        svg.open_picture(WIDTH, height, worded("Effect for each choice of after-years")),
        svg.line("axis", x(0), 8, x(0), height - 26),
    ]
    for value, words in round_ticks(low, high):
        parts.append(svg.line("year-tick", x(value), height - 26, x(value), height - 22))
        parts.append(svg.text("", x(value), height - 8, words, "middle"))
    for i, w in enumerate(windows):
        level = 16 + ROW * i
        words = worded(
            "{first}–{last}, {n} years",
            first=f"{w.first_year:.0f}",
            last=f"{w.last_year:.0f}",
            n=str(w.n_after),
        )
        parts.append(svg.text("", left - 12, level + 4, words, "end"))
        parts.append(svg.line("interval", x(w.lower), level, x(w.upper), level))
        parts.append(svg.shape("circle", "dot", x(w.effect), level, 3.6, words))
    return mark_safe("".join([*parts, "</svg>"]))


def effect_table(effect: Effect) -> ChartTable:
    """The numbers of the picture."""

    def cell(value: float | None) -> str:
        return ABSENT if value is None else format_value(effect.measure, value, unit=False)

    rows = tuple(
        (
            str(r.year),
            told(SIDES[r.side]),
            cell(r.impact),
            cell(r.control),
            ABSENT if r.difference is None else rounded(r.difference, max(effect.measure.decimals, 1)),
        )
        for r in effect.rows
    )
    return ChartTable(
        worded("{measure} before and after, year by year", measure=effect.measure.name),
        (
            worded("Year"),
            worded("Side"),
            worded("Stations concerned"),
            worded("Controls"),
            worded("Difference"),
        ),
        rows,
    )
