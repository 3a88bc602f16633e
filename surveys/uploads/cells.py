"""Columns of text -> columns of values. Each distinct text is read once, so that a long file costs
little more than a short one with the same vocabulary. Pure code."""

import difflib
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from surveys.rules import Rules
from surveys.said import marked, said
from surveys.uploads.columns import Column
from surveys.uploads.findings import ERROR, NOTE, WARNING, Finding
from surveys.uploads.reader import Table
from surveys.uploads.values import CellError, cell_text, fold

BLANK = -1
UNREADABLE = -2


@dataclass(frozen=True, slots=True)
class Cells:
    """One column: ``values`` are the distinct values, ``codes`` says which one each row has."""

    values: tuple[Any, ...]
    codes: NDArray[np.int64]  # shape (rows,); BLANK or UNREADABLE where there is no value

    @property
    def filled(self) -> NDArray[np.bool_]:
        return self.codes >= 0

    def numbers(self) -> NDArray[np.float64]:
        """Shape (rows,), NaN where there is no value."""
        return np.array([*self.values, np.nan, np.nan], dtype=float)[self.codes]

    def value(self, row: int) -> Any:
        code = self.codes[row]
        return self.values[code] if code >= 0 else None

    def at(self, rows: NDArray[np.int64]) -> list[Any]:
        """The values of some rows, None where there is none."""
        values = np.empty(len(self.values) + 2, dtype=object)
        for number, value in enumerate(self.values):
            values[number] = value  # one by one, because a value may itself be a tuple
        found: list[Any] = values[self.codes[rows]].tolist()
        return found

    def replaced(self, new: Mapping[int, Any]) -> "Cells":
        """The same rows, some of them with another value."""
        numbers = {value: number for number, value in enumerate(self.values)}
        codes = self.codes.copy()
        for row, value in new.items():
            codes[row] = numbers.setdefault(value, len(numbers))
        return Cells(tuple(numbers), codes)

    def mapped(self, new_values: Sequence[Any]) -> "Cells":
        """The same rows with each distinct value replaced; equal new values become one, None unreadable."""
        return _gathered(self.codes, new_values)


def _gathered(codes: NDArray[np.int64], values: Sequence[Any]) -> Cells:
    """Renumber so that equal values share one code."""
    numbers: dict[Any, int] = {}
    new = [UNREADABLE if v is None else numbers.setdefault(v, len(numbers)) for v in values]
    return Cells(tuple(numbers), np.array([*new, UNREADABLE, BLANK], dtype=np.int64)[codes])


def empty(rows: int) -> Cells:
    return Cells((), np.full(rows, BLANK, dtype=np.int64))


def read_columns(
    table: Table, wanted: Sequence[Column], rules: Rules | None = None
) -> tuple[dict[str, Cells], list[Finding], bool]:
    """Find each column by its heading and read its cells, by the limits in force or else by the defaults.

    Returns
    -------
    cells : by column name; a column that is not there is all blank
    findings : about headings and cells
    complete : whether every required column is there
    """
    places, findings = match_headings(table, wanted)
    complete = all(not column.required or column.name in places for column in wanted)
    cells: dict[str, Cells] = {}
    rules = rules or Rules()
    for column in wanted:
        if column.name in places:
            cells[column.name] = _read(column, table, table.columns[places[column.name]], findings)
            _ask(column, table, cells[column.name], rules, findings)
        else:
            cells[column.name] = empty(table.row_count)
    return cells, findings, complete


def _plain(text: str) -> str:
    return fold(text).replace(" ", "_").replace("-", "_")


def _heading(text: str) -> str:
    """A heading as it is compared: ``Biomass (g)`` is biomass_g, ``Conductivity, µS/cm`` is conductivity_us_cm."""
    # A share is not the number: "Anomalies (%)" is no count of fish.
    letters = fold(text).replace("μ", "u").replace("°", "").replace("%", " pct ")
    return re.sub(r"[\W_]+", "_", letters).strip("_") or letters


def _is_key(heading: str) -> bool:
    """The key of a row in another table (visit_id) is not the column that it looks like."""
    return _heading(heading).endswith("_id")


