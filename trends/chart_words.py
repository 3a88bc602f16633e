"""The words and the table of a chart, made from the same outcome as its dots, so that they cannot differ."""

from dataclasses import dataclass
from itertools import pairwise

from surveys.language import told, worded, worded_n
from trends.break_words import break_remark
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
    header = [worded("Year"), worded("Median of stations") if several else measure.name]
    if several:
        header += [s.station for s in outcome.series]
    rows = []
    for one in line_years(outcome):
        row = [str(one.year), _cell(measure, one.value)]
        if several:
            row += [_cell(measure, years.get(one.year)) for years in by_station]
        rows.append((*row, _remark(outcome, one)))
    name = f"{measure.name}, {measure.unit}" if measure.unit else measure.name
    caption = worded("{measure}: {place}, year by year", measure=name, place=place)
    return ChartTable(caption, (*header, worded("Remark")), tuple(rows))


def _remark(outcome: Outcome, one: YearValue) -> str:
    remarks = [told(one.reason)] if one.reason else []
    if one.year in outcome.breaks:
        remarks.insert(0, break_remark(outcome, one.year))
    return "; ".join(remarks)


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
        span = (
            str(period.first_year)
            if only
            else worded("{first} to {last}", first=period.first_year, last=period.last_year)
        )
        parts.append(f"{years}, {span}")
    return "; ".join(parts)


def made_by(*outcomes: Outcome) -> str:
    """How the fish were sampled and scored, for the caption of a picture that leaves its page."""
    names = list(dict.fromkeys(p.method_name or p.method for o in outcomes for p in o.periods if p.method))
    sentences = [worded("Sampled by: {methods}.", methods=listed(names))] if names else []
    for method, version in dict.fromkeys((o.index_method, o.index_version) for o in outcomes):
        if not method:
            continue
        index = method.replace("_", " ")
        sentences.append(
            worded("Index: {index}, version {version}.", index=index, version=version)
            if version
            else worded("Index: {index}.", index=index)
        )
    return " ".join(sentences)


def text_alternative(outcome: Outcome, *, public: bool = True) -> str:
    """Kind, measure, place and years; the verdict; lowest, highest, latest, gaps."""
    measure = BY_KEY[outcome.measure]
    place = outcome.place_name or outcome.place
    present = [y for y in line_years(outcome) if y.value is not None]
    if not present:
        return worded(
            "Empty chart. {measure} at {place}: no comparable year yet.", measure=measure.name, place=place
        )
    lowest = min(present, key=lambda y: (y.value or 0.0, y.year))
    highest = max(present, key=lambda y: (y.value or 0.0, -y.year))
    sentences = [
        worded("Dot chart."),
        _what_is_shown(outcome, present),
        *trend_sentences(outcome, staff=not public),
        worded(
            "Lowest {lowest}, highest {highest}, latest {latest}.",
            lowest=_at(measure, lowest),
            highest=_at(measure, highest),
            latest=_at(measure, present[-1]),
        ),
    ]
    missing = [str(y.year) for y in line_years(outcome) if y.value is None]
    if missing:
        sentences.append(worded("No value for {years}.", years=listed(missing)))
    return " ".join(sentences)


def _what_is_shown(outcome: Outcome, present: list[YearValue]) -> str:
    """Measure, place, years and scale."""
    measure = BY_KEY[outcome.measure]
    words = {"measure": measure.name, "place": outcome.place_name or outcome.place}
    where = (
        worded("{measure} in {place}", **words)
        if outcome.scope == "watershed"
        else worded("{measure} at {place}", **words)
    )
    shown = worded_n(
        "{where}, {n} year in {first}",
        "{where}, {n} years from {first} to {last}",
        len(present),
        where=where,
        first=present[0].year,
        last=present[-1].year,
    )
    scale = outcome.scale or measure.full_scale
    if not scale:
        return f"{shown}."
    return worded("{shown}, scale {low} to {high}.", shown=shown, low=f"{scale[0]:g}", high=f"{scale[1]:g}")


def _at(measure: Measure, one: YearValue) -> str:
    return worded("{value} in {year}", value=format_value(measure, one.value, unit=False), year=one.year)


def species_words(names_by_years: list[tuple[str, list[int | None]]], years: list[int]) -> tuple[str, str]:
    """Title and text alternative of the species chart."""
    visited = [i for i in range(len(years)) if any(counts[i] is not None for _, counts in names_by_years)]
    always = [name for name, counts in names_by_years if all(counts[i] for i in visited)]
    title = worded(
        "{kinds} caught in {years}; {always} in every one of them",
        kinds=counted(len(names_by_years), "kind of fish", "kinds of fish"),
        years=counted(len(visited), "visited year", "visited years"),
        always=len(always),
    )
    sentences = [
        worded("Dot matrix, a row for each kind of fish and a column for each year. {title}.", title=title)
    ]
    if visited:
        year = years[visited[-1]]
        latest = [name for name, counts in names_by_years if counts[visited[-1]]]
        sentences.append(
            worded("In {year}: {names}.", year=year, names=listed(latest))
            if latest
            else worded("In {year}: no fish.", year=year)
        )
    not_visited = [str(y) for i, y in enumerate(years) if i not in visited]
    if not_visited:
        sentences.append(worded("Not visited: {years}.", years=listed(not_visited)))
    return title, " ".join(sentences)


def depletion_words(totals: list[int]) -> tuple[str, str]:
    """Title and text alternative of the catch by pass."""
    each = listed(
        [worded("{total} in pass {number}", total=t, number=i) for i, t in enumerate(totals, start=1)]
    )
    if len(totals) < 2:
        title = worded("{catches}; a single pass cannot show how many were missed", catches=each)
    elif all(b < a for a, b in pairwise(totals)):
        title = worded("The catch fell with each pass: {catches}", catches=each)
    else:
        title = worded("The catch did not fall with each pass: {catches}", catches=each)
    return title, sentence(worded("Bars, one for each pass. {title}", title=title))
