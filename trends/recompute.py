"""Keeps stored results in step with the visits they rest on: when and only when those change.

A change of visits marks its stations in the same transaction. After the commit the marked stations
are computed anew: the visits whose revision or whose station changed, then the station's trends,
then its watershed's. This module is the only writer of results.
"""

import hashlib
import json
import logging
from collections.abc import Callable, Iterable
from datetime import date
from typing import Any

from django.db import transaction
from django.db.models.signals import post_save
from django.utils import translation

from surveys.models import SeasonClose, Station, Visit, Watershed
from surveys.queries import VisitRecord, visit_records
from surveys.signals import visits_changed
from surveys.withholding import scored_in_public
from trends import storing
from trends.assessments import assess, followed
from trends.indicators import prepare_removals, visit_indicators
from trends.listed import summary_of
from trends.models import EarlierScore, StaleStation, TrendResult, VisitResult
from trends.outcomes import Outcome, to_plain
from trends.public_figures import guarded_watersheds
from trends.record import read_record
from trends.scores import score_visit
from trends.shelf import Shelf, shelf
from trends.trait_lists import by_list, list_words

# Raise by one when a change of code changes numbers; every result made by an older one is then stale.
CODE_VERSION = "14"

log = logging.getLogger(__name__)
Progress = Callable[[str], None]


def listen() -> None:
    visits_changed.connect(_on_visits_changed, dispatch_uid="trends.recompute")
    post_save.connect(_on_season_signed, sender=SeasonClose, dispatch_uid="trends.recompute.season")


def _on_season_signed(sender: Any, instance: SeasonClose, **kwargs: Any) -> None:
    """A season was signed off or opened again: whether its year is provisional hangs on that (C40).

    What the visits gave stands; with the first season that is signed the others' latest year is looked at too.
    """
    mark_all()
    transaction.on_commit(recompute_marked, robust=True)


def _on_visits_changed(
    sender: Any, station_ids: Iterable[int], judged_anew: bool = False, **kwargs: Any
) -> None:
    ids = sorted(set(station_ids))
    if judged_anew:
        ids = sorted({*ids, *stations_of_guarded(ids)})
        VisitResult.objects.filter(visit__station__in=ids).delete()
    mark_stale(ids)
    transaction.on_commit(recompute_marked, robust=True)


def mark_stale(station_ids: Iterable[int]) -> None:
    """Mark stations whose results no longer fit their data; part of the caller's transaction."""
    StaleStation.objects.bulk_create(
        [StaleStation(station_id=pk) for pk in sorted(set(station_ids))], ignore_conflicts=True
    )


def mark_all(watershed: Watershed | None = None) -> int:
    """Mark every station, or every station of one watershed."""
    stations = Station.objects.all() if watershed is None else watershed.stations.all()
    ids = list(stations.values_list("pk", flat=True))
    mark_stale(ids)
    return len(ids)


def mark_outdated() -> None:
    """Mark stations with results of an older code or method version, or accepted visits without one."""
    older = VisitResult.objects.exclude(code_version=CODE_VERSION).values_list("visit__station", flat=True)
    without = Visit.objects.accepted().filter(result__isnull=True).values_list("station", flat=True)
    trends = TrendResult.objects.exclude(code_version=CODE_VERSION).filter(station__isnull=False)
    differing = differing_results(shelf())
    mark_stale({*older, *without, *trends.values_list("station", flat=True), *differing})


def recompute_marked(
    *, everything: bool = False, watershed: Watershed | None = None, say: Progress | None = None
) -> int:
    """Compute what is marked, one watershed at a time, each in its own transaction.

    Returns
    -------
    int : number of watersheds computed
    """
    marks = StaleStation.objects.select_related("station__watershed")
    if watershed is not None:
        marks = marks.filter(station__watershed=watershed)
    by_watershed: dict[Watershed, list[Station]] = {}
    for mark in marks.order_by("station__watershed__slug", "station__code"):
        by_watershed.setdefault(mark.station.watershed, []).append(mark.station)
    for number, (place, stations) in enumerate(by_watershed.items(), 1):
        # What is stored is in English, in whatever language the page was that led to it.
        with translation.override("en"), transaction.atomic():
            # Two processes may be told of the same change; the second finds nothing left to do.
            locked = StaleStation.objects.select_for_update().filter(station__in=stations)
            if not locked.exists():
                continue
            recompute_visits(stations, everything=everything)
            recompute_trends(place, stations)
            locked.delete()
        if say:
            say(f"{number} of {len(by_watershed)}: {place.name}, {len(stations)} stations")
    return len(by_watershed)


