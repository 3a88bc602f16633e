"""Write the demo's data into ``fixtures/``: an invented county, the same bytes on every run.

    uv run scripts/make_demo_data.py             write the files into fixtures/
    uv run scripts/make_demo_data.py --out DIR   write them somewhere else

How a visit is made. Each watershed has a condition between 0 and 1 by year (``demo_scenario.condition``);
stations and years move it a little. Between its density in good and in poor condition each kind of fish
is set by that condition on a logarithmic scale (``demo_fish``), with chance for the kind, the county's
year and the visit. The fish present are drawn (Poisson), then removed pass by pass: each fish is caught
with a probability of about 0.6, a little less for kinds that hide. Weights are log-normal about a mean
weight. Every draw comes from one generator per station and year, so a change at one station leaves all
others as they are. NumPy's version is pinned by the project; another one may draw other numbers.

Kinds of trouble are put in on purpose; ``fixtures/README.md`` lists them all.
"""

from __future__ import annotations

import argparse
import csv
import datetime
import math
from pathlib import Path
from typing import Any

import numpy as np
from demo_fish import POOLS, Kind
from demo_outlines import write_outlines
from demo_scenario import (
    CREW,
    DROUGHT,
    FIRST_YEAR,
    LAND_COVER,
    LAST_YEAR,
    LENGTHENED_FROM,
    LUMMERDANE,
    METHOD,
    METHODS,
    MISSED,
    NEXT_YEAR,
    NO_SEASON,
    NOTES,
    OLD_METHOD,
    STATIONS,
    Station,
    condition,
)

SEED = 20050602
FIXTURES = Path(__file__).resolve().parent.parent / "fixtures"

CAPTURE = 0.62  # chance of capture per pass, before the kind and the visit
COMMON_NAMES_UNTIL = 2008  # the oldest files name fish in English
YOUNG_AND_ANOMALIES_FROM = 2009  # before that nobody looked
DISCHARGE_FROM = 2012
RECORD_FROM = 2023  # since then the gear, the times and what became of the fish are noted
ZERO_CATCH = ("TARV-04", 2022)
FAILED_DEPLETION = ("BREN-03", 2009)
KILOGRAMS_TYPED = ("BREN-02", 2019)  # the visit that the reviewer returned
NET_BREACH = ("OSTR-02", 2010)
LATE = {
    ("BREN-04", 2018): datetime.date(2018, 10, 11),  # out of season, after the flood
    ("OSTR-01", 2025): datetime.date(2025, 9, 12),  # in season, but far from the usual day
}

Row = dict[str, Any]


def usable(kind: Kind, station: Station) -> bool:
    return (not kind.only or station.code in kind.only) and station.catchment_km2 >= kind.least_catchment_km2


def visit_rows(station: Station, year: int, names: dict[str, str]) -> list[Row]:
    """All rows of one visit."""
    number = STATIONS.index(station)
    rng = np.random.default_rng([SEED, number, year])
    county_year = np.random.default_rng([SEED, 999, year])  # what the year was like everywhere
    good_year = county_year.normal(0, 0.025)
    day = datetime.date(year, 1, 1) + datetime.timedelta(days=int(station.day - 1 + rng.integers(-9, 10)))
    day = LATE.get((station.code, year), day)
    dry = year == DROUGHT
    state = condition(station.watershed, year) + station.offset + good_year + rng.normal(0, 0.04)
    state = float(np.clip(state - (0.10 if dry else 0.0), 0.02, 1.0))
    old = year < LENGTHENED_FROM.get(station.code, 0)
    length = 50.0 if old else 75.0
    width = round(station.width_m * (0.78 if dry else 1.0) * math.exp(rng.normal(0, 0.05)), 1)
    area = length * width
    failed = (station.code, year) == FAILED_DEPLETION
    chance = float(np.clip(CAPTURE + rng.normal(0, 0.05), 0.45, 0.75))
    kinds = [k for k in POOLS[station.stratum] if usable(k, station)]
    passes: list[list[tuple[str, int, int, float, int]]] = [[], []]
    for kind in kinds:
        of_year = math.exp(county_year.normal(0, 0.15))
        density = kind.good**state * kind.poor ** (1 - state) * of_year * math.exp(rng.normal(0, 0.28))
        present = int(rng.poisson(density * area * (0.62 if dry else 1.0)))
        if (station.code, year) == ZERO_CATCH:
            present = 0
        for position in range(2):
            first_in_mud = failed and position == 0
            caught = int(rng.binomial(present, chance * kind.ease * (0.38 if first_in_mud else 1.0)))
            present -= caught
            if caught:
                passes[position].append(_batch(kind, caught, state, rng))
    visit = _visit_values(station, year, day, state, length, width, rng, muddy=failed)
    visit["method"] = OLD_METHOD if old else METHOD
    visit["stop_nets"] = "downstream" if (station.code, year) == NET_BREACH else "both"
    rows = _rows(station, year, visit, passes, area, names, rng)
    if year >= RECORD_FROM:
        # A generator of its own, so that everything else stays as it was drawn.
        _add_field_record(rows, np.random.default_rng([SEED, number, year, 1]))
    return rows


