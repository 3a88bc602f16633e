"""Numbers of species counted alike in every year of a station, however exactly its fish were named.

Where a genus stands for its species in some years, or a taxon is told from another only later, a count of
names moves with the naming. The members of such a group then count as one kind in every year. The page of a
visit keeps the visit's own number.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from surveys.said import said

if TYPE_CHECKING:
    from trends.record import VisitValue

COUNTED = frozenset({"richness", "native_richness", "benthic_richness"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Names that stand for each other at a station, the one they share, and the years less exactly named."""

    name: str
    members: frozenset[str]
    years: tuple[int, ...]
    # The taxon that was told from ``name`` only later; empty for a genus and its species.
    told_apart: str = ""


def groups_of(
    visits: Sequence["VisitValue"], held_to_genus: frozenset[str], splits: Iterable[tuple[str, str]]
) -> tuple[Group, ...]:
    """The groups of one station's visits: genera held to genus in some years only, then taxa split later."""
    as_genus: dict[str, set[int]] = defaultdict(set)
    as_species: dict[str, set[int]] = defaultdict(set)
    names: dict[str, set[str]] = defaultdict(set)
    for v in visits:
        for name in v.taxa:
            genus = name.split()[0]
            (as_genus if name in held_to_genus else as_species)[genus].add(v.date.year)
            names[genus].add(name)
    found = [
        Group(name=genus, members=frozenset(names[genus]), years=tuple(sorted(years)))
        for genus, years in sorted(as_genus.items())
        if as_species[genus] - years
    ]
    for one, other in splits:
        if years := _before_split(visits, one, other):
            found.append(
                Group(name=one, members=frozenset({one, other}), years=tuple(years), told_apart=other)
            )
    return tuple(found)


def _before_split(visits: Sequence["VisitValue"], one: str, other: str) -> list[int]:
    """Years in which the taxon stands for both: before the first visit that has the one split from it."""
    first = min((v.date for v in visits if other in v.taxa), default=None)
    return sorted({v.date.year for v in visits if first and one in v.taxa and v.date < first})


def on_common_level(
    visits: Sequence["VisitValue"], measure: str, groups: Iterable[Group]
) -> tuple["VisitValue", ...]:
    """The visits with their number of species counted by groups; where it differs a remark says so."""
    joined = list(_joined(groups))
    if not joined:
        return tuple(visits)
    counts = [_counts(visits, measure, members) for _name, members in joined]
    return tuple(
        _recounted(v, measure, [(*one, c) for one, c in zip(joined, counts, strict=True)]) for v in visits
    )


def _joined(groups: Iterable[Group]) -> list[tuple[str, frozenset[str]]]:
    """Groups that share a member are one."""
    found: list[tuple[str, frozenset[str]]] = []
    for group in groups:
        name, members = group.name, group.members
        for other in [one for one in found if one[1] & members]:
            found.remove(other)
            name, members = other[0], other[1] | members
        found.append((name, members))
    return found


def _counts(visits: Sequence["VisitValue"], measure: str, members: frozenset[str]) -> bool | None:
    """Whether the group counts: all of its species do (True), none (False), or some (None).

    Where some do, what a year held to the genus stands for cannot be told, so the group counts in no year.
    """
    known = [v for v in visits if v.values.get(measure) is not None]
    species = {name for v in known for name in v.counted.get("richness", ())} & members
    counted = {name for v in known for name in v.counted.get(measure, ())} & members
    return True if species == counted and counted else None if counted else False


def _recounted(
    visit: "VisitValue", measure: str, joined: Sequence[tuple[str, frozenset[str], bool | None]]
) -> "VisitValue":
    own = visit.values.get(measure)
    if own is None or measure not in visit.counted:
        return visit
    counted = set(visit.counted[measure])
    value, remarks = own, []
    for name, members, counts in joined:
        here = len(counted & members)
        instead = int(bool(counts) and not members.isdisjoint(visit.taxa))
        if instead == here:
            continue
        value += instead - here
        remarks.append(
            said("{name} counted as one kind", name=name)
            if counts
            else said("{name} not counted, for some years name it less exactly", name=name)
        )
    if not remarks:
        return visit
    return replace(
        visit,
        values={**visit.values, measure: value},
        remarks={**visit.remarks, measure: "; ".join(remarks)},
    )
