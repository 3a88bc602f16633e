"""An outcome in words: for the public, for biologists and planners, and for the footnote.

The same outcome always gives the same words. Staff read the certainty as it is; the public reads
"we can't tell yet" where a direction is no more than leaning. Nothing here computes a statistic.
"""

from trends.break_words import changed_sentences, no_comparison
from trends.language import marked, told, worded, worded_n
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
from trends.outcomes import Caution, Outcome, Period, YearValue, way_of

__all__ = [
    "CAUTION_LEVELS",
    "cannot_say",
    "caution_sentences",
    "change_size",
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

CAUTION_LEVELS = {"stop": marked("No verdict:"), "warn": marked("Read with care:"), "note": marked("Note:")}
_LEVEL_ORDER = {"stop": 0, "warn": 1, "note": 2}

# Staff words follow the confidence in the direction; the public's are one step plainer.
_SURE_STAFF = {"very_likely": marked("very likely"), "likely": marked("likely")}
_SURE_PUBLIC = {"very_likely": marked("very likely"), "likely": marked("probably")}


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


def _sure(period: Period, *, staff: bool) -> str:
    return told((_SURE_STAFF if staff else _SURE_PUBLIC)[period.certainty])


def _way(period: Period, *, staff: bool) -> str:
    """improving, worsening, rising, falling; the public's words for the first two."""
    if period.good is None:
        return worded("rising") if period.direction == "up" else worded("falling")
    if staff:
        return worded("improving") if period.good else worded("worsening")
    return worded("getting better") if period.good else worded("getting worse")


def verdict_word(period: Period | None, *, staff: bool) -> str:
    """The verdict in a few words, without the years."""
    not_assessed = worded("not assessed") if staff else worded("not enough comparable years")
    if period is None:
        return not_assessed
    if supported(period):
        return worded("{sure} {way}", sure=_sure(period, staff=staff), way=_way(period, staff=staff))
    match period.certainty:
        case "steady":
            return worded("steady")
        case "disagree":
            return worded("stations disagree")
        case "not_assessed":
            return not_assessed
        case "leaning" if staff and period.direction != "none":
            return worded("leaning towards {way}", way=_way(period, staff=True))
    return worded("no clear direction") if staff else worded("we can't tell yet")


def outcome_verdict(outcome: Outcome, *, staff: bool) -> str:
    """The verdict of the latest period, with its first year where the record is split by method."""
    period = outcome.current
    verdict = verdict_word(period, staff=staff)
    if period is None or len(outcome.periods) < 2 or outcome.apart:
        return verdict
    return worded("{verdict} since {year}", verdict=verdict, year=period.first_year)


# --- the finding -------------------------------------------------------------------------------------


def short_title(outcome: Outcome, *, staff: bool = False) -> str:
    """ "Fish health in Alder Run: probably getting better"."""
    words = {
        "measure": _capital(BY_KEY[outcome.measure].plain),
        "place": outcome.place_name or outcome.place,
        "verdict": outcome_verdict(outcome, staff=staff),
    }
    if outcome.scope == "watershed":
        return worded("{measure} in {place}: {verdict}", **words)
    return worded("{measure} at {place}: {verdict}", **words)


def headline(outcome: Outcome, *, staff: bool) -> str:
    """The latest condition, then the trend with years and certainty; parts of a split record apart."""
    return " ".join([*_latest(outcome), *trend_sentences(outcome, staff=staff)])


def _latest(outcome: Outcome) -> list[str]:
    if outcome.latest_year is None or outcome.latest_value is None:
        return []
    if outcome.latest_rating:
        rating = _capital(told(outcome.latest_rating))
        return [worded("{rating} in {year}.", rating=rating, year=outcome.latest_year)]
    measure = BY_KEY[outcome.measure]
    return [
        worded(
            "{measure} in {year}: {value}.",
            measure=_capital(measure.short),
            year=outcome.latest_year,
            value=format_value(measure, outcome.latest_value),
        )
    ]


def trend_sentences(outcome: Outcome, *, staff: bool) -> list[str]:
    """What may be said about the direction, one sentence each."""
    measure = BY_KEY[outcome.measure]
    periods = sorted(outcome.periods, key=lambda p: (p.first_year, p.last_year))
    if not periods:
        return [worded("There is no comparable year of {measure} yet.", measure=measure.plain)]
    if len(periods) == 1:
        return _period_sentences(measure, periods[0], staff=staff)
    if outcome.apart and outcome.current is not None:
        return [*_period_sentences(measure, outcome.current, staff=staff), *_apart_sentences(outcome)]
    return _split_sentences(outcome, measure, periods, staff=staff)


def _apart_sentences(outcome: Outcome) -> list[str]:
    """Stations whose other years were sampled or laid out in another way, while the rest went on as before."""
    current = way_of(outcome.current.method) if outcome.current else ""
    sentences = []
    for p in outcome.apart:
        words = {"stations": listed(list(p.stations)), "first": p.first_year, "last": p.last_year}
        sentences.append(
            worded(
                "At {stations} the years {first} to {last} are from another layout of the station; they are kept "
                "apart.",
                **words,
            )
            if way_of(p.method) == current
            else worded(
                "At {stations} the years {first} to {last} were sampled in another way; they are kept apart.",
                **words,
            )
        )
    return sentences


def _split_sentences(outcome: Outcome, measure: Measure, periods: list[Period], *, staff: bool) -> list[str]:
    sentences = changed_sentences(outcome, outcome.breaks or tuple(p.first_year for p in periods[1:]))
    for number, period in enumerate(periods, start=1):
        first, *rest = _period_sentences(measure, period, staff=staff)
        words = f"{first[0].lower()}{first[1:]}"
        if len(periods) > 2:
            sentences.append(worded("Part {number}: {words}", number=number, words=words))
        else:
            part = (
                worded("Before: {words}", words=words)
                if number == 1
                else worded("After: {words}", words=words)
            )
            sentences.append(part)
        sentences += rest
    two = len(periods) == 2
    sentences.append(
        worded("The two parts must not be joined.") if two else worded("The parts must not be joined.")
    )
    return sentences


def _span(period: Period) -> str:
    years = counted(period.n, "comparable year", "comparable years")
    if period.first_year == period.last_year:
        return worded("In {year} ({years})", year=period.first_year, years=years)
    return worded(
        "Between {first} and {last} ({years})", first=period.first_year, last=period.last_year, years=years
    )


def _period_sentences(measure: Measure, period: Period, *, staff: bool) -> list[str]:
    subject = measure.plain
    if supported(period):
        return _direction_sentences(measure, period, staff=staff)
    match period.certainty:
        case "steady":
            return [
                worded("{span} {subject} was steady.", span=_span(period), subject=subject),
                worded("The whole interval lies inside the limits that were fixed beforehand.")
                if staff
                else worded("Any change was smaller than the limit we fixed beforehand."),
            ]
        case "disagree":
            return _disagreement(measure, period, staff=staff)
        case "not_assessed":
            return [
                worded("No trend is given for {subject}.", subject=subject),
                *([sentence(told(period.reason))] if period.reason else []),
            ]
        case "leaning" if staff and period.direction != "none":
            return [_leaning(period, subject)]
    if staff:
        return [worded("{span} {subject} shows no clear direction.", span=_span(period), subject=subject)]
    return [
        worded("We can't tell yet whether {subject} is getting better or worse.", subject=subject)
        if measure.better
        else worded("We can't tell yet whether {subject} rises or falls.", subject=subject),
        worded_n(
            "One comparable year is not enough ({first}).",
            "The {n} comparable years are not enough ({first} to {last}).",
            period.n,
            first=period.first_year,
            last=period.last_year,
        ),
    ]


def _leaning(period: Period, subject: str) -> str:
    words = {"span": _span(period), "subject": subject, "way": _way(period, staff=True)}
    if period.direction_confidence is None:
        return worded("{span} {subject} leans towards {way}; not enough to say.", **words)
    return worded(
        "{span} {subject} leans towards {way} (confidence in the direction {confidence}); not enough to say.",
        confidence=f"{period.direction_confidence:.2f}",
        **words,
    )


def _direction_sentences(measure: Measure, period: Period, *, staff: bool) -> list[str]:
    rose = period.direction == "up"
    change = change_size(measure, period)
    if period.good is None:
        verb = worded("rose") if rose else worded("fell")
    elif staff:
        verb = worded("improved") if period.good else worded("worsened")
    else:
        verb = worded("got better") if period.good else worded("got worse")
    words = {
        "span": _span(period),
        "subject": measure.plain,
        "sure": _sure(period, staff=staff),
        "verb": verb,
    }
    plain = worded("{span} {subject} {sure} {verb}.", **words)
    if period.good is not None and measure.key != "index_score":
        # A share that falls can be the good direction, so the words say both.
        if not change:
            return [plain, worded("It rose.") if rose else worded("It fell.")]
        moved = (
            worded("It rose by {change}.", change=change)
            if rose
            else worded("It fell by {change}.", change=change)
        )
        return [plain, moved]
    if staff and change:
        return [worded("{span} {subject} {sure} {verb}, by {change}.", change=change, **words)]
    return [plain, *([worded("The change was {change}.", change=change)] if change else [])]


def change_size(measure: Measure, period: Period) -> str:
    """ "about 0.4 points a decade (between 0.1 and 0.7)": size in the direction that is stated."""
    if period.slope is None:
        return ""
    sign = 1.0 if period.direction == "up" else -1.0
    size = sign * period.slope
    places = range_decimals(size, period.lower, period.upper)
    unit = unit_words(measure)
    if not any(c in "123456789" for c in per_decade(size, 2)):
        amount = worded("less than 0.01 {unit} a decade", unit=unit)
        places = 2
    else:
        amount = worded("about {size} {unit} a decade", size=per_decade(size, places), unit=unit)
    if period.lower is None or period.upper is None:
        return worded("{amount} (too few years for limits)", amount=amount)
    low, high = sorted((sign * period.lower, sign * period.upper))
    return worded(
        "{amount} (between {low} and {high})",
        amount=amount,
        low=per_decade(low, places),
        high=per_decade(high, places),
    )


def _disagreement(measure: Measure, period: Period, *, staff: bool) -> list[str]:
    up, down = len(period.stations_up), len(period.stations_down)
    sure = worded("likely") if staff else worded("probably")
    if measure.better is None:
        parts = [(up, worded("rising")), (down, worded("falling"))]
    else:
        good, bad = (up, down) if measure.better == "higher" else (down, up)
        parts = [(good, worded("better")), (bad, worded("worse"))]
    counts = ", ".join(
        worded("{number} {sure} {word}", number=number, sure=sure, word=word)
        for number, word in parts
        if number
    )
    return [
        worded("{span} the stations disagree: {counts}.", span=_span(period), counts=counts)
        if counts
        else worded("{span} the stations disagree.", span=_span(period)),
        worded("No single statement fits the creek."),
    ]


# --- for the footnote ---------------------------------------------------------------------------------


def footnote(period: Period, measure: Measure | None = None) -> str:
    """The statistics in one line for staff. A p-value never stands without the slope and its interval."""
    parts = [_capital(told(period.test) or worded("no test"))]
    size = counted(period.n, "year", "years")
    if len(period.stations) > 1:
        stations = counted(len(period.stations), "station", "stations")
        size += f", {stations}, " + counted(period.n_values, "station-year", "station-years")
    parts.append(f"n = {size}")
    if period.method_name or period.method:
        parts.append(worded("method {name}", name=period.method_name or period.method))
    if period.slope is None:
        parts.append(phrase(told(period.reason)) if period.reason else worded("no slope was made"))
        return "; ".join(parts) + "."
    if period.s is not None:
        parts.append(f"S = {rounded(period.s, 0)}")
    if period.p_value is not None:
        raw = format_p(period.p_value)
        parts.append(
            raw
            if period.p_adjusted is None
            else worded(
                "{p} (adjusted for the list: {adjusted})", p=raw, adjusted=format_p(period.p_adjusted)
            )
        )
    if period.direction_confidence is not None:
        parts.append(worded("confidence in the direction {share}", share=_share(period.direction_confidence)))
    places = range_decimals(period.slope, period.lower, period.upper)
    slope = per_decade(period.slope, places)
    parts.append(
        worded("Sen slope {slope} {unit} a decade", slope=slope, unit=unit_words(measure))
        if measure
        else worded("Sen slope {slope} a decade", slope=slope)
    )
    percent = f"{100 * period.confidence:.0f} %"
    if period.lower is None or period.upper is None:
        parts.append(worded("too few years for {percent} limits", percent=percent))
    else:
        low, high = per_decade(period.lower, places), per_decade(period.upper, places)
        interval = worded("{percent} interval {low} to {high}", percent=percent, low=low, high=high)
        kind = told(period.limits)
        parts.append(worded("{interval} ({kind} limits)", interval=interval, kind=kind) if kind else interval)
    if period.heterogeneity_p is not None:
        parts.append(worded("test of agreement between stations {p}", p=format_p(period.heterogeneity_p)))
    return "; ".join(parts) + "."


def _share(value: float) -> str:
    return worded("above 0.999") if value > 0.999 else f"{value:.3f}" if value > 0.99 else f"{value:.2f}"


# --- what the data cannot say ---------------------------------------------------------------------------


def ordered_cautions(cautions: tuple[Caution, ...] | list[Caution]) -> list[Caution]:
    """Worst first, then by code."""
    return sorted(cautions, key=lambda c: (_LEVEL_ORDER[c.level], c.code))


def caution_sentences(outcome: Outcome, *, staff: bool) -> list[str]:
    return [told(c.staff if staff else c.public) for c in ordered_cautions(outcome.cautions)]


def cannot_say(outcome: Outcome, *, staff: bool = False) -> list[str]:
    """Sentences on the limits of this record; cautions that fired are listed apart."""
    measure = BY_KEY[outcome.measure]
    limits = _power(measure, outcome.current)
    for year in outcome.breaks:
        limits.append(no_comparison(outcome, year))
    limits += _gap_sentences(outcome.gaps)
    if outcome.scope == "watershed" and outcome.series:
        limits.append(
            worded_n(
                "The line speaks for the {n} station sampled, not for every reach of the creek.",
                "The line speaks for the {n} stations sampled, not for every reach of the creek.",
                len(outcome.series),
            )
        )
    if measure.key in {"total_catch", "first_pass_catch", "density_per_100_m2", "biomass_g_per_m2"}:
        limits.append(
            worded("These are the fish that were caught. Fish that were missed are not in the number.")
        )
    if measure.key in {"richness", "native_richness", "benthic_richness"}:
        limits.append(worded("A rare species can be present and not be caught."))
    limits.append(worded("The record shows how the fish changed. It cannot show what the reason was."))
    return limits


def _power(measure: Measure, period: Period | None) -> list[str]:
    if period is None or supported(period) or period.certainty in {"steady", "not_assessed"}:
        return []
    sentences = []
    unit = unit_words(measure)
    if period.smallest_change_per_decade is not None:
        amount = per_decade(abs(period.smallest_change_per_decade) / 10)
        sentences.append(
            worded_n("{n} year is not enough to say.", "{n} years are not enough to say.", period.n)
        )
        sentences.append(
            worded(
                "A change smaller than {amount} {unit} a decade would not show yet.", amount=amount, unit=unit
            )
        )
    if period.years_needed and period.years_needed_for is not None:
        sentences.append(
            worded(
                "At the present scatter it takes about {years} yearly visits "
                "to show a change of {amount} {unit} a decade.",
                years=period.years_needed,
                amount=per_decade(abs(period.years_needed_for) / 10),
                unit=unit,
            )
        )
    return sentences


NO_VISIT = marked("no accepted visit")


def _gap_sentences(gaps: tuple[tuple[int, str], ...]) -> list[str]:
    """Why years are missing, one sentence for each reason."""
    by_reason: dict[str, list[str]] = {}
    for year, reason in gaps:
        by_reason.setdefault(reason.strip() or NO_VISIT, []).append(str(year))
    return [
        worded("There is no accepted visit from {years}.", years=listed(years))
        if reason == NO_VISIT
        else worded(
            "There is no value for {years}: {reason}.", years=listed(years), reason=phrase(told(reason))
        )
        for reason, years in by_reason.items()
    ]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