def match_headings(table: Table, wanted: Sequence[Column]) -> tuple[dict[str, int], list[Finding]]:
    """Which position each wanted column has, and what is odd about the headings."""
    known = {name: c.name for c in wanted for name in (*c.other_headings, c.name)}
    # Beside a heading that is spelled plainly, "Count %" is not a second count.
    plain = {known[name] for name in map(_plain, table.headings) if name in known}
    places: dict[str, int] = {}
    findings: list[Finding] = []
    twice: Counter[str] = Counter()
    unknown: list[str] = []
    for position, heading in enumerate(table.headings):
        if not heading:
            continue
        name = known.get(_plain(heading)) or known.get(_heading(heading))
        if name in plain and _plain(heading) not in known:
            name = None
        twice[name or _plain(heading)] += 1
        if name is None:
            unknown.append(heading)
        elif name not in places:
            places[name] = position
            if heading not in (name, *next(c.other_headings for c in wanted if c.name == name)):
                findings.append(
                    Finding(
                        level=NOTE,
                        code="heading_spelling",
                        column=name,
                        value=heading,
                        message=said(
                            "The heading {written} is read as {column}.", written=repr(heading), column=name
                        ),
                    )
                )
    if not places:
        needed = ", ".join(c.name for c in wanted if c.required)
        return places, [
            Finding(
                level=ERROR,
                code="not_a_table",
                value=", ".join(table.headings)[:200],
                message=marked("The first line has none of the column headings that are known here."),
                remedy=said("Put the headings in the first line; needed are {columns}.", columns=needed),
            )
        ]
    findings += [
        Finding(
            level=ERROR,
            code="duplicate_heading",
            column=key,
            message=said(
                "The heading {column} is there {number} times; which one counts is not guessed.",
                column=key,
                number=number,
            ),
            remedy=marked("Keep one of them, or rename the others."),
        )
        for key, number in twice.items()
        if number > 1
    ]
    missing = [c.name for c in wanted if c.required and c.name not in places]
    for name in missing:
        could_be = [_heading(u) for u in unknown if not _is_key(u)]
        near = difflib.get_close_matches(name, could_be, n=1, cutoff=0.7)
        findings.append(
            Finding(
                level=ERROR,
                code="missing_column",
                column=name,
                message=said("The column {column} is missing.", column=name),
                remedy=said(
                    "Rename {written} to {column}, if that is what it holds.",
                    written=repr(near[0]),
                    column=name,
                )
                if near
                else marked("Add it with this heading."),
            )
        )
    absent = [c.name for c in wanted if c.name not in places]
    for heading in dict.fromkeys(unknown):
        could_be = [] if _is_key(heading) else absent
        near = difflib.get_close_matches(_heading(heading), could_be, n=1, cutoff=0.75)
        findings.append(
            Finding(
                level=WARNING if near else NOTE,
                code="unknown_column",
                column=heading,
                message=said(
                    "The column {written} is not known here; it is passed over.", written=repr(heading)
                ),
                remedy=said("If {column} is meant, rename it.", column=near[0])
                if near
                else marked("Nothing to do if it is not needed."),
            )
        )
    return places, findings


def _read(column: Column, table: Table, texts: list[str], findings: list[Finding]) -> Cells:
    raw, distinct = pd.factorize(np.array([*texts, ""], dtype=object)[:-1])
    codes = raw.astype(np.int64)
    values: list[Any] = []
    blank = np.zeros(len(distinct), dtype=bool)
    faults: dict[int, CellError] = {}
    for number, text in enumerate(distinct):
        stripped = text.strip()
        value = None
        if not stripped:
            blank[number] = True
        else:
            try:
                value = column.read(stripped)
            except CellError as problem:
                faults[number] = problem
        values.append(value)
    for row in _rows_of(codes, list(faults)):
        fault = faults[int(codes[row])]
        findings.append(
            Finding(
                level=ERROR,
                code=fault.code,
                row=table.row_numbers[row],
                column=column.name,
                value=texts[row].strip()[:200],
                message=fault.message,
                remedy=fault.remedy,
            )
        )
    cells = _gathered(codes, values)
    if blank.any():
        is_blank = blank[codes]
        cells.codes[is_blank] = BLANK
        if column.required:
            for row in np.flatnonzero(is_blank).tolist():
                findings.append(
                    Finding(
                        level=ERROR,
                        code="required_blank",
                        row=table.row_numbers[row],
                        column=column.name,
                        message=said("{column} is empty.", column=column.name),
                        remedy=marked("Fill it in; it is needed in every row."),
                    )
                )
    return cells


def _ask(column: Column, table: Table, cells: Cells, rules: Rules, findings: list[Finding]) -> None:
    if (column.ask == (None, None) and not column.ask_words) or not rules.on("unusual_value", column.name):
        return
    limits = rules.bounds(column.name)
    asked = {i: words for i, value in enumerate(cells.values) if (words := column.asks(value, limits))}
    for row in _rows_of(cells.codes, list(asked)):
        findings.append(
            Finding(
                level=WARNING,
                code="unusual_value",
                row=table.row_numbers[row],
                column=column.name,
                value=_shown(cells.value(row)),
                message=asked[int(cells.codes[row])],
                remedy=marked("Check it against the field sheet; keep it if it is right."),
            )
        )


def _shown(value: Any) -> str:
    return f"{value:g}" if isinstance(value, int | float) else cell_text(value)


def _rows_of(codes: NDArray[np.int64], wanted: list[int]) -> Iterator[int]:
    if wanted:
        yield from (int(row) for row in np.flatnonzero(np.isin(codes, wanted)))
