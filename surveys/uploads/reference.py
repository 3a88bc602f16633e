"""Station lists and taxon lists: read, check everything, insert or update, whole or not at all."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import pghistory
from django.conf import settings
from django.db import transaction
from django.utils.text import slugify

from surveys.check_settings import rules_in_force
from surveys.models import Station, Taxon, TaxonAlias, Visit, Watershed
from surveys.said import marked, said
from surveys.signals import taxa_changing, visits_changed
from surveys.uploads.cells import Cells, match_headings, read_columns
from surveys.uploads.columns import STATION_LIST, TAXON_LIST, Column
from surveys.uploads.findings import ERROR, NOTE, WARNING, Finding, has_errors, in_order
from surveys.uploads.reader import Table, read_table
from surveys.uploads.store import read_known
from surveys.uploads.taxa import free_slugs, rank_of
from surveys.uploads.values import fold

Row = dict[str, Any]


@dataclass(slots=True, kw_only=True)
class ListResult:
    """What a list did, or would do: how many records are new, changed and as they were."""

    findings: list[Finding] = field(default_factory=list)
    created: int = 0
    updated: int = 0
    same: int = 0
    rows: int = 0

    @property
    def has_errors(self) -> bool:
        return has_errors(self.findings)


class _Undo(Exception):  # noqa: N818 - leaves the transaction without an error
    pass


def load_stations(name: str, content: bytes, *, dry_run: bool = False) -> ListResult:
    """Insert or update stations, and the watersheds they name."""
    return _load(name, content, STATION_LIST, _write_stations, dry_run=dry_run)


def load_taxa(name: str, content: bytes, *, dry_run: bool = False) -> ListResult:
    """Insert or update taxa, their traits and their other names."""
    return _load(name, content, TAXON_LIST, _write_taxa, dry_run=dry_run)


def _load(
    name: str,
    content: bytes,
    columns: Sequence[Column],
    write: Callable[[Table, list[Row], ListResult], None],
    *,
    dry_run: bool,
) -> ListResult:
    table = read_table(
        name, content, limit_bytes=settings.UPLOAD_LIMIT_BYTES, limit_rows=settings.UPLOAD_LIMIT_ROWS
    )
    result = ListResult(findings=list(table.findings), rows=table.row_count)
    if not table.row_count:
        return result
    rules = rules_in_force()
    cells, found, complete = read_columns(table, columns, rules)
    result.findings += found
    if complete:
        present = [c.name for c in columns if c.name in match_headings(table, columns)[0]]
        rows = _rows(table, cells, present)
        _once(table, rows, columns[0].name, result)
        try:
            with transaction.atomic(), pghistory.context(file=name):
                write(table, rows, result)
                if dry_run or result.has_errors:
                    raise _Undo
        except _Undo:
            pass
    result.findings = in_order(rules.raised(result.findings))
    return result


def _rows(table: Table, cells: dict[str, Cells], present: Sequence[str]) -> list[Row]:
    """One mapping per row, with the columns that the file has; None is an empty cell."""
    return [
        {"line": table.row_numbers[i], **{name: cells[name].value(i) for name in present}}
        for i in range(table.row_count)
    ]


def _once(table: Table, rows: list[Row], key: str, result: ListResult) -> None:
    first: dict[str, int] = {}
    for row in rows:
        name = fold(row[key] or "")
        if name and name in first:
            _refuse(
                result,
                row,
                "duplicate_row",
                key,
                said("{written} is already in row {row}.", written=row[key], row=first[name]),
                marked("Keep one row."),
            )
        first.setdefault(name, row["line"])


def _refuse(result: ListResult, row: Row, code: str, column: str, message: str, remedy: str) -> None:
    value = row.get(column)
    result.findings.append(
        Finding(
            level=ERROR,
            code=code,
            row=row["line"],
            column=column,
            value="" if value is None else str(value),
            message=message,
            remedy=remedy,
        )
    )


def _apply(record: Any, fields: Row, label: str, line: int, result: ListResult) -> bool:
    """Set fields of a stored record; whether anything differed. Each change is a remark."""
    changes = []
    for name, value in fields.items():
        old = getattr(record, name)
        if old != value:
            changes.append(f"{name}: {_shown(old)} -> {_shown(value)}")
            setattr(record, name, value)
    if changes:
        result.findings.append(
            Finding(
                level=NOTE,
                code="record_changed",
                row=line,
                value=label,
                message=f"{label}: {'; '.join(changes)}.",
            )
        )
    return bool(changes)


def _shown(value: Any) -> str:
    return "empty" if value in (None, "") else str(value)


def _values(model: type[Any], row: Row, names: Sequence[str]) -> Row:
    """Fields of a record from a row; an empty cell empties the field, in the way the field has."""
    return {
        name: ("" if row[name] is None and not model._meta.get_field(name).null else row[name])
        for name in names
        if name in row
    }


_STATION_FIELDS = [c.name for c in STATION_LIST if c.name not in ("station", "watershed", "control_for")]


def _write_stations(table: Table, rows: list[Row], result: ListResult) -> None:
    stored = {
        s.code: s for s in Station.objects.select_for_update(of=("self",)).select_related("control_for")
    }
    by_fold = {fold(code): code for code in stored}
    watersheds = {fold(w.name): w for w in Watershed.objects.all()}
    slugs = Counter(w.slug for w in watersheds.values())
    moved: set[int] = set()
    for row in rows:
        code = row["station"]
        if not code or not row["watershed"] or not row["stream"]:
            continue
        spelled = by_fold.get(fold(code), code)
        if spelled != code:
            _refuse(
                result,
                row,
                "station_spelling",
                "station",
                said("{written} is stored as {written_2}.", written=code, written_2=spelled),
                said("Write {written}.", written=spelled),
            )
            continue
        watershed = _watershed(row["watershed"], watersheds, slugs)
        fields = _values(Station, row, _STATION_FIELDS)
        station = stored.get(code)
        before = (station.latitude, station.longitude) if station else (None, None)
        latitude, longitude = fields.get("latitude", before[0]), fields.get("longitude", before[1])
        if (latitude is None) != (longitude is None):
            _refuse(
                result,
                row,
                "half_a_position",
                "latitude",
                marked("One of latitude and longitude is empty."),
                marked("Give both or none."),
            )
            continue
        if latitude == 0 and longitude == 0:
            result.findings.append(
                Finding(
                    level=WARNING,
                    code="unusual_position",
                    row=row["line"],
                    column="latitude",
                    value="0",
                    message=marked("0 and 0 is a place in the ocean."),
                    remedy=marked("Leave both empty where the position is not known."),
                )
            )
        if station is None:
            stored[code] = Station.objects.create(code=code, watershed=watershed, **fields)
            by_fold[fold(code)] = code
            result.created += 1
        else:
            old_watershed = station.watershed_id
            if _apply(station, {**fields, "watershed": watershed}, code, row["line"], result):
                station.save()
                result.updated += 1
                moved.add(station.pk)
            else:
                result.same += 1
            if old_watershed != station.watershed_id:
                moved.add(station.pk)
    moved |= _controls(rows, stored, result)
    accepted = set(
        Visit.objects.accepted().filter(station__in=moved).values_list("station_id", flat=True).distinct()
    )
    if accepted and not result.has_errors:
        visits_changed.send(sender=Visit, station_ids=accepted, judged_anew=True)


def _watershed(name: str, watersheds: dict[str, Watershed], slugs: Counter[str]) -> Watershed:
    found = watersheds.get(fold(name))
    if found is None:
        base = slugify(name) or "watershed"
        slug, number = base, 2
        while slugs[slug]:
            slug, number = f"{base}-{number}", number + 1
        slugs[slug] += 1
        found = watersheds[fold(name)] = Watershed.objects.create(name=name, slug=slug)
    return found


def _controls(rows: list[Row], stored: dict[str, Station], result: ListResult) -> set[int]:
    """Set control stations last: a row may name a station that comes further down."""
    touched: set[int] = set()
    for row in rows:
        station = stored.get(row["station"])
        if station is None or "control_for" not in row:
            continue
        code = row["control_for"]
        target = stored.get(code) if code else None
        if code == station.code:
            _refuse(
                result,
                row,
                "own_control",
                "control_for",
                said("{written} cannot be its own control.", written=code),
                marked("Name another station."),
            )
        elif code and target is None:
            _refuse(
                result,
                row,
                "unknown_station",
                "control_for",
                said("There is no station {written}.", written=code),
                marked("Add it to the list first."),
            )
        elif station.control_for_id != (target.pk if target else None):
            station.control_for = target
            station.save(update_fields=["control_for"])
            touched.add(station.pk)
    return touched


_TAXON_FIELDS = [
    "common_name",
    "family",
    "itis_tsn",
    "tolerance",
    "trophic_guild",
    "benthic",
    "lithophilic",
    "native",
    "migratory",
    "hybrid",
    "look_alikes",
    "sensitive_location",
    "code",
    "rank",
    "traits_source",
    "note",
]


def _write_taxa(table: Table, rows: list[Row], result: ListResult) -> None:
    stored = {fold(t.scientific_name): t for t in Taxon.objects.select_for_update()}
    known = read_known(())
    codes = {fold(t.code): t.scientific_name for t in stored.values() if t.code}
    new_names = [row["scientific_name"] for row in rows if row["scientific_name"]]
    slugs = dict(zip(new_names, free_slugs(new_names), strict=True))
    touched: set[int] = set()
    changed: list[Taxon] = []
    for row in rows:
        name = row["scientific_name"]
        if not name:
            continue
        taxon = stored.get(fold(name))
        others = [key for key in known.taxa.get(fold(name), ()) if taxon is None]
        if others:
            accepted = known.taxon_names[others[0]]
            _refuse(
                result,
                row,
                "name_taken",
                "scientific_name",
                said("{written} is another name of {written_2}.", written=name, written_2=accepted),
                said("Write {written}, or take the other name off that taxon first.", written=accepted),
            )
            continue
        fields = _values(Taxon, row, _TAXON_FIELDS)
        fields = {
            k: (False if v == "" and k in ("hybrid", "sensitive_location") else v) for k, v in fields.items()
        }
        owner = codes.get(fold(fields.get("code") or ""))
        if owner and fold(owner) != fold(name):
            _refuse(
                result,
                row,
                "code_taken",
                "code",
                said("The code is already that of {written}.", written=owner),
                marked("Choose another code."),
            )
            continue
        if fields.get("code"):
            codes[fold(fields["code"])] = name
        if not fields.get("rank"):
            fields.pop("rank", None)
            if taxon is None:
                fields["rank"] = "hybrid" if fields.get("hybrid") else rank_of(name)
                fields.setdefault("hybrid", fields["rank"] == "hybrid")
        if taxon is None:
            taxon = stored[fold(name)] = Taxon.objects.create(
                scientific_name=name, slug=slugs[name], **fields
            )
            result.created += 1
        elif _apply(taxon, fields, taxon.scientific_name, row["line"], result):
            changed.append(taxon)
            result.updated += 1
            touched.add(taxon.pk)
        else:
            result.same += 1
        _aliases(taxon, row, result)
    if changed and not result.has_errors:
        # Scores are compared before anything is stored, so that a dry run tells them too.
        for _, sentences in taxa_changing.send(sender=Taxon, taxa=changed):
            result.findings += [
                Finding(level=NOTE, code="score_would_change", message=words) for words in sentences or ()
            ]
    for taxon in changed:
        taxon.save()
    stations = set(
        Visit.objects.accepted()
        .filter(passes__catches__taxon__in=touched)
        .values_list("station_id", flat=True)
        .distinct()
    )
    if stations and not result.has_errors:
        visits_changed.send(sender=Visit, station_ids=stations, judged_anew=True)


def _aliases(taxon: Taxon, row: Row, result: ListResult) -> None:
    for name in (part.strip() for part in (row.get("aliases") or "").split(";")):
        if not name:
            continue
        alias = TaxonAlias.objects.filter(name__iexact=name).select_related("taxon").first()
        if alias is None:
            TaxonAlias.objects.create(taxon=taxon, name=name)
        elif alias.taxon_id != taxon.pk:
            _refuse(
                result,
                row,
                "alias_taken",
                "aliases",
                said(
                    "{written} is already a name of {written_2}.",
                    written=name,
                    written_2=alias.taxon.scientific_name,
                ),
                marked("Keep it with one of the two."),
            )
