"""What is read of one watershed before anything is computed: its visits' stored values and all that cautions ask."""

import calendar
import datetime
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace

from django.db.models import Avg, Max, Q

from surveys.models import Catch, RemovalPass, SamplingMethod, Station, Taxon, Visit, Watershed, Waveform
from surveys.queries import Layouts, layouts, reasons_for_gaps
from surveys.season import closed_years
from surveys.withholding import nameless, withheld_names
from trends.measures import INDEX, INDEX_ALL_FISH
from trends.models import LandUseNote, NoteCategory
from trends.outcomes import StationSeries
from trends.public_figures import guarded_watersheds
from trends.reference_models import TaxonOperation
from trends.result_rows import ResultRow, result_rows


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitValue:
    """What the series needs to know of one accepted visit."""

    visit_id: int
    station_id: int
    date: datetime.date
    # The sampling method and, where the station was laid out anew, the day from which its layout stands:
    # only values with the same key are compared.
    method: str
    method_name: str
    in_season: bool
    values: dict[str, float | None]
    reasons: dict[str, str]
    index_method: str
    index_version: str
    passes: int
    reach_length_m: float | None
    mean_width_m: float | None
    stop_nets: str
    total_catch: int | None
    # What only the cautions look at.
    gear: str = ""  # of the method; form of the current and anodes as noted for the first pass
    waveform: str = ""
    anodes: int | None = None
    crew_lead: str = ""
    identifier: str = ""
    net_breach: bool = False
    effort_s_per_pass: float | None = None
    pass_catches: tuple[int, ...] = ()
    removal_usable: bool | None = None
    taxa: tuple[str, ...] = ()
    # Names behind each number of species; what is remarked where a value is not the visit's own.
    counted: dict[str, tuple[str, ...]] = field(default_factory=dict)
    remarks: dict[str, str] = field(default_factory=dict)
    turbidity_ntu: float | None = None
    discharge_m3_s: float | None = None
    bottom_visible: str = ""
    named_with_doubt: bool = False
    anomaly_metric: bool = False
    season_closes: datetime.date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """Everything read for one watershed: its stations, visit values, and years without a field season."""

    watershed: Watershed
    stations: tuple[Station, ...]
    visits: dict[int, tuple[VisitValue, ...]]
    no_season: dict[int, str]
    # (station, year) -> why the station was not sampled, as the season's records say.
    gap_reasons: dict[tuple[int, int], str] = field(default_factory=dict)
    # Public notes; (station, date, status) of visits that are not accepted; names held to genus only.
    notes: tuple[LandUseNote, ...] = ()
    left_out: tuple[tuple[int, datetime.date, str], ...] = ()
    held_to_genus: frozenset[str] = frozenset()
    # Names of a taxon that was split, and of what was split from it; years whose season is signed off.
    splits: tuple[tuple[str, str], ...] = ()
    closed_years: frozenset[int] = frozenset()
    # A species whose places are withheld has been met somewhere in the watershed.
    guarded: bool = False
    # There: the same visits with the score of the listed fish, and nothing else that hangs on the others.
    published: "Record | None" = None
    # Series made so far: a station's line is needed by itself and again as a part of its watershed.
    kept_series: dict[tuple[int, str, tuple[int, ...]], StationSeries] = field(
        default_factory=dict, compare=False, repr=False
    )

    def told_as(self, measure: str) -> "Record":
        """The record that a measure is made of: the index that everybody reads, of the listed fish alone."""
        return self.published if measure == INDEX.key and self.published is not None else self

    def keeping(
        self, wanted: Callable[[VisitValue], bool], stations: Iterable[Station] | None = None
    ) -> "Record":
        """The part of the record with these visits, and with these stations alone where they are given."""
        chosen = self.stations if stations is None else tuple(stations)
        visits = {s.pk: tuple(v for v in self.visits.get(s.pk, ()) if wanted(v)) for s in chosen}
        return replace(
            self,
            stations=chosen,
            visits={pk: kept for pk, kept in visits.items() if kept},
            published=self.published.keeping(wanted, stations) if self.published else None,
            kept_series={},
        )

    @property
    def last_year(self) -> int | None:
        return max((v.date.year for values in self.visits.values() for v in values), default=None)

    def years(self, stations: Iterable[Station] | None = None) -> list[int]:
        """Every calendar year from the first to the last accepted visit."""
        chosen = [s.pk for s in (self.stations if stations is None else stations)]
        found = [v.date.year for pk in chosen for v in self.visits.get(pk, ())]
        return list(range(min(found), max(found) + 1)) if found else []


