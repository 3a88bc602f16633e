"""Checks of a typed sheet: the rules of a season file, run on the rows the sheet would be in a file."""

import datetime
import hashlib
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import fmean
from typing import Any

from surveys.entry.sheet import CELL_FIELDS, PASS_FIELDS, VISIT_FIELDS, Sheet, parts_of
from surveys.models import Taxon, Visit, VisitStatus
from surveys.rules import key_of
from surveys.said import marked, said
from surveys.season import closed_among, locked_words
from surveys.uploads.checks import check_season
from surveys.uploads.columns import NO_FISH, PASS, SEASON_FILE, VISIT
from surveys.uploads.field_columns import CONTAINERS, FATES, FIELD_COLUMNS
from surveys.uploads.findings import ERROR, NOTE, WARNING, Finding
from surveys.uploads.known import Known
from surveys.uploads.reader import Table
from surveys.uploads.store import read_known
from surveys.uploads.values import CellError, fold

COLUMNS = {column.name: column for column in SEASON_FILE}
_HEADINGS = tuple(COLUMNS)

# Remarks that speak of a file, or of what a sheet says in its own words below.
_PASSED_OVER = {"pass_gap", "zero_count", "reach_assumed", "station_spelling"}
# Remarks on what is not on the sheet: the line they are counted at is of another fish.
_OF_NO_LINE = {"taxon_missing"}
_REMEDIES = {
    "no_fish_beside_fish": marked("Take the tick from “no fish”, or clear the counts of the pass."),
    "no_method": marked("Choose a method."),
}
_NO_COUNT = (
    marked("The number of fish is missing."),
    marked("Type how many fish in all, the young included, or clear the rest of the line."),
)
_NO_CATCH = marked(
    "Pass {number} has no catch. Empty is not zero: it may not have been made or not been written down."
)
_ZEROS_ONLY = marked(
    "Pass {number} has zeros only. Empty is not zero: it may not have been made or not been written down."
)
_ORDER = {ERROR: 0, WARNING: 1, NOTE: 2}

WORDS = {
    "visit_date": marked("Day of the visit"),
    "method": marked("Method"),
    "reach_length_m": marked("Reach length"),
    "mean_width_m": marked("Mean width"),
    "stop_nets": marked("Stop nets"),
    "water_temp_c": marked("Water temperature"),
    "conductivity_us_cm": marked("Conductivity"),
    "dissolved_oxygen_mg_l": marked("Dissolved oxygen"),
    "ph": marked("pH"),
    "turbidity_ntu": marked("Turbidity"),
    "discharge_m3_s": marked("Discharge"),
    "crew_lead": marked("Crew lead"),
    "notes": marked("Notes"),
    "no_fish": marked("no fish"),
    "effort_s": marked("current-on time"),
    "pass_biomass_g": marked("total weight"),
    "count": marked("fish"),
    "young_of_year": marked("fish of the year"),
    "anomalies": marked("fish with anomalies"),
    "biomass_g": marked("batch weight"),
    **{column.name: column.title for column in FIELD_COLUMNS},
}
# The checks speak of columns of a file where a sheet has fields; names of one plain word read well as they are.
_COLUMN_NAME = re.compile(rf"\b({'|'.join(name for name in WORDS if '_' in name)})\b")


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """A finding with the field it is about (may be empty) and that field in words."""

    level: str
    code: str
    message: str
    remedy: str
    field: str
    place: str
    answer: str = ""  # what the person says to a question

    @property
    def rule(self) -> str:
        """The key of the rule that it comes from."""
        return key_of(self.code, self.field.partition("-")[0])

    @property
    def key(self) -> str:
        """A short mark of this remark, by which its answer is told from others."""
        said = f"{self.code} {self.field} {self.message}"
        return hashlib.sha256(said.encode()).hexdigest()[:10]


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedSheet:
    """A sheet after all checks. The values are only there where nothing is refused."""

    remarks: tuple[Remark, ...]
    values: dict[str, Any]  # name -> value, for every name with a text

    @property
    def errors(self) -> list[Remark]:
        return [remark for remark in self.remarks if remark.level == ERROR]

    @property
    def questions(self) -> list[Remark]:
        return [remark for remark in self.remarks if remark.level == WARNING]

    @property
    def mark(self) -> str:
        """A short mark of the questions: other questions have another mark, none have none."""
        if not self.questions:
            return ""
        said = "\n".join(sorted(f"{one.code} {one.field} {one.message}" for one in self.questions))
        return hashlib.sha256(said.encode()).hexdigest()[:16]


def answered(remarks: Sequence[Remark], answers: Mapping[str, str]) -> tuple[Remark, ...]:
    """The remarks with what was answered to each, by its key."""
    return tuple(replace(one, answer=answers.get(one.key, "")) for one in remarks)


