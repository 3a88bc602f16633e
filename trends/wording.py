"""An outcome in words: for the public, for biologists and planners, and for the footnote.

The same outcome always gives the same words. Staff read the certainty as it is; the public reads
"we can't tell yet" where a direction is no more than leaning. Nothing here computes a statistic.
"""

from trends.measures import BY_KEY, Measure
from trends.number_words import (
    counted,
    format_p,
    format_slope,
    format_value,
    listed,
    per_decade,
    phrase,
    range_decimals,
    rounded,
    sentence,
    unit_words,
)
from trends.outcomes import Caution, Outcome, Period, YearValue

__all__ = [
    "CAUTION_LEVELS",
    "cannot_say",
    "caution_sentences",
    "change_clause",
    "footnote",
    "format_slope",
    "format_value",
    "headline",
    "line_years",
    "mark",
    "ordered_cautions",
    "outcome_verdict",
    "rounded",
    "short_title",
    "supported",
    "tone",
    "trend_sentences",
    "verdict_word",
]

BETTER, WORSE, CANNOT_TELL, STEADY, RISING, FALLING = "▲", "▼", "◇", "▬", "↗", "↘"

CAUTION_LEVELS = {"stop": "No verdict:", "warn": "Read with care:", "note": "Note:"}
_LEVEL_ORDER = {"stop": 0, "warn": 1, "note": 2}

# Staff words follow the confidence in the direction; the public's are one step plainer.
_SURE_STAFF = {"very_likely": "very likely", "likely": "likely"}
_SURE_PUBLIC = {"very_likely": "very likely", "likely": "probably"}


def supported(period: Period | None) -> bool:
    """Whether a direction may be stated, and so a line drawn: likely or better, and nothing less."""
    return period is not None and period.certainty in _SURE_STAFF and period.direction != "none"


def line_years(outcome: Outcome) -> tuple[YearValue, ...]:
    """The years the outcome speaks of: the middle of a watershed, or the one station's own."""
    if outcome.middle:
        return outcome.middle
    return outcome.series[0].years if outcome.series else ()


# --- one word and one mark -------------------------------------------------------------------------


def mark(period: Period | None) -> str:
    """The shape beside the words. A measure without an agreed good direction has a slanted arrow."""
    if period is None:
        return CANNOT_TELL
    if period.certainty == "steady":
        return STEADY
    if not supported(period):
        return CANNOT_TELL
    if period.good is None:
        return RISING if period.direction == "up" else FALLING
    return BETTER if period.good else WORSE


def tone(period: Period | None) -> str:
    """The name of the style that goes with the mark."""
    return {BETTER: "better", WORSE: "worse", STEADY: "steady", CANNOT_TELL: "unsure"}.get(
        mark(period), "moving"
    )


def _way(period: Period, *, staff: bool) -> str:
    """improving, worsening, rising, falling; the public's words for the first two."""
    if period.good is None:
        return "rising" if period.direction == "up" else "falling"
    if staff:
        return "improving" if period.good else "worsening"
    return "getting better" if period.good else "getting worse"


def verdict_word(period: Period | None, *, staff: bool) -> str:
    """The verdict in a few words, without the years."""
    if period is None:
        return "not assessed" if staff else "not enough comparable years"
    if supported(period):
        return f"{(_SURE_STAFF if staff else _SURE_PUBLIC)[period.certainty]} {_way(period, staff=staff)}"
    match period.certainty:
        case "steady":
            return "steady"
        case "disagree":
            return "stations disagree"
        case "not_assessed":
            return "not assessed" if staff else "not enough comparable years"
        case "leaning" if staff and period.direction != "none":
            return f"leaning towards {_way(period, staff=True)}"
    return "no clear direction" if staff else "we can't tell yet"


def outcome_verdict(outcome: Outcome, *, staff: bool) -> str:
    """The verdict of the latest period, with its first year where the record is split by method."""
    period = outcome.current
    split = period is not None and len(outcome.periods) > 1 and not outcome.apart
    since = f" since {period.first_year}" if split and period is not None else ""
    return verdict_word(period, staff=staff) + since


