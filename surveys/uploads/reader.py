"""Bytes of a file -> a table of text. States what it accepts, and never guesses quietly. Pure code.

Accepted: UTF-8 with or without a byte-order mark; comma, semicolon or tab between the cells (RFC 4180
quoting); any of the three line ends; or the first sheet of an XLSX workbook. Line numbers are those a
spreadsheet shows: the headings are line 1, empty lines count, a quoted line break does not.
"""

import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import chain
from pathlib import PurePath

from surveys.said import marked, said
from surveys.uploads.findings import ERROR, NOTE, Finding, has_errors
from surveys.uploads.row_findings import no_heading, ragged, title_above
from surveys.uploads.workbook import OLD_WORKBOOK, ZIP, read_workbook
from surveys.uploads.workbook import read_sheets as read_workbook_sheets

TEXT_ENDINGS = (".csv", ".tsv", ".txt")
SEPARATORS = {",": marked("comma"), ";": marked("semicolon"), "\t": marked("tab")}
DEFAULT_LIMIT_BYTES = 20 * 1024 * 1024
DEFAULT_LIMIT_ROWS = 200_000
MOST_BAD_LINES = 20
_BLOCK = 4_096

csv.field_size_limit(1_000_000)


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """What was read: headings, and one list of texts per column, all of one length."""

    headings: tuple[str, ...] = ()
    columns: tuple[list[str], ...] = ()
    row_numbers: tuple[int, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def row_count(self) -> int:
        return len(self.row_numbers)

    @property
    def readable(self) -> bool:
        return not has_errors(self.findings)

    def row(self, position: int) -> list[str]:
        return [column[position] for column in self.columns]


_IN_PARTS = marked("Send it in parts, one season or one watershed at a time.")


def _too_many(rows: int, limit_rows: int) -> str:
    return said("The file has {rows} rows; the limit is {limit}.", rows=f"{rows:,}", limit=f"{limit_rows:,}")


def _refused(code: str, message: str, remedy: str) -> Table:
    return Table(findings=(Finding(level=ERROR, code=code, message=message, remedy=remedy),))


def too_large(size: int, limit_bytes: int) -> Finding:
    """The remark on a file beyond the size limit, which it names."""
    return Finding(
        level=ERROR,
        code="too_large",
        message=said(
            "The file has {size} MB; the limit is {limit} MB.",
            size=f"{size / 1024**2:,.1f}",
            limit=f"{limit_bytes / 1024**2:,.0f}",
        ),
        remedy=_IN_PARTS,
    )


def read_table(
    name: str,
    content: bytes,
    *,
    limit_bytes: int = DEFAULT_LIMIT_BYTES,
    limit_rows: int = DEFAULT_LIMIT_ROWS,
) -> Table:
    """Read a file into a table of text.

    Parameters
    ----------
    name : the file's name; its ending has to agree with its first bytes
    content : the file
    limit_bytes, limit_rows : beyond these it is refused [bytes, rows below the headings]

    Returns
    -------
    Table : with findings; without rows where the file could not be read
    """
    ending = PurePath(name).suffix.lower()
    if len(content) > limit_bytes:
        return Table(findings=(too_large(len(content), limit_bytes),))
    if not content.strip(b"\xef\xbb\xbf \t\r\n"):
        return _refused(
            "empty_file",
            marked("The file is empty."),
            marked("Check that the right file was saved and chosen."),
        )
    if ending == ".xlsx":
        rows, findings = read_workbook(content, limit_rows=limit_rows)
    elif ending in TEXT_ENDINGS:
        rows, findings = _read_text(content)
    elif ending in (".xlsm", ".xls", ".xlsb", ".ods"):
        return _refused(
            "wrong_ending",
            said("Workbooks ending in {written} are not read here.", written=ending),
            marked("Save it as .xlsx without macros, or as CSV (UTF-8)."),
        )
    else:
        return _refused(
            "wrong_ending",
            said("A file ending in {written} is not read here.", written=ending)
            if ending
            else marked("A file ending in nothing is not read here."),
            marked("Send a file that ends in .csv or .xlsx."),
        )
    if has_errors(findings):
        return Table(findings=tuple(findings))
    return _as_table(rows, findings, limit_rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class RawSheet:
    """One sheet as rows of text, before it is known which line holds the headings."""

    name: str
    rows: tuple[tuple[str, ...], ...]

    @property
    def first_line(self) -> int:
        """The first line with any content; 1 where there is none."""
        return next((n for n, row in enumerate(self.rows, start=1) if any(cell.strip() for cell in row)), 1)

    def table(self, heading_line: int) -> Table:
        """The sheet as a table whose headings stand in that line, or in it and the line below where its cells
        are merged over several columns; short rows are filled with blanks."""
        above: list[list[str]] = [[] for _ in range(heading_line - 1)]
        width = max((len(row) for row in self.rows), default=0)
        body = [[*row, *[""] * (width - len(row))] for row in self.rows[heading_line - 1 :]]
        if len(body) > 1 and (joined := _two_lines(body[0], body[1])):
            # The line stays as an empty one, so that every row keeps its number.
            body[:2] = [joined, [""] * width]
        if body:
            _name_last_columns(body)
        return _as_table([*above, *body], [], len(self.rows))


def _two_lines(upper: list[str], lower: list[str]) -> list[str] | None:
    """Headings of two lines as one, ``Pass 1`` over ``Number`` and ``Weight`` as ``Pass 1 Number``; None where
    the second line is no heading: it then holds figures, or stands under every heading like a row of data."""
    upper, lower = [cell.strip() for cell in upper], [cell.strip() for cell in lower]
    below = [position for position, cell in enumerate(lower) if cell]
    merged = [position for position in below if not upper[position] and position]
    alone = [position for position, cell in enumerate(upper) if cell and not lower[position]]
    # A row of data names its station, or whatever stands first.
    if (
        not merged
        or not alone
        or lower[min(alone[0], below[0])]
        or any(any(sign.isdigit() for sign in lower[position]) for position in below)
    ):
        return None
    joined, over = list(upper), ""
    for position, cell in enumerate(upper):
        over = cell or over
        if lower[position]:
            joined[position] = f"{over} {lower[position]}".strip()
    return joined


def _name_last_columns(body: list[list[str]]) -> None:
    """Columns with values right of the last heading are named by their number instead of being an error."""
    headings = body[0]
    last = max((position for position, cell in enumerate(headings) if cell.strip()), default=-1)
    for position in range(last + 1, len(headings)):
        if last >= 0 and any(row[position].strip() for row in body[1:]):
            headings[position] = f"(column {position + 1})"


def read_sheets(
    name: str,
    content: bytes,
    *,
    limit_bytes: int = DEFAULT_LIMIT_BYTES,
    limit_rows: int = DEFAULT_LIMIT_ROWS,
) -> tuple[tuple[RawSheet, ...], tuple[Finding, ...]]:
    """Every sheet of a file of another layout, by the same rules and limits as ``read_table``."""
    ending = PurePath(name).suffix.lower()
    if ending == ".xlsx" and len(content) <= limit_bytes:
        read, found = read_workbook_sheets(content, limit_rows=limit_rows)
        sheets = tuple(
            RawSheet(name=title, rows=tuple(map(tuple, rows)))
            for title, rows in read
            if any(cell.strip() for row in rows for cell in row)
        )
        if not sheets and not found:
            message, remedy = marked("The workbook has no cell with content."), marked("Check the file.")
            found = list(_refused("empty_file", message, remedy).findings)
        return sheets, tuple(found)
    if ending not in TEXT_ENDINGS or len(content) > limit_bytes or not content.strip():
        return (), read_table(name, content, limit_bytes=limit_bytes).findings
    rows, findings = _read_text(content)
    kept = tuple(tuple(row) for row in rows)
    if len(kept) > limit_rows:
        remedy = marked("Send it in parts, one season at a time.")
        return (), _refused("too_many_rows", _too_many(len(kept), limit_rows), remedy).findings
    if has_errors(findings):
        return (), tuple(findings)
    return (RawSheet(name=PurePath(name).stem, rows=kept),), tuple(findings)


def _read_text(content: bytes) -> tuple[Iterable[list[str]], list[Finding]]:
    if problem := _not_text(content):
        return [], [problem]
    body = content.removeprefix(b"\xef\xbb\xbf")
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError:
        return [], _encoding_findings(body)
    separator, body_text, findings = _separator(text)
    above: list[list[str]] = [] if body_text is text else [[]]
    reader = csv.reader(io.StringIO(body_text, newline=""), delimiter=separator, strict=True)
    return _paired_rows(chain(above, reader), findings), findings


def _paired_rows(rows: Iterable[list[str]], findings: list[Finding]) -> Iterator[list[str]]:
    """The rows up to the first one whose quotation marks do not pair up, which is remarked on."""
    number = 0
    try:
        for row in rows:
            number += 1
            yield row
    except csv.Error:
        findings.append(
            Finding(
                level=ERROR,
                code="bad_quotes",
                row=number + 1,
                message=marked("From this row on the quotation marks do not pair up."),
                remedy=marked('Close every quotation mark, and write a mark inside a text twice ("").'),
            )
        )


def _not_text(content: bytes) -> Finding | None:
    if content.startswith((ZIP, OLD_WORKBOOK)):
        return Finding(
            level=ERROR,
            code="ending_disagrees",
            message=marked("The name says text, but the content is a workbook."),
            remedy=marked("Give it a name that ends in .xlsx, or save it as CSV (UTF-8)."),
        )
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return Finding(
            level=ERROR,
            code="encoding",
            row=1,
            message=marked("The text is in UTF-16 from line 1 on."),
            remedy=marked("Save it again as 'CSV UTF-8'."),
        )
    if b"\x00" in content or content.startswith((b"%PDF", b"\x89PNG", b"\xff\xd8\xff", b"GIF8")):
        return Finding(
            level=ERROR,
            code="not_a_table",
            message=marked("The file is not a table of text: it holds bytes that no text has."),
            remedy=marked("Save the table as CSV (UTF-8) or XLSX and send that file."),
        )
    return None


def _encoding_findings(body: bytes) -> list[Finding]:
    """Every line that is not UTF-8, so that the person sees at once how much is concerned."""
    bad: list[Finding] = []
    more = 0
    for number, line in enumerate(body.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n"), start=1):
        try:
            line.decode("utf-8")
        except UnicodeDecodeError as error:
            if len(bad) >= MOST_BAD_LINES:
                more += 1
                continue
            before = line[max(0, error.start - 20) : error.start].decode("utf-8", "replace")
            bad.append(
                Finding(
                    level=ERROR,
                    code="encoding",
                    row=number,
                    value=f"{before}?",
                    message=said(
                        "Line {number} is not in UTF-8: a letter after {written} cannot be read.",
                        number=number,
                        written=repr(before),
                    ),
                    remedy=marked("Save the file again as 'CSV UTF-8'; no letter is guessed here."),
                )
            )
    if more:
        message = said("{number} more lines are not written in UTF-8.", number=f"{more:,}")
        bad.append(replace(bad[-1], row=None, value="", message=message))
    return bad


def _separator(text: str) -> tuple[str, str, list[Finding]]:
    """Which sign separates the cells: the one that cuts the first written line into most cells."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    if first.lower().startswith("sep=") and len(first) == 5 and first[4] in SEPARATORS:
        separator, body = first[4], text[text.index(first) + len(first) :].lstrip("\r").removeprefix("\n")
    else:
        body = text
        separator = max(SEPARATORS, key=lambda sign: len(next(csv.reader([first], delimiter=sign), [])))
    findings = []
    if separator != ",":
        findings.append(
            Finding(
                level=NOTE,
                code="separator",
                message=said(
                    "The cells are separated by a {sign}; read as such.", sign=SEPARATORS[separator]
                ),
                remedy=marked("Nothing to do. Numbers still need a decimal point."),
            )
        )
    return separator, body, findings


def _as_table(rows: Iterable[list[str]], findings: list[Finding], limit_rows: int) -> Table:
    """Headings, then rows of equal length; empty rows are passed over and still counted.

    Rows are turned into columns block by block, so that a long file never exists as a list of rows.
    """
    numbered = enumerate(rows, start=1)
    top, headings = next(
        ((number, row) for number, row in numbered if any(cell.strip() for cell in row)), (0, [])
    )
    headings = [cell.strip() for cell in headings]
    if not headings:
        return _refused(
            "empty_file",
            marked("The file has no cell with content."),
            marked("Check that the right file was chosen."),
        )
    while not headings[-1]:
        headings.pop()
    width = len(headings)
    columns: tuple[list[str], ...] = tuple([] for _ in headings)
    numbers: list[int] = []
    block: list[list[str]] = []
    for number, row in numbered:
        if not numbers and (problem := title_above(top, headings, number, row)):
            return Table(headings=(), columns=(), row_numbers=(), findings=(*findings, problem))
        if len(row) != width:
            if any(cell.strip() for cell in row[width:]) or len(row) < width:
                if any(cell.strip() for cell in row):
                    findings.append(ragged(number, len(row), width))
                continue
            row = row[:width]
        if not row[0].strip() and not any(cell.strip() for cell in row):
            continue
        block.append(row)
        numbers.append(number)
        if len(block) == _BLOCK:
            _append(columns, block)
    _append(columns, block)
    if len(numbers) > limit_rows:
        return _refused("too_many_rows", _too_many(len(numbers), limit_rows), _IN_PARTS)
    if not numbers and not has_errors(findings):
        findings.append(
            Finding(
                level=ERROR,
                code="only_headings",
                message=marked("There are headings but no row below them."),
                remedy=marked(
                    "Check that the right sheet was saved: only the first sheet of a workbook is read."
                ),
            )
        )
    findings += [
        no_heading(top, i + 1) for i, h in enumerate(headings) if not h and any(map(str.strip, columns[i]))
    ]
    return Table(
        headings=tuple(headings), columns=columns, row_numbers=tuple(numbers), findings=tuple(findings)
    )


def _append(columns: tuple[list[str], ...], block: list[list[str]]) -> None:
    for column, cells in zip(columns, zip(*block, strict=True), strict=bool(block)):
        column.extend(cells)
    block.clear()
