"""Finished shapes for reading visits: plain frozen records, a fixed number of queries whatever the size."""

import datetime
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Count, Q, Sum

from surveys.models import Catch, NotSampled, RemovalPass, Station, StationVersion, Taxon, Visit, Watershed
from surveys.models.visits import VisitQuerySet


@dataclass(frozen=True, slots=True, kw_only=True)
class CatchRecord:
    """The fish of one taxon in one pass; weights in g, None where not recorded.

    ``biomass_g`` is the weight of all of them. Where only a part was weighed there is none; ``part_g`` is
    then the weight of the ``weighed`` fish. ``estimated`` numbers were not counted.
    """

    taxon: Taxon
    count: int
    young_of_year: int | None
    anomalies: int | None
    biomass_g: float | None
    weighed: int | None = None
    part_g: float | None = None
    estimated: bool = False
    unsure: bool = False  # named with doubt


@dataclass(frozen=True, slots=True, kw_only=True)
class PassRecord:
    number: int
    effort_s: int | None
    biomass_g: float | None
    catches: tuple[CatchRecord, ...]
    waveform: str = ""
    anodes: int | None = None
    netters: int | None = None

    @property
    def count(self) -> int:
        return sum(c.count for c in self.catches)


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitRecord:
    """One visit with everything that its results rest on; lengths in m, area in m2."""

    visit_id: int
    revision: int
    status: str
    station_id: int
    station_code: str
    watershed_id: int
    date: datetime.date
    method_code: str
    method_name: str
    planned_passes: int
    in_season: bool
    season_known: bool
    reach_length_m: float | None
    mean_width_m: float | None
    stop_nets: str
    crew_lead: str
    catchment_km2: float | None
    stratum: str
    water: dict[str, float | None]
    passes: tuple[PassRecord, ...]
    air_temp_c: float | None = None
    conductivity_basis: str = ""

    @property
    def area_m2(self) -> float | None:
        if self.reach_length_m is None or self.mean_width_m is None:
            return None
        return self.reach_length_m * self.mean_width_m

    @property
    def total_catch(self) -> int:
        return sum(p.count for p in self.passes)

    def counts_by_taxon(self) -> dict[Taxon, list[int]]:
        """Fish of each taxon by pass, shape (passes,), zero where a pass caught none."""
        taxa: dict[int, Taxon] = {}
        counts: dict[int, list[int]] = {}
        for position, one_pass in enumerate(self.passes):
            for catch in one_pass.catches:
                # By id: a model's own hash and equality are slow, and every visit asks for this.
                pk = catch.taxon.id
                if pk not in counts:
                    taxa[pk], counts[pk] = catch.taxon, [0] * len(self.passes)
                counts[pk][position] += catch.count
        ordered = sorted(taxa.items(), key=lambda item: item[1].scientific_name)
        return {taxon: counts[pk] for pk, taxon in ordered}


WATER_FIELDS = (
    "water_temp_c",
    "conductivity_us_cm",
    "dissolved_oxygen_mg_l",
    "ph",
    "turbidity_ntu",
    "discharge_m3_s",
)


