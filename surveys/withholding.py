"""The one rule for taxa whose exact places are kept from the public.

A station is a fixed, published place, so hiding coordinates hides nothing: for the public the
record of a sensitive taxon leaves the station and the visit altogether and is told at watershed
level only. Whoever shows records to the public passes them through here first.
"""

from collections.abc import Iterable
from dataclasses import replace

from surveys.access import SEE_SENSITIVE, Person, may
from surveys.queries import VisitRecord

STATEMENT = (
    "Lists of fish on public pages may be shortened by rule: where exactly some species live is not "
    "published. They are named for the watershed as a whole."
)


def sees_all(person: Person) -> bool:
    return may(person, SEE_SENSITIVE)


def shown_to(person: Person, records: Iterable[VisitRecord]) -> list[VisitRecord]:
    """The records as this person may see them."""
    return list(records) if sees_all(person) else [without_sensitive(r) for r in records]


def without_sensitive(record: VisitRecord) -> VisitRecord:
    """A visit without the catches of sensitive taxa; weights of whole passes go with them."""
    hidden = any(c.taxon.sensitive_location for p in record.passes for c in p.catches)
    if not hidden:
        return record
    return replace(
        record,
        passes=tuple(
            replace(
                one,
                biomass_g=None,
                catches=tuple(c for c in one.catches if not c.taxon.sensitive_location),
            )
            for one in record.passes
        ),
    )
