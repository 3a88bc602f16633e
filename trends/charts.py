"""Outcomes as plotly figures: plain dicts, no database, no request, no Django.

The trajectory is the picture of the house. Stations are thin stone dots and lines, the watershed
bold water dots; a year without a value is a gap on sand with its reason; the slope line and its mist
band appear only where a direction is supported; a change of method is a plum rule that no line
crosses; the land strip runs below on the same years. Labels stand beside what they name.
"""

from collections.abc import Sequence
from typing import Any

from surveys.language import told, worded
from trends.chart_land import COVER_PX, LANE_PX, NoteMark, cover_parts, note_traces, strip_axes
from trends.chart_marks import break_parts, end_labels, gap_parts, rating_parts
from trends.chart_parts import Point, runs, trend_line, value_range
from trends.chart_style import CLAY, INK, MIST, STONE, WATER, Figure, axis, base_layout
from trends.chart_visits import depletion, species_by_year, species_table
from trends.chart_words import ChartTable, chart_table, made_by, subtitle, text_alternative
from trends.measures import BY_KEY
from trends.outcomes import Outcome, YearValue
from trends.wording import line_years, short_title

__all__ = [
    "ChartTable",
    "NoteMark",
    "chart_table",
    "depletion",
    "small_multiple",
    "species_by_year",
    "species_table",
    "text_alternative",
    "trajectory",
]

TITLE_PX = 62
MAIN_PX = 320
YEARS_PX = 58

Part = dict[str, Any]


def _rounded(measure: str, value: float) -> float:
    """As many decimals as the value bears, which keeps the figure small."""
    return round(value, max(BY_KEY[measure].decimals, 1) + 1)


def _joined(runs_: list[list[Point]], measure: str) -> tuple[list[float | None], list[float | None]]:
    """Runs one after the other with an empty point between, so that no line is drawn across."""
    x: list[float | None] = []
    y: list[float | None] = []
    for run in runs_:
        if x:
            x.append(None)
            y.append(None)
        x += [int(year) for year, _ in run]
        y += [_rounded(measure, value) for _, value in run]
    return x, y


def _stations_trace(outcome: Outcome, skip: str | None) -> list[Part]:
    """All stations in one trace: fewer traces draw faster."""
    x: list[float | None] = []
    y: list[float | None] = []
    names: list[str] = []
    for series in outcome.series:
        if series.station == skip:
            continue
        own_x, own_y = _joined(runs(series.years), outcome.measure)
        if x and own_x:
            x.append(None)
            y.append(None)
            names.append("")
        x += own_x
        y += own_y
        names += [series.station] * len(own_x)
    if not x:
        return []
    return [
        {
            "type": "scatter",
            "name": "stations",
            "mode": "lines+markers",
            "x": x,
            "y": y,
            "text": names,
            "hovertemplate": "%{text}, %{x}: %{y}<extra></extra>",
            "line": {"color": STONE, "width": 1},
            "marker": {"color": STONE, "size": 4},
            "opacity": 0.6,
            "connectgaps": False,
            "cliponaxis": False,
        }
    ]


def _bold_trace(
    name: str, years: Sequence[YearValue], outcome: Outcome, colour: str, breaks: Sequence[int]
) -> Part:
    x, y = _joined(runs(years, breaks), outcome.measure)
    remarks = {one.year: told(one.reason) for one in years}
    return {
        "type": "scatter",
        "name": name,
        "mode": "lines+markers",
        "x": x,
        "y": y,
        "text": ["" if year is None else remarks.get(int(year), "") for year in x],
        "hovertemplate": "%{x}: %{y}<br>%{text}<extra></extra>",
        "line": {"color": colour, "width": 1.5},
        "marker": {"color": colour, "size": 9},
        "connectgaps": False,
        "cliponaxis": False,
    }


def _trend_traces(outcome: Outcome) -> tuple[list[Part], list[Part]]:
    """Bands, which lie under the dots, and slope lines; for supported directions only."""
    bands, lines = [], []
    for period in outcome.periods:
        drawn = trend_line(outcome, period)
        if drawn is None:
            continue
        if drawn.upper:
            ring = [*drawn.upper, *reversed(drawn.lower)]
            bands.append(
                {
                    "type": "scatter",
                    "name": worded("{percent} % band", percent=f"{100 * period.confidence:.0f}"),
                    "mode": "lines",
                    "x": [round(a, 1) for a, _ in ring],
                    "y": [_rounded(outcome.measure, b) for _, b in ring],
                    "fill": "toself",
                    "fillcolor": MIST,
                    "line": {"width": 0, "color": MIST},
                    "hoverinfo": "skip",
                }
            )
        lines.append(
            {
                "type": "scatter",
                "name": "slope",
                "mode": "lines",
                "x": [a for a, _ in drawn.line],
                "y": [_rounded(outcome.measure, b) for _, b in drawn.line],
                "line": {"color": CLAY if period.good is False else WATER, "width": 3},
                "hoverinfo": "skip",
            }
        )
    return bands, lines


