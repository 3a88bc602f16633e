"""An index score step by step, for templates: from the catch to metrics, points, score and rating."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django import template

from surveys import language
from surveys.language import told, worded
from trends.index import explain
from trends.index.exact import exact, short
from trends.index.method import Method, Metric
from trends.index.points import OTHERWISE
from trends.index.results import from_plain

register = template.Library()


@dataclass(frozen=True, slots=True, kw_only=True)
class MetricRow:
    """A metric's result beside its description; ``most`` is the most points it can earn."""

    result: Mapping[str, Any]
    metric: Metric | None
    most: str
    between: str


_OF_THE_LINE = re.compile(r"(.+) of the line \((.+)\)")
_SPAN = re.compile(r"(\S+) to (\S+)")


@register.filter
def figure(value: Any, unit: str = "") -> str:
    """A number as short as it can be said, with a true minus sign; empty where there is none."""
    decimals = 2 if unit == "%" else 3
    return "" if value is None else short(float(value), decimals).replace("-", "−")


@register.filter
def band_words(band: str) -> str:
    """The band a value fell into; the last band of a scale has no limits of its own."""
    line = _OF_THE_LINE.fullmatch(band)
    if line:
        return worded("{band} of the line ({height})", band=_limits(line[1]), height=line[2])
    return _limits(band)


@register.filter
def own_words(words: Any) -> str:
    return language.own_words(words)


@register.filter
def own_sentence(words: Any) -> str:
    """The same with a capital letter in front."""
    return language.own_words(words, sentence=True)


def _limits(band: str) -> str:
    if band == OTHERWISE:
        return worded("anything else")
    span = _SPAN.fullmatch(band)
    if span:
        return worded("{lower} to {upper}", lower=span[1], upper=span[2])
    return worded(" and ").join(band.split(" and "))


def _in_order(index: Mapping[str, Any], method: Method) -> list[tuple[str, Mapping[str, Any]]]:
    """The metrics as the method lists them; a stored result has lost that order."""
    stratum = method.stratum(index["stratum"])
    place = {m.id: i for i, m in enumerate(stratum.metrics)} if stratum else {}
    return sorted(index["metrics"].items(), key=lambda item: place.get(item[0], len(place)))


@register.simple_tag
def metric_rows(index: Mapping[str, Any], method: Method) -> list[MetricRow]:
    stratum = method.stratum(index["stratum"])
    described = {m.id: m for m in stratum.metrics} if stratum else {}
    rows = []
    for key, result in _in_order(index, method):
        metric = described.get(key)
        most = metric.scale.most_points if metric else None
        between = ""
        if result["value"] is None and result.get("lower") is not None:
            between = worded(
                "{lower} to {upper}", lower=short(result["lower"], 3), upper=short(result["upper"], 3)
            )
        rows.append(
            MetricRow(result=result, metric=metric, most="" if most is None else short(most), between=between)
        )
    return rows


@register.simple_tag
def stratum_name(index: Mapping[str, Any], method: Method) -> str:
    stratum = method.stratum(index["stratum"])
    return told(stratum.name) if stratum else ""


@register.simple_tag
def how_combined(index: Mapping[str, Any], method: Method) -> str:
    """The arithmetic from the points to the score; empty where the points do not make it up."""
    points = [m["points"] for _, m in _in_order(index, method)]
    if index["score"] is None or not points or any(p is None for p in points):
        return ""
    total = sum((exact(p) for p in points), exact(0))
    parts = " + ".join(short(p, 2) for p in points)
    expected, line = total, f"{parts} = {short(total, 2)}"
    if method.combine == "mean":
        expected = total / len(points)
        line = f"({parts}) / {len(points)} = {short(expected, method.decimals)}"
    elif method.combine == "rescaled_sum":
        expected = method.rescaled_to * total / (method.full_points * len(points))
        line = (
            f"{short(method.rescaled_to)} × ({parts}) / {short(method.full_points * len(points))} "
            f"= {short(expected, method.decimals)}"
        )
    # Where an exception of the method fixes the score, the sum of the points is not how it came about.
    return line if abs(float(expected) - float(index["score"])) < 1e-6 else ""


def _to_next_band(step: explain.Step) -> str:
    """How far the value is from the next better band, and what that band earns."""
    if step.better_points is None or step.better_distance is None:
        return ""
    earns = short(step.better_points)
    if not step.better_distance:
        return worded("on the very edge of the next band, which earns {points}", points=earns)
    unit = worded("percentage points") if step.unit == "%" else told(step.unit)
    far = short(step.better_distance, 2)
    if far == "0":
        return worded(
            "less than 0.01 {unit} from the next band, which earns {points}", unit=unit, points=earns
        )
    return worded("{far} {unit} from the next band, which earns {points}", far=far, unit=unit, points=earns)


@register.simple_tag
def what_decides(index: Mapping[str, Any], method: Method) -> dict[str, Any]:
    """The metrics that pull the score down, and what it takes to reach the next rating word."""
    result = from_plain(index)  # type: ignore[arg-type]
    if result.score is None or method.combine == "formula":
        return {}
    stratum = method.stratum(result.stratum)
    most = {m.id: m.scale.most_points for m in stratum.metrics} if stratum else {}
    steps = {step.metric: step for step in explain.steps(result, method)}
    low = [
        {
            "name": metric.name,
            "points": metric.points,
            "most": float(best),
            "lacking": float(best) - metric.points,
            "words": _to_next_band(steps[key]) if key in steps else metric.reason,
        }
        for key, metric in result.metrics.items()
        if (best := most.get(key)) is not None and metric.points is not None and metric.points < best
    ]
    low.sort(key=lambda row: -float(str(row["lacking"])))
    return {"low": low, "way": explain.what_to_next_rating(result, method)}
