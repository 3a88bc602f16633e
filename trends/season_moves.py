"""What one season did to the results: each creek's trend in words without and with it, and the scores beside the
season before. Part of the report that is signed when a season is closed."""

from typing import Any

from django.conf import settings
from django.db.models import Q
from django.utils import translation

from surveys.language import marked, worded
from surveys.models import Watershed
from surveys.signals import season_reported
from trends.assessments import assess
from trends.measures import INDEX, INDEX_ALL_FISH
from trends.models import VisitResult
from trends.record import Record, read_record
from trends.wording import headline

NO_REASON = marked("not computed yet")


def listen() -> None:
    season_reported.connect(_moves, dispatch_uid="trends.season_moves")


def _moves(sender: Any, year: int, **kwargs: Any) -> list[dict[str, Any]]:
    return season_moves(year)


def season_moves(year: int) -> list[dict[str, Any]]:
    """One plain row for each creek with an accepted visit in the year.

    Returns
    -------
    list of dict : ``creek``, ``address``, ``before`` and ``after`` (the finding in words from the visits up to
        the year before, and with this year; ``before_in`` and ``after_in`` hold it in the other languages) and
        ``scores`` (one dict a station)
    """
    made = Q(stations__visits__status="accepted", stations__visits__visit_date__year=year)
    return [_of_creek(creek, year) for creek in Watershed.objects.filter(made).distinct().order_by("name")]


def _of_creek(creek: Watershed, year: int) -> dict[str, Any]:
    record = read_record(creek)
    return {
        "creek": creek.name,
        "address": creek.get_absolute_url(),
        **_findings("before", _until(record, year - 1)),
        **_findings("after", _until(record, year)),
        "scores": _scores(record, year),
    }


def _until(record: Record, year: int) -> Record:
    """The record as it stood at the end of a year; later visits are left out."""
    return record.keeping(lambda visit: visit.date.year <= year)


def _findings(key: str, record: Record) -> dict[str, Any]:
    """The finding in English, and below ``<key>_in`` in the other languages: what is signed is kept in words."""
    # The report is for staff: all fish count in it, those too whose places are withheld.
    measure = INDEX_ALL_FISH if record.guarded else INDEX
    outcome = assess(record, measure.key, with_cautions=False) if record.visits else None
    said_in = {}
    for code, _ in settings.LANGUAGES:
        with translation.override(code):
            said_in[code] = worded("No accepted visit.") if outcome is None else headline(outcome, staff=True)
    return {key: said_in.pop("en"), f"{key}_in": said_in}


def _scores(record: Record, year: int) -> list[dict[str, Any]]:
    """The score of each visit of the year beside the last one of an earlier year at its station."""
    ratings = dict(
        VisitResult.objects.filter(visit__station__watershed=record.watershed).values_list(
            "visit", "index_rating"
        )
    )
    rows: list[dict[str, Any]] = []
    for station in sorted(record.stations, key=lambda one: one.code):
        visits = sorted(record.visits.get(station.pk, ()), key=lambda one: one.date)
        scored = [one for one in visits if one.date.year < year and one.values.get(INDEX.key) is not None]
        before = scored[-1] if scored else None
        rows += [
            {
                "station": station.code,
                "date": str(one.date),
                "score": one.values.get(INDEX.key),
                "rating": ratings.get(one.visit_id, ""),
                "reason": one.reasons.get(INDEX.key, NO_REASON),
                "score_before": before.values[INDEX.key] if before else None,
                "rating_before": ratings.get(before.visit_id, "") if before else "",
                "year_before": before.date.year if before else None,
            }
            for one in visits
            if one.date.year == year
        ]
    return rows
