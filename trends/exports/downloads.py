"""Files of the open data page: made when asked for, kept for a minute, the same bytes for the same records.

Kept by each server process in a folder that goes with it. A taxon marked as sensitive leaves the files
within that minute, as it leaves every other answer that may be kept.
"""

import hashlib
import json
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from django.utils import timezone

from surveys.said import marked
from trends.exports.data_package import write_package
from trends.exports.dwca_archive import write_archive
from trends.exports.publishers import county_publisher
from trends.exports.tables import table_schema, write_csv
from trends.exports.trends import COLUMNS as TREND_COLUMNS
from trends.exports.trends import trend_rows
from trends.exports.visits import KEY, visit_columns, visit_rows

FRESH_S = 60
CSV, ZIP, JSON = "text/csv; charset=utf-8; header=present", "application/zip", "application/json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Download:
    """One file: its name, what is in it, and how it is made."""

    name: str
    content_type: str
    title: str
    text: str
    write: Callable[[Path], object]
    # The description of a table stands beside it and is not listed by itself.
    beside: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    path: Path
    etag: str
    at: float


def _visits(path: Path) -> None:
    with path.open("w", encoding="utf-8", newline="") as target:
        write_csv(target, visit_columns(public=True), visit_rows(public=True))


def _trends(path: Path) -> None:
    with path.open("w", encoding="utf-8", newline="") as target:
        write_csv(target, TREND_COLUMNS, trend_rows(public=True))


def _dictionary(path: Path, schema: dict[str, object]) -> None:
    path.write_text(json.dumps(schema, ensure_ascii=False, indent=2) + "\n", encoding="utf-8")


DOWNLOADS = (
    Download(
        name="package.zip",
        content_type=ZIP,
        title=marked("Everything, as a data package"),
        text=marked(
            "All public tables with units, meaning and links between them (Frictionless data package)."
        ),
        write=lambda path: write_package(path, county_publisher(), today=timezone.localdate()),
    ),
    Download(
        name="visits.csv",
        content_type=CSV,
        title=marked("Visits"),
        text=marked("One row for each accepted visit, with every indicator and index metric."),
        write=_visits,
        beside="visits.schema.json",
    ),
    Download(
        name="trends.csv",
        content_type=CSV,
        title=marked("Trends"),
        text=marked("One row for each place and measure: verdict, slope with its limits, test, years."),
        write=_trends,
        beside="trends.schema.json",
    ),
    Download(
        name="archive.zip",
        content_type=ZIP,
        title=marked("Darwin Core archive"),
        text=marked(
            "Events, occurrences, measurements and survey facts, as museums and data networks exchange them."
        ),
        write=lambda path: write_archive(path, county_publisher(), today=timezone.localdate()),
    ),
)
DICTIONARIES = (
    Download(
        name="visits.schema.json",
        content_type=JSON,
        title=marked("Columns of visits.csv"),
        text=marked("Meaning, type and unit of each column (Table Schema)."),
        write=lambda path: _dictionary(path, table_schema(visit_columns(public=True), key=KEY)),
    ),
    Download(
        name="trends.schema.json",
        content_type=JSON,
        title=marked("Columns of trends.csv"),
        text=marked("Meaning, type and unit of each column (Table Schema)."),
        write=lambda path: _dictionary(path, table_schema(TREND_COLUMNS)),
    ),
)
BY_NAME = {one.name: one for one in (*DOWNLOADS, *DICTIONARIES)}

_kept: dict[str, Made] = {}
_folder: "tempfile.TemporaryDirectory[str] | None" = None
_busy = threading.Lock()


def made(download: Download) -> tuple[bytes, str]:
    """The file and its ETag, which is a fingerprint of the content. One file is made at a time."""
    global _folder
    with _busy:
        kept = _kept.get(download.name)
        if kept is None or time.monotonic() - kept.at >= FRESH_S:
            _folder = _folder or tempfile.TemporaryDirectory(prefix="open-data-")
            path = Path(_folder.name) / download.name
            download.write(path)
            with path.open("rb") as content:
                etag = hashlib.file_digest(content, "sha256").hexdigest()[:32]
            kept = _kept[download.name] = Made(path=path, etag=f'"{etag}"', at=time.monotonic())
        return kept.path.read_bytes(), kept.etag


def forget() -> None:
    """Make every file anew when it is next asked for."""
    _kept.clear()
