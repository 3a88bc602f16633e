"""What the handout's templates say about titles and charts."""

from django import template

from surveys.language import worded
from trends import wording
from trends.chart_words import text_alternative
from trends.handout import Handout
from trends.outcomes import Outcome

register = template.Library()


@register.filter
def handout_title(handout: Handout) -> str:
    """The finding in a line: "Fish health in Alder Run: probably getting better"."""
    outcome = handout.facts.outcome
    name = handout.facts.watershed.name
    return wording.short_title(outcome) if outcome else worded("{creek}: no result yet", creek=name)


@register.simple_tag
def chart_text(outcome: Outcome) -> str:
    return text_alternative(outcome)
