"""What the XML of a workbook says of its cells that reading their values alone would lose: formulas without a
stored result, results that are errors, and which part holds which sheet. Pure code."""

import html
import re
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import PurePosixPath

from surveys.said import said, said_n
from surveys.uploads.findings import ERROR, NOTE, Finding

_FORMULA = re.compile(rb"<f[ >/]")
_STORED = re.compile(rb"<v[^>/]*>[^<]|<t[^>/]*>[^<]")
_CELL_PLACE = re.compile(rb"""\br\s*=\s*["']([A-Z]+)([0-9]+)""")
_ERROR = re.compile(rb"""<c\s[^>]*\bt\s*=\s*["']e["'](?:[^>]*[^/>])?>""")
_VALUE = re.compile(rb"<v[^>]*>([^<]*)</v>")
_SHEET = re.compile(rb"<(?:\w+:)?sheet\s[^>]*>")
_RELATION = re.compile(rb"<(?:\w+:)?Relationship\s[^>]*>")
_ATTRIBUTE = re.compile(rb"""([\w:]+)\s*=\s*(?:"([^"]*)"|'([^']*)')""")

Place = tuple[int, int]  # row and column, counted from 0


@dataclass(slots=True)
class StoredResults:
    """The cells of one sheet that hold formulas or errors. No formula is ever worked out: what the spreadsheet
    program stored beside it is read, and a formula with nothing stored would pass for an empty cell. So would an
    error, which is why it is kept as the text that the spreadsheet shows."""

    formulas: int = 0
    without_value: list[str] = field(default_factory=list)
    errors: dict[Place, str] = field(default_factory=dict)

    def look_at(self, xml: bytes) -> None:
        for found in _FORMULA.finditer(xml):
            start = xml.rfind(b"<c ", 0, found.start())
            cell = xml[start : xml.find(b"</c>", found.start())]
            self.formulas += 1
            if not _STORED.search(cell):
                place = _CELL_PLACE.search(cell)
                self.without_value.append((place[1] + place[2]).decode() if place else "?")
        for found in _ERROR.finditer(xml):
            place = _CELL_PLACE.search(found[0])
            value = _VALUE.search(xml, found.end(), xml.find(b"</c>", found.end()) + 1)
            if place and value:
                at = int(place[2]) - 1, column_number(place[1]) - 1
                self.errors[at] = html.unescape(value[1].decode("utf-8", "replace")).strip()

    def put_into(self, rows: list[list[str]]) -> None:
        """Write each error into its cell.

        Below the last row with anything else stand formulas that were filled down ahead of the data: such rows are
        empty, unless their first column failed as well, which may be a row that came from another sheet.
        """
        filled = [(number, cells) for number, cells in enumerate(rows) if any(map(str.strip, cells))]
        last = filled[-1][0] if filled else -1
        first = min(
            (next(i for i, cell in enumerate(cells) if cell.strip()) for _, cells in filled), default=0
        )
        for (row, column), text in self.errors.items():
            if row < len(rows) and (row <= last or (row, first) in self.errors):
                cells = rows[row]
                cells.extend([""] * (column + 1 - len(cells)))
                cells[column] = text


def findings(sheets: Iterable[StoredResults]) -> list[Finding]:
    """What is to be said of the formulas of the sheets that are read."""
    sheets = list(sheets)
    without = [cell for sheet in sheets for cell in sheet.without_value]
    if without:
        return [
            Finding(
                level=ERROR,
                code="formula_without_value",
                message=said_n(
                    "{n} cell holds a formula without a stored result (first {cell}); formulas are not "
                    "worked out here.",
                    "{n} cells hold formulas without a stored result (first {cell}); formulas are not "
                    "worked out here.",
                    len(without),
                    cell=without[0],
                ),
                remedy=said(
                    "Open the workbook in a spreadsheet program and save it, or paste the values over the "
                    "formulas."
                ),
            )
        ]
    number = sum(sheet.formulas for sheet in sheets)
    if not number:
        return []
    return [
        Finding(
            level=NOTE,
            code="formulas",
            message=said_n(
                "{n} cell holds a formula; the results stored with them were read, nothing was worked out.",
                "{n} cells hold formulas; the results stored with them were read, nothing was worked out.",
                number,
            ),
            remedy=said("Look whether the results are up to date in the workbook."),
        )
    ]


def column_number(letters: bytes) -> int:
    """A is 1, AA is 27."""
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number


def parts_in_order(archive: zipfile.ZipFile) -> list[str]:
    """The part of the archive that holds each sheet, in the order of the workbook; "" where none is named."""
    names = {name.lower(): name for name in archive.namelist()}
    try:
        book = archive.read(names["xl/workbook.xml"])
        relations = archive.read(names["xl/_rels/workbook.xml.rels"])
    except KeyError:
        return []
    targets = {}
    for found in _RELATION.finditer(relations):
        said_of = _attributes(found[0])
        target = PurePosixPath("/xl") / said_of.get("Target", "")
        targets[said_of.get("Id", "")] = str(target).lstrip("/")
    order = []
    for found in _SHEET.finditer(book):
        keys = (value for name, value in _attributes(found[0]).items() if name.endswith(":id"))
        order.append(targets.get(next(keys, ""), ""))
    return order


def _attributes(tag: bytes) -> dict[str, str]:
    return {
        name.decode(): html.unescape((double or single).decode("utf-8", "replace"))
        for name, double, single in _ATTRIBUTE.findall(tag)
    }
