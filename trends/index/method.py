"""Index methods: reading, checking and holding a method file. No sample is scored here."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Any

from surveys.said import marked
from trends.index import method_checks, schema_checks, taxa
from trends.index.errors import MethodError
from trends.index.exact import exact
from trends.index.method_checks import joined
from trends.index.metrics import Measure, compile_measure
from trends.index.parameters import with_parameters
from trends.index.points import Scale
from trends.index.selectors import traits_named
from trends.index.yaml_lines import line_of, read_with_lines

METHODS = Path(__file__).with_name("methods")
CHECK_FIRST = marked(
    "Some cut points or rules of this method were written down from memory. They must be checked against "
    "the published report before a score is used officially."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Provenance:
    """Where a figure comes from: seen in the source, from memory, or not found."""

    standing: str  # seen, partly seen, from memory, not found, computed
    confidence: str  # high, medium, low
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Metric:
    """One metric of a stratum, ready to be taken and scored."""

    id: str
    name: str
    plain: str  # what it tells, for people who are not biologists
    formula: str
    unit: str
    better: str  # higher or lower
    as_printed: str
    provenance: Provenance
    measure: Measure
    scale: Scale
    rounding: Fraction | None  # values are rounded to multiples of this before scoring, halves up
    raw: Mapping[str, Any]

    @property
    def traits(self) -> frozenset[str]:
        """What must be known of a fish to place it in this metric."""
        described = self.raw["measure"]
        clauses = [described.get("select"), described.get("of")]
        clauses += [item.get("select") for item in described.get("leave_out", ())]
        for part in ("then", "otherwise"):
            if part in described:
                clauses += [described[part].get("select"), described[part].get("of")]
        return frozenset().union(*(traits_named(clause) for clause in clauses))


@dataclass(frozen=True, slots=True, kw_only=True)
class Stratum:
    """A region or size of stream with its own list of metrics."""

    code: str
    name: str
    caution: str
    when: Mapping[str, Any]  # facts by which a sample falls in this stratum where it names none
    metrics: tuple[Metric, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RatingClass:
    """A rating word with the scores that earn it."""

    word: str
    at_least: Fraction
    at_most: Fraction | None  # None: up to the next class
    printed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Method:
    """One published version of an index."""

    code: str
    title: str
    version: str
    summary: str
    region: str
    complete: bool
    usable: bool  # can give a score as it stands (with any figures already supplied)
    missing: tuple[str, ...]
    sources: tuple[Mapping[str, Any], ...]
    applies_to: Mapping[str, Any]
    traits: Mapping[str, Any]  # the trait list the method was calibrated on
    counting: tuple[Mapping[str, Any], ...]  # exclusions common to all metrics
    counting_notes: tuple[str, ...]
    combine: str  # mean, sum, rescaled_sum, formula
    formula: str
    score_range: tuple[float, float] | None
    decimals: int
    full_points: Fraction  # of one metric, where the sum is rescaled
    rescaled_to: Fraction
    ratings: tuple[RatingClass, ...]
    ratings_note: str
    exceptions: tuple[Mapping[str, Any], ...]
    remarks: tuple[str, ...]
    strata: Mapping[str, Stratum]
    waiting_for: tuple[str, ...]  # metrics whose figures each region supplies
    needs_check: bool
    check_note: str
    raw: Mapping[str, Any]

    def stratum(self, name: str | None) -> Stratum | None:
        """Return a stratum by its code or name, however it is spelled."""
        if name is None:
            return None
        wanted = taxa.word(name)
        for stratum in self.strata.values():
            if wanted in (taxa.word(stratum.code), taxa.word(stratum.name)):
                return stratum
        return None


def load_method(code: str, *, parameters: Mapping[str, Any] | None = None) -> Method:
    """Load a published index method by its code.

    Parameters
    ----------
    code : str
        Code of the method, for example ``maryland_fish_2005``.
    parameters : mapping, optional
        Figures that the method leaves to each region: metric id to ``{"slope", "intercept"}`` of a
        richness line, ``{"maximum"}``, or ``{"bands"}``. See :mod:`trends.index.parameters`.

    Raises
    ------
    MethodError : no such method, a fault in its file (with the line), or parameters it does not ask for
    """
    if parameters:
        return _loaded_with(code, json.dumps(parameters, sort_keys=True, default=str))
    return _loaded(code)


def method_from_text(text: str, source: str, *, parameters: Mapping[str, Any] | None = None) -> Method:
    """Read a method from the text of a method file; the name is used in messages only."""
    raw, lines = read_with_lines(text, source)
    for path, reason in schema_checks.faults(raw):
        raise MethodError(reason, source=source, line=line_of(path, lines))
    for path, reason in method_checks.faults(raw):
        raise MethodError(reason, source=source, line=line_of(path, lines))
    if parameters:
        raw = with_parameters(raw, parameters)
        for _, reason in method_checks.faults(raw):
            raise MethodError(reason, source=f"{source} with the figures given")
    return _build(raw)


def method_codes() -> tuple[str, ...]:
    """Return the codes of all methods at hand."""
    return tuple(sorted(path.stem for path in METHODS.glob("*.yaml")))


def _text_of(code: str) -> str:
    if code not in method_codes():
        raise MethodError(f"there is no method '{code}'; there are {', '.join(method_codes())}")
    return (METHODS / f"{code}.yaml").read_text(encoding="utf-8")


@lru_cache(maxsize=64)
def _loaded(code: str) -> Method:
    method = method_from_text(_text_of(code), f"{code}.yaml")
    if method.code != code:
        raise MethodError(
            f"the file is named after '{code}' but holds '{method.code}'", source=f"{code}.yaml"
        )
    return method


@lru_cache(maxsize=64)
def _loaded_with(code: str, parameters: str) -> Method:
    return method_from_text(_text_of(code), f"{code}.yaml", parameters=json.loads(parameters))


def _build(raw: Mapping[str, Any]) -> Method:
    index = raw["index"]
    strata = {item["code"]: _stratum(item, raw) for item in raw["strata"]}
    waiting = tuple(
        metric.id
        for stratum in strata.values()
        for metric in stratum.metrics
        if metric.scale.waits_for_figures
    )
    standings = [index["provenance"], raw["ratings"]["provenance"]]
    standings += [metric.raw["provenance"] for stratum in strata.values() for metric in stratum.metrics]
    from_memory = any("memory" in part["standing"] for part in standings)
    limits = index.get("range")
    return Method(
        code=raw["code"],
        title=raw["title"],
        version=str(raw["version"]),
        summary=raw["summary"],
        region=raw["region"],
        complete=raw["complete"],
        usable=raw["usable"] and not waiting,
        missing=tuple(raw["missing"]),
        sources=tuple(raw["sources"]),
        applies_to=raw["applies_to"],
        traits=raw["traits"],
        counting=tuple(raw["counting"].get("leave_out", ())),
        counting_notes=tuple(raw["counting"].get("notes", ())),
        combine=index["combine"],
        formula=index["formula"],
        score_range=None if limits is None else (float(limits[0]), float(limits[1])),
        decimals=index["decimals"],
        full_points=exact(index.get("full_points", 1)),
        rescaled_to=exact(index.get("rescaled_to", 1)),
        ratings=_ratings(raw["ratings"]),
        ratings_note=raw["ratings"].get("note", ""),
        exceptions=tuple(raw.get("exceptions", ())),
        remarks=tuple(raw.get("remarks", ())),
        strata=strata,
        waiting_for=waiting,
        needs_check=from_memory,
        check_note=CHECK_FIRST if from_memory else "",
        raw=raw,
    )


def _ratings(raw: Mapping[str, Any]) -> tuple[RatingClass, ...]:
    """Return the classes from best to worst; words without limits are left to the notes."""
    classes = [
        RatingClass(
            word=item["word"],
            at_least=exact(item["at_least"]),
            at_most=None if item.get("at_most") is None else exact(item["at_most"]),
            printed=item.get("printed", ""),
        )
        for item in raw["words"]
        if item.get("at_least") is not None
    ]
    return tuple(sorted(classes, key=lambda item: item.at_least, reverse=True))


def _stratum(raw: Mapping[str, Any], method: Mapping[str, Any]) -> Stratum:
    return Stratum(
        code=raw["code"],
        name=raw["name"],
        caution=raw.get("caution", ""),
        when=raw.get("when", {}),
        metrics=tuple(_metric(item, method) for item in raw["metrics"]),
    )


def _metric(own: Mapping[str, Any], method: Mapping[str, Any]) -> Metric:
    """Join a stratum's metric with the description that all strata share; its own words win."""
    raw = joined(own, method)
    rounding = raw.get("rounding", method["index"].get("value_rounding"))
    if rounding is not None and raw["unit"] != "%":
        rounding = None
    provenance = raw["provenance"]
    return Metric(
        id=raw["id"],
        name=raw["name"],
        plain=raw["plain"],
        formula=raw["formula"],
        unit=raw["unit"],
        better=raw["better"],
        as_printed=raw["as_printed"],
        provenance=Provenance(
            standing=provenance["standing"],
            confidence=provenance["confidence"],
            text=provenance.get("text", ""),
        ),
        measure=compile_measure(raw["measure"], method["counting"].get("leave_out", ())),
        scale=Scale(raw["scoring"], better=raw["better"]),
        rounding=None if rounding is None else exact(rounding["to"]),
        raw=raw,
    )
