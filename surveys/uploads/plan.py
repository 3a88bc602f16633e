"""Compares a checked season file with the stored records: which visits are new, the same, changed or
refused, and for the changed ones what differs, row by row. Writes nothing."""

import datetime
import hashlib
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from django.conf import settings

from surveys.models import Upload, UploadStatus, Visit, VisitStatus
from surveys.said import said, said_n
from surveys.season import closed_years, hold_open, locked_sentence
from surveys.uploads.cells import match_headings
from surveys.uploads.checks import check_season
from surveys.uploads.columns import SEASON_FILE, VISIT_COLUMNS
from surveys.uploads.differences import (
    Difference,
    differences,
    file_visits,
    keep_unsaid,
    stored_visits,
)
from surveys.uploads.findings import ERROR, WARNING, Finding, count_by_level, has_errors, in_order
from surveys.uploads.grouping import Grouped
from surveys.uploads.known import DEFAULT_REACH_M, Known, NearTaxon
from surveys.uploads.reader import Table, read_table
from surveys.uploads.store import read_known
from surveys.uploads.values import fold

NEW, SAME, CHANGED, REFUSED = "new", "same", "changed", "refused"

# Where the file is silent on these, a visit keeps what it has, or takes them from its station.
_OF_STATION = ("method", "reach_length_m", "mean_width_m")
_PLAIN_COLUMNS = tuple(column for column in VISIT_COLUMNS if column.name not in _OF_STATION)


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitPlan:
    """What the file would do to one visit. ``number`` is its place among the visits of the file."""

    number: int
    station_code: str
    date: datetime.date
    kind: str
    line: int  # first row of the visit, as a spreadsheet shows it
    passes: int
    catches: int
    fish: int
    station_id: int | None = None
    visit_id: int | None = None
    revision: int = 0
    status: str = ""
    values: dict[str, Any] = field(default_factory=dict)  # fields of the visit as they would be stored
    differences: tuple[Difference, ...] = ()

    @property
    def status_words(self) -> str:
        """The status of the stored visit in the reader's language."""
        return str(VisitStatus(self.status).label) if self.status else ""

    @property
    def goes_back(self) -> bool:
        """Whether replacing it takes an accepted visit back to the reviewer."""
        return self.kind == CHANGED and self.status == VisitStatus.ACCEPTED


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenName:
    """A name of the file that stands for no single taxon, where it is, and the taxa that may be meant."""

    text: str
    rows: tuple[int, ...]
    near: tuple[NearTaxon, ...]
    shared: bool = False  # two taxa go by it


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    file_name: str
    sha256: str
    findings: tuple[Finding, ...]
    visits: tuple[VisitPlan, ...] = ()
    rows: Grouped | None = None
    new_taxa: dict[str, str] = field(default_factory=dict)
    row_count: int = 0
    taken_before: Upload | None = None
    open_names: tuple[OpenName, ...] = ()  # names that a person can say the meaning of
    confirmed: dict[str, int] = field(default_factory=dict)  # folded names that somebody did, and the taxon

    @property
    def has_errors(self) -> bool:
        return has_errors(self.findings)

    @property
    def has_warnings(self) -> bool:
        return any(finding.level == WARNING for finding in self.findings)

    def of_kind(self, kind: str) -> list[VisitPlan]:
        return [visit for visit in self.visits if visit.kind == kind]

    @property
    def changed(self) -> list[VisitPlan]:
        return self.of_kind(CHANGED)

    @property
    def nothing_to_do(self) -> bool:
        return not self.has_errors and all(visit.kind == SAME for visit in self.visits)

    def counts(self) -> dict[str, int]:
        kinds = Counter(visit.kind for visit in self.visits)
        to_store = [visit for visit in self.visits if visit.kind in (NEW, CHANGED)]
        return {
            "rows": self.row_count,
            "visits": len(self.visits),
            **{f"visits_{kind}": kinds[kind] for kind in (NEW, SAME, CHANGED, REFUSED)},
            "passes": sum(visit.passes for visit in to_store),
            "catches": sum(visit.catches for visit in to_store),
            "fish": sum(visit.fish for visit in to_store),
            "differences": sum(len(visit.differences) for visit in self.visits),
            "taxa_new": len(self.new_taxa),
            **{f"{level}s": n for level, n in count_by_level(self.findings).items()},
        }

    def mark(self) -> str:
        """A short mark of file and stored state; another mark means that the plan no longer fits."""
        parts = [
            self.sha256,
            *sorted(self.new_taxa),
            *(f"{n}={k}" for n, k in sorted(self.confirmed.items())),
        ]
        parts += [
            f"{v.station_id}/{v.date}/{v.kind}/{v.visit_id}/{v.revision}/{v.status}" for v in self.visits
        ]
        return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:32]


