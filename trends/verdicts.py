"""An outcome in one word and one mark, for the public and for staff, and how grave a caution is called."""

from surveys.language import marked, told, worded
from trends.outcomes import Caution, Outcome, Period, YearValue

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


def sure_word(period: Period, *, staff: bool) -> str:
    return told((_SURE_STAFF if staff else _SURE_PUBLIC)[period.certainty])


def way_word(period: Period, *, staff: bool) -> str:
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
        return worded("{sure} {way}", sure=sure_word(period, staff=staff), way=way_word(period, staff=staff))
    match period.certainty:
        case "steady":
            return worded("steady")
        case "disagree":
            return worded("stations disagree")
        case "not_assessed":
            return not_assessed
        case "leaning" if staff and period.direction != "none":
            return worded("leaning towards {way}", way=way_word(period, staff=True))
    return worded("no clear direction") if staff else worded("we can't tell yet")


def outcome_verdict(outcome: Outcome, *, staff: bool) -> str:
    """The verdict of the latest period, with its first year where the record is split by method."""
    period = outcome.current
    verdict = verdict_word(period, staff=staff)
    if period is None or len(outcome.periods) < 2 or outcome.apart:
        return verdict
    return worded("{verdict} since {year}", verdict=verdict, year=period.first_year)


def ordered_cautions(cautions: tuple[Caution, ...] | list[Caution]) -> list[Caution]:
    """Worst first, then by code."""
    return sorted(cautions, key=lambda c: (_LEVEL_ORDER[c.level], c.code))
