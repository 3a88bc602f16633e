"""Words of a merge or a split: what is kept on record of it, and what a refusal says."""

from collections.abc import Iterable

from surveys.models import Rank
from surveys.said import marked, said

RANKS: dict[str, str] = {
    Rank.SPECIES: marked("a species"),
    Rank.SUBSPECIES: marked("a subspecies"),
    Rank.GENUS: marked("a genus or group"),
    Rank.HYBRID: marked("a hybrid"),
}


def closed_words(held: int) -> str:
    """How many of the visits that would be touched lie in a season that is signed off."""
    if held == 1:
        return marked("1 of these visits lies in a closed season.")
    return said("{held} of these visits lie in a closed season.", held=held)


def merged_words(gone: str, kept: str, *, moved: int, visits: int, joined: int) -> str:
    return said(
        "{gone} was merged into {kept}: {moved} catches of {visits} visits moved, {joined} of them added to a catch "
        "of {kept} in the same pass.",
        gone=gone,
        kept=kept,
        moved=moved,
        visits=visits,
        joined=joined,
    )


def split_words(new: str, taxon: str, *, day: str, stations: Iterable[str], moved: int, visits: int) -> str:
    """``day`` and ``stations`` may be empty, but not both: a split has a time or a place."""
    places = ", ".join(stations)
    filled = {"new": new, "taxon": taxon, "moved": moved, "visits": visits}
    if day and places:
        return said(
            "{new} was split from {taxon} from {day} on at {stations}: {moved} catches of {visits} visits moved.",
            day=day,
            stations=places,
            **filled,
        )
    if day:
        return said(
            "{new} was split from {taxon} from {day} on: {moved} catches of {visits} visits moved.",
            day=day,
            **filled,
        )
    return said(
        "{new} was split from {taxon} at {stations}: {moved} catches of {visits} visits moved.",
        stations=places,
        **filled,
    )