def prepare(
    file_name: str,
    content: bytes,
    *,
    create_taxa: bool = False,
    lock: bool = False,
    today: datetime.date | None = None,
    names: Mapping[str, int] | None = None,
) -> Plan:
    """Read, check and compare a season file. Nothing is written.

    Parameters
    ----------
    create_taxa : unknown taxa become part of the plan instead of errors
    lock : hold the stored visits that the file names until the transaction ends
    today : for the check on future dates; default the day by the site's clock
    names : folded names that a person said the meaning of, and the key of the taxon
    """
    if lock:
        hold_open()
    table = read_table(
        file_name,
        content,
        limit_bytes=settings.UPLOAD_LIMIT_BYTES,
        limit_rows=settings.UPLOAD_LIMIT_ROWS,
    )
    sha256 = hashlib.sha256(content).hexdigest()
    known = read_known(
        _texts(table, "station"),
        create_taxa=create_taxa,
        today=today,
        taxon_texts=_texts(table, "taxon"),
        confirmed=names,
    )
    checked = check_season(table, known)
    findings = list(checked.findings)
    visits: tuple[VisitPlan, ...] = ()
    if checked.rows is not None:
        visits = _compare(checked.rows, known, checked.refused_rows(), findings, lock=lock)
        if not visits and not has_errors(findings):
            findings.append(
                Finding(
                    level=ERROR,
                    code="no_visit",
                    message=said("No row names a visit."),
                    remedy=said("Check the file."),
                )
            )
    return Plan(
        file_name=file_name,
        sha256=sha256,
        findings=tuple(in_order(findings)),
        visits=visits,
        rows=checked.rows,
        new_taxa=checked.new_taxa,
        row_count=table.row_count,
        taken_before=Upload.objects.filter(sha256=sha256, status=UploadStatus.TAKEN)
        .defer("content")
        .order_by("taken_at")
        .first(),
        open_names=_open_names(findings, known),
        confirmed=dict(known.confirmed),
    )


def _texts(table: Table, column: str) -> set[str]:
    """Everything that stands in a column of the file."""
    place = match_headings(table, SEASON_FILE)[0].get(column) if table.columns else None
    return set(table.columns[place]) if place is not None else set()


def _open_names(findings: Iterable[Finding], known: Known) -> tuple[OpenName, ...]:
    rows: dict[str, list[Finding]] = defaultdict(list)
    for finding in findings:
        if finding.code in ("unknown_taxon", "ambiguous_taxon"):
            rows[fold(finding.value)].append(finding)
    return tuple(
        OpenName(
            text=found[0].value,
            rows=tuple(sorted({finding.row for finding in found if finding.row})),
            near=known.sharing(folded) or known.near.get(folded, ()),
            shared=folded in known.taxa,
        )
        for folded, found in rows.items()
    )


