"""What is counted how: the rules that every number on the site shares."""

from dataclasses import dataclass

from surveys.said import marked, said
from surveys.withholding import STATEMENT
from trends.indicators import LEAST_KNOWN_SHARE


@dataclass(frozen=True, slots=True, kw_only=True)
class CountingEntry:
    """One rule: its anchor, its heading, and what it says."""

    key: str
    title: str
    text: str


COUNTING: tuple[CountingEntry, ...] = (
    CountingEntry(
        key="years-and-seasons",
        title=marked("Years and seasons"),
        text=marked(
            "The value of a year at a station is the median of its accepted visits inside the season "
            "window of their sampling method. A visit outside the window is shown but not used. Where a year "
            "holds visits made in two ways, the way with more visits stands for the year, and of equals the "
            "later one. The line of a watershed is the median over its stations, year by year; the test of a "
            "watershed uses the stations themselves and never that line."
        ),
    ),
    CountingEntry(
        key="accepted",
        title=marked("Accepted visits only"),
        text=marked(
            "Every number, trend and species list rests on visits that a second person has accepted. "
            "Visits in review, returned or withdrawn count nowhere."
        ),
    ),
    CountingEntry(
        key="missing",
        title=marked("Missing is not zero"),
        text=marked(
            "A year that nobody visited stays a gap. A value that could not be made is shown as not "
            "known with its reason, and no line is drawn through it."
        ),
    ),
    CountingEntry(
        key="no-fish",
        title=marked("A visit that caught no fish"),
        text=marked(
            "It is a result, not a missing visit: catch and number of species are zero. Shares do not "
            "exist, since there is nothing to take a share of. Whether an index gives such a visit its lowest "
            "score or none is said on the page of the method."
        ),
    ),
    CountingEntry(
        key="hybrids",
        title=marked("Hybrids"),
        text=marked(
            "A hybrid counts as fish in every count, share, density and weight, and never as a species. "
            "An index method may add rules of its own, which its page lists."
        ),
    ),
    CountingEntry(
        key="genus-level",
        title=marked("Fish known to genus or group only"),
        text=marked(
            "They count as fish, and never as a species in the species counts of this site. An index "
            "counts them as a further species only where no other species of the same genus was caught at "
            "that visit, and says so beside the score."
        ),
    ),
    CountingEntry(
        key="unidentified",
        title=marked("Unidentified fish"),
        text=said(
            "They count in the total catch, in densities and in weights. Their traits are not known: a share is "
            "given only where the trait is known for at least {share} % of the fish (a choice made here; no "
            "published limit was found), and it is then a share of the known fish. In an index they leave a metric "
            "open where they could change its points.",
            share=f"{100 * LEAST_KNOWN_SHARE:.0f}",
        ),
    ),
    CountingEntry(
        key="traits",
        title=marked("Traits that are not known"),
        text=marked(
            "An empty trait is not the same as no. A count of native or of bottom-dwelling species is "
            "not given while the trait of a caught species is missing. An index tries every way the unknown "
            "could turn out and gives points only where all of them agree."
        ),
    ),
    CountingEntry(
        key="young-of-year",
        title=marked("Fish of the year"),
        text=marked(
            "They are counted like all other fish in the measures of this site. An index method leaves "
            "them out where its own rules say so; where the crew did not note them apart, none can be left "
            "out, and the score says that."
        ),
    ),
    CountingEntry(
        key="sampling-method",
        title=marked("Years sampled in different ways"),
        text=marked(
            "Gear, number of passes and reach rule belong to the sampling method. Years sampled by "
            "different methods are never joined in one line or one test."
        ),
    ),
    CountingEntry(
        key="sensitive-places",
        title=marked("Places that are not published"),
        text=said(
            "For some species the exact place is withheld. {statement} Where they live the index that everybody "
            "reads is made of the fish in the public lists, so that no score tells what a list leaves out. Staff "
            "who are signed in see everything, and the index of all fish beside it.",
            statement=STATEMENT,
        ),
    ),
    CountingEntry(
        key="absence",
        title=marked("Not met is not gone"),
        text=marked(
            "Fishing misses fish, rare ones most of all. A species that is no longer caught is reported "
            "with the last year it was met and the number of visits since; the record alone cannot show that "
            "it has left the creek."
        ),
    ),
)
