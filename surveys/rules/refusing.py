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
    joined,
)
from surveys.said import marked

_SHEET = marked("Check it against the field sheet.")
_CALENDAR = marked("ISO 8601, the international standard for dates and times.")


def _refuse(code: str, about: str, title: str, explanation: str, **more: Any) -> Rule:
    return Rule(code=code, about=about, title=title, explanation=explanation, level=HARD, **more)


_VALUES: Final = (
    _refuse(
        "bad_date",
        VALUES,
        marked("A day that cannot be read"),
        marked("Day and month are never guessed. Write the day as YYYY-MM-DD."),
        source=_CALENDAR,
    ),
    _refuse(
        "ambiguous_date",
        VALUES,
        marked("A day that can be read in two ways"),
        marked(
            "Both readings are days of the calendar, so a person has to say which is meant. Write YYYY-MM-DD."
        ),
        source=_CALENDAR,
    ),
    _refuse(
        "bad_time",
        VALUES,
        marked("A time that cannot be read"),
        marked("Write hours and minutes on the clock of 24 hours, such as 14:05."),
        source=_CALENDAR,
    ),
    _refuse(
        "future_date",
        VALUES,
        marked("A day in the future"),
        marked("A visit that has not been made has no catch. Check the year."),
    ),
    _refuse(
        "out_of_range",
        VALUES,
        marked("A value outside what is possible"),
        marked(
            "The bounds of each column are those of the stored record; the published description of a season file "
            "lists them. A visit before 1900 is refused as well. Check the unit and the decimal point."
        ),
        source=PROPOSAL,
        limits=(
            Limit(
                name="year",
                title=marked("oldest year of a visit"),
                default=1900,
                least=1900,
                most=1900,
                whole=True,
            ),
        ),
    ),
    _refuse(
        "negative",
        VALUES,
        marked("A number below zero"),
        marked("Nothing of this kind can be below zero. Check the sign."),
    ),
    _refuse(
        "not_a_number",
        VALUES,
        marked("Not a number"),
        marked(
            "Words and decimal commas are not guessed at. Write a decimal point, or leave the cell empty where "
            "nothing was recorded."
        ),
    ),
    _refuse(
        "not_a_whole_number",
        VALUES,
        marked("Not a whole number"),
        marked(
            "Fish, passes and people are counted whole. Write digits only; empty where nothing was recorded."
        ),
    ),
    _refuse(
        "not_a_choice",
        VALUES,
        marked("Not one of the words of the column"),
        marked(
            "The column holds one of a few words, so that visits can be compared. Write one of those listed."
        ),
    ),
    _refuse(
        "too_long",
        VALUES,
        marked("Text that is too long"),
        marked("The record has no room for it. Shorten the text."),
    ),
    _refuse(
        "bad_text",
        VALUES,
        marked("Text with unprintable characters"),
        marked("Such characters come from copying and are not seen. Type the text again."),
    ),
    _refuse(
        "bad_code",
        VALUES,
        marked("No code of a station"),
        marked("A code stands in addresses and file names: no spaces, no / ? # in it."),
    ),
    _refuse(
        "required_blank",
        VALUES,
        marked("A value that every row needs"),
        marked(
            "Without it the row cannot be placed. Fill it in; on a sheet, type how many fish, or clear the line."
        ),
    ),
    _refuse(
        "unknown_station",
        VALUES,
        marked("A station that is not known"),
        marked("The code is not on the list of stations. Correct it, or load the station first."),
    ),
    _refuse(
        "unknown_method",
        VALUES,
        marked("A sampling method that is not known"),
        marked(
            "The code is no method known here. Correct it, leave the column out, or have the method added."
        ),
    ),
    _refuse(
        "unknown_visit_date",
        VALUES,
        marked("A day from a device that cannot be read"),
        marked(
            "The device sent a visit without a day of the calendar. Choose the day on the device and send again."
        ),
    ),
    _refuse(
        "unknown_taxon",
        VALUES,
        marked("A taxon that is not known"),
        marked(
            "A fish under a name that nobody knows would count in no measure. Say which taxon is meant, correct "
            "the name, or have it added to the list."
        ),
    ),
    _refuse(
        "ambiguous_taxon",
        VALUES,
        marked("A name that two taxa share"),
        marked("Which one is meant is not guessed. Write the scientific name, or say which it is."),
    ),
)

