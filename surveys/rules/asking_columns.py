"""The rules that ask about a single value, one for each column that has limits of that kind. Pure code."""

from typing import Final

from surveys.rules.rule import ASK, LISTS, PROPOSAL, VALUES, Limit, Rule, joined
from surveys.said import marked
from surveys.uploads.column import Column
from surveys.uploads.columns import SEASON_FILE, STATION_LIST

_SHEET = marked("Check it against the field sheet; keep it if it is right.")
_UNIT = joined(marked("Often the unit or the decimal point slipped."), _SHEET)
_PULSE = marked(
    "The ceiling of the National Marine Fisheries Service’s guidelines of 2000 for waters with listed salmon "
    "and trout (from memory, not read again)."
)
# Column -> title, why it asks and what to do, and the source where there is one.
_WORDS: Final[dict[str, tuple[str, str, str]]] = {
    "pass": (
        marked("Number of passes"),
        joined(marked("More passes than this are rare; the number of the pass may be mistyped."), _SHEET),
        PROPOSAL,
    ),
    "count": (
        marked("Fish of a taxon in a pass"),
        joined(marked("So many fish in one row are rare."), _SHEET),
        PROPOSAL,
    ),
    "biomass_g": (marked("Batch weight"), joined(marked("A batch is rarely so heavy."), _UNIT), PROPOSAL),
    "effort_s": (
        marked("Current-on time of a pass"),
        joined(
            marked(
                "A pass outside these times may have been read off wrong, or the counter was not set back."
            ),
            _SHEET,
        ),
        joined(
            PROPOSAL,
            marked(
                "For scale: the small-stream method of the U.S. Environmental Protection Agency of "
                "2013/14 (NEMI summary 12302) fishes 500 to 700 s in each of ten parts of a reach."
            ),
        ),
    ),
    "pass_biomass_g": (
        marked("Total weight of a pass"),
        joined(marked("A pass rarely weighs so much."), _UNIT),
        PROPOSAL,
    ),
    "water_temp_c": (
        marked("Water temperature"),
        joined(
            marked(
                "Fish in water as warm as this are under stress before they are caught, and catch rates change. "
                "Whether work goes on is for the crew leader and the permit to say."
            ),
            _SHEET,
        ),
        joined(
            PROPOSAL,
            marked(
                "For waters with listed salmon and trout, federal guidelines of 2000 name 18 °C (from "
                "memory, not read again)."
            ),
        ),
    ),
    "conductivity_us_cm": (
        marked("Conductivity"),
        joined(
            marked(
                "Very low or very high conductivity changes how the current works on fish, and so the catch. It may "
                "also be a reading in mS/cm."
            ),
            _SHEET,
        ),
        PROPOSAL,
    ),
    "dissolved_oxygen_mg_l": (
        marked("Dissolved oxygen"),
        joined(
            marked("So little oxygen is a finding of its own, or a meter that was not calibrated."), _SHEET
        ),
        PROPOSAL,
    ),
    "ph": (
        marked("pH"),
        joined(marked("Outside these values most creeks are in trouble or the meter is."), _SHEET),
        PROPOSAL,
    ),
    "turbidity_ntu": (
        marked("Turbidity"),
        joined(marked("Fish are missed in water that is not clear, so the catch may be too low."), _SHEET),
        PROPOSAL,
    ),
    "discharge_m3_s": (
        marked("Discharge"),
        joined(
            marked("A wadeable creek rarely carries so much; it may be a reading in cubic feet or litres."),
            _SHEET,
        ),
        PROPOSAL,
    ),
    "air_temp_c": (marked("Air temperature"), joined(marked("Few crews fish in such air."), _UNIT), PROPOSAL),
    "bottom_visible": (
        marked("Bottom not seen"),
        joined(
            marked(
                "Where the bottom cannot be seen, fish are missed and people stumble. The visit can be kept, but the "
                "catch may be too low."
            ),
            _SHEET,
        ),
        PROPOSAL,
    ),
    "crew_size": (
        marked("Crew size"),
        marked(
            "Nobody fishes alone with electricity: a crew below the lower limit is asked about each time. Local "
            "rules and the permit may ask for more people."
        ),
        marked(
            "For the lower limit: University of Northern British Columbia, Policy for the Use of Backpack "
            "Electrofishing Units, section 2 (a). For the upper limit: a proposal of this programme."
        ),
    ),
    "pulse_width_ms_first": (
        marked("Pulse width at the start of a pass"),
        joined(
            marked(
                "Long pulses can harm fish more. What may be set is for the permit and the crew leader to say."
            ),
            _SHEET,
        ),
        _PULSE,
    ),
    "pulse_width_ms_last": (
        marked("Pulse width at the end of a pass"),
        joined(
            marked(
                "Long pulses can harm fish more. What may be set is for the permit and the crew leader to say."
            ),
            _SHEET,
        ),
        _PULSE,
    ),
    "gross_g": (
        marked("Weight with the container"),
        joined(marked("A batch is rarely so heavy."), _UNIT),
        PROPOSAL,
    ),
    "tare_g": (
        marked("Weight of the container"),
        joined(marked("A container is rarely so heavy."), _UNIT),
        PROPOSAL,
    ),
    "elevation_m": (
        marked("Elevation of a station"),
        marked("It may be in feet. Check it against a map; keep it if it is right."),
        PROPOSAL,
    ),
}
_UNITS = {
    "deg C": "°C",
    "uS/cm": "µS/cm",
    "m3/s": "m³/s",
    "people": marked("people"),
    "fish": marked("fish"),
}
# Below two on a crew somebody fishes alone: the county may ask for more, never for fewer.
_NEVER_BELOW: Final = {"crew_size": 2.0}
_STAYS_ON: Final = {"crew_size": marked("It guards people: it is asked at every visit.")}


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
            ("least", "most"), (marked("asks below"), marked("asks above")), column.ask, strict=True
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