def trajectory(
    outcome: Outcome,
    *,
    notes: Sequence[NoteMark] = (),
    cover: Sequence[tuple[int, float]] = (),
    highlight_station: str | None = None,
    public: bool = True,
) -> Figure:
    """The trajectory of one measure at one place, with the land strip below it.

    Parameters
    ----------
    notes : dated notes, numbered as in the list beside the chart
    cover : (year, percent of hard surface), years without a figure left out
    highlight_station : code of a station drawn in ink among the others
    public : words for everybody; False gives the staff's

    Notes
    -----
    The band is that of the slope alone: see ``chart_parts.trend_line``.
    """
    measure = BY_KEY[outcome.measure]
    years = line_years(outcome)
    title = short_title(outcome, staff=not public)
    text = text_alternative(outcome, public=public)
    if not years:
        return _empty(title, text)
    first, last = years[0].year, years[-1].year
    low, high = value_range(outcome)
    room = max(1.0, 0.13 * (last - first)) if outcome.scope == "watershed" else 0.0
    start, end = first - 0.6, last + 0.6 + room
    # A phone has fewer pixels to the year, so the name at the line's end needs more years of room.
    narrow = {"l": 42, "range": [start, round(last + 0.6 + 2.2 * room, 2)]}
    bands, slopes = _trend_traces(outcome)
    stations = _stations_trace(outcome, highlight_station) if outcome.scope == "watershed" else []
    chosen = [
        _bold_trace(s.station, s.years, outcome, INK, ())
        for s in outcome.series
        if s.station == highlight_station and outcome.scope == "watershed"
    ]
    bold = _bold_trace(outcome.place_name or outcome.place, years, outcome, WATER, outcome.breaks)
    note_data, lane_count = note_traces(notes, start, last + 0.6)
    cover_data, cover_words, cover_end = cover_parts(cover, start, last + 0.6)
    gap_shapes, gap_words = gap_parts(years)
    break_shapes, break_words = break_parts(outcome)
    rating_shapes, rating_words, right = rating_parts(outcome)
    notes_px, cover_px = LANE_PX * lane_count, COVER_PX if cover_end else 0
    below = (YEARS_PX if notes_px or cover_px else 0) + notes_px + cover_px
    plot = MAIN_PX + below
    bottom = 16 if below else YEARS_PX
    domains = {
        "main": [below / plot, 1],
        "notes": [cover_px / plot, (cover_px + notes_px) / plot],
        "cover": [0, cover_px / plot],
    }
    layout = base_layout(title, subtitle(outcome), text, TITLE_PX + 24 + plot + bottom)
    layout["meta"] |= {
        "title_height": TITLE_PX,
        "narrow": narrow,
        "measure": outcome.measure,
        "unit": measure.unit,
        "years": [first, last],
        "made": made_by(outcome),
        "index": [outcome.index_method, outcome.index_version] if outcome.index_method else None,
        "notes": [f"{n.number} {n.title}" for n in sorted(notes, key=lambda n: n.number)],
    }
    layout |= {
        "margin": {"l": 54, "r": right, "t": TITLE_PX + 24, "b": bottom},
        "xaxis": axis(
            worded("Year"),
            anchor="y",
            range=[start, end],
            tickmode="array",
            tickvals=[y.year for y in years],
            ticktext=[str(y.year) for y in years],
            autotickangles=[0, 90],
        ),
        "yaxis": axis(
            measure.axis_title,
            domain=domains["main"],
            range=[low, high],
            tickformat=_ticks(low, high),
            nticks=6,
        ),
        **strip_axes(lane_count, cover_end, domains),
        "shapes": [*gap_shapes, *rating_shapes, *break_shapes],
        "annotations": [
            *gap_words,
            *break_words,
            *rating_words,
            *end_labels(outcome, low, high, highlight_station, MAIN_PX),
            *cover_words,
        ],
    }
    data = [*bands, *stations, *slopes, *chosen, bold, *note_data, *cover_data]
    return Figure(data, layout, chart_table(outcome))


def _ticks(low: float, high: float) -> str:
    return ",~r" if high - low < 10 else ",d"


def _empty(title: str, text: str) -> Figure:
    layout = base_layout(title, "", text, 160)
    layout["meta"]["title_height"] = TITLE_PX
    layout |= {
        "xaxis": {"visible": False},
        "yaxis": {"visible": False},
        "margin": {"l": 12, "r": 12, "t": TITLE_PX + 24, "b": 12},
        "annotations": [
            {
                "x": 0.5,
                "y": 0.5,
                "xref": "paper",
                "yref": "paper",
                "text": worded("No comparable year yet. Accepted visits fill this chart."),
                "showarrow": False,
                "font": {"color": STONE},
            }
        ],
    }
    return Figure([], layout)


def small_multiple(outcome: Outcome, *, years: tuple[int, int] | None = None, public: bool = True) -> Figure:
    """A small trajectory for pages that set places side by side: same years, same value axis, no strip."""
    figure = trajectory(outcome, public=public)
    layout = figure["layout"]
    if years is not None and "range" in layout["xaxis"]:
        first, last = years
        layout["xaxis"] |= {
            "range": [first - 0.6, last + 0.6],
            "tickvals": [first, last],
            "ticktext": [str(first), str(last)],
        }
    layout["height"] -= MAIN_PX - 130
    layout["annotations"] = [
        a for a in layout["annotations"] if a.get("name") not in ("gap", "wide", "always")
    ]
    return figure
