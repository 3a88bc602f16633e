"""Measures: what a metric counts, from a sample to a value. No points and no ratings here.

A trait that is not known makes a value uncertain, not wrong: the measure is then worked out for
every way the unknown could turn out, and the least and greatest values are kept.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

from surveys.said import marked, said
from trends.index import conditions
from trends.index.quantities import Counted, Measured, work_out
from trends.index.results import LeftOut
from trends.index.sample import Sample, Taxon
from trends.index.selectors import Choice, compile_selector, describe
from trends.index.traits import Traits

MOST_CASES = 1024  # ways the unknown may turn out that are still worked through one by one

_NO_BOTTOM = frozenset({"taxa_count", "taxa_against_expected", "density"})
_SHARES = frozenset({"share", "taxa_share"})

Role = tuple[bool, bool]  # counted in the top line, counted in the bottom line
_TOP, _BOTTOM = 0, 1
# Measures that count taxa, and the line in which one may not stand twice.
_NO_SPECIES_TWICE = {"taxa_count": _TOP, "taxa_against_expected": _TOP, "taxa_share": _BOTTOM}


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One exclusion: which taxa, and why."""

    choice: Choice
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Measure:
    """One measure of a method file, ready to be taken of a sample."""

    kind: str
    raw: Mapping[str, Any]
    select: Choice
    of: Choice
    rules: tuple[Rule, ...]
    drops_young: bool
    young_reason: str
    then: Measure | None = None
    otherwise: Measure | None = None

    def of_sample(self, sample: Sample) -> Measured:
        """Take the measure of a sample."""
        if self.kind == "not_described":
            return Measured(value=None, reason=str(self.raw["note"]))
        if self.kind == "either":
            return self._either(sample)
        return _take(self, sample)

    def _either(self, sample: Sample) -> Measured:
        found = conditions.holds(self.raw["when"], sample)
        if found is None or self.then is None or self.otherwise is None:
            asked = ", ".join(self.raw["when"]).replace("_", " ")
            return Measured(
                value=None,
                reason=said("which of the two measures applies is not known: {asked} not given", asked=asked),
            )
        return (self.then if found else self.otherwise).of_sample(sample)


def compile_measure(raw: Mapping[str, Any], common: Sequence[Mapping[str, Any]] = ()) -> Measure:
    """Make a measure from its description and the exclusions common to the whole method."""
    listed = [*common, *raw.get("leave_out", ())]
    rules = tuple(
        Rule(choice=compile_selector(item["select"]), reason=item["reason"])
        for item in listed
        if "select" in item
    )
    young = [item["reason"] for item in listed if item.get("young_of_year")]
    return Measure(
        kind=raw["kind"],
        raw=raw,
        select=compile_selector(raw.get("select")),
        of=compile_selector(raw.get("of")),
        rules=rules,
        drops_young=bool(young),
        young_reason=young[0] if young else "",
        then=compile_measure(raw["then"], common) if "then" in raw else None,
        otherwise=compile_measure(raw["otherwise"], common) if "otherwise" in raw else None,
    )


def _take(measure: Measure, sample: Sample) -> Measured:
    roles: list[tuple[Taxon, tuple[Role, ...]]] = []
    left_out: list[LeftOut] = []
    unknown = 0
    for taxon in sample.taxa:
        if taxon.count == 0:
            continue
        if measure.drops_young and taxon.young:
            left_out.append(_left_out(taxon, measure.young_reason, taxon.young))
            if taxon.young == taxon.count:
                continue
        options, reason = _roles(measure, taxon.traits)
        if reason:
            left_out.append(_left_out(taxon, reason))
        if len(options) > 1:
            unknown += taxon.count or 0
        roles.append((taxon, options))
    if measure.kind in _NO_SPECIES_TWICE:
        roles = _without_doubles(roles, left_out, part=_NO_SPECIES_TWICE[measure.kind])
    measured = _over_cases(measure, sample, roles, unknown)
    if not left_out:
        return measured
    return Measured(**{**_fields(measured), "left_out": tuple(left_out)})


def _fields(measured: Measured) -> dict[str, Any]:
    return {name: getattr(measured, name) for name in Measured.__slots__}


def _left_out(taxon: Taxon, reason: str, fish: int | None = None) -> LeftOut:
    number = taxon.count if fish is None else fish
    return LeftOut(taxon=taxon.name, fish=number or 0, metrics=(), reason=reason)