# --- the finding -------------------------------------------------------------------------------------


def short_title(outcome: Outcome, *, staff: bool = False) -> str:
    """ "Fish health in Alder Run: probably getting better"."""
    place = outcome.place_name or outcome.place
    joint = "in" if outcome.scope == "watershed" else "at"
    measure = BY_KEY[outcome.measure]
    return f"{_capital(measure.plain)} {joint} {place}: {outcome_verdict(outcome, staff=staff)}"


def headline(outcome: Outcome, *, staff: bool) -> str:
    """The latest condition, then the trend with years and certainty; parts of a split record apart."""
    return " ".join([*_latest(outcome), *trend_sentences(outcome, staff=staff)])


def _latest(outcome: Outcome) -> list[str]:
    if outcome.latest_year is None or outcome.latest_value is None:
        return []
    if outcome.latest_rating:
        return [f"{_capital(outcome.latest_rating)} in {outcome.latest_year}."]
    measure = BY_KEY[outcome.measure]
    return [
        f"{_capital(measure.short)} in {outcome.latest_year}: {format_value(measure, outcome.latest_value)}."
    ]


def trend_sentences(outcome: Outcome, *, staff: bool) -> list[str]:
    """What may be said about the direction, one sentence each."""
    measure = BY_KEY[outcome.measure]
    periods = sorted(outcome.periods, key=lambda p: (p.first_year, p.last_year))
    if not periods:
        return [f"There is no comparable year of {measure.plain} yet."]
    if len(periods) == 1:
        return _period_sentences(measure, periods[0], staff=staff)
    if outcome.apart and outcome.current is not None:
        return [*_period_sentences(measure, outcome.current, staff=staff), *_apart_sentences(outcome)]
    return _split_sentences(outcome, measure, periods, staff=staff)


def _apart_sentences(outcome: Outcome) -> list[str]:
    """Stations whose other years were sampled in another way, while the rest went on as before."""
    return [
        f"At {listed(list(p.stations))} the years {p.first_year} to {p.last_year} were sampled in another way; "
        "they are kept apart."
        for p in outcome.apart
    ]


def _split_sentences(outcome: Outcome, measure: Measure, periods: list[Period], *, staff: bool) -> list[str]:
    changed = [str(year) for year in outcome.breaks or tuple(p.first_year for p in periods[1:])]
    told = [f"The method changed in {listed(changed)}."]
    for number, period in enumerate(periods, start=1):
        label = f"Part {number}" if len(periods) > 2 else "Before" if number == 1 else "After"
        first, *rest = _period_sentences(measure, period, staff=staff)
        told += [f"{label}: {first[0].lower()}{first[1:]}", *rest]
    told.append("The two parts must not be joined." if len(periods) == 2 else "The parts must not be joined.")
    return told


def _span(period: Period) -> str:
    years = counted(period.n, "comparable year", "comparable years")
    if period.first_year == period.last_year:
        return f"In {period.first_year} ({years})"
    return f"Between {period.first_year} and {period.last_year} ({years})"


def _period_sentences(measure: Measure, period: Period, *, staff: bool) -> list[str]:
    subject = measure.plain
    if supported(period):
        return _direction_sentences(measure, period, staff=staff)
    match period.certainty:
        case "steady":
            return [
                f"{_span(period)} {subject} was steady.",
                "The whole interval lies inside the limits that were fixed beforehand."
                if staff
                else "Any change was smaller than the limit we fixed beforehand.",
            ]
        case "disagree":
            return _disagreement(measure, period, staff=staff)
        case "not_assessed":
            return [
                f"No trend is given for {subject}.",
                *([sentence(period.reason)] if period.reason else []),
            ]
        case "leaning" if staff and period.direction != "none":
            sure = period.direction_confidence
            number = f" (confidence in the direction {sure:.2f})" if sure is not None else ""
            way = _way(period, staff=True)
            return [f"{_span(period)} {subject} leans towards {way}{number}; not enough to say."]
    if staff:
        return [f"{_span(period)} {subject} shows no clear direction."]
    question = "is getting better or worse" if measure.better else "rises or falls"
    years = counted(period.n, "comparable year is", "comparable years are")
    return [
        f"We can't tell yet whether {subject} {question}.",
        f"The {years} not enough ({period.first_year} to {period.last_year})."
        if period.n != 1
        else f"One comparable year is not enough ({period.first_year}).",
    ]


