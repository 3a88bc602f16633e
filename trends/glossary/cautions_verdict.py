"""Cautions on what a direction rests on, on pages with many tests, and on before and after."""

from surveys.said import marked, said
from trends.assessments import DISAGREE_P
from trends.cautions import limits
from trends.further_years import TARGET_PART_OF_CLASS, TARGET_PER_DECADE
from trends.glossary.caution_entry import OWN, CautionEntry
from trends.glossary.statistics import per_measure

VERDICT: tuple[CautionEntry, ...] = (
    CautionEntry(
        "C18",
        "note",
        marked("Unusual years"),
        said(
            "A note of a drought, a flood or a spill within {event_months} months before a visit that is used. "
            "Graded “read with care” where the answer is another one without those years.",
            event_months=limits.EVENT_MONTHS,
        ),
        marked("What one bad season did is not what the creek does over the years."),
        OWN,
    ),
    CautionEntry(
        "C19",
        "warn",
        marked("The answer rests on single years"),
        said(
            "Leaving out one year takes the confidence in the direction below {direction_confidence}, turns the "
            "direction, or makes a direction likely that was not.",
            direction_confidence=f"{limits.DIRECTION_CONFIDENCE:.2f}",
        ),
        marked(
            "A flood or a drought in that one year may be all there is to see. The years that pull hardest "
            "are tried one by one."
        ),
        marked("The limit is the lower end of likely."),
    ),
    CautionEntry(
        "C21",
        "warn",
        marked("Years resemble their neighbours"),
        said(
            "Lag-one correlation about the slope above {serial_long} with {few_years} years or more, above "
            "{serial_short} with fewer.",
            serial_long=f"{limits.SERIAL_LONG:g}",
            few_years=limits.FEW_YEARS,
            serial_short=f"{limits.SERIAL_SHORT:g}",
        ),
        marked(
            "The test takes each year as news. Where years resemble each other it finds directions too "
            "easily: at a correlation of 0.4 and 15 years about 16 false alarms in a hundred in place of 4. A "
            "p that allows for it, with the variance raised by (1 + r) / (1 − r), is shown beside the plain "
            "one."
        ),
        said(
            "{own} The share of false alarms was computed by simulation (20 000 series). Factor: Bayley & "
            "Hammersley 1946, from memory.",
            own=OWN,
        ),
    ),
    CautionEntry(
        "C22",
        "warn",
        marked("Not a straight change"),
        said(
            "A curve or a single step fits better than a line (corrected information criterion AICc lower by more "
            "than {curve_beats}), or the two halves of the years go opposite ways.",
            curve_beats=f"{limits.CURVE_BEATS:g}",
        ),
        marked("One slope hides a rise followed by a fall."),
        marked("Common practice: a difference above 4 to 7 leaves the line little support."),
    ),
    CautionEntry(
        "C23",
        "warn",
        marked("A step where the way of surveying changed"),
        said(
            "The best single step of the record lies within {step_years} year of a change of the sampling method "
            "or of a note of the kind “survey change”, and fits better than no change (AICc lower by "
            "{curve_beats} or more).",
            step_years=limits.STEP_YEARS,
            curve_beats=f"{limits.CURVE_BEATS:g}",
        ),
        marked("The jump may come from the survey and not from the creek."),
        OWN,
    ),
    CautionEntry(
        "C24",
        "note",
        marked("Many tests at once"),
        marked("More than one place is tested on the same page."),
        marked(
            "Of a hundred creeks without any change, about five would stand out at p 0.05 by chance alone. On "
            "such pages the adjusted p decides the word, see adjusted for many tests."
        ),
        marked("Benjamini & Hochberg 1995, J. R. Stat. Soc. B 57:289-300."),
    ),
    CautionEntry(
        "C25",
        "warn",
        marked("Stations on one stream"),
        marked("Two or more stations of the test lie on the same stream."),
        marked(
            "What happens at one may happen at the other, so they are not separate proofs. The test allows "
            "for stations that move together."
        ),
    ),
    CautionEntry(
        "C26",
        "stop",
        marked("The stations disagree"),
        said(
            "Test of agreement between stations: p below {disagree_p}, unless each moves the same way by itself.",
            disagree_p=f"{DISAGREE_P:.2f}",
        ),
        marked("One sentence for the whole creek would hide that parts of it move in opposite ways."),
        marked("Test after van Belle & Hughes 1984; the limit is common practice."),
    ),
    CautionEntry(
        "C27",
        "warn",
        marked("No control"),
        marked("Before and after are compared without a control station."),
        marked("The weather of the years cannot be told apart from the change."),
    ),
    CautionEntry(
        "C28",
        "stop",
        marked("Too few years on a side"),
        said(
            "Fewer than {least_years_a_side} comparable years before or after.",
            least_years_a_side=limits.LEAST_YEARS_A_SIDE,
        ),
        marked("The year is the unit; with fewer a mean has hardly any scatter of its own to judge by."),
        OWN,
    ),
    CautionEntry(
        "C29",
        "warn",
        marked("A weak control"),
        said(
            "A control has a note of its own in the years compared, lies below the place itself, or drifted "
            "against it before (p {control_drift_p} or less).",
            control_drift_p=f"{limits.CONTROL_DRIFT_P:g}",
        ),
        marked("A control that was touched itself proves nothing about the place."),
        OWN,
    ),
    CautionEntry(
        "C30",
        "note",
        marked("Several things at once"),
        said(
            "Other notes at the same place within {confounded_years} years.",
            confounded_years=limits.CONFOUNDED_YEARS,
        ),
        marked("The record cannot tell them apart."),
        OWN,
    ),
    CautionEntry(
        "C31",
        "note",
        marked("Clear but small"),
        marked(
            "The limits of the slope leave out zero, but the whole change is less than one rating class or "
            "than the usual difference between years."
        ),
        marked("A sure direction is not yet a change that matters."),
    ),
    CautionEntry(
        "C32",
        "warn",
        marked("A rise or a fall would both fit"),
        said(
            "The 95 % limits of the slope hold both a rise and a fall of the change that years needed looks for: "
            "{target_part_of_class} of a rating class a decade for the index, {target_per_decade}.",
            target_part_of_class=f"{TARGET_PART_OF_CLASS:g}",
            target_per_decade=per_measure(TARGET_PER_DECADE),
        ),
        marked(
            "The record is too short or too scattered to say even which way a change that matters would go."
        ),
        OWN,
    ),
    CautionEntry(
        "C36",
        "warn",
        marked("Newcomers"),
        said(
            "The number of species rises with a confidence of {direction_confidence} or more, and that of native "
            "species does not. Raised for numbers of species.",
            direction_confidence=f"{limits.DIRECTION_CONFIDENCE:.2f}",
        ),
        marked("More kinds of fish are no gain where the new ones were brought by people."),
        marked("The limit is the lower end of likely."),
    ),
)
