"""Charts as pictures of a given size: what changes from the page to a slide or a sheet of paper. Pure.

A frame is worked out here once, as plain data. The browser (``static/js/chart-frames.js``) and the export
on the server put it on a figure in the same few steps, so that both give the same picture.
"""

import copy
import datetime
import textwrap
from collections.abc import Sequence
from typing import Any

from surveys.language import day_words, worded
from trends.chart_style import PAPER, SMALL, STONE, WORK, Figure

# Text on a slide is at least 18 points when the slide is 13.33 inches wide: the smallest type of a chart
# (11 px) on a picture drawn 576 px wide is 11 * 1280 / 576 = 24.4 px = 18.3 pt.
SLIDE = (576, 324)
SLIDE_SCALE = 1920 / 576
# 6.5 inches, the text width of a letter page, at 300 dots an inch.
PRINT_WIDTH = 624
PRINT_SCALE = 300 / 96
SCREEN_WIDTH = 1100
SCREEN_SCALE = 2
WHITE = "#ffffff"

SIZES = ("screen", "slide", "print")
# A figure taller than this without its land strip is too much for a slide; one of rows shows its first.
TALLEST_SLIDE = 520
MOST_ROWS, SMALLER_DOT = 12, 0.6
TITLE_LINE, SUBTITLE_LINE, CAPTION_LINE = 23, 16, 15
# Width of a letter, on the safe side, for type of 18 and of 12 px: title, and everything else.
TITLE_LETTER, LETTER = 8.8, 6.7
YEARS_PX = 58
# More years than this do not stand side by side on a narrow picture; then every second is named.
MOST_YEARS = 11


def caption(figure: Figure, source: str, day: datetime.date) -> str:
    """Method, years, source and date: what a chart must carry when it leaves its page."""
    meta = figure["layout"]["meta"]
    return caption_words(meta.get("made", ""), meta.get("years"), source, day)


def caption_words(made: str, years: Sequence[int] | None, source: str, day: datetime.date) -> str:
    """The caption of any picture: ``made`` says the method, ``years`` are the first and the last."""
    parts = [made]
    if years:
        first, last = years
        parts.append(
            worded("Years {first} to {last}.", first=first, last=last)
            if first != last
            else worded("Year {year}.", year=first)
        )
    parts.append(worded("Source: {source}, CC BY 4.0.", source=source))
    parts.append(worded("Drawn on {day}.", day=day_words(day)))
    return " ".join(part for part in parts if part)


def plain_frames() -> dict[str, dict[str, Any]]:
    """Sheets for pictures that are no figures: width, height where it is fixed, dots to a pixel, paper."""
    return {
        "screen": {"width": SCREEN_WIDTH, "height": None, "scale": SCREEN_SCALE, "paper": PAPER},
        "slide": {"width": SLIDE[0], "height": SLIDE[1], "scale": SLIDE_SCALE, "paper": PAPER},
        "print": {"width": PRINT_WIDTH, "height": None, "scale": PRINT_SCALE, "paper": WHITE},
    }


def frames(figure: Figure, words: str) -> dict[str, dict[str, Any]]:
    """The frames this figure can stand in, by size; ``words`` is its caption."""
    return {size: made for size in SIZES if (made := _frame(figure, size, words)) is not None}


def _frame(figure: Figure, size: str, words: str) -> dict[str, Any] | None:
    layout = figure["layout"]
    margin = layout["margin"]
    strip = _strip_height(layout)
    slide = size == "slide"
    rows = layout["meta"].get("rows", 0) if slide else 0
    few = rows if rows > MOST_ROWS else 0
    if slide and not few and layout["height"] - strip > TALLEST_SLIDE:
        return None
    width = {"screen": SCREEN_WIDTH, "slide": SLIDE[0], "print": PRINT_WIDTH}[size]
    room = width - margin["l"] - 8
    title = textwrap.wrap(layout["title"]["text"], int(room / TITLE_LETTER)) or [""]
    under = layout["title"]["subtitle"]["text"]
    if few:
        under = f"{layout['meta']['first_rows']} {under}"
    subtitle = textwrap.wrap(under, int(room / LETTER)) or []
    letters = int((room + margin["l"] - 4) / (LETTER * SMALL / 12))
    below = textwrap.wrap(words, letters)
    if not slide and (key := layout["meta"].get("notes")):
        below = [*textwrap.wrap(worded("In the strip: {notes}.", notes="; ".join(key)), letters), *below]
    title_height = layout["meta"].get("title_height", 0)
    top = 12 + TITLE_LINE * len(title) + SUBTITLE_LINE * len(subtitle) + margin["t"] - title_height
    # Without its strip the figure has the years' labels at its foot.
    foot = YEARS_PX if slide and strip else margin["b"]
    bottom = foot + CAPTION_LINE * len(below) + 8
    grown = top - margin["t"] + bottom - margin["b"]
    return {
        "width": width,
        "height": SLIDE[1] if slide else layout["height"] + grown,
        "scale": {"screen": SCREEN_SCALE, "slide": SLIDE_SCALE, "print": PRINT_SCALE}[size],
        "title": "<br>".join(title),
        "subtitle": "<br>".join(subtitle),
        "caption": "<br>".join(below),
        "top": top,
        "bottom": bottom,
        "foot": foot,
        "paper": WHITE if size == "print" else PAPER,
        # One message on a slide: no strip, no reasons written into gaps, no names of single stations.
        "solo": slide,
        "drop": ["wide", "gap"] if slide else [],
        # Of a figure of many rows the first, with smaller dots; 0: all of them.
        "rows": MOST_ROWS if few else 0,
        "dot": SMALLER_DOT,
        "pad": 12 + TITLE_LINE * (len(title) - 1),
        "axis": {} if size == "screen" else _narrow_axis(layout),
    }


