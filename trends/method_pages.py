"""An index method in words: standing, strata, metrics and their scales, as its page shows them."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from surveys.language import own_words, told, worded
from surveys.said import marked, said
from trends import scale_drawings
from trends.index import catalogue, conditions
from trends.index.exact import exact, short
from trends.index.method import METHODS, Method, Metric, RatingClass
from trends.index.points import Scale
from trends.index.selectors import describe
from trends.method_exceptions import ExceptionView, exception_views
from trends.method_standing import latest_checks, sentence_for
from trends.models import IndexMethodVersion, MethodCheck
from trends.shelf import Held, Shelf, shelf
from trends.trait_lists import list_words

FIGURES_FOR_THE_REGION = marked(
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
    exceptions: tuple[ExceptionView, ...]
    lowest: str  # of the score; empty where the method sets no limits
    highest: str
    decimals: str
    sentence: str
    check: MethodCheck | None
    versions: tuple[Held, ...]
    lists: tuple[str, ...]  # for each stratum with one, which trait list scores its stations here


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
                when=conditions.describe(one.when, worded) if one.when else "",
                metrics=tuple(_metric_view(m) for m in one.metrics),
            )
            for one in method.strata.values()
        ),
        ratings=tuple(_rating_view(method, i) for i in range(len(method.ratings))),
        gaps=_gaps(method),
        ratings_drawing=scale_drawings.ratings_edge(
            method.ratings,
            method.score_range,
            worded("Rating words of {method} along the scale of its score", method=method.title),
        ),
        exceptions=exception_views(method),
        lowest=short(method.score_range[0]) if method.score_range else "",
        highest=short(method.score_range[1]) if method.score_range else "",
        decimals=told(_DECIMALS.get(method.decimals, "")),
        sentence=sentence_for(method, check),
        check=check,
        versions=on_shelf.versions.get(method.code, ()),
        lists=tuple(
            worded("for {stratum} those of {list}", stratum=told(one.name), list=told(list_words(listed)))
            for one in method.strata.values()
            if (listed := on_shelf.traits_for(one.code, method=method))
        ),
    )


_DECIMALS = {0: marked("whole numbers"), 1: marked("one decimal"), 2: marked("two decimals")}


# --- ratings ---------------------------------------------------------------------------------------


def _rating_view(method: Method, place: int) -> RatingView:
    rating = method.ratings[place]
    low = short(rating.at_least)
    if rating.at_most is not None:
        same = rating.at_most == rating.at_least
        scores = low if same else worded("{lower} to {upper}", lower=low, upper=short(rating.at_most))
    elif place:
        limit = short(method.ratings[place - 1].at_least)
        scores = worded("{low} or more, below {limit}", low=low, limit=limit)
    else:
        scores = worded("{low} or more", low=low)
    return RatingView(word=told(rating.word), scores=scores, printed=rating.printed)


def _gaps(method: Method) -> tuple[str, ...]:
    """Scores that can occur and earn no word of their own, read as "between"."""
    found = []
    pairs = zip(method.ratings[1:], method.ratings, strict=False)
    for lower, upper in pairs:
        if lower.at_most is not None and _has_room(method, lower, upper):
            found.append(
                worded(
                    "above {low} and below {high}: between {worse} and {better}",
                    low=short(lower.at_most),
                    high=short(upper.at_least),
                    worse=told(lower.word),
                    better=told(upper.word),
                )
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
    step = "" if metric.rounding is None else short(metric.rounding)
    return MetricView(
        metric=metric,
        counts=tuple(_counts(metric.raw["measure"])),
        leaves_out=tuple(rule.reason for rule in metric.measure.rules)
        + ((metric.measure.young_reason,) if metric.measure.drops_young else ()),
        scales=tuple(_scale_views(metric.scale, metric)),
        rounding=step
        and worded("The value is rounded to multiples of {step} before it is scored, halves up.", step=step),
    )


def _counts(measure: Mapping[str, Any]) -> list[str]:
    """What stands above and below the line of a metric; a remark of the method file in its own words."""
    if measure["kind"] == "either":
        when = conditions.describe(measure["when"], worded)
        return [
            *(
                format_html(worded("where {when}: {line}"), when=when, line=line)
                for line in _counts(measure["then"])
            ),
            *(format_html(worded("otherwise: {line}"), line=line) for line in _counts(measure["otherwise"])),
        ]
    if measure["kind"] == "not_described":
        return [own_words(measure["note"])]
    lines = [worded("counted: {what}", what=describe(measure.get("select"), worded))]
    if measure.get("of"):
        lines.append(worded("out of: {what}", what=describe(measure["of"], worded)))
    if "expected" in measure:
        lines.append(worded("expected number: {line}", line=_line_words(measure["expected"])))
    if "when_none" in measure:
        lines.append(own_words(measure["when_none"]["reason"]))
    return lines


_AREAS = {"acres": marked("acres"), "km2": "km²", "sq_mi": marked("square miles")}


def _line_words(line: Mapping[str, Any]) -> str:
    if line.get("slope") is None or line.get("intercept") is None:
        return worded("a line against the size of the catchment that has not been supplied")
    low = exact(line["intercept"])
    return worded(
        "{slope} × log10(catchment in {area}) {intercept}",
        slope=short(exact(line["slope"])),
        area=told(_AREAS.get(line["area"], line["area"])),
        intercept=f"{'−' if low < 0 else '+'} {short(abs(low))}",
    )


def _scale_views(scale: Scale, metric: Metric, when: str = "") -> list[ScaleView]:
    if scale.kind == "by_condition":
        return [
            view
            for condition, case in scale.cases
            for view in _scale_views(case, metric, conditions.describe(condition, worded))
        ]
    return [_scale_view(scale, metric, when)]


def _scale_view(scale: Scale, metric: Metric, when: str) -> ScaleView:
    raw, how, unit = scale.raw, "", metric.unit
    drawing = mark_safe("")
    name = told(metric.name)
    title = (
        worded("Points for {metric} where {when}", metric=name, when=when)
        if when
        else worded("Points for {metric}", metric=name)
    )
    bands = tuple((_thirds(b.words), short(b.points)) for b in scale.bands)
    if scale.kind == "parts_of_line":
        unit = "part of the line"
        how = worded(
            "Scored as a part of a line ({height}): {line}.",
            height=told(raw.get("drawn_as", marked("expected value"))),
            line=_line_words(raw["line"]),
        )
    elif scale.kind == "term":
        factor = "" if exact(raw["factor"]) == 1 else f"{short(exact(raw['factor']))} × "
        value = worded("ln(value)") if raw["of"] == "ln" else worded("the value itself")
        how = worded("Enters the formula as {term}.", term=f"{factor}{value}")
    elif scale.kind == "continuous":
        if raw["floor"] is not None and raw["ceiling"] is not None:
            floor, ceiling, best = exact(raw["floor"]), exact(raw["ceiling"]), exact(raw["points_at_best"])
            how = worded(
                "In proportion from {floor} to {ceiling}, at most {best} points.",
                floor=short(floor),
                ceiling=short(ceiling),
                best=short(best),
            )
            drawing = scale_drawings.continuous(floor, ceiling, best, metric.better, title)
        else:
            how = worded(
                "In proportion between a floor and a ceiling, at most {best} points.",
                best=raw["points_at_best"],
            )
    if bands:
        drawing = scale_drawings.cut_points(scale.bands, unit, title)
    note = str(raw.get("note", ""))
    return ScaleView(when=when, how=how, drawing=drawing, bands=bands, note=note)


def _thirds(words: str) -> str:
    """Thirds as they are meant, not as they come out in decimals."""
    return words.replace("0.3333", "1/3").replace("0.6667", "2/3")
