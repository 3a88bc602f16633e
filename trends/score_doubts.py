"""How firm one score is, and what moved it between two years: read from catches and stored results."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.safestring import SafeString, mark_safe

from surveys.language import told, worded, worded_n
from surveys.models import Station, Taxon
from surveys.queries import VisitRecord
from trends import svg
from trends.index import Method, explain
from trends.index.results import from_plain
from trends.index.sample import read_sample
from trends.models import VisitResult
from trends.number_words import rounded
from trends.scores import comparable_part, sample_of, traits_of
from trends.shelf import loaded_method, shelf
from trends.trait_lists import ServingList

WIDTH, HEIGHT, LEFT, RIGHT, EDGE = 340, 56, 14, 326, 28


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubts:
    """The score of a visit under other readings of its catch: the least, the most, and each one."""

    score: float
    low: float
    high: float
    readings: tuple[explain.WhatIf, ...]  # those that move the score or the rating, the greatest move first
    unmoved: tuple[explain.WhatIf, ...]
    not_scored: tuple[explain.WhatIf, ...]  # readings under which the method gives no score
    drawing: SafeString
    words: str


def doubts(record: VisitRecord, stratum: str, method: Method, *, open_to_all: bool = False) -> Doubts | None:
    """Score a visit again with each look-alike pair confused, and without its last pass.

    Parameters
    ----------
    open_to_all : leave out taxa whose places are withheld, for readers who may not know them

    Returns
    -------
    None where the visit has no score, or no other reading of it is at hand.
    """
    listed = shelf().traits_for(record.stratum, method=method)
    sample = read_sample(sample_of(comparable_part(record, method), stratum, listed))
    pairs, traits = _look_alikes(record, listed, open_to_all=open_to_all)
    base = explain.score_sample(method, sample)
    if base.score is None:
        return None
    readings = explain.sensitivity(method, sample, look_alikes=pairs, traits=traits)
    scored = [one.score for one in readings if one.score is not None]
    if not scored:
        return None
    moving = [one for one in readings if one.score is not None and (one.change or one.rating != base.rating)]
    score, low, high = float(base.score), min([base.score, *scored]), max([base.score, *scored])
    return Doubts(
        score=score,
        low=float(low),
        high=float(high),
        readings=tuple(sorted(moving, key=lambda one: -abs(one.change or 0.0))),
        unmoved=tuple(one for one in readings if one.score is not None and one not in moving),
        not_scored=tuple(one for one in readings if one.score is None),
        drawing=_drawing(score, float(low), float(high), method),
        words=_words(score, float(low), float(high), readings),
    )


def _look_alikes(
    record: VisitRecord, on_list: ServingList | None, *, open_to_all: bool
) -> tuple[list[tuple[str, str]], dict[str, dict[str, object]]]:
    """Pairs of which one was caught, each once, and the traits of the other. One query."""
    caught = {taxon.scientific_name: taxon for taxon in record.counts_by_taxon()}
    wanted = {
        frozenset((name, other))
        for name, taxon in caught.items()
        for other in taxon.look_alike_names
        if other != name
    }
    names = {name for pair in wanted for name in pair}
    listed = {t.scientific_name: t for t in Taxon.objects.filter(scientific_name__in=names)}
    if open_to_all:
        listed = {name: taxon for name, taxon in listed.items() if not taxon.sensitive_location}
    ordered = sorted(tuple(sorted(pair)) for pair in wanted)
    pairs = [(a, b) for a, b in ordered if a in listed and b in listed]
    return pairs, {name: traits_of(taxon, on_list) for name, taxon in listed.items()}


def _words(score: float, low: float, high: float, readings: Iterable[explain.WhatIf]) -> str:
    words = {one.rating for one in readings if one.score is not None and one.rating}
    if high - low < 1e-9:
        return worded("Under every reading below the score stays {score}.", score=rounded(score, 2))
    numbers = {"score": rounded(score, 2), "low": rounded(low, 2), "high": rounded(high, 2)}
    if len(words) < 2:
        return worded(
            "The score is {score}; under the readings below it lies between {low} and {high}.", **numbers
        )
    return worded(
        "The score is {score}; under the readings below it lies between {low} and {high}, and its rating is one "
        "of: {ratings}.",
        ratings=", ".join(told(word) for word in sorted(words)),
        **numbers,
    )


def _drawing(score: float, low: float, high: float, method: Method) -> SafeString:
    least, most = method.score_range or (min(0.0, low), high)

    def x(value: float) -> float:
        return LEFT + (RIGHT - LEFT) * (value - least) / ((most - least) or 1)

    width = max(x(high) - x(low), 2.0)
    title = worded(
        "Score {score} on the scale from {least} to {most}; other readings from {low} to {high}",
        score=f"{score:.2f}",
        least=f"{least:g}",
        most=f"{most:g}",
        low=f"{low:.2f}",
        high=f"{high:.2f}",
    )
    parts = [
        svg.open_picture(WIDTH, HEIGHT, title),
        f'<rect class="band" x="{x(low):.1f}" y="{EDGE - 8}" width="{width:.1f}" height="16"/>',
        svg.line("axis", LEFT, EDGE, RIGHT, EDGE),
        svg.shape("circle", "dot", x(score), EDGE, 5),
        svg.text("", LEFT, EDGE + 22, f"{least:g}"),
        svg.text("", RIGHT, EDGE + 22, f"{most:g}", "end"),
    ]
    return mark_safe(
        "".join(parts) + "</svg>"
    )  # the title is escaped where it is written, the rest are numbers


# --- between two years -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class YearChange:
    """Two scored visits of a station, and which metrics explain the difference."""

    years: tuple[int, ...]  # every year with a score, for choosing
    before: VisitResult
    after: VisitResult
    comparison: explain.Comparison
    words: str


def year_change(station: Station, first: int | None = None, last: int | None = None) -> YearChange | None:
    """Compare the latest scored visits of two years; without years, the two latest scored ones."""
    by_year: dict[int, VisitResult] = {}
    for row in (
        VisitResult.objects.filter(
            visit__station=station, visit__status="accepted", index_score__isnull=False
        )
        .select_related("visit")
        .order_by("visit__visit_date")
    ):
        by_year[row.visit.visit_date.year] = row
    years = tuple(by_year)
    if len(years) < 2:
        return None
    chosen = (first, last) if first in by_year and last in by_year and first != last else years[-2:]
    one, other = sorted(year for year in chosen if year is not None)
    before, after = by_year[one], by_year[other]
    method = loaded_method(after.index_method, after.index_version)
    comparison = explain.compare_years(
        from_plain(before.detail["index"]), from_plain(after.detail["index"]), method
    )
    return YearChange(
        years=years,
        before=before,
        after=after,
        comparison=comparison,
        words=_change_words(one, other, before, after, comparison),
    )


def _change_words(
    one: int, other: int, before: VisitResult, after: VisitResult, comparison: explain.Comparison
) -> str:
    low, high = before.index_score or 0.0, after.index_score or 0.0
    scores = f"{one}: {rounded(low, 2)}; {other}: {rounded(high, 2)}."
    if not comparison.comparable:
        why = worded(
            "The two cannot be taken apart metric by metric: {reason}.", reason=told(comparison.reason)
        )
        return f"{scores} {why}"
    moved = [m for m in comparison.metrics if m.score_part]
    if not moved:
        return f"{scores} {worded('No metric changed its points.')}"
    parts = ", ".join(f"{told(m.name)} ({_signed(m.score_part)})" for m in moved[:3])
    if len(moved) > 3:
        parts = worded_n("{parts} and {n} more", "{parts} and {n} more", len(moved) - 3, parts=parts)
    if not comparison.change:
        same = worded("The score is the same, but not its parts: {parts} cancel out.", parts=parts)
        return f"{scores} {same}"
    moving = worded(
        "The difference of {change} comes from {parts}.", change=_signed(comparison.change), parts=parts
    )
    return f"{scores} {moving}"


def _signed(value: float | None) -> str:
    number = rounded(abs(value or 0.0), 2)
    return f"−{number}" if (value or 0.0) < 0 else f"+{number}"
