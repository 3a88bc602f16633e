"""The first sheet of an XLSX workbook as rows of text, opened only after its inside has been found
harmless. Pure code.

A workbook is a zip archive of XML files, and a few kilobytes can unpack to gigabytes, or claim a cell
in the last corner of the grid. Sizes are therefore checked by unpacking in a stream first.
"""

import datetime
import io
import re
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import PurePosixPath

from python_calamine import CalamineError, CalamineWorkbook

from surveys.said import said, said_n
from surveys.uploads.findings import ERROR, NOTE, Finding

ZIP = b"PK\x03\x04"
OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"

MOST_ENTRIES = 500
MOST_UNPACKED_BYTES = 250 * 1024 * 1024
MOST_CELLS = 12_000_000
MOST_SHEETS = 40
_CHUNK = 1 << 20

# A document type may declare entities that unfold without end or fetch other files. The rules of the format
# (ECMA-376 part 2, from memory) forbid one in any part. It can stand before the first element alone.
_DECLARED = b"<!DOCTYPE"

_FORMULA = re.compile(rb"<f[ >/]")
_STORED = re.compile(rb"<v[^>/]*>[^<]|<t[^>/]*>[^<]")
_CELL_PLACE = re.compile(rb"""\br\s*=\s*["']([A-Z]+[0-9]+)""")

_FAR_CELL = re.compile(rb"""\br\s*=\s*["']([A-Z]{2,3})?([0-9]*)["']""")
_SHEET_REFERENCE = re.compile(rb"""\br\s*=\s*["'](?:[A-Z]{3,}[0-9]+|&)""")


def read_workbook(content: bytes, *, limit_rows: int) -> tuple[Iterable[list[str]], list[Finding]]:
    """Rows of the first sheet, every cell as text, and what was found."""
    formulas = Formulas()
    if problem := _refusal(content, limit_rows, formulas):
        return [], [problem]
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(content))
        rows = book.get_sheet_by_index(0).to_python(skip_empty_area=False)
    except (CalamineError, IndexError, ValueError):
        return [], [_broken()]
    told = formulas.findings()
    if len(book.sheet_names) > 1:
        told.append(_other_sheets(book.sheet_names))
    return ([_as_text(cell) for cell in row] for row in rows), told


def read_sheets(
    content: bytes, *, limit_rows: int
) -> tuple[list[tuple[str, list[list[str]]]], list[Finding]]:
    """Every sheet with its name and its rows of text; formulas are read as the values stored with them."""
    formulas = Formulas()
    if problem := _refusal(content, limit_rows, formulas):
        return [], [problem]
    sheets: list[tuple[str, list[list[str]]]] = []
    rows = 0
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(content))
        if len(book.sheet_names) > MOST_SHEETS:
            return [], [
                _error(
                    "too_many_sheets",
                    said(
                        "The workbook has {n} sheets; the limit is {most}.",
                        n=len(book.sheet_names),
                        most=MOST_SHEETS,
                    ),
                    said("Copy the sheets that hold the data into a new workbook."),
                )
            ]
        for name in book.sheet_names:
            read = book.get_sheet_by_name(name).to_python(skip_empty_area=False)
            rows += len(read)
            if rows > limit_rows:
                return [], [
                    _error(
                        "too_many_rows",
                        said("The workbook has more than {limit} rows.", limit=f"{limit_rows:,}"),
                        said("Send it in parts, one season or one watershed at a time."),
                    )
                ]
            sheets.append((name, [[_as_text(cell) for cell in row] for row in read]))
    except (CalamineError, ValueError):
        return [], [_broken()]
    return sheets, formulas.findings()


@dataclass(slots=True)
class Formulas:
    """The cells of a workbook that hold formulas. None is ever worked out: what the spreadsheet program stored
    beside it is read, and a formula with nothing stored would pass for an empty cell."""

    number: int = 0
    without_value: list[str] = field(default_factory=list)

    def look_at(self, xml: bytes) -> None:
        for found in _FORMULA.finditer(xml):
            start = xml.rfind(b"<c ", 0, found.start())
            cell = xml[start : xml.find(b"</c>", found.start())]
            self.number += 1
            if not _STORED.search(cell):
                place = _CELL_PLACE.search(cell)
                self.without_value.append(place[1].decode() if place else "?")

    def findings(self) -> list[Finding]:
        if self.without_value:
            many = len(self.without_value)
            return [
                _error(
                    "formula_without_value",
                    said_n(
                        "{n} cell holds a formula without a stored result (first {cell}); formulas are not "
                        "worked out here.",
                        "{n} cells hold formulas without a stored result (first {cell}); formulas are not "
                        "worked out here.",
                        many,
                        cell=self.without_value[0],
                    ),
                    said(
                        "Open the workbook in a spreadsheet program and save it, or paste the values over the "
                        "formulas."
                    ),
                )
            ]
        if not self.number:
            return []
        return [
            Finding(
                level=NOTE,
                code="formulas",
                message=said_n(
                    "{n} cell holds a formula; the results stored with them were read, nothing was worked out.",
                    "{n} cells hold formulas; the results stored with them were read, nothing was worked out.",
                    self.number,
                ),
                remedy=said("Look whether the results are up to date in the workbook."),
            )
        ]


