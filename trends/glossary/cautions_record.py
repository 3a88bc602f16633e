"""Cautions on the record itself: years, ways of sampling, what was caught and done to the fish."""

from trends.cautions import limits
from trends.glossary.caution_entry import OWN, CautionEntry, fraction, percent

RECORD: tuple[CautionEntry, ...] = (
    CautionEntry(
        "C01",
        "stop",
        "Too few years",
        f"Fewer than {limits.LEAST_YEARS} comparable years.",
        "With four years even an unbroken rise can be chance once in twelve times (two-sided p 0.083); "
        "with five it is once in sixty (0.017). No direction is named.",
        "Arithmetic of the Mann-Kendall test.",
    ),
    CautionEntry(
        "C02",
        "warn",
        "Few years",
        f"Fewer than {limits.FEW_YEARS} comparable years.",
        "Only a strong change could show. That no direction is found says little.",
        "USGS Scientific Investigations Report 2009-5268 kept trend sites with at least 10 years of record.",
    ),
    CautionEntry(
        "C03",
        "warn",
        "The ends are not covered",
        f"No value in the first or in the last part of the period, {fraction(limits.ENDS_PART)} of it.",
        "A slope through the middle of a period says nothing about its ends.",
        "The same USGS report asks for values near both ends.",
    ),
    CautionEntry(
        "C04",
        "warn",
        "A long gap",
        f"No comparable value for {limits.LONG_GAP_YEARS} years or more in a row, or for more than "
        f"{fraction(limits.LONG_GAP_PART)} of the span.",
        "What happened in the gap is not known; the slope bridges it.",
        OWN,
    ),
    CautionEntry(
        "C05",
        "warn",
        "Few different values",
        f"Fewer than {limits.LEAST_DISTINCT} different values, or more than {fraction(limits.TIED_PART)} "
        "of the pairs of years tied.",
        "A number that moves in few steps cannot show a small change.",
        OWN,
    ),
    CautionEntry(
        "C06",
        "stop",
        "The sampling method or the layout changed",
        "More than one sampling method in the record, or a station that was laid out anew and whose years were not "
        "joined with a reason.",
        "Another gear, effort or stretch of creek gives other fish. Each stretch of years is tested by itself; "
        "nothing is said across the change.",
    ),
    CautionEntry(
        "C07",
        "warn",
        "The gear changed",
        "The gear of the sampling method, or the form of the current or the number of anodes noted for the first "
        "pass, differs from what was noted for the station before. What is not noted is not compared; nor is the "
        "name or number of a unit, which two units of one kind do not share.",
        "Another electrofisher or number of anodes catches other fish.",
    ),
    CautionEntry(
        "C08",
        "warn",
        "Another size of reach",
        f"The reach is more than {percent(limits.LENGTH_DIFFERS)} longer or shorter, or more than "
        f"{percent(limits.WIDTH_DIFFERS)} wider or narrower, than the station's median by the same method.",
        "More water fished means more fish and more species.",
        OWN,
    ),
    CautionEntry(
        "C09",
        "warn",
        "More passes than in other years",
        "Within one sampling method a visit has more passes than the least of that station.",
        "More passes catch more fish and more species. The catch of the first pass stays comparable.",
    ),
    CautionEntry(
        "C10",
        "note",
        "Not closed at both ends",
        "Stop nets are recorded as missing at one end or at both, or a breach of the nets is noted: the word "
        "“breach” stands in the notes of the visit.",
        "Fish can leave or enter while the reach is fished. Without nets at both ends no removal estimate "
        "is made.",
    ),
    CautionEntry(
        "C11",
        "warn",
        "Unusual effort",
        f"Current-on time per pass outside {limits.EFFORT_LEAST:g} to {limits.EFFORT_MOST:g} times the "
        "station's median.",
        "More time with the current on catches more fish.",
        OWN,
    ),
    CautionEntry(
        "C12",
        "warn",
        "Another time of year",
        f"A visit outside the season window of its sampling method, or more than {limits.DAYS_OFF} days "
        "from the station's usual date.",
        "Spring and autumn catches differ. A visit outside the window is shown and not used.",
        "The window is set with the sampling method; the number of days is a choice made here.",
    ),
    CautionEntry(
        "C13",
        "note",
        "Other people in the year of the largest step",
        f"With {limits.LEAST_YEARS} or more years: somebody new named the fish, in the year in which the "
        "number changed most. Where that is not noted in both years, who led the crew is looked at.",
        "Some crews catch more, or name fish otherwise. The step may come from that.",
    ),
    CautionEntry(
        "C14",
        "note",
        "The catch did not fall",
        "A later pass caught as many fish as the one before or more, or no removal estimate could be "
        "made. Raised for the total catch and for numbers and weights by area.",
        "More fish than usual may have been missed.",
    ),
    CautionEntry(
        "C15",
        "note",
        "A number could not be made",
        "At least one accepted visit gives no value of the measure; the reason of the latest is shown.",
        "Such years are left out, not filled in.",
    ),
    CautionEntry(
        "C16",
        "stop",
        "Different index methods",
        "The scores come from different index methods or versions.",
        "Points of different methods do not mean the same, so the scores are not joined.",
    ),
    CautionEntry(
        "C17",
        "warn",
        "Names held differently",
        "A genus in some years and species of it in others; a taxon split from another on the list that is told "
        "apart only in later years; or fish named with doubt. After two taxa were merged every year is read alike, "
        "which raises nothing. Raised for the index and for numbers of species.",
        "The number of species moves with how exactly fish were named.",
    ),
    CautionEntry(
        "C20",
        "warn",
        "Fish were moved or died",
        "A note of stocking, introduction, removal or a die-off falls within the years.",
        "Numbers can rise or fall for that alone.",
    ),
    CautionEntry(
        "C33",
        "note",
        "Visits left out",
        "Visits of these years that are drafts, in review, returned or withdrawn.",
        "They count nowhere until a second person accepts them.",
    ),
    CautionEntry(
        "C34",
        "note",
        "Places withheld",
        "A species with a withheld place was met somewhere in the watershed. Raised for every station of "
        "it alike.",
        "Lists shown to the public may be shorter than the record.",
    ),
    CautionEntry(
        "C35",
        "note",
        "A noisy measure",
        "The measure is a weight or number for the area fished.",
        "Such numbers varied more from year to year than counts did in a ten-year study of six sites.",
        "George, Stich & Baldigo 2021, Can. J. Fish. Aquat. Sci. (abstract).",
    ),
    CautionEntry(
        "C37",
        "warn",
        "Few fish examined",
        f"The index has a share of fish with anomalies, and fewer than {limits.FISH_FOR_ANOMALIES} fish "
        "were caught.",
        "One ill fish more or less then moves the share by whole classes.",
        OWN,
    ),
    CautionEntry(
        "C38",
        "note",
        "No fish, or no season",
        "An accepted visit caught no fish in any pass, or a whole season was called off.",
        "No fish is a result and counts as zero; a season called off is no visit and counts as nothing.",
    ),
    CautionEntry(
        "C39",
        "note",
        "Poor catching conditions",
        f"Turbidity above {limits.TURBIDITY_TIMES:g} times the station's median and above "
        f"{limits.TURBIDITY_LEAST_NTU:g} NTU, flow above {limits.FLOW_TIMES:g} times the median, or a "
        "bottom noted as not visible.",
        "Fish are missed in high or cloudy water.",
        OWN,
    ),
    CautionEntry(
        "C40",
        "note",
        "Provisional",
        "The season of the latest year is not over, or is not signed off where other seasons are, or visits of it are "
        "not decided on.",
        "The latest value may still change.",
    ),
)
