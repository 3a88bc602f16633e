"""An invented data set of any size, for load tests: made by NumPy, written through COPY.

Nothing in it is a record of a creek. Names say so, and the same numbers and seed give the same set.
"""

import datetime
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd
from django.db import connection, transaction
from django.utils.text import slugify

from surveys.models import (
    Catch,
    RemovalPass,
    SamplingMethod,
    Station,
    StopNets,
    Taxon,
    Tolerance,
    TrophicGuild,
    Visit,
    VisitStatus,
    VisitStep,
    Watershed,
)
from surveys.planner_statistics import refresh_statistics
from surveys.signals import visits_changed

METHOD_CODE = "invented-two-pass"
FIRST_YEAR = 1990
LAST_FIRST_YEAR = 2025
PASSES = 2
# About 15 taxa in a visit and one year in ten missed: the size that the performance goals speak of.
TAXA_IN_A_STATION = 15
MISSED_YEARS = 0.1
VISITS_IN_A_BLOCK = 20_000
STRATUM = "Eastern Piedmont"
TRAITS_SOURCE = "Set for load tests; says nothing about the species."
Progress = Callable[[str], None]

# Real species; the traits are rough and serve load tests only.
_SPECIES = """
Rhinichthys atratulus|Eastern Blacknose Dace|Leuciscidae|tolerant|omnivore|n|y
Rhinichthys cataractae|Longnose Dace|Leuciscidae|moderate|invertivore|y|y
Semotilus atromaculatus|Creek Chub|Leuciscidae|tolerant|generalist|n|y
Semotilus corporalis|Fallfish|Leuciscidae|intolerant|generalist|n|y
Campostoma anomalum|Central Stoneroller|Leuciscidae|moderate|herbivore|n|y
Luxilus cornutus|Common Shiner|Leuciscidae|moderate|omnivore|n|y
Clinostomus funduloides|Rosyside Dace|Leuciscidae|intolerant|invertivore|n|y
Exoglossum maxillingua|Cutlip Minnow|Leuciscidae|intolerant|invertivore|y|y
Nocomis micropogon|River Chub|Leuciscidae|intolerant|omnivore|n|y
Notropis procne|Swallowtail Shiner|Leuciscidae|moderate|invertivore|n|y
Pimephales notatus|Bluntnose Minnow|Leuciscidae|tolerant|omnivore|n|y
Catostomus commersonii|White Sucker|Catostomidae|tolerant|omnivore|n|y
Hypentelium nigricans|Northern Hog Sucker|Catostomidae|intolerant|invertivore|y|y
Ameiurus natalis|Yellow Bullhead|Ictaluridae|tolerant|omnivore|n|y
Noturus insignis|Margined Madtom|Ictaluridae|moderate|invertivore|y|y
Lepomis auritus|Redbreast Sunfish|Centrarchidae|moderate|generalist|n|y
Lepomis cyanellus|Green Sunfish|Centrarchidae|tolerant|generalist|n|n
Lepomis macrochirus|Bluegill|Centrarchidae|tolerant|invertivore|n|n
Lepomis gibbosus|Pumpkinseed|Centrarchidae|moderate|invertivore|n|y
Micropterus dolomieu|Smallmouth Bass|Centrarchidae|moderate|top predator|n|n
Etheostoma olmstedi|Tessellated Darter|Percidae|tolerant|invertivore|y|y
Etheostoma flabellare|Fantail Darter|Percidae|moderate|insectivore|y|y
Cottus girardi|Potomac Sculpin|Cottidae|intolerant|insectivore|y|y
Cottus caeruleomentum|Blue Ridge Sculpin|Cottidae|intolerant|insectivore|y|y
Anguilla rostrata|American Eel|Anguillidae|moderate|generalist|n|y
Salmo trutta|Brown Trout|Salmonidae|moderate|top predator|n|n
"""


