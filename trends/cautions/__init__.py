"""Cautions the tool raises by itself, each with a stable code and the numbers that fired it.

The rules stand in ``record_length``, ``direction``, ``shape``, ``ways``, ``catches`` and ``pages``;
their limits in ``limits``. None can be switched off; a brief can answer one in writing.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from surveys.models import Station
from trends.cautions import catches, direction, pages, record_length, shape, ways
from trends.cautions.limits import *  # noqa: F403 - limits are read as cautions.NAME elsewhere
from trends.cautions.situation import Retest, Situation
from trends.measures import Measure
from trends.outcomes import Caution, Outcome
from trends.record import Record

RULES = (*record_length.RULES, *direction.RULES, *shape.RULES, *ways.RULES, *catches.RULES, *pages.RULES)
_ORDER = {"stop": 0, "warn": 1, "note": 2}


def raise_all(
    outcome: Outcome,
    measure: Measure,
    record: Record,
    stations: list[Station],
    *,
    mixed_index: bool = False,
    matters: float | None = None,
    class_width: float | None = None,
    retest: Retest | None = None,
) -> tuple[Caution, ...]:
    """Every caution that holds for this outcome, gravest first.

    Parameters
    ----------
    mixed_index : the stations' scores come from different index methods or versions
    matters : the change per decade that would matter, in the measure's unit
    class_width : points between two ratings of the index
    retest : the verdict's numbers once some years are left out
    """
    situation = Situation(
        outcome=outcome,
        measure=measure,
        record=record,
        stations=tuple(stations),
        mixed_index=mixed_index,
        matters=matters,
        class_width=class_width,
        retest=retest,
    )
    return in_order(one for rule in RULES for one in rule(situation))


def in_order(cautions: Iterable[Caution]) -> tuple[Caution, ...]:
    """Gravest first, then by code."""
    return tuple(sorted(cautions, key=lambda c: (_ORDER[c.level], c.code)))


def told_to_public(code: str, numbers: Mapping[str, Any], today: date) -> bool:
    """Whether everybody may read a caution: nothing may hint at visits that have not been accepted.

    C33 counts them. C40 is told while its season is open or not signed off, which anybody may know, and
    not because something waits.
    """
    if code == "C33":
        return False
    closes = numbers.get("closes_on")
    open_now = bool(closes) and today.isoformat() <= str(closes)
    return code != "C40" or open_now or bool(numbers.get("unsigned"))


def for_reader(cautions: Iterable[Caution], *, staff: bool, today: date) -> tuple[Caution, ...]:
    """The cautions this reader may see, gravest first."""
    return in_order(c for c in cautions if staff or told_to_public(c.code, c.numbers, today))


def still_hold(outcome: Outcome, today: date) -> Outcome:
    """The outcome without "provisional" (C40) once its season is over and nothing waits any more."""

    def lapsed(one: Caution) -> bool:
        closes = one.numbers.get("closes_on")
        return (
            one.code == "C40"
            and not one.numbers.get("waiting")
            and not one.numbers.get("unsigned")
            and closes is not None
            and today.isoformat() > str(closes)
        )

    if not any(lapsed(c) for c in outcome.cautions):
        return outcome
    return replace(outcome, cautions=tuple(c for c in outcome.cautions if not lapsed(c)))