def _roles(measure: Measure, traits: Traits) -> tuple[tuple[Role, ...], str]:
    """Return every part a taxon may play in the measure, and the reason where a rule leaves it out.

    There is one part where all its traits are known. The answer is kept with the traits, since the
    same kind of fish turns up in thousands of samples.
    """
    kept = traits.memory.get(measure)
    if kept is None:
        kept = traits.memory[measure] = _work_out_roles(measure, traits)
    return kept


def _work_out_roles(measure: Measure, traits: Traits) -> tuple[tuple[Role, ...], str]:
    maybe_out = False
    for rule in measure.rules:
        out = rule.choice(traits)
        if out:
            return ((False, False),), rule.reason
        maybe_out = maybe_out or out is None
    in_bottom = measure.of(traits)
    in_top = measure.select(traits)
    bottoms = (False, True) if in_bottom is None else (in_bottom,)
    tops = (False, True) if in_top is None else (in_top,)
    options = {(top and bottom, bottom) for top in tops for bottom in bottoms}
    if maybe_out:
        options.add((False, False))
    return tuple(sorted(options)), ""


def _without_doubles(
    roles: list[tuple[Taxon, tuple[Role, ...]]], left_out: list[LeftOut], *, part: int
) -> list[tuple[Taxon, tuple[Role, ...]]]:
    """Do not count 'Lepomis sp.' as a further species beside a Lepomis that was identified."""
    if not any(taxon.traits.flag("unidentified") for taxon, _ in roles):
        return roles
    counted = {
        taxon.traits.genus
        for taxon, options in roles
        if options[-1][part] and not taxon.traits.flag("unidentified")
    }
    kept = []
    for taxon, options in roles:
        if taxon.traits.flag("unidentified") and taxon.traits.genus in counted and options[-1][part]:
            left_out.append(
                _left_out(
                    taxon,
                    marked("not identified to species, and a species of the same genus is counted already"),
                )
            )
        else:
            kept.append((taxon, options))
    return kept


def _over_cases(
    measure: Measure, sample: Sample, roles: list[tuple[Taxon, tuple[Role, ...]]], unknown: int
) -> Measured:
    if all(len(options) == 1 for _, options in roles):
        return _worked_out(measure, sample, [(taxon, options[0]) for taxon, options in roles])
    outcomes = []
    for case in _cases(measure.kind, [options for _, options in roles]):
        assigned = [(taxon, role) for (taxon, _), role in zip(roles, case, strict=True)]
        outcomes.append(_worked_out(measure, sample, assigned))
    why = _unknown_words(measure, roles, unknown)
    if not outcomes:
        return Measured(value=None, reason=why, unknown_fish=unknown)
    values = sorted({outcome.value for outcome in outcomes if outcome.value is not None})
    undefined = [outcome for outcome in outcomes if outcome.value is None]
    if len(values) == 1 and not undefined:
        return Measured(**{**_fields(outcomes[0]), "unknown_fish": unknown, "reason": why})
    if undefined:
        return Measured(value=None, reason=f"{why}; {undefined[0].reason}", unknown_fish=unknown)
    return Measured(value=None, reason=why, cases=tuple(values), unknown_fish=unknown)


def _cases(kind: str, options: list[tuple[Role, ...]]) -> list[tuple[Role, ...]]:
    """Return the ways the unknown may turn out that span all the others; none where there are too many."""
    same_bottom = all(len({bottom for _, bottom in choice}) == 1 for choice in options)
    if kind in _NO_BOTTOM or (kind in _SHARES and same_bottom):  # more in the top line: a greater value
        return [tuple(choice[0] for choice in options), tuple(choice[-1] for choice in options)]
    number = 1
    for choice in options:
        number *= len(choice)
        if number > MOST_CASES:
            return []
    return list(product(*options))


def _unknown_words(measure: Measure, roles: list[tuple[Taxon, tuple[Role, ...]]], unknown: int) -> str:
    names = [taxon.name for taxon, options in roles if len(options) > 1]
    asked = describe(measure.raw.get("select"))
    return said(
        "not known for {n} fish whether they count as {asked} ({names})",
        n=unknown,
        asked=asked,
        names=", ".join(names),
    )


def _worked_out(measure: Measure, sample: Sample, assigned: list[tuple[Taxon, Role]]) -> Measured:
    top = [taxon for taxon, (in_top, _) in assigned if in_top]
    bottom = [taxon for taxon, (_, in_bottom) in assigned if in_bottom]
    counted = Counted(raw=measure.raw, sample=sample, top=top, bottom=bottom, drops_young=measure.drops_young)
    return work_out(measure.kind, counted)
