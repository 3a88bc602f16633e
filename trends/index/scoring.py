"""Scoring a sample by a method: metric values, points, index score and rating."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

from surveys.said import marked, said
from trends.index import conditions
from trends.index.exact import plain, round_half_up, short
from trends.index.method import Method, Metric, Stratum, load_method
from trends.index.points import Scored
from trends.index.quantities import Measured
from trends.index.results import IndexResult, LeftOut, MetricResult
from trends.index.sample import Sample, read_sample

Points = dict[str, Fraction | None]


def score_sample(method: Method, sample: Mapping[str, Any] | Sample) -> IndexResult:
    """Score one visit's catch by a published index method.

    Parameters
    ----------
    method : Method
        As given by :func:`trends.index.load_method`.
    sample : mapping or Sample
        The catch per taxon with its traits, the stratum, the reach, width and catchment; see
        :func:`trends.index.sample.read_sample`.

    Returns
    -------
    IndexResult
        ``computable`` is False, and ``score`` None, where a metric of the stratum has no points; the
        reasons say why. No sample is turned away silently: a method that is not complete, or a stratum
        that is not known, gives a result with reasons and no score.

    Notes
    -----
    Values are compared with the cut points as exact fractions and are not rounded first, except where
    the method prints whole percents and says so. Traits that are not known leave a metric open only
    where they could change its points.

    Raises
    ------
    SampleError : the sample cannot be read
    """
    read = read_sample(sample)
    if read.parameters:
        method = load_method(method.code, parameters=read.parameters)
    stratum, why_not = find_stratum(method, read)
    if stratum is None:
        return _no_result(method, read, (why_not,))
    measured: dict[str, Measured] = {}
    results: dict[str, MetricResult] = {}
    points: Points = {}
    for metric in stratum.metrics:
        taken = metric.measure.of_sample(read)
        scored = _scored(metric, taken, read)
        measured[metric.id], points[metric.id] = taken, scored.points
        results[metric.id] = _metric_result(metric, taken, scored)
    rule = _exception(method, stratum, read, measured)
    results, points = _set_points(rule, results, points)
    score, reasons = _score(method, results, points, rule)
    rating, rating_reason = (None, "") if score is None else rating_of(method, score)
    if rule is not None and rule["then"].get("rating"):
        rating, rating_reason = rule["then"]["rating"], str(rule["reason"])
    return IndexResult(
        method=method.code,
        version=method.version,
        stratum=stratum.code,
        metrics=results,
        score=plain(score),
        rating=rating,
        computable=score is not None,
        excluded=_left_out(measured, method),
        reasons=tuple(part for part in (*reasons, rating_reason) if part),
        cautions=_cautions(method, stratum, read, rule),
        fish=read.fish,
    )


def find_stratum(method: Method, sample: Sample) -> tuple[Stratum | None, str]:
    """Return the stratum a sample is scored in, or the reason why that is not known."""
    if sample.stratum is not None:
        named = method.stratum(sample.stratum)
        if named is not None:
            return named, ""
        known = ", ".join(method.strata)
        if len(method.strata) > 1:
            return None, said(
                "the method has no stratum '{stratum}'; it has {known}", stratum=sample.stratum, known=known
            )
    strata = tuple(method.strata.values())
    if len(strata) == 1:
        return strata[0], ""
    fitting = [stratum for stratum in strata if stratum.when and conditions.holds(stratum.when, sample)]
    if len(fitting) == 1:
        return fitting[0], ""
    return None, said("the stratum is not given; the method has {known}", known=", ".join(method.strata))


def rating_of(method: Method, score: Fraction) -> tuple[str | None, str]:
    """Return the rating word of a score, or ``between`` two words, with the reason."""
    if not method.ratings:
        return None, marked("the method has no rating words")
    for number, rating in enumerate(method.ratings):
        if score >= rating.at_least:
            if rating.at_most is None or score <= rating.at_most:
                return rating.word, ""
            if number == 0:
                return None, said("{score} lies above the highest class", score=short(score))
            better = method.ratings[number - 1].word
            return (
                said("between {worse} and {better}", worse=rating.word, better=better),
                said(
                    "{score} lies in the gap that the method leaves between {worse} and {better}; "
                    "such a score calls for judgement",
                    score=short(score),
                    worse=rating.word,
                    better=better,
                ),
            )
    return None, said("{score} lies below the lowest class", score=short(score))


def _no_result(method: Method, sample: Sample, reasons: tuple[str, ...]) -> IndexResult:
    return IndexResult(
        method=method.code,
        version=method.version,
        stratum=None,
        metrics={},
        score=None,
        rating=None,
        computable=False,
        excluded=(),
        reasons=reasons,
        cautions=(method.check_note,) if method.check_note else (),
        fish=sample.fish,
    )


def _rounded(metric: Metric, value: Fraction) -> Fraction:
    return value if metric.rounding is None else round_half_up(value, metric.rounding)


def _metric_result(metric: Metric, measured: Measured, scored: Scored) -> MetricResult:
    value = None if measured.value is None else _rounded(metric, measured.value)
    cases = [_rounded(metric, case) for case in measured.cases] or ([] if value is None else [value])
    return MetricResult(
        id=metric.id,
        name=metric.name,
        value=plain(value),
        points=_whole(scored.points),
        reason=scored.reason,
        unit=metric.unit,
        numerator=plain(measured.numerator),
        denominator=plain(measured.denominator),
        taxa=measured.taxa,
        unrounded=plain(measured.value),
        lower=plain(min(cases, default=None)),
        upper=plain(max(cases, default=None)),
        unknown_fish=measured.unknown_fish,
        band=scored.band,
        confidence=metric.provenance.confidence,
    )


def _scored(metric: Metric, measured: Measured, sample: Sample) -> Scored:
    """Return points, band and reason of one metric."""
    if measured.points is not None:
        return Scored(points=measured.points, reason=measured.reason)
    if measured.value is not None:
        scored = metric.scale.score(_rounded(metric, measured.value), sample)
        return scored if scored.reason or not measured.reason else replace(scored, reason=measured.reason)
    if not measured.cases:
        return Scored(points=None, reason=measured.reason)
    cases = [_rounded(metric, case) for case in measured.cases]
    least, most = short(min(cases)), f"{short(max(cases))} {metric.unit}".rstrip()
    outcomes = [metric.scale.score(case, sample) for case in cases]
    found = {scored.points for scored in outcomes}
    if len(found) == 1 and outcomes[0].points is not None:
        same = said(
            "the value lies between {least} and {most}, the points are the same either way",
            least=least,
            most=most,
        )
        return replace(outcomes[0], reason=f"{measured.reason}; {same}")
    known = sorted({scored.points for scored in outcomes if scored.points is not None})
    words: dict[str, Any] = {"least": least, "most": most}
    points = [short(part) for part in known]
    if not points:
        open_still = said("the value lies between {least} and {most}", **words)
    elif len(points) == 1:
        open_still = said(
            "the value lies between {least} and {most}, so the points could be {one}", one=points[0], **words
        )
    elif len(points) == 2:
        open_still = said(
            "the value lies between {least} and {most}, so the points could be {one} or {other}",
            one=points[0],
            other=points[1],
            **words,
        )
    else:
        open_still = said(
            "the value lies between {least} and {most}, so the points could be {one} or {other} or {further}",
            one=points[0],
            other=points[1],
            further=" or ".join(points[2:]),
            **words,
        )
    return Scored(points=None, reason=f"{measured.reason}; {open_still}")


def _whole(points: Fraction | None) -> float | None:
    if points is None:
        return None
    return int(points) if points.denominator == 1 else float(points)


def _exception(
    method: Method, stratum: Stratum, sample: Sample, measured: Mapping[str, Measured]
) -> Mapping[str, Any] | None:
    """Return the first exception of the method that holds for the sample."""
    for rule in method.exceptions:
        if stratum.code not in rule.get("strata", (stratum.code,)):
            continue
        if any(measured[key].value is None for key in rule.get("where_measured", ()) if key in measured):
            continue
        if conditions.holds(rule["when"], sample):
            return rule
    return None


def _set_points(
    rule: Mapping[str, Any] | None, results: dict[str, MetricResult], points: Points
) -> tuple[dict[str, MetricResult], Points]:
    """Apply an exception that fixes the points of some metrics."""
    if rule is None or "set_points" not in rule["then"]:
        return results, points
    fixed = Fraction(rule["then"]["set_points"])
    for key in rule["then"]["metrics"]:
        if key in results:
            results = {**results, key: replace(results[key], points=_whole(fixed), reason=rule["reason"])}
            points = {**points, key: fixed}
    return results, points


def _score(
    method: Method, results: Mapping[str, MetricResult], points: Points, rule: Mapping[str, Any] | None
) -> tuple[Fraction | None, list[str]]:
    if rule is not None and "score" in rule["then"]:
        return Fraction(rule["then"]["score"]), [str(rule["reason"])]
    reasons = []
    if not method.complete:
        reasons.append(
            said("The method is not complete here. Missing: {missing}", missing=" ".join(method.missing))
        )
    if rule is not None and (rule["then"].get("not_rated") or rule["then"].get("rating")):
        reasons.append(str(rule["reason"]))
    for key, found in points.items():
        if found is None:
            reasons.append(f"{results[key].name}: {results[key].reason}")
    if reasons:
        return None, reasons
    known = [found for found in points.values() if found is not None]
    total = sum(known, Fraction(0))
    if method.combine == "mean":
        return total / len(known), []
    if method.combine == "rescaled_sum":
        return method.rescaled_to * total / (method.full_points * len(known)), []
    return total, []


def _left_out(measured: Mapping[str, Measured], method: Method) -> tuple[LeftOut, ...]:
    """Join what each metric left out: one entry per taxon and reason, naming the metrics."""
    joined: dict[tuple[str, str], LeftOut] = {}
    for key, found in measured.items():
        for item in found.left_out:
            before = joined.get((item.taxon, item.reason))
            metrics = (*(before.metrics if before else ()), key)
            joined[(item.taxon, item.reason)] = replace(item, metrics=metrics)
    return tuple(joined.values())


def _cautions(
    method: Method, stratum: Stratum, sample: Sample, rule: Mapping[str, Any] | None
) -> tuple[str, ...]:
    found = [stratum.caution, method.check_note]
    if rule is not None and rule.get("caution"):
        found.append(str(rule["caution"]))
    drops_young = any(metric.measure.drops_young for metric in stratum.metrics)
    if drops_young and not sample.young_recorded and sample.fish:
        found.append(marked("Fish of the year were not recorded apart, so none were left out."))
    wanted = method.applies_to.get("passes")
    if wanted is not None and sample.n_passes != wanted:
        found.append(
            said(
                "The method was made for {wanted} passes; this sample has {n}.",
                wanted=wanted,
                n=sample.n_passes,
            )
        )
    return tuple(part for part in found if part)
