"""The words and the table of a chart, made from the same outcome as its dots, so that they cannot differ."""

from dataclasses import dataclass
from itertools import pairwise

from trends.measures import BY_KEY, Measure
from trends.number_words import counted, format_value, listed, sentence
from trends.outcomes import Outcome, YearValue
from trends.wording import line_years, trend_sentences

ABSENT = "–"


@dataclass(frozen=True, slots=True)
class ChartTable:
    """The numbers of a chart in rows of text, ready to be shown."""

    caption: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def _cell(measure: Measure, value: float | None) -> str:
    return ABSENT if value is None else format_value(measure, value, unit=False)


def chart_table(outcome: Outcome) -> ChartTable:
    """Every year from first to last: the line's value, each station's, and why a value is missing."""
    measure = BY_KEY[outcome.measure]
    place = outcome.place_name or outcome.place
    by_station = [{y.year: y.value for y in s.years} for s in outcome.series]
    several = outcome.scope == "watershed"
    header = ["Year", "Median of stations" if several else measure.name]
    if several:
        header += [s.station for s in outcome.series]
    rows = []
    for one in line_years(outcome):
        row = [str(one.year), _cell(measure, one.value)]
        if several:
            row += [_cell(measure, years.get(one.year)) for years in by_station]
        rows.append((*row, _remark(outcome, one)))
    unit = f", {measure.unit}" if measure.unit else ""
    return ChartTable(f"{measure.name}{unit}: {place}, year by year", (*header, "Remark"), tuple(rows))


def _remark(outcome: Outcome, one: YearValue) -> str:
    told = [one.reason] if one.reason else []
    if one.year in outcome.breaks:
        told.insert(0, "first year of a new method")
    return "; ".join(told)


def subtitle(outcome: Outcome) -> str:
    """Measure, unit, stations, years used."""
    measure = BY_KEY[outcome.measure]
    parts = [measure.axis_title]
    if outcome.scope == "watershed":
        parts.append(counted(len(outcome.series), "station", "stations"))
    period = outcome.current
    if period is not None:
        years = counted(period.n, "comparable year", "comparable years")
        only = period.first_year == period.last_year
        span = str(period.first_year) if only else f"{period.first_year} to {period.last_year}"
        parts.append(f"{years}, {span}")
    return "; ".join(parts)


def made_by(outcome: Outcome) -> str:
    """How the fish were sampled and scored, for the caption of a chart that leaves its page."""
    names = list(dict.fromkeys(p.method_name or p.method for p in outcome.periods if p.method))
    told = [f"Sampled by: {listed(names)}."] if names else []
    if outcome.index_method:
        version = f", version {outcome.index_version}" if outcome.index_version else ""
        told.append(f"Index: {outcome.index_method.replace('_', ' ')}{version}.")
    return " ".join(told)


def text_alternative(outcome: Outcome, *, public: bool = True) -> str:
    """Kind, measure, place and years; the verdict; lowest, highest, latest, gaps."""
    measure = BY_KEY[outcome.measure]
    place = outcome.place_name or outcome.place
    present = [y for y in line_years(outcome) if y.value is not None]
    if not present:
        return f"Empty chart. {measure.name} at {place}: no comparable year yet."
    scale = outcome.scale or measure.full_scale
    span = f"from {present[0].year} to {present[-1].year}" if len(present) > 1 else f"in {present[0].year}"
    told = [
        "Dot chart.",
        f"{measure.name} {'in' if outcome.scope == 'watershed' else 'at'} {place}, "
        f"{counted(len(present), 'year', 'years')} {span}"
        + (f", scale {scale[0]:g} to {scale[1]:g}." if scale else "."),
        *trend_sentences(outcome, staff=not public),
    ]
    lowest = min(present, key=lambda y: (y.value or 0.0, y.year))
    highest = max(present, key=lambda y: (y.value or 0.0, -y.year))
    told.append(
        f"Lowest {_at(measure, lowest)}, highest {_at(measure, highest)}, latest {_at(measure, present[-1])}."
    )
    missing = [str(y.year) for y in line_years(outcome) if y.value is None]
    if missing:
        told.append(f"No value for {listed(missing)}.")
    return " ".join(told)


def _at(measure: Measure, one: YearValue) -> str:
    return f"{format_value(measure, one.value, unit=False)} in {one.year}"


def species_words(names_by_years: list[tuple[str, list[int | None]]], years: list[int]) -> tuple[str, str]:
    """Title and text alternative of the species chart."""
    visited = [i for i in range(len(years)) if any(counts[i] is not None for _, counts in names_by_years)]
    always = [name for name, counts in names_by_years if all(counts[i] for i in visited)]
    title = (
        f"{counted(len(names_by_years), 'kind of fish', 'kinds of fish')} caught in "
        f"{counted(len(visited), 'visited year', 'visited years')}; {len(always)} in every one of them"
    )
    latest = [name for name, counts in names_by_years if visited and counts[visited[-1]]]
    text = f"Dot matrix, a row for each kind of fish and a column for each year. {title}."
    if visited:
        text += (
            f" In {years[visited[-1]]}: {listed(latest)}."
            if latest
            else f" In {years[visited[-1]]}: no fish."
        )
    not_visited = [str(y) for i, y in enumerate(years) if i not in visited]
    if not_visited:
        text += f" Not visited: {listed(not_visited)}."
    return title, text


def depletion_words(totals: list[int]) -> tuple[str, str]:
    """Title and text alternative of the catch by pass."""
    each = listed([f"{total} in pass {i}" for i, total in enumerate(totals, start=1)])
    if len(totals) < 2:
        title = f"{each}; a single pass cannot show how many were missed"
    elif all(b < a for a, b in pairwise(totals)):
        title = f"The catch fell with each pass: {each}"
    else:
        title = f"The catch did not fall with each pass: {each}"
    return title, sentence(f"Bars, one for each pass. {title}")
