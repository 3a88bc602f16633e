"""What the handout's templates say about dates, titles and charts."""

from django import template
from django.utils import formats

from trends import wording
from trends.chart_words import text_alternative
from trends.handout import Handout
from trends.language import worded
from trends.models import DatePrecision, LandUseNote
from trends.outcomes import Outcome

register = template.Library()


@register.filter
def note_when(note: LandUseNote) -> str:
    """When it happened, no closer than it is known."""
    match note.date_precision:
        case DatePrecision.DECADE:
            return worded("{year}s", year=note.starts_on.year // 10 * 10)
        case DatePrecision.YEAR:
            return str(note.starts_on.year)
    return formats.date_format(note.starts_on, "YEAR_MONTH_FORMAT")


@register.filter
def handout_title(handout: Handout) -> str:
    """The finding in a line: "Fish health in Alder Run: probably getting better"."""
    outcome = handout.facts.outcome
    name = handout.facts.watershed.name
    return wording.short_title(outcome) if outcome else worded("{creek}: no result yet", creek=name)


@register.simple_tag
def chart_text(outcome: Outcome) -> str:
    return text_alternative(outcome)