def visit_records(visits: VisitQuerySet) -> list[VisitRecord]:
    """Read visits with their passes, catches and taxa. Four queries at most, however many visits."""
    rows = list(visits.select_related("station", "method").order_by("visit_date", "pk"))
    ids = [visit.pk for visit in rows]
    catches: dict[int, list[CatchRecord]] = defaultdict(list)
    caught = list(
        Catch.objects.filter(removal_pass__visit__in=ids)
        .order_by("taxon__scientific_name")
        .values_list(
            "removal_pass_id",
            "taxon_id",
            "count",
            "young_of_year",
            "anomalies",
            "biomass_g",
            "weighed",
            "estimated",
            "unsure",
        )
    )
    taxa = Taxon.objects.in_bulk({taxon_id for _, taxon_id, *_ in caught})
    for pass_id, taxon_id, count, young, anomalies, weight, weighed, estimated, unsure in caught:
        partly = weighed is not None and weighed < count
        catches[pass_id].append(
            CatchRecord(
                taxon=taxa[taxon_id],
                count=count,
                young_of_year=young,
                anomalies=anomalies,
                biomass_g=None if partly else weight,
                weighed=weighed,
                part_g=weight if partly else None,
                estimated=estimated,
                unsure=unsure,
            )
        )
    passes: dict[int, list[PassRecord]] = defaultdict(list)
    for one_pass in RemovalPass.objects.filter(visit__in=ids).order_by("pass_number"):
        passes[one_pass.visit_id].append(
            PassRecord(
                number=one_pass.pass_number,
                effort_s=one_pass.effort_s,
                biomass_g=one_pass.biomass_g,
                catches=tuple(catches.get(one_pass.pk, ())),
                waveform=one_pass.waveform,
                anodes=one_pass.anodes,
                netters=one_pass.netters,
            )
        )
    return [
        VisitRecord(
            visit_id=visit.pk,
            revision=visit.revision,
            status=visit.status,
            station_id=visit.station_id,
            station_code=visit.station.code,
            watershed_id=visit.station.watershed_id,
            date=visit.visit_date,
            method_code=visit.method.code,
            method_name=visit.method.name,
            planned_passes=visit.method.planned_passes,
            in_season=visit.method.in_season(visit.visit_date),
            season_known=not visit.method.whole_year,
            reach_length_m=visit.reach_length_m,
            mean_width_m=visit.mean_width_m,
            stop_nets=visit.stop_nets,
            crew_lead=visit.crew_lead,
            catchment_km2=visit.station.catchment_km2,
            stratum=visit.station.stratum,
            water={field: getattr(visit, field) for field in WATER_FIELDS},
            passes=tuple(passes.get(visit.pk, ())),
            air_temp_c=visit.air_temp_c,
            conductivity_basis=visit.conductivity_basis,
        )
        for visit in rows
    ]


def total_by_taxon(records: Iterable[VisitRecord]) -> dict[Taxon, int]:
    """Fish of each taxon over many visits."""
    totals: dict[Taxon, int] = defaultdict(int)
    for record in records:
        for taxon, counts in record.counts_by_taxon().items():
            totals[taxon] += sum(counts)
    return dict(totals)


def effort_and_water(station: Station) -> list[tuple[int, dict[str, float | None]]]:
    """Year and readings of each accepted visit in season; ``effort_s`` is that of all passes, or None.

    One query.
    """
    visits = (
        Visit.objects.accepted()
        .filter(station=station)
        .select_related("method")
        .annotate(
            effort=Sum("passes__effort_s"),
            without_effort=Count("passes", filter=Q(passes__effort_s__isnull=True)),
        )
        .order_by("visit_date")
    )
    return [
        (
            visit.visit_date.year,
            {
                **{field: getattr(visit, field) for field in WATER_FIELDS},
                "effort_s": visit.effort if visit.without_effort == 0 else None,
            },
        )
        for visit in visits
        if visit.method.in_season(visit.visit_date)
    ]


def reasons_for_gaps(watershed: Watershed) -> dict[tuple[int, int], str]:
    """Why stations of a watershed were not sampled: (key of the station, year) -> reason, for the public.

    What is on record for a year stands here also where the station was visited after all.
    """
    reasons: dict[tuple[int, int], list[str]] = defaultdict(list)
    for gap in NotSampled.objects.filter(station__watershed=watershed).order_by("day", "pk"):
        reasons[gap.station_id, gap.year].append(gap.words)
    return {key: "; ".join(dict.fromkeys(words)) for key, words in reasons.items()}


@dataclass(frozen=True, slots=True)
class Layouts:
    """The days on which a station was laid out anew without a reason to join the years, in order."""

    breaks: tuple[datetime.date, ...] = ()

    def since(self, day: datetime.date) -> datetime.date | None:
        """The day from which the layout in force on ``day`` stands; None before the first break."""
        return max((one for one in self.breaks if one <= day), default=None)

    def comparable_key(self, method: str, day: datetime.date) -> str:
        """Visits at the station are compared where this is the same: method and layout."""
        since = self.since(day)
        return f"{method}@{since}" if since else method

    def words(self, day: datetime.date) -> str:
        since = self.since(day)
        return f"station as laid out from {since}" if since else ""


def layouts(watershed: Watershed) -> dict[int, Layouts]:
    """The layouts of the stations of a watershed that were ever changed, by key of the station."""
    days: dict[int, list[datetime.date]] = defaultdict(list)
    versions = StationVersion.objects.filter(station__watershed=watershed, joined_why="")
    for station, day in versions.order_by("valid_from").values_list("station_id", "valid_from"):
        days[station].append(day)
    return {station: Layouts(tuple(breaks)) for station, breaks in days.items()}
