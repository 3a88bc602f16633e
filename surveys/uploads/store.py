"""Reads from the database what the checks have to know, in a fixed number of queries."""

import datetime
from collections import defaultdict
from collections.abc import Collection, Mapping
from typing import Any

from django.conf import settings
from django.db.models import Count, F, FilteredRelation, FloatField, Max, Min, Q, QuerySet
from django.db.models.functions import Cast, Coalesce
from django.utils import timezone

from surveys.check_settings import rules_in_force
from surveys.models import Catch, SamplingMethod, Station, Taxon, TaxonAlias, Visit, VisitStatus
from surveys.names import near_names
from surveys.uploads.columns import NO_FISH
from surveys.uploads.gear_checks import BASIS, GEAR, MEASURED
from surveys.uploads.known import EarlierVisit, Known, KnownMethod, KnownStation, MeanWeights
from surveys.uploads.values import fold


def read_known(
    station_texts: Collection[str],
    *,
    create_taxa: bool = False,
    today: datetime.date | None = None,
    taxon_texts: Collection[str] = (),
    confirmed: Mapping[str, int] | None = None,
    without: int | None = None,
) -> Known:
    """All codes and names, and for the stations of a file also what was caught there before.

    ``taxon_texts`` are the names of a file: for those that nobody knows, what comes near is looked up too.
    ``without`` is the key of a visit that is checked anew: what it holds itself is nothing earlier.
    """
    methods = {m.pk: _method(m) for m in SamplingMethod.objects.all()}
    default = SamplingMethod.objects.filter(is_default=True).first()
    names, taxon_names = _taxa()
    confirmed = {text: key for text, key in (confirmed or {}).items() if key in taxon_names}
    unknown = {fold(text) for text in taxon_texts} - names.keys() - confirmed.keys() - {NO_FISH}
    stations = _stations({fold(text) for text in station_texts}, methods, without)
    return Known(
        today=today or timezone.localdate(),
        stations=stations,
        taxa=names,
        taxon_names=taxon_names,
        methods={fold(m.code): m for m in methods.values()},
        default_method=methods[default.pk] if default else None,
        create_taxa=create_taxa,
        confirmed=confirmed,
        near=near_names(unknown),
        rules=rules_in_force(),
        alternating_current=settings.ALTERNATING_CURRENT_ALLOWED,
        mean_weights=_mean_weights([s.key for s in stations.values() if s.earlier_dates], without),
    )


def _mean_weights(stations: list[int], without: int | None) -> dict[int, MeanWeights]:
    """What a fish of each taxon weighed in the batches of these stations."""
    if not stations:
        return {}
    each = F("biomass_g") / Cast(Coalesce("weighed", "count"), FloatField())
    batches = _caught(without).filter(removal_pass__visit__station__in=stations, biomass_g__gt=0)
    return {
        taxon: MeanWeights(least=least, most=most, batches=number)
        for taxon, least, most, number in batches.values_list("taxon_id").annotate(
            least=Min(each), most=Max(each), number=Count("pk")
        )
    }


def _caught(without: int | None) -> QuerySet[Catch]:
    """Catches of visits that stand. What was withdrawn is no measure for others."""
    caught = Catch.objects.exclude(removal_pass__visit__status=VisitStatus.WITHDRAWN).order_by()
    return caught.exclude(removal_pass__visit=without) if without else caught


def _method(method: SamplingMethod) -> KnownMethod:
    return KnownMethod(
        key=method.pk,
        code=method.code,
        season_starts=method.season_starts,
        season_ends=method.season_ends,
    )