def check_sheet(visit: Visit, sheet: Sheet, *, today: datetime.date | None = None) -> CheckedSheet:
    """Check a sheet for a visit by the rules of a season file, and by those of a sheet.

    Parameters
    ----------
    visit : the visit the sheet is for, stored or not; what it holds itself is no earlier visit
    today : for the check on future dates; default the day by the site's clock
    """
    names = {
        t.pk: t for t in Taxon.objects.filter(pk__in=[*sheet.taxa, *map(_taxon_of, sheet.texts)]) if t.pk
    }
    bad_date = _bad_date(sheet)
    day = sheet.text("visit_date") if not bad_date else ""
    table, places = _as_table(visit, sheet, names, day)
    known = _known(visit, sheet, today)
    checked = check_season(table, known)
    days = [visit.visit_date] + ([datetime.date.fromisoformat(day)] if day else [])
    remarks = [*closed_season(days), *bad_date, *_blank_passes(sheet), *_unknown_taxa(sheet, names)]
    remarks += [
        _remark(finding, places, names) for finding in checked.findings if finding.code not in _PASSED_OVER
    ]
    remarks += [one for one in _left_empty(sheet) if known.rules.on(one.code)]
    once: dict[tuple[str, str], Remark] = {}
    for remark in remarks:
        once.setdefault((remark.code, remark.field), remark)
    found = sorted(once.values(), key=lambda r: _ORDER[r.level])
    values = {} if any(r.level == ERROR for r in found) else _values(sheet)
    return CheckedSheet(remarks=tuple(found), values=values)


def place_words(field: str, names: dict[int, Taxon]) -> str:
    """A field in words: ``Pass 2, Creek Chub: fish``."""
    if not field:
        return ""
    word, number, taxon = parts_of(field)
    if number is None:
        return WORDS[word]
    if taxon is None:
        return said("Pass {number}: {field}", number=number, field=WORDS[word])
    named = names.get(taxon)
    written = (named.common_name or named.scientific_name) if named else taxon
    return said("Pass {number}, {written}: {field}", number=number, written=written, field=WORDS[word])


def _taxon_of(name: str) -> int:
    return parts_of(name)[2] or 0


def closed_season(days: Iterable[datetime.date]) -> list[Remark]:
    """That the season of one of these days, as stored or as typed, is closed; empty where all are open."""
    years = closed_among(days)
    if not years:
        return []
    return [
        Remark(
            level=ERROR,
            code="season_closed",
            message=locked_words(years),
            remedy=marked("Nothing of a closed season is changed until it is open again."),
            field="visit_date",
            place=WORDS["visit_date"],
        )
    ]


def _bad_date(sheet: Sheet) -> list[Remark]:
    """Why the day cannot be read. The other checks then go by the day that is stored."""
    text = sheet.text("visit_date")
    if not text:
        return []  # said with what is left empty
    try:
        COLUMNS["visit_date"].read(text)
    except CellError as fault:
        return [
            Remark(
                level=ERROR,
                code=fault.code,
                message=fault.message,
                remedy=fault.remedy,
                field="visit_date",
                place=WORDS["visit_date"],
            )
        ]
    return []


def _as_table(
    visit: Visit, sheet: Sheet, names: dict[int, Taxon], day: str
) -> tuple[Table, list[tuple[int, int]]]:
    """The rows a file would have, and for each the pass and the taxon (0 for none)."""
    places = []
    for number in range(1, sheet.passes + 1):
        places += [(number, taxon) for taxon in sheet.taxa_in_pass(number) if taxon in names]
        if sheet.text("no_fish", number):
            places.append((number, 0))
    # A sheet without a catch still has a date, a reach and readings to be looked at.
    rows = [_row(visit, sheet, names, *place) for place in places or [(1, 0)]]
    for row in rows:
        row[_HEADINGS.index("visit_date")] = day or str(visit.visit_date)
    return (
        Table(
            headings=_HEADINGS,
            columns=tuple(list(column) for column in zip(*rows, strict=True)),
            row_numbers=tuple(range(len(rows))),
        ),
        places or [(1, 0)],
    )


def _row(visit: Visit, sheet: Sheet, names: dict[int, Taxon], number: int, taxon: int) -> list[str]:
    cells = {name: sheet.text(name) for name in VISIT_FIELDS}
    cells |= {name: sheet.text(name, number) for name in PASS_FIELDS}
    cells |= {"station": visit.station.code, "pass": str(number)}
    if taxon:
        cells |= {name: sheet.text(name, number, taxon) for name in CELL_FIELDS}
        cells["taxon"] = names[taxon].scientific_name
    else:
        cells |= {"taxon": NO_FISH, "count": "0"}
    return [cells.get(heading, "") for heading in _HEADINGS]


def _known(visit: Visit, sheet: Sheet, today: datetime.date | None) -> Known:
    """What is known of the station without the visit itself."""
    known = read_known([visit.station.code], today=today, without=visit.pk)
    others = Visit.objects.filter(station=visit.station_id).exclude(status=VisitStatus.WITHDRAWN)
    others = others.exclude(pk=visit.pk).select_related("method").order_by("visit_date")
    earlier = [one for one in others if str(one.visit_date) < sheet.text("visit_date")]
    key = fold(visit.station.code)
    station = replace(
        known.stations[key],
        earlier_dates=tuple(one.visit_date for one in others),
        last_method=earlier[-1].method.code if earlier else "",
    )
    return replace(known, stations={**known.stations, key: station})