def _add_field_record(rows: list[Row], rng: np.random.Generator) -> None:
    """Gear, times of the passes, and the fish released, dead and kept."""
    start = 9 * 60 + int(rng.integers(0, 60))
    minutes: dict[int, tuple[int, int]] = {}
    for row in rows:
        number = row["pass"]
        if number not in minutes:
            end = start + math.ceil(float(row["effort_s"]) / 60 * 1.5) + 5
            minutes[number] = (start, end)
            start = end + 35 + int(rng.integers(0, 15))
        begun, ended = minutes[number]
        died = int(rng.binomial(row["count"], 0.006))
        row |= {
            "conductivity_basis": "25 C",
            "started_at": f"{begun // 60:02d}:{begun % 60:02d}",
            "ended_at": f"{ended // 60:02d}:{ended % 60:02d}",
            "waveform": "pulsed DC",
            "anodes": 1,
            "released": row["count"] - died,
            "died": died,
            "kept": 0,
        }


def _batch(
    kind: Kind, caught: int, state: float, rng: np.random.Generator
) -> tuple[str, int, int, float, int]:
    young = int(rng.binomial(caught, kind.young))
    weight = (
        kind.weight_g * ((caught - young) + 0.2 * young) * math.exp(rng.normal(0, 0.22 / math.sqrt(caught)))
    )
    anomalies = int(rng.binomial(caught, 0.002 + 0.02 * (1 - state)))
    return kind.name, caught, young, max(round(weight, 1), 0.1), anomalies


