"""Cautions on the record itself: years, ways of sampling, what was caught and done to the fish."""

from surveys.said import marked, said
from trends.cautions import limits
from trends.glossary.caution_entry import OWN, CautionEntry, fraction, percent

RECORD: tuple[CautionEntry, ...] = (
    CautionEntry(
        "C01",
        "stop",
        marked("Too few years"),
        said("Fewer than {least_years} comparable years.", least_years=limits.LEAST_YEARS),
        marked(
            "With four years even an unbroken rise can be chance once in twelve times (two-sided p 0.083); "
            "with five it is once in sixty (0.017). No direction is named."
        ),
        marked("Arithmetic of the Mann-Kendall test."),
    ),
    CautionEntry(
        "C02",
        "warn",
        marked("Few years"),
        said("Fewer than {few_years} comparable years.", few_years=limits.FEW_YEARS),
        marked("Only a strong change could show. That no direction is found says little."),
        marked(
            "USGS Scientific Investigations Report 2009-5268 kept trend sites with at least 10 years of record."
        ),
    ),
    CautionEntry(
        "C03",
        "warn",
        marked("The ends are not covered"),
        said(
            "No value in the first or in the last part of the period, {ends_part} of it.",
            ends_part=fraction(limits.ENDS_PART),
        ),
        marked("A slope through the middle of a period says nothing about its ends."),
        marked("The same USGS report asks for values near both ends."),
    ),
    CautionEntry(
        "C04",
        "warn",
        marked("A long gap"),
        said(
            "No comparable value for {long_gap_years} years or more in a row, or for more than {long_gap_part} of "
            "the span.",
            long_gap_years=limits.LONG_GAP_YEARS,
            long_gap_part=fraction(limits.LONG_GAP_PART),
        ),
        marked("What happened in the gap is not known; the slope bridges it."),
        OWN,
    ),
    CautionEntry(
        "C05",
        "warn",
        marked("Few different values"),
        said(
            "Fewer than {least_distinct} different values, or more than {tied_part} of the pairs of years tied.",
            least_distinct=limits.LEAST_DISTINCT,
            tied_part=fraction(limits.TIED_PART),
        ),
        marked("A number that moves in few steps cannot show a small change."),
        OWN,
    ),
    CautionEntry(
        "C06",
        "stop",
        marked("The sampling method or the layout changed"),
        marked(
            "More than one sampling method in the record, or a station that was laid out anew and whose years were not "
            "joined with a reason."
        ),
        marked(
            "Another gear, effort or stretch of creek gives other fish. Each stretch of years is tested by itself; "
            "nothing is said across the change."
        ),
    ),
    CautionEntry(
        "C07",
        "warn",
        marked("The gear changed"),
        marked(
            "The gear of the sampling method, or the form of the current or the number of anodes noted for the first "
            "pass, differs from what was noted for the station before. What is not noted is not compared; nor is the "
            "name or number of a unit, which two units of one kind do not share."
        ),
        marked("Another electrofisher or number of anodes catches other fish."),
    ),
    CautionEntry(
        "C08",
        "warn",
        marked("Another size of reach"),
        said(
            "The reach is more than {length_differs} longer or shorter, or more than {width_differs} wider or "
            "narrower, than the station's median by the same method.",
            length_differs=percent(limits.LENGTH_DIFFERS),
            width_differs=percent(limits.WIDTH_DIFFERS),
        ),
        marked("More water fished means more fish and more species."),
        OWN,
    ),
    CautionEntry(
        "C09",
        "warn",
        marked("More passes than in other years"),
        marked("Within one sampling method a visit has more passes than the least of that station."),
        marked("More passes catch more fish and more species. The catch of the first pass stays comparable."),
    ),
    CautionEntry(
        "C10",
        "note",
        marked("Not closed at both ends"),
        marked(
            "Stop nets are recorded as missing at one end or at both, or a breach of the nets is noted: the word "
            "“breach” stands in the notes of the visit."
        ),
        marked(
            "Fish can leave or enter while the reach is fished. Without nets at both ends no removal estimate "
            "is made."
        ),
    ),
    CautionEntry(
        "C11",
        "warn",
        marked("Unusual effort"),
        said(
            "Current-on time per pass outside {effort_least} to {effort_most} times the station's median.",
            effort_least=f"{limits.EFFORT_LEAST:g}",
            effort_most=f"{limits.EFFORT_MOST:g}",
        ),
        marked("More time with the current on catches more fish."),
        OWN,
    ),
    CautionEntry(
        "C12",
        "warn",
        marked("Another time of year"),
        said(
            "A visit outside the season window of its sampling method, or more than {days_off} days from the "
            "station's usual date.",
            days_off=limits.DAYS_OFF,
        ),
        marked("Spring and autumn catches differ. A visit outside the window is shown and not used."),
        marked("The window is set with the sampling method; the number of days is a choice made here."),
    ),
    CautionEntry(
        "C13",
        "note",
        marked("Other people in the year of the largest step"),
        said(
            "With {least_years} or more years: somebody new named the fish, in the year in which the number "
            "changed most. Where that is not noted in both years, who led the crew is looked at.",
            least_years=limits.LEAST_YEARS,
        ),
        marked("Some crews catch more, or name fish otherwise. The step may come from that."),
    ),
    CautionEntry(
        "C14",
        "note",
        marked("The catch did not fall"),
        marked(
            "A later pass caught as many fish as the one before or more, or no removal estimate could be "
            "made. Raised for the total catch and for numbers and weights by area."
        ),
        marked("More fish than usual may have been missed."),
    ),
    CautionEntry(
        "C15",
        "note",
        marked("A number could not be made"),
        marked(
            "At least one accepted visit gives no value of the measure; the reason of the latest is shown."
        ),
        marked("Such years are left out, not filled in."),
    ),
    CautionEntry(
        "C16",
        "stop",
        marked("Different index methods"),
        marked("The scores come from different index methods or versions."),
        marked("Points of different methods do not mean the same, so the scores are not joined."),
    ),
    CautionEntry(
        "C17",
        "warn",
        marked("Names held differently"),
        marked(
            "A genus in some years and species of it in others; a taxon split from another on the list that is told "
            "apart only in later years; or fish named with doubt. After two taxa were merged every year is read alike, "
            "which raises nothing. Raised for the index and for numbers of species."
        ),
        marked(
            "The number of species moves with how exactly fish were named. In a trend of numbers of species such a "
            "genus, or such a pair, counts as one kind in every year of the station, and in no year where only some "
            "of its species are native or live on the bottom; the page of a visit keeps its own number."
        ),
    ),
    CautionEntry(
        "C20",
        "warn",
        marked("Fish were moved or died"),
        marked("A note of stocking, introduction, removal or a die-off falls within the years."),
        marked("Numbers can rise or fall for that alone."),
    ),
    CautionEntry(
        "C33",
        "note",
        marked("Visits left out"),
        marked("Visits of these years that are drafts, in review, returned or withdrawn."),
        marked("They count nowhere until a second person accepts them."),
    ),
    CautionEntry(
        "C34",
        "note",
        marked("Places withheld"),
        marked(
            "A species with a withheld place was met somewhere in the watershed. Raised for every station of "
            "it alike."
        ),
        marked(
            "Lists shown to the public may be shorter than the record, and the index that everybody reads is made "
            "of the fish in the public lists: what becomes of the others does not show in it."
        ),
    ),
    CautionEntry(
        "C35",
        "note",
        marked("A noisy measure"),
        marked("The measure is a weight or number for the area fished."),
        marked(
            "Such numbers varied more from year to year than counts did in a ten-year study of six sites."
        ),
        marked("George, Stich & Baldigo 2021, Can. J. Fish. Aquat. Sci. (abstract)."),
    ),
    CautionEntry(
        "C37",
        "warn",
        marked("Few fish examined"),
        said(
            "The index has a share of fish with anomalies, and fewer than {fish_for_anomalies} fish were caught.",
            fish_for_anomalies=limits.FISH_FOR_ANOMALIES,
        ),
        marked("One ill fish more or less then moves the share by whole classes."),
        OWN,
    ),
    CautionEntry(
        "C38",
        "note",
        marked("No fish, or no season"),
        marked("An accepted visit caught no fish in any pass, or a whole season was called off."),
        marked(
            "No fish is a result and counts as zero; a season called off is no visit and counts as nothing."
        ),
    ),
    CautionEntry(
        "C39",
        "note",
        marked("Poor catching conditions"),
        said(
            "Turbidity above {turbidity_times} times the station's median and above {turbidity_least_ntu} NTU, "
            "flow above {flow_times} times the median, or a bottom noted as not visible.",
            turbidity_times=f"{limits.TURBIDITY_TIMES:g}",
            turbidity_least_ntu=f"{limits.TURBIDITY_LEAST_NTU:g}",
            flow_times=f"{limits.FLOW_TIMES:g}",
        ),
        marked("Fish are missed in high or cloudy water."),
        OWN,
    ),
    CautionEntry(
        "C40",
        "note",
        marked("Provisional"),
        marked(
            "The season of the latest year is not over, or is not signed off where other seasons are, or visits "
            "of it are "
            "not decided on."
        ),
        marked("The latest value may still change."),
    ),
)
