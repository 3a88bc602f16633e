"""The published description of a season file (a Frictionless Table Schema) and an example file, both
written from the column objects. Pure code.

``python -m surveys.uploads.schema`` writes the description anew after a column has changed.
"""

import csv
import io
import json
from pathlib import Path
from typing import Any

from surveys.uploads.columns import ROW, SEASON_FILE, Column

SCHEMA_FILE = Path(__file__).resolve().parent.parent / "schemas" / "season-file.json"

_SAME_ON = {"pass": "The same on each row of the pass.", "visit": "The same on each row of the visit."}

_EXAMPLE_ROWS = (
    ("MILL-02", "2024-07-16", "1", "Semotilus atromaculatus", "12", "3", "148.5", "0", "640"),
    ("MILL-02", "2024-07-16", "1", "Rhinichthys atratulus", "31", "9", "62", "1", "640"),
    ("MILL-02", "2024-07-16", "2", "Semotilus atromaculatus", "4", "1", "40", "0", "615"),
    ("MILL-02", "2024-07-16", "3", "no fish", "0", "", "", "", "600"),
)


def season_schema() -> dict[str, Any]:
    """The Table Schema: one field per column, with type, meaning, unit and limits."""
    return {
        "profile": "tabular-data-resource",
        "title": "Season file: one row per taxon and pass",
        "fields": [_field(column) for column in SEASON_FILE],
        "missingValues": [""],
        "primaryKey": ["station", "visit_date", "pass", "taxon"],
    }


def _field(column: Column) -> dict[str, Any]:
    listed = f": {', '.join(column.list_words)}" if column.list_words else ""
    words = [f"{column.meaning}{listed}."]
    if column.scope != ROW:
        words.append(_SAME_ON[column.scope])
    found: dict[str, Any] = {"name": column.name, "type": column.kind, "description": " ".join(words)}
    if column.kind == "date":
        found["format"] = "default"
    if column.kind == "time":
        found["format"] = "any"  # with or without the seconds
    if column.unit:
        found["unit"] = column.unit
    found["example"] = column.example
    constraints: dict[str, Any] = {}
    if column.required:
        constraints["required"] = True
    low, high = column.hard
    if low is not None:
        constraints["minimum"] = low
    if high is not None:
        constraints["maximum"] = high
    if column.words:
        constraints["enum"] = list(column.words)
    if constraints:
        found["constraints"] = constraints
    return found


def schema_text() -> str:
    return json.dumps(season_schema(), indent=2, ensure_ascii=False) + "\n"


def example_text() -> str:
    """A small season file that shows the layout: three passes, the last without fish."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    names = [
        "station",
        "visit_date",
        "pass",
        "taxon",
        "count",
        "young_of_year",
        "biomass_g",
        "anomalies",
        "effort_s",
    ]
    visit = {"reach_length_m": "75", "mean_width_m": "3.4", "stop_nets": "both", "water_temp_c": "18.5"}
    writer.writerow([*names, *visit])
    writer.writerows([*row, *visit.values()] for row in _EXAMPLE_ROWS)
    return out.getvalue()


if __name__ == "__main__":
    SCHEMA_FILE.write_text(schema_text(), encoding="utf-8")
