"""What scoring hands back: frozen results that lead from the score to the fish behind it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Contribution:
    """The part of one taxon in the top line of a metric."""

    taxon: str
    amount: float  # fish, grams or fish with anomalies, as the metric counts


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A taxon, or part of its fish, that a rule keeps out of one metric or of all."""

    taxon: str
    fish: int
    metrics: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MetricResult:
    """One metric: value, points, and how they came about. What is missing is None with a reason."""

    id: str
    name: str
    value: float | None  # in `unit`; rounded first where the method bands whole numbers
    points: float | None
    reason: str  # why value or points are missing, or a remark; empty where there is nothing to say
    unit: str
    numerator: float | None
    denominator: float | None
    taxa: tuple[Contribution, ...]
    unrounded: float | None
    lower: float | None  # least and greatest value where traits of some fish are not known
    upper: float | None
    unknown_fish: int  # fish whose place in this metric is not known
    band: str  # the band the value fell into, in words
    confidence: str  # how sure the cut points are: high, medium, low


@dataclass(frozen=True, slots=True, kw_only=True)
class IndexResult:
    """An index score with its metrics, or the reasons why there is none."""

    method: str
    version: str
    stratum: str | None
    metrics: Mapping[str, MetricResult]
    score: float | None
    rating: str | None
    computable: bool
    excluded: tuple[LeftOut, ...]
    reasons: tuple[str, ...]  # why there is no score or no rating
    cautions: tuple[str, ...]  # what a reader of the score must know
    fish: int


def to_plain(result: IndexResult) -> dict[str, Any]:
    """Return a result as plain lists and mappings, for storing as JSON."""
    plain = {name: getattr(result, name) for name in IndexResult.__slots__}
    plain["metrics"] = {key: asdict(metric) for key, metric in result.metrics.items()}
    plain["excluded"] = [asdict(left_out) for left_out in result.excluded]
    plain["reasons"] = list(result.reasons)
    plain["cautions"] = list(result.cautions)
    return plain


def from_plain(plain: Mapping[str, Any]) -> IndexResult:
    """Return the result that :func:`to_plain` wrote down."""
    metrics = {
        key: MetricResult(**{**metric, "taxa": tuple(Contribution(**part) for part in metric["taxa"])})
        for key, metric in plain["metrics"].items()
    }
    left_out = tuple(LeftOut(**{**part, "metrics": tuple(part["metrics"])}) for part in plain["excluded"])
    return IndexResult(
        **{
            **plain,
            "metrics": metrics,
            "excluded": left_out,
            "reasons": tuple(plain["reasons"]),
            "cautions": tuple(plain["cautions"]),
        }
    )
