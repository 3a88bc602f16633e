"""What a method file must hold beyond its schema: ids, scales and classes that make sense together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from surveys.said import marked, said
from trends.index import schema_checks, taxa
from trends.index.exact import exact
from trends.index.points import Band, bands_of

Fault = tuple[tuple[str | int, ...], str]
_TOP = ("at_most", "below")
_NEEDED = ("name", "plain", "formula", "unit", "better", "as_printed", "provenance", "measure", "scoring")


def joined(own: Mapping[str, Any], method: Mapping[str, Any]) -> dict[str, Any]:
    """Join a stratum's metric with the description that all strata share; its own words win."""
    shared = method.get("shared_metrics", {}).get(own["id"], {})
    measure = {**shared.get("measure", {}), **own.get("measure", {})}
    return {**shared, **own, "measure": measure} if measure else {**shared, **own}


def faults(raw: Mapping[str, Any]) -> Iterator[Fault]:
    """Yield each fault with its place in the file."""
    yield from _rating_faults(raw)
    codes: set[str] = set()
    for number, stratum in enumerate(raw["strata"]):
        path: tuple[str | int, ...] = ("strata", number)
        if stratum["code"] in codes:
            yield (*path, "code"), said("the stratum '{written}' is given twice", written=stratum["code"])
        codes.add(stratum["code"])
        ids: set[str] = set()
        for place, own in enumerate(stratum["metrics"]):
            where = (*path, "metrics", place)
            if own["id"] in ids:
                yield (
                    (*where, "id"),
                    said(
                        "the metric '{written}' is given twice in '{written_stratum}'",
                        written=own["id"],
                        written_stratum=stratum["code"],
                    ),
                )
            ids.add(own["id"])
            yield from _metric_faults(joined(own, raw), where)
    for number, exception in enumerate(raw.get("exceptions", ())):
        for code in exception.get("strata", ()):
            if code not in codes:
                yield ("exceptions", number, "strata"), said("there is no stratum '{written}'", written=code)
    if raw["usable"] and not raw["complete"]:
        yield ("usable",), marked("a method that is not complete cannot be usable")
    if not raw["complete"] and not raw["missing"]:
        yield ("missing",), marked("a method that is not complete must say what is missing")


def _rating_faults(raw: Mapping[str, Any]) -> Iterator[Fault]:
    least: Fraction | None = None
    for number, item in enumerate(raw["ratings"]["words"]):
        path = ("ratings", "words", number)
        if item.get("at_least") is None:
            continue
        low = exact(item["at_least"])
        high = exact(item["at_most"]) if item.get("at_most") is not None else low
        if high < low:
            yield path, said("the class '{written}' ends below its beginning", written=item["word"])
        if least is not None and high >= least:
            yield (
                path,
                said(
                    "the class '{written}' overlaps the class above; list classes from best to worst",
                    written=item["word"],
                ),
            )
        least = low


def _metric_faults(metric: Mapping[str, Any], path: tuple[str | int, ...]) -> Iterator[Fault]:
    for key in _NEEDED:
        if key not in metric:
            yield (
                path,
                said(
                    "the metric '{written}' has no '{written_key}', neither here nor in shared_metrics",
                    written=metric["id"],
                    written_key=key,
                ),
            )
            return
    for inner, reason in schema_checks.faults(metric["measure"], part="measure"):
        yield (*path, "measure", *inner), reason
        return
    yield from _group_faults(metric["measure"], (*path, "measure"))
    yield from _scale_faults(metric["scoring"], metric["better"], (*path, "scoring"))


def _scale_faults(scoring: Mapping[str, Any], better: str, path: tuple[str | int, ...]) -> Iterator[Fault]:
    for number, case in enumerate(scoring.get("cases", ())):
        yield from _scale_faults(case["scoring"], better, (*path, "cases", number, "scoring"))
    floor, ceiling = scoring.get("floor"), scoring.get("ceiling")
    if floor is not None and ceiling is not None and exact(floor) >= exact(ceiling):
        yield (*path, "floor"), marked("the floor must lie below the ceiling")
    bands = bands_of(scoring.get("bands") or ())
    if not bands:
        return
    place = (*path, "bands")
    if any(band.words == "otherwise" for band in bands[:-1]):
        yield place, marked("only the last band may be the one for everything else")
    if bands[-1].words != "otherwise":
        yield place, marked("the last band must be 'otherwise: true', so that every value has points")
    points = [band.points for band in bands]
    if points != sorted(points, reverse=True) or len(set(points)) < len(points):
        yield place, marked("bands run from most points to fewest")
    limits = [_limit(band) for band in bands[:-1]]
    if any(limit is None for limit in limits):
        yield place, marked("each band but the last has exactly one limit")
        return
    figures = [limit[1] for limit in limits if limit is not None]
    tops = {limit[0] in _TOP for limit in limits if limit is not None}
    wanted = better == "lower"
    if tops and tops != {wanted}:
        yield (
            place,
            marked("a metric where lower is better has bands with at_most or below")
            if wanted
            else marked("a metric where higher is better has bands with at_least or above"),
        )
    elif figures != sorted(figures, reverse=not wanted):
        yield place, marked("the limits of the bands are out of order")


def _limit(band: Band) -> tuple[str, Fraction] | None:
    given = [
        (name, figure)
        for name in ("at_least", "above", "at_most", "below")
        if (figure := getattr(band, name)) is not None
    ]
    return given[0] if len(given) == 1 else None


def _group_faults(measure: Mapping[str, Any], path: tuple[str | int, ...]) -> Iterator[Fault]:
    """A group is known by its genera, or carried by the sample's own flags: refuse a misspelt one."""
    listed = [measure.get("select"), measure.get("of")]
    listed += [item.get("select") for item in measure.get("leave_out", ())]
    for clause in listed:
        groups = (clause or {}).get("group", ())
        for group in [groups] if isinstance(groups, str) else groups:
            if taxa.group_word(group) not in taxa.GROUPS and taxa.group_word(group) not in taxa.FLAG_GROUPS:
                yield path, said("there is no group '{written}'", written=group)
