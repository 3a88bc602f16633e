"""Reading a score: how far to the next band, what would change the rating, what a doubt would do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from surveys.said import marked, said
from trends.index.exact import exact, plain, short
from trends.index.method import Method, Metric
from trends.index.points import Band
from trends.index.results import IndexResult
from trends.index.sample import Sample, read_sample
from trends.index.scoring import score_sample
from trends.index.taxa import name_key
from trends.index.traits import read_traits


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """What one metric lacks to the next better band, and what it has in hand before the next worse one."""

    metric: str
    name: str
    unit: str
    value: float
    points: float
    better_points: float | None  # None: already in the best band
    better_limit: float | None
    better_distance: float | None
    worse_points: float | None  # None: already in the worst band
    worse_limit: float | None
    worse_distance: float | None
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WayUp:
    """What it takes from a score to the next rating word."""

    rating: str | None  # the next better word; None where there is none, or no score
    limit: float | None
    score_lacking: float | None
    single_metrics: tuple[Step, ...]  # metrics whose next band alone would be enough
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """The score under another reading of the same catch."""

    label: str
    score: float | None
    rating: str | None
    change: float | None
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MetricChange:
    """One metric in two results: what it gave before and after, and its part in the change of the score."""

    metric: str
    name: str
    value_before: float | None
    value_after: float | None
    points_before: float | None
    points_after: float | None
    points_change: float | None
    score_part: float | None  # its part in the change of the index score


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two results of one method side by side."""

    comparable: bool
    reason: str
    change: float | None
    metrics: tuple[MetricChange, ...]  # greatest part first


def steps(result: IndexResult, method: Method) -> tuple[Step, ...]:
    """Return for each metric scored by cut points how far it is to the bands on either side.

    Metrics without a value, or scored in another way, are left out.
    """
    stratum = method.stratum(result.stratum)
    if stratum is None:
        return ()
    found = (_step(metric, result) for metric in stratum.metrics)
    return tuple(step for step in found if step is not None)


def what_to_next_rating(result: IndexResult, method: Method) -> WayUp:
    """Say what a score lacks to the next better rating word, and which single metrics would earn it."""
    if result.score is None:
        return _no_way(marked("there is no score"))
    score = exact(result.score)
    better = [rating for rating in method.ratings if rating.at_least > score]
    if not better:
        return _no_way(
            marked("the score is in the best class")
            if method.ratings
            else marked("the method has no rating words")
        )
    goal = better[-1]
    lacking = goal.at_least - score
    weight = _weight(method, len(result.metrics))
    enough = tuple(
        step
        for step in steps(result, method)
        if step.better_points is not None
        and exact(step.better_points - step.points) * weight >= lacking - Fraction(1, 10**9)
    )
    return WayUp(
        rating=goal.word,
        limit=plain(goal.at_least),
        score_lacking=plain(lacking),
        single_metrics=enough,
        reason="",
    )


def sensitivity(
    method: Method,
    sample: Mapping[str, Any] | Sample,
    *,
    look_alikes: Iterable[tuple[str, str]] = (),
    traits: Mapping[str, Mapping[str, Any]] | None = None,
    fewer_passes: bool = True,
) -> tuple[WhatIf, ...]:
    """Score the same catch under other readings: kinds confused, or the last passes not made.

    Parameters
    ----------
    look_alikes : iterable of pairs of scientific names
        For each pair of which one or both were caught, all fish of the first are read as the second,
        and the other way round.
    traits : mapping, optional
        Traits, as in a sample, of look-alikes that were not caught. Without them the reading is left out.
    fewer_passes : bool
        Also leave out the last pass, the last two, and so on.
    """
    read = read_sample(sample)
    base = score_sample(method, read)
    found = []
    for one, other in look_alikes:
        for wrong, right in ((one, other), (other, one)):
            changed = _confused(read, wrong, right, traits or {})
            if changed is not None:
                label = said("all {kind} read as {other}", kind=wrong, other=right)
                found.append(_what_if(label, base, score_sample(method, changed)))
    if fewer_passes:
        for number in range(read.n_passes - 1, 0, -1):
            label = marked("first pass only") if number == 1 else said("first {n} passes only", n=number)
            found.append(_what_if(label, base, score_sample(method, read.first_passes(number))))
    return tuple(found)