def _direction_sentences(measure: Measure, period: Period, *, staff: bool) -> list[str]:
    sure = (_SURE_STAFF if staff else _SURE_PUBLIC)[period.certainty]
    subject = f"{_span(period)} {measure.plain} {sure}"
    change = change_clause(measure, period)
    moved = "rose" if period.direction == "up" else "fell"
    if period.good is None:
        verb = moved
    elif staff:
        verb = "improved" if period.good else "worsened"
    else:
        verb = "got better" if period.good else "got worse"
    if period.good is not None and measure.key != "index_score":
        # A share that falls can be the good direction, so the words say both.
        return [f"{subject} {verb}.", f"It {moved} {change}." if change else f"It {moved}."]
    if staff and change:
        return [f"{subject} {verb}, {change}."]
    return [f"{subject} {verb}.", *([f"The change was {change.removeprefix('by ')}."] if change else [])]


def change_clause(measure: Measure, period: Period) -> str:
    """ "by about 0.4 points a decade (between 0.1 and 0.7)": size in the direction that is stated."""
    if period.slope is None:
        return ""
    sign = 1.0 if period.direction == "up" else -1.0
    size = sign * period.slope
    places = range_decimals(size, period.lower, period.upper)
    if not any(c in "123456789" for c in per_decade(size, 2)):
        amount = f"by less than 0.01 {unit_words(measure)} a decade"
        places = 2
    else:
        amount = f"by about {per_decade(size, places)} {unit_words(measure)} a decade"
    if period.lower is None or period.upper is None:
        return f"{amount} (too few years for limits)"
    low, high = sorted((sign * period.lower, sign * period.upper))
    return f"{amount} (between {per_decade(low, places)} and {per_decade(high, places)})"


def _disagreement(measure: Measure, period: Period, *, staff: bool) -> list[str]:
    up, down = len(period.stations_up), len(period.stations_down)
    sure = "likely" if staff else "probably"
    if measure.better is None:
        parts = [(up, "rising"), (down, "falling")]
    else:
        good, bad = (up, down) if measure.better == "higher" else (down, up)
        parts = [(good, "better"), (bad, "worse")]
    told = ", ".join(f"{number} {sure} {word}" for number, word in parts if number)
    return [
        f"{_span(period)} the stations disagree{f': {told}' if told else ''}.",
        "No single statement fits the creek.",
    ]


# --- for the footnote ---------------------------------------------------------------------------------


