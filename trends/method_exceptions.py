"""The exceptions of an index method in words: where each holds, when, what is done then, and where it is known from."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from surveys.language import told, worded
from trends.index import conditions
from trends.index.method import Method
from trends.number_words import listed


@dataclass(frozen=True, slots=True, kw_only=True)
class ExceptionView:
    """One exception of a method, as its page shows it.

    ``where`` names the strata it is for and ``measured`` the metrics that must have a value; both are empty
    where the rule is for all. ``provenance`` is that of the method file.
    """

    where: str
    when: str
    measured: str
    then: str
    reason: str
    caution: str
    provenance: Mapping[str, Any]


def exception_views(method: Method) -> tuple[ExceptionView, ...]:
    """The exceptions in their order: the first that holds is used."""
    return tuple(_view(method, rule) for rule in method.exceptions)


def _view(method: Method, rule: Mapping[str, Any]) -> ExceptionView:
    strata = [told(method.strata[code].name) for code in rule.get("strata", ())]
    return ExceptionView(
        where=listed(strata),
        when=conditions.describe(rule["when"], worded),
        measured=_metric_names(method, rule, "where_measured"),
        then=_what_then(method, rule),
        reason=str(rule["reason"]),
        caution=str(rule.get("caution", "")),
        provenance=rule["provenance"],
    )


def _metric_names(method: Method, within: Mapping[str, Any], key: str) -> str:
    """Metrics by their names, each once: a metric can stand in several strata."""
    names = {metric.id: told(metric.name) for one in method.strata.values() for metric in one.metrics}
    found = [names.get(code, code.replace("_", " ")) for code in within.get(key, ())]
    return listed(list(dict.fromkeys(found)))


def _what_then(method: Method, rule: Mapping[str, Any]) -> str:
    then = rule["then"]
    if "score" in then:
        return worded("the score is {score}", score=then["score"])
    if "rating" in then:
        return worded("no score; the rating is “{rating}”", rating=told(then["rating"]))
    if "set_points" in then:
        names = _metric_names(method, then, "metrics")
        return worded("{metrics}: {points} points each", metrics=names, points=then["set_points"])
    return worded("not rated; the metrics are still shown")
