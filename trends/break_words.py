"""What is said where a line is parted: the way of sampling changed, or a station was laid out anew."""

from collections.abc import Sequence
from itertools import pairwise

from surveys.language import worded
from trends.number_words import listed
from trends.outcomes import Outcome, way_of


def only_laid_out(outcome: Outcome, year: int) -> bool:
    """Whether the years up to ``year`` and from it on were sampled alike, on another layout of the station."""
    line = outcome.middle or (outcome.series[0].years if outcome.series else ())
    present = [y for y in line if y.value is not None and y.method]
    for before, after in pairwise(present):
        if after.year == year:
            return before.method != after.method and way_of(before.method) == way_of(after.method)
    # No year of the line is parted here: the periods alone tell.
    return len({way_of(p.method) for p in outcome.periods}) == 1 and len(outcome.periods) > 1


def changed_sentences(outcome: Outcome, years: Sequence[int]) -> list[str]:
    """One sentence for each kind of change, with its years."""
    anew = [str(year) for year in years if only_laid_out(outcome, year)]
    method = [str(year) for year in years if str(year) not in anew]
    sentences = [worded("The method changed in {years}.", years=listed(method))] if method else []
    if anew:
        sentences.append(worded("A station was laid out anew in {years}.", years=listed(anew)))
    return sentences


def no_comparison(outcome: Outcome, year: int) -> str:
    if only_laid_out(outcome, year):
        return worded(
            "A station was laid out anew in {year}. Values before and after it must not be compared.",
            year=year,
        )
    return worded("The method changed in {year}. Values before and after it must not be compared.", year=year)


def break_label(outcome: Outcome, year: int) -> str:
    """Beside the mark of the break in a chart."""
    if only_laid_out(outcome, year):
        return worded("{year}: new layout", year=year)
    return worded("{year}: new method", year=year)


def break_remark(outcome: Outcome, year: int) -> str:
    """In the year's row of the table beside a chart."""
    if only_laid_out(outcome, year):
        return worded("first year of a new layout of the station")
    return worded("first year of a new method")
