"""Every column of the three files that are loaded here, in one place. The reader of a cell, the checks, what is
stored, the published schema and the help pages all rest on these objects. Pure code."""

from collections.abc import Iterable
from typing import Final

from surveys.said import marked
from surveys.uploads.column import (
    PASS,
    ROW,
    VISIT,
    Column,
    flag_column,
    number_column,
    text_column,
    whole_column,
    words_column,
)
from surveys.uploads.field_columns import FIELD_COLUMNS
from surveys.uploads.values import parse_date, parse_station_code

__all__ = ["FIELD_COLUMNS", "PASS", "ROW", "VISIT", "Column"]

NO_FISH: Final = "no fish"
# What people write in place of a name where there was none to write; never taken for a taxon by itself.
NO_NAMES: Final = frozenset(
    {
        "none",
        "nil",
        "nothing",
        "no catch",
        "no fish caught",
        "nofish",
        "no_fish",
        "no-fish",
        "na",
        "n/a",
        "n.a.",
    }
    | {"null", "?", "-", "--", "0"}
)

# Limits that refuse a value are those of the stored record. Limits that ask are defaults: the
# rules that rest on them, with their sources, are in ``surveys.rules``.
FIRST_COLUMNS: Final[tuple[Column, ...]] = (
    text_column(
        "station", marked("Station code as in the station list"), "MILL-02", 60, required=True, scope=ROW
    ),
    Column(
        name="visit_date",
        meaning=marked("Day of the visit, ISO 8601 (YYYY-MM-DD)"),
        kind="date",
        parse=parse_date,
        example="2024-07-16",
        required=True,
    ),
    whole_column(
        "pass",
        marked("Number of the pass: 1, 2, 3 ... without a gap"),
        "1",
        0,
        required=True,
        hard=(1, 50),
        ask=(None, 5),
    ),
    text_column(
        "taxon",
        marked(
            "Scientific name, common name or taxon code; 'no fish' with count 0 for a pass that caught nothing"
        ),
        "Semotilus atromaculatus",
        200,
        required=True,
    ),
    whole_column(
        "count",
        marked("Fish of that taxon in that pass"),
        "12",
        1_000_000,
        required=True,
        unit="fish",
        ask=(None, 5_000),
    ),
    whole_column("young_of_year", marked("Of these, fish of the year"), "3", 1_000_000, unit="fish"),
    number_column(
        "biomass_g",
        marked("Batch weight of the taxon in the pass"),
        "148.5",
        0,
        1_000_000,
        unit="g",
        ask=(None, 50_000),
    ),
    whole_column(
        "anomalies",
        marked(
            "Of these, fish with deformities, eroded fins, lesions or tumours; empty where not looked for"
        ),
        "0",
        1_000_000,
        unit="fish",
    ),
    whole_column(
        "effort_s",
        marked("Current-on time of the pass"),
        "640",
        86_400,
        unit="s",
        scope=PASS,
        ask=(60, 7_200),
    ),
    number_column(
        "pass_biomass_g",
        marked("Total weight of the pass"),
        "905",
        0,
        10_000_000,
        unit="g",
        scope=PASS,
        ask=(None, 200_000),
        field="biomass_g",
    ),
    number_column(
        "reach_length_m", marked("Length of the reach fished"), "75", 10, 1_000, unit="m", scope=VISIT
    ),
    number_column(
        "mean_width_m", marked("Mean wetted width of the reach"), "3.4", 0.2, 50, unit="m", scope=VISIT
    ),
    words_column(
        "stop_nets",
        marked("Ends of the reach closed with nets"),
        "both",
        ("both", "upstream", "downstream", "none"),
        scope=VISIT,
        blank="",
    ),
    text_column(
        "method",
        marked("Code of a sampling method known here"),
        "two-pass-75m",
        60,
        scope=VISIT,
        field="method_id",
    ),
    number_column(
        "water_temp_c", marked("Water temperature"), "18.5", -1, 40, unit="deg C", scope=VISIT, ask=(None, 25)
    ),
    number_column(
        "conductivity_us_cm",
        marked("Conductivity of the water"),
        "240",
        1,
        50_000,
        unit="uS/cm",
        scope=VISIT,
        ask=(20, 1_500),
    ),
    number_column(
        "dissolved_oxygen_mg_l",
        marked("Dissolved oxygen"),
        "8.2",
        0,
        25,
        unit="mg/L",
        scope=VISIT,
        ask=(4, None),
    ),
    number_column("ph", marked("pH of the water"), "7.4", 0, 14, scope=VISIT, ask=(5, 9.5)),
    number_column(
        "turbidity_ntu", marked("Turbidity"), "4.1", 0, 4_000, unit="NTU", scope=VISIT, ask=(None, 25)
    ),
    number_column(
        "discharge_m3_s",
        marked("Discharge on the day"),
        "0.12",
        0,
        10_000,
        unit="m3/s",
        scope=VISIT,
        ask=(None, 50),
    ),
    text_column(
        "crew_lead", marked("Who led the crew (initials are enough)"), "K. L.", 100, scope=VISIT, blank=""
    ),
    text_column(
        "notes",
        marked("Anything that helps to read the visit later"),
        "Riffle scoured since last year",
        2_000,
    ),
)