class AlreadyThereError(Exception):
    """A set of this seed is already in the database."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """How many rows were written."""

    watersheds: int
    stations: int
    visits: int
    passes: int
    catches: int


def synthesize(
    *,
    stations: int,
    years: int,
    seed: int,
    stations_per_watershed: int = 20,
    announce: bool = False,
    say: Progress | None = None,
) -> Made:
    """Write an invented set of accepted visits, all of it or none.

    Parameters
    ----------
    stations : number of stations to add
    years : calendar years, ending in 2025 or earlier; a tenth of the visits is missing
    seed : the same seed gives the same set
    announce : tell listeners that the stations have visits, so that results are made after the commit

    Raises
    ------
    AlreadyThereError : stations of this seed exist
    """
    rng = np.random.default_rng(seed)
    with transaction.atomic():
        if Station.objects.filter(code__startswith=f"INV{seed}-").exists():
            raise AlreadyThereError(f"A set with seed {seed} is already there. Choose another seed.")
        taxa = np.array(_taxa())
        method = _method()
        watersheds = -(-stations // stations_per_watershed)
        first_watershed = _reserve(Watershed, watersheds)
        first_station = _reserve(Station, stations)
        _write_places(rng, seed, stations, stations_per_watershed, first_watershed, first_station, method)
        visits = _visits(rng, stations, years, first_station, method)
        passes = catches = 0
        species = _species_of_stations(rng, stations, taxa)
        for start in range(0, len(visits), VISITS_IN_A_BLOCK):
            block = visits.iloc[start : start + VISITS_IN_A_BLOCK]
            added = _write_block(rng, block, species, first_station)
            passes, catches = passes + added[0], catches + added[1]
            if say:
                say(f"{start + len(block)} of {len(visits)} visits, {catches} catches")
        if announce:
            ids = set(range(first_station, first_station + stations))
            visits_changed.send(sender=Visit, station_ids=ids)
    refresh_statistics()
    return Made(watersheds=watersheds, stations=stations, visits=len(visits), passes=passes, catches=catches)


def _species_lines() -> Iterator[list[str]]:
    return (line.split("|") for line in _SPECIES.strip().splitlines())


def _taxa() -> list[int]:
    """Ids of the species used; those that are not in the taxon list yet are added."""
    names = [line[0] for line in _species_lines()]
    held = set(Taxon.objects.filter(scientific_name__in=names).values_list("scientific_name", flat=True))
    new = [
        Taxon(
            scientific_name=name,
            common_name=common,
            slug=slugify(name),
            family=family,
            tolerance=Tolerance(tolerance),
            trophic_guild=TrophicGuild(guild),
            benthic=benthic == "y",
            lithophilic=False,
            native=native == "y",
            migratory=False,
            traits_source=TRAITS_SOURCE,
        )
        for name, common, family, tolerance, guild, benthic, native in _species_lines()
        if name not in held
    ]
    Taxon.objects.bulk_create(new)
    return list(
        Taxon.objects.filter(scientific_name__in=names)
        .order_by("scientific_name")
        .values_list("pk", flat=True)
    )


def _method() -> int:
    method, _ = SamplingMethod.objects.get_or_create(
        code=METHOD_CODE,
        defaults={
            "name": "Two passes between nets (invented set)",
            "gear": "backpack electrofishing",
            "planned_passes": PASSES,
            "season_starts": "06-01",
            "season_ends": "09-30",
            "description": "Belongs to invented data for load tests.",
        },
    )
    return method.pk


def _reserve(model: type, count: int) -> int:
    """The first of ``count`` ids in a row, taken out of the table's sequence."""
    table = model._meta.db_table  # type: ignore[attr-defined]
    with connection.cursor() as cursor:
        # The lock keeps a second writer from taking numbers between the two steps.
        cursor.execute(f"LOCK TABLE {connection.ops.quote_name(table)} IN SHARE ROW EXCLUSIVE MODE")
        cursor.execute("SELECT pg_get_serial_sequence(%s, 'id')", [table])
        sequence = cursor.fetchone()[0]
        cursor.execute("SELECT nextval(%s)", [sequence])
        first = cursor.fetchone()[0]
        cursor.execute("SELECT setval(%s, %s)", [sequence, first + count - 1])
    return first


def _copy(model: type, rows: pd.DataFrame) -> None:
    """Write the rows of a frame, whose columns are named as in the database."""
    quote = connection.ops.quote_name
    columns = ", ".join(quote(name) for name in rows.columns)
    table = quote(model._meta.db_table)  # type: ignore[attr-defined]
    text = rows.to_csv(sep="\t", header=False, index=False, na_rep="\\N", lineterminator="\n")
    with (
        connection.cursor() as cursor,
        cursor.copy(f"COPY {table} ({columns}) FROM STDIN") as copy,
    ):
        copy.write(text)


