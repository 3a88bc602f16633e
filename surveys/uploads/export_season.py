"""Stored visits as a season file: loaded into an empty database it gives the same visits again."""

import csv
import io
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Any

from surveys.models import Taxon
from surveys.models.visits import VisitQuerySet
from surveys.queries import CatchRecord, PassRecord, VisitRecord, visit_records
from surveys.uploads.columns import NO_FISH, SEASON_FILE, column_names

HEADINGS = tuple(column_names(SEASON_FILE))
_BATCH = 500


def season_file(visits: VisitQuerySet) -> str:
    """Visits as the text of a season file, by station and day. Four queries for every 500 visits."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(HEADINGS)
    notes = dict(visits.values_list("pk", "notes"))
    keys = list(visits.order_by("station__code", "visit_date").values_list("pk", flat=True))
    for start in range(0, len(keys), _BATCH):
        some = keys[start : start + _BATCH]
        records = {r.visit_id: r for r in visit_records(visits.filter(pk__in=some))}
        for key in some:
            for row in _rows(records[key], notes[key]):
                writer.writerow([_cell(row.get(name)) for name in HEADINGS])
    return out.getvalue()


def _rows(record: VisitRecord, notes: str) -> Iterator[dict[str, Any]]:
    whole = {
        "station": record.station_code,
        "visit_date": record.date,
        "reach_length_m": record.reach_length_m,
        "mean_width_m": record.mean_width_m,
        "stop_nets": record.stop_nets,
        "method": record.method_code,
        **record.water,
        "crew_lead": record.crew_lead,
        "notes": notes,
    }
    for one in record.passes:
        of_pass = {"pass": one.number, "effort_s": one.effort_s, "pass_biomass_g": one.biomass_g}
        for caught in _caught(one):
            yield whole | of_pass | caught


def _caught(one: PassRecord) -> Iterable[dict[str, Any]]:
    if not one.catches:
        return [{"taxon": NO_FISH, "count": 0}]
    return [_fields(caught, caught.taxon) for caught in one.catches]


def _fields(caught: CatchRecord, taxon: Taxon) -> dict[str, Any]:
    return {
        "taxon": taxon.scientific_name,
        "count": caught.count,
        "young_of_year": caught.young_of_year,
        "anomalies": caught.anomalies,
        "biomass_g": caught.biomass_g,
    }


def _cell(value: Any) -> str:
    if value is None:
        return ""
    # Every digit, and never an exponent: read again it is the very same number.
    return format(Decimal(repr(value)), "f") if isinstance(value, float) else str(value)
