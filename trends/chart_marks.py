"""Marks and words of the trajectory: gaps on sand, method breaks, the ruled edge, names at line ends."""

from collections.abc import Sequence
from typing import Any

from surveys.language import told, worded
from trends.break_words import break_label
from trends.chart_style import INK, PLUM, SAND, SMALL, STONE, TEXT, WATER
from trends.outcomes import Outcome, YearValue
from trends.wording import line_years

LABEL_PX = 13
# More names than this at the line ends would be a tangle; then one word stands for all of them.
MOST_NAMES = 7

Figure = dict[str, Any]


def _gap_runs(years: Sequence[YearValue]) -> list[tuple[int, int, str]]:
    """First year, last year and reason of neighbouring years that are missing for one reason."""
    found: list[tuple[int, int, str]] = []
    for one in years:
        if one.value is not None:
            continue
        if found and found[-1][1] == one.year - 1 and found[-1][2] == one.reason:
            found[-1] = (found[-1][0], one.year, one.reason)
        else:
            found.append((one.year, one.year, one.reason))
    return found


def gap_parts(years: Sequence[YearValue]) -> tuple[list[Figure], list[Figure]]:
    shapes, words = [], []
    for first, last, reason in _gap_runs(years):
        shapes.append(
            {
                "type": "rect",
                "name": "gap",
                "layer": "below",
                "xref": "x",
                "yref": "y domain",
                "x0": first - 0.5,
                "x1": last + 0.5,
                "y0": 0,
                "y1": 1,
                "fillcolor": SAND,
                "line": {"width": 0},
            }
        )
        why = told(reason) or worded("no accepted visit")
        words.append(
            {
                "name": "gap",
                "x": (first + last) / 2,
                "xref": "x",
                "y": 0.02,
                "yref": "y domain",
                "yanchor": "bottom",
                "text": why if len(why) <= 44 else f"{why[:43].rstrip()}…",
                "textangle": -90,
                "showarrow": False,
                "font": {"size": SMALL, "color": INK},
            }
        )
    return shapes, words


def break_parts(outcome: Outcome) -> tuple[list[Figure], list[Figure]]:
    shapes, words = [], []
    for year in outcome.breaks:
        shapes.append(
            {
                "type": "line",
                "name": "method break",
                "xref": "x",
                "yref": "y domain",
                "x0": year - 0.5,
                "x1": year - 0.5,
                "y0": 0,
                "y1": 1,
                "line": {"color": PLUM, "width": 2, "dash": "dash"},
            }
        )
        words.append(
            {
                "name": "method break",
                "x": year - 0.5,
                "xref": "x",
                "y": 1,
                "yref": "y domain",
                "yanchor": "bottom",
                "text": break_label(outcome, year),
                "showarrow": False,
                "font": {"size": SMALL, "color": PLUM},
            }
        )
    return shapes, words


def rating_parts(outcome: Outcome) -> tuple[list[Figure], list[Figure], int]:
    """The ratings as words on a ruled edge at the right, and the room they need."""
    if not outcome.ratings:
        return [], [], 16
    rule = {"type": "line", "name": "rating edge", "line": {"color": STONE, "width": 1}}
    shapes = [{**rule, "xref": "x domain", "yref": "y domain", "x0": 1, "x1": 1, "y0": 0, "y1": 1}]
    words = []
    limits = sorted({low for _, low, _ in outcome.ratings} | {high for _, _, high in outcome.ratings})
    for limit in limits:
        tick = {"xref": "paper", "x0": 1, "x1": 1.008, "yref": "y", "y0": limit, "y1": limit}
        shapes.append({**rule, **tick})
    for word, low, high in outcome.ratings:
        words.append(
            {
                "name": "rating",
                "x": 1,
                "xref": "x domain",
                "xanchor": "left",
                "xshift": 8,
                "y": round((low + high) / 2, 3),
                "yref": "y",
                "text": told(word),
                "showarrow": False,
                "font": {"size": SMALL, "color": STONE},
            }
        )
    return shapes, words, 16 + round(6.4 * max(len(told(w)) for w, _, _ in outcome.ratings))


def end_labels(
    outcome: Outcome, low: float, high: float, highlight: str | None, height_px: int
) -> list[Figure]:
    """Names at the line ends instead of a legend, moved apart so that none covers another."""
    if outcome.scope != "watershed":
        return []
    ends: list[tuple[float, str, str, str]] = []
    middle = [y for y in line_years(outcome) if y.value is not None]
    if middle:
        ends.append((middle[-1].value or 0.0, worded("median"), WATER, "always"))
    named = [s for s in outcome.series if s.present()]
    if len(named) <= MOST_NAMES:
        ends += [
            (s.present()[-1].value or 0.0, s.station, INK if s.station == highlight else STONE, "wide")
            for s in named
        ]
    elif named:
        last = max(named, key=lambda s: s.present()[-1].value or 0.0)
        ends.append((last.present()[-1].value or 0.0, "stations", STONE, "always"))
        ends += [
            (s.present()[-1].value or 0.0, s.station, INK, "always") for s in named if s.station == highlight
        ]
    per_px = (high - low) / height_px
    ends.sort(key=lambda e: (e[0], e[3] != "always"))
    spots: list[float] = []
    for value, *_ in ends:
        spots.append(max(value, spots[-1] + LABEL_PX * per_px) if spots else value)
    if spots and spots[-1] > high:
        ceiling = high
        for i in range(len(spots) - 1, -1, -1):
            spots[i] = min(spots[i], ceiling)
            ceiling = spots[i] - LABEL_PX * per_px
    year = line_years(outcome)[-1].year
    return [
        {
            "name": kind,
            "x": year,
            "xref": "x",
            "xanchor": "left",
            "xshift": 9,
            "y": round(spot, 3),
            "yref": "y",
            "text": words,
            "showarrow": False,
            "font": {"size": TEXT if colour == WATER else SMALL, "color": colour},
        }
        for (_, words, colour, kind), spot in zip(ends, spots, strict=True)
    ]