def _remark(finding: Finding, places: list[tuple[int, int]], names: dict[int, Taxon]) -> Remark:
    number, taxon = places[finding.row] if finding.row is not None else (0, 0)
    column = COLUMNS.get(finding.column)
    field = ""
    if column is not None and column.name in VISIT_FIELDS:
        field = column.name
    elif column is not None and column.scope == PASS:
        field = f"{column.name}-{number}"
    elif column is not None and column.scope != VISIT and number and finding.code not in _OF_NO_LINE:
        word = column.name if column.name in CELL_FIELDS else "count"
        field = f"{word}-{number}-{taxon}" if taxon else f"no_fish-{number}"
    message, remedy = finding.message, _REMEDIES.get(finding.code, finding.remedy)
    if (finding.code, finding.column) == ("required_blank", "count"):
        message, remedy = _NO_COUNT
    return Remark(
        level=finding.level,
        code=finding.code,
        message=_with_labels(message),
        remedy=_with_labels(remedy),
        field=field,
        place=place_words(field, names),
    )


def _with_labels(words: str) -> str:
    """A sentence with each column of a file named as the field of the sheet is."""
    return _COLUMN_NAME.sub(lambda found: f"“{WORDS[found[0]]}”", words)


def _blank_passes(sheet: Sheet) -> list[Remark]:
    """A pass that says nothing of fish is not a pass without fish."""
    made = [n for n in range(1, sheet.passes + 1) if not sheet.pass_is_blank(n)]
    last = max(made, default=0)
    found = []
    for number in range(1, last + 1):
        if sheet.text("no_fish", number):
            continue
        counts = [sheet.text("count", number, taxon) for taxon in sheet.taxa]
        if any(text.strip("0.") for text in counts) or any(
            not text and not sheet.row_is_blank(number, taxon)
            for text, taxon in zip(counts, sheet.taxa, strict=True)
        ):
            continue
        field = f"no_fish-{number}"
        blank = _ZEROS_ONLY if any(counts) else _NO_CATCH
        found.append(
            Remark(
                level=ERROR,
                code="blank_pass",
                message=said(blank, number=number),
                remedy=said(
                    "Tick “no fish” in pass {number} if it caught nothing, or type its catch.", number=number
                ),
                field=field,
                place=said("Pass {number}", number=number),
            )
        )
    return found


def _unknown_taxa(sheet: Sheet, names: dict[int, Taxon]) -> list[Remark]:
    return [
        Remark(
            level=ERROR,
            code="unknown_taxon",
            message=said("The taxon with the key {written} is not in the list any more.", written=taxon),
            remedy=marked("Enter its fish under the name that took its place."),
            field="",
            place="",
        )
        for taxon in sheet.taxa
        if taxon not in names and any(_taxon_of(name) == taxon for name in sheet.texts)
    ]


def _left_empty(sheet: Sheet) -> list[Remark]:
    """What a visit should have, and what is lost without it."""
    wanted = {
        "visit_date": (ERROR, marked("The day of the visit is missing."), marked("Type it as YYYY-MM-DD.")),
        "method": (
            ERROR,
            marked("No sampling method is chosen."),
            marked("Choose the method that was used."),
        ),
        "reach_length_m": (
            WARNING,
            marked("No reach length: no density can be worked out."),
            marked("Measure it anew."),
        ),
        "stop_nets": (
            WARNING,
            marked("It is not said whether stop nets were set."),
            marked("Choose what was done."),
        ),
        "crew_lead": (WARNING, marked("Nobody is named as crew lead."), marked("Initials are enough.")),
        "mean_width_m": (NOTE, marked("No mean width: no density by area can be worked out."), ""),
    }
    return [
        Remark(
            level=level, code=f"{name}_empty", message=message, remedy=remedy, field=name, place=WORDS[name]
        )
        for name, (level, message, remedy) in wanted.items()
        if not sheet.text(name) and not (name == "mean_width_m" and sheet.text("widths_m"))
    ]


def _values(sheet: Sheet) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for name, text in sheet.texts.items():
        word = parts_of(name)[0]
        values[name] = True if word == "no_fish" else COLUMNS[word].read(text)
    _complete(values, sheet)
    return values


def _complete(values: dict[str, Any], sheet: Sheet) -> None:
    """Add what follows from the rest: the mean of the widths, net weights, and parts that can only be none."""
    if values.get("widths_m") and values.get("mean_width_m") is None:
        values["mean_width_m"] = round(fmean(values["widths_m"]), 3)
    for number in range(1, sheet.passes + 1):
        for taxon in sheet.taxa_in_pass(number):
            place = f"{number}-{taxon}"
            gross, tare = values.get(f"gross_g-{place}"), values.get(f"tare_g-{place}")
            if gross is not None and tare is not None and values.get(f"biomass_g-{place}") is None:
                values[f"biomass_g-{place}"] = round(gross - tare, 6)
            for parts in (FATES, CONTAINERS):
                names = [f"{part}-{place}" for part in parts]
                known = [values[name] for name in names if values.get(name) is not None]
                if known and sum(known) == values.get(f"count-{place}"):
                    values |= {name: values.get(name) or 0 for name in names}