def _narrow_axis(layout: dict[str, Any]) -> dict[str, Any]:
    """A time axis for few pixels: more room after the last year for the line's name, fewer years named."""
    if "narrow" not in layout["meta"]:
        return {}
    axis = layout["xaxis"]
    start, end = axis["range"]
    # The page's own narrow range has 2.2 times the room; half as much again is enough here.
    made = {"range": [start, round(end + 0.5 * (layout["meta"]["narrow"]["range"][1] - end) / 1.2, 2)]}
    names = axis["ticktext"]
    if len(names) > MOST_YEARS:
        last = len(names) - 1
        made["ticktext"] = [name if (last - i) % 2 == 0 else "" for i, name in enumerate(names)]
    return made


def _strip_height(layout: dict[str, Any]) -> float:
    """Height of the land strip with the years' labels above it; 0 for a figure without one."""
    low = layout.get("yaxis", {}).get("domain", [0, 1])[0]
    if not low or not ({"yaxis2", "yaxis3"} & layout.keys()):
        return 0.0
    margin = layout["margin"]
    return low * (layout["height"] - margin["t"] - margin["b"]) - (YEARS_PX - margin["b"])


def framed(figure: Figure, frame: dict[str, Any]) -> dict[str, Any]:
    """The figure in a frame, as a new plain figure. The same steps as in the browser."""
    data = [part for part in figure["data"] if not (frame["solo"] and part.get("yaxis") in ("y2", "y3"))]
    layout = copy.deepcopy(figure["layout"])
    layout["width"], layout["height"] = frame["width"], frame["height"]
    layout["paper_bgcolor"] = layout["plot_bgcolor"] = frame["paper"]
    layout["title"] |= {"text": frame["title"], "y": 1, "yref": "container", "yanchor": "top"}
    layout["title"]["pad"] = {"t": frame["pad"]}
    layout["title"]["subtitle"]["text"] = frame["subtitle"]
    layout["margin"] |= {"t": frame["top"], "b": frame["bottom"]}
    layout["xaxis"] |= frame["axis"]
    if frame["rows"]:
        data = [_first_rows(part, frame["rows"], frame["dot"]) for part in data]
        layout["yaxis"] |= {"range": [frame["rows"] - 0.4, -0.6]}
        for name in ("tickvals", "ticktext"):
            layout["yaxis"][name] = layout["yaxis"][name][: frame["rows"]]
    words = [one for one in layout.get("annotations", []) if one.get("name") not in frame["drop"]]
    if frame["solo"]:
        words = [one for one in words if one.get("yref", "")[:2] not in ("y2", "y3")]
        layout.pop("yaxis2", None)
        layout.pop("yaxis3", None)
        layout["yaxis"]["domain"] = [0, 1]
        # The line under the title says what is measured.
        layout["yaxis"].setdefault("title", {})["text"] = ""
    words.append(
        {
            "name": "caption",
            "text": frame["caption"],
            "x": 0,
            "xref": "paper",
            "xanchor": "left",
            "xshift": 4 - layout["margin"]["l"],
            "y": 0,
            "yref": "paper",
            "yanchor": "top",
            "yshift": -frame["foot"],
            "align": "left",
            "showarrow": False,
            "font": {"family": WORK, "size": SMALL, "color": STONE},
        }
    )
    layout["annotations"] = words
    layout.pop("meta", None)
    return {"data": data, "layout": layout}


def _first_rows(part: dict[str, Any], rows: int, dot: float) -> dict[str, Any]:
    """The marks of the first rows, smaller, for the rows are closer together."""
    kept = [i for i, row in enumerate(part["y"]) if row < rows]
    made = {**part, **{name: [part[name][i] for i in kept] for name in ("x", "y", "text")}}
    size = part["marker"]["size"]
    sizes = [round(dot * size[i], 1) for i in kept] if isinstance(size, list) else size
    return {**made, "marker": {**part["marker"], "size": sizes}}
