"""Every column of the three files that are loaded here, in one place: heading, meaning, unit, limits,
example. The reader of a cell, the checks, the published schema and the help pages all rest on these
objects. Pure code."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from surveys.uploads.values import (
    CellError,
    Parser,
    one_of,
    parse_date,
    parse_flag,
    parse_number,
    parse_station_code,
    parse_whole,
    text_up_to,
)

NO_FISH: Final = "no fish"

ROW, PASS, VISIT = "row", "pass", "visit"


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a file.

    ``hard`` limits refuse a value, ``ask`` limits make a person look. ``scope`` says over which rows
    the value has to be the same: its own row, all rows of a pass, or all rows of a visit.
    """

    name: str
    meaning: str
    kind: str  # the word of the published schema: string, date, integer, number, boolean
    parse: Parser
    example: str
    required: bool = False
    unit: str = ""
    scope: str = ROW
    hard: tuple[float | None, float | None] = (None, None)
    ask: tuple[float | None, float | None] = (None, None)
    words: Sequence[str] = ()
    other_headings: Sequence[str] = field(default=())

    def read(self, text: str) -> Any:
        """The value of a cell that is not empty.

        Raises
        ------
        CellError : it cannot be read, or lies outside the hard limits
        """
        value = self.parse(text)
        if self.kind in ("integer", "number"):
            low, high = self.hard
            if (low is not None and value < low) or (high is not None and value > high):
                code = "negative" if value < 0 and low == 0 else "out_of_range"
                raise CellError(
                    code,
                    f"{text} {self.unit}".strip() + f" is outside what is possible ({_between(low, high)}).",
                    "Check the unit and the decimal point against the field sheet.",
                )
        return value

    def asks(self, value: Any) -> str:
        """Why a person should look at this value, or nothing."""
        low, high = self.ask
        if (low is not None and value < low) or (high is not None and value > high):
            return f"{value:g} {self.unit}".strip() + f" is unusual (expected {_between(low, high)})."
        return ""


def _between(low: float | None, high: float | None) -> str:
    if low is None:
        return f"at most {high:,g}"
    if high is None:
        return f"at least {low:,g}"
    return f"{low:,g} to {high:,g}"


def _whole(name: str, meaning: str, example: str, most: float, **more: Any) -> Column:
    more.setdefault("hard", (0, most))
    return Column(name=name, meaning=meaning, kind="integer", parse=parse_whole, example=example, **more)


def _number(
    name: str, meaning: str, example: str, low: float | None, high: float | None, **more: Any
) -> Column:
    return Column(
        name=name,
        meaning=meaning,
        kind="number",
        parse=parse_number,
        example=example,
        hard=(low, high),
        **more,
    )


def _text(name: str, meaning: str, example: str, limit: int, **more: Any) -> Column:
    more.setdefault("parse", text_up_to(limit))
    return Column(name=name, meaning=meaning, kind="string", example=example, **more)


def _words(name: str, meaning: str, example: str, words: Sequence[str], **more: Any) -> Column:
    return _text(name, meaning, example, 0, parse=one_of({w: w for w in words}), words=tuple(words), **more)


def _flag(name: str, meaning: str, example: str = "1") -> Column:
    return Column(name=name, meaning=meaning, kind="boolean", parse=parse_flag, example=example)


