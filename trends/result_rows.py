"""Stored visit results cut down, by the server, to what the yearly series look at.

The detail of a result is long: every metric and every removal estimate. To send and read it whole
would cost more than the series themselves.
"""

import json
from dataclasses import dataclass
from typing import Any

from django.db import connection

from surveys.models import Visit, Watershed

# The detail is taken apart once for each row; each arrow on the whole of it would unpack it again.
_ROWS = """
SELECT result.visit_id, result."values", result.index_method, result.index_version,
       part.reasons, part.passes, part.total_catch,
       part.indicators #> '{removal_total,catches}',
       part.indicators #> '{removal_total,usable}',
       jsonb_path_query_array(part.indicators, '$.removal[*].taxon'),
       part.indicators -> 'counted',
       (SELECT jsonb_agg(metric) FROM jsonb_object_keys(part.index -> 'metrics') AS metric),
       result.listed_score, part.listed
FROM trends_visitresult AS result
JOIN surveys_visit AS visit ON visit.id = result.visit_id
JOIN surveys_station AS station ON station.id = visit.station_id,
LATERAL jsonb_to_record(result.detail)
    AS part(reasons jsonb, passes int, total_catch int, indicators jsonb, index jsonb, listed jsonb)
WHERE station.watershed_id = %s AND visit.status = 'accepted'
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class ResultRow:
    """A result as ``VisitResult`` holds it, its detail without what no series and no caution asks for."""

    visit: Visit
    values: dict[str, float | None]
    detail: dict[str, Any]
    index_method: str
    index_version: str
    listed_score: float | None


def result_rows(watershed: Watershed) -> list[ResultRow]:
    """Results of a watershed's accepted visits with their visits and methods, by date. Two queries."""
    with connection.cursor() as cursor:
        cursor.execute(_ROWS, [watershed.pk])
        found = {row[0]: row[1:] for row in cursor.fetchall()}
    visits = (
        Visit.objects.accepted()
        .filter(station__watershed=watershed)
        .select_related("method")
        .order_by("visit_date", "pk")
    )
    return [_row(visit, *found[visit.pk]) for visit in visits if visit.pk in found]


def _row(
    visit: Visit,
    values: str,
    method: str,
    version: str,
    reasons: str | None,
    passes: int | None,
    total_catch: int | None,
    catches: str | None,
    usable: str | None,
    taxa: str | None,
    counted: str | None,
    metrics: str | None,
    listed_score: float | None,
    listed: str | None,
) -> ResultRow:
    removal_total = {"catches": _read(catches), "usable": _read(usable)}
    return ResultRow(
        visit=visit,
        values=json.loads(values),
        detail={
            "reasons": _read(reasons) or {},
            "passes": passes or 0,
            "total_catch": total_catch,
            "indicators": {
                "removal_total": removal_total,
                "removal": [{"taxon": taxon} for taxon in _read(taxa) or ()],
                "counted": _read(counted) or {},
            },
            "index": {"metrics": dict.fromkeys(_read(metrics) or ())},
            "listed": _read(listed) or {},
        },
        index_method=method,
        index_version=version,
        listed_score=listed_score,
    )


def _read(text: str | None) -> Any:
    return None if text is None else json.loads(text)
