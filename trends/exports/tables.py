"""Tables that leave the building: columns with units and meaning, and CSV that is safe to open.

Text that a spreadsheet would run as a formula gets an apostrophe in front; numbers never do, so a
western longitude or a falling slope keeps its minus sign. RFC 4180: UTF-8, CRLF, every row as wide
as the heading.
"""

import csv
import datetime
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any, Literal

from surveys.uploads.values import guarded

Kind = Literal["string", "integer", "number", "boolean", "date", "datetime", "array", "object"]
NESTED: frozenset[str] = frozenset({"array", "object"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One heading with what it means; the unit also stands in the heading where it is not a count."""

    key: str
    kind: Kind
    text: str
    unit: str = ""
    example: Any = None
    required: bool = False

    @property
    def nested(self) -> bool:
        """Whether the value is a list or a mapping, which has no place in a CSV cell."""
        return self.kind in NESTED

    def table_field(self) -> dict[str, Any]:
        """The column as a field of a Frictionless Table Schema."""
        made: dict[str, Any] = {"name": self.key, "type": self.kind, "description": self.text}
        if self.kind == "datetime":
            made["format"] = "any"
        if self.unit:
            made["unit"] = self.unit
        if self.required:
            made["constraints"] = {"required": True}
        return made


def cell(value: Any) -> str:
    """One value as CSV text. Missing is empty, which is never the same as 0."""
    match value:
        case None:
            return ""
        case bool():
            return "true" if value else "false"
        case int():
            return str(value)
        case float():
            return repr(value) if math.isfinite(value) else ""
        case datetime.date():
            return value.isoformat()
        case list() | tuple():
            return guarded("; ".join(str(one) for one in value))
        case _:
            return guarded(str(value))


def write_csv(target: IO[str], columns: Sequence[Column], rows: Iterable[Mapping[str, Any]]) -> int:
    """Write the heading and the rows; the number of rows is returned."""
    flat = [column.key for column in columns if not column.nested]
    writer = csv.writer(target, lineterminator="\r\n")
    writer.writerow(flat)
    count = 0
    for row in rows:
        writer.writerow([cell(row.get(key)) for key in flat])
        count += 1
    return count


def table_schema(columns: Sequence[Column], *, key: Sequence[str] = ()) -> dict[str, Any]:
    """The columns as a Frictionless Table Schema: the data dictionary of a file."""
    schema: dict[str, Any] = {
        "fields": [column.table_field() for column in columns if not column.nested],
        "missingValues": [""],
    }
    if key:
        schema["primaryKey"] = list(key)
    return schema


def write_table_files(
    path: Path, columns: Sequence[Column], rows: Iterable[Mapping[str, Any]], *, key: Sequence[str] = ()
) -> int:
    """Write a CSV file with its data dictionary beside it: ``visits.csv`` and ``visits.schema.json``.

    The file appears under its name only when it is complete.
    """
    part = path.with_name(f".{path.name}.part")
    try:
        with part.open("w", encoding="utf-8", newline="") as target:
            count = write_csv(target, columns, rows)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    dictionary = json.dumps(table_schema(columns, key=key), ensure_ascii=False, indent=2)
    path.with_suffix(".schema.json").write_text(f"{dictionary}\n", encoding="utf-8")
    return count
