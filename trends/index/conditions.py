"""The ``when`` clauses of a method file: stream size, catch and the like, each yes, no or not known."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any

from trends.index import taxa
from trends.index.exact import ACRES_PER_KM2, ACRES_PER_SQ_MI, exact, short
from trends.index.sample import Sample
from trends.said import AND, OR, Say, linked, marked, said

_LIMITS: dict[str, tuple[Callable[[Fraction, Fraction], bool], str]] = {
    "above": (lambda value, limit: value > limit, marked("above {figure}")),
    "at_least": (lambda value, limit: value >= limit, marked("at least {figure}")),
    "below": (lambda value, limit: value < limit, marked("below {figure}")),
    "at_most": (lambda value, limit: value <= limit, marked("at most {figure}")),
}


def _fish_per_300_m(sample: Sample) -> Fraction | None:
    return None if sample.reach_m is None or not sample.all_counted else sample.fish * 300 / sample.reach_m


def _in_units(acres: Fraction) -> Callable[[Sample], Fraction | None]:
    return lambda sample: None if sample.catchment_acres is None else sample.catchment_acres / acres


QUANTITIES: dict[str, Callable[[Sample], Fraction | None]] = {
    "fish": lambda sample: Fraction(sample.fish) if sample.all_counted else None,
    "fish_per_300_m": _fish_per_300_m,
    "passes": lambda sample: Fraction(sample.n_passes),
    "reach_m": lambda sample: sample.reach_m,
    "mean_width_m": lambda sample: sample.mean_width_m,
    "catchment_acres": _in_units(Fraction(1)),
    "catchment_km2": _in_units(ACRES_PER_KM2),
    "catchment_sq_mi": _in_units(ACRES_PER_SQ_MI),
}


_WORDS = {
    "fish_per_300_m": marked("fish per 300 m"),
    "reach_m": marked("reach m"),
    "mean_width_m": marked("mean width m"),
    "catchment_acres": marked("catchment acres"),
    "catchment_km2": marked("catchment km2"),
    "catchment_sq_mi": marked("catchment sq mi"),
    "repeated_sampling": marked("repeated sampling"),
    "stream": marked("stream"),
}


def holds(when: Mapping[str, Any] | None, sample: Sample) -> bool | None:
    """Say whether all parts of a clause hold; None where a fact it asks for is not known."""
    result: bool | None = True
    for key, wanted in (when or {}).items():
        answer = _holds(key, wanted, sample)
        if answer is False:
            return False
        if answer is None:
            result = None
    return result


def describe(when: Mapping[str, Any], say: Say = said) -> str:
    """Say a clause in words."""
    return linked(say, AND, [_describe(key, wanted, say) for key, wanted in when.items()])


def _holds(key: str, wanted: Any, sample: Sample) -> bool | None:
    if key in QUANTITIES:
        value = QUANTITIES[key](sample)
        if value is None:
            return None
        return all(_LIMITS[limit][0](value, exact(figure)) for limit, figure in wanted.items())
    given = sample.facts.get(key)
    if given is None:
        return False if isinstance(wanted, bool) else None
    if isinstance(wanted, bool):
        return bool(given) is wanted
    allowed = wanted if isinstance(wanted, list) else [wanted]
    return taxa.word(str(given)) in {taxa.word(str(part)) for part in allowed}


def _describe(key: str, wanted: Any, say: Say) -> str:
    name = say(_WORDS.get(key, key.replace("_", " ")))
    if isinstance(wanted, bool):
        return name if wanted else say(marked("not {what}"), what=name)
    if isinstance(wanted, Mapping):
        limits = [say(_LIMITS[limit][1], figure=short(exact(figure))) for limit, figure in wanted.items()]
        return say(
            marked("{name} {condition}"),
            name=name,
            condition=linked(say, AND, limits),
        )
    allowed = [say(str(part)) for part in (wanted if isinstance(wanted, list) else [wanted])]
    return say(marked("{name} {condition}"), name=name, condition=linked(say, OR, allowed))
