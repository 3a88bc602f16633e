"""Land-use notes and land cover from files: read, check everything, insert or update, whole or not at all.

Works by the same steps as ``surveys.uploads``; the columns stand in ``import_columns``.
"""

import difflib
from collections.abc import Callable, Sequence
from typing import Any

import pghistory
from django.conf import settings
from django.db import transaction

from surveys.check_settings import rules_in_force
from surveys.models import Station, Watershed
from surveys.rules import Rules
from surveys.uploads.cells import match_headings, read_columns
from surveys.uploads.columns import Column
from surveys.uploads.findings import ERROR, NOTE, WARNING, Finding, in_order
from surveys.uploads.list_records import ListResult
from surveys.uploads.reader import Table, read_table
from surveys.uploads.values import fold
from trends.import_columns import LAND_COVER_LIST, NOTE_LIST
from trends.judged_anew import notes_changed
from trends.models import DatePrecision, LandCover, LandUseNote

Row = dict[str, Any]


_SHARES = ("impervious_pct", "forest_pct")


class _Undo(Exception):  # noqa: N818 - leaves the transaction without an error
    pass


def load_notes(name: str, content: bytes, *, by: Any = None, dry_run: bool = False) -> ListResult:
    """Insert or update land-use notes. A note is known by watershed, station, start and title."""
    return _load(
        name, content, NOTE_LIST, lambda rows, result: _write_notes(rows, result, by), dry_run=dry_run
    )


def load_land_cover(name: str, content: bytes, *, dry_run: bool = False) -> ListResult:
    """Insert or update the land cover of watersheds by year."""
    return _load(name, content, LAND_COVER_LIST, _write_land_cover, dry_run=dry_run)


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
    rules = rules_in_force()
    if table.row_count:
        rows = _rows(table, columns, result, rules)
        try:
            with transaction.atomic(), pghistory.context(file=name):
                # Also after errors in cells: the remarks on whole rows belong in the same report.
                write(rows, result)
                if dry_run or result.has_errors:
                    raise _Undo
        except _Undo:
            pass
    result.findings = in_order(rules.raised(result.findings))
    return result


def _rows(table: Table, columns: Sequence[Column], result: ListResult, rules: Rules) -> list[Row]:
    """One mapping per row with the columns that the file has; ``whole`` where every cell could be read."""
    cells, found, complete = read_columns(table, columns, rules)
    result.findings += found
    if not complete:
        return []
    present = match_headings(table, columns)[0]
    unreadable = {(f.row, f.column) for f in found if f.level == ERROR}
    needed = [c.name for c in columns if c.required]
    rows = []
    for i, line in enumerate(table.row_numbers):
        row = {"line": line, **{name: cells[name].value(i) for name in present}}
        row["whole"] = all(row[n] is not None for n in needed) and not any(
            (line, n) in unreadable for n in present
        )
        rows.append(row)
    return rows


def _finding(
    row: Row, level: str, code: str, column: str, value: object, message: str, remedy: str
) -> Finding:
    return Finding(
        level=level,
        code=code,
        row=row["line"],
        column=column,
        value=str(value),
        message=message,
        remedy=remedy,
    )


def _watersheds() -> dict[str, Watershed]:
    places = list(Watershed.objects.all())
    return {fold(p.slug): p for p in places} | {fold(p.name): p for p in places}


def _place(row: Row, watersheds: dict[str, Watershed], result: ListResult) -> Watershed | None:
    if row["watershed"] is None:
        return None  # an empty cell has its remark already
    found = watersheds.get(fold(row["watershed"]))
    if found is None:
        near = difflib.get_close_matches(fold(row["watershed"]), list(watersheds), n=3, cutoff=0.6)
        names = ", ".join(dict.fromkeys(watersheds[key].name for key in near))
        result.findings.append(
            _finding(
                row, ERROR, "unknown_watershed", "watershed", row["watershed"],
                f"There is no watershed {row['watershed']}.",
                f"Nearest names: {names}." if names else "Load its stations with the station list first.",
            )
        )  # fmt: skip
    return found


def _write_notes(rows: list[Row], result: ListResult, by: Any) -> None:
    watersheds = _watersheds()
    stations = {fold(s.code): s for s in Station.objects.select_related("watershed")}
    first_line: dict[tuple[Any, ...], int] = {}
    touched: set[Watershed] = set()
    for row in rows:
        place = _place(row, watersheds, result)
        station = _station(row, place, stations, result)
        if not row["whole"]:
            continue
        start, end = row["starts_on"], row.get("ends_on")
        if end is not None and end[1] < start[0]:
            result.findings.append(
                _finding(
                    row, ERROR, "ends_before_it_starts", "ends_on", end[1],
                    f"The note ends on {end[1]}, before it starts on {start[0]}.", "Check both dates.",
                )
            )  # fmt: skip
            continue
        if place is None or (row.get("station") and station is None):
            continue
        key = (place.pk, station.pk if station else None, start[0], row["title"])
        if key in first_line:
            result.findings.append(
                _finding(
                    row, ERROR, "duplicate_row", "title", row["title"],
                    f"This note is already in row {first_line[key]}.", "Keep one row.",
                )
            )  # fmt: skip
            continue
        first_line[key] = row["line"]
        if _write_note(row, place, station, result, by):
            touched.add(place)
    if result.has_errors:
        return
    # A note can be the reason of a gap in a series, so the results of its watershed rest on it.
    for place in touched:
        notes_changed(place)


