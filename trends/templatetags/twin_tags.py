"""Links from a public page to its data, and from a creek to what is taken to a meeting."""

from typing import Any

from django import template
from django.urls import reverse

register = template.Library()

# Page -> the data beside it; the one argument of the page's address is that of the data's.
TWINS = {
    "trends:overview": "trends:creeks_data",
    "trends:watershed": "trends:watershed_data",
    "trends:station": "trends:station_data",
    "trends:visit": "trends:visit_data",
    "trends:species": "trends:species_data",
}


def _addresses(context: Any) -> dict[str, str]:
    match = getattr(context.get("request"), "resolver_match", None)
    name = TWINS.get(match.view_name) if match else None
    visit = context.get("visit")
    # Only what is accepted has public data.
    if match is None or name is None or (visit is not None and not visit.is_accepted):
        return {}
    key = next(iter(match.kwargs.values()), None)
    keys = [] if key is None else [key]
    return {form: reverse(name, args=[*keys, form]) for form in ("json", "csv")}


@register.inclusion_tag("components/twin_head.html", takes_context=True)
def twin_head(context: Any) -> dict[str, Any]:
    """The data named in the head of the page, for programs."""
    return {"addresses": _addresses(context)}


@register.inclusion_tag("components/twin_links.html", takes_context=True)
def twin_links(context: Any) -> dict[str, Any]:
    """The data named at the foot of the page, for people."""
    match = getattr(context.get("request"), "resolver_match", None)
    creek = match.kwargs.get("slug") if match and match.view_name == "trends:watershed" else None
    return {"addresses": _addresses(context), "creek": creek}
