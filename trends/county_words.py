"""The county's finding in one sentence: how many creeks go which way, and for how many nobody can tell."""

from collections.abc import Sequence

from surveys.language import marked, told, worded, worded_n
from trends.listed import ListedOutcome
from trends.outcomes import Outcome, Period
from trends.wording import BETTER, STEADY, WORSE, mark, verdict_word

_NUMBERS = (
    marked("none"),
    marked("one"),
    marked("two"),
    marked("three"),
    marked("four"),
    marked("five"),
    marked("six"),
    marked("seven"),
    marked("eight"),
    marked("nine"),
    marked("ten"),
    marked("eleven"),
    marked("twelve"),
)


def _count(n: int) -> str:
    return told(_NUMBERS[n]) if n < len(_NUMBERS) else str(n)


def _group(periods: Sequence[Period], *, staff: bool) -> str:
    """Creeks that go one way together, called as sure as the least sure of them."""
    least = min(periods, key=lambda p: p.certainty == "very_likely")
    number = _count(len(periods))
    if mark(least) == STEADY:
        return worded_n("{number} is steady", "{number} are steady", len(periods), number=number)
    word = verdict_word(least, staff=staff)
    return worded_n("{number} is {word}", "{number} are {word}", len(periods), number=number, word=word)


def county_finding(outcomes: Sequence[Outcome | ListedOutcome | None], *, staff: bool) -> str:
    """ "Of four creeks, one is very likely getting better, two are probably getting worse; for one we can't
    tell yet."

    A creek counts as going one way only where its direction is likely or better; every other creek is
    counted among those for which nobody can tell. A group is called as sure as its least sure creek.
    """
    if not outcomes:
        return worded("No creek is on record yet.")
    number = _count(len(outcomes))
    periods = [o.current for o in outcomes if o is not None and o.current is not None]
    groups = [[p for p in periods if mark(p) == shape] for shape in (BETTER, WORSE, STEADY)]
    parts = ", ".join(_group(group, staff=staff) for group in groups if group)
    if not parts:
        return worded_n(
            "We can't tell yet which way the creek goes.",
            "We can't tell yet which way any of {number} creeks goes.",
            len(outcomes),
            number=number,
        )
    unknown = len(outcomes) - sum(map(len, groups))
    if not unknown:
        return worded_n(
            "Of {number} creek, {parts}.",
            "Of {number} creeks, {parts}.",
            len(outcomes),
            number=number,
            parts=parts,
        )
    return worded_n(
        "Of {number} creek, {parts}; for {unknown} we can't tell yet.",
        "Of {number} creeks, {parts}; for {unknown} we can't tell yet.",
        len(outcomes),
        number=number,
        parts=parts,
        unknown=_count(unknown),
    )
