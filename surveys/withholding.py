"""The one rule for taxa whose exact places are kept from the public.

A station is a fixed, published place, so hiding coordinates hides nothing: for the public the
record of a sensitive taxon leaves the station and the visit altogether and is told at watershed
level only. Whoever shows records to the public passes them through here first.
"""

from collections.abc import Iterable
from dataclasses import replace

from django.utils.translation import gettext_noop

from surveys.access import SEE_SENSITIVE, Person, may
from surveys.models import Taxon
from surveys.queries import CatchRecord, PassRecord, VisitRecord

STATEMENT = gettext_noop(
    "Lists of fish on public pages may be shortened by rule: where exactly some species live is not "
    "published. They are named for the watershed as a whole."
)


# Stands in the place of a reason that names such a taxon, wherever it is kept for others to read.
NAMELESS_REASON = gettext_noop("something that this number needs is not known for every fish")


def withheld_names() -> frozenset[str]:
    """Names of the taxa whose places are withheld, as reasons and remarks may carry them."""
    named = Taxon.objects.filter(sensitive_location=True).values_list("scientific_name", "common_name")
    return frozenset(name for names in named for name in names if name)


def nameless(reason: str, names: frozenset[str]) -> str:
    """The reason, or one that gives no taxon away where it names one of these."""
    return NAMELESS_REASON if any(name in reason for name in names) else reason


def sees_all(person: Person) -> bool:
    return may(person, SEE_SENSITIVE)


def shown_to(person: Person, records: Iterable[VisitRecord]) -> list[VisitRecord]:
    """The records as this person may see them."""
    return list(records) if sees_all(person) else [without_sensitive(r) for r in records]


def without_sensitive(record: VisitRecord) -> VisitRecord:
    """A visit without the catches of sensitive taxa; weights of whole passes go with them."""
    if not has_hidden(record):
        return record
    return replace(
        record, passes=tuple(replace(one, biomass_g=None, catches=_listed(one)) for one in record.passes)
    )


def scored_in_public(record: VisitRecord, *, guarded: bool) -> VisitRecord:
    """A visit as its published score is made of it: the catches that are listed, and the weight of each pass.

    A whole pass's weight is published nowhere, so it betrays nothing where it goes into a score; without it
    there would be no score by some methods at just the visits that hide a fish. Where the listed catches have
    weights of their own, which are published, their sum stands for the pass, as a reader would have it: at
    every visit of a ``guarded`` watershed, or a score by another weight would tell of a visit without such a fish.
    """
    if not guarded and not has_hidden(record):
        return record
    passes = tuple(_scored(one) for one in record.passes)
    return record if passes == record.passes else replace(record, passes=passes)


def has_hidden(record: VisitRecord) -> bool:
    return any(c.taxon.sensitive_location for p in record.passes for c in p.catches)


def _listed(one: PassRecord) -> tuple[CatchRecord, ...]:
    return tuple(c for c in one.catches if not c.taxon.sensitive_location)


def _scored(one: PassRecord) -> PassRecord:
    catches = _listed(one)
    weighed = all(c.biomass_g is not None for c in catches)
    if len(catches) == len(one.catches) and (one.biomass_g is None or not weighed):
        return one
    return replace(one, biomass_g=None if weighed else one.biomass_g, catches=catches)
