"""Figures of what was caught: kinds of fish by year at a station, and the catch by pass of a visit."""

import math
from collections.abc import Sequence
from typing import Any

from surveys.language import worded, worded_n
from trends.chart_frames import MOST_ROWS
from trends.chart_style import INK, MIST, PAPER, SAND, SMALL, STONE, WATER, Figure, axis, base_layout
from trends.chart_words import ABSENT, ChartTable, depletion_words, species_words

TITLE_PX = 62
ROW_PX = 24
LARGEST_DOT = 20
# Width of a bar, in passes.
BAR = 0.55
# Kinds of fish named beside their lines; the others are in the table.
MOST_NAMES = 5

Species = Sequence[tuple[str, str, Sequence[int | None]]]


def _named(rows: Species) -> list[tuple[str, list[int | None]]]:
    return [(common or scientific, list(counts)) for scientific, common, counts in rows]


def species_by_year(rows: Species, years: Sequence[int]) -> Figure:
    """A row for each kind of fish, a column for each year; the area of a dot is the number caught.

    Parameters
    ----------
    rows : (scientific name, common name or "", counts), counts shape (years,): None in a year
        without a visit, 0 where the kind was looked for and not caught; those caught in most years first
    """
    named = _named(rows)
    years = list(years)
    title, text = species_words(named, years)
    most = max((c for _, counts in named for c in counts if c), default=1)
    caught: dict[str, list[Any]] = {"x": [], "y": [], "size": [], "text": []}
    absent: dict[str, list[Any]] = {"x": [], "y": [], "text": []}
    for row, (name, counts) in enumerate(named):
        for year, count in zip(years, counts, strict=True):
            if count is None:
                continue
            into = caught if count else absent
            into["x"].append(year)
            into["y"].append(row)
            into["text"].append(_caught_words(name, year, count))
            if count:
                caught["size"].append(round(max(4.0, LARGEST_DOT * math.sqrt(count / most)), 1))
    unvisited = [y for i, y in enumerate(years) if all(counts[i] is None for _, counts in named)]
    common = {
        "type": "scatter",
        "mode": "markers",
        "hovertemplate": "%{text}<extra></extra>",
        "cliponaxis": False,
    }
    data = [
        {
            **common,
            "name": worded("not caught"),
            **absent,
            "marker": {"symbol": "line-ew-open", "size": 5, "color": STONE},
        },
        {
            **common,
            "name": worded("caught"),
            "x": caught["x"],
            "y": caught["y"],
            "text": caught["text"],
            "marker": {"size": caught["size"], "color": WATER, "line": {"width": 0.5, "color": PAPER}},
        },
    ]
    left = 20 + round(6.3 * max((len(name) for name, _ in named), default=8))
    plot = ROW_PX * max(len(named), 1) + 10
    layout = base_layout(
        title,
        worded(
            "Area of a dot: fish caught, {most} at most; a dash: visited, none caught; sand: no visit",
            most=most,
        ),
        text,
        TITLE_PX + 12 + plot + 56,
    )
    layout["meta"]["title_height"] = TITLE_PX
    layout["meta"]["rows"] = len(named)
    layout["meta"]["first_rows"] = worded(
        "The {n} kinds caught in most years, of {all}.", n=MOST_ROWS, all=len(named)
    )
    layout |= {
        "margin": {"l": left, "r": 16, "t": TITLE_PX + 12, "b": 56},
        "xaxis": axis(
            worded("Year"),
            range=[years[0] - 0.6, years[-1] + 0.6] if years else [0, 1],
            tickmode="array",
            tickvals=years,
            ticktext=[str(y) for y in years],
            autotickangles=[0, 90],
        ),
        "yaxis": axis(
            "",
            range=[len(named) - 0.4, -0.6],
            tickmode="array",
            tickvals=list(range(len(named))),
            ticktext=[n for n, _ in named],
            ticks="",
            showline=False,
        ),
        "shapes": [
            {
                "type": "rect",
                "name": "gap",
                "layer": "below",
                "xref": "x",
                "yref": "y domain",
                "x0": y - 0.5,
                "x1": y + 0.5,
                "y0": 0,
                "y1": 1,
                "fillcolor": SAND,
                "line": {"width": 0},
            }
            for y in unvisited
        ],
    }
    return Figure(data, layout, species_table(rows, years))


def _caught_words(name: str, year: int, count: int) -> str:
    if not count:
        return worded("{name}, {year}: not caught", name=name, year=year)
    return worded_n("{name}, {year}: {n} caught", "{name}, {year}: {n} caught", count, name=name, year=year)


