"""One visit's indicators, each a number or the reason why there is none. No database, no request.

Takes the plain record of ``surveys.queries`` and the pure functions of ``trends.stats``.
"""

import math
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from typing import Any

from surveys.queries import CatchRecord, VisitRecord
from surveys.said import marked, said
from trends.measures import GUILDS
from trends.stats.diversity import pielou_evenness, shannon, simpson
from trends.stats.removal import removal_batch

# A share is only given when the trait is known for at least this part of the fish (no published
# threshold; a tenth unknown can move a share by at most ten points).
LEAST_KNOWN_SHARE = 0.9
# Numbers of species and the trait that a species must have to count; empty: each counts.
COUNTED_TRAITS = {"richness": "", "native_richness": "native", "benthic_richness": "benthic"}
TOLERANCES = ("intolerant", "moderate", "tolerant")


@dataclass(frozen=True, slots=True, kw_only=True)
class Indicator:
    """A value with its unit, or None with the reason; ``n`` is the number of fish it rests on."""

    value: float | None
    reason: str = ""
    n: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Removal:
    """A removal estimate for one taxon, or for all fish where ``taxon`` is empty."""

    taxon: str
    catches: tuple[int, ...]
    usable: bool
    reason: str
    method: str
    total_catch: int
    n_hat: float | None
    standard_error: float | None
    lower: float | None
    upper: float | None
    capture_probability: float | None
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitIndicators:
    """All indicators of a visit by measure key, the make-up of its catch, and its removal estimates."""

    indicators: dict[str, Indicator]
    tolerance: dict[str, int]
    guilds: dict[str, int]
    unknown_tolerance: int
    unknown_guild: int
    shannon: float | None
    simpson: float | None
    evenness: float | None
    removal_total: Removal
    removal: tuple[Removal, ...] = field(default_factory=tuple)
    # Names behind each number of species, for counts on a level that all years share.
    counted: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def as_plain(self) -> dict[str, Any]:
        return asdict(self)


def _all_catches(visit: VisitRecord) -> list[CatchRecord]:
    return [catch for one_pass in visit.passes for catch in one_pass.catches]


def _area(visit: VisitRecord) -> tuple[float | None, str]:
    if visit.reach_length_m is None:
        return None, marked("the reach length is not known")
    if visit.mean_width_m is None:
        return None, marked("the mean width is not known")
    return visit.area_m2, ""


def _weight(visit: VisitRecord) -> tuple[float | None, str]:
    """Weight of all passes in g: the pass total where weighed, else the sum of complete batches."""
    total = 0.0
    for one_pass in visit.passes:
        if one_pass.biomass_g is not None:
            total += one_pass.biomass_g
        elif all(c.biomass_g is not None for c in one_pass.catches):
            total += sum(c.biomass_g or 0.0 for c in one_pass.catches)
        elif any(c.part_g is not None for c in one_pass.catches):
            return None, said("not every fish of pass {number} was weighed", number=one_pass.number)
        elif any(c.biomass_g is not None for c in one_pass.catches):
            return None, said("not every taxon of pass {number} was weighed", number=one_pass.number)
        else:
            return None, said("pass {number} was not weighed", number=one_pass.number)
    return total, ""


def _richness(catches: list[CatchRecord], trait: str | None = None) -> Indicator:
    """Species caught, or those of them with a yes for the trait; None where a trait is not known."""
    species = {c.taxon for c in catches if c.taxon.is_species}
    fish = sum(c.count for c in catches)
    if trait is None:
        return Indicator(value=float(len(species)), n=fish)
    unknown = sorted(t.scientific_name for t in species if getattr(t, trait) is None)
    if unknown:
        return Indicator(value=None, reason=_trait_unknown(trait, unknown), n=fish)
    return Indicator(value=float(sum(1 for t in species if getattr(t, trait))), n=fish)


def _trait_unknown(trait: str, names: list[str]) -> str:
    first, more = names[0], len(names) - 1
    if trait == "native":
        if more:
            return said("whether it is native is not known for {name} and {n} more", name=first, n=more)
        return said("whether it is native is not known for {name}", name=first)
    if more:
        return said("whether it lives on the bottom is not known for {name} and {n} more", name=first, n=more)
    return said("whether it lives on the bottom is not known for {name}", name=first)


def _share(part: int, known: int, fish: int) -> Indicator:
    if fish == 0:
        return Indicator(value=None, reason=marked("no fish were caught, so there is no share"), n=0)
    if known < LEAST_KNOWN_SHARE * fish:
        return Indicator(
            value=None,
            reason=said("tolerance is not known for {n} of {fish} fish", n=fish - known, fish=fish),
            n=known,
        )
    return Indicator(value=100.0 * part / known, n=known)


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _removal(
    taxon: str, catches: list[int], visit: VisitRecord, estimated: frozenset[str] = frozenset()
) -> Removal:
    """Removal estimate; the reasons of this visit (nets) come before those of the numbers.

    ``estimated`` are the taxa whose number was estimated in some pass.
    """
    total = sum(catches)
    reason = ""
    if not catches:
        reason = marked("no pass was made")
    elif visit.stop_nets in ("upstream", "downstream", "none"):
        reason = marked(
            "the reach was not closed by nets at both ends, so fish could come and go between passes"
        )
    elif estimated and taxon in ("", *estimated):
        reason = marked("a number of fish was estimated, not counted")
    elif later := [c for c in catches[1:] if c and c >= catches[0]]:
        # The likelihood may still have a finite peak; it then rests on a fall that is not there.
        reason = said(
            "the catch did not fall: {first} fish in the first pass, {later} in a later one",
            first=catches[0],
            later=later[0],
        )
    if reason:
        return Removal(
            taxon=taxon, catches=tuple(catches), usable=False, reason=reason, method="", total_catch=total,
            n_hat=None, standard_error=None, lower=float(total), upper=None, capture_probability=None,
        )  # fmt: skip
    found = _estimate(tuple(catches))
    cautions = list(found["cautions"])
    if visit.stop_nets == "":
        cautions.append("nets_not_recorded")
    return Removal(
        taxon=taxon,
        catches=tuple(catches),
        usable=bool(found["usable"]),
        reason=found["reason"],
        method=found["method"],
        total_catch=total,
        n_hat=_finite(found["n_hat"]),
        standard_error=_finite(found["standard_error"]),
        lower=_finite(found["lower"]),
        upper=_finite(found["upper"]),
        capture_probability=_finite(found["capture_probability"]),
        cautions=tuple(cautions),
    )


