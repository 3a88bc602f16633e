"""The index score of a visit: joins the stored traits to ``trends.index``.

Which method and version apply is the business of ``trends.shelf``. A station without a stratum has no
index, and the page says so.
"""

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from surveys.models import Taxon
from surveys.queries import VisitRecord
from surveys.said import marked, said
from trends.index import IndexResult, Method, score_sample
from trends.index.applicability import fit, reasons_not_rated
from trends.index.sample import read_sample
from trends.index.scoring import rating_of
from trends.index.taxa import stenotherm_from_list
from trends.shelf import PREFERRED_METHODS, Shelf, loaded_method, shelf, stratum_id
from trends.trait_lists import ServingList

__all__ = ["PREFERRED_METHODS", "loaded_method", "stratum_id"]  # asked for here by other modules

# The taxon list has no such trait; the index package has a short list of its own, said so on the page.
STENOTHERM = "stenotherm"


def traits_of(taxon: Taxon, listed: ServingList | None = None) -> dict[str, Any]:
    """A taxon in the words that the index reads; None is not known. What a trait list says of it comes first."""
    own = {
        "tolerance": taxon.tolerance or None,
        "feeding": taxon.trophic_guild or None,
        "family": taxon.family or None,
        "benthic": taxon.benthic,
        "lithophil": taxon.lithophilic,
        "native": taxon.native,
        "migratory": taxon.migratory,
        "hybrid": taxon.hybrid,
        STENOTHERM: stenotherm_from_list(taxon.scientific_name),
    }
    return own | listed.overrides(taxon) if listed else own


def sample_of(visit: VisitRecord, stratum: str, listed: ServingList | None = None) -> dict[str, Any]:
    """A visit in the layout that ``trends.index.score_sample`` reads: g, m, km2."""
    species: dict[str, dict[str, Any]] = {}
    catches: dict[Taxon, list[Any]] = {}
    for one_pass in visit.passes:
        for catch in one_pass.catches:
            catches.setdefault(catch.taxon, []).append(catch)
    for taxon, by_pass in visit.counts_by_taxon().items():
        rows = catches[taxon]
        entry: dict[str, Any] = {"passes": by_pass, **traits_of(taxon, listed)}
        if all(c.biomass_g is not None for c in rows):
            entry["biomass_g"] = sum(c.biomass_g for c in rows)
        if all(c.anomalies is not None for c in rows):
            entry["anomalies"] = sum(c.anomalies for c in rows)
        if all(c.young_of_year is not None for c in rows):
            entry["young_of_year"] = sum(c.young_of_year for c in rows)
        species[taxon.scientific_name] = entry
    sample: dict[str, Any] = {
        "stratum": stratum,
        "station": visit.station_code,
        "reach_m": visit.reach_length_m,
        "mean_width_m": visit.mean_width_m,
        "catchment_km2": visit.catchment_km2,
        "n_passes": len(visit.passes),
        "species": species,
    }
    weights = [
        p.biomass_g
        if p.biomass_g is not None
        else sum(c.biomass_g or 0.0 for c in p.catches)
        if all(c.biomass_g is not None for c in p.catches)
        else None
        for p in visit.passes
    ]
    if all(w is not None for w in weights):
        sample["biomass_g_per_pass"] = weights
    efforts = [p.effort_s for p in visit.passes]
    if efforts and all(e is not None for e in efforts):
        sample["effort_s"] = sum(e or 0 for e in efforts)
    return sample


def comparable_part(visit: VisitRecord, method: Any) -> VisitRecord:
    """The passes that the method asks for: a third pass would raise what two passes are compared with."""
    wanted = method.applies_to.get("passes")
    if wanted is None or len(visit.passes) <= wanted:
        return visit
    return replace(visit, passes=visit.passes[:wanted])


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitScore:
    """What an index method makes of a visit.

    ``result`` is kept even when the visit is not rated, so that the metrics that could be made are
    shown; ``reason`` then says why there is no rating. ``remarks`` are departures from the method
    that do not forbid one.
    """

    method: Any | None
    result: IndexResult | None
    reason: str
    remarks: tuple[str, ...] = ()

    @property
    def rated(self) -> bool:
        return self.result is not None and self.result.computable and not self.reason

    @property
    def score(self) -> float | None:
        """The score where the visit is rated; None else."""
        found = self.result.score if self.result is not None and self.rated else None
        return None if found is None else float(found)

    @property
    def rating(self) -> str:
        """The rating that goes with the score; empty where there is none, or between two classes."""
        return (self.result.rating or "") if self.result is not None and self.score is not None else ""


def score_visit(visit: VisitRecord, standing: Shelf | None = None) -> VisitScore:
    """Score a visit by the method of its station's stratum, if it fits.

    ``standing`` is the shelf to go by; give it where many visits are scored, so that it is read once.
    """
    standing = standing or shelf()
    method, found = standing.method_for(visit.stratum, visit.date)
    if method is None:
        return VisitScore(method=None, result=None, reason=found)
    return score_by(method, found, visit, standing.traits_for(visit.stratum, method=method))


def score_by(
    method: Method, stratum: str, visit: VisitRecord, listed: ServingList | None = None
) -> VisitScore:
    """Score a visit by a method's stratum, whatever the station is scored by; nothing is stored."""
    if not visit.passes:
        return VisitScore(method=method, result=None, reason=marked("no pass was made"))
    sample = read_sample(sample_of(comparable_part(visit, method), stratum, listed))
    result = score_sample(method, sample)
    misfits = fit(
        method,
        sample,
        passes=len(visit.passes),
        visit_date=visit.date,
        stop_nets=visit.stop_nets or None,
        result=result,
    )
    reasons = reasons_not_rated(misfits) or (() if result.computable else result.reasons)
    if any(c.estimated for one in comparable_part(visit, method).passes for c in one.catches):
        reasons = (*reasons, marked("a number of fish was estimated, not counted"))
    remarks = [m.reason for m in misfits if not m.blocks]
    part = method.strata.get(stratum)
    if part is not None and STENOTHERM in {trait for m in part.metrics for trait in m.traits}:
        remarks.append(marked("cold- and coolwater fish are told from a short list written down from memory"))
    if listed is not None:
        remarks.append(_list_remark(visit, listed))
    return VisitScore(method=method, result=result, reason="; ".join(reasons), remarks=tuple(remarks))


def _list_remark(visit: VisitRecord, listed: ServingList) -> str:
    """Which list the traits are from, and which taxa it does not hold."""
    missing = [t.scientific_name for t in visit.counts_by_taxon() if t.pk not in listed.by_taxon]
    if not missing:
        return said("traits are those of {list} ({day})", list=listed.name, day=listed.dated)
    return said(
        "traits are those of {list} ({day}); not on it, so with this county's own traits: {names}",
        list=listed.name,
        day=listed.dated,
        names=", ".join(missing),
    )


def rating_words(method: Any, score: float) -> str:
    """The rating a score earns by a method; empty where it falls between two classes."""
    word, _ = rating_of(method, Fraction(score).limit_denominator(10_000))
    return word or ""