def _other_sheets(names: list[str]) -> Finding:
    return Finding(
        level=NOTE,
        code="other_sheets",
        message=said(
            "The workbook has {n} sheets; only the first, {written}, was read.",
            n=len(names),
            written=f"“{names[0]}”",
        ),
        remedy=said(
            "Where the others hold visits, passes or catches too, send the workbook as an older file (Upload, "
            "“Older files”): there each sheet is read with headings of its own."
        ),
    )


def _refusal(content: bytes, limit_rows: int, formulas: Formulas) -> Finding | None:
    """Why the workbook must not be opened, or nothing."""
    if content.startswith(OLD_WORKBOOK):
        return _error(
            "locked_workbook",
            said("The workbook has a password, or is of the old .xls kind under a new name."),
            said("Save it as .xlsx without a password."),
        )
    if not content.startswith(ZIP):
        return _error(
            "ending_disagrees",
            said("The name ends in .xlsx, but the content is not a workbook."),
            said("Save the table as .xlsx, or give a text file a name that ends in .csv."),
        )
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            return _entries_refusal(archive, limit_rows, formulas)
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError, ValueError):
        return _broken()


def _entries_refusal(archive: zipfile.ZipFile, limit_rows: int, formulas: Formulas) -> Finding | None:
    entries = archive.infolist()
    names = [entry.filename for entry in entries]
    if any(entry.flag_bits & 0x1 for entry in entries):
        return _error(
            "locked_workbook", said("The workbook has a password."), said("Save it without a password.")
        )
    if any(name.lower().endswith("vbaproject.bin") for name in names):
        return _error(
            "macros", said("The workbook carries macros."), said("Save it as a plain .xlsx workbook.")
        )
    too_big = _error(
        "workbook_too_large",
        said(
            "Unpacked, the workbook is larger than {limit} MB or has too many parts.",
            limit=MOST_UNPACKED_BYTES // 1024**2,
        ),
        said("Copy the table alone into a new workbook, or save it as CSV (UTF-8)."),
    )
    if len(entries) > MOST_ENTRIES or sum(entry.file_size for entry in entries) > MOST_UNPACKED_BYTES:
        return too_big
    if len(set(names)) != len(names):
        return _broken()
    for entry in entries:
        sheet = entry.filename.lower().startswith("xl/worksheets/")
        with archive.open(entry) as stream:
            # Reading to the end also compares length and checksum with what the archive claims.
            if sheet:
                xml = stream.read()
                if not _fits(xml, limit_rows):
                    return _error(
                        "workbook_too_large",
                        said(
                            "A sheet names a cell beyond column ZZ, or spans more cells than are read here "
                            "({limit} million).",
                            limit=MOST_CELLS // 10**6,
                        ),
                        said(
                            "Copy the columns with the data into a new workbook, or save it as CSV (UTF-8)."
                        ),
                    )
                formulas.look_at(xml)
            else:
                xml = stream.read(_CHUNK)
                while stream.read(_CHUNK):
                    pass
            if _DECLARED in xml[:_CHUNK]:
                return _error(
                    "declarations",
                    said(
                        "The part {written} of the workbook declares words of its own (a document type), which "
                        "no spreadsheet program writes.",
                        written=PurePosixPath(entry.filename).name,
                    ),
                    said("Open the workbook in a spreadsheet program and save it again as .xlsx."),
                )
    if not any(name.lower() == "xl/workbook.xml" for name in names):
        return _broken()
    return None


def _fits(xml: bytes, limit_rows: int) -> bool:
    """Whether the corner cell a sheet names leaves a grid that fits into memory."""
    if b"\x00" in xml or _SHEET_REFERENCE.search(xml):
        return False
    columns, rows = 26, 1
    for found in _FAR_CELL.finditer(xml):
        letters, number = found.groups()
        if letters:
            columns = max(columns, _column_number(letters))
        if number and len(number) > 9:
            return False
        if number:
            rows = max(rows, int(number))
    return columns * rows <= MOST_CELLS and rows <= 5 * limit_rows


def _column_number(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number


def _as_text(cell: object) -> str:
    """What a person would type for a cell: 3.0 is 3, a day is YYYY-MM-DD."""
    if isinstance(cell, str):
        return cell
    if isinstance(cell, bool):
        return "1" if cell else "0"
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    if isinstance(cell, datetime.datetime):
        midnight = cell.time() == datetime.time()
        return cell.date().isoformat() if midnight else cell.isoformat(sep=" ")
    if isinstance(cell, datetime.date):
        return cell.isoformat()
    return str(cell)


def _error(code: str, message: str, remedy: str) -> Finding:
    return Finding(level=ERROR, code=code, message=message, remedy=remedy)


def _broken() -> Finding:
    return _error(
        "not_a_workbook",
        said("The workbook cannot be opened: it is damaged or of another kind."),
        said("Save it again as .xlsx."),
    )
