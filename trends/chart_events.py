"""Years of drought and flood as hatched ground under a trajectory: as they were noted, nothing more."""

from collections.abc import Iterable
from typing import Any

from surveys.language import marked, told
from trends.chart_style import SMALL, STONE
from trends.models import NoteCategory
from trends.reading import NumberedNote

EVENTS = {NoteCategory.DROUGHT: marked("drought"), NoteCategory.FLOOD: marked("flood")}


def event_years(notes: Iterable[NumberedNote]) -> list[tuple[int, int, str]]:
    """First and last year and kind of each noted drought or flood, in order of time."""
    found = {
        (
            one.note.starts_on.year,
            (one.note.ends_on or one.note.starts_on).year,
            EVENTS[NoteCategory(one.note.category)],
        )
        for one in notes
        if one.note.category in EVENTS
    }
    return sorted(found)


def shade_events(figure: dict[str, Any], notes: Iterable[NumberedNote]) -> None:
    """Add the ground of each event year, and its word, to a trajectory figure."""
    layout = figure["layout"]
    if "range" not in layout.get("xaxis", {}):
        return
    start, end = layout["xaxis"]["range"]
    for first, last, word in event_years(notes):
        if last + 0.5 < start or first - 0.5 > end:
            continue
        layout.setdefault("shapes", []).insert(
            0,
            {
                "type": "rect",
                "name": "event",
                "layer": "below",
                "xref": "x",
                "yref": "y domain",
                "x0": first - 0.5,
                "x1": last + 0.5,
                "y0": 0,
                "y1": 1,
                "fillcolor": STONE,
                "opacity": 0.1,
                "line": {"width": 0},
            },
        )
        layout.setdefault("annotations", []).append(
            {
                "name": "event",
                "x": (first + last) / 2,
                "xref": "x",
                "y": 0.98,
                "yref": "y domain",
                "yanchor": "top",
                "text": told(word),
                "textangle": -90,
                "showarrow": False,
                "font": {"size": SMALL, "color": STONE},
            }
        )
