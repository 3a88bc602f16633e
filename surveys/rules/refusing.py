"""The rules that refuse a value, a visit or a sheet: nothing of a file is taken while one of them speaks. Pure code."""

from typing import Any, Final

from surveys.rules.rule import (
    CATCH,
    EARLIER,
    HANDING_IN,
    HARD,
    PASSES,
    PROPOSAL,
    VALUES,
    Limit,
    Rule,
)

_SHEET = "Check it against the field sheet."
_CALENDAR = "ISO 8601, the international standard for dates and times."


def _refuse(code: str, about: str, title: str, explanation: str, **more: Any) -> Rule:
    return Rule(code=code, about=about, title=title, explanation=explanation, level=HARD, **more)


_VALUES: Final = (
    _refuse(
        "bad_date",
        VALUES,
        "A day that cannot be read",
        "Day and month are never guessed. Write the day as YYYY-MM-DD.",
        source=_CALENDAR,
    ),
    _refuse(
        "ambiguous_date",
        VALUES,
        "A day that can be read in two ways",
        "Both readings are days of the calendar, so a person has to say which is meant. Write YYYY-MM-DD.",
        source=_CALENDAR,
    ),
    _refuse(
        "bad_time",
        VALUES,
        "A time that cannot be read",
        "Write hours and minutes on the clock of 24 hours, such as 14:05.",
        source=_CALENDAR,
    ),
    _refuse(
        "future_date",
        VALUES,
        "A day in the future",
        "A visit that has not been made has no catch. Check the year.",
    ),
    _refuse(
        "out_of_range",
        VALUES,
        "A value outside what is possible",
        "The bounds of each column are those of the stored record; the published description of a season file "
        "lists them. A visit before 1900 is refused as well. Check the unit and the decimal point.",
        source=PROPOSAL,
        limits=(
            Limit(
                name="year", title="oldest year of a visit", default=1900, least=1900, most=1900, whole=True
            ),
        ),
    ),
    _refuse(
        "negative", VALUES, "A number below zero", "Nothing of this kind can be below zero. Check the sign."
    ),
    _refuse(
        "not_a_number",
        VALUES,
        "Not a number",
        "Words and decimal commas are not guessed at. Write a decimal point, or leave the cell empty where "
        "nothing was recorded.",
    ),
    _refuse(
        "not_a_whole_number",
        VALUES,
        "Not a whole number",
        "Fish, passes and people are counted whole. Write digits only; empty where nothing was recorded.",
    ),
    _refuse(
        "not_a_choice",
        VALUES,
        "Not one of the words of the column",
        "The column holds one of a few words, so that visits can be compared. Write one of those listed.",
    ),
    _refuse("too_long", VALUES, "Text that is too long", "The record has no room for it. Shorten the text."),
    _refuse(
        "bad_text",
        VALUES,
        "Text with unprintable characters",
        "Such characters come from copying and are not seen. Type the text again.",
    ),
    _refuse(
        "bad_code",
        VALUES,
        "No code of a station",
        "A code stands in addresses and file names: no spaces, no / ? # in it.",
    ),
    _refuse(
        "required_blank",
        VALUES,
        "A value that every row needs",
        "Without it the row cannot be placed. Fill it in; on a sheet, type how many fish, or clear the line.",
    ),
    _refuse(
        "unknown_station",
        VALUES,
        "A station that is not known",
        "The code is not on the list of stations. Correct it, or load the station first.",
    ),
    _refuse(
        "unknown_method",
        VALUES,
        "A sampling method that is not known",
        "The code is no method known here. Correct it, leave the column out, or have the method added.",
    ),
    _refuse(
        "unknown_visit_date",
        VALUES,
        "A day from a device that cannot be read",
        "The device sent a visit without a day of the calendar. Choose the day on the device and send again.",
    ),
    _refuse(
        "unknown_taxon",
        VALUES,
        "A taxon that is not known",
        "A fish under a name that nobody knows would count in no measure. Say which taxon is meant, correct "
        "the name, or have it added to the list.",
    ),
    _refuse(
        "ambiguous_taxon",
        VALUES,
        "A name that two taxa share",
        "Which one is meant is not guessed. Write the scientific name, or say which it is.",
    ),
)

