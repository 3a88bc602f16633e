"""Colours, type and measures of the charts: one home, the same values as the page's style sheet.

Figures carry these plain colours so that they can be drawn anywhere, in a file or on a slide. In a
page the script replaces each by the style sheet's own, so that a dark room gets its own paper.
"""

from typing import Any

PAPER = "#fbfaf6"
INK = "#17222b"
STONE = "#5d6770"
WATER = "#0b5f7a"
CLAY = "#a84a23"
PLUM = "#6b3f69"
SAND = "#e9e2d3"
MIST = "#cfe0e6"

BOOK = "Iowan Old Style, Palatino Linotype, Palatino, URW Palladio L, P052, Georgia, serif"
WORK = "system-ui, -apple-system, Segoe UI, Roboto, Helvetica Neue, Arial, sans-serif"

SMALL = 11
TEXT = 12


class Figure(dict[str, Any]):
    """A plotly figure as a plain dict, ready for JSON, with its numbers as a table beside it."""

    def __init__(self, data: list[dict[str, Any]], layout: dict[str, Any], table: Any = None) -> None:
        super().__init__(data=data, layout=layout)
        self.table = table


def base_layout(title: str, subtitle: str, text: str, height: int) -> dict[str, Any]:
    """What every figure shares. ``meta.text`` is its text alternative."""
    return {
        "title": {
            "text": title,
            "subtitle": {"text": subtitle, "font": {"family": WORK, "size": TEXT, "color": STONE}},
            "font": {"family": BOOK, "size": 18, "color": INK},
            "x": 0,
            "xref": "paper",
            "xanchor": "left",
        },
        "meta": {"text": text},
        "height": height,
        "paper_bgcolor": PAPER,
        "plot_bgcolor": PAPER,
        "font": {"family": WORK, "size": TEXT, "color": INK},
        "showlegend": False,
        "hovermode": "closest",
        "hoverlabel": {"bgcolor": PAPER, "bordercolor": STONE, "font": {"color": INK, "family": WORK}},
        "dragmode": False,
    }


def axis(title: str = "", **more: Any) -> dict[str, Any]:
    """An axis as a ruled line with outside ticks and no grid."""
    return {
        "title": {"text": title, "font": {"size": TEXT, "color": INK}, "standoff": 8},
        "showgrid": False,
        "zeroline": False,
        "showline": True,
        "linecolor": STONE,
        "linewidth": 1,
        "ticks": "outside",
        "ticklen": 4,
        "tickcolor": STONE,
        "tickfont": {"size": SMALL, "color": INK},
        "fixedrange": True,
        "automargin": False,
        **more,
    }
