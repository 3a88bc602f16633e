"""How firm a visit's score is, and what moved a station's score between two years, for templates."""

from collections.abc import Mapping
from typing import Any

from django import template

from surveys.models import Station
from surveys.queries import VisitRecord
from surveys.withholding import sees_all
from trends.index.method import Method
from trends.public_figures import guarded_watersheds
from trends.score_doubts import Doubts, YearChange, doubts, year_change

register = template.Library()


@register.simple_tag
def score_doubts(
    record: VisitRecord, index: Mapping[str, Any], method: Method, withheld: str = ""
) -> Doubts | None:
    """The score under other readings; None where the record does not give the score that is shown."""
    if index.get("score") is None or not index.get("stratum"):
        return None
    found = doubts(record, index["stratum"], method, open_to_all=bool(withheld))
    # Withheld fish are left out of a public record; a band around another score would mislead.
    return found if found and abs(found.score - float(index["score"])) < 1e-6 else None


def _year(value: str | None) -> int | None:
    return int(value) if value and value.isascii() and value.isdigit() and len(value) == 4 else None


@register.simple_tag(takes_context=True)
def station_score_change(context: Mapping[str, Any], station: Station) -> YearChange | None:
    """Two years of a station compared; kept back where the metrics of its visits are."""
    request = context["request"]
    if not sees_all(request.user) and station.watershed_id in guarded_watersheds([station.watershed_id]):
        return None
    return year_change(station, _year(request.GET.get("before")), _year(request.GET.get("after")))