def _stations(
    wanted: set[str], methods: dict[int, KnownMethod], without: int | None
) -> dict[str, KnownStation]:
    rows = list(
        Station.objects.values("pk", "code", "method_id", "reach_length_m", "mean_width_m", "watershed_id")
    )
    in_file = [row["pk"] for row in rows if fold(row["code"]) in wanted]
    earlier = earlier_visits(in_file, without=without)
    most: dict[int, dict[int, int]] = defaultdict(dict)
    caught = _caught(without).filter(removal_pass__visit__station__in=in_file)
    for station, taxon, count in caught.values_list("removal_pass__visit__station_id", "taxon_id").annotate(
        most=Max("count")
    ):
        most[station][taxon] = count
    met, around = _met(in_file, without)
    return {
        fold(row["code"]): KnownStation(
            key=row["pk"],
            code=row["code"],
            method=methods.get(row["method_id"]),
            reach_length_m=row["reach_length_m"],
            mean_width_m=row["mean_width_m"],
            earlier_dates=tuple(one.date for one in earlier.get(row["pk"], ())),
            last_method=methods[earlier[row["pk"]][-1].method].code if row["pk"] in earlier else "",
            most=most.get(row["pk"], {}),
            history=met.get(row["pk"], ()),
            earlier=earlier.get(row["pk"], ()),
            watershed_taxa=around.get(row["watershed_id"], frozenset()) if row["pk"] in met else frozenset(),
        )
        for row in rows
    }


def earlier_visits(
    stations: Collection[int], *, without: int | None = None
) -> dict[int, tuple[EarlierVisit, ...]]:
    """Readings and gear of the visits to some stations, by key of the station; ``without`` leaves one visit out."""
    visits = Visit.objects.filter(station__in=stations).exclude(status=VisitStatus.WITHDRAWN)
    if without:
        visits = visits.exclude(pk=without)
    names = (*MEASURED, BASIS, *GEAR)
    fields = (*MEASURED, BASIS, *(f"first__{name}" for name in GEAR))
    found: dict[int, list[EarlierVisit]] = defaultdict(list)
    for station, day, method, *values in (
        visits.annotate(first=FilteredRelation("passes", condition=Q(passes__pass_number=1)))
        .order_by("visit_date")
        .values_list("station_id", "visit_date", "method_id", *fields)
    ):
        found[station].append(
            EarlierVisit(date=day, method=method, values=dict(zip(names, values, strict=True)))
        )
    return {station: tuple(of_station) for station, of_station in found.items()}


def _met(
    stations: list[int],
    without: int | None,
) -> tuple[dict[int, tuple[tuple[datetime.date, frozenset[int]], ...]], dict[int, frozenset[int]]]:
    """Taxa met at each visit to these stations, and those met anywhere in their watersheds."""
    caught = _caught(without)
    visits: dict[tuple[int, datetime.date], set[int]] = defaultdict(set)
    for station, day, taxon in (
        caught.filter(removal_pass__visit__station__in=stations)
        .values_list("removal_pass__visit__station_id", "removal_pass__visit__visit_date", "taxon_id")
        .distinct()
    ):
        visits[station, day].add(taxon)
    around: dict[int, set[int]] = defaultdict(set)
    watersheds = Station.objects.filter(pk__in=stations).values("watershed")
    for watershed, taxon in (
        caught.filter(removal_pass__visit__station__watershed__in=watersheds)
        .values_list("removal_pass__visit__station__watershed_id", "taxon_id")
        .distinct()
    ):
        around[watershed].add(taxon)
    met: dict[int, list[tuple[datetime.date, frozenset[int]]]] = defaultdict(list)
    for (station, day), taxa in sorted(visits.items()):
        met[station].append((day, frozenset(taxa)))
    return (
        {station: tuple(of_station) for station, of_station in met.items()},
        {watershed: frozenset(taxa) for watershed, taxa in around.items()},
    )


def _taxa() -> tuple[dict[str, tuple[int, ...]], dict[int, str]]:
    """Folded names -> taxa. A scientific name stands before every other kind of name."""
    rows: list[tuple[int, str, str, str]] = list(
        Taxon.objects.values_list("pk", "scientific_name", "common_name", "code")
    )
    scientific = {fold(row[1]): (row[0],) for row in rows}
    others: dict[str, dict[int, None]] = defaultdict(dict)
    for key, _, common, code in rows:
        for name in (common, code):
            if name:
                others[fold(name)][key] = None
    aliases: list[tuple[int, str]] = list(TaxonAlias.objects.values_list("taxon_id", "name"))
    for key, name in aliases:
        others[fold(name)][key] = None
    names: dict[str, Any] = {name: tuple(keys) for name, keys in others.items()}
    return names | scientific, {row[0]: row[1] for row in rows}
