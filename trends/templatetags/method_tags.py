"""What a page with a score says of the method behind it."""

from collections.abc import Mapping
from typing import Any

from django import template

from trends.index.method import CHECK_FIRST, Method
from trends.method_standing import short_standing, standing_sentence

register = template.Library()


@register.simple_tag
def method_standing(code: str, version: str = "") -> str:
    """Who checked the figures of a method, or that they must be checked; empty where neither is to be said."""
    return standing_sentence(code, version)


@register.simple_tag
def short_method_standing(code: str, version: str = "") -> str:
    """The same in a few words, for the foot of a paper."""
    return short_standing(code, version)


@register.simple_tag
def other_cautions(index: Mapping[str, Any], method: Method) -> list[str]:
    """A stored result's cautions without the one on checking, which is said as it stands today."""
    return [one for one in index["cautions"] if one not in (CHECK_FIRST, method.check_note)]
