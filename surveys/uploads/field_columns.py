"""The optional columns of a season file for what a field sheet says beyond the catch: the water and the weather,
the crew and its checks, the gear of each pass, weighing, holding and what became of the fish. Pure code.

This is the only list of them: reading, checking, storing, comparing, writing and the history go by it.
"""

from typing import Final

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
        "Air temperature",
        "24.5",
        -40,
        55,
        unit="deg C",
        scope=VISIT,
        ask=(-20, 45),
        title="air temperature",
    ),
    words_column(
        "conductivity_basis",
        "Whether the conductivity is that of the water as it was, or worked out for 25 degrees C",
        "ambient",
        ("ambient", "25 C"),
        scope=VISIT,
        title="basis of the conductivity",
        blank="",
    ),
    words_column(
        "bottom_visible",
        "Whether the bottom could be seen",
        "yes",
        ("yes", "partly", "no"),
        scope=VISIT,
        ask_words=("no",),
        title="bottom visible",
        blank="",
    ),
    text_column(
        "weather",
        "Weather, and the rain of the last two days",
        "sunny, no rain",
        200,
        scope=VISIT,
        title="weather",
        blank="",
    ),
    text_column(
        "meters",
        "Serial numbers of the meters used",
        "SN 1042",
        200,
        scope=VISIT,
        title="meters",
        blank="",
    ),
    Column(
        name="calibrated_on",
        meaning="Day on which the meters were last calibrated, ISO 8601 (YYYY-MM-DD)",
        kind="date",
        parse=parse_date,
        example="2024-07-15",
        scope=VISIT,
        title="meters calibrated on",
    ),
    list_column(
        "widths_m",
        "Wetted widths at the transects in m, from the bottom up, parted by semicolons",
        "3.1; 3.4; 3.7",
        number_between(0, 100),
        unit="m",
        scope=VISIT,
        title="widths at the transects",
    ),
    text_column(
        "identifier",
        "Who named the fish (initials are enough); never published",
        "K. L.",
        100,
        scope=VISIT,
        title="who named the fish",
        blank="",
    ),
    whole_column(
        "crew_size",
        "People on the crew",
        "4",
        32_767,
        unit="people",
        scope=VISIT,
        ask=(2, 15),
        title="crew size",
    ),
    list_column(
        "checks_made",
        "What was looked at before the current went on, parted by semicolons: " + ", ".join(SAFETY_CHECKS),
        "trained; first aid",
        one_of({fold(word): word for word in SAFETY_CHECKS}),
        scope=VISIT,
        title="checks made before",
    ),
    text_column(
        "checks_by",
        "Who made the checks (initials are enough); never published",
        "K. L.",
        100,
        scope=VISIT,
        title="checks made by",
        blank="",
    ),
)

_PASS: Final[tuple[Column, ...]] = (
    *(
        Column(
            name=name,
            meaning=f"Time of day at which the pass {word}, on the clock of the place",
            kind="time",
            parse=parse_time,
            example=example,
            scope=PASS,
            title=word,
        )
        for name, word, example in (("started_at", "began", "09:40"), ("ended_at", "ended", "10:05"))
    ),
    text_column(
        "gear_unit",
        "The electrofishing unit, by its name or number",
        "backpack 2",
        100,
        scope=PASS,
        title="gear",
        blank="",
    ),
    words_column(
        "waveform",
        "Form of the current",
        "pulsed DC",
        WAVEFORMS,
        scope=PASS,
        title="form of the current",
        blank="",
    ),
    whole_column("anodes", "Number of anodes", "1", 50, hard=(1, 50), scope=PASS, title="anodes"),
    whole_column(
        "netters", "Number of people with a net", "2", 50, hard=(1, 50), scope=PASS, title="netters"
    ),
    *(
        number_column(
            f"{name}_{end}",
            f"{words} at the {place} of the pass, as read from the unit",
            example,
            0,
            most,
            unit=unit,
            scope=PASS,
            title=f"{words.lower()} at the {place}",
            **more,
        )
        for name, words, example, most, unit, more in (
            ("volts", "Voltage", "250", 1_200, "V", {}),
            ("pulse_hz", "Pulse frequency", "30", 200, "Hz", {}),
            ("pulse_width_ms", "Pulse width", "4", 20, "ms", {"ask": (None, 5)}),
        )
        for end, place in (("first", "start"), ("last", "end"))
    ),
)


def _part(name: str, meaning: str, example: str, title: str) -> Column:
    return whole_column(name, meaning, example, MOST_FISH, unit="fish", title=title)


_CATCH: Final[tuple[Column, ...]] = (
    number_column(
        "gross_g",
        "Weight of the batch with its container; given together with tare_g",
        "398.5",
        0,
        1_000_000,
        unit="g",
        ask=(None, 60_000),
        title="weight with the container",
    ),
    number_column(
        "tare_g",
        "Weight of the empty container; biomass_g is worked out where it is empty",
        "250",
        0,
        1_000_000,
        unit="g",
        ask=(None, 20_000),
        title="weight of the container",
    ),
    whole_column(
        "weighed",
        "Of the fish, how many are in the batch weighed; empty where all are",
        "12",
        MOST_FISH,
        hard=(1, MOST_FISH),
        unit="fish",
        title="fish weighed",
    ),
    _part("released", "Of the fish, released alive; with died and kept it makes up count", "11", "released"),
    _part("died", "Of the fish, died", "1", "died"),
    _part("kept", "Of the fish, kept as vouchers or for other use", "0", "kept"),
    _part(
        "in_main",
        "Of the fish, held in the main container; the three make up count",
        "12",
        "in the main container",
    ),
    _part("in_eel_well", "Of the fish, held in the live well for eels", "0", "in the eel well"),
    _part("in_other", "Of the fish, held elsewhere", "0", "held elsewhere"),
    flag_column(
        "estimated",
        "The number was estimated, not counted (1 or 0)",
        "0",
        title="number estimated",
        blank=False,
    ),
    flag_column(
        "unsure", "The fish were named with doubt (1 or 0)", "0", title="named with doubt", blank=False
    ),
)

FIELD_COLUMNS: Final[tuple[Column, ...]] = (*_VISIT, *_PASS, *_CATCH)
FATES: Final = ("released", "died", "kept")
CONTAINERS: Final = ("in_main", "in_eel_well", "in_other")
