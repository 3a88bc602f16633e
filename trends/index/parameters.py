"""Figures that a method leaves to each region, put into its description before it is used."""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from typing import Any

from trends.index.errors import MethodError
from trends.index.exact import exact


def with_parameters(raw: Mapping[str, Any], parameters: Mapping[str, Any]) -> dict[str, Any]:
    """Return a method description completed with figures for a region.

    Parameters
    ----------
    raw : mapping
        The method as its file describes it.
    parameters : mapping
        Metric id to one of: ``{"slope": s, "intercept": i, "area": "sq_mi"}`` for the line of greatest
        richness, s x log10(catchment) + i; ``{"maximum": m}`` for a greatest richness that holds for
        every stream; ``{"bands": [{"points": 5, "at_least": 200}, ...]}`` for cut points. The lines may
        also stand together under ``richness_lines``.

    Raises
    ------
    MethodError : a metric that the method does not have, or that takes no such figures
    """
    given = dict(parameters)
    given.update(given.pop("richness_lines", None) or {})
    completed = deepcopy(dict(raw))
    used: set[str] = set()
    for stratum in completed["strata"]:
        for metric in stratum["metrics"]:
            if metric["id"] not in given:
                continue
            shared = completed.get("shared_metrics", {}).get(metric["id"], {})
            # a copy of its own: a file may use one description for several metrics
            scoring = metric["scoring"] = deepcopy(metric.get("scoring") or shared["scoring"])
            if not scoring.get("to_be_given"):
                raise MethodError(f"the method fixes how '{metric['id']}' is scored; it takes no figures")
            _fill(scoring, metric["id"], given[metric["id"]])
            used.add(metric["id"])
    unknown = sorted(set(given) - used)
    if unknown:
        raise MethodError(f"figures given for {', '.join(unknown)}, which the method does not have")
    return completed


def _fill(scoring: dict[str, Any], metric: str, figures: Mapping[str, Any]) -> None:
    if not isinstance(figures, Mapping):
        raise MethodError(f"the figures for '{metric}' must be a mapping")
    if "line" in scoring:
        scoring["line"] = {**scoring["line"], **_line(metric, figures)}
    elif "bands" in figures:
        bands = [dict(band) for band in figures["bands"]]
        for band in bands:
            for name, figure in band.items():
                if name != "otherwise":
                    _checked(figure, metric)
        scoring["bands"] = bands
    else:
        raise MethodError(f"'{metric}' is scored by cut points: give them as 'bands'")


def _line(metric: str, figures: Mapping[str, Any]) -> dict[str, Any]:
    line = figures.get("line", figures)
    if "maximum" in line:
        return {"slope": 0, "intercept": _checked(line["maximum"], metric)}
    if "slope" not in line or "intercept" not in line:
        raise MethodError(f"'{metric}' is scored against a line: give 'slope' and 'intercept', or 'maximum'")
    filled = {"slope": _checked(line["slope"], metric), "intercept": _checked(line["intercept"], metric)}
    if "area" in line:
        if line["area"] not in ("acres", "km2", "sq_mi"):
            raise MethodError(f"the area of the line for '{metric}' must be acres, km2 or sq_mi")
        filled["area"] = line["area"]
    return filled


def _checked(figure: Any, metric: str) -> Any:
    try:
        exact(figure)
    except (TypeError, ValueError) as error:
        raise MethodError(f"'{figure}' for '{metric}' is not a number") from error
    return figure
