"""Where and when a taxon was met: counted from accepted visits alone, in a fixed number of queries.

A visit at which a taxon was not caught is a visit all the same; a year that nobody went is neither.
"""

import datetime
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.contrib.postgres.search import TrigramSimilarity, TrigramWordSimilarity
from django.db.models import Count, Max, Min, Q, Sum, Value
from django.db.models.fields import FloatField
from django.db.models.functions import Coalesce, Greatest

from surveys.language import worded, worded_n
from surveys.models import Catch, Taxon, Visit, VisitStatus, Watershed

# Names at least this alike are offered; PostgreSQL's own default for the % operator is 0.3.
LEAST_ALIKE = 0.3
LEAST_ALIKE_WORD = 0.6
LONGEST_SEARCH = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedTaxon:
    """A line of the species list; years and visits are of accepted visits, None and 0 where never met."""

    taxon: Taxon
    visits: int
    fish: int
    first_year: int | None
    last_year: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class YearMark:
    """One year of a strip: visits made and visits that met the taxon."""

    year: int
    made: int
    met: int

    @property
    def state(self) -> str:
        return "met" if self.met else "not met" if self.made else "not visited"


@dataclass(frozen=True, slots=True, kw_only=True)
class Meeting:
    """What became of a taxon in one place: a station, a watershed, or all of them."""

    made: int
    met: int
    first_year: int | None
    last_year: int | None
    visits_since: int
    years: tuple[YearMark, ...]

    @property
    def share_pct(self) -> float | None:
        return 100.0 * self.met / self.made if self.made else None


@dataclass(frozen=True, slots=True, kw_only=True)
class WatershedMeeting:
    watershed: Watershed
    meeting: Meeting


@dataclass(frozen=True, slots=True, kw_only=True)
class StationMeeting:
    """A visited station, with its position where it has one."""

    code: str
    name: str
    stream: str
    watershed: str
    latitude: float | None
    longitude: float | None
    meeting: Meeting


@dataclass(frozen=True, slots=True, kw_only=True)
class Occurrence:
    """Everything the page of a taxon says about where and when."""

    everywhere: Meeting
    watersheds: tuple[WatershedMeeting, ...]
    stations: tuple[StationMeeting, ...]


def cleaned_search(words: str) -> str:
    """What was asked for, short enough and without signs that the database refuses."""
    return " ".join(words.replace("\x00", "").split())[:LONGEST_SEARCH]


def species_list(search: str = "") -> list[ListedTaxon]:
    """Taxa by name, best match first where something is searched. Two queries."""
    taxa = list(_found(search) if search else Taxon.objects.order_by("scientific_name"))
    met = {
        row["taxon"]: row
        for row in Catch.objects.filter(removal_pass__visit__status=VisitStatus.ACCEPTED)
        .order_by()
        .values("taxon")
        .annotate(
            visits=Count("removal_pass__visit", distinct=True),
            fish=Sum("count"),
            first=Min("removal_pass__visit__visit_date"),
            last=Max("removal_pass__visit__visit_date"),
        )
    }
    return [
        ListedTaxon(
            taxon=taxon,
            visits=met[taxon.pk]["visits"] if taxon.pk in met else 0,
            fish=met[taxon.pk]["fish"] if taxon.pk in met else 0,
            first_year=met[taxon.pk]["first"].year if taxon.pk in met else None,
            last_year=met[taxon.pk]["last"].year if taxon.pk in met else None,
        )
        for taxon in taxa
    ]


def _found(search: str) -> Iterable[Taxon]:
    """Taxa whose names or code hold the words, or are spelled much like them."""
    nothing = Value(0.0, output_field=FloatField())
    return (
        Taxon.objects.annotate(
            alike=Greatest(
                TrigramSimilarity("scientific_name", search),
                TrigramSimilarity("common_name", search),
                Coalesce(Max(TrigramSimilarity("aliases__name", search)), nothing),
            ),
            alike_word=Greatest(
                TrigramWordSimilarity(search, "scientific_name"), TrigramWordSimilarity(search, "common_name")
            ),
            aliases_holding=Count("aliases", filter=Q(aliases__name__icontains=search)),
        )
        .filter(
            Q(scientific_name__icontains=search)
            | Q(common_name__icontains=search)
            | Q(code__iexact=search)
            | Q(family__iexact=search)
            | Q(aliases_holding__gt=0)
            | Q(alike__gte=LEAST_ALIKE)
            | Q(alike_word__gte=LEAST_ALIKE_WORD)
        )
        .order_by("-alike_word", "-alike", "scientific_name")
    )


@dataclass(frozen=True, slots=True)
class _Made:
    """An accepted visit, as the counting needs it."""

    pk: int
    date: datetime.date
    station: int


