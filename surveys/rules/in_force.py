"""The limits in force and the rules that are off, as one plain value for a run of the checks. Pure code."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Protocol, TypeVar

from surveys.rules.registry import RULES, key_of


class _Said(Protocol):
    @property
    def code(self) -> str: ...
    @property
    def column(self) -> str: ...


Said = TypeVar("Said", bound=_Said)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """``limits`` holds only what differs from the default: key of the rule -> name of the limit -> value."""

    limits: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    off: frozenset[str] = frozenset()

    def limit(self, key: str, name: str) -> float:
        """The limit in force."""
        changed = self.limits.get(key, {})
        return changed[name] if name in changed else RULES[key].limit(name).default

    def bounds(self, column: str) -> tuple[float | None, float | None]:
        """Between which values a column is not asked about; None where that side is open."""
        rule = RULES.get(key_of("unusual_value", column))
        names = {limit.name for limit in rule.limits} if rule else set()
        low, high = (
            self.limit(rule.key, name) if rule and name in names else None for name in ("least", "most")
        )
        return low, high

    def on(self, code: str, column: str = "") -> bool:
        return key_of(code, column) not in self.off

    def raised(self, found: Iterable[Said]) -> list[Said]:
        """What was found, without what comes from a rule that is off."""
        return [one for one in found if self.on(one.code, one.column)]


AS_PROPOSED = Rules()