def read_record(watershed: Watershed) -> Record:
    """Read one watershed's stored results of accepted visits. A fixed number of queries."""
    stations = tuple(watershed.stations.order_by("river_km", "code"))
    by_station: dict[int, list[VisitValue]] = defaultdict(list)
    results = result_rows(watershed)
    first = Q(pass_number=1)
    fished = {
        visit: (effort, form, anodes)
        for visit, effort, form, anodes in RemovalPass.objects.filter(
            visit__station__watershed=watershed, visit__status="accepted"
        )
        .order_by()
        .values_list("visit")
        .annotate(
            effort=Avg("effort_s"),
            form=Max("waveform", filter=first),
            first_anodes=Max("anodes", filter=first),
        )
    }
    # Visits with a name in doubt, and those of them where it is that of a fish that is listed.
    in_doubt = list(
        Catch.objects.filter(
            unsure=True,
            removal_pass__visit__station__watershed=watershed,
            removal_pass__visit__status="accepted",
        )
        .order_by()
        .values_list("removal_pass__visit", "taxon__sensitive_location")
    )
    doubtful = frozenset(visit for visit, _ in in_doubt)
    laid_out = layouts(watershed)
    # A trend is read by everybody, its reasons too; the visit's own page tells staff the whole. Where a place
    # is withheld no reason names any fish, or one that names none would be that of the fish not listed.
    withheld = withheld_names()
    hushed = withheld
    if guarded := bool(guarded_watersheds([watershed.pk])):
        hushed |= frozenset(Taxon.objects.values_list("scientific_name", flat=True))
    for result in results:
        visit = result.visit
        layout = laid_out.get(visit.station_id, Layouts())
        removal = (result.detail.get("indicators") or {}).get("removal_total") or {}
        effort, form, anodes = fished.get(visit.pk, (None, None, None))
        reasons = {key: nameless(why, hushed) for key, why in result.detail.get("reasons", {}).items()}
        if INDEX.key in reasons:
            reasons[INDEX_ALL_FISH.key] = reasons[INDEX.key]
        by_station[visit.station_id].append(
            VisitValue(
                visit_id=visit.pk,
                station_id=visit.station_id,
                date=visit.visit_date,
                method=layout.comparable_key(visit.method.code, visit.visit_date),
                method_name=", ".join(filter(None, [visit.method.name, layout.words(visit.visit_date)])),
                in_season=visit.method.in_season(visit.visit_date),
                values={**result.values, INDEX_ALL_FISH.key: result.values.get(INDEX.key)},
                reasons=reasons,
                index_method=result.index_method,
                index_version=result.index_version,
                passes=int(result.detail.get("passes", 0)),
                reach_length_m=visit.reach_length_m,
                mean_width_m=visit.mean_width_m,
                stop_nets=visit.stop_nets,
                total_catch=result.detail.get("total_catch"),
                gear=visit.method.gear,
                waveform=str(Waveform(form).label) if form else "",
                anodes=anodes,
                crew_lead=visit.crew_lead,
                identifier=visit.identifier,
                net_breach="breach" in visit.notes.casefold(),
                effort_s_per_pass=effort,
                pass_catches=tuple(removal.get("catches") or ()),
                removal_usable=removal.get("usable"),
                taxa=tuple(
                    one["taxon"] for one in (result.detail.get("indicators") or {}).get("removal", ())
                ),
                counted={
                    key: tuple(names)
                    for key, names in ((result.detail.get("indicators") or {}).get("counted") or {}).items()
                },
                turbidity_ntu=visit.turbidity_ntu,
                discharge_m3_s=visit.discharge_m3_s,
                bottom_visible=visit.bottom_visible,
                named_with_doubt=visit.pk in doubtful,
                anomaly_metric=any(
                    "anomal" in key for key in (result.detail.get("index") or {}).get("metrics", {})
                ),
                season_closes=_season_closes(visit.method, visit.visit_date),
            )
        )
    notes = tuple(LandUseNote.objects.public().filter(watershed=watershed))
    caught = {name for values in by_station.values() for v in values for name in v.taxa}
    taxa = Taxon.objects.filter(scientific_name__in=caught)
    record = Record(
        watershed=watershed,
        stations=stations,
        visits={pk: tuple(values) for pk, values in by_station.items()},
        no_season=_years_without_season(notes),
        gap_reasons=reasons_for_gaps(watershed),
        notes=notes,
        left_out=tuple(
            Visit.objects.filter(station__watershed=watershed)
            .exclude(status="accepted")
            .order_by("visit_date")
            .values_list("station_id", "visit_date", "status")
        ),
        held_to_genus=frozenset(
            taxa.filter(rank="genus").values_list("scientific_name", flat=True) if caught else ()
        ),
        splits=tuple(
            pair
            for pair in TaxonOperation.objects.filter(
                kind=TaxonOperation.Kind.SPLIT, taxon__isnull=False, other__isnull=False
            )
            .order_by("pk")
            .values_list("taxon__scientific_name", "other__scientific_name")
            if withheld.isdisjoint(pair)
        ),
        closed_years=closed_years(),
        guarded=guarded,
    )
    if not guarded:
        return record
    return _with_published(
        record,
        {result.visit.pk: result for result in results},
        withheld=withheld,
        doubtful=frozenset(visit for visit, hidden in in_doubt if not hidden),
    )


