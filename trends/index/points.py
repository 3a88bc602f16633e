"""From a value to points: cut points, lines against stream size, continuous scores, formula terms."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from surveys.said import marked, said
from trends.index import conditions
from trends.index.exact import exact, short
from trends.index.quantities import NotMeasurableError, area_words, line_at
from trends.index.sample import Sample

_SIGNS = {"at_least": "≥", "above": ">", "at_most": "≤", "below": "<"}
# What a band without limits is called; pages say it, and the signs of the others, in their own language.
OTHERWISE = "otherwise"
NOT_FOUND = marked("the cut points of this metric are not found")


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """One step of a scale: the first band whose limits hold gives the points."""

    points: Fraction
    at_least: Fraction | None = None
    above: Fraction | None = None
    at_most: Fraction | None = None
    below: Fraction | None = None
    words: str = OTHERWISE  # the limits in signs

    def holds(self, value: Fraction) -> bool:
        """Say whether the value lies within the limits; whether they are included is part of their names."""
        return (
            (self.at_least is None or value >= self.at_least)
            and (self.above is None or value > self.above)
            and (self.at_most is None or value <= self.at_most)
            and (self.below is None or value < self.below)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Scored:
    """Points and the band they come from, or the reason there are none."""

    points: Fraction | None
    band: str = ""
    reason: str = ""


def bands_of(listed: Sequence[Mapping[str, Any]]) -> tuple[Band, ...]:
    """Read the bands of a scale."""
    return tuple(_band(item) for item in listed)


def _band(item: Mapping[str, Any]) -> Band:
    limits = {name: exact(item[name]) for name in _SIGNS if item.get(name) is not None}
    parts = [f"{_SIGNS[name]} {short(limit)}" for name, limit in limits.items()]
    if any(isinstance(item.get(name), str) for name in _SIGNS):  # a fraction stays as it is written
        parts = [f"{_SIGNS[name]} {item[name]}" for name in limits]
    return Band(points=exact(item["points"]), words=" and ".join(parts) or OTHERWISE, **limits)


class Scale:
    """How the values of one metric become points, compiled from its ``scoring`` clause."""

    def __init__(self, raw: Mapping[str, Any], *, better: str) -> None:
        self.raw = raw
        self.kind: str = raw["kind"]
        self.better = better
        self.bands = bands_of(raw.get("bands") or ())
        self.cases = tuple(
            (case["when"], Scale(case["scoring"], better=better)) for case in raw.get("cases", ())
        )

    @property
    def waits_for_figures(self) -> bool:
        """Whether the scale needs figures that the method leaves to each region."""
        if not self.raw.get("to_be_given"):
            return False
        line = self.raw.get("line")
        return line["slope"] is None or line["intercept"] is None if line is not None else not self.bands

    @property
    def most_points(self) -> Fraction | None:
        """The most points the metric can earn; None where that is open."""
        if self.kind == "continuous":
            return exact(self.raw["points_at_best"])
        if self.kind == "by_condition":
            found = [scale.most_points for _, scale in self.cases]
            known = [points for points in found if points is not None]
            return max(known) if known else None
        return max((band.points for band in self.bands), default=None)

    def for_sample(self, sample: Sample) -> Scale | None:
        """Return the scale that applies to a sample, or None where its facts do not settle it."""
        if self.kind != "by_condition":
            return self
        for when, scale in self.cases:
            found = conditions.holds(when, sample)
            if found is None:
                return None
            if found:
                return scale.for_sample(sample)
        return None

    def score(self, value: Fraction, sample: Sample) -> Scored:
        """Return the points a value earns."""
        if self.kind == "cut_points":
            return self._by_bands(value, value) if self.bands else self._missing()
        if self.kind == "parts_of_line":
            return self._by_line(value, sample)
        if self.kind == "continuous":
            return self._continuous(value)
        if self.kind == "term":
            return self._term(value)
        if self.kind == "by_condition":
            scale = self.for_sample(sample)
            if scale is None:
                return Scored(points=None, reason=marked("which scale applies is not known or not found"))
            return scale.score(value, sample)
        return self._missing()

    def _missing(self) -> Scored:
        return Scored(points=None, reason=str(self.raw.get("note") or NOT_FOUND))

    def _by_bands(self, value: Fraction, shown: Fraction) -> Scored:
        for band in self.bands:
            if band.holds(value):
                return Scored(points=band.points, band=band.words)
        return Scored(
            points=None, reason=said("the value {value} lies in no band of the method", value=short(shown))
        )

    def _by_line(self, value: Fraction, sample: Sample) -> Scored:
        line = self.raw["line"]
        if line["slope"] is None or line["intercept"] is None:
            return self._missing()
        try:
            height = line_at(line, sample)
        except NotMeasurableError as error:
            return Scored(points=None, reason=str(error))
        if height <= 0:
            return Scored(
                points=None,
                reason=said(
                    "the line stands at {height}, not above zero, for {catchment}: the stream is too small for "
                    "this metric",
                    height=short(height, 2),
                    catchment=area_words(sample, line["area"]),
                ),
            )
        scored = self._by_bands(value / height, value)
        return Scored(
            points=scored.points,
            band=f"{scored.band} of the line ({short(height, 2)})",
            reason=scored.reason,
        )

    def _continuous(self, value: Fraction) -> Scored:
        floor, ceiling = self.raw["floor"], self.raw["ceiling"]
        if floor is None or ceiling is None:
            return self._missing()
        low, high = exact(floor), exact(ceiling)
        part = (value - low) / (high - low)
        if self.better == "lower":
            part = 1 - part
        best = exact(self.raw["points_at_best"])
        return Scored(
            points=best * min(max(part, Fraction(0)), Fraction(1)),
            band=f"{short(low)} to {short(high)}",
        )

    def _term(self, value: Fraction) -> Scored:
        factor = exact(self.raw["factor"])
        if self.raw["of"] == "value":
            return Scored(points=factor * value)
        if value <= 0:
            return Scored(points=None, reason=marked("the value is zero, so its logarithm does not exist"))
        return Scored(points=factor * exact(math.log(value)))
