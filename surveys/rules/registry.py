"""All rules by their key. Pure code."""

from typing import Final

from surveys.rules.asking import ASKING
from surveys.rules.asking_columns import ASKING_COLUMNS
from surveys.rules.refusing import REFUSING
from surveys.rules.refusing_files import REFUSING_FILES
from surveys.rules.rule import Rule
from surveys.rules.telling import TELLING

ALL: Final[tuple[Rule, ...]] = (*ASKING_COLUMNS, *ASKING, *REFUSING, *REFUSING_FILES, *TELLING)
RULES: Final[dict[str, Rule]] = {rule.key: rule for rule in ALL}


def key_of(code: str, column: str = "") -> str:
    """The key of the rule that a finding comes from: that of its column where the rule is one of many."""
    own = f"{code}.{column}"
    return own if own in RULES else code
