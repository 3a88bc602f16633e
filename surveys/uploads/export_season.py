"""Stored visits as a season file: loaded into an empty database it gives the same visits again.

Photographs and preserved fish are no part of a season file; the whole copy made by ``backup`` holds them.
"""

import csv
import io
from collections import defaultdict
from typing import Any

from surveys.models import Catch, RemovalPass
from surveys.models.visits import VisitQuerySet
from surveys.uploads.columns import (
    CATCH_COLUMNS,
    FIELD_COLUMNS,
    NO_FISH,
    PASS_COLUMNS,
    SEASON_FILE,
    VISIT_COLUMNS,
    Column,
    column_names,
)
from surveys.uploads.values import cell_text, guarded

_BATCH = 500
_OPTIONAL = frozenset(column_names(FIELD_COLUMNS))


def season_file(visits: VisitQuerySet) -> str:
    """Visits as the text of a season file, by station and day. Three queries for every 500 visits.

    The columns of the field sheet are there only where some visit fills them.
    """
    keys = list(visits.order_by("station__code", "visit_date").values_list("pk", flat=True))
    rows: list[dict[str, str]] = []
    for start in range(0, len(keys), _BATCH):
        rows += _rows(visits, keys[start : start + _BATCH])
    used = {name for row in rows for name in _OPTIONAL & row.keys() if row[name]}
    headings = [column.name for column in SEASON_FILE if column.name not in _OPTIONAL or column.name in used]
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(headings)
    writer.writerows([row.get(name, "") for name in headings] for row in rows)
    return out.getvalue()


def _rows(visits: VisitQuerySet, keys: list[int]) -> list[dict[str, str]]:
    whole: dict[int, dict[str, str]] = {}
    for key, station, day, method, notes, *values in visits.filter(pk__in=keys).values_list(
        "pk", "station__code", "visit_date", "method__code", "notes", *_fields(VISIT_COLUMNS)
    ):
        cells = _cells(VISIT_COLUMNS, values)
        whole[key] = cells | {
            "station": station,
            "visit_date": str(day),
            "method": method,
            "notes": guarded(notes),
        }
    passes: dict[int, list[tuple[int, dict[str, str]]]] = defaultdict(list)
    for pk, visit, number, *values in (
        RemovalPass.objects.filter(visit__in=keys)
        .order_by("pass_number")
        .values_list("pk", "visit_id", "pass_number", *_fields(PASS_COLUMNS))
    ):
        passes[visit].append((pk, {"pass": str(number), **_cells(PASS_COLUMNS, values)}))
    caught: dict[int, list[dict[str, str]]] = defaultdict(list)
    for one_pass, taxon, *values in (
        Catch.objects.filter(removal_pass__visit__in=keys)
        .order_by("taxon__scientific_name")
        .values_list("removal_pass_id", "taxon__scientific_name", *_fields(CATCH_COLUMNS))
    ):
        caught[one_pass].append({"taxon": taxon, **_cells(CATCH_COLUMNS, values)})
    nothing = [{"taxon": NO_FISH, "count": "0"}]
    return [
        whole[key] | of_pass | of_catch
        for key in keys
        for pk, of_pass in passes[key]
        for of_catch in caught.get(pk, nothing)
    ]


def _fields(columns: tuple[Column, ...]) -> list[str]:
    return [column.stored_as for column in columns]


def _cells(columns: tuple[Column, ...], values: list[Any]) -> dict[str, str]:
    return {
        column.name: guarded(value) if isinstance(value, str) else cell_text(value)
        for column, value in zip(columns, values, strict=True)
    }
