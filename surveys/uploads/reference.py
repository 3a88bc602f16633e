"""Station lists and taxon lists: read, check everything, insert or update, whole or not at all."""

from collections.abc import Callable, Sequence

import pghistory
from django.conf import settings
from django.db import transaction

from surveys.check_settings import rules_in_force
from surveys.models import Taxon, TaxonAlias, Visit
from surveys.said import marked, said
from surveys.signals import taxa_changing, visits_changed
from surveys.uploads.cells import Cells, match_headings, read_columns
from surveys.uploads.columns import STATION_LIST, TAXON_LIST, Column
from surveys.uploads.findings import NOTE, Finding, in_order
from surveys.uploads.list_records import ListResult, Row, apply, refuse, values
from surveys.uploads.reader import Table, read_table
from surveys.uploads.station_list import write_stations
from surveys.uploads.store import read_known
from surveys.uploads.taxa import free_slugs, rank_of
from surveys.uploads.values import fold


class _Undo(Exception):  # noqa: N818 - leaves the transaction without an error
    pass


def load_stations(name: str, content: bytes, *, dry_run: bool = False) -> ListResult:
    """Insert or update stations, and the watersheds they name."""
    return _load(name, content, STATION_LIST, write_stations, dry_run=dry_run)


def load_taxa(name: str, content: bytes, *, dry_run: bool = False) -> ListResult:
    """Insert or update taxa, their traits and their other names."""
    return _load(name, content, TAXON_LIST, _write_taxa, dry_run=dry_run)


def _load(
    name: str,
    content: bytes,
    columns: Sequence[Column],
    write: Callable[[list[Row], ListResult], None],
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
        _once(rows, columns[0].name, result)
        try:
            with transaction.atomic(), pghistory.context(file=name):
                write(rows, result)
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


def _once(rows: list[Row], key: str, result: ListResult) -> None:
    first: dict[str, int] = {}
    for row in rows:
        name = fold(row[key] or "")
        if name and name in first:
            refuse(
                result,
                row,
                "duplicate_row",
                key,
                said("{written} is already in row {row}.", written=row[key], row=first[name]),
                marked("Keep one row."),
            )
        first.setdefault(name, row["line"])


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
    "authorship",
    "traits_source",
    "note",
]


def _write_taxa(rows: list[Row], result: ListResult) -> None:
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
            refuse(
                result,
                row,
                "name_taken",
                "scientific_name",
                said("{written} is another name of {written_2}.", written=name, written_2=accepted),
                said("Write {written}, or take the other name off that taxon first.", written=accepted),
            )
            continue
        fields = values(Taxon, row, _TAXON_FIELDS)
        fields = {
            k: (False if v == "" and k in ("hybrid", "sensitive_location") else v) for k, v in fields.items()
        }
        owner = codes.get(fold(fields.get("code") or ""))
        if owner and fold(owner) != fold(name):
            refuse(
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
        elif apply(taxon, fields, taxon.scientific_name, row["line"], result):
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
            refuse(
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
