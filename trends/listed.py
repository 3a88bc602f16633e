"""Outcomes as lists of many places show them: stored beside the whole, a tenth as long.

A list shows words, numbers and a small line, so the stations' series, the gaps and the cautions are
left out; a page about one place reads the whole outcome.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from trends.outcomes import Outcome, YearValue, from_plain

LEFT_OUT = ("series", "middle", "gaps", "cautions")
# Visits left out are told to staff alone, "provisional" for as long as it is so: not in lists.
DEPENDS = frozenset({"C33", "C40"})


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedOutcome(Outcome):
    """An outcome without series, gaps and cautions; instead the extent of what they would draw."""

    highest: float | None = None
    first_drawn: int | None = None
    last_drawn: int | None = None
    # Why the first visit that gave no value gave none.
    first_reason: str = ""
    # Codes of the cautions that everybody may read whatever the day is.
    raised: tuple[str, ...] = ()


def summary_of(outcome: Outcome, plain: Mapping[str, Any]) -> dict[str, Any]:
    """What is stored for lists: the rest of the outcome, and its line as rows of four.

    ``plain`` is the outcome as plain data, which the caller has made already.
    """
    rest = {key: value for key, value in plain.items() if key not in LEFT_OUT}
    rest["highest"] = max(
        (y.value for one in outcome.series for y in one.years if y.value is not None), default=None
    )
    rest["first_drawn"] = outcome.middle[0].year if outcome.middle else None
    rest["last_drawn"] = outcome.middle[-1].year if outcome.middle else None
    rest["first_reason"] = next(
        (y.reason for one in outcome.series for y in one.years if y.visits and y.reason), ""
    )
    rest["raised"] = [c.code for c in outcome.cautions if c.code not in DEPENDS]
    return {"rest": rest, "line": [[y.year, y.value, y.reason, y.method] for y in outcome.middle]}


def listed_outcome(rest: Mapping[str, Any], line: Iterable[Sequence[Any]] = ()) -> ListedOutcome:
    """The reverse; without the line where only words and numbers are shown."""
    return from_plain(ListedOutcome, {**rest, "series": (), "middle": years_of(line)})


def years_of(line: Iterable[Sequence[Any]]) -> tuple[YearValue, ...]:
    return tuple(
        [YearValue(year=year, value=value, reason=why, method=method) for year, value, why, method in line]
    )


def caution_codes(outcome: Outcome | None) -> tuple[str, ...]:
    """Codes of the cautions that go with a number in a list of places, gravest first."""
    if isinstance(outcome, ListedOutcome):
        return outcome.raised
    return tuple(c.code for c in outcome.cautions if c.code not in DEPENDS) if outcome else ()
