"""Writes results many rows at a time, over what was stored before for the same visit or place.

The general bulk insert hands each column over as an array, whose quoting costs more than the results
themselves: their JSON is long. Here each row is written out in one statement.
"""

import json
from collections.abc import Iterable, Sequence
from typing import Any

from django.db import connection, models
from django.utils import timezone

from trends.models import TrendResult, VisitResult

ROWS_AT_ONCE = 100


def store_visit_results(results: Iterable[VisitResult]) -> None:
    """Write the results of visits; a visit that had one gets the new one."""
    _write(VisitResult, results, unique=("visit",))


def store_trends(results: Iterable[TrendResult]) -> None:
    """Write trends; a place and measure that had one gets the new one."""
    _write(TrendResult, results, unique=("watershed", "station", "measure"))


def _write(model: type[models.Model], rows: Iterable[models.Model], *, unique: Sequence[str]) -> None:
    fields = [f for f in model._meta.concrete_fields if not f.primary_key]
    quote = connection.ops.quote_name
    columns = [quote(str(f.column)) for f in fields]
    keys = [quote(str(f.column)) for f in fields if f.name in unique]
    table = quote(model._meta.db_table)
    updated = ", ".join(f"{c} = EXCLUDED.{c}" for c in columns if c not in keys)
    row_marks = f"({', '.join(['%s'] * len(columns))})"
    now = timezone.now()
    waiting = list(rows)
    for row in waiting:
        row.computed_at = now  # type: ignore[attr-defined]
    with connection.cursor() as cursor:
        for start in range(0, len(waiting), ROWS_AT_ONCE):
            part = waiting[start : start + ROWS_AT_ONCE]
            cursor.execute(
                f"INSERT INTO {table} ({', '.join(columns)}) VALUES {', '.join([row_marks] * len(part))} "
                f"ON CONFLICT ({', '.join(keys)}) DO UPDATE SET {updated}",
                [_value(f, getattr(row, f.attname)) for row in part for f in fields],
            )


def _value(field: "models.Field[Any, Any]", value: Any) -> Any:
    if isinstance(field, models.JSONField):
        return json.dumps(value, default=float, allow_nan=False)
    return value
