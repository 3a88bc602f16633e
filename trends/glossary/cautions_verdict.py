"""Cautions on what a direction rests on, on pages with many tests, and on before and after."""

from trends.assessments import DISAGREE_P
from trends.cautions import limits
from trends.further_years import TARGET_PART_OF_CLASS, TARGET_PER_DECADE
from trends.glossary.caution_entry import OWN, CautionEntry
from trends.glossary.statistics import per_measure

VERDICT: tuple[CautionEntry, ...] = (
    CautionEntry(
        "C18",
        "note",
        "Unusual years",
        f"A note of a drought, a flood or a spill within {limits.EVENT_MONTHS} months before a visit that "
        "is used. Graded “read with care” where the answer is another one without those years.",
        "What one bad season did is not what the creek does over the years.",
        OWN,
    ),
    CautionEntry(
        "C19",
        "warn",
        "The answer rests on single years",
        "Leaving out one year takes the confidence in the direction below "
        f"{limits.DIRECTION_CONFIDENCE:.2f}, turns the direction, or makes a direction likely that was "
        "not.",
        "A flood or a drought in that one year may be all there is to see. The years that pull hardest "
        "are tried one by one.",
        "The limit is the lower end of likely.",
    ),
    CautionEntry(
        "C21",
        "warn",
        "Years resemble their neighbours",
        f"Lag-one correlation about the slope above {limits.SERIAL_LONG:g} with {limits.FEW_YEARS} years "
        f"or more, above {limits.SERIAL_SHORT:g} with fewer.",
        "The test takes each year as news. Where years resemble each other it finds directions too "
        "easily: at a correlation of 0.4 and 15 years about 16 false alarms in a hundred in place of 4. A "
        "p that allows for it, with the variance raised by (1 + r) / (1 − r), is shown beside the plain "
        "one.",
        OWN + " The share of false alarms was computed by simulation (20 000 series). Factor: Bayley & "
        "Hammersley 1946, from memory.",
    ),
    CautionEntry(
        "C22",
        "warn",
        "Not a straight change",
        "A curve or a single step fits better than a line (corrected information criterion AICc lower by "
        f"more than {limits.CURVE_BEATS:g}), or the two halves of the years go opposite ways.",
        "One slope hides a rise followed by a fall.",
        "Common practice: a difference above 4 to 7 leaves the line little support.",
    ),
    CautionEntry(
        "C23",
        "warn",
        "A step where the way of surveying changed",
        f"The best single step of the record lies within {limits.STEP_YEARS} year of a change of the "
        "sampling method or of a note of the kind “survey change”, and fits better than no change (AICc "
        f"lower by {limits.CURVE_BEATS:g} or more).",
        "The jump may come from the survey and not from the creek.",
        OWN,
    ),
    CautionEntry(
        "C24",
        "note",
        "Many tests at once",
        "More than one place is tested on the same page.",
        "Of a hundred creeks without any change, about five would stand out at p 0.05 by chance alone. On "
        "such pages the adjusted p decides the word, see adjusted for many tests.",
        "Benjamini & Hochberg 1995, J. R. Stat. Soc. B 57:289-300.",
    ),
    CautionEntry(
        "C25",
        "warn",
        "Stations on one stream",
        "Two or more stations of the test lie on the same stream.",
        "What happens at one may happen at the other, so they are not separate proofs. The test allows "
        "for stations that move together.",
    ),
    CautionEntry(
        "C26",
        "stop",
        "The stations disagree",
        f"Test of agreement between stations: p below {DISAGREE_P:.2f}.",
        "One sentence for the whole creek would hide that parts of it move in opposite ways.",
        "Test after van Belle & Hughes 1984; the limit is common practice.",
    ),
    CautionEntry(
        "C27",
        "warn",
        "No control",
        "Before and after are compared without a control station.",
        "The weather of the years cannot be told apart from the change.",
    ),
    CautionEntry(
        "C28",
        "stop",
        "Too few years on a side",
        f"Fewer than {limits.LEAST_YEARS_A_SIDE} comparable years before or after.",
        "The year is the unit; with fewer a mean has hardly any scatter of its own to judge by.",
        OWN,
    ),
    CautionEntry(
        "C29",
        "warn",
        "A weak control",
        "A control has a note of its own in the years compared, lies below the place itself, or drifted "
        f"against it before (p {limits.CONTROL_DRIFT_P:g} or less).",
        "A control that was touched itself proves nothing about the place.",
        OWN,
    ),
    CautionEntry(
        "C30",
        "note",
        "Several things at once",
        f"Other notes at the same place within {limits.CONFOUNDED_YEARS} years.",
        "The record cannot tell them apart.",
        OWN,
    ),
    CautionEntry(
        "C31",
        "note",
        "Clear but small",
        "The limits of the slope leave out zero, but the whole change is less than one rating class or "
        "than the usual difference between years.",
        "A sure direction is not yet a change that matters.",
    ),
    CautionEntry(
        "C32",
        "warn",
        "A rise or a fall would both fit",
        "The 95 % limits of the slope hold both a rise and a fall of the change that years needed looks "
        f"for: {TARGET_PART_OF_CLASS:g} of a rating class a decade for the index, "
        f"{per_measure(TARGET_PER_DECADE)}.",
        "The record is too short or too scattered to say even which way a change that matters would go.",
        OWN,
    ),
    CautionEntry(
        "C36",
        "warn",
        "Newcomers",
        f"The number of species rises with a confidence of {limits.DIRECTION_CONFIDENCE:.2f} or more, and "
        "that of native species does not. Raised for numbers of species.",
        "More kinds of fish are no gain where the new ones were brought by people.",
        "The limit is the lower end of likely.",
    ),
)