def _write_places(
    rng: np.random.Generator,
    seed: int,
    stations: int,
    per_watershed: int,
    first_watershed: int,
    first_station: int,
    method: int,
) -> None:
    watersheds = -(-stations // per_watershed)
    number = np.arange(watersheds)
    _copy(
        Watershed,
        pd.DataFrame(
            {
                "outlines": "[]",
                "courses": "[]",
                "id": first_watershed + number,
                "name": [f"Invented Creek {seed}-{i + 1}" for i in number],
                "slug": [f"invented-creek-{seed}-{i + 1}" for i in number],
                "description": "Invented for load tests.",
            }
        ),
    )
    station = np.arange(stations)
    place = station // per_watershed
    width = rng.uniform(1.5, 8.0, stations).round(1)
    _copy(
        Station,
        pd.DataFrame(
            {
                "id": first_station + station,
                "code": [f"INV{seed}-{i + 1:05d}" for i in station],
                "watershed_id": first_watershed + place,
                "stream": [f"Invented Creek {seed}-{i + 1}" for i in place],
                "name": [f"Invented station {i + 1}" for i in station],
                "latitude": (39.0 + rng.uniform(0, 0.5, stations)).round(5),
                "longitude": (-77.4 + rng.uniform(0, 0.5, stations)).round(5),
                "river_km": rng.uniform(0.2, 30, stations).round(1),
                "catchment_km2": np.exp(rng.uniform(np.log(1), np.log(60), stations)).round(2),
                "stratum": STRATUM,
                "reach_length_m": 75.0,
                "mean_width_m": width,
                "method_id": method,
            }
        ),
    )


def _visits(
    rng: np.random.Generator, stations: int, years: int, first_station: int, method: int
) -> pd.DataFrame:
    """Every station in every year but a tenth, on some day of the season."""
    first_year = max(FIRST_YEAR, LAST_FIRST_YEAR - years + 1) if years <= 36 else LAST_FIRST_YEAR - years + 1
    station, year = np.divmod(np.arange(stations * years), years)
    kept = rng.random(len(station)) >= MISSED_YEARS
    station, year = station[kept], year[kept] + first_year
    start = np.array([np.datetime64(datetime.date(y, 6, 1)) for y in range(first_year, first_year + years)])
    day = start[year - first_year] + rng.integers(0, 122, len(year)).astype("timedelta64[D]")
    count = len(station)
    first = _reserve(Visit, count)
    return pd.DataFrame(
        {
            "id": first + np.arange(count),
            "station_id": first_station + station,
            "visit_date": day.astype(str),
            "method_id": method,
            "reach_length_m": 75.0,
            "mean_width_m": rng.uniform(1.5, 8.0, count).round(1),
            "stop_nets": StopNets.BOTH.value,
            "water_temp_c": rng.normal(19, 2.5, count).clip(5, 30).round(1),
            "conductivity_us_cm": rng.uniform(80, 600, count).round(0),
            "dissolved_oxygen_mg_l": rng.normal(8.5, 1, count).clip(3, 13).round(1),
            "ph": rng.normal(7.3, 0.4, count).clip(5, 9).round(1),
            "crew_lead": "",
            "notes": "",
            "status": VisitStatus.ACCEPTED.value,
            "revision": 1,
        }
    )


def _species_of_stations(rng: np.random.Generator, stations: int, taxa: np.ndarray) -> np.ndarray:
    """Taxon ids of each station, shape (stations, taxa in a station)."""
    order = rng.random((stations, len(taxa))).argsort(axis=1)
    return taxa[order[:, :TAXA_IN_A_STATION]]


def _write_block(
    rng: np.random.Generator, visits: pd.DataFrame, species: np.ndarray, first_station: int
) -> tuple[int, int]:
    """Visits with their passes and catches; the numbers of passes and of catches are returned."""
    count = len(visits)
    _copy(Visit, visits)
    now = datetime.datetime.now(datetime.UTC).isoformat()
    step = pd.DataFrame({"visit_id": visits["id"], "status": VisitStatus.ACCEPTED.value})
    _copy(VisitStep, step.assign(at=now, remark="Invented for load tests."))
    first_pass = _reserve(RemovalPass, count * PASSES)
    passes = pd.DataFrame(
        {
            "id": first_pass + np.arange(count * PASSES),
            "visit_id": np.repeat(visits["id"].to_numpy(), PASSES),
            "pass_number": np.tile(np.arange(1, PASSES + 1), count),
            "effort_s": rng.integers(900, 2_400, count * PASSES),
            "biomass_g": rng.uniform(200, 3_000, count * PASSES).round(1),
        }
    )
    _copy(RemovalPass, passes)
    here = species[visits["station_id"].to_numpy() - first_station]
    abundance = rng.negative_binomial(1, 0.06, here.shape)
    first_catch = rng.binomial(abundance, 0.6)
    second_catch = rng.binomial(abundance - first_catch, 0.6)
    counts = np.stack([first_catch, second_catch], axis=1)
    visit, number, taxon = np.nonzero(counts)
    caught = counts[visit, number, taxon]
    _copy(
        Catch,
        pd.DataFrame(
            {
                "removal_pass_id": first_pass + visit * PASSES + number,
                "taxon_id": here[visit, taxon],
                "count": caught,
                "young_of_year": rng.binomial(caught, 0.1),
                "anomalies": rng.binomial(caught, 0.01),
            }
        ),
    )
    return len(passes), len(caught)
