"""What the planner's templates need: pictures kept with a brief, entries by name."""

from collections.abc import Mapping
from typing import Any

from django import template
from django.utils.safestring import SafeString, mark_safe

register = template.Library()


@register.filter
def stored_svg(text: str) -> SafeString:
    """A picture that this site drew and kept with a brief; its words were escaped when it was drawn."""
    return mark_safe(text) if text.startswith("<svg ") else mark_safe("")


@register.filter
def item(entries: Mapping[str, Any] | None, key: str) -> Any:
    return entries.get(key, "") if entries else ""


@register.filter
def lower_first(text: str) -> str:
    return text[:1].lower() + text[1:]
