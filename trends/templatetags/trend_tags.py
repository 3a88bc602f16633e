"""What templates say about trends: numbers with their rounding, Latin names, verdicts, links of the nav."""

import datetime
import re
from typing import Any

from django import template
from django.urls import NoReverseMatch, reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from surveys.language import told, worded
from trends import sparklines, wording
from trends.cautions import for_reader
from trends.listed import caution_codes
from trends.measures import BY_KEY
from trends.outcomes import Caution, Outcome, Period

register = template.Library()

_FIGURE = re.compile(r"^[<>≥≤±]?\s?[−-]?\d[\d,]*(\.\d+)?\s?%?$|^[–—]$")


@register.simple_tag(takes_context=True)
def nav_link(context: Any, name: str, words: str, kind: str = "") -> str:
    """A line of the navigation, marked where it is the present page; nothing where the page is absent."""
    try:
        address = reverse(name)
    except NoReverseMatch:
        return ""
    request = context.get("request")
    match = getattr(request, "resolver_match", None)
    here = mark_safe(' aria-current="page"') if match and match.view_name == name else ""
    css = format_html(' class="{}"', kind) if kind else ""
    return format_html('<li{}><a href="{}"{}>{}</a></li>', css, address, here, words)


@register.filter
def number(value: Any, decimals: Any = 0) -> str:
    """A number with its decimals and a true minus sign; "not known" where there is none."""
    return (
        worded("not known") if value is None or value == "" else wording.rounded(float(value), int(decimals))
    )


@register.filter
def measured(value: Any, measure_key: str) -> str:
    """A value with the decimals and unit of its measure."""
    return wording.format_value(BY_KEY[measure_key], value)


@register.filter
def latin(name: str) -> SafeString:
    return format_html('<i lang="la">{}</i>', name) if name else mark_safe("")


@register.filter
def is_figure(text: Any) -> bool:
    """Whether a table cell holds a number, and so stands at the right."""
    return bool(_FIGURE.match(str(text).strip()))


@register.filter
def cell(row: Any, position: int) -> str:
    return str(row[position]) if position < len(row) else ""


def _period(of: Outcome | Period | None) -> Period | None:
    return of.current if isinstance(of, Outcome) else of


@register.filter
def mark(of: Outcome | Period | None) -> str:
    return wording.mark(_period(of))


@register.filter
def verdict_class(of: Outcome | Period | None) -> str:
    return wording.tone(_period(of))


@register.simple_tag
def verdict_words(of: Outcome | Period | None, staff: Any = False) -> str:
    if isinstance(of, Outcome):
        return wording.outcome_verdict(of, staff=bool(staff))
    return wording.verdict_word(of, staff=bool(staff))


@register.simple_tag
def headline(outcome: Outcome, staff: Any = False) -> str:
    return wording.headline(outcome, staff=bool(staff))


@register.simple_tag
def latest_words(outcome: Outcome) -> str:
    """The latest value with its unit, its rating where there is one, and its year."""
    value = wording.format_value(BY_KEY[outcome.measure], outcome.latest_value)
    if outcome.latest_rating:
        value = f"{value}, {told(outcome.latest_rating)}"
    return worded("{value} in {year}", value=value, year=outcome.latest_year)


@register.simple_tag
def trend_footnote(outcome: Outcome, period: Period) -> str:
    return wording.footnote(period, BY_KEY[outcome.measure])


@register.simple_tag
def cannot_say(outcome: Outcome, staff: Any = False) -> list[str]:
    return wording.cannot_say(outcome, staff=bool(staff))


@register.simple_tag
def cautions_of(outcome: Outcome | None, staff: Any = False) -> tuple[Caution, ...]:
    """The cautions of an outcome that this reader may see, gravest first."""
    if not outcome:
        return ()
    return for_reader(outcome.cautions, staff=bool(staff), today=datetime.date.today())


# Codes of the cautions beside a number in a list: ``{{ outcome|caution_codes }}``.
register.filter(caution_codes)


@register.filter
def caution_level(level: str) -> str:
    return told(wording.CAUTION_LEVELS[level])


@register.simple_tag
def spark(
    outcome: Outcome,
    width: int = 320,
    height: int = 88,
    first: int | None = None,
    last: int | None = None,
    top: float | None = None,
) -> SafeString:
    """The small trajectory; first, last and top give neighbours the same years and value axis."""
    shown = (first, last) if first is not None and last is not None else None
    return sparklines.spark(outcome, width, height, years_shown=shown, top=top)


@register.simple_tag
def static_chart(outcome: Outcome) -> SafeString:
    return sparklines.static_chart_svg(outcome)
