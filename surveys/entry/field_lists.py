"""What a device takes along to the creek: stations with the taxa expected there, the list of taxa, methods."""

from typing import Any

from django.db.models import Count, Sum

from surveys.models import Catch, SamplingMethod, Station, Taxon, TaxonAlias, VisitStatus

MOST_EXPECTED = 40
EELS = frozenset({"Anguilla"})


def field_lists() -> dict[str, Any]:
    """Plain values, in five queries. Positions of stations do not travel."""
    expected: dict[int, list[int]] = {}
    met = (
        Catch.objects.exclude(removal_pass__visit__status=VisitStatus.WITHDRAWN)
        .order_by()
        .values_list("removal_pass__visit__station_id", "taxon_id")
        .annotate(visits=Count("removal_pass__visit", distinct=True), fish=Sum("count"))
        .order_by("removal_pass__visit__station_id", "-visits", "-fish", "taxon_id")
    )
    for station, taxon, *_ in met:
        rows = expected.setdefault(station, [])
        if len(rows) < MOST_EXPECTED:
            rows.append(taxon)
    methods = list(SamplingMethod.objects.all())
    default = next((one.code for one in methods if one.is_default), methods[0].code if methods else "")
    codes = {one.pk: one.code for one in methods}
    return {
        "stations": [
            {
                "code": one.code,
                "stream": one.stream,
                "name": one.name,
                "reach": one.reach_length_m,
                "method": codes.get(one.method_id or 0, default),
                "expected": expected.get(one.pk, []),
            }
            for one in Station.objects.all()
        ],
        "taxa": _taxa(),
        "methods": [{"code": one.code, "name": one.name, "passes": one.planned_passes} for one in methods],
    }


def _taxa() -> list[dict[str, Any]]:
    taxa = list(Taxon.objects.order_by("common_name", "scientific_name"))
    keys = {one.scientific_name.casefold(): one.pk for one in taxa}
    alike: dict[int, set[int]] = {one.pk: set() for one in taxa}
    for one in taxa:
        for name in one.look_alike_names:
            other = keys.get(name.casefold())
            if other is not None and other != one.pk:
                alike[one.pk].add(other)
                alike[other].add(one.pk)
    further: dict[int, list[str]] = {}
    for key, name in TaxonAlias.objects.order_by("name").values_list("taxon_id", "name"):
        further.setdefault(key, []).append(name)
    return [
        {
            "id": one.pk,
            "name": one.common_name or one.scientific_name,
            "latin": one.scientific_name,
            "code": one.code,
            "other": further.get(one.pk, []),
            "alike": sorted(alike[one.pk]),
            # Held in a well of their own, and told apart in every total.
            "eel": one.scientific_name.split()[0] in EELS,
        }
        for one in taxa
    ]
