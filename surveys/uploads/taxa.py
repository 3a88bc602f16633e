"""How a name that is not on the list yet becomes a taxon."""

import re

from django.utils.text import slugify

from surveys.models import Rank, Taxon
from surveys.uploads.values import fold

_CROSS = re.compile(r"(^|\s)[x\u00d7](\s|$)|\bhybrid\b", re.IGNORECASE)
_OPEN_NAME = re.compile(r"\b(spp?|cf|aff)\b\.?|\bunidentified\b|\bunknown\b", re.IGNORECASE)


def rank_of(name: str) -> str:
    """The rank that the form of a name tells: a proposal, until somebody settles it."""
    if _CROSS.search(name):
        return Rank.HYBRID
    words = name.split()
    if len(words) == 1 or _OPEN_NAME.search(name):
        return Rank.GENUS
    return Rank.SPECIES if len(words) == 2 else Rank.SUBSPECIES


def free_slugs(names: list[str]) -> list[str]:
    """Addresses for new taxa that no other taxon has."""
    taken = set(Taxon.objects.values_list("slug", flat=True))
    slugs = []
    for name in names:
        base = slugify(name)[:180] or "taxon"
        slug, number = base, 2
        while slug in taken:
            slug, number = f"{base}-{number}", number + 1
        taken.add(slug)
        slugs.append(slug)
    return slugs


def create_taxa(names: dict[str, str]) -> dict[str, int]:
    """Add taxa with nothing known but the name; folded name -> key."""
    written = [" ".join(text.split()) for text in names.values()]
    created = Taxon.objects.bulk_create(
        Taxon(
            scientific_name=name,
            slug=slug,
            rank=rank_of(name),
            hybrid=rank_of(name) == Rank.HYBRID,
            note="Added from a season file; traits not known yet.",
        )
        for name, slug in zip(written, free_slugs(written), strict=True)
    )
    return {fold(taxon.scientific_name): taxon.pk for taxon in created}
