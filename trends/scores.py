"""Which index applies to a visit, and its score: joins the stored traits to ``trends.index``.

The rule: a station's stratum names the metric list; the method is the first of the preferred ones
that has a stratum of that name. A station without a stratum has no index, and the page says so.
"""

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from typing import Any

from surveys.models import Taxon
from surveys.queries import VisitRecord
from trends.index import IndexResult, load_method, score_sample
from trends.index.applicability import fit, reasons_not_rated
from trends.index.sample import read_sample
from trends.index.scoring import rating_of
from trends.index.taxa import stenotherm_from_list

# The taxon list has no such trait; the index package has a short list of its own, said so on the page.
STENOTHERM = "stenotherm"
PREFERRED_METHODS = ("maryland_fish_2005", "wisconsin_coldwater_1996")


@cache
def loaded_method(code: str) -> Any:
    return load_method(code)


def stratum_id(words: str) -> str:
    """'Eastern Piedmont' and 'eastern_piedmont' are the same stratum."""
    return "_".join(words.lower().replace("-", " ").replace("_", " ").split())


def method_for(stratum: str) -> tuple[Any | None, str]:
    """The index method for a stratum and the stratum's id in it; (None, reason) where none applies."""
    wanted = stratum_id(stratum)
    if not wanted:
        return None, "the station has no stratum, so no index method applies to it"
    for code in PREFERRED_METHODS:
        method = loaded_method(code)
        part = method.stratum(wanted)
        if part is not None:
            return method, part.code
    return None, f"no index method in use has a stratum called '{stratum}'"


def _traits(taxon: Taxon) -> dict[str, Any]:
    return {
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


def sample_of(visit: VisitRecord, stratum: str) -> dict[str, Any]:
    """A visit in the layout that ``trends.index.score_sample`` reads: g, m, km2."""
    species: dict[str, dict[str, Any]] = {}
    catches: dict[Taxon, list[Any]] = {}
    for one_pass in visit.passes:
        for catch in one_pass.catches:
            catches.setdefault(catch.taxon, []).append(catch)
    for taxon, by_pass in visit.counts_by_taxon().items():
        rows = catches[taxon]
        entry: dict[str, Any] = {"passes": by_pass, **_traits(taxon)}
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


def score_visit(visit: VisitRecord) -> VisitScore:
    """Score a visit by the method of its station's stratum, if it fits."""
    method, found = method_for(visit.stratum)
    if method is None:
        return VisitScore(method=None, result=None, reason=found)
    if not visit.passes:
        return VisitScore(method=method, result=None, reason="no pass was made")
    sample = read_sample(sample_of(comparable_part(visit, method), found))
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
    remarks = [m.reason for m in misfits if not m.blocks]
    if STENOTHERM in {trait for m in method.strata[found].metrics for trait in m.traits}:
        remarks.append("cold- and coolwater fish are told from a short list written down from memory")
    return VisitScore(method=method, result=result, reason="; ".join(reasons), remarks=tuple(remarks))


def rating_words(method: Any, score: float) -> str:
    """The rating a score earns by a method; empty where it falls between two classes."""
    word, _ = rating_of(method, Fraction(score).limit_denominator(10_000))
    return word or ""
