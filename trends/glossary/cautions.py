"""Every caution that the site raises by itself: what fires it, at which value, and why it matters."""

from dataclasses import dataclass
from typing import Literal

from trends import cautions as raised
from trends.assessments import DISAGREE_P, LIKELY, TARGET_PART_OF_CLASS, TARGET_PER_DECADE
from trends.glossary.statistics import per_measure
from trends.outcomes import Level


@dataclass(frozen=True, slots=True, kw_only=True)
class CautionEntry:
    """A caution's code, grade and rule. ``standing`` says where its limit comes from."""

    code: str
    level: Level
    title: str
    fires: str
    why: str
    standing: str


_OWN = "The limit is a choice made here; no published one was found."
_RULE = "A rule without a limit."
_TARGETS = per_measure(TARGET_PER_DECADE)


def _percent(part: float) -> str:
    return f"{100 * part:.0f} %"


def _fraction(part: float) -> str:
    return {1 / 3: "a third", 1 / 5: "a fifth"}.get(part, _percent(part))


CAUTIONS: tuple[CautionEntry, ...] = (
    CautionEntry(
        code="C01",
        level="stop",
        title="Too few years",
        fires=f"Fewer than {raised.LEAST_YEARS} comparable years.",
        why="With four years even an unbroken rise can be chance once in twelve times (two-sided p "
        "0.083); with five it is once in sixty (0.017). No direction is named.",
        standing="Arithmetic of the Mann-Kendall test.",
    ),
    CautionEntry(
        code="C02",
        level="warn",
        title="Few years",
        fires=f"Fewer than {raised.FEW_YEARS} comparable years.",
        why="Only a strong change could show. That no direction is found says little.",
        standing="USGS Scientific Investigations Report 2009-5268 kept trend sites with at least 10 years "
        "of record.",
    ),
    CautionEntry(
        code="C04",
        level="warn",
        title="A long gap",
        fires=f"No comparable value for {raised.LONG_GAP_YEARS} years or more in a row, or for more than "
        f"{_fraction(raised.LONG_GAP_PART)} of the span.",
        why="What happened in the gap is not known; the slope bridges it.",
        standing=_OWN,
    ),
    CautionEntry(
        code="C05",
        level="warn",
        title="Few different values",
        fires=f"At one station fewer than {raised.LEAST_DISTINCT} different values, or more than "
        f"{_fraction(raised.TIED_PART)} of the pairs of years tied.",
        why="A number that moves in few steps cannot show a small change.",
        standing=_OWN,
    ),
    CautionEntry(
        code="C06",
        level="stop",
        title="The sampling method changed",
        fires="More than one sampling method in the record.",
        why="Another gear or effort catches other fish. Each stretch of years is tested by itself; "
        "nothing is said across the change.",
        standing=_RULE,
    ),
    CautionEntry(
        code="C08",
        level="warn",
        title="A longer or shorter reach",
        fires=f"The reach differs by more than {_percent(raised.LENGTH_DIFFERS)} from the station's median.",
        why="More water fished means more fish and more species.",
        standing=_OWN,
    ),
    CautionEntry(
        code="C09",
        level="warn",
        title="More passes than in other years",
        fires="Within one sampling method a visit has more passes than the least of that station.",
        why="More passes catch more fish and more species. The catch of the first pass stays comparable.",
        standing=_RULE,
    ),
    CautionEntry(
        code="C10",
        level="note",
        title="Not closed at both ends",
        fires="Stop nets are recorded as missing at one end or at both.",
        why="Fish can leave or enter while the reach is fished. Removal estimates are not made.",
        standing=_RULE,
    ),
    CautionEntry(
        code="C12",
        level="warn",
        title="Visits in another season",
        fires="A visit lies outside the season window of its sampling method.",
        why="Spring and autumn catches differ. The visit is shown and not used.",
        standing="The window is set with the sampling method.",
    ),
    CautionEntry(
        code="C15",
        level="note",
        title="A number could not be made",
        fires="At least one accepted visit gives no value of the measure; an example of the reason is shown.",
        why="Such years are left out, not filled in.",
        standing=_RULE,
    ),
    CautionEntry(
        code="C16",
        level="stop",
        title="Different index methods",
        fires="The scores of the stations come from different index methods or versions.",
        why="Points of different methods do not mean the same, so the scores are not joined.",
        standing=_RULE,
    ),
    CautionEntry(
        code="C19",
        level="warn",
        title="The direction rests on single years",
        fires="At one station, leaving out one year turns the direction or takes its confidence below "
        f"{LIKELY:.2f}.",
        why="A flood or a drought in that one year may be all there is to see.",
        standing="The limit is the lower end of likely.",
    ),
    CautionEntry(
        code="C21",
        level="warn",
        title="Years resemble their neighbours",
        fires=f"Lag-one correlation about the slope above {raised.SERIAL_LONG} with {raised.FEW_YEARS} "
        f"years or more, above {raised.SERIAL_SHORT} with fewer.",
        why="The test takes each year as news. Where years resemble each other it finds directions too "
        "easily: at a correlation of 0.4 and 15 years about 16 false alarms in a hundred in place of 4.",
        standing=_OWN
        + " The share of false alarms was computed for this site by simulation (20 000 series).",
    ),
    CautionEntry(
        code="C24",
        level="note",
        title="Many tests at once",
        fires="More than one place is tested on the same page.",
        why="Of a hundred creeks without any change, about five would stand out at p 0.05 by chance "
        "alone. On such pages the adjusted p decides the word, see adjusted for many tests.",
        standing="Benjamini & Hochberg 1995, J. R. Stat. Soc. B 57:289-300.",
    ),
    CautionEntry(
        code="C26",
        level="stop",
        title="The stations disagree",
        fires=f"Test of agreement between stations: p below {DISAGREE_P:.2f}.",
        why="One sentence for the whole creek would hide that parts of it move in opposite ways.",
        standing="Test after van Belle & Hughes 1984; the limit is common practice.",
    ),
    CautionEntry(
        code="C32",
        level="warn",
        title="A rise or a fall would both fit",
        fires="The 95 % limits of the slope hold both a rise and a fall of the change that years needed "
        f"looks for: {TARGET_PART_OF_CLASS:g} of a rating class a decade for the index, {_TARGETS}.",
        why="The record is too short or too scattered to say even which way a change that matters would go.",
        standing=_OWN,
    ),
    CautionEntry(
        code="C38",
        level="note",
        title="A visit without fish",
        fires="An accepted visit caught no fish in any pass.",
        why="That is a result and counts as zero; it is not a missing visit.",
        standing=_RULE,
    ),
)

LEVEL_MEANING: dict[Literal["stop", "warn", "note"], str] = {
    "stop": "no direction is stated",
    "warn": "the direction is stated with this beside it",
    "note": "listed for the reader",
}
