"""What a person sees of a plan before saying yes: remarks by row, visits with what is odd about each,
and the file with its remarks. Reads nothing and writes nothing."""

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from surveys.uploads.findings import ERROR, WARNING, Finding, in_order
from surveys.uploads.plan import Plan
from surveys.uploads.reader import Table
from surveys.uploads.row_findings import OF_HEADINGS
from surveys.uploads.values import guarded


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
    try:
        float(text)
    except ValueError:
        return guarded(text)
    return text


def with_remarks(table: Table, findings: Iterable[Finding]) -> str:
    """Every row as it came, with a column of remarks (CSV).

    Rows without a remark are there as well: what is put right and sent again has to be the whole of a visit. A
    row that could not be taken apart has its number and its remark alone, so that it is asked for.
    """
    remarks: dict[int, list[str]] = {}
    for finding in findings:
        if finding.row is not None and finding.level in (ERROR, WARNING) and finding.code not in OF_HEADINGS:
            column = f"{finding.column}: " if finding.column else ""
            remarks.setdefault(finding.row, []).append(f"{column}{finding.message} {finding.remedy}".strip())
    cells = {line: table.row(position) for position, line in enumerate(table.row_numbers)}
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    row, said = (_free(name, table.headings) for name in ("row", "remarks"))
    writer.writerow([row, *(safe_cell(heading) for heading in table.headings), said])
    blank = [""] * len(table.headings)
    for line in sorted(cells.keys() | remarks.keys()):
        words = safe_cell(" | ".join(remarks.get(line, ())))
        writer.writerow([line, *map(safe_cell, cells.get(line, blank)), words])
    return out.getvalue()


def _free(name: str, headings: Iterable[str]) -> str:
    """A heading that the file does not have already."""
    taken = {heading.casefold() for heading in headings}
    while name in taken:
        name += "_"
    return name
