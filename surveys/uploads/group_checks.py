"""Checks of a season file within a pass and within a visit. Pure code."""

import numpy as np
from numpy.typing import NDArray

from surveys.rules import Rules
from surveys.said import marked, said
from surveys.uploads.columns import PASS, SEASON_FILE, VISIT
from surveys.uploads.findings import ERROR, WARNING, Finding
from surveys.uploads.grouping import Grouped, Positions
from surveys.uploads.values import cell_text


def check_passes(rows: Grouped, rules: Rules, findings: list[Finding]) -> None:
    """What must or should hold among the rows of one pass."""
    for column in SEASON_FILE:
        if column.scope == PASS:
            _same_within(rows, column.name, rows.pass_of_row, rows.pass_count, PASS, findings)
    _duplicates(rows, findings)
    _no_fish_beside_fish(rows, findings)
    _batch_weights(rows, rules, findings)


def check_visits(rows: Grouped, findings: list[Finding]) -> None:
    """What must or should hold among the passes of one visit."""
    for column in SEASON_FILE:
        if column.scope == VISIT:
            _same_within(rows, column.name, rows.visit_of_row, rows.visit_count, VISIT, findings)
    _pass_gaps(rows, findings)
    _later_pass_larger(rows, findings)


def pass_totals(rows: Grouped) -> NDArray[np.float64]:
    """Fish per pass, shape (passes,)."""
    return _summed(rows, rows.cells["count"].numbers())


def _summed(rows: Grouped, values: NDArray[np.float64]) -> NDArray[np.float64]:
    inside = rows.pass_of_row >= 0
    weights = np.nan_to_num(values[inside])
    summed: NDArray[np.float64] = np.bincount(
        rows.pass_of_row[inside], weights=weights, minlength=rows.pass_count
    ).astype(float)
    return summed


def _differs(rows: Grouped, scope: str, group: int, column: str, here: str, earlier: str) -> str:
    if scope == PASS:
        return said(
            "{column} is {written} here, but {written_2} earlier in {which_pass}.",
            column=column,
            written=here,
            written_2=earlier,
            which_pass=rows.pass_words(group),
        )
    return said(
        "{column} is {written} here, but {written_2} earlier in {written_3} on {day}.",
        column=column,
        written=here,
        written_2=earlier,
        written_3=rows.station(group),
        day=rows.date(group),
    )


def _partly_blank(rows: Grouped, scope: str, group: int, column: str, taken: str) -> str:
    if scope == PASS:
        return said(
            "{column} is empty in some rows of {which_pass}; {written} is taken for the whole pass.",
            column=column,
            which_pass=rows.pass_words(group),
            written=taken,
        )
    return said(
        "{column} is empty in some rows of {written} on {day}; {written_2} is taken for the whole visit.",
        column=column,
        written=rows.station(group),
        day=rows.date(group),
        written_2=taken,
    )


def _same_within(
    rows: Grouped, name: str, groups: Positions, size: int, scope: str, findings: list[Finding]
) -> None:
    cells = rows.cells[name]
    if not cells.filled.any():
        return
    first = rows.first_codes(name, groups, size)
    inside = groups >= 0
    expected = np.where(inside, first[groups], -1) if size else np.full(len(groups), -1)
    for row in np.flatnonzero(inside & cells.filled & (cells.codes != expected)):
        findings.append(
            Finding(
                level=ERROR,
                code=f"{scope}_value_differs",
                row=rows.line(int(row)),
                column=name,
                value=cell_text(cells.value(int(row))),
                message=_differs(
                    rows,
                    scope,
                    int(groups[row]),
                    name,
                    cell_text(cells.value(int(row))),
                    cell_text(cells.values[expected[row]]),
                ),
                remedy=marked("Write the same value in every row of the pass.")
                if scope == PASS
                else marked("Write the same value in every row of the visit."),
            )
        )
    partly: dict[int, int] = {}
    for row in np.flatnonzero(inside & (cells.codes == -1) & (expected >= 0)):
        partly.setdefault(int(groups[row]), int(row))
    for group, first_blank in partly.items():
        findings.append(
            Finding(
                level=WARNING,
                code=f"{scope}_value_partly_blank",
                row=rows.line(first_blank),
                column=name,
                message=_partly_blank(rows, scope, group, name, cell_text(cells.values[first[group]])),
                remedy=marked("Write the value in every row of the pass, if it holds for all of it.")
                if scope == PASS
                else marked("Write the value in every row of the visit, if it holds for all of it."),
            )
        )


