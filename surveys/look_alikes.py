"""Marks that tell look-alikes apart, from a file of our own words; who uses them also says where they are from."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import yaml

FILE = Path(__file__).with_name("look_alikes.yaml")


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """How two kinds are told apart, and how sure that is."""

    taxa: tuple[str, str]
    marks: tuple[str, ...]
    source: str


@cache
def all_marks() -> dict[frozenset[str], Marks]:
    """Every pair that has marks, by its two scientific names."""
    raw = yaml.safe_load(FILE.read_text(encoding="utf-8"))
    return {
        frozenset(pair["taxa"]): Marks(
            taxa=tuple(pair["taxa"]), marks=tuple(pair["marks"]), source=f"marks {raw['provenance']}"
        )
        for pair in raw["pairs"]
    }


def marks_between(one: str, other: str) -> Marks | None:
    """The marks of a pair, in either order; None where none are written down."""
    return all_marks().get(frozenset((one, other)))


def marks_among(names: Iterable[str]) -> list[Marks]:
    """The marks of every pair of which both are among these names: for a crew that has met both."""
    wanted = set(names)
    return [marks for pair, marks in all_marks().items() if pair <= wanted]
