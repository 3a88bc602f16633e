"""The plain description of one visit's catch that every metric takes, and how it is read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

from surveys.said import marked, said
from trends.index import taxa
from trends.index.errors import SampleError
from trends.index.exact import ACRES_PER_KM2, ACRES_PER_SQ_MI, exact
from trends.index.traits import UNKNOWN_WORDS, Traits, groups_marked, known_text, read_traits


@dataclass(frozen=True, slots=True, kw_only=True)
class Taxon:
    """One taxon of a catch. A number that is None is not known, which is not the same as none."""

    traits: Traits
    passes: tuple[int | None, ...]
    count: int | None  # fish of all passes; None where a pass is not known
    young: int
    anomalies: int | None
    biomass_g: Fraction | None

    @property
    def name(self) -> str:
        """Scientific name, as the sample spells it."""
        return self.traits.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """One visit: the catch per taxon, and the few facts about the place that the methods ask for."""

    taxa: tuple[Taxon, ...]
    n_passes: int
    fish: int
    method: str | None = None
    stratum: str | None = None
    station: str | None = None
    reach_m: Fraction | None = None
    mean_width_m: Fraction | None = None
    catchment_acres: Fraction | None = None
    effort_s: Fraction | None = None
    biomass_g: Fraction | None = None
    biomass_note: str = ""
    pass_weights: tuple[Fraction | None, ...] = ()  # g, as given per pass; empty where only a total is
    anomalies_recorded: bool = False
    young_recorded: bool = False
    facts: Mapping[str, Any] = field(default_factory=dict)
    parameters: Mapping[str, Any] = field(default_factory=dict)

    @property
    def all_counted(self) -> bool:
        """Whether the catch of every taxon is known for every pass."""
        return all(taxon.count is not None for taxon in self.taxa)

    @property
    def area_m2(self) -> Fraction | None:
        """Wetted area fished: reach length times mean width."""
        if self.reach_m is None or self.mean_width_m is None:
            return None
        return self.reach_m * self.mean_width_m

    def first_passes(self, number: int) -> Sample:
        """Return the sample as it would be had only the first passes been made.

        Young, anomalies and weights per taxon are known for the visit only, so where a pass is
        dropped they are no longer known; weights per pass are.
        """
        if number >= self.n_passes:
            return self
        kept = tuple(
            replace(
                taxon,
                passes=taxon.passes[:number],
                count=_total(taxon.passes[:number]),
                young=min(taxon.young, _total(taxon.passes[:number]) or 0),
                anomalies=None,
                biomass_g=None,
            )
            for taxon in self.taxa
        )
        note = marked("weights of the first passes alone are not known")
        biomass: Fraction | None = None
        if self.pass_weights:
            biomass, note = _total_biomass(list(self.pass_weights), kept, number)
        return replace(
            self,
            taxa=kept,
            n_passes=number,
            fish=sum(taxon.count or 0 for taxon in kept),
            biomass_g=biomass,
            biomass_note=note,
            pass_weights=self.pass_weights[:number],
            anomalies_recorded=False,
            effort_s=None,
        )


def read_sample(sample: Mapping[str, Any] | Sample) -> Sample:
    """Read a sample from a mapping in the layout of the worked scorings.

    Parameters
    ----------
    sample : mapping
        ``species`` maps each scientific name to its ``passes`` (fish per pass) or ``count`` and its
        traits; beside it ``stratum``, ``reach_m``, ``mean_width_m``, one of ``catchment_acres``,
        ``catchment_km2``, ``catchment_sq_mi``, and ``biomass_g_per_pass``. Everything except
        ``species`` may be left out. A trait of the yes-or-no kind that is left out means no;
        ``None`` or ``unknown`` means not known.

    Raises
    ------
    SampleError : something cannot be read; the message names the taxon and the key
    """
    if isinstance(sample, Sample):
        return sample
    if not isinstance(sample, Mapping):
        raise SampleError("a sample is a mapping with at least the key 'species'")
    listed = sample.get("species")
    if listed is None and "species" not in sample:
        raise SampleError("the sample has no key 'species'; a visit without fish has an empty one")
    if listed is not None and not isinstance(listed, Mapping):
        raise SampleError("'species' must map each scientific name to its catch and traits")
    entries = {str(name): _entry(str(name), given) for name, given in (listed or {}).items()}
    fish_taxa = _taxa({name: entry for name, entry in entries.items() if not _no_fish(name)})
    repeated = {taxon.traits.key for taxon in fish_taxa}
    if len(repeated) < len(fish_taxa):
        raise SampleError("a taxon is listed twice (names that differ only in case or spaces are one taxon)")
    weights = _weights(sample.get("biomass_g_per_pass"))
    lengths = [len(taxon.passes) for taxon in fish_taxa]
    lengths += [
        len(_passes(name, entry))
        for name, entry in entries.items()
        if _no_fish(name) and entry.get("passes") is not None
    ]
    n_passes = max([*lengths, len(weights or ()), 1])
    if sample.get("n_passes") is not None:
        n_passes = max(n_passes, int(_number(sample["n_passes"], "n_passes") or 1))
    in_all = _sum_or_none(sample.get("biomass_g"), "biomass_g")
    biomass, note = (in_all, "") if in_all is not None else _total_biomass(weights, fish_taxa, n_passes)
    return Sample(
        taxa=fish_taxa,
        n_passes=n_passes,
        fish=sum(taxon.count or 0 for taxon in fish_taxa),
        method=known_text(sample.get("method")),
        stratum=known_text(sample.get("stratum")),
        station=known_text(sample.get("station")),
        reach_m=_positive(sample.get("reach_m", sample.get("reach_length_m")), "reach_m"),
        mean_width_m=_positive(sample.get("mean_width_m"), "mean_width_m"),
        catchment_acres=_catchment(sample),
        effort_s=_positive(sample.get("effort_s"), "effort_s"),
        biomass_g=biomass,
        biomass_note=note,
        pass_weights=tuple(weights or ()),
        anomalies_recorded=any(taxon.anomalies is not None for taxon in fish_taxa),
        young_recorded=any("young_of_year" in entry or "under_20_mm" in entry for entry in entries.values()),
        facts=dict(sample),
        parameters=sample.get("parameters") or {},
    )


def _listed(value: Any) -> Any:
    """An array, a column of a table or one of their numbers as a plain list or number."""
    return value.tolist() if hasattr(value, "tolist") else value


def _entry(name: str, given: Any) -> Mapping[str, Any]:
    given = _listed(given)
    if isinstance(given, Mapping):
        return given
    if isinstance(given, list | tuple):
        return {"passes": given}
    if isinstance(given, int | float) and not isinstance(given, bool):
        return {"count": given}
    raise SampleError(f"{name}: give the catch as 'passes' or 'count'")


def _no_fish(name: str) -> bool:
    """``no fish`` records a pass that caught nothing; it is not a taxon."""
    return taxa.name_key(name) == "no fish"


def _taxa(entries: Mapping[str, Mapping[str, Any]]) -> tuple[Taxon, ...]:
    listed = {name: read_traits(name, entry) for name, entry in entries.items()}
    marked = groups_marked(listed.values())
    if marked:
        listed = {name: read_traits(name, entry, marked) for name, entry in entries.items()}
    if any(entry.get("anomalies") is not None for entry in entries.values()):
        # where anomalies were looked for, a taxon that does not mention them had none
        entries = {name: {"anomalies": 0, **entry} for name, entry in entries.items()}
    return tuple(_taxon(listed[name], entry) for name, entry in entries.items())


def _taxon(traits: Traits, entry: Mapping[str, Any]) -> Taxon:
    name = traits.name
    passes = _passes(name, entry)
    count = _total(passes)
    young = _whole(entry.get("young_of_year", entry.get("under_20_mm")), name, "young_of_year") or 0
    anomalies = _whole(entry.get("anomalies"), name, "anomalies")
    for label, part in (("young_of_year", young), ("anomalies", anomalies or 0)):
        if count is not None and part > count:
            raise SampleError(f"{name}: {label} {part} is more than the {count} fish caught")
    biomass = entry.get("biomass_g")
    return Taxon(
        traits=traits,
        passes=passes,
        count=count,
        young=young,
        anomalies=anomalies,
        biomass_g=None if biomass is None else _sum_or_none(biomass, f"{name}: biomass_g"),
    )


def _passes(name: str, entry: Mapping[str, Any]) -> tuple[int | None, ...]:
    if "passes" in entry and entry["passes"] is not None:
        given = _listed(entry["passes"])
        if isinstance(given, list | tuple):
            return tuple(_whole(part, name, "passes") for part in given)
        return (_whole(given, name, "passes"),)
    if "count" in entry:
        return (_whole(entry["count"], name, "count"),)
    raise SampleError(f"{name}: give the catch as 'passes' or 'count'")


def _total(passes: Iterable[int | None]) -> int | None:
    total = 0
    for part in passes:
        if part is None:
            return None
        total += part
    return total


def _number(value: Any, what: str) -> Fraction | None:
    if value is None or (isinstance(value, str) and value.strip().casefold() in UNKNOWN_WORDS):
        return None
    try:
        return exact(value)
    except (TypeError, ValueError) as error:
        if isinstance(value, float) and value != value:  # NaN stands for missing
            return None
        raise SampleError(f"{what} must be a number, not {value!r}") from error


def _positive(value: Any, what: str) -> Fraction | None:
    number = _number(value, what)
    if number is not None and number <= 0:
        raise SampleError(f"{what} must be more than 0, not {value!r}")
    return number


def _whole(value: Any, name: str, key: str) -> int | None:
    if value is None or (type(value) is int and value >= 0):
        return value
    if isinstance(value, list | tuple):
        return _total(_whole(part, name, key) for part in value)
    number = _number(value, f"{name}: {key}")
    if number is None:
        return None
    if number < 0 or number.denominator != 1:
        raise SampleError(f"{name}: {key} must be a whole number of fish, 0 or more, not {value!r}")
    return int(number)


def _weights(value: Any) -> list[Fraction | None] | None:
    value = _listed(value)
    if value is None:
        return None
    if not isinstance(value, list | tuple):
        raise SampleError("biomass_g_per_pass must be a list, one weight per pass; a total is 'biomass_g'")
    weights = [_number(part, "biomass_g_per_pass") for part in value]
    if any(weight is not None and weight < 0 for weight in weights):
        raise SampleError("biomass_g_per_pass must be 0 or more")
    return weights


def _sum_or_none(value: Any, what: str) -> Fraction | None:
    value = _listed(value)
    parts = value if isinstance(value, list | tuple) else [value]
    numbers = [_number(part, what) for part in parts]
    if any(number is not None and number < 0 for number in numbers):
        raise SampleError(f"{what} must be 0 or more")
    known = [number for number in numbers if number is not None]
    return sum(known, Fraction(0)) if known and len(known) == len(numbers) else None


def _total_biomass(
    weights: list[Fraction | None] | None, fish_taxa: tuple[Taxon, ...], n_passes: int
) -> tuple[Fraction | None, str]:
    """Return the weight of all passes together, or the reason why it is not known."""
    if weights:
        total = Fraction(0)
        for index in range(n_passes):
            weight = weights[index] if index < len(weights) else None
            caught = sum((t.passes[index] or 0) for t in fish_taxa if index < len(t.passes))
            if weight is None and caught:
                return None, said("the fish of pass {number} were not weighed", number=index + 1)
            total += weight or 0
        return total, ""
    present = [taxon for taxon in fish_taxa if taxon.count != 0]
    if not present:
        return Fraction(0), ""
    total = Fraction(0)
    for taxon in present:
        if taxon.biomass_g is None:
            return None, marked("the fish were not weighed")
        total += taxon.biomass_g
    return total, ""


def _catchment(sample: Mapping[str, Any]) -> Fraction | None:
    for key, acres in (
        ("catchment_acres", Fraction(1)),
        ("catchment_km2", ACRES_PER_KM2),
        ("catchment_sq_mi", ACRES_PER_SQ_MI),
        ("catchment_ha", ACRES_PER_KM2 / 100),
    ):
        area = _positive(sample.get(key), key)
        if area is not None:
            return area * acres
    return None