def _compare(
    rows: Grouped, known: Known, refused_lines: set[int], findings: list[Finding], *, lock: bool
) -> tuple[VisitPlan, ...]:
    refused = _refused_visits(rows, refused_lines)
    stations = [known.stations.get(fold(rows.station(v))) for v in range(rows.visit_count)]
    held = _held(rows, stations, lock=lock)
    to_compare = [v for v, visit in held.items() if v not in refused]
    in_file = file_visits(rows, to_compare)
    in_store = stored_visits([held[v].pk for v in to_compare])
    for v in to_compare:
        keep_unsaid(in_file[v], in_store[held[v].pk], rows.silent)
    given = {column.name: rows.visit_values(column.name) for column in VISIT_COLUMNS}
    sizes = {name: given[name] for name in ("reach_length_m", "mean_width_m")}
    notes = rows.visit_notes()
    passes = np.bincount(rows.visit_of_pass, minlength=rows.visit_count)
    inside = rows.visit_of_row >= 0
    count = np.nan_to_num(rows.cells["count"].numbers())
    fish = np.bincount(rows.visit_of_row[inside], weights=count[inside], minlength=rows.visit_count)
    catches = np.bincount(rows.visit_of_row[inside & (count > 0)], minlength=rows.visit_count)
    closed = closed_years()
    plans = []
    for v in range(rows.visit_count):
        common: dict[str, Any] = {
            "number": v,
            "station_code": rows.station(v),
            "date": rows.date(v),
            "line": rows.line(int(rows.first_row_of_visit[v])),
            "passes": int(passes[v]),
            "catches": int(catches[v]),
            "fish": int(fish[v]),
        }
        station = stations[v]
        visit = held.get(v)
        if v in refused or station is None:
            plans.append(VisitPlan(kind=REFUSED, **common))
            continue
        method = known.method_for(station, given["method"][v])
        values = _plain_values(rows, given, v, visit)
        values["notes"] = notes[v]
        # Where the file is silent, a stored visit keeps the reach, width and method it was taken with.
        values["method_id"] = (
            visit.method_id if visit and given["method"][v] is None else (method.key if method else None)
        )
        for name, default in (
            ("reach_length_m", station.reach_length_m or DEFAULT_REACH_M),
            ("mean_width_m", station.mean_width_m),
        ):
            kept = getattr(visit, name) if visit else default
            values[name] = sizes[name][v] if sizes[name][v] is not None else kept
        found: tuple[Difference, ...] = ()
        if visit:
            found = differences(visit, values, in_file[v], in_store[visit.pk], known)
            if found:
                findings.append(_held_remark(visit, common, len(found)))
        locked = common["date"].year in closed and (found or not visit)
        if locked:
            findings.append(_locked_remark(common))
        refuse = bool(locked or (visit and found and visit.status == VisitStatus.WITHDRAWN))
        plans.append(
            VisitPlan(
                kind=REFUSED if refuse else CHANGED if found else SAME if visit else NEW,
                station_id=station.key,
                visit_id=visit.pk if visit else None,
                revision=visit.revision if visit else 0,
                status=visit.status if visit else "",
                values=values,
                differences=found,
                **common,
            )
        )
    return tuple(plans)


def _plain_values(rows: Grouped, given: dict[str, list[Any]], v: int, visit: Visit | None) -> dict[str, Any]:
    """Fields of a visit that come from the file, or stay where it has no such column."""
    values: dict[str, Any] = {}
    for column in _PLAIN_COLUMNS:
        value = given[column.name][v]
        if visit and column.name in rows.silent:
            value = getattr(visit, column.stored_as)
        elif value is None:
            value = column.blank
        values[column.stored_as] = list(value) if isinstance(value, tuple) else value
    return values


def _refused_visits(rows: Grouped, refused_lines: set[int]) -> set[int]:
    if not refused_lines:
        return set()
    at = np.isin(np.array(rows.table.row_numbers), list(refused_lines))
    return {int(v) for v in rows.visit_of_row[at] if v >= 0}


def _held(rows: Grouped, stations: Iterable[Any], *, lock: bool) -> dict[int, Visit]:
    """The stored visits that the file names, by the number of the visit in the file."""
    wanted = {(station.key, rows.date(v)): v for v, station in enumerate(stations) if station is not None}
    if not wanted:
        return {}
    visits = Visit.objects.filter(
        station__in={station for station, _ in wanted}, visit_date__in={day for _, day in wanted}
    ).order_by("pk")
    if lock:
        visits = visits.select_for_update(of=("self",))
    return {
        wanted[visit.station_id, visit.visit_date]: visit
        for visit in visits
        if (visit.station_id, visit.visit_date) in wanted
    }


def _locked_remark(common: dict[str, Any]) -> Finding:
    return Finding(
        level=ERROR,
        code="season_closed",
        row=common["line"],
        column="visit_date",
        value=str(common["date"]),
        message=locked_sentence(common["date"].year),
        remedy=said("Leave the visit out of the file, or have the season opened again first."),
    )


def _held_remark(visit: Visit, common: dict[str, Any], number: int) -> Finding:
    place = {"written_station": common["station_code"], "day": common["date"]}
    if visit.status == VisitStatus.WITHDRAWN:
        return Finding(
            level=ERROR,
            code="visit_withdrawn",
            row=common["line"],
            message=said_n(
                "The visit to {written_station} on {day} was withdrawn, and {n} value differs from it.",
                "The visit to {written_station} on {day} was withdrawn, and {n} values differ from it.",
                number,
                **place,
            ),
            remedy=said(
                "Take the visit back to draft on the review page first, or leave it out of the file."
            ),
        )
    held = said_n(
        "The visit to {written_station} on {day} is already held; {n} value differs.",
        "The visit to {written_station} on {day} is already held; {n} values differ.",
        number,
        **place,
    )
    back = said("It is accepted and would go back to the reviewer.") if visit.is_accepted else ""
    return Finding(
        level=WARNING,
        code="visit_held",
        row=common["line"],
        message=f"{held} {back}".rstrip(),
        remedy=said("Look at the differences, and replace it only if the new values are right."),
    )
