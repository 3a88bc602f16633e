"""Which taxa a sheet starts with: those met at the station before, the most often met first."""

from dataclasses import dataclass

from django.db.models import Count, Sum

from surveys.models import Catch, Station, Taxon, Visit, VisitStatus


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    taxon: Taxon
    visits: int  # earlier visits at which it was caught
    of_visits: int  # earlier visits


def expected_taxa(station: Station, *, without: int | None = None) -> list[Expected]:
    """Taxa of the station's earlier visits in descending frequency; withdrawn visits do not count.

    Parameters
    ----------
    without : the visit that is being entered
    """
    visits = Visit.objects.filter(station=station).exclude(status=VisitStatus.WITHDRAWN)
    if without is not None:
        visits = visits.exclude(pk=without)
    met = list(
        Catch.objects.filter(removal_pass__visit__in=visits)
        .order_by()
        .values("taxon_id")
        .annotate(visits=Count("removal_pass__visit", distinct=True), fish=Sum("count"))
    )
    taxa = Taxon.objects.in_bulk([row["taxon_id"] for row in met])
    met.sort(key=lambda row: (-row["visits"], -row["fish"], taxa[row["taxon_id"]].scientific_name))
    total = visits.count()
    return [Expected(taxon=taxa[row["taxon_id"]], visits=row["visits"], of_visits=total) for row in met]
