"""An index method in words: standing, strata, metrics and their scales, as its page shows them."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from trends import scale_drawings
from trends.index import catalogue, conditions
from trends.index.exact import exact, short
from trends.index.method import METHODS, Method, Metric, RatingClass
from trends.index.points import Scale
from trends.index.selectors import describe
from trends.language import told
from trends.method_standing import latest_checks, sentence_for
from trends.models import IndexMethodVersion, MethodCheck
from trends.said import said
from trends.shelf import Held, Shelf, shelf
from trends.trait_lists import list_words

FIGURES_FOR_THE_REGION = (
    "The method leaves some figures to each region. They have not been supplied here, so it gives no score."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleView:
    """One scale of a metric: when it applies, what it looks like, and its bands in words."""

    when: str
    how: str
    drawing: SafeString
    bands: tuple[tuple[str, str], ...]
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MetricView:
    metric: Metric
    counts: tuple[str, ...]
    leaves_out: tuple[str, ...]
    scales: tuple[ScaleView, ...]
    rounding: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StratumView:
    code: str
    name: str
    caution: str
    when: str
    metrics: tuple[MetricView, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RatingView:
    word: str
    scores: str
    printed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodView:
    """Everything the page of a method shows."""

    method: Method
    standing: str
    why_not: tuple[str, ...]
    in_use: bool
    strata: tuple[StratumView, ...]
    ratings: tuple[RatingView, ...]
    gaps: tuple[str, ...]
    ratings_drawing: SafeString
    exceptions: tuple[tuple[str, str, str], ...]
    combined: str
    sentence: str
    check: MethodCheck | None
    versions: tuple[Held, ...]
    lists: tuple[tuple[str, str], ...]  # (stratum, trait list that scores its stations here)


def file_text(held: Held) -> str:
    """The method file as it lies on the shelf."""
    if held.pk is None:
        return (METHODS / f"{held.code}.yaml").read_text(encoding="utf-8")
    return IndexMethodVersion.objects.get(pk=held.pk).text


def standing(method: Method, check: MethodCheck | None = None) -> str:
    """Whether scores can be made, and what to bear in mind."""
    scores = "Gives scores." if method.usable and check else catalogue.standing(method)
    if method.usable:
        return said("Usable. {scores}", scores=scores)
    return said("Not usable. {scores}", scores=scores)


def method_list() -> list[MethodView]:
    """Every method in its present version: those in use, then those that can be used, then the others."""
    on_shelf, checks = shelf(), latest_checks()
    held = [on_shelf.held(code) for code in on_shelf.codes()]
    views = [method_view(one.method(), on_shelf, checks) for one in held if one is not None]
    return sorted(
        views,
        key=lambda view: (
            not view.in_use,
            not view.method.usable,
            not view.method.complete,
            view.method.title,
        ),
    )


def method_view(
    method: Method,
    on_shelf: Shelf | None = None,
    checks: Mapping[tuple[str, str], MethodCheck] | None = None,
) -> MethodView:
    on_shelf = on_shelf or shelf()
    check = (latest_checks() if checks is None else checks).get((method.code, method.version))
    why_not = () if method.usable else method.missing
    if method.waiting_for:
        why_not = (FIGURES_FOR_THE_REGION, *method.missing)
    return MethodView(
        method=method,
        standing=standing(method, check),
        why_not=why_not,
        in_use=method.code in on_shelf.used_codes(),
        strata=tuple(
            StratumView(
                code=one.code,
                name=one.name,
                caution=one.caution,
                when=conditions.describe(one.when) if one.when else "",
                metrics=tuple(_metric_view(m) for m in one.metrics),
            )
            for one in method.strata.values()
        ),
        ratings=tuple(_rating_view(method, i) for i in range(len(method.ratings))),
        gaps=_gaps(method),
        ratings_drawing=scale_drawings.ratings_edge(
            method.ratings, method.score_range, f"Rating words of {method.title} along the scale of its score"
        ),
        exceptions=tuple(
            (conditions.describe(rule["when"]), _what_then(rule["then"]), str(rule["reason"]))
            for rule in method.exceptions
        ),
        combined=_combined(method),
        sentence=sentence_for(method, check),
        check=check,
        versions=on_shelf.versions.get(method.code, ()),
        lists=tuple(
            (one.name, told(list_words(listed)))
            for one in method.strata.values()
            if (listed := on_shelf.traits_for(one.code, method=method))
        ),
    )


def _combined(method: Method) -> str:
    limits = method.score_range
    ends = f", from {short(limits[0])} to {short(limits[1])}" if limits else ""
    places = {0: "whole numbers", 1: "one decimal", 2: "two decimals"}.get(method.decimals, "")
    return f"{method.formula[:1].upper()}{method.formula[1:]}{ends}; shown in {places}."


def _what_then(then: Mapping[str, Any]) -> str:
    if "score" in then:
        return f"the score is {then['score']}"
    if "rating" in then:
        return f"no score; the rating is “{then['rating']}”"
    if "set_points" in then:
        return f"{', '.join(str(m).replace('_', ' ') for m in then['metrics'])}: {then['set_points']} "
        "points each"
    return "not rated; the metrics are still shown"


# --- ratings ---------------------------------------------------------------------------------------


def _rating_view(method: Method, place: int) -> RatingView:
    rating = method.ratings[place]
    low = short(rating.at_least)
    if rating.at_most is not None:
        scores = low if rating.at_most == rating.at_least else f"{low} to {short(rating.at_most)}"
    elif place:
        scores = f"{low} or more, below {short(method.ratings[place - 1].at_least)}"
    else:
        scores = f"{low} or more"
    return RatingView(word=rating.word, scores=scores, printed=rating.printed)


def _gaps(method: Method) -> tuple[str, ...]:
    """Scores that can occur and earn no word of their own, read as "between"."""
    found = []
    pairs = zip(method.ratings[1:], method.ratings, strict=False)
    for lower, upper in pairs:
        if lower.at_most is not None and _has_room(method, lower, upper):
            found.append(
                f"above {short(lower.at_most)} and below {short(upper.at_least)}: "
                f"between {lower.word} and {upper.word}"
            )
    return tuple(reversed(found))


def _has_room(method: Method, lower: RatingClass, upper: RatingClass) -> bool:
    """Whether a score can fall between two classes: sums of points move in steps."""
    assert lower.at_most is not None
    steps = {
        scale.bands[i].points - scale.bands[i + 1].points
        for stratum in method.strata.values()
        for metric in stratum.metrics
        for scale in _leaves(metric.scale)
        for i in range(len(scale.bands) - 1)
    }
    step = min((abs(s) for s in steps if s), default=exact(0))
    return upper.at_least - lower.at_most > (step if method.combine == "sum" else 0)


def _leaves(scale: Scale) -> list[Scale]:
    return [leaf for _, case in scale.cases for leaf in _leaves(case)] if scale.cases else [scale]


# --- metrics ---------------------------------------------------------------------------------------


def _metric_view(metric: Metric) -> MetricView:
    return MetricView(
        metric=metric,
        counts=tuple(_counts(metric.raw["measure"])),
        leaves_out=tuple(rule.reason for rule in metric.measure.rules)
        + ((metric.measure.young_reason,) if metric.measure.drops_young else ()),
        scales=tuple(_scale_views(metric.scale, metric)),
        rounding=f"The value is rounded to multiples of {short(metric.rounding)} before it is scored, "
        "halves up."
        if metric.rounding is not None
        else "",
    )


def _counts(measure: Mapping[str, Any]) -> list[str]:
    """What stands above and below the line of a metric, in the words of the method file."""
    if measure["kind"] == "either":
        when = conditions.describe(measure["when"])
        return [
            *(f"where {when}: {line}" for line in _counts(measure["then"])),
            *(f"otherwise: {line}" for line in _counts(measure["otherwise"])),
        ]
    if measure["kind"] == "not_described":
        return [str(measure["note"])]
    told = [f"counted: {describe(measure.get('select'))}"]
    if measure.get("of"):
        told.append(f"out of: {describe(measure['of'])}")
    if "expected" in measure:
        told.append(f"expected number: {_line_words(measure['expected'])}")
    if "when_none" in measure:
        told.append(str(measure["when_none"]["reason"]))
    return told


_AREAS = {"acres": "acres", "km2": "km²", "sq_mi": "square miles"}


def _line_words(line: Mapping[str, Any]) -> str:
    if line.get("slope") is None or line.get("intercept") is None:
        return "a line against the size of the catchment that has not been supplied"
    low = exact(line["intercept"])
    sign = "−" if low < 0 else "+"
    area = _AREAS.get(line["area"], line["area"])
    return f"{short(exact(line['slope']))} × log10(catchment in {area}) {sign} {short(abs(low))}"


def _scale_views(scale: Scale, metric: Metric, when: str = "") -> list[ScaleView]:
    if scale.kind == "by_condition":
        return [
            view
            for condition, case in scale.cases
            for view in _scale_views(case, metric, conditions.describe(condition))
        ]
    return [_scale_view(scale, metric, when)]


def _scale_view(scale: Scale, metric: Metric, when: str) -> ScaleView:
    raw, how, unit = scale.raw, "", metric.unit
    drawing = mark_safe("")
    title = f"Points for {metric.name}{f' where {when}' if when else ''}"
    bands = tuple((_band_words(b.words), short(b.points)) for b in scale.bands)
    if scale.kind == "parts_of_line":
        unit = "part of the line"
        how = f"Scored as a part of a line ({raw.get('drawn_as', 'expected value')}): {_line_words(raw['line'])}."
    elif scale.kind == "term":
        factor = "" if exact(raw["factor"]) == 1 else f"{short(exact(raw['factor']))} × "
        how = f"Enters the formula as {factor}{'ln(value)' if raw['of'] == 'ln' else 'the value itself'}."
    elif scale.kind == "continuous":
        if raw["floor"] is not None and raw["ceiling"] is not None:
            floor, ceiling, best = exact(raw["floor"]), exact(raw["ceiling"]), exact(raw["points_at_best"])
            how = f"In proportion from {short(floor)} to {short(ceiling)}, at most {short(best)} points."
            drawing = scale_drawings.continuous(floor, ceiling, best, metric.better, title)
        else:
            how = f"In proportion between a floor and a ceiling, at most {raw['points_at_best']} points."
    if bands:
        drawing = scale_drawings.cut_points(scale.bands, unit, title)
    note = str(raw.get("note", ""))
    return ScaleView(when=when, how=how, drawing=drawing, bands=bands, note=note)


def _band_words(words: str) -> str:
    """Thirds as they are meant, not as they come out in decimals; the last band in words."""
    return words.replace("0.3333", "1/3").replace("0.6667", "2/3").replace("otherwise", "anything else")
