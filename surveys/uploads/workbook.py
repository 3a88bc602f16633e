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

from python_calamine import CalamineError, CalamineWorkbook, SheetTypeEnum, SheetVisibleEnum

from surveys.said import said
from surveys.uploads.findings import ERROR, NOTE, Finding
from surveys.uploads.stored_results import StoredResults, column_number, findings, parts_in_order

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

_FAR_CELL = re.compile(rb"""\br\s*=\s*["']([A-Z]{2,3})?([0-9]*)["']""")
# Spreadsheet programs write the last rows of the grid without a cell where whole columns have a format.
_EMPTY_ROW = re.compile(rb"<row\s[^<>]*/>|<row\s[^<>]*[^<>/]>\s*</row>")
_SHEET_REFERENCE = re.compile(rb"""\br\s*=\s*["'](?:[A-Z]{3,}[0-9]+|&)""")


def read_workbook(content: bytes, *, limit_rows: int) -> tuple[Iterable[list[str]], list[Finding]]:
    """Rows of the first sheet, every cell as text, and what was found."""
    inside = _Inside()
    if problem := _refusal(content, limit_rows, inside):
        return [], [problem]
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(content))
        first = _first_seen(book)
        rows = book.get_sheet_by_index(first).to_python(skip_empty_area=False)
    except (CalamineError, IndexError, ValueError):
        return [], [_broken()]
    stored = inside.of_sheet(first)
    told = findings(stored)
    if len(book.sheet_names) > 1:
        told.append(_other_sheets(book.sheet_names, first))
    if any(one.errors for one in stored):
        as_text = [[_as_text(cell) for cell in row] for row in rows]
        for one in stored:
            one.put_into(as_text)
        return as_text, told
    return ([_as_text(cell) for cell in row] for row in rows), told


def _first_seen(book: CalamineWorkbook) -> int:
    """The first sheet of cells that a person who opens the workbook can see."""
    for number, sheet in enumerate(book.sheets_metadata):
        if sheet.typ == SheetTypeEnum.WorkSheet and sheet.visible == SheetVisibleEnum.Visible:
            return number
    return 0


@dataclass(slots=True)
class _Inside:
    """What the XML says of stored results, by the part that holds a sheet, and the parts sheet by sheet."""

    parts: dict[str, StoredResults] = field(default_factory=dict)
    order: list[str] = field(default_factory=list)

    def of_sheet(self, number: int) -> list[StoredResults]:
        part = self.order[number] if number < len(self.order) else ""
        # A sheet whose part cannot be told has whatever any of them has.
        return [self.parts[part]] if part in self.parts else list(self.parts.values())


def read_sheets(
    content: bytes, *, limit_rows: int
) -> tuple[list[tuple[str, list[list[str]]]], list[Finding]]:
    """Every sheet with its name and its rows of text; formulas are read as the values stored with them."""
    inside = _Inside()
    if problem := _refusal(content, limit_rows, inside):
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
        for number, name in enumerate(book.sheet_names):
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
            as_text = [[_as_text(cell) for cell in row] for row in read]
            if len(stored := inside.of_sheet(number)) == 1:
                stored[0].put_into(as_text)
            sheets.append((name, as_text))
    except (CalamineError, ValueError):
        return [], [_broken()]
    return sheets, findings(inside.parts.values())


def _other_sheets(names: list[str], read: int) -> Finding:
    place = {"n": len(names), "written": f"“{names[read]}”"}
    return Finding(
        level=NOTE,
        code="other_sheets",
        message=said(
            "The workbook has {n} sheets; only the first that is not hidden, {written}, was read.", **place
        )
        if read
        else said("The workbook has {n} sheets; only the first, {written}, was read.", **place),
        remedy=said(
            "Where the others hold visits, passes or catches too, send the workbook as an older file (Upload, "
            "“Older files”): there each sheet is read with headings of its own."
        ),
    )


def _refusal(content: bytes, limit_rows: int, inside: _Inside) -> Finding | None:
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
            return _entries_refusal(archive, limit_rows, inside)
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError, ValueError):
        return _broken()


def _entries_refusal(archive: zipfile.ZipFile, limit_rows: int, inside: _Inside) -> Finding | None:
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
                inside.parts.setdefault(entry.filename, StoredResults()).look_at(xml)
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
    inside.order = parts_in_order(archive)
    return None


def _fits(xml: bytes, limit_rows: int) -> bool:
    """Whether the corner cell a sheet names leaves a grid that fits into memory."""
    if b"\x00" in xml or _SHEET_REFERENCE.search(xml):
        return False
    columns, rows = 26, 1
    for found in _FAR_CELL.finditer(_EMPTY_ROW.sub(b"", xml)):
        letters, number = found.groups()
        if letters:
            columns = max(columns, column_number(letters))
        if number and len(number) > 9:
            return False
        if number:
            rows = max(rows, int(number))
    return columns * rows <= MOST_CELLS and rows <= 5 * limit_rows


def _as_text(cell: object) -> str:
    """What a person would type for a cell: 3.0 is 3, a day is YYYY-MM-DD."""
    if isinstance(cell, str):
        return cell
    if isinstance(cell, bool):
        return str(cell).upper()  # as the sheet shows it: TRUE is a mark, and no count
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