SEASON_FILE: Final[tuple[Column, ...]] = (*FIRST_COLUMNS, *FIELD_COLUMNS)

STATION_LIST: Final[tuple[Column, ...]] = (
    text_column(
        "station",
        marked("Station code; never changes, never reused"),
        "MILL-02",
        60,
        required=True,
        parse=parse_station_code,
    ),
    text_column("watershed", marked("Name of the watershed"), "Mill Creek", 200, required=True),
    text_column("stream", marked("Name of the stream"), "Mill Creek", 200, required=True),
    text_column("name", marked("Name of the place"), "Below the footbridge", 200),
    number_column(
        "latitude", marked("Degrees north, WGS 84"), "39.0412", -90, 90, unit="deg", other_headings=("lat",)
    ),
    number_column(
        "longitude",
        marked("Degrees east, WGS 84"),
        "-77.1203",
        -180,
        180,
        unit="deg",
        other_headings=("long", "lon"),
    ),
    number_column(
        "position_uncertainty_m",
        marked("How far the true place may lie from the position; empty where not known, never 0"),
        "30",
        0.01,
        100_000,
        unit="m",
    ),
    number_column("river_km", marked("Distance from the mouth"), "4.2", 0, 10_000, unit="km"),
    number_column(
        "catchment_km2", marked("Area that drains to the station"), "6.8", 0.001, 1_000_000, unit="km2"
    ),
    text_column("stratum", marked("Region or stream class; decides which index applies"), "piedmont", 100),
    number_column("reach_length_m", marked("Standard length of the reach"), "75", 10, 1_000, unit="m"),
    number_column("mean_width_m", marked("Usual mean width"), "3.4", 0.2, 50, unit="m"),
    number_column("elevation_m", marked("Elevation"), "92", -100, 5_000, unit="m", ask=(-10, 2_500)),
    text_column(
        "control_for",
        marked("Code of the station that this one is a control for"),
        "MILL-01",
        60,
        parse=parse_station_code,
    ),
)

TOLERANCES = ("intolerant", "moderate", "tolerant")
GUILDS = (
    "invertivore",
    "insectivore",
    "omnivore",
    "generalist",
    "herbivore",
    "top predator",
    "filter feeder",
)
RANKS = ("species", "subspecies", "genus", "hybrid")

TAXON_LIST: Final[tuple[Column, ...]] = (
    text_column(
        "scientific_name",
        marked("Scientific name"),
        "Semotilus atromaculatus",
        200,
        required=True,
        other_headings=("taxon",),
    ),
    text_column("common_name", marked("Common name"), "Creek Chub", 200),
    text_column("family", marked("Family"), "Leuciscidae", 100),
    whole_column(
        "itis_tsn", marked("Number in the Integrated Taxonomic Information System"), "163376", 2_000_000_000
    ),
    words_column("tolerance", marked("Tolerance of disturbance"), "tolerant", TOLERANCES),
    words_column("trophic_guild", marked("How it feeds"), "generalist", GUILDS),
    flag_column("benthic", marked("Lives on the bottom (1 or 0)"), "0"),
    flag_column("lithophilic", marked("Spawns on clean gravel or stone (1 or 0)"), "0"),
    flag_column("native", marked("Native to the county's waters (1 or 0)")),
    flag_column("migratory", marked("Migrates between fresh and salt water (1 or 0)"), "0"),
    flag_column("hybrid", marked("A cross of two species (1 or 0)"), "0"),
    text_column(
        "look_alikes",
        marked("Scientific names it is mistaken for, separated by semicolons"),
        "Semotilus corporalis",
        1_000,
    ),
    flag_column("sensitive_location", marked("Exact places are withheld from the public (1 or 0)"), "0"),
    text_column("code", marked("Short code used on field sheets"), "CRCH", 40),
    words_column("rank", marked("Rank of the name"), "species", RANKS),
    text_column(
        "authorship",
        marked("Who named it and when, as written after the scientific name"),
        "(Mitchill, 1818)",
        200,
    ),
    text_column(
        "aliases",
        marked("Other names it is met under, separated by semicolons"),
        "northern creek chub",
        1_000,
    ),
    text_column(
        "traits_source",
        marked("Where the traits are from"),
        "State handbook 2011, p. 40",
        1_000,
        other_headings=("source",),
    ),
    text_column("note", marked("Remark"), "", 1_000),
)


# What identifies a row, and the notes, which are gathered from all rows of a visit, are no values of a catch.
_NO_CATCH: Final = ("station", "visit_date", "pass", "taxon", "notes")
CATCH_COLUMNS: Final = tuple(c for c in SEASON_FILE if c.scope == ROW and c.name not in _NO_CATCH)
PASS_COLUMNS: Final = tuple(c for c in SEASON_FILE if c.scope == PASS)
VISIT_COLUMNS: Final = tuple(c for c in SEASON_FILE if c.scope == VISIT)


def column_names(columns: Iterable[Column]) -> list[str]:
    return [column.name for column in columns]
