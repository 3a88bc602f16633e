"""Values of trait lists as they are said."""

from typing import Any

from django import template
from django.utils.translation import pgettext

from surveys.language import told, worded
from surveys.models import Rank, Taxon
from surveys.said import marked

register = template.Library()


# The heads of a trait list, by the columns of its file.
_HEADS = {
    "tolerance": marked("tolerance"),
    "trophic_guild": marked("feeding"),
    "benthic": marked("benthic"),
    "lithophilic": marked("lithophilic"),
    "native": marked("native"),
    "migratory": marked("migratory"),
}


@register.filter
def trait_name(key: str) -> str:
    """A trait as the head of a column names it."""
    return told(_HEADS.get(key, key))


@register.filter
def yesno_or_word(value: Any) -> str:
    """A listed trait: yes, no, its word, or that it is not known."""
    if value is None or value == "":
        return worded("not known")
    return told("yes" if value else "no") if isinstance(value, bool) else told(value)


@register.filter
def trait(traits: dict[str, Any], key: str) -> str:
    """What a list says of one trait; a trait that it does not hold is left to the county's list."""
    return yesno_or_word(traits[key]) if key in traits else worded("not listed")


@register.filter
def kind_of_record(taxon: Taxon) -> str:
    """What a row of the list is. One species has another word in many languages than a number of species."""
    words = {
        Rank.SPECIES: pgettext("kind of record", "species"),
        Rank.SUBSPECIES: pgettext("kind of record", "subspecies"),
        Rank.GENUS: pgettext("kind of record", "genus or group"),
        Rank.HYBRID: pgettext("kind of record", "hybrid"),
    }
    return words[Rank(taxon.rank)]
