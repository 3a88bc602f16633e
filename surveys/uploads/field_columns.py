"""The optional columns of a season file for what a field sheet says beyond the catch: the water and the weather,
the crew and its checks, the gear of each pass, weighing, holding and what became of the fish. Pure code.

This is the only list of them: reading, checking, storing, comparing, writing and the history go by it.
"""

from typing import Final

from surveys.said import marked
from surveys.uploads.column import (
    PASS,
    VISIT,
    Column,
    flag_column,
    list_column,
    number_column,
    text_column,
    whole_column,
    words_column,
)
from surveys.uploads.values import fold, number_between, one_of, parse_date, parse_time

SAFETY_CHECKS: Final = (
    "trained",
    "first aid",
    "gloves and waders",
    "gear tested",
    "public away",
    "weather and water",
    "conductivity",
    "emergency",
)
WAVEFORMS: Final = ("DC", "pulsed DC", "AC")
MOST_FISH: Final = 1_000_000

# Limits that refuse a value are those of the stored record. Limits that ask are defaults, see
# ``surveys.rules``; the settings of the gear have none but where a fact is named with the check,
# because what may be set is for the permit and the crew leader to say.
_VISIT: Final[tuple[Column, ...]] = (
    number_column(
        "air_temp_c",
        marked("Air temperature"),
        "24.5",
        -40,
        55,
        unit="deg C",
        scope=VISIT,
        ask=(-20, 45),
        title=marked("air temperature"),
    ),
    words_column(
        "conductivity_basis",
        marked("Whether the conductivity is that of the water as it was, or worked out for 25 degrees C"),
        "ambient",
        ("ambient", "25 C"),
        scope=VISIT,
        title=marked("basis of the conductivity"),
        blank="",
    ),
    words_column(
        "bottom_visible",
        marked("Whether the bottom could be seen"),
        "yes",
        ("yes", "partly", "no"),
        scope=VISIT,
        ask_words=("no",),
        title=marked("bottom visible"),
        blank="",
    ),
    text_column(
        "weather",
        marked("Weather, and the rain of the last two days"),
        "sunny, no rain",
        200,
        scope=VISIT,
        title=marked("weather"),
        blank="",
    ),
    text_column(
        "meters",
        marked("Serial numbers of the meters used"),
        "SN 1042",
        200,
        scope=VISIT,
        title=marked("meters"),
        blank="",
    ),
    Column(
        name="calibrated_on",
        meaning=marked("Day on which the meters were last calibrated, ISO 8601 (YYYY-MM-DD)"),
        kind="date",
        parse=parse_date,
        example="2024-07-15",
        scope=VISIT,
        title=marked("meters calibrated on"),
    ),
    list_column(
        "widths_m",
        marked("Wetted widths at the transects in m, from the bottom up, parted by semicolons"),
        "3.1; 3.4; 3.7",
        number_between(0, 100),
        unit="m",
        scope=VISIT,
        title=marked("widths at the transects"),
    ),
    text_column(
        "identifier",
        marked("Who named the fish (initials are enough); never published"),
        "K. L.",
        100,
        scope=VISIT,
        title=marked("who named the fish"),
        blank="",
    ),
    whole_column(
        "crew_size",
        marked("People on the crew"),
        "4",
        32_767,
        unit="people",
        scope=VISIT,
        ask=(2, 15),
        title=marked("crew size"),
    ),
    list_column(
        "checks_made",
        marked("What was looked at before the current went on, parted by semicolons"),
        "trained; first aid",
        one_of({fold(word): word for word in SAFETY_CHECKS}),
        list_words=SAFETY_CHECKS,
        scope=VISIT,
        title=marked("checks made before"),
    ),
    text_column(
        "checks_by",
        marked("Who made the checks (initials are enough); never published"),
        "K. L.",
        100,
        scope=VISIT,
        title=marked("checks made by"),
        blank="",
    ),
)

# Column, meaning and title of what the unit shows at the start and at the end of a pass.
_VOLTS: Final = (
    (
        "volts_first",
        marked("Voltage at the start of the pass, as read from the unit"),
        marked("voltage at the start"),
    ),
    (
        "volts_last",
        marked("Voltage at the end of the pass, as read from the unit"),
        marked("voltage at the end"),
    ),
)
_PULSES: Final = (
    (
        "pulse_hz_first",
        marked("Pulse frequency at the start of the pass, as read from the unit"),
        marked("pulse frequency at the start"),
    ),
    (
        "pulse_hz_last",
        marked("Pulse frequency at the end of the pass, as read from the unit"),
        marked("pulse frequency at the end"),
    ),
)
_WIDTHS: Final = (
    (
        "pulse_width_ms_first",
        marked("Pulse width at the start of the pass, as read from the unit"),
        marked("pulse width at the start"),
    ),
    (
        "pulse_width_ms_last",
        marked("Pulse width at the end of the pass, as read from the unit"),
        marked("pulse width at the end"),
    ),
)

