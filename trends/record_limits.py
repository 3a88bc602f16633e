"""What a record cannot say: years too few, gaps, changed ways, fish that were missed, reasons."""

from surveys.language import told, worded, worded_n
from trends.break_words import no_comparison
from trends.measures import BY_KEY, Measure
from trends.number_words import listed, per_decade, phrase, unit_words
from trends.outcomes import NO_VISIT, Outcome, Period
from trends.verdicts import supported


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
