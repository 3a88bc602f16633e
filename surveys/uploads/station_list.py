"""The list of stations: inserted or updated, with the watersheds it names and the controls of its stations."""

import difflib
from collections import Counter
from math import asin, cos, radians, sin, sqrt
from typing import Any, Final

from django.db.models import Count
from django.utils.text import slugify

from surveys.check_settings import rules_in_force
from surveys.models import Station, Visit, VisitStatus, Watershed
from surveys.said import marked, said, said_n
from surveys.signals import visits_changed
from surveys.uploads.columns import STATION_LIST
from surveys.uploads.findings import ERROR, WARNING, Finding
from surveys.uploads.list_records import ListResult, Row, apply, refuse, values
from surveys.uploads.values import fold

# One letter wrong in ten: creeks are often called alike, so that less would ask too often (a proposal, no source).
_NEAR_NAME = 0.9
EARTH_RADIUS_M: Final = 6_371_009  # mean radius of the GRS 80 ellipsoid (Moritz 2000, from memory)

_STATION_FIELDS = [c.name for c in STATION_LIST if c.name not in ("station", "watershed", "control_for")]


def write_stations(rows: list[Row], result: ListResult) -> None:
    stored = {
        s.code: s for s in Station.objects.select_for_update(of=("self",)).select_related("control_for")
    }
    by_fold = {fold(code): code for code in stored}
    watersheds = {fold(w.name): w for w in Watershed.objects.all()}
    slugs = Counter(w.slug for w in watersheds.values())
    unreadable = {
        f.row for f in result.findings if f.level == ERROR and f.column in ("latitude", "longitude")
    }
    rules = rules_in_force()
    standing = Visit.objects.exclude(status=VisitStatus.WITHDRAWN).order_by()
    visits = Counter(dict(standing.values_list("station_id").annotate(Count("pk"))))
    moved: set[int] = set()
    for row in rows:
        code = row["station"]
        if not code or not row["watershed"] or not row["stream"]:
            continue
        spelled = by_fold.get(fold(code), code)
        if spelled != code:
            refuse(
                result,
                row,
                "station_spelling",
                "station",
                said("{written} is stored as {written_2}.", written=code, written_2=spelled),
                said("Write {written}.", written=spelled),
            )
            continue
        watershed = _watershed(row, watersheds, slugs, result)
        fields = values(Station, row, _STATION_FIELDS)
        station = stored.get(code)
        before = (station.latitude, station.longitude) if station else (None, None)
        latitude, longitude = fields.get("latitude", before[0]), fields.get("longitude", before[1])
        if (latitude is None) != (longitude is None):
            if row["line"] in unreadable:
                continue  # what cannot be read is told, and is not empty
            refuse(
                result,
                row,
                "half_a_position",
                "latitude",
                marked("One of latitude and longitude is empty."),
                marked("Give both or none."),
            )
            continue
        if station and (latitude, longitude) != before and station.position_uncertainty_m is not None:
            # It was that of the place before; a list that says nothing of it leaves the new place without.
            fields.setdefault("position_uncertainty_m", None)
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
            if None not in (*before, latitude, longitude):
                distance = _metres(before, (latitude, longitude))
                if distance > rules.limit("station_moves", "metres") and visits[station.pk]:
                    result.findings.append(_moves(row, visits[station.pk], distance))
            if apply(station, {**fields, "watershed": watershed}, code, row["line"], result):
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


def _metres(one: tuple[Any, ...], other: tuple[Any, ...]) -> float:
    """The way between two positions over a round earth (haversine formula, from memory)."""
    (north, east), (north_2, east_2) = (map(radians, place) for place in (one, other))
    half = sin((north_2 - north) / 2) ** 2 + cos(north) * cos(north_2) * sin((east_2 - east) / 2) ** 2
    return 2 * EARTH_RADIUS_M * asin(sqrt(min(1.0, half)))


def _moves(row: Row, visits: int, distance: float) -> Finding:
    far = said("{number} m", number=f"{distance:,.0f}")
    if distance >= 2_000:
        far = said("{number} km", number=f"{distance / 1_000:,.1f}")
    return Finding(
        level=WARNING,
        code="station_moves",
        row=row["line"],
        column="latitude",
        value=f"{row.get('latitude')}, {row.get('longitude')}",
        message=said_n(
            "{written} has {n} visit and lies {far} from where it is stored; the visit moves along.",
            "{written} has {n} visits and lies {far} from where it is stored; all its visits move along.",
            visits,
            written=row["station"],
            far=far,
        ),
        remedy=marked(
            "Right for a correction. If the station itself was moved, leave the position as it was and give the "
            "station a new layout on its page."
        ),
    )


def _watershed(
    row: Row, watersheds: dict[str, Watershed], slugs: Counter[str], result: ListResult
) -> Watershed:
    """The watershed of that name, made anew where there is none; a name that comes near is asked about."""
    name = row["watershed"]
    found = watersheds.get(fold(name))
    if found is None:
        plain = {slugify(w.name) or w.name: w.name for w in watersheds.values()}
        near = difflib.get_close_matches(slugify(name) or name, list(plain), n=1, cutoff=_NEAR_NAME)
        if near:
            result.findings.append(
                Finding(
                    level=WARNING,
                    code="watershed_comes_near",
                    row=row["line"],
                    column="watershed",
                    value=name,
                    message=said(
                        "{written} is a new watershed; its name comes near {written_2}.",
                        written=name,
                        written_2=plain[near[0]],
                    ),
                    remedy=said("If {written} is meant, write it so.", written=plain[near[0]]),
                )
            )
        result.watersheds.append(name)
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
            refuse(
                result,
                row,
                "own_control",
                "control_for",
                said("{written} cannot be its own control.", written=code),
                marked("Name another station."),
            )
        elif code and target is None:
            refuse(
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
