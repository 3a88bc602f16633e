"""The county's finding in one sentence: how many creeks go which way, and for how many nobody can tell."""

from collections.abc import Sequence

from trends.outcomes import Outcome
from trends.wording import BETTER, STEADY, WORSE, mark

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


def county_finding(outcomes: Sequence[Outcome | None], *, staff: bool) -> str:
    """ "Of four creeks, one is probably getting better, one is probably getting worse, one is steady; for
    one we can't tell yet."

    A creek counts as going one way only where its direction is likely or better; every other creek is
    counted among those for which nobody can tell.
    """
    if not outcomes:
        return "No creek is on record yet."
    better_word, worse_word = (
        ("likely improving", "likely worsening")
        if staff
        else (
            "probably getting better",
            "probably getting worse",
        )
    )
    marks = [mark(o.current) if o else "" for o in outcomes]
    known = [
        (marks.count(BETTER), better_word),
        (marks.count(WORSE), worse_word),
        (marks.count(STEADY), "steady"),
    ]
    parts = [f"{_count(n)} {'is' if n == 1 else 'are'} {word}" for n, word in known if n]
    unknown = len(outcomes) - sum(n for n, _ in known)
    total = f"{_count(len(outcomes))} creek{'' if len(outcomes) == 1 else 's'}"
    if not parts:
        return f"We can't tell yet for any of {total} which way {'it' if len(outcomes) == 1 else 'they'} go."
    text = f"Of {total}, {', '.join(parts)}"
    return f"{text}; for {_count(unknown)} we can't tell yet." if unknown else f"{text}."
