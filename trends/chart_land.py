"""The land strip under a trajectory: dated notes as numbered marks or spans, hard surface as a thin line.

A year's dot stands for a summer visit, so a date is drawn half a year to the left of its number:
March 2012 comes before the dot of 2012 and November after it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from surveys.language import worded
from trends.chart_style import CLAY, PAPER, SMALL, STONE

LANE_PX = 22
COVER_PX = 46
# Two marks need about this part of the width between them to be read apart.
_CLEARANCE = 0.035


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteMark:
    """A dated note as a mark: ``first`` and ``last`` in years with decimals, last None for one moment."""

    number: int
    title: str
    first: float
    last: float | None
    category: str
    precision: str


def place(first: float) -> float:
    return first - 0.5


def lanes(marks: Sequence[NoteMark], start: float, end: float) -> list[int]:
    """The lane of each mark, so that no two of a lane touch."""
    free: list[float] = []
    chosen = []
    gap = _CLEARANCE * max(end - start, 1)
    for mark in marks:
        left = min(max(place(mark.first), start), end)
        right = max(left, min(place(mark.last), end) if mark.last is not None else left)
        lane = next((i for i, taken in enumerate(free) if left > taken + gap), len(free))
        if lane == len(free):
            free.append(right)
        else:
            free[lane] = right
        chosen.append(lane)
    return chosen


def note_traces(marks: Sequence[NoteMark], start: float, end: float) -> tuple[list[dict[str, Any]], int]:
    """Spans and numbered marks on the axis of lanes (y2), and how many lanes there are."""
    marks = sorted(marks, key=lambda m: (m.first, m.number))
    if not marks:
        return [], 0
    rows = lanes(marks, start, end)
    spans: dict[str, list[Any]] = {"x": [], "y": []}
    loose: dict[str, list[Any]] = {"x": [], "y": []}
    dots: dict[str, list[Any]] = {"x": [], "y": [], "text": [], "hover": [], "fill": []}
    for mark, row in zip(marks, rows, strict=True):
        left = place(mark.first)
        right = place(mark.last) if mark.last is not None else None
        exact = mark.precision in ("day", "month")
        if right is not None and right >= start and left <= end and right > left:
            into = spans if exact else loose
            into["x"] += [round(max(left, start), 2), round(min(right, end), 2), None]
            into["y"] += [-row, -row, None]
        number = str(mark.number)
        # A note from outside the years shown stands at the edge, with an arrow towards its date.
        if left > end:
            number = f"{number}›"
        elif left < start:
            number = f"‹{number}"
        dots["x"].append(round(min(max(left, start), end), 2))
        dots["y"].append(-row)
        dots["text"].append(number)
        dots["hover"].append(f"{mark.number}. {mark.title} ({mark.category}), {_dates(mark)}")
        dots["fill"].append(CLAY if exact else PAPER)
    traces: list[dict[str, Any]] = []
    for line, dash in ((spans, "solid"), (loose, "dot")):
        if line["x"]:
            traces.append(
                {
                    "type": "scatter",
                    "name": "note spans",
                    "mode": "lines",
                    "yaxis": "y2",
                    **line,
                    "line": {"color": CLAY, "width": 4 if dash == "solid" else 2, "dash": dash},
                    "hoverinfo": "skip",
                }
            )
    traces.append(
        {
            "type": "scatter",
            "name": "notes",
            "mode": "markers+text",
            "yaxis": "y2",
            "x": dots["x"],
            "y": dots["y"],
            "text": dots["text"],
            "hovertext": dots["hover"],
            "hovertemplate": "%{hovertext}<extra></extra>",
            "textfont": {"size": SMALL, "color": [PAPER if f == CLAY else CLAY for f in dots["fill"]]},
            "marker": {"size": 18, "color": dots["fill"], "line": {"color": CLAY, "width": 1.5}},
            "cliponaxis": False,
        }
    )
    return traces, max(rows) + 1


def _dates(mark: NoteMark) -> str:
    first = int(mark.first)
    if mark.precision == "decade":
        return worded("{year}s", year=first)
    last = int(mark.last - 1e-6) if mark.last is not None else first
    return f"{first}" if last <= first else worded("{first} to {last}", first=first, last=last)


def cover_parts(
    cover: Sequence[tuple[int, float]], start: float, end: float
) -> tuple[list[dict[str, Any]], list[dict[str, Any]], float]:
    """The line of hard surface on its own axis from zero (y3), its two labels, and the axis' end."""
    inside = [(year, pct) for year, pct in sorted(cover) if start <= year <= end]
    if not inside:
        return [], [], 0.0
    trace = {
        "type": "scatter",
        "name": "hard surface",
        "mode": "lines+markers",
        "yaxis": "y3",
        "x": [year for year, _ in inside],
        "y": [round(pct, 1) for _, pct in inside],
        "line": {"color": CLAY, "width": 1.5},
        "marker": {"size": 4, "color": CLAY},
        "hovertemplate": worded("{percent} % hard surface in {year}", percent="%{y}", year="%{x}")
        + "<extra></extra>",
        "cliponaxis": False,
    }
    (first_year, first), (last_year, last) = inside[0], inside[-1]
    label = {"xref": "x", "showarrow": False, "font": {"size": SMALL, "color": CLAY}}
    # The line keeps to the lower part of its panel, so that the words above it stay clear.
    axis_end = 1.8 * max(*(pct for _, pct in inside), 1.0)
    name = {
        "text": worded("hard surface {percent} %", percent=f"{first:.0f}"),
        "xanchor": "left",
        "yref": "y3 domain",
        "y": 1,
        "yanchor": "top",
    }
    labels = [{**label, **name, "x": first_year}]
    if last_year > first_year:
        end_name = {
            "text": f"{last:.0f} %",
            "xanchor": "right",
            "yref": "y3",
            "yanchor": "bottom",
            "yshift": 2,
        }
        labels.append({**label, **end_name, "x": last_year, "y": round(last, 1)})
    return [trace], labels, round(axis_end, 1)


def strip_axes(lane_count: int, cover_end: float, domains: dict[str, list[float]]) -> dict[str, Any]:
    """The two small axes; neither carries numbers, for marks and line are labelled directly."""
    bare = {"visible": False, "fixedrange": True, "anchor": "x"}
    axes: dict[str, Any] = {}
    if lane_count:
        axes["yaxis2"] = {**bare, "domain": domains["notes"], "range": [-lane_count + 0.5, 0.5]}
    if cover_end:
        axes["yaxis3"] = {
            **bare,
            "domain": domains["cover"],
            "range": [0, cover_end],
            "visible": True,
            "showgrid": False,
            "zeroline": True,
            "zerolinecolor": STONE,
            "zerolinewidth": 1,
            "showticklabels": False,
            "ticks": "",
        }
    return axes
