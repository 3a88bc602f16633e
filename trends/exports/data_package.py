"""The whole public data set as a Frictionless data package: tables, their meaning, licence, sources.

Form: Data Package and Table Schema, version 1, as a zip file with ``datapackage.json`` in its root.
"""

import csv
import datetime
import hashlib
import io
import json
import tempfile
import zipfile
from pathlib import Path
from typing import Any

from surveys.withholding import STATEMENT
from trends.exports.eml import WARNING
from trends.exports.package_tables import TABLES, Table
from trends.exports.publishers import Publisher
from trends.exports.sources import LICENSE_NAME, LICENSE_URL
from trends.exports.tables import cell, table_schema, write_csv
from trends.exports.zips import add
from trends.public_figures import NUMBERS_THERE

MISSING = "A number that could not be made is empty, never 0; where there is a reason it stands beside it."
ESCAPED = "Text that a spreadsheet could run as a formula has an apostrophe in front; numbers never do."


def write_package(path: Path, publisher: Publisher, *, today: datetime.date) -> dict[str, int]:
    """Write the package; the file appears under its name only when it is complete.

    Returns
    -------
    dict : rows of each table by its name
    """
    counts: dict[str, int] = {}
    resources = []
    part = path.with_name(f".{path.name}.part")
    with tempfile.TemporaryDirectory() as folder:
        for table in TABLES:
            file = Path(folder) / f"{table.name}.csv"
            with file.open("w", encoding="utf-8", newline="") as target:
                counts[table.name] = write_csv(target, table.columns, table.rows())
            resources.append(_resource(table, file))
        document = json.dumps(_descriptor(publisher, resources, today), ensure_ascii=False, indent=2)
        try:
            with zipfile.ZipFile(part, "w") as archive:
                add(archive, "datapackage.json", f"{document}\n", today)
                add(archive, "README.txt", _readme(publisher, counts, today), today)
                add(archive, "data-dictionary.csv", _dictionary(), today)
                for table in TABLES:
                    add(archive, f"data/{table.name}.csv", Path(folder) / f"{table.name}.csv", today)
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)
    return counts


def _resource(table: Table, file: Path) -> dict[str, Any]:
    schema = table_schema(table.columns, key=table.key)
    schema["foreignKeys"] = [
        {"fields": list(own), "reference": {"resource": other, "fields": list(theirs)}}
        for own, other, theirs in table.links
    ]
    with file.open("rb") as content:
        fingerprint = hashlib.file_digest(content, "sha256").hexdigest()
    return {
        "name": table.name,
        "title": table.summary,
        "path": f"data/{table.name}.csv",
        "profile": "tabular-data-resource",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "dialect": {"delimiter": ",", "lineTerminator": "\r\n", "quoteChar": '"', "header": True},
        "bytes": file.stat().st_size,
        "hash": f"sha256:{fingerprint}",
        "schema": schema,
    }


def _descriptor(
    publisher: Publisher, resources: list[dict[str, Any]], today: datetime.date
) -> dict[str, Any]:
    contents = hashlib.sha256("".join(one["hash"] for one in resources).encode()).hexdigest()
    return {
        "profile": "tabular-data-package",
        "name": "stream-fish-surveys",
        "id": publisher.identifier("data package", contents),
        "title": publisher.title,
        "description": " ".join((MISSING, ESCAPED, STATEMENT, NUMBERS_THERE, WARNING)),
        "version": f"{today:%Y.%m.%d}+{contents[:12]}",
        "created": f"{today.isoformat()}T00:00:00Z",
        "licenses": [{"name": "CC-BY-4.0", "path": LICENSE_URL, "title": LICENSE_NAME}],
        "sources": [
            {"title": f"Field records of {publisher.organization}, as accepted by {today.isoformat()}"}
        ],
        "contributors": [{"title": publisher.organization, "role": "publisher"}],
        "keywords": ["stream fish", "electrofishing", "monitoring"],
        "resources": resources,
    }


def _dictionary() -> str:
    """Every column of every table with its unit and meaning, to read without a program."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(["table", "column", "type", "unit", "meaning"])
    for table in TABLES:
        for column in table.columns:
            row = (table.name, column.key, column.kind, column.unit, column.text)
            writer.writerow([cell(one) for one in row])
    return text.getvalue()


def _readme(publisher: Publisher, counts: dict[str, int], today: datetime.date) -> str:
    lines = [
        publisher.title,
        f"Published by {publisher.organization}, {today.isoformat()}, under {LICENSE_NAME} ({LICENSE_URL}).",
        "",
        f"Cite as: {publisher.organization} ({today.year}). {publisher.title}. Export of {today}.",
        "",
        "A data package: datapackage.json describes each table, data-dictionary.csv each column with its unit.",
        *(f"data/{t.name}.csv: {counts[t.name]} rows. {t.summary}." for t in TABLES),
        "",
        MISSING,
        ESCAPED,
        STATEMENT,
        NUMBERS_THERE,
        "",
        WARNING,
    ]
    return "\r\n".join(lines) + "\r\n"
