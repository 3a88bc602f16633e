"""Which index applies to a visit, and its score: joins the stored traits to ``trends.index``.

The rule: a station's stratum names the metric list; the method is the first of the preferred ones
that has a stratum of that name. A station without a stratum has no index, and the page says so.
"""

from fractions import Fraction
from functools import cache
from typing import Any

from surveys.models import Taxon
from surveys.queries import VisitRecord
from trends.index import load_method, score_sample
from trends.index.scoring import rating_of

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
        stratum = method.stratum(wanted)
        if stratum is not None:
            return method, stratum.code
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


def score_visit(visit: VisitRecord) -> tuple[Any | None, Any | None, str]:
    """Method, index result and reason; the reason is filled where no score can be made.

    Returns
    -------
    (method, result, reason): ``result`` is kept even when it is not computable, so that the metrics
    that could be made are shown.
    """
    method, found = method_for(visit.stratum)
    if method is None:
        return None, None, found
    if not visit.passes:
        return method, None, "no pass was made"
    result = score_sample(method, sample_of(visit, found))
    if result.computable:
        return method, result, ""
    return method, result, "; ".join(result.reasons) or "a metric could not be made"


def rating_words(method: Any, score: float) -> str:
    """The rating a score earns by a method; empty where it falls between two classes."""
    word, _ = rating_of(method, Fraction(score).limit_denominator(10_000))
    return word or ""