# Limits that refuse a value are those of the stored record. Limits that ask come from the programme's
# own field practice; they are no published standard.
SEASON_FILE: Final[tuple[Column, ...]] = (
    _text("station", "Station code as in the station list", "MILL-02", 60, required=True, scope=ROW),
    Column(
        name="visit_date",
        meaning="Day of the visit, ISO 8601 (YYYY-MM-DD)",
        kind="date",
        parse=parse_date,
        example="2024-07-16",
        required=True,
    ),
    _whole(
        "pass",
        "Number of the pass: 1, 2, 3 ... without a gap",
        "1",
        0,
        required=True,
        hard=(1, 50),
        ask=(None, 5),
    ),
    _text(
        "taxon",
        "Scientific name, common name or taxon code; 'no fish' with count 0 for a pass that caught nothing",
        "Semotilus atromaculatus",
        200,
        required=True,
    ),
    _whole(
        "count",
        "Fish of that taxon in that pass",
        "12",
        1_000_000,
        required=True,
        unit="fish",
        ask=(None, 5_000),
    ),
    _whole("young_of_year", "Of these, fish of the year", "3", 1_000_000, unit="fish"),
    _number(
        "biomass_g",
        "Batch weight of the taxon in the pass",
        "148.5",
        0,
        1_000_000,
        unit="g",
        ask=(None, 50_000),
    ),
    _whole(
        "anomalies",
        "Of these, fish with deformities, eroded fins, lesions or tumours; empty where not looked for",
        "0",
        1_000_000,
        unit="fish",
    ),
    _whole("effort_s", "Current-on time of the pass", "640", 86_400, unit="s", scope=PASS, ask=(60, 7_200)),
    _number(
        "pass_biomass_g",
        "Total weight of the pass",
        "905",
        0,
        10_000_000,
        unit="g",
        scope=PASS,
        ask=(None, 200_000),
    ),
    _number("reach_length_m", "Length of the reach fished", "75", 10, 1_000, unit="m", scope=VISIT),
    _number("mean_width_m", "Mean wetted width of the reach", "3.4", 0.2, 50, unit="m", scope=VISIT),
    _words(
        "stop_nets",
        "Ends of the reach closed with nets",
        "both",
        ("both", "upstream", "downstream", "none"),
        scope=VISIT,
    ),
    _text("method", "Code of a sampling method known here", "two-pass-75m", 60, scope=VISIT),
    _number("water_temp_c", "Water temperature", "18.5", -1, 40, unit="deg C", scope=VISIT, ask=(None, 25)),
    _number(
        "conductivity_us_cm",
        "Conductivity of the water",
        "240",
        1,
        50_000,
        unit="uS/cm",
        scope=VISIT,
        ask=(20, 1_500),
    ),
    _number(
        "dissolved_oxygen_mg_l", "Dissolved oxygen", "8.2", 0, 25, unit="mg/L", scope=VISIT, ask=(4, None)
    ),
    _number("ph", "pH of the water", "7.4", 0, 14, scope=VISIT, ask=(5, 9.5)),
    _number("turbidity_ntu", "Turbidity", "4.1", 0, 4_000, unit="NTU", scope=VISIT, ask=(None, 25)),
    _number(
        "discharge_m3_s", "Discharge on the day", "0.12", 0, 10_000, unit="m3/s", scope=VISIT, ask=(None, 50)
    ),
    _text("crew_lead", "Who led the crew (initials are enough)", "K. L.", 100, scope=VISIT),
    _text("notes", "Anything that helps to read the visit later", "Riffle scoured since last year", 2_000),
)

STATION_LIST: Final[tuple[Column, ...]] = (
    _text(
        "station",
        "Station code; never changes, never reused",
        "MILL-02",
        60,
        required=True,
        parse=parse_station_code,
    ),
    _text("watershed", "Name of the watershed", "Mill Creek", 200, required=True),
    _text("stream", "Name of the stream", "Mill Creek", 200, required=True),
    _text("name", "Name of the place", "Below the footbridge", 200),
    _number("latitude", "Degrees north, WGS 84", "39.0412", -90, 90, unit="deg"),
    _number("longitude", "Degrees east, WGS 84", "-77.1203", -180, 180, unit="deg"),
    _number("river_km", "Distance from the mouth", "4.2", 0, 10_000, unit="km"),
    _number("catchment_km2", "Area that drains to the station", "6.8", 0.001, 1_000_000, unit="km2"),
    _text("stratum", "Region or stream class; decides which index applies", "piedmont", 100),
    _number("reach_length_m", "Standard length of the reach", "75", 10, 1_000, unit="m"),
    _number("mean_width_m", "Usual mean width", "3.4", 0.2, 50, unit="m"),
    _number("elevation_m", "Elevation", "92", -100, 5_000, unit="m", ask=(-10, 2_500)),
    _text(
        "control_for",
        "Code of the station that this one is a control for",
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
    _text(
        "scientific_name",
        "Scientific name",
        "Semotilus atromaculatus",
        200,
        required=True,
        other_headings=("taxon",),
    ),
    _text("common_name", "Common name", "Creek Chub", 200),
    _text("family", "Family", "Leuciscidae", 100),
    _whole("itis_tsn", "Number in the Integrated Taxonomic Information System", "163376", 2_000_000_000),
    _words("tolerance", "Tolerance of disturbance", "tolerant", TOLERANCES),
    _words("trophic_guild", "How it feeds", "generalist", GUILDS),
    _flag("benthic", "Lives on the bottom (1 or 0)", "0"),
    _flag("lithophilic", "Spawns on clean gravel or stone (1 or 0)", "0"),
    _flag("native", "Native to the county's waters (1 or 0)"),
    _flag("migratory", "Migrates between fresh and salt water (1 or 0)", "0"),
    _flag("hybrid", "A cross of two species (1 or 0)", "0"),
    _text(
        "look_alikes",
        "Scientific names it is mistaken for, separated by semicolons",
        "Semotilus corporalis",
        1_000,
    ),
    _flag("sensitive_location", "Exact places are withheld from the public (1 or 0)", "0"),
    _text("code", "Short code used on field sheets", "CRCH", 40),
    _words("rank", "Rank of the name", "species", RANKS),
    _text("aliases", "Other names it is met under, separated by semicolons", "northern creek chub", 1_000),
    _text(
        "traits_source",
        "Where the traits are from",
        "State handbook 2011, p. 40",
        1_000,
        other_headings=("source",),
    ),
    _text("note", "Remark", "", 1_000),
)


def column_names(columns: Iterable[Column]) -> list[str]:
    return [column.name for column in columns]
