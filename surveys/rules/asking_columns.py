"""The rules that ask about a single value, one for each column that has limits of that kind. Pure code."""

from typing import Final

from surveys.rules.rule import ASK, LISTS, PROPOSAL, VALUES, Limit, Rule
from surveys.uploads.column import Column
from surveys.uploads.columns import SEASON_FILE, STATION_LIST

_SHEET = "Check it against the field sheet; keep it if it is right."
_UNIT = "Often the unit or the decimal point slipped. " + _SHEET
_PULSE = (
    "The ceiling of the National Marine Fisheries Service’s guidelines of 2000 for waters with listed salmon "
    "and trout (from memory, not read again)."
)
# Column -> title, why it asks and what to do, and the source where there is one.
_WORDS: Final[dict[str, tuple[str, str, str]]] = {
    "pass": (
        "Number of passes",
        "More passes than this are rare; the number of the pass may be mistyped. " + _SHEET,
        PROPOSAL,
    ),
    "count": ("Fish of a taxon in a pass", "So many fish in one row are rare. " + _SHEET, PROPOSAL),
    "biomass_g": ("Batch weight", "A batch is rarely so heavy. " + _UNIT, PROPOSAL),
    "effort_s": (
        "Current-on time of a pass",
        "A pass outside these times may have been read off wrong, or the counter was not set back. " + _SHEET,
        PROPOSAL + " For scale: the small-stream method of the U.S. Environmental Protection Agency of "
        "2013/14 (NEMI summary 12302) fishes 500 to 700 s in each of ten parts of a reach.",
    ),
    "pass_biomass_g": ("Total weight of a pass", "A pass rarely weighs so much. " + _UNIT, PROPOSAL),
    "water_temp_c": (
        "Water temperature",
        "Fish in water as warm as this are under stress before they are caught, and catch rates change. "
        "Whether work goes on is for the crew leader and the permit to say. " + _SHEET,
        PROPOSAL + " For waters with listed salmon and trout, federal guidelines of 2000 name 18 °C (from "
        "memory, not read again).",
    ),
    "conductivity_us_cm": (
        "Conductivity",
        "Very low or very high conductivity changes how the current works on fish, and so the catch. It may "
        "also be a reading in mS/cm. " + _SHEET,
        PROPOSAL,
    ),
    "dissolved_oxygen_mg_l": (
        "Dissolved oxygen",
        "So little oxygen is a finding of its own, or a meter that was not calibrated. " + _SHEET,
        PROPOSAL,
    ),
    "ph": (
        "pH",
        "Outside these values most creeks are in trouble or the meter is. " + _SHEET,
        PROPOSAL,
    ),
    "turbidity_ntu": (
        "Turbidity",
        "Fish are missed in water that is not clear, so the catch may be too low. " + _SHEET,
        PROPOSAL,
    ),
    "discharge_m3_s": (
        "Discharge",
        "A wadeable creek rarely carries so much; it may be a reading in cubic feet or litres. " + _SHEET,
        PROPOSAL,
    ),
    "air_temp_c": ("Air temperature", "Few crews fish in such air. " + _UNIT, PROPOSAL),
    "bottom_visible": (
        "Bottom not seen",
        "Where the bottom cannot be seen, fish are missed and people stumble. The visit can be kept, but the "
        "catch may be too low. " + _SHEET,
        PROPOSAL,
    ),
    "crew_size": (
        "Crew size",
        "Nobody fishes alone with electricity: a crew below the lower limit is asked about each time. Local "
        "rules and the permit may ask for more people.",
        "For the lower limit: University of Northern British Columbia, Policy for the Use of Backpack "
        "Electrofishing Units, section 2 (a). For the upper limit: a proposal of this programme.",
    ),
    "pulse_width_ms_first": (
        "Pulse width at the start of a pass",
        "Long pulses can harm fish more. What may be set is for the permit and the crew leader to say. "
        + _SHEET,
        _PULSE,
    ),
    "pulse_width_ms_last": (
        "Pulse width at the end of a pass",
        "Long pulses can harm fish more. What may be set is for the permit and the crew leader to say. "
        + _SHEET,
        _PULSE,
    ),
    "gross_g": ("Weight with the container", "A batch is rarely so heavy. " + _UNIT, PROPOSAL),
    "tare_g": ("Weight of the container", "A container is rarely so heavy. " + _UNIT, PROPOSAL),
    "elevation_m": (
        "Elevation of a station",
        "It may be in feet. Check it against a map; keep it if it is right.",
        PROPOSAL,
    ),
}
_UNITS = {"deg C": "°C", "uS/cm": "µS/cm", "m3/s": "m³/s"}
# Below two on a crew somebody fishes alone: the county may ask for more, never for fewer.
_NEVER_BELOW: Final = {"crew_size": 2.0}
_STAYS_ON: Final = {"crew_size": "It guards people: it is asked at every visit."}


def _limits(column: Column) -> tuple[Limit, ...]:
    lowest, highest = column.hard
    low = lowest if lowest is not None else -1_000_000
    high = highest if highest is not None else 1_000_000
    return tuple(
        Limit(
            name=name,
            title=title,
            default=default,
            least=max(low, _NEVER_BELOW.get(column.name, low)),
            most=high,
            unit=_UNITS.get(column.unit, column.unit),
            whole=column.kind == "integer",
        )
        for name, title, default in zip(
            ("least", "most"), ("asks below", "asks above"), column.ask, strict=True
        )
        if default is not None
    )


def _rule(column: Column, about: str) -> Rule:
    title, explanation, source = _WORDS[column.name]
    return Rule(
        code="unusual_value",
        column=column.name,
        title=title,
        explanation=explanation,
        source=source,
        level=ASK,
        about=about,
        limits=_limits(column),
        stays_on=_STAYS_ON.get(column.name, ""),
    )


ASKING_COLUMNS: Final = tuple(
    _rule(column, about)
    for columns, about in ((SEASON_FILE, VALUES), (STATION_LIST, LISTS))
    for column in columns
    if column.ask != (None, None) or column.ask_words
)