def compare_years(before: IndexResult, after: IndexResult, method: Method) -> Comparison:
    """Say which metrics explain the change between two scores of one station."""
    if (before.method, before.version, before.stratum) != (after.method, after.version, after.stratum):
        return Comparison(
            comparable=False, reason=marked("method, version or stratum differ"), change=None, metrics=()
        )
    if before.score is None or after.score is None:
        return Comparison(
            comparable=False, reason=marked("one of the two has no score"), change=None, metrics=()
        )
    weight = _weight(method, len(after.metrics))
    changes = [_metric_change(before, after, key, weight) for key in after.metrics if key in before.metrics]
    ordered = sorted(changes, key=lambda change: -abs(change.score_part or 0.0))
    return Comparison(
        comparable=True,
        reason="",
        change=plain(exact(after.score) - exact(before.score)),
        metrics=tuple(ordered),
    )


def _weight(method: Method, metrics: int) -> Fraction:
    """Return by how much the index moves for one point of one metric."""
    if method.combine == "mean":
        return Fraction(1, metrics)
    if method.combine == "rescaled_sum":
        return method.rescaled_to / (method.full_points * metrics)
    return Fraction(1)


def _no_way(reason: str) -> WayUp:
    return WayUp(rating=None, limit=None, score_lacking=None, single_metrics=(), reason=reason)


def _limit(band: Band) -> Fraction | None:
    limits = (band.at_least, band.above, band.at_most, band.below)
    return next((limit for limit in limits if limit is not None), None)


def _step(metric: Metric, result: IndexResult) -> Step | None:
    given = result.metrics.get(metric.id)
    bands = metric.scale.bands
    if given is None or given.value is None or given.points is None or metric.scale.kind != "cut_points":
        return None
    place = next((number for number, band in enumerate(bands) if band.holds(exact(given.value))), None)
    if place is None:
        return None
    better = bands[place - 1] if place else None
    worse = bands[place + 1] if place + 1 < len(bands) else None
    better_limit = None if better is None else _limit(better)
    worse_limit = None if worse is None else _limit(bands[place])
    value = exact(given.value)
    if better is None or better_limit is None:
        words = marked("in the best band")
    else:
        away = f"{short(abs(better_limit - value))} {metric.unit}"
        words = said(
            "{away} from {band}, which earns {points}",
            away=away,
            band=better.words,
            points=short(better.points),
        )
    return Step(
        metric=metric.id,
        name=metric.name,
        unit=metric.unit,
        value=given.value,
        points=given.points,
        better_points=None if better is None else float(better.points),
        better_limit=plain(better_limit),
        better_distance=None if better_limit is None else float(abs(better_limit - value)),
        worse_points=None if worse is None else float(worse.points),
        worse_limit=plain(worse_limit),
        worse_distance=None if worse_limit is None else float(abs(value - worse_limit)),
        words=words,
    )


def _confused(
    sample: Sample, wrong: str, right: str, traits: Mapping[str, Mapping[str, Any]]
) -> Sample | None:
    """Return the sample with all fish of one kind moved to another; None where that cannot be read."""
    listed = {taxon.traits.key: taxon for taxon in sample.taxa}
    source, target = listed.get(name_key(wrong)), listed.get(name_key(right))
    if source is None or not source.count:
        return None
    if target is None:
        if right not in traits:
            return None
        target = replace(source, traits=read_traits(right, traits[right]))
        return replace(sample, taxa=tuple(target if taxon is source else taxon for taxon in sample.taxa))
    if target.count is None:
        return None
    length = max(len(source.passes), len(target.passes))
    passes = tuple(_pass(source.passes, index) + _pass(target.passes, index) for index in range(length))
    weights = (source.biomass_g, target.biomass_g if target.count else Fraction(0))
    joined = replace(
        target,
        passes=passes,
        count=sum(passes),
        young=source.young + target.young,
        anomalies=None if source.anomalies is None else source.anomalies + (target.anomalies or 0),
        biomass_g=None
        if None in weights
        else sum((part for part in weights if part is not None), Fraction(0)),
    )
    kept = tuple(joined if taxon is target else taxon for taxon in sample.taxa if taxon is not source)
    return replace(sample, taxa=kept)


def _pass(passes: tuple[int | None, ...], index: int) -> int:
    return (passes[index] or 0) if index < len(passes) else 0


def _what_if(label: str, base: IndexResult, other: IndexResult) -> WhatIf:
    change = None
    if base.score is not None and other.score is not None:
        change = plain(exact(other.score) - exact(base.score))
    return WhatIf(label=label, score=other.score, rating=other.rating, change=change, reasons=other.reasons)


def _metric_change(before: IndexResult, after: IndexResult, key: str, weight: Fraction) -> MetricChange:
    old, new = before.metrics[key], after.metrics[key]
    change = None
    if old.points is not None and new.points is not None:
        change = exact(new.points) - exact(old.points)
    return MetricChange(
        metric=key,
        name=new.name,
        value_before=old.value,
        value_after=new.value,
        points_before=old.points,
        points_after=new.points,
        points_change=plain(change),
        score_part=None if change is None else float(change * weight),
    )
