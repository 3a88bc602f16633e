"""The ``when`` clauses of a method file: stream size, catch and the like, each yes, no or not known."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any

from surveys.said import AND, OR, Say, linked, marked, said
from trends.index import taxa
from trends.index.exact import ACRES_PER_KM2, ACRES_PER_SQ_MI, exact, short
from trends.index.sample import Sample

_LIMITS: dict[str, Callable[[Fraction, Fraction], bool]] = {
    "above": lambda value, limit: value > limit,
    "at_least": lambda value, limit: value >= limit,
    "below": lambda value, limit: value < limit,
    "at_most": lambda value, limit: value <= limit,
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


# What is counted, and what is measured, has words of its own for less.
_COUNTED = {
    "above": marked("more than {figure}"),
    "at_least": marked("at least {figure}"),
    "below": marked("fewer than {figure}"),
    "at_most": marked("at most {figure}"),
}
_MEASURED = _COUNTED | {"below": marked("less than {figure}")}
_SENTENCES = {
    "fish": (marked("{amount} fish were caught"), _COUNTED),
    "fish_per_300_m": (marked("{amount} fish per 300 m of stream were caught"), _COUNTED),
    "passes": (marked("{amount} passes were made"), _COUNTED),
    "reach_m": (marked("the reach is {amount} m long"), _MEASURED),
    "mean_width_m": (marked("the stream is {amount} m wide on average"), _MEASURED),
    "catchment_acres": (marked("the catchment is {amount} acres"), _MEASURED),
    "catchment_km2": (marked("the catchment is {amount} km²"), _MEASURED),
    "catchment_sq_mi": (marked("the catchment is {amount} square miles"), _MEASURED),
}
# Facts of a sample that published methods ask for; those of other methods are said by their own name.
_FACTS = {
    "repeated_sampling": (marked("sampling was repeated"), marked("sampling was not repeated")),
}
_KINDS = {
    "stream": marked("the kind of stream is {kind}"),
    "region": marked("the region is {kind}"),
    "drainage": marked("the drainage is {kind}"),
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
        return all(_LIMITS[limit](value, exact(figure)) for limit, figure in wanted.items())
    given = sample.facts.get(key)
    if given is None:
        return False if isinstance(wanted, bool) else None
    if isinstance(wanted, bool):
        return bool(given) is wanted
    allowed = wanted if isinstance(wanted, list) else [wanted]
    return taxa.word(str(given)) in {taxa.word(str(part)) for part in allowed}


def _describe(key: str, wanted: Any, say: Say) -> str:
    if isinstance(wanted, Mapping):
        return _limits(key, wanted, say)
    if isinstance(wanted, bool):
        if key in _FACTS:
            return say(_FACTS[key][0] if wanted else _FACTS[key][1])
        name = key.replace("_", " ")
        if wanted:
            return say(marked("“{what}” is noted for the visit"), what=name)
        return say(marked("“{what}” is not noted for the visit"), what=name)
    parts = [say(str(part)) for part in (wanted if isinstance(wanted, list) else [wanted])]
    kind = linked(say, OR, parts)
    if key in _KINDS:
        return say(_KINDS[key], kind=kind)
    return say(marked("“{what}” is {kind}"), what=key.replace("_", " "), kind=kind)


def _limits(key: str, wanted: Mapping[str, Any], say: Say) -> str:
    sentence, words = _SENTENCES[key]
    if key == "fish" and wanted == {"at_most": 0}:
        return say(marked("no fish were caught"))
    limits = [say(words[limit], figure=short(exact(figure))) for limit, figure in wanted.items()]
    return say(sentence, amount=linked(say, AND, limits))