def recompute_visits(stations: Iterable[Station], *, everything: bool = False) -> int:
    """Results of the stations' accepted visits: drop those no longer accepted, make those out of date."""
    strata = {station.pk: station.stratum for station in stations}
    here = VisitResult.objects.filter(visit__station__in=list(strata))
    here.exclude(visit__status="accepted").delete()
    standing = shelf()
    accepted = Visit.objects.accepted().filter(station__in=list(strata))
    if not everything:
        made_of = accepted.order_by("visit_date", "pk").values_list(
            "pk", "station_id", "visit_date", "revision", "result__visit_revision", "result__code_version",
            "result__index_method", "result__index_version",
        )  # fmt: skip
        due = [
            pk
            for pk, station, day, revision, *made in made_of
            if tuple(made) != (revision, CODE_VERSION, *_method_named(standing, strata[station], day))
        ]
        accepted = Visit.objects.filter(pk__in=due)
    records = visit_records(accepted)
    prepare_removals(records)
    guarded = guarded_watersheds({record.watershed_id for record in records}) if records else frozenset()
    results = [unsaved_result(r, standing, guarded=r.watershed_id in guarded) for r in records]
    _keep_earlier_scores(results)
    storing.store_visit_results(results)
    return len(results)


def _method_named(standing: Shelf, stratum: str, day: date) -> tuple[str, str]:
    """Code and version that a result of this day must carry; empty where no method applies."""
    method, _ = standing.method_for(stratum, day)
    return (method.code, method.version) if method else ("", "")


def _keep_earlier_scores(results: list[VisitResult]) -> None:
    """Put aside what another method or version had made of these visits before it is written over."""
    coming = {r.visit_id: (r.index_method, r.index_version) for r in results}
    if not coming:
        return
    standing_now = (
        VisitResult.objects.filter(visit__in=list(coming))
        .exclude(index_method="")
        .values_list("pk", "visit_id", "index_method", "index_version")
    )
    changed = [pk for pk, visit, *named in standing_now if tuple(named) != coming[visit]]
    # Read in whole only where something is replaced: what a result holds is long.
    replaced = VisitResult.objects.filter(pk__in=changed) if changed else ()
    EarlierScore.objects.bulk_create(
        [
            EarlierScore(
                visit_id=old.visit_id,
                method_code=old.index_method,
                method_version=old.index_version,
                score=old.index_score,
                rating=old.index_rating,
                reason=old.detail.get("reasons", {}).get("index_score", ""),
                index=old.detail.get("index"),
                visit_revision=old.visit_revision,
                made_at=old.computed_at,
            )
            for old in replaced
        ],
        update_conflicts=True,
        unique_fields=["visit", "method_code", "method_version"],
        update_fields=["score", "rating", "reason", "index", "visit_revision", "made_at", "replaced_at"],
    )


def unsaved_result(
    record: VisitRecord, standing: Shelf | None = None, *, guarded: bool = False
) -> VisitResult:
    """What a visit gives, not stored: also for a visit that is not accepted yet.

    Parameters
    ----------
    guarded : a species whose places are withheld has been met in the watershed
    """
    standing = standing or shelf()
    listed = standing.traits_for(record.stratum, record.date)
    made = visit_indicators(by_list(record, listed))
    scored = score_visit(record, standing)
    method, index = scored.method, scored.result
    score = scored.score
    values = {key: one.value for key, one in made.indicators.items()}
    values["index_score"] = score
    reasons = {key: one.reason for key, one in made.indicators.items() if one.value is None and one.reason}
    if score is None:
        reasons["index_score"] = scored.reason
    listed_record = scored_in_public(record, guarded=guarded)
    of_listed = scored if listed_record is record else score_visit(listed_record, standing)
    detail = {
        "passes": len(record.passes),
        "total_catch": record.total_catch if record.passes else None,
        "reasons": reasons,
        "indicators": to_plain(made),
        "index": to_plain(index),
        "index_remarks": list(scored.remarks),
        "listed": {
            "reason": "" if of_listed.score is not None else of_listed.reason,
            "total_catch": listed_record.total_catch if record.passes else None,
        },
        "trait_list": list_words(listed) if listed else "",  # empty: the county's own
    }
    return VisitResult(
        visit_id=record.visit_id,
        values=values,
        detail=detail,
        index_method=method.code if method is not None else "",
        index_version=str(method.version) if method is not None else "",
        index_score=score,
        index_rating=scored.rating,
        listed_score=of_listed.score,
        listed_rating=of_listed.rating,
        visit_revision=record.revision,
        code_version=CODE_VERSION,
    )