def species_table(rows: Species, years: Sequence[int]) -> ChartTable:
    """The counts of the species chart; a dash where there was no visit, 0 where none was caught."""
    body = [(name, *(ABSENT if c is None else str(c) for c in counts)) for name, counts in _named(rows)]
    caption = worded(
        "Fish caught by kind and year; {dash} means no visit, 0 means visited and not caught", dash=ABSENT
    )
    return ChartTable(caption, (worded("Kind of fish"), *(str(y) for y in years)), tuple(body))


def depletion(totals: Sequence[int], taxa: Sequence[tuple[str, Sequence[int]]]) -> Figure:
    """Bars of the whole catch pass by pass, and thin lines for the kinds caught most.

    Parameters
    ----------
    totals : all fish of each pass, shape (passes,)
    taxa : (name, counts), counts shape (passes,)
    """
    totals = list(totals)
    title, text = depletion_words(totals)
    passes = list(range(1, len(totals) + 1))
    shown = sorted(taxa, key=lambda t: -sum(t[1]))[:MOST_NAMES] if len(totals) > 1 else []
    data: list[dict[str, Any]] = [
        {
            "type": "bar",
            "name": worded("all fish"),
            "x": passes,
            "y": totals,
            "text": [str(t) for t in totals],
            "textposition": "outside",
            "textfont": {"color": INK},
            "width": BAR,
            "marker": {"color": MIST, "line": {"color": WATER, "width": 1.5}},
            "hovertemplate": worded("Pass {number}: {fish} fish", number="%{x}", fish="%{y}")
            + "<extra></extra>",
            "cliponaxis": False,
        }
    ]
    for name, counts in shown:
        data.append(
            {
                "type": "scatter",
                "name": name,
                "mode": "lines+markers",
                "x": passes,
                "y": list(counts),
                "line": {"color": STONE, "width": 1},
                "marker": {"color": STONE, "size": 5},
                "hovertemplate": worded(
                    "{name}, pass {number}: {fish}", name=name, number="%{x}", fish="%{y}"
                )
                + "<extra></extra>",
                "cliponaxis": False,
            }
        )
    top = max([*totals, 1]) * 1.15
    right = 16 + max((round(6.4 * len(name)) for name, _ in shown), default=0)
    subtitle = worded("Fish caught in each pass")
    if shown:
        subtitle = worded_n(
            "Fish caught in each pass; lines: the {n} kind caught most",
            "Fish caught in each pass; lines: the {n} kinds caught most",
            len(shown),
        )
    layout = base_layout(title, subtitle, text, 370)
    layout["meta"]["title_height"] = TITLE_PX
    layout |= {
        "margin": {"l": 54, "r": right, "t": TITLE_PX + 12, "b": 52},
        "bargap": 0.4,
        "xaxis": axis(worded("Pass"), tickmode="array", tickvals=passes, range=[0.5, len(totals) + 0.5]),
        "yaxis": axis(worded("Fish caught"), range=[0, top], tickformat=",d"),
        "annotations": _names(shown, len(totals), top),
    }
    return Figure(data, layout, depletion_table(totals, taxa))


def depletion_table(totals: Sequence[int], taxa: Sequence[tuple[str, Sequence[int]]]) -> ChartTable:
    """Every kind of fish by pass, with the sums at the foot."""
    header = (
        worded("Kind of fish"),
        *(worded("Pass {number}", number=i) for i in range(1, len(totals) + 1)),
        worded("All passes"),
    )
    rows = [(name, *(str(c) for c in counts), str(sum(counts))) for name, counts in taxa]
    rows.append((worded("All fish"), *(str(t) for t in totals), str(sum(totals))))
    return ChartTable(worded("Fish caught, by kind and pass"), header, tuple(rows))


def _names(shown: Sequence[tuple[str, Sequence[int]]], last: int, top: float) -> list[dict[str, Any]]:
    """Names at the right, in the order of the last pass, moved apart where lines end close together."""
    step = top * 14 / 240
    ends = sorted(((float(counts[-1]), name) for name, counts in shown), key=lambda e: e[0])
    spots = [value for value, _ in ends]
    for i in range(1, len(spots)):
        spots[i] = max(spots[i], spots[i - 1] + step)
    return [
        {
            "x": last + BAR / 2,
            "xref": "x",
            "xanchor": "left",
            "xshift": 8,
            "y": round(spot, 2),
            "yref": "y",
            "text": name,
            "showarrow": False,
            "font": {"size": SMALL, "color": STONE},
        }
        for (_, name), spot in zip(ends, spots, strict=True)
    ]
