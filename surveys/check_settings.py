"""The rules of the checks as the county set them: read for a run of the checks, changed with a reason, and told."""

import datetime
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db import transaction

from surveys.language import told, worded
from surveys.models import CheckRuleSetting
from surveys.rules import ALL, RULES, Limit, Rule, Rules
from surveys.rules.rule import SECTIONS, number_words


def rules_in_force() -> Rules:
    """One query. Settings of rules that are no longer there say nothing."""
    rows = list(CheckRuleSetting.objects.values_list("code", "limits", "off"))
    return Rules(
        limits={code: known for code, limits, _ in rows if (known := _known(code, limits))},
        off=frozenset(code for code, _, off in rows if off and code in RULES and RULES[code].may_be_off),
    )


def _known(code: str, limits: Mapping[str, Any]) -> dict[str, float]:
    names = {limit.name for limit in RULES[code].limits} if code in RULES else set()
    return {name: value for name, value in limits.items() if name in names}


def change_rule(rule: Rule, *, limits: Mapping[str, float], off: bool, reason: str, by: Any) -> bool:
    """Set limits of a rule and whether it is off; limits that are left out go back to their defaults.

    Returns
    -------
    bool : whether anything changed

    Raises
    ------
    ValidationError : the rule cannot be set so
    """
    changed = {name: value for name, value in limits.items() if value != rule.limit(name).default}
    with transaction.atomic():
        setting = CheckRuleSetting.objects.select_for_update().filter(code=rule.key).first()
        setting = setting or CheckRuleSetting(code=rule.key)
        if (setting.limits, setting.off) == (changed, off):
            return False
        setting.limits, setting.off, setting.reason, setting.by = changed, off, reason, by
        setting.full_clean()
        setting.save()
    return True


def _in_words(limit: Limit, value: float) -> str:
    """The value of a limit with its unit, in the reader's language."""
    return f"{number_words(value)} {told(limit.unit)}".strip()


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitShown:
    limit: Limit
    value: float

    @property
    def words(self) -> str:
        return _in_words(self.limit, self.value)

    @property
    def default_words(self) -> str:
        return _in_words(self.limit, self.limit.default)

    @property
    def changed(self) -> bool:
        return self.value != self.limit.default


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What was set at one time, in the reader's words."""

    words: str
    reason: str
    by: str
    at: datetime.datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleShown:
    """A rule with what holds now; ``history`` is what was set, the latest first."""

    rule: Rule
    limits: tuple[LimitShown, ...]
    off: bool
    history: tuple[Setting, ...]

    @property
    def changed(self) -> bool:
        return self.off or any(limit.changed for limit in self.limits)

    @property
    def last(self) -> Setting | None:
        return self.history[0] if self.history else None


def all_rules() -> list[tuple[str, list[RuleShown]]]:
    """Every rule by what it is about. Three queries."""
    shown = _shown(ALL)
    return [
        (section, of_section)
        for section in SECTIONS
        if (of_section := [one for one in shown if one.rule.about == section])
    ]


def one_rule(rule: Rule) -> RuleShown:
    return _shown([rule])[0]


def _shown(rules: Any) -> list[RuleShown]:
    force = rules_in_force()
    history = _history([rule.key for rule in rules])
    return [
        RuleShown(
            rule=rule,
            limits=tuple(
                LimitShown(limit=limit, value=force.limit(rule.key, limit.name)) for limit in rule.limits
            ),
            off=not force.on(rule.code, rule.column),
            history=tuple(history.get(rule.key, ())),
        )
        for rule in rules
    ]


def _history(keys: list[str]) -> dict[str, list[Setting]]:
    """The database keeps a row as it was before each change, so the row itself is the latest."""
    rows = list(CheckRuleSetting.objects.filter(code__in=keys).select_related("by"))
    kept = CheckRuleSetting.pgh_event_model.objects.filter(code__in=keys)  # type: ignore[attr-defined]
    rows += kept.select_related("by").order_by("-pgh_id")
    found: dict[str, list[Setting]] = defaultdict(list)
    for row in rows:
        words = _words(RULES[row.code], row.limits, row.off)
        found[row.code].append(
            Setting(words=words, reason=row.reason, by=str(row.by) if row.by else "", at=row.at)
        )
    return found


def _words(rule: Rule, limits: Mapping[str, float], off: bool) -> str:
    if off:
        return worded("switched off")
    set_so = [
        f"{told(limit.title)} {_in_words(limit, limits[limit.name])}"
        for limit in rule.limits
        if limit.name in limits
    ]
    return "; ".join(set_so) or worded("as proposed")
