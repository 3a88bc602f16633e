"""What differs between a visit in a file and the same visit as stored, value by value."""

import re
from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np

from surveys.models import Catch, RemovalPass, Visit
from surveys.uploads.columns import CATCH_COLUMNS, PASS_COLUMNS, VISIT_COLUMNS, Column
from surveys.uploads.grouping import Grouped
from surveys.uploads.known import Known
from surveys.uploads.values import cell_text

PASS_FIELDS = tuple(column.stored_as for column in PASS_COLUMNS)
CATCH_FIELDS = tuple(column.stored_as for column in CATCH_COLUMNS)
# The heading in the file where it is not the field's name.
HEADINGS = {column.stored_as: column.name for column in VISIT_COLUMNS}
PASS_HEADINGS = {column.stored_as: column.name for column in PASS_COLUMNS}

TaxonKey = tuple[Any, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One value, as stored and as in the file; None is an empty cell or a row that is not there."""

    column: str
    old: Any
    new: Any
    pass_number: int | None = None
    taxon: str = ""
    row: int | None = None  # line of the file, None where the file has no such row

    @property
    def what(self) -> str:
        words = [f"pass {self.pass_number}"] if self.pass_number else []
        if self.taxon:
            words.append(self.taxon)
        return ", ".join([*words, self.column])


class ValuePlace(NamedTuple):
    """Which value differs: that of a visit, of a pass, or of a taxon in a pass."""

    pass_number: str
    taxon: str
    column: str


_PLACE = re.compile(r"(?:pass ([0-9]+), )?(?:(.+), )?([^,]*)", re.DOTALL)


def place_of(what: str) -> ValuePlace:
    """The parts of ``Difference.what``, as it is kept with a file that was taken."""
    found = _PLACE.fullmatch(what)
    return ValuePlace(*(part or "" for part in found.groups())) if found else ValuePlace("", "", what)


@dataclass(slots=True)
class FileVisit:
    """Passes and catches of one visit, from the file or from the store.

    ``passes``: number -> values in the order of PASS_FIELDS. ``catches``: (pass number, taxon key) ->
    values in the order of CATCH_FIELDS. ``lines``: the same keys -> line of the file.
    """

    passes: dict[int, tuple[Any, ...]] = field(default_factory=dict)
    catches: dict[tuple[int, TaxonKey], tuple[Any, ...]] = field(default_factory=dict)
    lines: dict[Any, int] = field(default_factory=dict)


def file_visits(rows: Grouped, wanted: Sequence[int]) -> dict[int, FileVisit]:
    """Some visits of a file, keyed by their number in it."""
    found = {v: FileVisit() for v in wanted}
    if not found:
        return found
    of_pass = [_stored(column, rows.pass_values(column.name)) for column in PASS_COLUMNS]
    for p in np.flatnonzero(np.isin(rows.visit_of_pass, list(found))):
        visit = found[int(rows.visit_of_pass[p])]
        number = int(rows.number_of_pass[p])
        visit.passes[number] = tuple(values[p] for values in of_pass)
        visit.lines[number] = rows.line(int(rows.first_row_of_pass[p]))
    taxon = rows.cells["taxon"]
    caught = np.isin(rows.visit_of_row, list(found)) & (rows.cells["count"].numbers() > 0) & taxon.filled
    at = np.flatnonzero(caught & (rows.pass_of_row >= 0))
    of_row = [_stored(column, rows.cells[column.name].at(at)) for column in CATCH_COLUMNS]
    values = zip(*of_row, strict=True)
    places = zip(
        at.tolist(),
        rows.visit_of_row[at].tolist(),
        rows.number_of_pass[rows.pass_of_row[at]].tolist(),
        taxon.at(at),
        values,
        strict=True,
    )
    for row, visit_number, number, key, fields in places:
        visit = found[visit_number]
        visit.catches[number, key] = fields
        visit.lines[number, key] = rows.line(row)
    return found


def _stored(column: Column, values: list[Any]) -> list[Any]:
    """Values as they are stored, where the file gives none too."""
    return values if column.blank is None else [column.blank if v is None else v for v in values]


def keep_unsaid(new: FileVisit, old: FileVisit, silent: Collection[str]) -> None:
    """What the file has no column for stays as stored, in ``new`` too.

    The parts of a catch belong to its count and weight: where the file gives these anew, they are dropped.
    """
    if not silent:
        return
    unsaid = [n for n, column in enumerate(PASS_COLUMNS) if column.name in silent]
    for number, stored in old.passes.items():
        if unsaid and number in new.passes:
            new.passes[number] = _mixed(new.passes[number], stored, unsaid)
    unsaid = [n for n, column in enumerate(CATCH_COLUMNS) if column.name in silent]
    count, weight = CATCH_FIELDS.index("count"), CATCH_FIELDS.index("biomass_g")
    for key, stored in old.catches.items():
        given = new.catches.get(key)
        if unsaid and given and (given[count], given[weight]) == (stored[count], stored[weight]):
            new.catches[key] = _mixed(given, stored, unsaid)


def _mixed(new: tuple[Any, ...], old: tuple[Any, ...], kept: Sequence[int]) -> tuple[Any, ...]:
    values = list(new)
    for place in kept:
        values[place] = old[place]
    return tuple(values)


def stored_visits(ids: Sequence[int]) -> dict[int, FileVisit]:
    """Stored visits by their id, in two queries."""
    found: dict[int, FileVisit] = defaultdict(FileVisit)
    for visit_id, number, *values in RemovalPass.objects.filter(visit__in=ids).values_list(
        "visit_id", "pass_number", *PASS_FIELDS
    ):
        found[visit_id].passes[number] = tuple(values)
    for visit_id, number, taxon, *values in Catch.objects.filter(removal_pass__visit__in=ids).values_list(
        "removal_pass__visit_id", "removal_pass__pass_number", "taxon_id", *CATCH_FIELDS
    ):
        found[visit_id].catches[number, ("known", taxon)] = tuple(values)
    return found


def differences(
    visit: Visit, values: dict[str, Any], new: FileVisit, old: FileVisit, known: Known
) -> tuple[Difference, ...]:
    """Everything that would change if the file took the place of the stored visit."""
    found = []
    for name, value in values.items():
        stored = getattr(visit, name)
        if stored != value:
            if name == "method_id":
                codes = {method.key: method.code for method in known.methods.values()}
                stored, value = codes.get(stored), codes.get(value)
            found.append(Difference(column=HEADINGS.get(name, name), old=_said(stored), new=_said(value)))
    if old.passes == new.passes and old.catches == new.catches:
        return tuple(found)
    for number in sorted(old.passes.keys() | new.passes.keys()):
        row = new.lines.get(number)
        if (number in old.passes) != (number in new.passes):
            made = number in new.passes
            found.append(
                Difference(
                    column="pass",
                    old=None if made else number,
                    new=number if made else None,
                    pass_number=number,
                    row=row,
                )
            )
        found += _fields(
            PASS_FIELDS, old.passes.get(number), new.passes.get(number), PASS_HEADINGS, number, "", row
        )
    for key in sorted(old.catches.keys() | new.catches.keys(), key=lambda key: (key[0], str(key[1]))):
        number, taxon = key
        name = known.taxon_names.get(taxon[1], str(taxon[1]))
        found += _fields(
            CATCH_FIELDS, old.catches.get(key), new.catches.get(key), {}, number, name, new.lines.get(key)
        )
    return tuple(found)


def _said(value: Any) -> Any:
    """A value as it is shown and kept with the upload: numbers and words as they are, others as in a file."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return value
    return cell_text(value) or None


def _fields(
    names: Sequence[str],
    old: tuple[Any, ...] | None,
    new: tuple[Any, ...] | None,
    headings: dict[str, str],
    number: int,
    taxon: str,
    row: int | None,
) -> list[Difference]:
    nothing = (None,) * len(names)
    return [
        Difference(
            column=headings.get(name, name),
            old=_said(a),
            new=_said(b),
            pass_number=number,
            taxon=taxon,
            row=row,
        )
        for name, a, b in zip(names, old or nothing, new or nothing, strict=True)
        if a != b and not (_said(a) is None and _said(b) is None)
    ]
