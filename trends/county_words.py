"""The county's finding in one sentence: how many creeks go which way, and for how many nobody can tell."""

from collections.abc import Sequence

from trends.listed import ListedOutcome
from trends.outcomes import Outcome, Period
from trends.wording import BETTER, STEADY, WORSE, mark, verdict_word

_NUMBERS = (
    "none",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)


def _count(n: int) -> str:
    return _NUMBERS[n] if n < len(_NUMBERS) else str(n)


def _group(periods: Sequence[Period], *, staff: bool) -> str:
    """The word for creeks that go one way together: as sure as the least sure of them."""
    return verdict_word(min(periods, key=lambda p: p.certainty == "very_likely"), staff=staff)


def county_finding(outcomes: Sequence[Outcome | ListedOutcome | None], *, staff: bool) -> str:
    """ "Of four creeks, one is very likely getting better, two are probably getting worse; for one we can't
    tell yet."

    A creek counts as going one way only where its direction is likely or better; every other creek is
    counted among those for which nobody can tell. A group is called as sure as its least sure creek.
    """
    if not outcomes:
        return "No creek is on record yet."
    total = f"{_count(len(outcomes))} creek{'' if len(outcomes) == 1 else 's'}"
    periods = [o.current for o in outcomes if o is not None and o.current is not None]
    groups = [[p for p in periods if mark(p) == shape] for shape in (BETTER, WORSE, STEADY)]
    parts = [
        f"{_count(len(group))} {'is' if len(group) == 1 else 'are'} {_group(group, staff=staff)}"
        for group in groups
        if group
    ]
    if not parts:
        which = "the creek goes" if len(outcomes) == 1 else f"any of {total} goes"
        return f"We can't tell yet which way {which}."
    unknown = len(outcomes) - sum(map(len, groups))
    text = f"Of {total}, {', '.join(parts)}"
    return f"{text}; for {_count(unknown)} we can't tell yet." if unknown else f"{text}."
