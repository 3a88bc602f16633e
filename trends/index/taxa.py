"""What follows from a fish's name: family and groups, by a table of genera. No sample is read here."""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

_TABLE: dict[str, Any] = yaml.safe_load(
    Path(__file__).with_name("taxon_groups.yaml").read_text(encoding="utf-8")
)
_FAMILY_OF_GENUS: dict[str, str] = {
    genus.casefold(): family for family, genera in _TABLE["families"].items() for genus in genera
}
_SAME_FAMILY: dict[str, str] = {newer.casefold(): older for newer, older in _TABLE["same_family"].items()}
_STENOTHERMS = frozenset(name.casefold() for name in _TABLE["stenotherms"])

GROUPS: dict[str, dict[str, Any]] = _TABLE["groups"]
FLAG_GROUPS: frozenset[str] = frozenset(_TABLE["flag_groups"])
FLAG_WORDS: dict[str, str] = _TABLE["flag_words"]


@lru_cache(maxsize=4096)
def word(text: str) -> str:
    """Return a word as the tables write it: lower case, joined by underscores."""
    return re.sub(r"[^a-z0-9]+", "_", text.casefold()).strip("_")


@lru_cache(maxsize=4096)
def name_key(name: str) -> str:
    """Return a scientific name for comparing: case and spacing make no difference."""
    return " ".join(name.casefold().split())


def group_word(text: str) -> str:
    """Return our word for a group of fish."""
    plain = word(text)
    return str(_TABLE["group_words"].get(plain, plain))


def flag_word(text: str) -> str:
    """Return our word for a trait that a fish has or has not."""
    plain = word(text)
    return FLAG_WORDS.get(plain, plain)


def tolerance_word(text: str) -> str:
    """Return tolerant, moderate, intolerant, or the word given where it is none of these."""
    plain = word(text)
    return str(_TABLE["tolerance_words"].get(plain, plain))


def feeding_word(text: str) -> str:
    """Return our word for how a fish feeds."""
    plain = word(text)
    plain = plain[:-1] if plain.endswith("vores") or plain.endswith("feeders") else plain
    return str(_TABLE["feeding_words"].get(plain, plain))


def family_word(text: str) -> str:
    """Return a family in the older sense the methods use, in lower case."""
    plain = text.strip().casefold()
    return _SAME_FAMILY.get(plain, plain).casefold()


@lru_cache(maxsize=4096)
def genus_of(name: str) -> str:
    """Return the genus, in lower case: the first word of a name that is not a hybrid mark."""
    for part in name_key(name).split():
        if part not in ("x", "×", "hybrid"):
            return part.lstrip("×")
    return ""


def family_of(name: str) -> str | None:
    """Return the family that follows from the genus, or None where the genus is not in the table."""
    family = _FAMILY_OF_GENUS.get(genus_of(name))
    return None if family is None else family.casefold()


@lru_cache(maxsize=4096)
def looks_like_hybrid(name: str) -> bool:
    """Say whether the name itself marks a hybrid: ``x``, ``×`` or the word."""
    parts = name_key(name).split()
    return "×" in name or "hybrid" in parts or "x" in parts


@lru_cache(maxsize=4096)
def looks_unidentified(name: str) -> bool:
    """Say whether the name stops above the species: one word, or ``sp.``, ``spp.``."""
    parts = name_key(name).split()
    return not looks_like_hybrid(name) and (len(parts) == 1 or parts[-1].rstrip(".") in ("sp", "spp"))


@lru_cache(maxsize=8192)
def in_group(group: str, name: str, family: str | None) -> bool | None:
    """Say whether a fish belongs to a group by its family and name; None where that is not known."""
    rule = GROUPS.get(group)
    if rule is None:
        return None
    known_family = family or family_of(name)
    if known_family is None:
        return None
    if known_family != rule["family"].casefold():
        return False
    if name_key(name) in {name_key(other) for other in rule.get("except", ())}:
        return False
    if "genera" not in rule:
        return True
    genus = genus_of(name)
    if genus in {other.casefold() for other in rule["genera"]}:
        return True
    return False if genus in _FAMILY_OF_GENUS else None


def stenotherm_from_list(name: str) -> bool:
    """Say whether our own short list, from memory, calls this a cold- or coolwater fish.

    A caller that builds samples may use it and must then say so; scoring never does by itself.
    """
    return name_key(name) in _STENOTHERMS


_WHOLE_FAMILIES = {rule["family"].casefold(): group for group, rule in GROUPS.items() if "genera" not in rule}


def group_of_family(family: str) -> str | None:
    """Return the group that is the whole of a family, such as sculpins for Cottidae."""
    return _WHOLE_FAMILIES.get(family)


def is_group(text: str) -> bool:
    """Say whether a word is the name of a group of fish."""
    return text in GROUPS or text in FLAG_GROUPS
