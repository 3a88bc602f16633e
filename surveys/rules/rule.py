"""What a rule of the checks is. Pure code."""

from dataclasses import dataclass
from typing import Any, Final

from surveys.said import marked, said

HARD: Final = "hard"  # refuses
ASK: Final = "ask"  # keeps the value, but a person has to look
NOTE: Final = "note"  # says something, and asks for nothing

PROPOSAL: Final = marked("A proposal of this programme; no published source.")
RECORD: Final = marked("Follows from what the record means; it needs no source.")

# What a rule is about: the sections of the page of the rules, in this order.
VALUES: Final = marked("Single values")
CATCH: Final = marked("Fish and weights")
PASSES: Final = marked("Passes, times and gear")
EARLIER: Final = marked("Against earlier visits")
HANDING_IN: Final = marked("Visits, seasons and what a sheet must say")
FILES: Final = marked("Reading a file")
LISTS: Final = marked("Lists: stations, taxa, watersheds, land use")
SECTIONS: Final = (VALUES, CATCH, PASSES, EARLIER, HANDING_IN, FILES, LISTS)


def joined(first: str, second: str) -> str:
    """Two sentences, or groups of them, side by side; each of them is translated by itself."""
    return f"{first} {second}"


def number_words(value: float) -> str:
    return f"{value:,.10g}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A number that a rule goes by. ``least`` and ``most`` bound what it may be set to."""

    name: str
    title: str
    default: float
    least: float
    most: float
    unit: str = ""
    whole: bool = False

    @property
    def range_words(self) -> str:
        """What it may be set to."""
        least, most = number_words(self.least), number_words(self.most)
        if self.whole:
            return said("A whole number from {least} to {most}.", least=least, most=most)
        return said("From {least} to {most}.", least=least, most=most)

    def fault(self, value: float) -> str:
        """Why the limit cannot be set to this, or nothing."""
        if not self.least <= value <= self.most:
            return self.range_words
        if self.whole and value != int(value):
            return marked("A whole number.")
        return ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One rule of the checks.

    ``explanation`` says why it asks or refuses and what to do, ``source`` where its limit comes from.
    ``stays_on`` says why an asking rule cannot be switched off, where that is so.
    """

    code: str
    title: str
    explanation: str
    level: str
    about: str
    source: str = RECORD
    column: str = ""  # for the code ``unusual_value``: which column it asks about
    limits: tuple[Limit, ...] = ()
    stays_on: str = ""

    @property
    def key(self) -> str:
        return f"{self.code}.{self.column}" if self.column else self.code

    @property
    def shows_source(self) -> bool:
        """Whether it has a number or a practice that comes from somewhere."""
        return bool(self.limits) or self.source != RECORD

    @property
    def may_change(self) -> bool:
        """Whether anything of it can be set: only what asks, and only a limit or the rule as a whole."""
        return self.level == ASK and (bool(self.limits) or not self.stays_on)

    @property
    def may_be_off(self) -> bool:
        return self.level == ASK and not self.stays_on

    def limit(self, name: str) -> Limit:
        return next(limit for limit in self.limits if limit.name == name)

    def faults(self, limits: dict[str, float]) -> dict[str, str]:
        """Why these limits cannot be set, by the name of the limit."""
        found = {}
        for name, value in limits.items():
            known = next((limit for limit in self.limits if limit.name == name), None)
            fault = known.fault(value) if known else marked("The rule has no such limit.")
            if fault:
                found[name] = fault
        names = {limit.name for limit in self.limits}
        if not found and {"least", "most"} <= names:
            low, high = (limits.get(n, self.limit(n).default) for n in ("least", "most"))
            if low >= high:
                found["most"] = marked("The upper limit has to be above the lower one.")
        return found


def ask(code: str, about: str, title: str, explanation: str, *limits: Limit, **more: Any) -> Rule:
    """A rule that asks; without a source it is a proposal where it has limits."""
    more.setdefault("source", PROPOSAL if limits else RECORD)
    return Rule(
        code=code, about=about, title=title, explanation=explanation, level=ASK, limits=limits, **more
    )


def limit(
    name: str, title: str, default: float, least: float, most: float, unit: str = "", *, whole: bool = False
) -> Limit:
    """A limit of such a rule."""
    return Limit(name=name, title=title, default=default, least=least, most=most, unit=unit, whole=whole)
