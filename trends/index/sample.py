"""The plain description of one visit's catch that every metric takes, and how it is read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

from trends.index import taxa
from trends.index.errors import SampleError
from trends.index.exact import ACRES_PER_KM2, ACRES_PER_SQ_MI, exact

_UNKNOWN_WORDS = frozenset({"", "unknown", "not known", "na", "n/a", "none", "?"})
_TAKEN_KEYS = frozenset(
    {"passes", "count", "tolerance", "feeding", "trophic_guild", "family", "young_of_year", "under_20_mm"}
    | {"anomalies", "biomass_g", "group", "groups", "spawning", "origin", "common_name"}
)
_NOT_NATIVE = ("non_native", "nonnative", "introduced", "exotic", "alien")


@dataclass(frozen=True, slots=True, kw_only=True)
class Taxon:
    """One taxon of a catch. A trait that is None is not known, which is not the same as no."""

    name: str
    passes: tuple[int | None, ...]
    young: int
    anomalies: int | None
    biomass_g: Fraction | None
    tolerance: str | None
    feeding: str | None
    family: str | None
    flags: Mapping[str, bool | None]
    groups: frozenset[str]
    key: str
    genus: str
    count: int | None

    def flag(self, name: str) -> bool | None:
        """Return a trait; one that the sample does not mention is taken as no."""
        return self.flags.get(name, False)


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
    anomalies_recorded: bool = False
    young_recorded: bool = False
    flags_used: frozenset[str] = frozenset()
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

    def in_group(self, taxon: Taxon, group: str) -> bool | None:
        """Say whether a taxon belongs to a group: by its own flags and groups, else by its name.

        Where neither says, a flag that the sample uses for other taxa is taken as no for this one.
        """
        for flag in (group, taxa.flag_word(group)):
            if flag in taxon.flags:
                return taxon.flags[flag]
        if group in taxon.groups:
            return True
        derived = taxa.in_group(group, taxon.name, taxon.family)
        if derived is None and (group in self.flags_used or group in taxa.FLAG_WORDS.values()):
            return False
        return derived

    def in_family(self, taxon: Taxon, family: str) -> bool | None:
        """Say whether a taxon belongs to a family, by what is given, by its flags or by its genus."""
        if taxon.family is not None:
            return taxon.family == family
        for group, rule in taxa.GROUPS.items():
            whole_family = rule["family"].casefold() == family and "genera" not in rule
            if whole_family:
                return self.in_group(taxon, group)
        known = taxa.family_of(taxon.name)
        return None if known is None else known == family

    def first_passes(self, number: int) -> Sample:
        """Return the sample as it would be had only the first passes been made.

        Young, anomalies and weights per taxon are known for the visit only, so where a pass is
        dropped they are no longer known.
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
        return replace(
            self,
            taxa=kept,
            n_passes=number,
            fish=sum(taxon.count or 0 for taxon in kept),
            biomass_g=None,
            biomass_note="weights of the first passes alone are not known",
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
    fish_taxa = tuple(_taxon(name, entry) for name, entry in entries.items() if not _no_fish(name))
    repeated = {taxon.key for taxon in fish_taxa}
    if len(repeated) < len(fish_taxa):
        raise SampleError("a taxon is listed twice (names that differ only in case or spaces are one taxon)")
    weights = _weights(sample.get("biomass_g_per_pass"))
    lengths = [len(taxon.passes) for taxon in fish_taxa]
    lengths += [len(entry.get("passes") or ()) for name, entry in entries.items() if _no_fish(name)]
    n_passes = max([*lengths, len(weights or ()), 1])
    if sample.get("n_passes") is not None:
        n_passes = max(n_passes, int(_number(sample["n_passes"], "n_passes") or 1))
    in_all = _sum_or_none(sample.get("biomass_g"), "biomass_g")
    biomass, note = (in_all, "") if in_all is not None else _total_biomass(weights, fish_taxa, n_passes)
    return Sample(
        taxa=fish_taxa,
        n_passes=n_passes,
        fish=sum(taxon.count or 0 for taxon in fish_taxa),
        method=_text(sample.get("method")),
        stratum=_text(sample.get("stratum")),
        station=_text(sample.get("station")),
        reach_m=_positive(sample.get("reach_m", sample.get("reach_length_m")), "reach_m"),
        mean_width_m=_positive(sample.get("mean_width_m"), "mean_width_m"),
        catchment_acres=_catchment(sample),
        effort_s=_positive(sample.get("effort_s"), "effort_s"),
        biomass_g=biomass,
        biomass_note=note,
        anomalies_recorded=any(taxon.anomalies is not None for taxon in fish_taxa),
        young_recorded=any("young_of_year" in entry or "under_20_mm" in entry for entry in entries.values()),
        flags_used=frozenset(flag for taxon in fish_taxa for flag in (*taxon.flags, *taxon.groups)),
        facts=dict(sample),
        parameters=sample.get("parameters") or {},
    )


def _entry(name: str, given: Any) -> Mapping[str, Any]:
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


def _taxon(name: str, entry: Mapping[str, Any]) -> Taxon:
    passes = _passes(name, entry)
    family = _text(entry.get("family"))
    flags: dict[str, bool | None] = {}
    for key, value in entry.items():
        if key in _TAKEN_KEYS:
            continue
        flag = taxa.flag_word(key)
        if flag in _NOT_NATIVE:
            said = _yes_no(value, name, key)
            flags["native"] = None if said is None else not said
        elif _is_yes_no(value):
            plain = flag if flag in taxa.FLAG_WORDS.values() else taxa.group_word(flag)
            flags[plain] = _yes_no(value, name, key)
    _flags_from_words(entry, flags)
    flags.setdefault("native", True)
    flags.setdefault("hybrid", taxa.looks_like_hybrid(name))
    flags.setdefault("unidentified", taxa.looks_unidentified(name))
    count = _total(passes)
    young = _whole(entry.get("young_of_year", entry.get("under_20_mm")), name, "young_of_year") or 0
    anomalies = _whole(entry.get("anomalies"), name, "anomalies")
    for label, part in (("young_of_year", young), ("anomalies", anomalies or 0)):
        if count is not None and part > count:
            raise SampleError(f"{name}: {label} {part} is more than the {count} fish caught")
    tolerance = _text(entry.get("tolerance"))
    feeding = _text(entry.get("feeding", entry.get("trophic_guild")))
    return Taxon(
        name=name,
        passes=passes,
        young=young,
        anomalies=anomalies,
        biomass_g=_sum_or_none(entry.get("biomass_g"), f"{name}: biomass_g"),
        tolerance=None if tolerance is None else taxa.tolerance_word(tolerance),
        feeding=None if feeding is None else taxa.feeding_word(feeding),
        family=None if family is None else taxa.family_word(family),
        flags=flags,
        groups=frozenset(taxa.group_word(part) for part in _words(entry.get("groups", entry.get("group")))),
        key=taxa.name_key(name),
        genus=taxa.genus_of(name),
        count=count,
    )


def _flags_from_words(entry: Mapping[str, Any], flags: dict[str, bool | None]) -> None:
    """Traits that some lists give as a word: spawning and origin."""
    if "spawning" in entry:
        spawning = _text(entry["spawning"])
        flags["lithophil"] = None if spawning is None else "lithophil" in taxa.word(spawning)
    if "origin" in entry:
        origin = _text(entry["origin"])
        flags["native"] = None if origin is None else taxa.word(origin) == "native"


def _passes(name: str, entry: Mapping[str, Any]) -> tuple[int | None, ...]:
    if "passes" in entry and entry["passes"] is not None:
        given = entry["passes"]
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


def _text(value: Any) -> str | None:
    if value is None:
        return None
    text = str(value).strip()
    return None if text.casefold() in _UNKNOWN_WORDS else text


def _words(value: Any) -> list[str]:
    if value is None:
        return []
    return [value] if isinstance(value, str) else [str(part) for part in value]


def _is_yes_no(value: Any) -> bool:
    """Tell a trait from other remarks, so that a note in an entry is not read as a trait."""
    if value is None or value in (0, 1):
        return True
    return isinstance(value, str) and value.strip().casefold() in (
        *_UNKNOWN_WORDS,
        "yes",
        "no",
        "true",
        "false",
    )


def _yes_no(value: Any, name: str, key: str) -> bool | None:
    if value is None:
        return None
    if value in (0, 1):
        return bool(value)
    plain = str(value).strip().casefold()
    if plain in _UNKNOWN_WORDS:
        return None
    if plain in ("yes", "true", "1"):
        return True
    if plain in ("no", "false", "0"):
        return False
    raise SampleError(f"{name}: {key} must be yes, no or unknown, not {value!r}")


def _number(value: Any, what: str) -> Fraction | None:
    if value is None or (isinstance(value, str) and value.strip().casefold() in _UNKNOWN_WORDS):
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
    if isinstance(value, list | tuple):
        return _total(_whole(part, name, key) for part in value)
    number = _number(value, f"{name}: {key}")
    if number is None:
        return None
    if number < 0 or number.denominator != 1:
        raise SampleError(f"{name}: {key} must be a whole number of fish, 0 or more, not {value!r}")
    return int(number)


def _weights(value: Any) -> list[Fraction | None] | None:
    if value is None:
        return None
    if not isinstance(value, list | tuple):
        raise SampleError("biomass_g_per_pass must be a list, one weight per pass; a total is 'biomass_g'")
    weights = [_number(part, "biomass_g_per_pass") for part in value]
    if any(weight is not None and weight < 0 for weight in weights):
        raise SampleError("biomass_g_per_pass must be 0 or more")
    return weights


def _sum_or_none(value: Any, what: str) -> Fraction | None:
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
                return None, f"the fish of pass {index + 1} were not weighed"
            total += weight or 0
        return total, ""
    present = [taxon for taxon in fish_taxa if taxon.count != 0]
    if not present:
        return Fraction(0), ""
    total = Fraction(0)
    for taxon in present:
        if taxon.biomass_g is None:
            return None, "the fish were not weighed"
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
