"""Where a page of a list starts: after a record, told as one number.

A list is in the order of its records' own numbers, which the records show anyway. Catches show none, and
theirs are no secret to be given away: a number that is skipped between two fish of one pass would be that
of a fish whose place is withheld. So they go by visit, pass and taxon, which everybody may know.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from surveys.models import Catch


@dataclass(frozen=True, slots=True, kw_only=True)
class Cursor:
    """The fields a list is ordered by, the first weighing most, and how many bits of the number each takes."""

    fields: tuple[str, ...]
    bits: tuple[int, ...]
    values: Callable[[Any], tuple[int, ...]]

    def number(self, record: Any) -> int:
        """The place of a record in the list."""
        made = 0
        for value, bits in zip(self.values(record), self.bits, strict=True):
            made = made << bits | value
        return made

    def after(self, number: int) -> Q:
        """What comes later in the list than the place; any number is one."""
        condition = Q()
        for i, (field, bits) in reversed(list(enumerate(zip(self.fields, self.bits, strict=True)))):
            value = number if i == 0 else number & ((1 << bits) - 1)
            number >>= bits
            later = Q(**{f"{field}__gt": value})
            condition = later | Q(**{field: value}) & condition if condition else later
        return condition


BY_NUMBER = Cursor(fields=("pk",), bits=(63,), values=lambda record: (record.pk,))


def _of_catch(catch: Catch) -> tuple[int, ...]:
    return catch.removal_pass.visit_id, catch.removal_pass.pass_number, catch.taxon_id


# Together 63 bits, as the database's largest whole numbers have.
BY_CATCH = Cursor(
    fields=("removal_pass__visit_id", "removal_pass__pass_number", "taxon_id"),
    bits=(31, 8, 24),
    values=_of_catch,
)
