"""The tests and estimates behind the words: formula in plain text, source, when used, why not another."""

from dataclasses import dataclass

from surveys.said import marked, said
from trends.assessments import (
    DISAGREE_P,
    LEAST_YEARS,
    LEAST_YEARS_FOR_COVARIANCE,
    STEADY_PART_OF_CLASS,
    STEADY_PER_DECADE,
)
from trends.further_years import ALPHA, POWER, TARGET_PART_OF_CLASS, TARGET_PER_DECADE
from trends.measures import BY_KEY
from trends.stats._mann_kendall import LARGEST_N_FOR_EXACT
from trends.stats._removal_result import (
    LARGEST_VARIATION,
    LEAST_CAPTURE_PROBABILITY,
    LEAST_NUMBER_MORE_PASSES,
    LEAST_NUMBER_TWO_PASSES,
)
from trends.stats.shuffle import ALL_ORDERS_UP_TO, RANDOM_ORDERS


@dataclass(frozen=True, slots=True, kw_only=True)
class Statistic:
    """One procedure. ``formula`` holds one line of plain text per step."""

    key: str
    title: str
    tells: str
    formula: tuple[str, ...]
    used: str
    why: str
    source: str


def per_measure(limits: dict[str, float]) -> str:
    """Limits per decade in words, measure by measure."""
    return "; ".join(
        [
            said(
                "{value} {unit} for {measure}",
                value=f"{value:g}",
                unit=marked("percentage points") if BY_KEY[key].share else BY_KEY[key].english_unit,
                measure=BY_KEY[key].english_name.lower(),
            )
            for key, value in limits.items()
        ]
    )