_CATCH: Final = (
    _refuse(
        "young_above_count",
        CATCH,
        marked("More young fish than fish"),
        joined(marked("The count holds all fish, the young included."), _SHEET),
    ),
    _refuse(
        "anomalies_above_count",
        CATCH,
        marked("More fish with anomalies than fish"),
        joined(marked("Fish are counted, not marks: a fish with two counts once."), _SHEET),
    ),
    _refuse(
        "no_fish_with_count",
        CATCH,
        marked("“No fish” with a count"),
        marked("The row says that nothing was caught, and counts fish. Write 0, or name the taxon."),
    ),
    _refuse(
        "no_fish_beside_fish",
        CATCH,
        marked("“No fish” beside fish"),
        marked(
            "A pass cannot have caught nothing and something. Delete one of the two, or correct the pass."
        ),
    ),
    _refuse(
        "half_a_weight",
        CATCH,
        marked("Half of a weighing"),
        marked("The weight with the container and that of the container are given together, or neither is."),
    ),
    _refuse(
        "net_below_zero",
        CATCH,
        marked("A net weight below zero"),
        joined(marked("The batch with its container weighs less than the container alone."), _SHEET),
    ),
    _refuse(
        "weighed_above_count",
        CATCH,
        marked("More fish weighed than caught"),
        joined(marked("The fish weighed are some of those counted."), _SHEET),
    ),
    _refuse(
        "parts_differ_from_count",
        CATCH,
        marked("Parts that do not make up the count"),
        marked(
            "Released, died and kept make up the count, and so do the three containers. Give all three, or none "
            "where it is not known."
        ),
    ),
    _refuse(
        "duplicate_row",
        CATCH,
        marked("The same row twice"),
        marked(
            "A taxon stands once in a pass, and a record once in a list. Keep one row, or add the counts together."
        ),
    ),
)

_PASSES: Final = (
    _refuse(
        "pass_gap",
        PASSES,
        marked("A pass is missing"),
        marked(
            "Passes run 1, 2, 3 without a gap. If the missing one caught nothing, say “no fish” with count 0."
        ),
    ),
    _refuse(
        "pass_value_differs",
        PASSES,
        marked("A value of a pass differs between rows"),
        marked("It is one value for the whole pass. Write the same in every row of it."),
    ),
    _refuse(
        "pass_ends_before_start",
        PASSES,
        marked("A pass that ends before it begins"),
        joined(marked("The times are on the clock of one day."), _SHEET),
    ),
    _refuse(
        "passes_overlap",
        PASSES,
        marked("Passes that overlap"),
        joined(marked("A pass begins after the one before it was over."), _SHEET),
    ),
    _refuse(
        "effort_above_clock",
        PASSES,
        marked("Current on for longer than the pass took"),
        marked("Check the times, and whether the counter was set back before the pass."),
        source=marked("Follows from what is counted; the play is that of times written to the minute."),
        limits=(Limit(name="seconds", title=marked("play"), default=60, least=60, most=60, unit="s"),),
    ),
    _refuse(
        "alternating_current",
        PASSES,
        marked("Alternating current"),
        marked(
            "Alternating current harms fish more than direct current and is refused. Where a programme may use it, "
            "whoever runs the site can allow it in the settings; it is then asked about at each pass. Local codes "
            "and the permit decide."
        ),
        source=marked("Practice guides on safety and fish injury; see the cautions shown before a visit."),
    ),
    _refuse(
        "calibrated_after_visit",
        PASSES,
        marked("Meters calibrated after the visit"),
        joined(marked("The day of the calibration lies after that of the visit."), _SHEET),
    ),
    _refuse(
        "blank_pass",
        PASSES,
        marked("A pass without a catch on the sheet"),
        marked(
            "Empty is not zero: the pass may not have been made or not been written down. Tick “no fish” if it "
            "caught nothing, or type its catch."
        ),
    ),
    _refuse(
        "no_pass",
        PASSES,
        marked("No pass on the sheet"),
        marked("A visit is handed in with at least one pass. Type its catch, or tick “no fish”."),
    ),
)

_VISITS: Final = (
    _refuse(
        "no_method",
        EARLIER,
        marked("No sampling method"),
        marked("Neither the file nor the station names a method, and there is no default. Name one."),
    ),
    _refuse(
        "visit_value_differs",
        HANDING_IN,
        marked("A value of a visit differs between rows"),
        marked("It is one value for the whole visit. Write the same in every row of it."),
    ),
    _refuse(
        "no_visit", HANDING_IN, marked("No row names a visit"), marked("Check that the right file was sent.")
    ),
    _refuse(
        "season_closed",
        HANDING_IN,
        marked("The season is closed"),
        marked(
            "The season was signed off, so nothing in it changes. Leave the visit out, or have the season opened "
            "again, with a reason, first."
        ),
    ),
    _refuse(
        "visit_withdrawn",
        HANDING_IN,
        marked("The visit was withdrawn"),
        marked(
            "A file does not bring back what a person withdrew. Take the visit back to draft on its review page "
            "first, or leave it out."
        ),
    ),
    _refuse(
        "visit_date_empty",
        HANDING_IN,
        marked("No day typed"),
        marked("A visit has a day. Type it as YYYY-MM-DD."),
    ),
    _refuse(
        "method_empty",
        HANDING_IN,
        marked("No sampling method chosen"),
        marked("Years are compared only within one method. Choose the one that was used."),
    ),
)

REFUSING: Final = (*_VALUES, *_CATCH, *_PASSES, *_VISITS)