def _visit_values(
    station: Station,
    year: int,
    day: datetime.date,
    state: float,
    length: float,
    width: float,
    rng: np.random.Generator,
    *,
    muddy: bool,
) -> Row:
    cover = LAND_COVER[station.watershed]
    hard = float(np.interp(year, list(cover), [values[0] for values in cover.values()]))
    temperature = 19.0 + 2.2 * (1 - state) + (1.8 if year == DROUGHT else 0.0) + rng.normal(0, 0.9)
    if station.watershed == LUMMERDANE:
        temperature += 1.5
    return {
        "station": station.code,
        "visit_date": day.isoformat(),
        "reach_length_m": f"{length:g}",
        "mean_width_m": f"{width:.1f}",
        "water_temp_c": f"{min(temperature, 24.8):.1f}",
        "conductivity_us_cm": f"{110 + 14 * hard + 4 * (year - FIRST_YEAR) * hard / 25 + rng.normal(0, 15):.0f}",
        "dissolved_oxygen_mg_l": f"{14.2 - 0.31 * temperature + rng.normal(0, 0.3):.1f}",
        "ph": f"{7.3 + rng.normal(0, 0.15):.1f}",
        "turbidity_ntu": "38.0" if muddy else f"{math.exp(rng.normal(1.3, 0.4)):.1f}",
        "discharge_m3_s": f"{0.006 * station.catchment_km2 * math.exp(rng.normal(0, 0.25)):.3f}"
        if year >= DISCHARGE_FROM
        else "",
        "crew_lead": CREW[(year - FIRST_YEAR) // 7 % len(CREW)],
        "notes": _note(station, year),
    }


def _note(station: Station, year: int) -> str:
    if (station.code, year) == ZERO_CATCH:
        return "Two passes, not one fish. Grey film on the stones; smell of sewage."
    if (station.code, year) == FAILED_DEPLETION:
        return "Water went brown in the first pass (cattle upstream), clear in the second."
    if (station.code, year) == NET_BREACH:
        return "Upper net washed out during the first pass."
    if (station.code, year) in LATE:
        return "Late: the creek was too high before."
    if year == LENGTHENED_FROM.get(station.code):
        return "First visit over 75 m."
    return ""


def _rows(
    station: Station,
    year: int,
    visit: Row,
    passes: list[list[tuple[str, int, int, float, int]]],
    area: float,
    names: dict[str, str],
    rng: np.random.Generator,
) -> list[Row]:
    rows: list[Row] = []
    for position, batches in enumerate(passes):
        effort = f"{area * (3.1 if position == 0 else 2.6) * math.exp(rng.normal(0, 0.08)):.0f}"
        total = math.ceil(sum(weight for *_, weight, _ in batches) * (1 + rng.uniform(0, 0.01)))
        if (station.code, year) == KILOGRAMS_TYPED and position == 1:
            total = round(total / 1000, 2)
        common = {**visit, "pass": position + 1, "effort_s": effort, "pass_biomass_g": f"{total:g}"}
        if rows:
            common["notes"] = ""
        if not batches:
            rows.append({**common, "taxon": "no fish", "count": 0, "pass_biomass_g": "0"})
        for name, count, young, weight, anomalies in sorted(batches, key=lambda batch: (-batch[1], batch[0])):
            looked = year >= YOUNG_AND_ANOMALIES_FROM
            rows.append(
                {
                    **common,
                    "taxon": names[name] if year <= COMMON_NAMES_UNTIL else name,
                    "count": count,
                    "young_of_year": young if looked else "",
                    "biomass_g": f"{weight:.1f}",
                    "anomalies": anomalies if looked else "",
                }
            )
            common["notes"] = ""
    return rows


def season(year: int, names: dict[str, str]) -> list[Row]:
    """All rows of a year, in the order in which the stations were visited."""
    rows: list[list[Row]] = []
    for station in STATIONS:
        missed = year < station.first_year or year == NO_SEASON or (station.code, year) in MISSED
        if not missed:
            rows.append(visit_rows(station, year, names))
    rows.sort(key=lambda visit: (visit[0]["visit_date"], visit[0]["station"]))
    return [row for visit in rows for row in visit]


def with_two_errors(rows: list[Row]) -> list[Row]:
    """The season to be corrected: exactly two errors, and two cells that only make a person look.

    Errors: one row has the letter O for a zero in its station code; one row has more young than fish.
    To look at: a fish that weighs nothing, and a visit six weeks later in the year than usual.
    """
    first = [row for row in rows if row["pass"] == 1]
    typo = [row for row in first if row["station"] == "BREN-02"][-1]
    typo["station"] = "BREN-O2"
    young = next(
        row for row in first if row["station"] == "OSTR-03" and row["taxon"] == "Cottus caeruleomentum"
    )
    young["young_of_year"] = young["count"] + 10
    weightless = [row for row in first if row["station"] == "TARV-02" and row["count"] == 1][-1]
    weightless["biomass_g"] = "0"
    return rows


COLUMNS = [
    "station",
    "visit_date",
    "pass",
    "taxon",
    "count",
    "young_of_year",
    "biomass_g",
    "anomalies",
    "effort_s",
    "pass_biomass_g",
    "reach_length_m",
    "mean_width_m",
    "stop_nets",
    "method",
    "water_temp_c",
    "conductivity_us_cm",
    "dissolved_oxygen_mg_l",
    "ph",
    "turbidity_ntu",
    "discharge_m3_s",
    "crew_lead",
    "notes",
]
RECORD_COLUMNS = [
    "conductivity_basis",
    "started_at",
    "ended_at",
    "waveform",
    "anodes",
    "released",
    "died",
    "kept",
]


def write(path: Path, columns: list[str], rows: list[Row]) -> None:
    with path.open("w", encoding="utf-8", newline="") as handle:
        writer = csv.DictWriter(handle, columns, lineterminator="\n", extrasaction="ignore")
        writer.writeheader()
        writer.writerows(rows)


def write_lists(out: Path) -> None:
    write_outlines(out / "outlines.geojson", STATIONS)
    write(out / "sampling_methods.csv", list(METHODS[0]), list(METHODS))
    write(
        out / "stations.csv",
        [
            "station",
            "watershed",
            "stream",
            "name",
            "latitude",
            "longitude",
            "river_km",
            "catchment_km2",
            "stratum",
            "reach_length_m",
            "mean_width_m",
            "elevation_m",
            "control_for",
        ],
        [{**vars(s), "station": s.code, "reach_length_m": 75, "mean_width_m": s.width_m} for s in STATIONS],
    )
    columns = [
        "watershed",
        "station",
        "category",
        "starts_on",
        "ends_on",
        "title",
        "text",
        "source",
        "public",
    ]
    write(out / "land_use_notes.csv", columns, [dict(zip(columns, note, strict=True)) for note in NOTES])
    write(
        out / "land_cover.csv",
        ["watershed", "year", "impervious_pct", "forest_pct"],
        [
            {"watershed": place, "year": year, "impervious_pct": hard, "forest_pct": forest}
            for place, years in LAND_COVER.items()
            for year, (hard, forest) in years.items()
        ],
    )


def write_all(out: Path) -> None:
    """Write every file that this script makes; ``taxa.csv`` is kept by hand and only read."""
    out.mkdir(parents=True, exist_ok=True)
    with (FIXTURES / "taxa.csv").open(encoding="utf-8", newline="") as handle:
        names = {row["scientific_name"]: row["common_name"] for row in csv.DictReader(handle)}
    write_lists(out)
    for year in range(FIRST_YEAR, LAST_YEAR + 1):
        rows = season(year, names)
        if not rows:
            continue
        columns = [
            c
            for c in COLUMNS + (RECORD_COLUMNS if year >= RECORD_FROM else [])
            if (year >= YOUNG_AND_ANOMALIES_FROM or c not in ("young_of_year", "anomalies"))
            and (year >= DISCHARGE_FROM or c != "discharge_m3_s")
        ]
        write(out / f"season_{year}.csv", columns, rows)
    # Whole-pass weights were given up with this season, so its file has no column for them.
    columns = [c for c in COLUMNS if c != "pass_biomass_g"] + RECORD_COLUMNS
    write(out / f"season_{NEXT_YEAR}.csv", columns, with_two_errors(season(NEXT_YEAR, names)))


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--out", type=Path, default=FIXTURES, help="folder to write to (default: fixtures/)")
    out = parser.parse_args().out
    write_all(out)
    print(f"{len(list(out.glob('season_*.csv')))} season files and 4 lists in {out}")


if __name__ == "__main__":
    main()