def footnote(period: Period, measure: Measure | None = None) -> str:
    """The statistics in one line for staff. A p-value never stands without the slope and its interval."""
    parts = [_capital(period.test or "no test")]
    size = counted(period.n, "year", "years")
    if len(period.stations) > 1:
        size += (
            f", {len(period.stations)} stations, {counted(period.n_values, 'station-year', 'station-years')}"
        )
    parts.append(f"n = {size}")
    if period.method_name or period.method:
        parts.append(f"method {period.method_name or period.method}")
    if period.slope is None:
        parts.append(phrase(period.reason) if period.reason else "no slope was made")
        return "; ".join(parts) + "."
    if period.s is not None:
        parts.append(f"S = {rounded(period.s, 0)}")
    if period.p_value is not None:
        adjusted = (
            f" (adjusted for the list: {format_p(period.p_adjusted)})"
            if period.p_adjusted is not None
            else ""
        )
        parts.append(format_p(period.p_value) + adjusted)
    if period.direction_confidence is not None:
        parts.append(f"confidence in the direction {_share(period.direction_confidence)}")
    places = range_decimals(period.slope, period.lower, period.upper)
    unit = f" {unit_words(measure)}" if measure else ""
    parts.append(f"Sen slope {per_decade(period.slope, places)}{unit} a decade")
    if period.lower is None or period.upper is None:
        parts.append(f"too few years for {100 * period.confidence:.0f} % limits")
    else:
        low, high = per_decade(period.lower, places), per_decade(period.upper, places)
        limits = f" ({period.limits} limits)" if period.limits else ""
        parts.append(f"{100 * period.confidence:.0f} % interval {low} to {high}{limits}")
    if period.heterogeneity_p is not None:
        parts.append(f"test of agreement between stations {format_p(period.heterogeneity_p)}")
    return "; ".join(parts) + "."


def _share(value: float) -> str:
    return "above 0.999" if value > 0.999 else f"{value:.3f}" if value > 0.99 else f"{value:.2f}"


# --- what the data cannot say ---------------------------------------------------------------------------


def ordered_cautions(cautions: tuple[Caution, ...] | list[Caution]) -> list[Caution]:
    """Worst first, then by code."""
    return sorted(cautions, key=lambda c: (_LEVEL_ORDER[c.level], c.code))


def caution_sentences(outcome: Outcome, *, staff: bool) -> list[str]:
    return [c.staff if staff else c.public for c in ordered_cautions(outcome.cautions)]


def cannot_say(outcome: Outcome, *, staff: bool = False) -> list[str]:
    """Sentences on the limits of this record; cautions that fired are listed apart."""
    measure = BY_KEY[outcome.measure]
    told = _power(measure, outcome.current)
    for year in outcome.breaks:
        told.append(f"The method changed in {year}. Values before and after it must not be compared.")
    told += _gap_sentences(outcome.gaps)
    if outcome.scope == "watershed" and outcome.series:
        stations = counted(len(outcome.series), "station", "stations")
        told.append(f"The line speaks for the {stations} sampled, not for every reach of the creek.")
    if measure.key in {"total_catch", "first_pass_catch", "density_per_100_m2", "biomass_g_per_m2"}:
        told.append("These are the fish that were caught. Fish that were missed are not in the number.")
    if measure.key in {"richness", "native_richness", "benthic_richness"}:
        told.append("A rare species can be present and not be caught.")
    told.append("The record shows how the fish changed. It cannot show what the reason was.")
    return told


def _power(measure: Measure, period: Period | None) -> list[str]:
    if period is None or supported(period) or period.certainty in {"steady", "not_assessed"}:
        return []
    told = []
    unit = unit_words(measure)
    if period.smallest_change_per_decade is not None:
        amount = per_decade(abs(period.smallest_change_per_decade) / 10)
        told.append(f"{_capital(counted(period.n, 'year is', 'years are'))} not enough to say.")
        told.append(f"A change smaller than {amount} {unit} a decade would not show yet.")
    if period.years_needed and period.years_needed_for is not None:
        target = per_decade(abs(period.years_needed_for) / 10)
        told.append(
            f"At the present scatter it takes about {period.years_needed} yearly visits "
            f"to show a change of {target} {unit} a decade."
        )
    return told


NO_VISIT = "no accepted visit"


def _gap_sentences(gaps: tuple[tuple[int, str], ...]) -> list[str]:
    """Why years are missing, one sentence for each reason."""
    by_reason: dict[str, list[str]] = {}
    for year, reason in gaps:
        by_reason.setdefault(reason.strip() or NO_VISIT, []).append(str(year))
    return [
        f"There is no accepted visit from {listed(years)}."
        if reason == NO_VISIT
        else f"There is no value for {listed(years)}: {phrase(reason)}."
        for reason, years in by_reason.items()
    ]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
