"""Every check of a season file: within a row, a pass and a visit, and against what is known.

All faults are found in one go. The checks work on whole columns at once and go row by row only where
something is wrong. Pure code: what is stored comes in as plain values.
"""

import datetime
import difflib
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from surveys.rules import RULES, Rules
from surveys.said import marked, said
from surveys.uploads.cells import Cells, read_columns
from surveys.uploads.columns import NO_FISH, NO_NAMES, SEASON_FILE
from surveys.uploads.context_checks import check_against_earlier
from surveys.uploads.field_checks import check_record, complete_catches, fish_weighed
from surveys.uploads.findings import ERROR, NOTE, WARNING, Finding, has_errors
from surveys.uploads.gear_checks import check_against_last
from surveys.uploads.group_checks import check_passes, check_visits
from surveys.uploads.grouping import Grouped, group_rows
from surveys.uploads.history_checks import check_history
from surveys.uploads.known import Known, NearTaxon
from surveys.uploads.reader import Table
from surveys.uploads.values import fold

OLDEST_LIKELY = datetime.date(int(RULES["out_of_range"].limit("year").default), 1, 1)

# What a cell of the column ``taxon`` stands for.
NOBODY = ("nobody",)  # the words "no fish"
TaxonKey = tuple[str, ...] | tuple[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """A season file after all checks. ``rows`` is None where the file could not be read as one."""

    findings: tuple[Finding, ...]
    rows: Grouped | None
    new_taxa: dict[str, str]  # folded name -> name as written first

    @property
    def has_errors(self) -> bool:
        return has_errors(self.findings)

    def refused_rows(self) -> set[int]:
        """Lines that carry an error."""
        return {f.row for f in self.findings if f.level == ERROR and f.row is not None}


def check_season(table: Table, known: Known) -> Checked:
    """Check a season file against its own rules and against what is known.

    Parameters
    ----------
    table : as read, with the reader's findings
    known : stations, taxa and methods, what was caught before, and today's date

    Returns
    -------
    Checked : all findings, and the rows as arrays of values
    """
    if not table.columns or not table.row_count:
        return Checked(findings=tuple(known.rules.raised(table.findings)), rows=None, new_taxa={})
    cells, found, complete = read_columns(table, SEASON_FILE, known.rules)
    findings = [*table.findings, *found]
    if not complete:
        return Checked(findings=tuple(known.rules.raised(findings)), rows=None, new_taxa={})
    new_taxa: dict[str, str] = {}
    cells["taxon"] = _settle_taxa(table, cells["taxon"], known, findings, new_taxa)
    cells["station"] = _settle_stations(table, cells["station"], known, findings)
    cells["method"] = _settle_methods(table, cells["method"], known, findings)
    complete_catches(cells, findings)
    rows = group_rows(table, cells)
    _check_dates(rows, known.today, findings)
    _check_counts(rows, known.rules, findings)
    check_passes(rows, known.rules, findings)
    check_visits(rows, findings)
    check_record(rows, known, findings)
    check_against_earlier(rows, known, findings)
    check_against_last(rows, known, findings)
    check_history(rows, known, findings)
    return Checked(findings=tuple(known.rules.raised(findings)), rows=rows, new_taxa=new_taxa)


def _per_row(table: Table, cells: Cells, wanted: dict[int, Finding], findings: list[Finding]) -> None:
    """The same remark for every row that has one of these values."""
    if wanted:
        for row in np.flatnonzero(np.isin(cells.codes, list(wanted))):
            findings.append(replace(wanted[int(cells.codes[row])], row=table.row_numbers[row]))


def _settle_stations(table: Table, cells: Cells, known: Known, findings: list[Finding]) -> Cells:
    """Codes as stored. An unknown code keeps its own spelling, so that its rows can still be checked."""
    unknown: dict[int, Finding] = {}
    settled: list[str] = []
    for number, text in enumerate(cells.values):
        station = known.stations.get(fold(text))
        settled.append(station.code if station else text)
        if station and station.code != text:
            findings.append(
                Finding(
                    level=NOTE,
                    code="station_spelling",
                    column="station",
                    value=text,
                    message=said(
                        "{written} is read as station {written_2}.", written=text, written_2=station.code
                    ),
                )
            )
        elif not station:
            near = difflib.get_close_matches(fold(text), list(known.stations), n=3, cutoff=0.6)
            proposed = ", ".join(known.stations[name].code for name in near)
            unknown[number] = Finding(
                level=ERROR,
                code="unknown_station",
                column="station",
                value=text,
                message=said("There is no station {written}.", written=text),
                remedy=said("Nearest codes: {written}.", written=proposed)
                if near
                else marked("Load it with the station list first."),
            )
    _per_row(table, cells, unknown, findings)
    return cells.mapped(settled)


def _settle_methods(table: Table, cells: Cells, known: Known, findings: list[Finding]) -> Cells:
    unknown: dict[int, Finding] = {}
    settled: list[str | None] = []
    for number, text in enumerate(cells.values):
        method = known.methods.get(fold(text))
        settled.append(method.code if method else None)
        if method is None:
            near = difflib.get_close_matches(fold(text), list(known.methods), n=3, cutoff=0.5)
            listed = ", ".join(known.methods[name].code for name in near or sorted(known.methods)[:5])
            unknown[number] = Finding(
                level=ERROR,
                code="unknown_method",
                column="method",
                value=text,
                message=said("There is no sampling method {written}.", written=text),
                remedy=said("Known codes: {written}.", written=listed)
                if listed
                else marked("Leave the column out, or ask for the method to be added."),
            )
    _per_row(table, cells, unknown, findings)
    return cells.mapped(settled)


def _settle_taxa(
    table: Table, cells: Cells, known: Known, findings: list[Finding], new_taxa: dict[str, str]
) -> Cells:
    """Names -> keys of taxa: ("known", key), ("new", folded name) or NOBODY."""
    faults: dict[int, Finding] = {}
    settled: list[TaxonKey] = []
    for number, text in enumerate(cells.values):
        folded = fold(text)
        keys = known.taxa.get(folded, ())
        if folded == NO_FISH:
            settled.append(NOBODY)
        elif folded in known.confirmed:
            settled.append(("known", known.confirmed[folded]))
            # Once the spelling is another name of that taxon, nothing is left to be said.
            if keys != (known.confirmed[folded],):
                findings.append(_confirmed(table, cells, number, known))
        elif len(keys) == 1:
            settled.append(("known", keys[0]))
        elif keys:
            settled.append(("new", folded))
            *others, last = (known.taxon_names[key] for key in keys)
            faults[number] = Finding(
                level=ERROR,
                code="ambiguous_taxon",
                column="taxon",
                value=text,
                message=said(
                    "{written} can mean {written_2} or {written_3}.",
                    written=text,
                    written_2=", ".join(others),
                    written_3=last,
                ),
                remedy=marked("Write the scientific name."),
            )
        elif folded in NO_NAMES:
            settled.append(("new", folded))
            faults[number] = Finding(
                level=ERROR,
                code="unknown_taxon",
                column="taxon",
                value=text,
                message=said("{written} is no name of a taxon.", written=text),
                remedy=marked(
                    "Write 'no fish' with count 0 where the pass caught nothing; else name the taxon."
                ),
            )
        else:
            settled.append(("new", folded))
            if known.create_taxa:
                new_taxa.setdefault(folded, text)
                continue
            near = known.near.get(folded, ())
            faults[number] = Finding(
                level=ERROR,
                code="unknown_taxon",
                column="taxon",
                value=text,
                message=said("There is no taxon {written}.", written=text),
                remedy=said(
                    "Nearest names: {written}. Say which is meant, or correct the file.",
                    written=", ".join(map(_proposal, near[:3])),
                )
                if near
                else marked("Correct the name, or have it added to the list of taxa."),
            )
    _per_row(table, cells, faults, findings)
    for folded, text in new_taxa.items():
        code = next(i for i, value in enumerate(cells.values) if fold(value) == folded)
        findings.append(
            Finding(
                level=NOTE,
                code="taxon_created",
                row=table.row_numbers[int(np.argmax(cells.codes == code))],
                column="taxon",
                value=text,
                message=said(
                    "{written} is new to the list of taxa and will be added, all its traits unknown.",
                    written=text,
                ),
                remedy=marked("Have its traits filled in, or it counts in no trait-based measure."),
            )
        )
    return cells.mapped(settled)


def _proposal(near: NearTaxon) -> str:
    """A taxon, with the name that comes near where that is not its scientific one."""
    named = fold(near.name) == fold(near.scientific_name)
    return near.scientific_name if named else f"{near.scientific_name} ({near.name})"


def _confirmed(table: Table, cells: Cells, number: int, known: Known) -> Finding:
    """Said once for a name, at the first row that has it."""
    rows = np.flatnonzero(cells.codes == number)
    text = cells.values[number]
    name = known.taxon_names[known.confirmed[fold(text)]]
    if len(rows) == 1:
        message = said(
            "{written}, in 1 row, is stored as {written_2}: a person said so.", written=text, written_2=name
        )
    else:
        message = said(
            "{written}, in {number} rows, is stored as {written_2}: a person said so.",
            written=text,
            number=len(rows),
            written_2=name,
        )
    return Finding(
        level=NOTE,
        code="name_confirmed",
        row=table.row_numbers[int(rows[0])],
        column="taxon",
        value=text,
        message=message,
    )


def _check_dates(rows: Grouped, today: datetime.date, findings: list[Finding]) -> None:
    faults: dict[int, Finding] = {}
    for number, day in enumerate(rows.cells["visit_date"].values):
        if day > today:
            faults[number] = Finding(
                level=ERROR,
                code="future_date",
                column="visit_date",
                value=str(day),
                message=said("{day} is in the future.", day=day),
                remedy=marked("Check the year."),
            )
        elif day < OLDEST_LIKELY:
            faults[number] = Finding(
                level=ERROR,
                code="out_of_range",
                column="visit_date",
                value=str(day),
                message=said("{day} is before {year}.", day=day, year=OLDEST_LIKELY.year),
                remedy=marked("Check the year."),
            )
    _per_row(rows.table, rows.cells["visit_date"], faults, findings)


def _check_counts(rows: Grouped, rules: Rules, findings: list[Finding]) -> None:
    """Counts and weights within one row."""
    cells = rows.cells
    count = cells["count"].numbers()
    taxon = cells["taxon"]
    nobody = taxon.codes == (taxon.values.index(NOBODY) if NOBODY in taxon.values else -9)
    named = taxon.filled & ~nobody
    young, sick, weight = (cells[name].numbers() for name in ("young_of_year", "anomalies", "biomass_g"))

    def remark(
        where: NDArray[np.bool_], level: str, code: str, column: str, message: str, remedy: str
    ) -> None:
        for row in np.flatnonzero(where):
            value = cells[column].value(int(row))
            findings.append(
                Finding(
                    level=level,
                    code=code,
                    row=rows.line(int(row)),
                    column=column,
                    value="" if value is None else f"{value:g}",
                    message=said(
                        message,
                        count=f"{count[row]:g}",
                        value=f"{value:g}" if isinstance(value, float) else value,
                    ),
                    remedy=remedy,
                )
            )

    remark(
        young > count,
        ERROR,
        "young_above_count",
        "young_of_year",
        marked("{value} fish of the year cannot be among {count} fish."),
        marked("count holds all fish, the young included."),
    )
    remark(
        sick > count,
        ERROR,
        "anomalies_above_count",
        "anomalies",
        marked("{value} fish with anomalies cannot be among {count} fish."),
        marked("Count fish, not marks: a fish with two counts once."),
    )
    remark(
        nobody & (count > 0),
        ERROR,
        "no_fish_with_count",
        "count",
        marked("The row says 'no fish', but its count is {count}."),
        marked("Write 0, or name the taxon."),
    )
    remark(
        named & (count == 0),
        NOTE,
        "zero_count",
        "count",
        marked("A taxon with count 0 is read and not stored: a taxon that was not caught has no row."),
        marked("Nothing to do."),
    )
    remark(
        (count == 0) & (weight > 0),
        WARNING,
        "weight_without_fish",
        "biomass_g",
        marked("{value} g, but no fish."),
        marked("Check it against the field sheet."),
    )
    remark(
        (count > 0) & (weight == 0),
        WARNING,
        "fish_without_weight",
        "biomass_g",
        marked("{count} fish, but 0 g."),
        marked("Leave the cell empty where they were not weighed."),
    )
    in_batch = fish_weighed(rows)
    with np.errstate(divide="ignore", invalid="ignore"):
        each = np.where((count > 0) & (weight > 0), weight / in_batch, np.nan)
    lightest, heaviest = (rules.limit("unusual_weight", name) for name in ("lightest", "heaviest"))
    remark(
        (each > heaviest) | (each < lightest),
        WARNING,
        "unusual_weight",
        "biomass_g",
        marked("{value} g for {count} fish is an unlikely weight for each."),
        marked("Grams are meant. Check the unit and whether all fish were weighed."),
    )
