"""Workbooks as they are: the season-file rows that an older file holds, by a mapping of its headings.

Sheets may hold visits, passes or catches; catches may be long (a row per taxon and pass) or wide (a column
per pass, a column per species). Pure code.
"""

import csv
import datetime
import io
import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from surveys.said import said
from surveys.uploads.columns import CATCH_COLUMNS, NO_FISH, PASS_COLUMNS, VISIT, column_names
from surveys.uploads.findings import ERROR, WARNING, Finding
from surveys.uploads.mapping_findings import Visit, odd, of_several, without_catch
from surveys.uploads.mapping_spec import (
    COLUMNS,
    HEADINGS,
    OF_PASS,
    SPECIES,
    VISIT_KEY,
    FileMapping,
    Role,
    SheetMapping,
)
from surveys.uploads.reader import RawSheet
from surveys.uploads.values import fold

_CATCH: Final = tuple(column_names(CATCH_COLUMNS))
_OF_ONE_CATCH: Final = frozenset(_CATCH) - {"count", "estimated", "unsure"}  # a doubt holds for each row
_OF_ONE_PASS: Final = frozenset({"effort_s", "pass_biomass_g", "started_at", "ended_at"})  # as does the gear
# Day numbers of a spreadsheet, counted as in the date system that starts with 1900; up to the year 2173.
_DAY_NUMBER, _DAY_ZERO = re.compile(r"[1-9][0-9]{3,4}"), datetime.date(1899, 12, 30)
_DATE = re.compile(r"([0-9]{1,4})[-/. ]([0-9]{1,2})[-/. ]([0-9]{1,4})(?:[ T][0-9:.]+)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Mapped:
    """Season-file rows, for each the sheet and line it came from, and what was odd on the way."""

    rows: tuple[dict[str, str], ...]
    sources: tuple[tuple[str, int], ...]
    findings: tuple[Finding, ...]

    def as_csv(self) -> bytes:
        used = [name for name in HEADINGS if any(row.get(name) for row in self.rows)]
        out = io.StringIO(newline="")
        writer = csv.writer(out)
        writer.writerow(used)
        writer.writerows([row.get(name, "") for name in used] for row in self.rows)
        return out.getvalue().encode()


@dataclass(slots=True)
class _Line:
    """One line of a sheet: its plain values by season column, and the values of single passes and taxa."""

    sheet: str
    number: int
    values: dict[str, str]
    of_pass: dict[str, dict[str, str]]
    species: list[tuple[str, str, str]]  # taxon, pass, count

    @property
    def has_catch(self) -> bool:
        counted = "count" in self.values or any("count" in v for v in self.of_pass.values())
        return bool(self.species) or (bool(self.values.get("taxon")) and counted)


def convert(sheets: Sequence[RawSheet], mapping: FileMapping) -> Mapped:
    """The rows of a season file that a workbook holds.

    An empty cell is not recorded and makes no row; a written zero says that the taxon was not caught. A pass
    for which only zeros are written becomes a pass with "no fish".
    """
    findings: list[Finding] = []
    lines = [line for one in mapping.sheets for line in _lines(sheets, one, mapping, findings)]
    visits = _visits(lines, findings)
    facts: dict[Visit, dict[str, str]] = {}
    passes: dict[tuple[Visit, str], dict[str, str]] = {}
    for line in lines:
        visit = visits.get(id(line))
        if visit is not None and not line.has_catch:
            _gather(line, visit, facts, passes, findings, mapping)
    return _emit(lines, visits, facts, passes, findings, mapping)


def _lines(
    sheets: Sequence[RawSheet], one: SheetMapping, mapping: FileMapping, findings: list[Finding]
) -> Iterable[_Line]:
    sheet = find_sheet(sheets, one.sheet)
    if sheet is None:
        if any(role.role for role in one.roles.values()):
            findings.append(
                Finding(
                    level=ERROR,
                    code="sheet_missing",
                    message=said("There is no sheet named {written}.", written=repr(one.sheet)),
                    remedy=said("Choose another mapping, or map this file anew."),
                )
            )
        return
    table = sheet.table(one.heading_line)
    labels = unique_headings(table.headings)
    known = {fold(label): place for place, label in enumerate(labels)}
    roles: list[tuple[int, str, Role]] = []
    for heading, role in one.roles.items():
        place = known.get(fold(heading))
        if not role.role:
            continue
        if place is None:
            findings.append(
                Finding(
                    level=ERROR,
                    code="heading_missing",
                    column=heading,
                    message=said(
                        "The sheet {written_sheet} has no column {column}.",
                        written_sheet=sheet.name,
                        column=repr(heading),
                    ),
                    remedy=said("Choose another mapping, or map this file anew."),
                )
            )
            continue
        roles.append((place, labels[place], role))
    findings += [f for f in table.findings if f.level == ERROR and f.code == "ragged_row"]
    for position, number in enumerate(table.row_numbers):
        line = _Line(sheet.name, number, {}, {}, [])
        for place, label, role in roles:
            text = table.columns[place][position].strip()
            if text:
                _put(line, label, role, text, mapping)
        yield line


def find_sheet(sheets: Sequence[RawSheet], name: str) -> RawSheet | None:
    """The sheet of that name; a file with one sheet only has no other to mean."""
    if len(sheets) == 1:
        return sheets[0]
    return next((sheet for sheet in sheets if fold(sheet.name) == fold(name)), None)


def unique_headings(headings: Sequence[str]) -> list[str]:
    """Headings as they are mapped: repeated ones are numbered, empty ones named by their place."""
    seen: dict[str, int] = {}
    labels = []
    for place, heading in enumerate(headings, start=1):
        label = heading or f"column {place}"
        seen[fold(label)] = seen.get(fold(label), 0) + 1
        number = seen[fold(label)]
        labels.append(label if number == 1 else f"{label} ({number})")
    return labels


def _put(line: _Line, heading: str, role: Role, text: str, mapping: FileMapping) -> None:
    if role.role == SPECIES:
        line.species.append((role.taxon or heading, role.number, text))
    elif role.role == OF_PASS:
        line.of_pass.setdefault(role.number, {})[role.holds] = _value(role.holds, text, mapping)
    elif role.role == "notes" and "notes" in line.values:
        line.values["notes"] += f"; {text}"
    else:
        line.values[role.role] = _value(role.role, text, mapping)


def _value(name: str, text: str, mapping: FileMapping) -> str:
    if name == "station":
        return mapping.stations.get(fold(text), text)
    column = COLUMNS.get(name)
    if column is None:
        return text
    if column.kind == "date":
        return iso_day(text, mapping.date_order)
    if mapping.decimal_comma and (column.kind == "number" or name == "widths_m"):
        return text.replace(",", ".")
    return text


def iso_day(text: str, order: str) -> str:
    """A day as YYYY-MM-DD where its order is known; anything else is left for the checks to refuse."""
    if order == "serial" and _DAY_NUMBER.fullmatch(text.strip()):
        return str(_DAY_ZERO + datetime.timedelta(days=int(text)))
    found = _DATE.fullmatch(text.strip())
    if not found:
        return text
    first, middle, last = found.groups()
    if len(first) == 4:
        year, month, day = first, middle, last
    elif order == "dmy":
        day, month, year = first, middle, last
    elif order == "mdy":
        month, day, year = first, middle, last
    else:
        return text
    if len(year) != 4 or len(day) > 2:
        return text
    return f"{year}-{int(month):02d}-{int(day):02d}"


def _visits(lines: Sequence[_Line], findings: list[Finding]) -> dict[int, Visit]:
    """The visit each line belongs to: by station and day, or by the key that ties the sheets together."""
    by_key: dict[str, Visit] = {}
    for line in lines:
        key = line.values.get(VISIT_KEY, "")
        station, day = line.values.get("station", ""), line.values.get("visit_date", "")
        if key and station and day and by_key.setdefault(key, (station, day)) != (station, day):
            findings.append(
                odd(
                    line,
                    "visit_key_twice",
                    said(
                        "{written_sheet}: {written} stands for two visits.",
                        written_sheet=line.sheet,
                        written=key,
                    ),
                    said("Give each visit its own key."),
                )
            )
    found: dict[int, Visit] = {}
    for line in lines:
        visit = (line.values.get("station", ""), line.values.get("visit_date", ""))
        if not all(visit):
            visit = by_key.get(line.values.get(VISIT_KEY, ""), visit)
        if all(visit):
            found[id(line)] = visit
        elif line.values or line.of_pass or line.species:
            findings.append(
                odd(
                    line,
                    "no_visit_for_line",
                    said(
                        "{written_sheet}: The line names no visit: station and day are missing, and no key leads "
                        "to them.",
                        written_sheet=line.sheet,
                    ),
                    said("Fill in station and day, or map the column that ties the sheets together."),
                )
            )
    return found


def _gather(
    line: _Line,
    visit: Visit,
    facts: dict[Visit, dict[str, str]],
    passes: dict[tuple[Visit, str], dict[str, str]],
    findings: list[Finding],
    mapping: FileMapping,
) -> None:
    """What a line without a catch says of its visit and of its passes."""
    own = facts.setdefault(visit, {})
    for name, text in line.values.items():
        if name in ("notes", "crew_lead") or (name in COLUMNS and COLUMNS[name].scope == VISIT):
            _agree(own, name, text, line, findings)
    number = line.values.get("pass", "")
    for name in (column.name for column in PASS_COLUMNS):
        if text := line.values.get(name, ""):
            _agree(
                passes.setdefault((visit, number or _constant_pass(mapping)), {}), name, text, line, findings
            )
    for of, values in line.of_pass.items():
        for name, text in values.items():
            if name not in _CATCH:
                _agree(passes.setdefault((visit, of), {}), name, text, line, findings)


def _constant_pass(mapping: FileMapping) -> str:
    return mapping.constants.get("pass", "")


def _agree(held: dict[str, str], name: str, text: str, line: _Line, findings: list[Finding]) -> None:
    if held.setdefault(name, text) != text:
        findings.append(
            odd(
                line,
                "sheets_disagree",
                said(
                    "{written_sheet}: {column} is {written} here and {written_else} elsewhere for the same visit.",
                    written_sheet=line.sheet,
                    column=name,
                    written=text,
                    written_else=held[name],
                ),
                said("Correct one of the two."),
                column=name,
            )
        )


def _emit(
    lines: Sequence[_Line],
    visits: Mapping[int, Visit],
    facts: Mapping[Visit, dict[str, str]],
    passes: Mapping[tuple[Visit, str], dict[str, str]],
    findings: list[Finding],
    mapping: FileMapping,
) -> Mapped:
    rows: list[dict[str, str]] = []
    sources: list[tuple[str, int]] = []
    told: dict[tuple[Visit, str], bool] = {}  # pass -> whether it caught anything
    zeros: dict[tuple[Visit, str], tuple[dict[str, str], _Line]] = {}
    left_out: dict[tuple[str, str], list[int]] = {}  # sheet and column -> lines
    side_by_side: dict[str, set[str]] = {}  # sheet -> passes that have columns beside each other
    for line in lines:
        side_by_side.setdefault(line.sheet, set()).update(n for _, n, _ in line.species if n)
        side_by_side[line.sheet].update(n for n, values in line.of_pass.items() if "count" in values)
    for line in lines:
        visit = visits.get(id(line))
        if visit is None or not line.has_catch:
            continue
        made = False
        catches = list(_catches(line, mapping))
        for name in _without_shared(line, catches, side_by_side.get(line.sheet, set())):
            left_out.setdefault((line.sheet, name), []).append(line.number)
        for row in catches:
            made = True
            place = (visit, row.get("pass", ""))
            whole = {**mapping.constants, **facts.get(visit, {}), **passes.get(place, {}), **row}
            whole["station"], whole["visit_date"] = visit
            if _is_zero(row.get("count", "")):
                zeros.setdefault(place, (whole, line))
                told.setdefault(place, False)
            else:
                told[place] = True
                rows.append({name: whole[name] for name in HEADINGS if whole.get(name)})
                sources.append((line.sheet, line.number))
        if not made:
            findings.append(
                odd(
                    line,
                    "no_count_in_line",
                    said(
                        "{written_sheet}: No count is written on this line, so it makes no row. "
                        "Empty is not zero.",
                        written_sheet=line.sheet,
                    ),
                    said("Write 0 where a taxon was looked for and not caught."),
                    level=WARNING,
                )
            )
    for place, (whole, line) in zeros.items():
        if not told[place]:
            none = {**whole, "taxon": NO_FISH, "count": "0"}
            for name in _CATCH[1:]:
                none.pop(name, None)
            rows.append({name: none[name] for name in HEADINGS if none.get(name)})
            sources.append((line.sheet, line.number))
    without_catch(told, facts, passes, findings)
    findings += [of_several(sheet, name, lines) for (sheet, name), lines in left_out.items()]
    return Mapped(rows=tuple(rows), sources=tuple(sources), findings=tuple(findings))


def _catches(line: _Line, mapping: FileMapping) -> Iterable[dict[str, str]]:
    """The catch rows of one line, wide ones taken apart."""
    common = {name: text for name, text in line.values.items() if name in COLUMNS}
    default = common.get("pass") or _constant_pass(mapping)
    if line.species:
        for taxon, number, text in line.species:
            yield {**common, "taxon": taxon, "count": text, "pass": number or default}
        return
    counted = [of for of, values in line.of_pass.items() if "count" in values]
    if counted:
        for of in counted:
            yield {**common, **line.of_pass[of], "pass": of}
        return
    if "count" in common:
        yield {**common, "pass": default}


def _without_shared(
    line: _Line, catches: Sequence[dict[str, str]], side_by_side: Collection[str]
) -> list[str]:
    """Take from the rows of a line what stands on it once and belongs to none of them alone: the weight of a
    fish over both passes, the weight of all species, the effort of all passes. Which, comes back.

    With each row it would be counted as often as there are rows; a zero holds for each.
    """
    fish = [row for row in catches if not _is_zero(row["count"])]
    of_catch = _OF_ONE_CATCH & line.values.keys() if len(fish) > 1 else frozenset()
    of_pass = _OF_ONE_PASS & line.values.keys() if len(side_by_side) > 1 else frozenset()
    shared = []
    for name in HEADINGS:
        if name not in of_catch and name not in of_pass:
            continue
        # A column of a pass's own stands before the one of the line.
        own = {number for number, values in line.of_pass.items() if name in values}
        held = [row for row in catches if row["pass"] not in own and not _is_zero(row.get(name, "0"))]
        for row in held:
            del row[name]
        shared += [name] * bool(held)
    return shared


def _is_zero(text: str) -> bool:
    return bool(re.fullmatch(r"0+(\.0*)?", text))