def recompute_trends(watershed: Watershed, stations: Iterable[Station]) -> None:
    """Trends of the stations named and of their watershed; nothing else is touched.

    The first or last fish whose places are withheld changes what every visit and station of its watershed
    tells. Then all are made, or the one told otherwise would be where it was met.
    """
    record = read_record(watershed)
    wanted = {s.pk for s in stations}
    told_as_guarded = _told_as_guarded(watershed)
    if told_as_guarded is not None and told_as_guarded != record.guarded:
        recompute_visits(record.stations, everything=True)
        record = read_record(watershed)
        wanted = {s.pk for s in record.stations}
    places: list[Station | None] = [s for s in record.stations if s.pk in wanted]
    measures = followed(record)
    TrendResult.objects.filter(watershed=watershed).exclude(measure__in=measures).delete()
    results = [
        _trend_result(watershed, place, assess(record, measure, place))
        for place in [*places, None]
        for measure in measures
    ]
    kept = {
        (t.station_id, t.measure): t for t in TrendResult.objects.filter(watershed=watershed).only(
            "station", "measure", "made_from", "code_version"
        )
    }  # fmt: skip
    changed = [
        r
        for r in results
        if (old := kept.get((r.station_id, r.measure))) is None
        or (old.made_from, old.code_version) != (r.made_from, r.code_version)
    ]
    storing.store_trends(changed)


def _told_as_guarded(watershed: Watershed) -> bool | None:
    """Whether the stored results were made while places in the watershed were withheld, as their C34 tells.

    None where no result is stored.
    """
    results = TrendResult.objects.filter(watershed=watershed)
    if results.filter(outcome__cautions__contains=[{"code": "C34"}]).exists():
        return True
    return False if results.exists() else None


def _trend_result(watershed: Watershed, station: Station | None, outcome: Outcome) -> TrendResult:
    plain = to_plain(outcome)
    summary = summary_of(outcome, plain)
    period = outcome.current
    digest = hashlib.sha256(json.dumps(plain, sort_keys=True, default=float).encode()).hexdigest()
    return TrendResult(
        watershed=watershed,
        station=station,
        measure=outcome.measure,
        outcome=plain,
        summary=summary,
        latest_value=outcome.latest_value,
        highest=summary["rest"]["highest"],
        scale_top=outcome.scale[1] if outcome.scale else None,
        first_drawn=summary["rest"]["first_drawn"],
        last_drawn=summary["rest"]["last_drawn"],
        certainty=period.certainty if period else "not_assessed",
        first_year=period.first_year if period else None,
        last_year=period.last_year if period else None,
        n_years=period.n if period else 0,
        slope=period.slope if period else None,
        lower=period.lower if period else None,
        upper=period.upper if period else None,
        p_value=period.p_value if period else None,
        made_from=digest,
        code_version=CODE_VERSION,
    )


def differing_results(standing: Shelf) -> dict[int, list[int]]:
    """Accepted visits whose result was made by another method or version than now applies, by station."""
    expected: dict[tuple[str, date], tuple[str, str]] = {}
    found: dict[int, list[int]] = {}
    rows = VisitResult.objects.filter(visit__status="accepted").values_list(
        "visit_id", "visit__station_id", "visit__station__stratum", "visit__visit_date",
        "index_method", "index_version",
    )  # fmt: skip
    for visit, station, stratum, day, *named in rows:
        wanted = expected.setdefault((stratum, day), ("?", "?"))
        if wanted == ("?", "?"):
            wanted = expected[(stratum, day)] = _method_named(standing, stratum, day)
        if wanted != tuple(named):
            found.setdefault(station, []).append(visit)
    return found


def stations_of_guarded(stations: Iterable[int]) -> list[int]:
    """Every station of those watersheds of these stations in which places are withheld.

    Made anew only where a fish was met that is not listed, results would name the place by their hour.
    """
    watersheds = Station.objects.filter(pk__in=set(stations)).order_by().values_list("watershed", flat=True)
    guarded = guarded_watersheds(watersheds)
    return list(Station.objects.filter(watershed__in=guarded).order_by("pk").values_list("pk", flat=True))