def _duplicates(rows: Grouped, findings: list[Finding]) -> None:
    taxon = rows.cells["taxon"]
    valid = np.flatnonzero((rows.pass_of_row >= 0) & taxon.filled)
    if not len(valid):
        return
    keys = rows.pass_of_row[valid] * len(taxon.values) + taxon.codes[valid]
    _, first, inverse, sizes = np.unique(keys, return_index=True, return_inverse=True, return_counts=True)
    for position in np.flatnonzero(sizes[inverse] > 1):
        earlier = int(first[inverse[position]])
        if position == earlier:
            continue
        row = int(valid[position])
        findings.append(
            Finding(
                level=ERROR,
                code="duplicate_row",
                row=rows.line(row),
                column="taxon",
                value=_original(rows, row),
                message=said(
                    "{written} is already in row {row} for {which_pass}.",
                    written=_original(rows, row),
                    row=rows.line(int(valid[earlier])),
                    which_pass=rows.pass_words(int(rows.pass_of_row[row])),
                ),
                remedy=marked("Keep one row, or add the counts together if both are right."),
            )
        )


def _original(rows: Grouped, row: int) -> str:
    """The taxon as the file spells it."""
    for heading, column in zip(rows.table.headings, rows.table.columns, strict=True):
        if heading.strip().casefold() == "taxon":
            return column[row].strip()
    return "This taxon"


def _no_fish_beside_fish(rows: Grouped, findings: list[Finding]) -> None:
    taxon = rows.cells["taxon"]
    nobody = [i for i, key in enumerate(taxon.values) if key == ("nobody",)]
    if not nobody:
        return
    empty_rows = np.flatnonzero((taxon.codes == nobody[0]) & (rows.pass_of_row >= 0))
    with_fish = pass_totals(rows) > 0
    count = rows.cells["count"].numbers()
    for row in empty_rows:
        one_pass = int(rows.pass_of_row[row])
        if with_fish[one_pass] and not count[row] > 0:
            findings.append(
                Finding(
                    level=ERROR,
                    code="no_fish_beside_fish",
                    row=rows.line(int(row)),
                    column="taxon",
                    value="no fish",
                    message=said(
                        "'no fish' stands beside fish in {which_pass}.", which_pass=rows.pass_words(one_pass)
                    ),
                    remedy=marked("Delete the 'no fish' row, or correct the pass number."),
                )
            )


