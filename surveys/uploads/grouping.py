"""Rows of a season file put together to passes and visits, as arrays of positions. Pure code."""

import datetime
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from surveys.said import said
from surveys.uploads.cells import UNREADABLE, Cells, match_headings
from surveys.uploads.columns import FIELD_COLUMNS, SEASON_FILE
from surveys.uploads.reader import Table

Positions = NDArray[np.int64]
_MOST_PASSES = 64  # above the hard limit of the column ``pass``


@dataclass(frozen=True, slots=True, kw_only=True)
class Grouped:
    """Which visit and which pass each row belongs to; -1 where its key cannot be read.

    Visits and passes are numbered in the order in which the file first names them.
    """

    table: Table
    cells: dict[str, Cells]
    visit_of_row: Positions  # shape (rows,)
    pass_of_row: Positions  # shape (rows,)
    first_row_of_visit: Positions  # shape (visits,)
    first_row_of_pass: Positions  # shape (passes,)
    visit_of_pass: Positions  # shape (passes,)
    number_of_pass: Positions  # shape (passes,)
    pass_unreadable: NDArray[np.bool_]  # shape (visits,): some row of the visit has no readable pass
    # Columns of the field sheet that the file does not have: it says nothing about them, also not "empty".
    silent: frozenset[str] = frozenset()

    @property
    def visit_count(self) -> int:
        return len(self.first_row_of_visit)

    @property
    def pass_count(self) -> int:
        return len(self.first_row_of_pass)

    def line(self, row: int) -> int:
        """The line of a row as a spreadsheet shows it."""
        return self.table.row_numbers[row]

    def station(self, visit: int) -> str:
        return str(self.cells["station"].value(int(self.first_row_of_visit[visit])))

    def date(self, visit: int) -> datetime.date:
        day: datetime.date = self.cells["visit_date"].value(int(self.first_row_of_visit[visit]))
        return day

    def pass_words(self, one_pass: int) -> str:
        visit = int(self.visit_of_pass[one_pass])
        return said(
            "pass {number} of {written} on {day}",
            number=self.number_of_pass[one_pass],
            written=self.station(visit),
            day=self.date(visit),
        )

    def first_codes(self, name: str, groups: Positions, size: int) -> Positions:
        """The first value (as its code) that each group gives for a column, -1 where it gives none."""
        codes = self.cells[name].codes
        rows = np.flatnonzero((groups >= 0) & (codes >= 0))[::-1]
        first = np.full(size, -1, dtype=np.int64)
        first[groups[rows]] = codes[rows]  # backwards, so that the first row has the last word
        return first

    def visit_values(self, name: str) -> list[Any]:
        """One value per visit, None where the file gives none."""
        return self._values(name, self.visit_of_row, self.visit_count)

    def pass_values(self, name: str) -> list[Any]:
        """One value per pass, None where the file gives none."""
        return self._values(name, self.pass_of_row, self.pass_count)

    def _values(self, name: str, groups: Positions, size: int) -> list[Any]:
        values = self.cells[name].values
        return [values[c] if c >= 0 else None for c in self.first_codes(name, groups, size)]

    def visit_notes(self) -> list[str]:
        """All different notes of a visit, in the order of the file."""
        notes: list[dict[str, None]] = [{} for _ in range(self.visit_count)]
        cells = self.cells["notes"]
        for row in np.flatnonzero(cells.filled & (self.visit_of_row >= 0)):
            notes[self.visit_of_row[row]][str(cells.value(int(row)))] = None
        return ["\n".join(words) for words in notes]


def group_rows(table: Table, cells: dict[str, Cells]) -> Grouped:
    """Number the visits (station and date) and the passes of a file."""
    station, day, number = cells["station"], cells["visit_date"], cells["pass"]
    has_visit = station.filled & day.filled
    visit_of_row, _ = _numbered(station.codes * (len(day.values) + 1) + day.codes, has_visit)
    numbers = np.array([*number.values, 0, 0], dtype=np.int64)[number.codes]
    has_pass = has_visit & number.filled
    pass_of_row, passes = _numbered(visit_of_row * _MOST_PASSES + numbers, has_pass)
    visits = int(visit_of_row.max(initial=-1)) + 1
    unreadable = np.zeros(visits, dtype=bool)
    unreadable[visit_of_row[has_visit & ((number.codes == UNREADABLE) | ~number.filled)]] = True
    return Grouped(
        table=table,
        cells=cells,
        visit_of_row=visit_of_row,
        pass_of_row=pass_of_row,
        first_row_of_visit=_first_rows(visit_of_row, visits),
        first_row_of_pass=_first_rows(pass_of_row, len(passes)),
        visit_of_pass=passes // _MOST_PASSES,
        number_of_pass=passes % _MOST_PASSES,
        pass_unreadable=unreadable,
        silent=frozenset(c.name for c in FIELD_COLUMNS) - match_headings(table, SEASON_FILE)[0].keys(),
    )


def _numbered(keys: Positions, valid: NDArray[np.bool_]) -> tuple[Positions, Positions]:
    """Number keys 0, 1, 2 ... by first appearance, -1 where not valid; and the distinct keys."""
    numbers = np.full(len(keys), -1, dtype=np.int64)
    found, distinct = pd.factorize(keys[valid])
    numbers[valid] = found
    return numbers, np.asarray(distinct, dtype=np.int64)


def _first_rows(groups: Positions, size: int) -> Positions:
    first = np.zeros(size, dtype=np.int64)
    rows = np.flatnonzero(groups >= 0)[::-1]
    first[groups[rows]] = rows
    return first
