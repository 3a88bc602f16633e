"""Which taxa a metric means: the ``select`` clauses of a method file, compiled to yes, no or not known."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from surveys.said import AND, OR, Say, linked, marked, said
from trends.index import taxa
from trends.index.traits import Traits

Choice = Callable[[Traits], bool | None]


def everything(traits: Traits) -> bool | None:
    """Choose every traits."""
    return True


def compile_selector(clause: Mapping[str, Any] | None) -> Choice:
    """Turn a ``select`` clause into a function of sample and traits.

    All keys of a clause must hold together. ``any_of`` holds where one of its clauses holds, ``not``
    where its clause does not. A trait that is not known gives None, unless another key already settles it.
    """
    if not clause:
        return everything
    parts = [_part(key, value) for key, value in clause.items()]
    return parts[0] if len(parts) == 1 else _all(parts)


def traits_named(clause: Mapping[str, Any] | None) -> frozenset[str]:
    """Return the keys a clause looks at, however deep: what must be known of a fish to place it."""
    found: set[str] = set()
    for key, value in (clause or {}).items():
        if key == "any_of":
            found.update(*(traits_named(part) for part in value))
        elif key == "not":
            found |= traits_named(value)
        else:
            found.add(key)
    return frozenset(found)


def describe(clause: Mapping[str, Any] | None, say: Say = said) -> str:
    """Say a clause in words, for reasons and pages."""
    if not clause:
        return say(marked("all fish"))
    return linked(say, AND, [_words(key, value, say) for key, value in clause.items()])


def _listed(value: Any) -> list[Any]:
    return list(value) if isinstance(value, list | tuple) else [value]


def _words(key: str, value: Any, say: Say) -> str:
    if key == "any_of":
        return f"({linked(say, OR, [describe(part, say) for part in value])})"
    if key == "not":
        return say(marked("not {what}"), what=describe(value, say))
    if isinstance(value, bool):
        name = say(key.replace("_", " "))
        return name if value else say(marked("not {what}"), what=name)
    names = [say(str(part).replace("_", " ")) for part in _listed(value)]
    listed = linked(say, OR, names)
    if key in ("tolerance", "feeding", "group", "species"):
        return listed
    return say(marked("{name} {condition}"), name=say(key), condition=listed)


def _part(key: str, value: Any) -> Choice:
    if key == "any_of":
        return _any([compile_selector(part) for part in value])
    if key == "not":
        return _not(compile_selector(value))
    if key == "species":
        names = frozenset(taxa.name_key(name) for name in _listed(value))
        return lambda traits: traits.key in names
    if key == "genus":
        genera = frozenset(str(genus).casefold() for genus in _listed(value))
        return lambda traits: traits.genus in genera
    if key == "family":
        families = [taxa.family_word(str(family)) for family in _listed(value)]
        return _any([_family(family) for family in families])
    if key == "group":
        return _any([_group(taxa.group_word(str(group))) for group in _listed(value)])
    if key == "tolerance":
        tolerances = frozenset(taxa.tolerance_word(str(part)) for part in _listed(value))
        return lambda traits: None if traits.tolerance is None else traits.tolerance in tolerances
    if key == "feeding":
        feedings = frozenset(taxa.feeding_word(str(part)) for part in _listed(value))
        return lambda traits: None if traits.feeding is None else traits.feeding in feedings
    return _flag(taxa.flag_word(key), bool(value))


def _family(family: str) -> Choice:
    return lambda traits: traits.in_family(family)


def _group(group: str) -> Choice:
    return lambda traits: traits.in_group(group)


def _flag(name: str, wanted: bool) -> Choice:
    def choose(traits: Traits) -> bool | None:
        known = traits.flag(name)
        return None if known is None else known is wanted

    return choose


def _all(parts: list[Choice]) -> Choice:
    def choose(traits: Traits) -> bool | None:
        result: bool | None = True
        for part in parts:
            holds = part(traits)
            if holds is False:
                return False
            if holds is None:
                result = None
        return result

    return choose


def _any(parts: list[Choice]) -> Choice:
    if len(parts) == 1:
        return parts[0]

    def choose(traits: Traits) -> bool | None:
        result: bool | None = False
        for part in parts:
            holds = part(traits)
            if holds is True:
                return True
            if holds is None:
                result = None
        return result

    return choose


def _not(part: Choice) -> Choice:
    def choose(traits: Traits) -> bool | None:
        holds = part(traits)
        return None if holds is None else not holds

    return choose