# Estimates by catch history: small catches come again and again, and many at once are cheaper than
# one by one. Emptied when full; what is in it never changes.
_ESTIMATES: dict[tuple[int, ...], dict[str, Any]] = {}
_MOST_ESTIMATES = 200_000
_COLUMNS = (
    "usable", "reason", "method", "n_hat", "standard_error", "lower", "upper", "capture_probability", "cautions",
)  # fmt: skip


def _estimate(catches: tuple[int, ...]) -> dict[str, Any]:
    if catches not in _ESTIMATES:
        _estimate_all([catches])
    return _ESTIMATES[catches]


def _estimate_all(histories: Iterable[tuple[int, ...]]) -> None:
    by_length: dict[int, list[tuple[int, ...]]] = {}
    for one in dict.fromkeys(histories):
        if one and one not in _ESTIMATES:
            by_length.setdefault(len(one), []).append(one)
    if len(_ESTIMATES) + sum(map(len, by_length.values())) > _MOST_ESTIMATES:
        _ESTIMATES.clear()
    for rows in by_length.values():
        batch = removal_batch(rows)
        columns = [getattr(batch, name).tolist() for name in _COLUMNS]
        for row, values in zip(rows, zip(*columns, strict=True), strict=True):
            _ESTIMATES[row] = dict(zip(_COLUMNS, values, strict=True))


def prepare_removals(visits: Iterable[VisitRecord]) -> None:
    """Work out the removal estimates of many visits at once, before their indicators are asked for."""
    _estimate_all(
        tuple(history)
        for visit in visits
        for history in ([p.count for p in visit.passes], *visit.counts_by_taxon().values())
    )


def visit_indicators(visit: VisitRecord) -> VisitIndicators:
    """Every indicator of one visit.

    A pass without catches counts as a pass that caught no fish. Shares are of the fish whose trait
    is known. Areas are in m2, weights in g.
    """
    prepare_removals([visit])
    catches = _all_catches(visit)
    fish = visit.total_catch
    estimated = frozenset(c.taxon.scientific_name for c in catches if c.estimated)
    by_taxon = visit.counts_by_taxon()
    tolerance = {word: sum(c.count for c in catches if c.taxon.tolerance == word) for word in TOLERANCES}
    guilds = {word: sum(c.count for c in catches if c.taxon.trophic_guild == word) for word in GUILDS}
    known = sum(tolerance.values())
    area, no_area = _area(visit)
    weight, no_weight = _weight(visit)
    no_pass = "" if visit.passes else marked("no pass was made")
    first = next((p.count for p in visit.passes if p.number == 1), None)
    per_area = Indicator(value=None, reason=no_area, n=fish)
    biomass = Indicator(value=None, reason=no_area or no_weight, n=fish)
    if area is not None:
        per_area = Indicator(value=100.0 * fish / area, n=fish)
        if weight is not None:
            biomass = Indicator(value=weight / area, n=fish)
    indicators = {
        "total_catch": Indicator(value=float(fish), n=fish),
        "first_pass_catch": Indicator(value=None if first is None else float(first), n=first),
        "richness": _richness(catches),
        "native_richness": _richness(catches, "native"),
        "benthic_richness": _richness(catches, "benthic"),
        "intolerant_share_pct": _share(tolerance["intolerant"], known, fish),
        "tolerant_share_pct": _share(tolerance["tolerant"], known, fish),
        "density_per_100_m2": per_area,
        "biomass_g_per_m2": biomass,
    }
    if no_pass:
        indicators = {key: Indicator(value=None, reason=no_pass) for key in indicators}
    counts = [sum(by_pass) for by_pass in by_taxon.values()]
    return VisitIndicators(
        indicators=indicators,
        tolerance=tolerance,
        guilds=guilds,
        unknown_tolerance=fish - known,
        unknown_guild=fish - sum(guilds.values()),
        shannon=shannon(counts) if fish else None,
        simpson=simpson(counts) if fish else None,
        evenness=_finite(pielou_evenness(counts)) if len(counts) > 1 else None,
        removal_total=_removal("", [p.count for p in visit.passes], visit, estimated),
        removal=tuple(
            _removal(taxon.scientific_name, by_pass, visit, estimated) for taxon, by_pass in by_taxon.items()
        ),
        counted={
            key: tuple(
                t.scientific_name for t in by_taxon if t.is_species and (not trait or getattr(t, trait))
            )
            for key, trait in COUNTED_TRAITS.items()
        },
    )
