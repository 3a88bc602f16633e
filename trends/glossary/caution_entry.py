"""What the methods page holds of one caution."""

from dataclasses import dataclass

from surveys.said import marked
from trends.outcomes import Level

OWN = marked("The limit is a choice made here; no published one was found.")
RULE = marked("A rule without a limit.")


@dataclass(frozen=True, slots=True)
class CautionEntry:
    """A caution's code, grade and rule. ``standing`` says where its limit comes from."""

    code: str
    level: Level
    title: str
    fires: str
    why: str
    standing: str = RULE


def percent(part: float) -> str:
    return f"{100 * part:.0f} %"


def fraction(part: float) -> str:
    return {1 / 3: marked("a third"), 1 / 5: marked("a fifth")}.get(part, percent(part))
