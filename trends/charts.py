"""Outcomes as plotly figures: plain dicts, no database, no request, no Django.

The trajectory is the picture of the house. Stations are thin stone dots and lines, the watershed
bold water dots; a year without a value is a gap on sand with its reason; the slope line and its mist
band appear only where a direction is supported; a change of method is a plum rule that no line
crosses; the land strip runs below on the same years. Labels stand beside what they name.
"""

from collections.abc import Sequence
from typing import Any

from trends.chart_land import COVER_PX, LANE_PX, NoteMark, cover_parts, note_traces, strip_axes
from trends.chart_parts import Point, runs, trend_line, value_range
from trends.chart_style import CLAY, INK, MIST, PLUM, SAND, SMALL, STONE, TEXT, WATER, axis, base_layout
from trends.chart_visits import depletion, species_by_year, species_table
from trends.chart_words import ChartTable, chart_table, subtitle, text_alternative
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
LABEL_PX = 13
# More names than this at the line ends would be a tangle; then one word stands for all of them.
MOST_NAMES = 7

Figure = dict[str, Any]


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


def _stations_trace(outcome: Outcome, skip: str | None) -> list[Figure]:
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
) -> Figure:
    x, y = _joined(runs(years, breaks), outcome.measure)
    remarks = {one.year: one.reason for one in years}
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


def _trend_traces(outcome: Outcome) -> tuple[list[Figure], list[Figure]]:
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
                    "name": f"{100 * period.confidence:.0f} % band",
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


def _gap_parts(years: Sequence[YearValue]) -> tuple[list[Figure], list[Figure]]:
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
        told = reason or "no accepted visit"
        words.append(
            {
                "name": "gap",
                "x": (first + last) / 2,
                "xref": "x",
                "y": 0.02,
                "yref": "y domain",
                "yanchor": "bottom",
                "text": told if len(told) <= 44 else f"{told[:43].rstrip()}…",
                "textangle": -90,
                "showarrow": False,
                "font": {"size": SMALL, "color": INK},
            }
        )
    return shapes, words


def _break_parts(breaks: Sequence[int]) -> tuple[list[Figure], list[Figure]]:
    shapes, words = [], []
    for year in breaks:
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
                "text": f"{year}: new method",
                "showarrow": False,
                "font": {"size": SMALL, "color": PLUM},
            }
        )
    return shapes, words


def _rating_parts(outcome: Outcome, edge: float) -> tuple[list[Figure], list[Figure], int]:
    """The ratings as words on a ruled edge at the right, and the room they need."""
    if not outcome.ratings:
        return [], [], 16
    rule = {"type": "line", "name": "rating edge", "line": {"color": STONE, "width": 1}}
    shapes = [{**rule, "xref": "x domain", "yref": "y domain", "x0": 1, "x1": 1, "y0": 0, "y1": 1}]
    words = []
    limits = sorted({low for _, low, _ in outcome.ratings} | {high for _, _, high in outcome.ratings})
    for limit in limits:
        pixels = {"xref": "x", "xsizemode": "pixel", "xanchor": edge, "x0": 0, "x1": 6}
        shapes.append({**rule, **pixels, "yref": "y", "y0": limit, "y1": limit})
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
                "text": word,
                "showarrow": False,
                "font": {"size": SMALL, "color": STONE},
            }
        )
    return shapes, words, 16 + round(6.4 * max(len(w) for w, _, _ in outcome.ratings))


def _end_labels(outcome: Outcome, low: float, high: float, highlight: str | None) -> list[Figure]:
    """Names at the line ends instead of a legend, moved apart so that none covers another."""
    if outcome.scope != "watershed":
        return []
    ends: list[tuple[float, str, str, str]] = []
    middle = [y for y in line_years(outcome) if y.value is not None]
    if middle:
        ends.append((middle[-1].value or 0.0, "median", WATER, "always"))
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
    per_px = (high - low) / MAIN_PX
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
    gap_shapes, gap_words = _gap_parts(years)
    break_shapes, break_words = _break_parts(outcome.breaks)
    rating_shapes, rating_words, right = _rating_parts(outcome, end)
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
    layout["meta"] |= {"title_height": TITLE_PX, "narrow": {"l": 42}}
    layout |= {
        "margin": {"l": 54, "r": right, "t": TITLE_PX + 24, "b": bottom},
        "xaxis": axis(
            "Year",
            anchor="y",
            range=[start, end],
            tickmode="array",
            tickvals=[y.year for y in years],
            ticktext=[str(y.year) for y in years],
            autotickangles=[0, 90],
        ),
        "yaxis": axis(
            measure.axis_title, domain=domains["main"], range=[low, high], tickformat=_ticks(low, high)
        ),
        **strip_axes(lane_count, cover_end, domains),
        "shapes": [*gap_shapes, *rating_shapes, *break_shapes],
        "annotations": [
            *gap_words,
            *break_words,
            *rating_words,
            *_end_labels(outcome, low, high, highlight_station),
            *cover_words,
        ],
    }
    data = [*bands, *stations, *chosen, bold, *slopes, *note_data, *cover_data]
    return {"data": data, "layout": layout}


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
                "text": "No comparable year yet. Accepted visits fill this chart.",
                "showarrow": False,
                "font": {"color": STONE},
            }
        ],
    }
    return {"data": [], "layout": layout}


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
