"""What a person sees of a plan before saying yes: remarks by row, visits with what is odd about each,
and the rows to mend as a file. Reads nothing and writes nothing."""

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from surveys.uploads.findings import ERROR, WARNING, Finding, in_order
from surveys.uploads.plan import Plan
from surveys.uploads.reader import Table

# Signs that make a spreadsheet take a cell for a formula.
_FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")


@dataclass(frozen=True, slots=True, kw_only=True)
class RowRemarks:
    """All remarks on one line of the file; ``row`` is None for the file as a whole."""

    row: int | None
    findings: tuple[Finding, ...]

    @property
    def level(self) -> str:
        return self.findings[0].level


def by_row(findings: Iterable[Finding]) -> list[RowRemarks]:
    """Remarks on the file first, then line by line; within a line the gravest first."""
    return [
        RowRemarks(row=row, findings=tuple(of_row))
        for row, of_row in groupby(in_order(findings), key=lambda finding: finding.row)
    ]


def warnings_by_visit(plan: Plan) -> dict[int, list[str]]:
    """What a reviewer should look at, by the number of the visit in the file."""
    return {
        visit: [finding.message for finding in findings]
        for visit, findings in questions_by_visit(plan).items()
    }


def questions_by_visit(plan: Plan) -> dict[int, list[Finding]]:
    """The warnings that ask something of a visit, by its number in the file."""
    if plan.rows is None:
        return {}
    lines = np.array(plan.rows.table.row_numbers)
    found: dict[int, list[Finding]] = {}
    for finding in plan.findings:
        if finding.level == WARNING and finding.row is not None and finding.code != "visit_held":
            at = int(np.searchsorted(lines, finding.row))
            if at < len(lines) and lines[at] == finding.row:
                found.setdefault(int(plan.rows.visit_of_row[at]), []).append(finding)
    return found


def safe_cell(text: str) -> str:
    """A cell that no spreadsheet runs as a formula; plain numbers stay as they are."""
    if not text.startswith(_FORMULA_SIGNS):
        return text
    try:
        float(text)
    except ValueError:
        return "'" + text
    return text


def rows_to_mend(table: Table, findings: Iterable[Finding]) -> str:
    """The rows that carry an error or a warning, as they came, with a column of remarks (CSV)."""
    remarks: dict[int, list[str]] = {}
    for finding in findings:
        if finding.row is not None and finding.level in (ERROR, WARNING):
            column = f"{finding.column}: " if finding.column else ""
            remarks.setdefault(finding.row, []).append(f"{column}{finding.message} {finding.remedy}".strip())
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(["row", *(safe_cell(heading) for heading in table.headings), "remarks"])
    for position, line in enumerate(table.row_numbers):
        if line in remarks:
            cells = [safe_cell(cell) for cell in table.row(position)]
            writer.writerow([line, *cells, safe_cell(" | ".join(remarks[line]))])
    return out.getvalue()