STATISTICS: tuple[Statistic, ...] = (
    Statistic(
        key="mann-kendall",
        title=marked("Mann-Kendall test"),
        tells=marked(
            "Whether the years of one station tend to rise or to fall. It looks only at which of two "
            "years is higher, so one wild year cannot carry it."
        ),
        formula=(
            marked("S = number of pairs of years that rise − number of pairs that fall"),
            marked(
                "without a trend: mean of S = 0; variance V = [n(n−1)(2n+5) − sum over tied groups of "
                "t(t−1)(2t+5)] / 18"
            ),
            marked("Z = (S − 1)/√V for S > 0, 0 for S = 0, (S + 1)/√V for S < 0"),
            marked("tau-b = S / √(pairs not tied in value × pairs not tied in year)"),
            marked("confidence in the direction = 1 − p/2, with p two-sided"),
        ),
        used=said(
            "One station, one sampling method, {least} or more years. Up to {exact} years p is exact: every order of "
            "the values, ties included, is counted. Beyond, p comes from Z and the normal curve.",
            least=LEAST_YEARS,
            exact=LARGEST_N_FOR_EXACT,
        ),
        why=marked(
            "A straight-line regression and its t-test need normal scatter and are moved by single years. "
            "The normal form alone is off by a hundredth or more with the short records of this work. The "
            "test assumes independent years; see caution C21."
        ),
        source="Mann 1945, Econometrica 13:245-259; Kendall 1976, Rank Correlation Methods, 4th ed.; Valz "
        "& Thompson 1994, J. Comput. Graph. Stat. 3:459-472 (exact with ties); McBride 2019, J. Environ. "
        "Qual. 48 (confidence in direction).",
    ),
    Statistic(
        key="sen-slope",
        title=marked("Sen slope"),
        tells=marked(
            "How much the measure changes in a year; pages show ten of them, the change per decade."
        ),
        formula=(
            marked("slope of a pair of years = (later value − earlier value) / (years between)"),
            marked("Sen slope = median of the slopes of all pairs"),
            marked("intercept = median of the values − slope × median of the years used"),
        ),
        used=marked(
            "Whenever the Mann-Kendall or the regional test is made. Gaps keep their width. The line is "
            "drawn only where a direction is at least likely."
        ),
        why=marked("Least squares lets one flood year tilt the line; the median of the slopes does not."),
        source="Sen 1968, J. Am. Stat. Assoc. 63:1379-1389.",
    ),
    Statistic(
        key="sen-limits",
        title=marked("Limits of the slope"),
        tells=marked("The range of slopes that the record does not rule out, at 95 % confidence."),
        formula=(
            said(
                "up to {exact} years: the slopes at the ranks (pairs − C)/2 + 1 from either end, C the smallest S "
                "whose exact chance to be reached is at most 2.5 %",
                exact=LARGEST_N_FOR_EXACT,
            ),
            marked(
                "beyond: ranks (pairs − 1.96√V)/2 and (pairs + 1.96√V)/2 + 1, interpolated between "
                "neighbouring slopes"
            ),
        ),
        used=marked(
            "Beside every slope. With four years no 95 % limits exist; the page then says so instead of "
            "giving any."
        ),
        why=marked(
            "Limits of a regression need normal scatter. Rounded ranks of the normal formula are too "
            "narrow or too wide by a whole slope in short records."
        ),
        source="Gilbert 1987, Statistical Methods for Environmental Pollution Monitoring, section 16.5; "
        "Hollander & Wolfe 1999, Nonparametric Statistical Methods, section 9.3 (exact ranks). Both from "
        "memory, confirmed by printed examples.",
    ),
    Statistic(
        key="regional-kendall",
        title=marked("Regional Kendall test"),
        tells=marked("Whether the stations of one creek, taken together, tend to rise or to fall."),
        formula=(
            marked("S = sum of the stations' S; pairs are formed within a station only"),
            marked("slope = median of all slopes within stations"),
            marked("how p and the limits are found depends on the number of years: see the next two entries"),
        ),
        used=said(
            "A watershed with two or more stations sampled in one way, at least one of them in {least} or more years.",
            least=LEAST_YEARS,
        ),
        why=marked(
            "Averaging the stations first would change the line whenever a station is added or missed. "
            "Testing each and counting votes would waste the record."
        ),
        source="Hirsch, Slack & Smith 1982, Water Resour. Res. 18:107-121; Helsel & Frans 2006, Environ. "
        "Sci. Technol. 40:4066-4073.",
    ),
    Statistic(
        key="shuffled-years",
        title=marked("Several stations, short records: whole years shuffled"),
        tells=marked(
            "How often chance alone would make the stations agree so well. Wet and dry years hit every "
            "station, so stations of one creek are not independent witnesses."
        ),
        formula=(
            marked("without a trend the years could have come in any order, for all stations at once"),
            marked("p = share of the orders of the years with |S| at least as large as the one found"),
            marked(
                "limits: slopes at the ranks (slopes − C)/2 + 1 from either end, C the smallest S whose share "
                "of orders is at most 2.5 %"
            ),
        ),
        used=said(
            "Up to {most} years. Up to {all} years every order is tried; beyond, {random} random ones with a fixed "
            "seed, so that the same data always give the same p.",
            most=LEAST_YEARS_FOR_COVARIANCE - 1,
            all=ALL_ORDERS_UP_TO,
            random=f"{RANDOM_ORDERS:,}",
        ),
        why=marked(
            "The sum of the stations' variances takes each station as news and finds directions too "
            "easily; the correction by covariances does harm in records of ten years or fewer."
        ),
        source="Statistic of Hirsch, Slack & Smith 1982; that the joint order of the years is what may be "
        "shuffled: Dietz & Killeen 1981, J. Am. Stat. Assoc. 76:169-174 (from memory).",
    ),
    Statistic(
        key="correlation",
        title=marked("Several stations, long records: correction for correlation"),
        tells=marked(
            "The same question where there are years enough to measure how much the stations move together."
        ),
        formula=(
            marked(
                "V = sum of the stations' V + sum of cov(S_g, S_h) over all ordered pairs of different "
                "stations g, h"
            ),
            marked(
                "cov(S_g, S_h) = [K + 4 × sum over years of R_g R_h − n (n_g + 1)(n_h + 1)] / 3, K the sum "
                "over pairs of years of sign of change at g × sign of change at h, R the rank within the "
                "station, n the years in the calendar; a missing year takes the mean rank"
            ),
            marked(
                "Z with the continuity correction once, on the sum; p from the normal curve; limits of the "
                "slope from interpolated ranks"
            ),
        ),
        used=said("From {least} years on.", least=LEAST_YEARS_FOR_COVARIANCE),
        why=marked(
            "Shuffling would do as well, and takes long; in long records the correction is the published way."
        ),
        source="Hirsch & Slack 1984, Water Resour. Res. 20:727-732; USGS Scientific Investigations Report "
        "2005-5275 (when not to use it).",
    ),
    Statistic(
        key="heterogeneity",
        title=marked("Agreement between stations"),
        tells=marked("Whether the stations of a creek move in the same direction."),
        formula=(
            marked("Z_g = S_g / √V_g for each station, without continuity correction"),
            marked(
                "chi-square = sum of Z_g² − m × (mean of Z_g)², with m − 1 degrees of freedom, m the number "
                "of stations"
            ),
        ),
        used=said(
            "With every regional test, over the stations with {least} or more years. Where p is below {limit} no "
            "direction of the creek is stated, unless each of these stations moves the same way by itself; the page "
            "names the stations that rise and those that fall.",
            least=LEAST_YEARS,
            limit=f"{DISAGREE_P:.2f}",
        ),
        why=marked("A mean of a rise and a fall is a flat line that describes no station."),
        source="van Belle & Hughes 1984, Water Resour. Res. 20:127-136.",
    ),
    Statistic(
        key="certainty",
        title=marked("Words for certainty"),
        tells=marked(
            "One word for one range of numbers; the same data always give the same word. See the table above."
        ),
        formula=(marked("confidence in the direction = 1 − p/2, with p two-sided"),),
        used=marked(
            "Every tested period. A direction also needs a slope other than zero: a sure sign with a "
            "median change of zero is called unclear. Where a page tests many places, the adjusted p takes "
            "the place of p."
        ),
        why=marked(
            "“Significant” at one limit calls p 0.049 a finding and 0.051 none. A scale of words says how "
            "sure, and “we can’t tell” is never read as “nothing happened”. The lower end of likely is "
            "stricter here than the two-thirds of several published scales."
        ),
        source="Scale chosen here, after McBride 2019, J. Environ. Qual. 48, and the calibrated words of "
        "Mastrandrea et al. 2010 (IPCC guidance note).",
    ),
    Statistic(
        key="steady",
        title=marked("Steady"),
        tells=marked("That nothing much changed. This is a claim of its own and needs its own proof."),
        formula=(
            marked("steady where −band ≤ 10 × lower limit and 10 × upper limit ≤ band, per decade"),
            said(
                "band of the index = {part} × the usual width of a rating class",
                part=f"{STEADY_PART_OF_CLASS:g}",
            ),
            said("band = {limits}", limits=per_measure(STEADY_PER_DECADE)),
        ),
        used=marked(
            "Where the whole 95 % interval of the slope and the least-squares slope lie inside the band, and the "
            "direction is not very likely. Where most years are alike Sen’s limits are both 0, even if the "
            "last years fell; then the limits of the least-squares slope stand in for them. Measures without "
            "a band are never called steady."
        ),
        why=marked(
            "That a test found no direction is no proof of steadiness: a short record finds none whatever "
            "happens. The bands were fixed beforehand and have no published source: two decades at the limit "
            "would still be less than a class."
        ),
        source="Principle of equivalence testing, common practice, no source; McBride 2019, J. Environ. "
        "Qual. 48.",
    ),
    Statistic(
        key="years-needed",
        title=marked("Years needed"),
        tells=marked("How many yearly visits it takes before a change that matters is likely to be seen."),
        formula=(
            marked("scatter = √[sum of (value − line)² / (n − 2)]"),
            marked(
                "the mean and variance of S under a straight change with normal scatter are worked out "
                "through pairs and triples of years; the least n at which the test finds the change with the "
                "wanted chance is given"
            ),
            said(
                "change looked for, per decade: {part} × the usual width of a rating class for the index; {limits}",
                part=f"{TARGET_PART_OF_CLASS:g}",
                limits=per_measure(TARGET_PER_DECADE),
            ),
        ),
        used=said(
            "Level {alpha} two-sided, chance {power} to see it, one visit a year, independent years. Looks forward "
            "only. Shown where a period has scatter to work from.",
            alpha=f"{ALPHA:g}",
            power=f"{POWER:.0%}",
        ),
        why=marked(
            "The power of a test already made, worked out from its own result, says no more than its p "
            "does, so it is not given. Years that resemble their neighbours need more visits than shown."
        ),
        source="Kendall & Gibbons 1990, Rank Correlation Methods, 5th ed. (moments of S; derived here, "
        "checked by simulation).",
    ),
    Statistic(
        key="many-tests",
        title=marked("Adjusted for many tests"),
        tells=marked("How sure a word is when it is picked out of a list of places."),
        formula=(
            marked("sort the k values of p from small to large"),
            marked("adjusted p of rank i = least of p_j × k / j over all ranks j ≥ i"),
        ),
        used=marked(
            "On every page or file that lists more than one place. A word can only get weaker by it; "
            "steady and “stations disagree” stay, for they do not rest on p."
        ),
        why=marked(
            "Multiplying every p by k (Bonferroni) guards against a single false alarm and hides most "
            "true changes in a county of many creeks. This one holds down the share of false alarms among "
            "those named."
        ),
        source="Benjamini & Hochberg 1995, J. R. Stat. Soc. B 57:289-300.",
    ),
    Statistic(
        key="lag-one",
        title=marked("Likeness of neighbouring years"),
        tells=marked("Whether a good year tends to be followed by another."),
        formula=(
            marked("e = value − Sen line, less its mean"),
            marked(
                "lag-one correlation = sum of e_t × e_(t−1) over years that follow each other / sum of e²"
            ),
        ),
        used=marked("With enough years that follow each other; it raises caution C21."),
        why=marked(
            "Correcting the test silently would change p by a figure that is itself uncertain in short "
            "records; the plain test is shown, and the caution names a p that allows for the likeness."
        ),
        source="Salas et al. 1980, Applied Modeling of Hydrologic Time Series (from memory); the limits "
        "are choices made here.",
    ),
    Statistic(
        key="removal",
        title=marked("Removal estimate"),
        tells=marked(
            "How many fish were in the fished stretch, judged from how fast the catch falls from pass "
            "to pass."
        ),
        formula=(
            marked("two passes: N = c1² / (c1 − c2); chance of capture p = (c1 − c2) / c1"),
            marked(
                "more passes: N and p by maximum likelihood; T the total, X = sum of (k − i) c_i over passes "
                "i of k; a finite estimate exists only where X > T (k − 1) / 2"
            ),
            marked(
                "limits: all whole N whose likelihood, with p at its best for each N, is within the 95 % "
                "range of chi-square (1 df)"
            ),
        ),
        used=said(
            "Reaches closed by nets at both ends with two or more passes. Where the catch did not fall enough, no "
            "number is made up: the catch and the lower limit are shown with the reason. Marked with care below a "
            "chance of capture of {capture}, where the standard error is above {variation} of N, and below {two} "
            "fish with two passes or {more} with more.",
            capture=f"{LEAST_CAPTURE_PROBABILITY:g}",
            variation=f"{LARGEST_VARIATION:.0%}",
            two=LEAST_NUMBER_TWO_PASSES,
            more=LEAST_NUMBER_MORE_PASSES,
        ),
        why=marked(
            "N ± 1.96 standard errors misses the truth too often with few fish and can fall below the "
            "number already in the bucket. The estimate leans low, since fish that escaped once are harder to "
            "catch again; it is therefore shown for a visit and never followed as a trend."
        ),
        source="Seber & Le Cren 1967, J. Anim. Ecol. 36:631-643, as given in Bohlin et al. 1989, "
        "Hydrobiologia 173:9-43; Zippin 1956, Biometrics 12:163-189, and 1958, J. Wildl. Manage. "
        "22:82-90; bias: Riley & Fausch 1992 and Peterson, Thurow & Guzevich 2004 (abstracts).",
    ),
    Statistic(
        key="diversity",
        title=marked("Diversity of a catch"),
        tells=marked("How evenly the catch is shared among the kinds of fish."),
        formula=(
            marked("p = fish of a taxon / all fish"),
            marked("Shannon H = −sum of p × ln p"),
            marked("Simpson = 1 − sum of p²"),
            marked("evenness J = H / ln(number of taxa)"),
        ),
        used=marked("On the page of a visit, over all taxa caught. Not followed through the years."),
        why=marked(
            "Such numbers rise when tolerant newcomers come in, so they are no measure of health by "
            "themselves."
        ),
        source="Shannon 1948, Bell Syst. Tech. J. 27:379-423; Simpson 1949, Nature 163:688; Pielou 1966, "
        "J. Theor. Biol. 13:131-144.",
    ),
)
