"""The arithmetic of each kind of measure, once it is settled which taxa count."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from surveys.said import marked, said
from trends.index.exact import ACRES_PER_KM2, ACRES_PER_SQ_MI, exact, short
from trends.index.results import Contribution, LeftOut
from trends.index.sample import Sample, Taxon

_ACRES = {"acres": Fraction(1), "km2": ACRES_PER_KM2, "sq_mi": ACRES_PER_SQ_MI}
_AREA_WORDS = {"acres": "acres", "km2": "km²", "sq_mi": "square miles"}
_SCALES = {"percent": 100, "fraction": 1}
_GRAMS = {"g": Fraction(1), "kg": Fraction(1000)}


class NotMeasurableError(Exception):
    """Raised inside this package where a value cannot be worked out; the text is the reason."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A value with its parts, or the reason there is none. ``cases`` holds every possible value."""

    value: Fraction | None
    reason: str = ""
    numerator: Fraction | None = None
    denominator: Fraction | None = None
    taxa: tuple[Contribution, ...] = ()
    cases: tuple[Fraction, ...] = ()
    unknown_fish: int = 0
    points: Fraction | None = None  # set by a rule of the method for a value that does not exist
    left_out: tuple[LeftOut, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """The taxa that make up a measure, and how their fish are counted."""

    raw: Mapping[str, Any]
    sample: Sample
    top: Sequence[Taxon]
    bottom: Sequence[Taxon]
    drops_young: bool

    def amount(self, taxon: Taxon) -> Fraction | int:
        """Return fish, grams or fish with anomalies of one taxon."""
        kind = self.raw.get("amount", "individuals")
        if kind == "biomass":
            if taxon.biomass_g is None:
                raise NotMeasurableError(said("the weight of {name} is not known", name=taxon.name))
            if self.drops_young and taxon.young:
                # A batch is weighed whole; the weight of its young apart is not on record.
                raise NotMeasurableError(
                    said("the weight of {name} without its young is not known", name=taxon.name)
                )
            return taxon.biomass_g
        if kind == "anomalies":
            if taxon.anomalies is None:
                raise NotMeasurableError(said("whether {name} had anomalies is not known", name=taxon.name))
            if self.drops_young and taxon.count is not None and taxon.anomalies > self.individuals(taxon):
                raise NotMeasurableError(
                    said("how many {name} with anomalies were young is not known", name=taxon.name)
                )
            return taxon.anomalies
        return self.individuals(taxon)

    def individuals(self, taxon: Taxon) -> int:
        """Return the fish of one taxon, without the young where the method leaves them out."""
        if taxon.count is None:
            raise NotMeasurableError(said("the count of {name} is not known for every pass", name=taxon.name))
        return taxon.count - taxon.young if self.drops_young else taxon.count


def work_out(kind: str, counted: Counted) -> Measured:
    """Return the value of a measure, or the reason why it has none."""
    try:
        return _KINDS[kind](counted)
    except NotMeasurableError as error:
        return Measured(value=None, reason=str(error), taxa=_taxa(counted, quiet=True))


def log10_area(sample: Sample, unit: str) -> Fraction:
    """Return log10 of the catchment in the unit a line is drawn for."""
    if sample.catchment_acres is None:
        raise NotMeasurableError(marked("the catchment area is not known"))
    return exact(math.log10(sample.catchment_acres / _ACRES[unit]))


def line_at(line: Mapping[str, Any], sample: Sample) -> Fraction:
    """Return the height of a line against log10 of the catchment area; a fixed maximum needs no area."""
    slope = exact(line["slope"])
    height = exact(line["intercept"])
    return height if slope == 0 else slope * log10_area(sample, line["area"]) + height


def area_words(sample: Sample, unit: str) -> str:
    """Say the catchment area for a reason."""
    if sample.catchment_acres is None:
        return marked("a catchment of unknown size")
    return said(
        "a catchment of {size} {unit}",
        size=short(sample.catchment_acres / _ACRES[unit], 1),
        unit=_AREA_WORDS[unit],
    )


def _taxa(counted: Counted, *, quiet: bool = False) -> tuple[Contribution, ...]:
    parts = []
    for taxon in counted.top:
        try:
            parts.append(Contribution(taxon=taxon.name, amount=float(counted.amount(taxon))))
        except NotMeasurableError:
            if not quiet:
                raise
    return tuple(parts)


def _caught(counted: Counted) -> tuple[Contribution, ...]:
    return tuple(
        Contribution(taxon=taxon.name, amount=float(counted.individuals(taxon))) for taxon in counted.top
    )


def _taxa_count(counted: Counted) -> Measured:
    number = Fraction(len(counted.top))
    return Measured(value=number, numerator=number, taxa=_caught(counted))


def _against_expected(counted: Counted) -> Measured:
    line = counted.raw["expected"]
    number = Fraction(len(counted.top))
    caught = _caught(counted)
    if line["slope"] is None or line["intercept"] is None:
        return Measured(
            value=None,
            reason=marked("the line of expected species is not found"),
            numerator=number,
            taxa=caught,
        )
    expected = line_at(line, counted.sample)
    if expected <= 0:
        return Measured(
            value=None,
            reason=said(
                "the expected number of species is {expected}, not above zero, for {catchment}: the stream is too "
                "small for this measure",
                expected=short(expected, 2),
                catchment=area_words(counted.sample, line["area"]),
            ),
            numerator=number,
            denominator=expected,
            taxa=caught,
        )
    return Measured(value=number / expected, numerator=number, denominator=expected, taxa=caught)


def _share(counted: Counted) -> Measured:
    if counted.raw.get("amount") == "anomalies" and counted.bottom and not counted.sample.anomalies_recorded:
        raise NotMeasurableError(marked("anomalies were not recorded, which is not the same as none found"))
    amounts = [(taxon, counted.amount(taxon)) for taxon in counted.top]
    weighed = counted.raw.get("amount") == "biomass"
    count = counted.amount if weighed else counted.individuals
    bottom = Fraction(sum([count(taxon) for taxon in counted.bottom]))
    parts = tuple([Contribution(taxon=taxon.name, amount=float(amount)) for taxon, amount in amounts])
    return _part(counted, Fraction(sum([amount for _, amount in amounts])), bottom, parts)


def _largest_share(counted: Counted) -> Measured:
    bottom = Fraction(sum(counted.amount(taxon) for taxon in counted.bottom))
    largest = max(counted.top, key=counted.amount, default=None)
    top = Fraction(0) if largest is None else Fraction(counted.amount(largest))
    alone = () if largest is None else (Contribution(taxon=largest.name, amount=float(top)),)
    return _part(counted, top, bottom, alone)


def _taxa_share(counted: Counted) -> Measured:
    return _part(counted, Fraction(len(counted.top)), Fraction(len(counted.bottom)), _caught(counted))


def _part(counted: Counted, top: Fraction, bottom: Fraction, parts: tuple[Contribution, ...]) -> Measured:
    if bottom == 0:
        none = counted.raw.get("when_none")
        if none is not None and counted.sample.fish:
            return Measured(
                value=None,
                reason=none["reason"],
                points=exact(none["points"]),
                numerator=top,
                denominator=bottom,
            )
        why = (
            marked("no fish were caught, so there is no share")
            if not counted.sample.fish
            else marked("none of the fish it is a share of were caught, so there is no share")
        )
        return Measured(value=None, reason=why, numerator=top, denominator=bottom)
    value = _SCALES[counted.raw["scale"]] * top / bottom
    return Measured(value=value, numerator=top, denominator=bottom, taxa=parts)


def _density(counted: Counted) -> Measured:
    per = _per(counted)
    grams = _GRAMS[counted.raw.get("weight_in", "g")]
    whole = counted.raw.get("amount") == "biomass" and len(counted.top) == sum(
        1 for taxon in counted.sample.taxa if taxon.count != 0
    )
    if whole:  # every fish weighed counts, so the weight of the whole pass serves
        if counted.sample.biomass_g is None:
            raise NotMeasurableError(said("the biomass is not known: {why}", why=counted.sample.biomass_note))
        top = counted.sample.biomass_g
        parts = _taxa(counted, quiet=True)
    else:
        parts = _taxa(counted)
        top = Fraction(sum(counted.amount(taxon) for taxon in counted.top))
    if counted.raw.get("amount") == "biomass":
        top = top / grams
    return Measured(value=top / per, numerator=top, denominator=per, taxa=parts)


def _per(counted: Counted) -> Fraction:
    """Return by how much the catch is divided: m², stretches of reach, hours of current, or the visit."""
    per = counted.raw["per"]
    size = exact(counted.raw.get("size", 1))
    sample = counted.sample
    if per == "visit":
        return Fraction(1)
    if per == "effort":
        if sample.effort_s is None:
            raise NotMeasurableError(marked("the effort is not known"))
        return sample.effort_s / 3600 / size
    if sample.reach_m is None:
        raise NotMeasurableError(marked("the length of the reach is not known"))
    if per == "distance":
        return sample.reach_m / size
    if sample.mean_width_m is None:
        raise NotMeasurableError(marked("the mean width of the stream is not known"))
    return sample.reach_m * sample.mean_width_m / size


def _diversity(counted: Counted) -> Measured:
    """Shannon diversity with the natural logarithm, on numbers or on weights."""
    amounts = [counted.amount(taxon) for taxon in counted.top]
    total = Fraction(sum(amounts))
    if total == 0:
        raise NotMeasurableError(marked("there are no fish to work out a diversity from"))
    shares = [float(amount / total) for amount in amounts if amount]
    value = -math.fsum(share * math.log(share) for share in shares)
    return Measured(value=exact(max(0.0, value)), numerator=None, denominator=total, taxa=_taxa(counted))


_KINDS: dict[str, Callable[[Counted], Measured]] = {
    "taxa_count": _taxa_count,
    "taxa_against_expected": _against_expected,
    "share": _share,
    "largest_share": _largest_share,
    "taxa_share": _taxa_share,
    "density": _density,
    "diversity": _diversity,
}