def _with_published(
    record: Record, results: Mapping[int, ResultRow], *, withheld: frozenset[str], doubtful: frozenset[int]
) -> Record:
    """The record of a guarded watershed, with what the published index is made of beside it."""

    def of_listed(one: VisitValue) -> VisitValue:
        result = results[one.visit_id]
        listed = result.detail["listed"]
        return replace(
            one,
            values={INDEX.key: result.listed_score},
            reasons={} if result.listed_score is not None else {INDEX.key: listed.get("reason", "")},
            total_catch=listed.get("total_catch"),
            taxa=tuple(name for name in one.taxa if name not in withheld),
            named_with_doubt=one.visit_id in doubtful,
            counted={},
            pass_catches=(),
            removal_usable=None,
        )

    visits = {pk: tuple(of_listed(one) for one in values) for pk, values in record.visits.items()}
    return replace(record, published=replace(record, visits=visits, kept_series={}))


def _season_closes(method: SamplingMethod, day: datetime.date) -> datetime.date | None:
    """The last day of the season that a visit belongs to; None where the season is the whole year."""
    if method.whole_year:
        return None
    month, date = (int(part) for part in method.season_ends.split("-"))
    over_new_year = method.season_starts > method.season_ends and f"{day:%m-%d}" >= method.season_starts
    year = day.year + 1 if over_new_year else day.year
    return datetime.date(year, month, min(date, calendar.monthrange(year, month)[1]))


def _years_without_season(notes: Iterable[LandUseNote]) -> dict[int, str]:
    """Years that a public note of the kind 'survey change' covers in whole: its title is the reason."""
    reasons: dict[int, str] = {}
    for note in notes:
        if note.category != NoteCategory.SURVEY or note.ends_on is None:
            continue
        for year in range(note.starts_on.year, note.ends_on.year + 1):
            covers_summer = note.starts_on <= datetime.date(year, 6, 1) and note.ends_on >= datetime.date(
                year, 9, 30
            )
            if covers_summer:
                reasons[year] = note.title
    return reasons