_CATCH: Final = (
    _refuse(
        "young_above_count",
        CATCH,
        "More young fish than fish",
        "The count holds all fish, the young included. " + _SHEET,
    ),
    _refuse(
        "anomalies_above_count",
        CATCH,
        "More fish with anomalies than fish",
        "Fish are counted, not marks: a fish with two counts once. " + _SHEET,
    ),
    _refuse(
        "no_fish_with_count",
        CATCH,
        "“No fish” with a count",
        "The row says that nothing was caught, and counts fish. Write 0, or name the taxon.",
    ),
    _refuse(
        "no_fish_beside_fish",
        CATCH,
        "“No fish” beside fish",
        "A pass cannot have caught nothing and something. Delete one of the two, or correct the pass.",
    ),
    _refuse(
        "half_a_weight",
        CATCH,
        "Half of a weighing",
        "The weight with the container and that of the container are given together, or neither is.",
    ),
    _refuse(
        "net_below_zero",
        CATCH,
        "A net weight below zero",
        "The batch with its container weighs less than the container alone. " + _SHEET,
    ),
    _refuse(
        "weighed_above_count",
        CATCH,
        "More fish weighed than caught",
        "The fish weighed are some of those counted. " + _SHEET,
    ),
    _refuse(
        "parts_differ_from_count",
        CATCH,
        "Parts that do not make up the count",
        "Released, died and kept make up the count, and so do the three containers. Give all three, or none "
        "where it is not known.",
    ),
    _refuse(
        "duplicate_row",
        CATCH,
        "The same row twice",
        "A taxon stands once in a pass, and a record once in a list. Keep one row, or add the counts together.",
    ),
)

_PASSES: Final = (
    _refuse(
        "pass_gap",
        PASSES,
        "A pass is missing",
        "Passes run 1, 2, 3 without a gap. If the missing one caught nothing, say “no fish” with count 0.",
    ),
    _refuse(
        "pass_value_differs",
        PASSES,
        "A value of a pass differs between rows",
        "It is one value for the whole pass. Write the same in every row of it.",
    ),
    _refuse(
        "pass_ends_before_start",
        PASSES,
        "A pass that ends before it begins",
        "The times are on the clock of one day. " + _SHEET,
    ),
    _refuse(
        "passes_overlap",
        PASSES,
        "Passes that overlap",
        "A pass begins after the one before it was over. " + _SHEET,
    ),
    _refuse(
        "effort_above_clock",
        PASSES,
        "Current on for longer than the pass took",
        "Check the times, and whether the counter was set back before the pass.",
        source="Follows from what is counted; the play is that of times written to the minute.",
        limits=(Limit(name="seconds", title="play", default=60, least=60, most=60, unit="s"),),
    ),
    _refuse(
        "alternating_current",
        PASSES,
        "Alternating current",
        "Alternating current harms fish more than direct current and is refused. Where a programme may use it, "
        "whoever runs the site can allow it in the settings; it is then asked about at each pass. Local codes "
        "and the permit decide.",
        source="Practice guides on safety and fish injury; see the cautions shown before a visit.",
    ),
    _refuse(
        "calibrated_after_visit",
        PASSES,
        "Meters calibrated after the visit",
        "The day of the calibration lies after that of the visit. " + _SHEET,
    ),
    _refuse(
        "blank_pass",
        PASSES,
        "A pass without a catch on the sheet",
        "Empty is not zero: the pass may not have been made or not been written down. Tick “no fish” if it "
        "caught nothing, or type its catch.",
    ),
    _refuse(
        "no_pass",
        PASSES,
        "No pass on the sheet",
        "A visit is handed in with at least one pass. Type its catch, or tick “no fish”.",
    ),
)

_VISITS: Final = (
    _refuse(
        "no_method",
        EARLIER,
        "No sampling method",
        "Neither the file nor the station names a method, and there is no default. Name one.",
    ),
    _refuse(
        "visit_value_differs",
        HANDING_IN,
        "A value of a visit differs between rows",
        "It is one value for the whole visit. Write the same in every row of it.",
    ),
    _refuse("no_visit", HANDING_IN, "No row names a visit", "Check that the right file was sent."),
    _refuse(
        "season_closed",
        HANDING_IN,
        "The season is closed",
        "The season was signed off, so nothing in it changes. Leave the visit out, or have the season opened "
        "again, with a reason, first.",
    ),
    _refuse(
        "visit_withdrawn",
        HANDING_IN,
        "The visit was withdrawn",
        "A file does not bring back what a person withdrew. Take the visit back to draft on its review page "
        "first, or leave it out.",
    ),
    _refuse("visit_date_empty", HANDING_IN, "No day typed", "A visit has a day. Type it as YYYY-MM-DD."),
    _refuse(
        "method_empty",
        HANDING_IN,
        "No sampling method chosen",
        "Years are compared only within one method. Choose the one that was used.",
    ),
)

REFUSING: Final = (*_VALUES, *_CATCH, *_PASSES, *_VISITS)
