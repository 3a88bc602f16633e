"""What visits are judged by was changed: traits, places, ways of sampling, methods, notes. Says whose results go.

``trends.recompute`` makes them again after the commit.
"""

from collections.abc import Iterable

from django.db import transaction

from surveys.models import SamplingMethod, Station, Taxon, Watershed
from trends.models import TrendResult, VisitResult
from trends.recompute import differing_results, mark_all, mark_stale, recompute_marked, stations_of_guarded
from trends.shelf import shelf, stratum_id


def traits_changed(taxa: Iterable[Taxon]) -> int:
    """A taxon's traits changed: results of every accepted visit that caught it are made anew.

    A result is kept as long as the visit's revision stands, and a trait is no part of the visit;
    so these results are dropped here, and made again after the commit.

    Returns
    -------
    int : number of visits whose results were dropped
    """
    results = VisitResult.objects.filter(visit__passes__catches__taxon__in=list(taxa))
    found = list(results.distinct().values_list("pk", "visit__station"))
    guarded = stations_of_guarded(station for _, station in found)
    others = VisitResult.objects.filter(visit__station__in=guarded).exclude(pk__in=[pk for pk, _ in found])
    _drop_and_recompute([*found, *others.values_list("pk", "visit__station")], also=guarded)
    return len(found)


def station_changed(stations: Iterable[Station], *, left: Iterable[Watershed] = ()) -> int:
    """A station's stratum, catchment, place or order changed: its visits and trends are made anew.

    Parameters
    ----------
    left : watersheds that the stations belonged to before

    Returns
    -------
    int : number of visits whose results were dropped
    """
    chosen = [s.pk for s in stations]
    for watershed in left:
        TrendResult.objects.filter(watershed=watershed, station__in=chosen).delete()
        staying = watershed.stations.order_by("pk").first()
        if staying is None:
            TrendResult.objects.filter(watershed=watershed).delete()
        else:
            # One marked station is enough for its watershed's trends to be made again.
            mark_stale([staying.pk])
    results = VisitResult.objects.filter(visit__station__in=chosen)
    return _drop_and_recompute(results.values_list("pk", "visit__station"), also=chosen)


def sampling_method_changed(method: SamplingMethod) -> None:
    """A method's name or season window changed: the trends of the stations it was used at are made anew."""
    mark_stale(method.visits.accepted().values_list("station", flat=True).distinct())
    transaction.on_commit(recompute_marked, robust=True)


def trait_lists_changed(strata: Iterable[str]) -> int:
    """Another trait list serves these strata: the visits of their stations are scored anew.

    Returns
    -------
    int : number of visits whose results were dropped
    """
    wanted = set(strata)
    stations = [s for s in Station.objects.exclude(stratum="") if stratum_id(s.stratum) in wanted]
    return station_changed(stations)


def methods_changed() -> int:
    """The method or version that scores some visits changed: those visits are scored anew.

    The scores they had are kept as earlier scores. Part of the caller's transaction.

    Returns
    -------
    int : number of visits to be scored anew
    """
    differing = differing_results(shelf())
    mark_stale(differing)
    transaction.on_commit(recompute_marked, robust=True)
    return sum(len(visits) for visits in differing.values())


def notes_changed(watershed: Watershed) -> None:
    """A dated note was written, changed or withdrawn: cautions and gaps of its watershed are made anew."""
    if mark_all(watershed):
        transaction.on_commit(recompute_marked, robust=True)


def _drop_and_recompute(results: Iterable[tuple[int, int]], also: Iterable[int] = ()) -> int:
    found = list(results)
    VisitResult.objects.filter(pk__in=[pk for pk, _ in found]).delete()
    mark_stale([*(station for _, station in found), *also])
    transaction.on_commit(recompute_marked, robust=True)
    return len(found)
