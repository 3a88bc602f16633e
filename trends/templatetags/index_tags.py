"""An index score step by step, for templates: from the catch to metrics, points, score and rating."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django import template

from trends.index import explain
from trends.index.exact import exact, short
from trends.index.method import Method, Metric
from trends.index.results import from_plain

register = template.Library()


@dataclass(frozen=True, slots=True, kw_only=True)
class MetricRow:
    """A metric's result beside its description; ``most`` is the most points it can earn."""

    result: Mapping[str, Any]
    metric: Metric | None
    most: str
    between: str


@register.filter
def figure(value: Any) -> str:
    """A number as short as it can be said, with a true minus sign; empty where there is none."""
    return "" if value is None else short(float(value), 3).replace("-", "−")


@register.simple_tag
def metric_rows(index: Mapping[str, Any], method: Method) -> list[MetricRow]:
    stratum = method.stratum(index["stratum"])
    described = {m.id: m for m in stratum.metrics} if stratum else {}
    rows = []
    for key, result in index["metrics"].items():
        metric = described.get(key)
        most = metric.scale.most_points if metric else None
        between = ""
        if result["value"] is None and result.get("lower") is not None:
            between = f"{short(result['lower'], 3)} to {short(result['upper'], 3)}"
        rows.append(
            MetricRow(result=result, metric=metric, most="" if most is None else short(most), between=between)
        )
    return rows


@register.simple_tag
def stratum_name(index: Mapping[str, Any], method: Method) -> str:
    stratum = method.stratum(index["stratum"])
    return stratum.name if stratum else ""


@register.simple_tag
def how_combined(index: Mapping[str, Any], method: Method) -> str:
    """The arithmetic from the points to the score; empty where the points do not make it up."""
    points = [m["points"] for m in index["metrics"].values()]
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
            "words": steps[key].words if key in steps else metric.reason,
        }
        for key, metric in result.metrics.items()
        if (best := most.get(key)) is not None and metric.points is not None and metric.points < best
    ]
    low.sort(key=lambda row: -row["lacking"])
    return {"low": low, "way": explain.what_to_next_rating(result, method)}