def _station(
    row: Row, place: Watershed | None, stations: dict[str, Station], result: ListResult
) -> Station | None:
    code = row.get("station")
    if not code:
        return None
    station = stations.get(fold(code))
    if station is None:
        near = difflib.get_close_matches(fold(code), list(stations), n=3, cutoff=0.6)
        named = ", ".join(stations[key].code for key in near)
        result.findings.append(
            _finding(
                row, ERROR, "unknown_station", "station", code, f"There is no station {code}.",
                f"Nearest codes: {named}." if named else "Load it with the station list first.",
            )
        )  # fmt: skip
    elif place is not None and station.watershed_id != place.pk:
        result.findings.append(
            _finding(
                row, ERROR, "station_elsewhere", "station", code,
                f"{station.code} lies in {station.watershed.name}, not in {place.name}.",
                "Correct the station or the watershed.",
            )
        )  # fmt: skip
        return None
    return station


def _precision(row: Row) -> str:
    """The least exact of what the dates and the column say."""
    said = [row["starts_on"][2], row["ends_on"][2] if row.get("ends_on") else None, row.get("date_precision")]
    order = list(DatePrecision.values)
    return max((word for word in said if word), key=order.index)


def _write_note(row: Row, place: Watershed, station: Station | None, result: ListResult, by: Any) -> bool:
    """Insert or update one note; whether anything was written. An empty cell empties the field."""
    end = row.get("ends_on")  # empty stays empty: a rough start does not give an end
    fields: Row = {
        "category": row["category"],
        "ends_on": end[1] if end else None,
        "date_precision": _precision(row),
        **{name: row[name] or "" for name in ("text", "source") if name in row},
    }
    if row.get("public") is not None:
        fields["public"] = row["public"]
    same_key = LandUseNote.objects.select_for_update(of=("self",)).filter(
        watershed=place, station=station, starts_on=row["starts_on"][0], title=row["title"]
    )
    note = same_key.current().first()
    if note is None:
        withdrawn = same_key.order_by("-withdrawn_at").first()
        if withdrawn is not None:
            result.findings.append(
                _finding(
                    row, WARNING, "was_withdrawn", "title", row["title"],
                    f"This note was withdrawn on {withdrawn.withdrawn_at:%Y-%m-%d}"
                    f"{': ' + withdrawn.withdrawn_why if withdrawn.withdrawn_why else ''}. It is left out.",
                    "Write it again on the watershed's page if it is to come back.",
                )
            )  # fmt: skip
            result.same += 1
            return False
        LandUseNote.objects.create(
            watershed=place,
            station=station,
            starts_on=row["starts_on"][0],
            title=row["title"],
            written_by=by,
            **fields,
        )
        result.created += 1
        return True
    return _changed(note, fields, row, row["title"], result)


def _changed(record: Any, fields: Row, row: Row, label: str, result: ListResult) -> bool:
    changes = {name: value for name, value in fields.items() if getattr(record, name) != value}
    if not changes:
        result.same += 1
        return False
    words = "; ".join(
        f"{name}: {_shown(getattr(record, name))} -> {_shown(value)}" for name, value in changes.items()
    )
    for name, value in changes.items():
        setattr(record, name, value)
    record.save(update_fields=list(changes))
    result.findings.append(_finding(row, NOTE, "record_changed", "", label, f"{label}: {words}.", ""))
    result.updated += 1
    return True


def _shown(value: Any) -> str:
    return "empty" if value in (None, "") else str(value)


def _write_land_cover(rows: list[Row], result: ListResult) -> None:
    watersheds = _watersheds()
    stored = {(c.watershed_id, c.year): c for c in LandCover.objects.select_for_update()}
    first_line: dict[tuple[int, int], int] = {}
    for row in rows:
        place = _place(row, watersheds, result)
        if place is None or not row["whole"]:
            continue
        key = (place.pk, row["year"])
        if key in first_line:
            result.findings.append(
                _finding(
                    row, ERROR, "duplicate_row", "year", row["year"],
                    f"{place.name} in {row['year']} is already in row {first_line[key]}.", "Keep one row.",
                )
            )  # fmt: skip
            continue
        first_line[key] = row["line"]
        fields: Row = {name: row[name] for name in _SHARES if name in row}
        held = stored.get(key)
        # A column that the file does not have keeps what is stored.
        shares = {name: getattr(held, name) for name in _SHARES} | fields if held else fields
        if sum(value or 0 for value in shares.values()) > 100:
            result.findings.append(
                _finding(
                    row, ERROR, "above_100", "forest_pct", shares["forest_pct"],
                    "Hard surfaces and forest together are more than 100 %.", "Check both shares.",
                )
            )  # fmt: skip
            continue
        if held is None:
            LandCover.objects.create(watershed=place, year=row["year"], **fields)
            result.created += 1
        else:
            _changed(held, fields, row, f"{place.name} {row['year']}", result)
