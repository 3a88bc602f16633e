"""Reads from the database what the checks have to know, in a fixed number of queries."""

import datetime
from collections import defaultdict
from collections.abc import Collection
from typing import Any

from django.db.models import Max
from django.utils import timezone

from surveys.models import Catch, SamplingMethod, Station, Taxon, TaxonAlias, Visit, VisitStatus
from surveys.uploads.known import Known, KnownMethod, KnownStation
from surveys.uploads.values import fold


def read_known(
    station_texts: Collection[str], *, create_taxa: bool = False, today: datetime.date | None = None
) -> Known:
    """All codes and names, and for the stations of a file also what was caught there before."""
    methods = {m.pk: _method(m) for m in SamplingMethod.objects.all()}
    default = SamplingMethod.objects.filter(is_default=True).first()
    names, taxon_names = _taxa()
    return Known(
        today=today or timezone.localdate(),
        stations=_stations({fold(text) for text in station_texts}, methods),
        taxa=names,
        taxon_names=taxon_names,
        methods={fold(m.code): m for m in methods.values()},
        default_method=methods[default.pk] if default else None,
        create_taxa=create_taxa,
    )


def _method(method: SamplingMethod) -> KnownMethod:
    return KnownMethod(
        key=method.pk,
        code=method.code,
        season_starts=method.season_starts,
        season_ends=method.season_ends,
    )


def _stations(wanted: set[str], methods: dict[int, KnownMethod]) -> dict[str, KnownStation]:
    rows = list(Station.objects.values("pk", "code", "method_id", "reach_length_m", "mean_width_m"))
    in_file = [row["pk"] for row in rows if fold(row["code"]) in wanted]
    dates: dict[int, list[datetime.date]] = defaultdict(list)
    last: dict[int, str] = {}
    visits = Visit.objects.filter(station__in=in_file).exclude(status=VisitStatus.WITHDRAWN)
    for station, day, method in visits.order_by("visit_date").values_list(
        "station_id", "visit_date", "method_id"
    ):
        dates[station].append(day)
        last[station] = methods[method].code
    most: dict[int, dict[int, int]] = defaultdict(dict)
    caught = Catch.objects.filter(removal_pass__visit__station__in=in_file)
    for station, taxon, count in (
        caught.order_by()
        .values_list("removal_pass__visit__station_id", "taxon_id")
        .annotate(most=Max("count"))
    ):
        most[station][taxon] = count
    return {
        fold(row["code"]): KnownStation(
            key=row["pk"],
            code=row["code"],
            method=methods.get(row["method_id"]),
            reach_length_m=row["reach_length_m"],
            mean_width_m=row["mean_width_m"],
            earlier_dates=tuple(dates.get(row["pk"], ())),
            last_method=last.get(row["pk"], ""),
            most=most.get(row["pk"], {}),
        )
        for row in rows
    }


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