def occurrence(taxon: Taxon, *, with_stations: bool) -> Occurrence:
    """Visits that met the taxon, of visits made, in all and by place. Three queries.

    ``with_stations=False`` leaves the stations out altogether: for readers who may not know them.
    """
    visits = list(
        Visit.objects.accepted()
        .order_by("visit_date", "pk")
        .values(
            "pk", "visit_date", "station_id", "station__code", "station__name", "station__stream",
            "station__latitude", "station__longitude", "station__watershed_id",
        )
    )  # fmt: skip
    met = set(
        Catch.objects.filter(taxon=taxon, removal_pass__visit__status=VisitStatus.ACCEPTED)
        .order_by()
        .values_list("removal_pass__visit_id", flat=True)
        .distinct()
    )
    watersheds = {w.pk: w for w in Watershed.objects.order_by("name")}
    by_watershed: dict[int, list[_Made]] = defaultdict(list)
    by_station: dict[int, list[_Made]] = defaultdict(list)
    places = {}
    for row in visits:
        one = _Made(row["pk"], row["visit_date"], row["station_id"])
        by_watershed[row["station__watershed_id"]].append(one)
        by_station[one.station].append(one)
        places[one.station] = row
    every = [one for made in by_station.values() for one in made]
    years = _years(every)
    stations = []
    for pk, row in sorted(places.items(), key=lambda item: item[1]["station__code"]) if with_stations else ():
        stations.append(
            StationMeeting(
                code=row["station__code"],
                name=row["station__name"],
                stream=row["station__stream"],
                watershed=watersheds[row["station__watershed_id"]].name,
                latitude=row["station__latitude"],
                longitude=row["station__longitude"],
                meeting=_meeting(by_station[pk], met, years),
            )
        )
    return Occurrence(
        everywhere=_meeting(every, met, years),
        watersheds=tuple(
            WatershedMeeting(watershed=place, meeting=_meeting(by_watershed[pk], met, years))
            for pk, place in watersheds.items()
            if pk in by_watershed
        ),
        stations=tuple(stations),
    )


def _years(made: Iterable[_Made]) -> list[int]:
    found = [one.date.year for one in made]
    return list(range(min(found), max(found) + 1)) if found else []


def _meeting(made: list[_Made], met: set[int], years: list[int]) -> Meeting:
    hits = [one for one in made if one.pk in met]
    last = max((one.date for one in hits), default=None)
    by_year: dict[int, list[int]] = defaultdict(lambda: [0, 0])
    for one in made:
        by_year[one.date.year][0] += 1
        by_year[one.date.year][1] += one.pk in met
    return Meeting(
        made=len(made),
        met=len(hits),
        first_year=min((one.date.year for one in hits), default=None),
        last_year=last.year if last else None,
        visits_since=sum(1 for one in made if last and one.date > last),
        years=tuple(YearMark(year=y, made=by_year[y][0], met=by_year[y][1]) for y in years),
    )


# --- in words --------------------------------------------------------------------------------------


def finding(name: str, meeting: Meeting) -> str:
    """The page's first sentence: how often and when the taxon was met; never that it is gone."""
    if not meeting.made:
        return worded("{name}: no visit has been accepted yet, so nothing is known of it here", name=name)
    if not meeting.met:
        return worded_n(
            "{name} was not met in the one accepted visit",
            "{name} was not met in any of the {n} accepted visits",
            meeting.made,
            name=name,
        )
    words: dict[str, Any] = {
        "name": name,
        "met": meeting.met,
        "first": meeting.first_year,
        "last": meeting.last_year,
    }
    if meeting.first_year == meeting.last_year:
        met = worded_n(
            "{name} was met in {met} of {n} accepted visit, in {last}",
            "{name} was met in {met} of {n} accepted visits, in {last}",
            meeting.made,
            **words,
        )
    else:
        met = worded_n(
            "{name} was met in {met} of {n} accepted visit, from {first} to {last}",
            "{name} was met in {met} of {n} accepted visits, from {first} to {last}",
            meeting.made,
            **words,
        )
    since = not_seen_since(meeting)
    return f"{met}; {since}" if since else met


def not_seen_since(meeting: Meeting) -> str:
    """ "not seen since 2015 in 12 visits"; empty where the latest visited year still met it."""
    visited = [mark.year for mark in meeting.years if mark.made]
    if not meeting.met or not meeting.visits_since or meeting.last_year == visited[-1]:
        return ""
    return worded_n(
        "not seen since {year} in {n} visit",
        "not seen since {year} in {n} visits",
        meeting.visits_since,
        year=meeting.last_year,
    )
