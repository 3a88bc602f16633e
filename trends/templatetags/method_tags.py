"""What a page with a score says of the method behind it."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from django import template

from trends.index.method import CHECK_FIRST, Method
from trends.method_standing import short_standing, standing_sentence, versions_behind
from trends.models import VisitResult
from trends.outcomes import Outcome
from trends.trait_changes import Preview

register = template.Library()


@register.simple_tag
def method_standing(code: str, version: str = "") -> str:
    """Who checked the figures of a method, or that they must be checked; empty where neither is to be said."""
    return standing_sentence(code, version)


@register.simple_tag
def index_standings(*shown: Any) -> list[dict[str, str]]:
    """Every method whose scores a page shows, with the sentence on its cut points where there is one.

    ``shown`` are outcomes, results of visits, or rows that hold one under ``outcome`` or ``result``; whatever else
    is passed over, so that one line serves pages that show other things.
    """
    things = list(_things(shown))
    versions = set(versions_behind(one for one in things if isinstance(one, Outcome)))
    versions |= {
        (one.index_method, one.index_version)
        for one in things
        if isinstance(one, VisitResult) and one.index_method and one.index_score is not None
    }
    told = ((code, version, standing_sentence(code, version)) for code, version in sorted(versions))
    return [{"code": code, "version": version, "sentence": words} for code, version, words in told if words]


@register.simple_tag
def preview_standings(preview: Preview) -> list[str]:
    """The sentences of the methods whose scores a preview shows."""
    methods = {
        (s.method.code, s.method.version)
        for one in preview.moved
        for s in (one.before, one.after)
        if s.method
    }
    return [words for version in sorted(methods) if (words := standing_sentence(*version))]


def _things(shown: Iterable[Any]) -> Iterator[Any]:
    for one in shown:
        if isinstance(one, Outcome | VisitResult):
            yield one
        elif isinstance(one, Mapping):
            yield from _things((one.get("outcome"), one.get("result")))
        elif isinstance(one, list | tuple):
            yield from _things(one)
        else:
            yield from (found for found in (getattr(one, "outcome", None),) if isinstance(found, Outcome))


@register.simple_tag
def short_index_standings(outcome: Outcome) -> str:
    """The same in a few words, for the foot of a paper."""
    return "; ".join(
        dict.fromkeys(told for version in versions_behind([outcome]) if (told := short_standing(*version)))
    )


@register.simple_tag
def other_cautions(index: Mapping[str, Any], method: Method) -> list[str]:
    """A stored result's cautions without the one on checking, which is said as it stands today."""
    return [one for one in index["cautions"] if one not in (CHECK_FIRST, method.check_note)]
