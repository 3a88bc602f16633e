"""What a brief says of going on: what further visits would show and when."""

from operator import attrgetter

from django.utils.formats import date_format

from surveys.language import worded, worded_n
from trends import cautions
from trends.brief_proposals import Proposal
from trends.further_years import POWER
from trends.measures import BY_KEY
from trends.number_words import counted, listed, rounded, unit_words
from trends.outcomes import Outcome
from trends.record import Record
from trends.stats.before_after import smallest_detectable_effect

AFTER_YEARS = (3, 5, 10)


def monitoring(outcome: Outcome, proposal: Proposal, record: Record) -> list[str]:
    """What further visits would show and when, at the present scatter; looking forward only."""
    measure = BY_KEY[outcome.measure]
    period = outcome.current
    unit = unit_words(measure)
    lines = []
    chance = f"{10 * POWER:.0f}"
    if period is None or period.certainty == "not_assessed" or not period.scatter:
        have = period.n if period else 0
        lines.append(
            worded_n(
                "{n} more yearly visit to the same stations would allow a first test of the direction; {few} years are "
                "needed before a moderate change can show.",
                "{n} more yearly visits to the same stations would allow a first test of the direction; {few} years "
                "are needed before a moderate change can show.",
                max(cautions.LEAST_YEARS - have, 1),
                few=str(cautions.FEW_YEARS),
            )
        )
    else:
        if period.years_needed and period.years_needed_for:
            size = f"{period.years_needed_for:g}"
            if period.years_needed > period.n:
                more = period.years_needed - period.n
                lines.append(
                    worded_n(
                        "{n} more yearly visit after {year} would show a change of {size} {unit} a decade with a "
                        "chance of {chance} in 10.",
                        "{n} more yearly visits after {year} would show a change of {size} {unit} a decade with a "
                        "chance of {chance} in 10.",
                        more,
                        year=str(period.last_year),
                        size=size,
                        unit=unit,
                        chance=chance,
                    )
                )
            else:
                lines.append(
                    worded(
                        "The {years} years on record are enough to show a change of {size} {unit} a decade with a "
                        "chance of {chance} in 10.",
                        years=str(period.n),
                        size=size,
                        unit=unit,
                        chance=chance,
                    )
                )
        if proposal.works:
            sizes = {
                a: smallest_detectable_effect(period.n, a, period.scatter, power=POWER) for a in AFTER_YEARS
            }
            steps = [
                worded(
                    "{size} {unit} after {years} years",
                    size=rounded(size, max(measure.decimals, 1)),
                    unit=unit,
                    years=str(after),
                )
                for after, size in sizes.items()
            ]
            lines.append(
                worded(
                    "If work begins after the {year} season, the smallest step that could then be seen is {steps} "
                    "(against {before} before, chance {chance} in 10; control stations make it smaller where they "
                    "scatter alike).",
                    year=str(period.last_year),
                    steps=listed(steps),
                    before=counted(period.n, "year", "years"),
                    chance=chance,
                )
            )
    used = (v.date for values in record.visits.values() for v in values if v.in_season)
    days = sorted(used, key=attrgetter("month"))
    if days:
        first, last = date_format(days[0], "F"), date_format(days[-1], "F")
        season = first if first == last else worded("{first} to {last}", first=first, last=last)
        lines.append(
            worded(
                "Visits count only if made every year at the same stations, by the same method, in the same season "
                "({season}).",
                season=season,
            )
        )
    return lines