_PASS: Final[tuple[Column, ...]] = (
    *(
        Column(
            name=name,
            meaning=meaning,
            kind="time",
            parse=parse_time,
            example=example,
            scope=PASS,
            title=word,
        )
        for name, meaning, word, example in (
            (
                "started_at",
                marked("Time of day at which the pass began, on the clock of the place"),
                marked("began"),
                "09:40",
            ),
            (
                "ended_at",
                marked("Time of day at which the pass ended, on the clock of the place"),
                marked("ended"),
                "10:05",
            ),
        )
    ),
    text_column(
        "gear_unit",
        marked("The electrofishing unit, by its name or number"),
        "backpack 2",
        100,
        scope=PASS,
        title=marked("gear"),
        blank="",
    ),
    words_column(
        "waveform",
        marked("Form of the current"),
        "pulsed DC",
        WAVEFORMS,
        scope=PASS,
        title=marked("form of the current"),
        blank="",
    ),
    whole_column(
        "anodes", marked("Number of anodes"), "1", 50, hard=(1, 50), scope=PASS, title=marked("anodes")
    ),
    whole_column(
        "netters",
        marked("Number of people with a net"),
        "2",
        50,
        hard=(1, 50),
        scope=PASS,
        title=marked("netters"),
    ),
    *(
        number_column(
            name,
            meaning,
            example,
            0,
            most,
            unit=unit,
            scope=PASS,
            title=title,
            **more,
        )
        for readings, example, most, unit, more in (
            (_VOLTS, "250", 1_200, "V", {}),
            (_PULSES, "30", 200, "Hz", {}),
            (_WIDTHS, "4", 20, "ms", {"ask": (None, 5)}),
        )
        for name, meaning, title in readings
    ),
)


def _part(name: str, meaning: str, example: str, title: str) -> Column:
    return whole_column(name, meaning, example, MOST_FISH, unit="fish", title=title)


_CATCH: Final[tuple[Column, ...]] = (
    number_column(
        "gross_g",
        marked("Weight of the batch with its container; given together with tare_g"),
        "398.5",
        0,
        1_000_000,
        unit="g",
        ask=(None, 60_000),
        title=marked("weight with the container"),
    ),
    number_column(
        "tare_g",
        marked("Weight of the empty container; biomass_g is worked out where it is empty"),
        "250",
        0,
        1_000_000,
        unit="g",
        ask=(None, 20_000),
        title=marked("weight of the container"),
    ),
    whole_column(
        "weighed",
        marked("Of the fish, how many are in the batch weighed; empty where all are"),
        "12",
        MOST_FISH,
        hard=(1, MOST_FISH),
        unit="fish",
        title=marked("fish weighed"),
    ),
    _part(
        "released",
        marked("Of the fish, released alive; with died and kept it makes up count"),
        "11",
        marked("released"),
    ),
    _part("died", marked("Of the fish, died"), "1", marked("died")),
    _part("kept", marked("Of the fish, kept as vouchers or for other use"), "0", marked("kept")),
    _part(
        "in_main",
        marked("Of the fish, held in the main container; the three make up count"),
        "12",
        marked("in the main container"),
    ),
    _part(
        "in_eel_well", marked("Of the fish, held in the live well for eels"), "0", marked("in the eel well")
    ),
    _part("in_other", marked("Of the fish, held elsewhere"), "0", marked("held elsewhere")),
    flag_column(
        "estimated",
        marked("The number was estimated, not counted (1 or 0)"),
        "0",
        title=marked("number estimated"),
        blank=False,
    ),
    flag_column(
        "unsure",
        marked("The fish were named with doubt (1 or 0)"),
        "0",
        title=marked("named with doubt"),
        blank=False,
    ),
)

FIELD_COLUMNS: Final[tuple[Column, ...]] = (*_VISIT, *_PASS, *_CATCH)
FATES: Final = ("released", "died", "kept")
CONTAINERS: Final = ("in_main", "in_eel_well", "in_other")
