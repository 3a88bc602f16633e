"""A chart of the pack as a picture of its own: an SVG as wide as a slide, with its title, style and caption inside.

It opens in a browser, a text program or a slide program without anything else, in black and white too: what the
colours say, marks, lines and words say as well.
"""

import textwrap
from collections.abc import Iterable

from django.utils.html import escape

from trends.chart_style import BOOK, CLAY, INK, MIST, PAPER, PLUM, SAND, STONE, WATER, WORK
from trends.outcomes import Outcome
from trends.sparklines import static_chart_svg

WIDTH, HEIGHT, EDGE = 1280, 720, 48  # px, a slide of 16 to 9
DRAWN = 760  # the width at which a still chart is drawn; it is made larger from there
# Class, size and letters a line for words that are about half as wide as high.
TITLE, SUBTITLE, CAPTION = ("title", 34, 66), ("subtitle", 21, 104), ("caption", 16, 132)

STYLE = f"""
text {{ font: 13px {WORK}; fill: {INK}; }}
.title {{ font: 600 {TITLE[1]}px {BOOK}; }}
.subtitle {{ font-size: {SUBTITLE[1]}px; fill: {STONE}; }}
.caption {{ font-size: {CAPTION[1]}px; fill: {STONE}; }}
.paper {{ fill: {PAPER}; }}
.axis {{ stroke: {STONE}; fill: none; }}
.year-tick {{ stroke: {STONE}; stroke-width: 0.75; }}
.gap {{ fill: {SAND}; }}
.band {{ fill: {MIST}; }}
.trend {{ stroke: {WATER}; stroke-width: 2; fill: none; }}
.trend.worse {{ stroke: {CLAY}; }}
.line {{ stroke: {WATER}; stroke-width: 1.2; fill: none; opacity: 0.6; }}
.dot {{ fill: {WATER}; }}
.station {{ fill: {STONE}; opacity: 0.55; }}
.station-line {{ stroke: {STONE}; stroke-width: 0.8; fill: none; opacity: 0.45; }}
.break {{ stroke: {PLUM}; stroke-width: 1.5; stroke-dasharray: 4 3; }}
.break-label {{ fill: {PLUM}; }}
"""


def picture_svg(outcome: Outcome, *, title: str, subtitle: str, words: str, caption: str) -> str:
    """The chart of an outcome as a file of its own.

    Parameters
    ----------
    title, subtitle : as they stand over the chart
    words : the text alternative, which goes in as the description
    caption : where it comes from, with years, method and day; lines may be parted by ``<br>``
    """
    head, at = _lines(TITLE, textwrap.wrap(title, TITLE[2]), EDGE)
    more, at = _lines(SUBTITLE, textwrap.wrap(subtitle, SUBTITLE[2]), at + 6)
    below = [line for part in caption.split("<br>") for line in textwrap.wrap(part, CAPTION[2])]
    foot = HEIGHT - EDGE / 2 - len(below) * CAPTION[1] * 1.35
    scale = (WIDTH - 2 * EDGE) / DRAWN
    chart = static_chart_svg(outcome, DRAWN, int((foot - at - 24) / scale))
    last, _ = _lines(CAPTION, below, foot)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" '
        f'role="img" aria-labelledby="t d"><title id="t">{escape(title)}</title><desc id="d">{escape(words)}</desc>'
        f'<style>{STYLE}</style><rect class="paper" width="{WIDTH}" height="{HEIGHT}"/>{head}{more}'
        f'<g transform="translate({EDGE} {at + 12:g}) scale({scale:.4f})">{chart}</g>{last}</svg>\n'
    )


def _lines(kind: tuple[str, int, int], lines: Iterable[str], top: float) -> tuple[str, float]:
    """Lines of words below one another, and where they end."""
    css, size, _ = kind
    made = []
    for line in lines:
        top += size * 1.35
        made.append(f'<text class="{css}" x="{EDGE}" y="{top - size * 0.3:.1f}">{escape(line)}</text>')
    return "".join(made), top
