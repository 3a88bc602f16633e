"""The finding in sentences, for the public and for staff; the word and mark of a verdict, the footnote and the
limits of the record have rooms of their own and are offered here too.

The same outcome always gives the same words. Staff read the certainty as it is; the public reads
"we can't tell yet" where a direction is no more than leaning. Nothing here computes a statistic.
"""

from surveys.language import told, worded, worded_n
from trends.break_words import changed_sentences
from trends.footnotes import footnote
from trends.measures import BY_KEY, Measure
from trends.number_words import (
    capital,
    counted,
    format_confidence,
    format_slope,
    format_value,
    listed,
    per_decade,
    range_decimals,
    rounded,
    sentence,
    unit_words,
)
from trends.outcomes import Outcome, Period, way_of
from trends.record_limits import cannot_say
from trends.verdicts import (
    BETTER,
    CANNOT_TELL,
    CAUTION_LEVELS,
    FALLING,
    RISING,
    STEADY,
    WORSE,
    line_years,
    mark,
    ordered_cautions,
    outcome_verdict,
    supported,
    sure_word,
    tone,
    verdict_word,
    way_word,
)

__all__ = [
    "BETTER",
    "CANNOT_TELL",
    "CAUTION_LEVELS",
    "FALLING",
    "RISING",
    "STEADY",
    "WORSE",
    "cannot_say",
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


def short_title(outcome: Outcome, *, staff: bool = False) -> str:
    """ "Fish health in Alder Run: probably getting better"."""
    words = {
        "measure": capital(BY_KEY[outcome.measure].plain),
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
        rating = capital(told(outcome.latest_rating))
        return [worded("{rating} in {year}.", rating=rating, year=outcome.latest_year)]
    measure = BY_KEY[outcome.measure]
    return [
        worded(
            "{measure} in {year}: {value}.",
            measure=capital(measure.short),
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
    words = {"span": _span(period), "subject": subject, "way": way_word(period, staff=True)}
    if period.direction_confidence is None:
        return worded("{span} {subject} leans towards {way}; not enough to say.", **words)
    return worded(
        "{span} {subject} leans towards {way} (confidence in the direction {confidence}); not enough to say.",
        confidence=format_confidence(period.direction_confidence),
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
        "sure": sure_word(period, staff=staff),
        "verb": verb,
    }
    plain = worded("{span} {subject} {sure} {verb}.", **words)
    if period.good is not None and not measure.is_index:
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
