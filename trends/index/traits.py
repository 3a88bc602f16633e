"""What is known of one kind of fish: the traits that decide in which metrics it counts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from trends.index import taxa
from trends.index.errors import SampleError

UNKNOWN_WORDS = frozenset({"", "unknown", "not known", "na", "n/a", "none", "?"})
CATCH_KEYS = frozenset({"passes", "count", "young_of_year", "under_20_mm", "anomalies", "biomass_g"})
_WORD_KEYS = frozenset(
    {
        "tolerance",
        "feeding",
        "trophic_guild",
        "family",
        "group",
        "groups",
        "spawning",
        "origin",
        "common_name",
    }
)
_NOT_NATIVE = frozenset({"non_native", "nonnative", "introduced", "exotic", "alien"})
_YES = frozenset({"yes", "true", "1"})
_NO = frozenset({"no", "false", "0"})


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Traits:
    """The traits of one taxon as a sample gives them. None is not known, which is not the same as no."""

    name: str
    key: str
    genus: str
    tolerance: str | None
    feeding: str | None
    family: str | None
    flags: Mapping[str, bool | None]
    groups: frozenset[str]
    memory: dict[Any, Any] = field(default_factory=dict, repr=False)  # what measures worked out before

    def flag(self, name: str) -> bool | None:
        """Return a trait; one that the sample does not mention is taken as no."""
        return self.flags.get(name, False)

    def in_group(self, group: str) -> bool | None:
        """Say whether the taxon belongs to a group: by its own flags and groups, else by its name."""
        for flag in (group, taxa.flag_word(group)):
            if flag in self.flags:
                return self.flags[flag]
        if group in self.groups:
            return True
        return taxa.in_group(group, self.name, self.family)

    def in_family(self, family: str) -> bool | None:
        """Say whether the taxon belongs to a family: by what is given, by its flags, or by its genus."""
        if self.family is not None:
            return self.family == family
        group = taxa.group_of_family(family)
        if group is not None:
            return self.in_group(group)
        known = taxa.family_of(self.name)
        return None if known is None else known == family


def read_traits(name: str, entry: Mapping[str, Any], assumed_no: frozenset[str] = frozenset()) -> Traits:
    """Read the traits of one entry of a sample.

    Parameters
    ----------
    name : str
        Scientific name; a hybrid may be written with ``x``, ``×`` or the word.
    entry : mapping
        Traits under their names. Yes-or-no traits that are left out mean no; ``None`` or ``unknown``
        means not known.
    assumed_no : frozenset of str
        Groups that the sample marks on other taxa: here, unmarked and not settled by the name means no.
    """
    given = tuple(
        (key, tuple(value) if isinstance(value, list) else value)
        for key, value in entry.items()
        if key not in CATCH_KEYS
    )
    try:
        return _read(name, given, assumed_no)
    except TypeError:  # a remark that cannot be looked up, such as a nested mapping
        kept = tuple(
            (key, value) for key, value in given if isinstance(value, str | int | float | tuple | None)
        )
        return _read(name, kept, assumed_no)


@lru_cache(maxsize=8192)
def _read(name: str, given: tuple[tuple[str, Any], ...], assumed_no: frozenset[str]) -> Traits:
    entry = dict(given)
    flags: dict[str, bool | None] = {}
    for key, value in given:
        if key not in _WORD_KEYS:
            _read_flag(name, key, value, flags)
    _flags_from_words(entry, flags)
    flags.setdefault("native", True)
    flags.setdefault("hybrid", taxa.looks_like_hybrid(name))
    flags.setdefault("unidentified", taxa.looks_unidentified(name))
    tolerance = known_text(entry.get("tolerance"))
    feeding = known_text(entry.get("feeding", entry.get("trophic_guild")))
    family = known_text(entry.get("family"))
    groups = frozenset(taxa.group_word(part) for part in _words(entry.get("groups", entry.get("group"))))
    family = None if family is None else taxa.family_word(family)
    for group in assumed_no - groups - flags.keys():
        if taxa.in_group(group, name, family) is None:
            flags[group] = False
    return Traits(
        name=name,
        key=taxa.name_key(name),
        genus=taxa.genus_of(name),
        tolerance=None if tolerance is None else taxa.tolerance_word(tolerance),
        feeding=None if feeding is None else taxa.feeding_word(feeding),
        family=family,
        flags=flags,
        groups=groups,
    )


def groups_marked(listed: Iterable[Traits]) -> frozenset[str]:
    """Return the groups that a sample marks by flags or group words on any of its taxa."""
    found: set[str] = set()
    for traits in listed:
        found.update(flag for flag in traits.flags if taxa.is_group(flag))
        found.update(traits.groups)
    return frozenset(found)


def known_text(value: Any) -> str | None:
    """Return a word that is given, or None for one of the ways to say not known."""
    if value is None or value != value:  # NaN stands for missing
        return None
    text = str(value).strip()
    return None if text.casefold() in UNKNOWN_WORDS else text


def _read_flag(name: str, key: str, value: Any, flags: dict[str, bool | None]) -> None:
    flag = taxa.flag_word(key)
    known = flag in taxa.FLAG_WORDS.values() or flag in _NOT_NATIVE or taxa.is_group(taxa.group_word(flag))
    said = _yes_no(value)
    if said == "other":
        if known:
            raise SampleError(f"{name}: {key} must be yes, no or unknown, not {value!r}")
        return  # a remark, not a trait
    answer = None if said == "unknown" else said == "yes"
    if flag in _NOT_NATIVE:
        flags["native"] = None if answer is None else not answer
    else:
        flags[flag if flag in taxa.FLAG_WORDS.values() else taxa.group_word(flag)] = answer


def _yes_no(value: Any) -> str:
    if value is None or value != value:
        return "unknown"
    if value in (0, 1):
        return "yes" if value else "no"
    text = str(value).strip().casefold() if isinstance(value, str) else "-"
    if text in UNKNOWN_WORDS:
        return "unknown"
    return "yes" if text in _YES else "no" if text in _NO else "other"


def _flags_from_words(entry: Mapping[str, Any], flags: dict[str, bool | None]) -> None:
    """Traits that some lists give as a word: spawning and origin."""
    if "spawning" in entry:
        spawning = known_text(entry["spawning"])
        flags["lithophil"] = None if spawning is None else "lithophil" in taxa.word(spawning)
    if "origin" in entry:
        origin = known_text(entry["origin"])
        flags["native"] = None if origin is None else taxa.word(origin) == "native"


def _words(value: Any) -> list[str]:
    if value is None:
        return []
    return [value] if isinstance(value, str) else [str(part) for part in value]