def _batch_weights(rows: Grouped, rules: Rules, findings: list[Finding]) -> None:
    # A pass total and the sum of its batches are weighed apart; small differences are the scale's.
    above = 1 + rules.limit("batches_above_pass", "percent") / 100
    below = 1 - rules.limit("batches_below_pass", "percent") / 100
    total_cells = rows.cells["pass_biomass_g"]
    if not total_cells.filled.any():
        return
    weight = rows.cells["biomass_g"].numbers()
    batches = _summed(rows, weight)
    fish = (rows.cells["count"].numbers() > 0) & (rows.pass_of_row >= 0)
    unweighed = np.zeros(rows.pass_count, dtype=bool)
    part = rows.cells["weighed"].numbers() < rows.cells["count"].numbers()
    unweighed[rows.pass_of_row[fish & (np.isnan(weight) | part)]] = True
    for one_pass, total in enumerate(rows.pass_values("pass_biomass_g")):
        if total is None or batches[one_pass] == 0:
            continue
        if batches[one_pass] > total * above:
            code = "batches_above_pass"
            pattern = marked(
                "The batch weights of {which_pass} add up to {batches} g, more than the pass total of {total} g."
            )
        elif not unweighed[one_pass] and batches[one_pass] < total * below:
            code = "batches_below_pass"
            pattern = marked(
                "The batch weights of {which_pass} add up to {batches} g, clearly less than the pass total of "
                "{total} g."
            )
        else:
            continue
        findings.append(
            Finding(
                level=WARNING,
                code=code,
                row=rows.line(int(rows.first_row_of_pass[one_pass])),
                column="pass_biomass_g",
                value=f"{total:g}",
                message=said(
                    pattern,
                    which_pass=rows.pass_words(one_pass),
                    batches=f"{batches[one_pass]:g}",
                    total=f"{total:g}",
                ),
                remedy=marked(
                    "Check tare, unit and whether a batch was left out; keep it if the sheet says so."
                ),
            )
        )


def _pass_gaps(rows: Grouped, findings: list[Finding]) -> None:
    made = np.bincount(rows.visit_of_pass, minlength=rows.visit_count)
    highest = np.zeros(rows.visit_count, dtype=np.int64)
    np.maximum.at(highest, rows.visit_of_pass, rows.number_of_pass)
    for visit in np.flatnonzero((highest != made) & ~rows.pass_unreadable):
        of_visit = np.flatnonzero(rows.visit_of_pass == visit)
        numbers = sorted(int(n) for n in rows.number_of_pass[of_visit])
        missing = next(n for n in range(1, numbers[-1] + 1) if n not in numbers)
        after = int(of_visit[np.flatnonzero(rows.number_of_pass[of_visit] > missing)[0]])
        findings.append(
            Finding(
                level=ERROR,
                code="pass_gap",
                row=rows.line(int(rows.first_row_of_pass[after])),
                column="pass",
                value=str(int(rows.number_of_pass[after])),
                message=said(
                    "{written} on {day} has passes {numbers}; pass {missing} is missing.",
                    written=rows.station(int(visit)),
                    day=rows.date(int(visit)),
                    numbers=", ".join(map(str, numbers)),
                    missing=missing,
                ),
                remedy=said(
                    "If pass {missing} caught nothing, add a row with taxon 'no fish' and count 0.",
                    missing=missing,
                ),
            )
        )


def _later_pass_larger(rows: Grouped, findings: list[Finding]) -> None:
    totals = pass_totals(rows)
    uncounted = (rows.pass_of_row >= 0) & ~rows.cells["count"].filled
    totals[rows.pass_of_row[uncounted]] = np.nan  # compares as neither larger nor smaller
    order = np.lexsort((rows.number_of_pass, rows.visit_of_pass))
    visit, total = rows.visit_of_pass[order], totals[order]
    for place in np.flatnonzero((visit[1:] == visit[:-1]) & (total[1:] > total[:-1])):
        earlier, later = int(order[place]), int(order[place + 1])
        findings.append(
            Finding(
                level=WARNING,
                code="later_pass_larger",
                row=rows.line(int(rows.first_row_of_pass[later])),
                column="count",
                value=f"{totals[later]:g}",
                message=said(
                    "Pass {number} of {written} on {day} caught {fish} fish, pass {number_2} before it {fish_2}.",
                    number=rows.number_of_pass[later],
                    written=rows.station(int(visit[place])),
                    day=rows.date(int(visit[place])),
                    fish=f"{totals[later]:g}",
                    number_2=rows.number_of_pass[earlier],
                    fish_2=f"{totals[earlier]:g}",
                ),
                remedy=marked("Check the pass numbers. If it is right, no removal estimate may be possible."),
            )
        )
