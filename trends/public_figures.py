"""What the public may be told in numbers, so that no count betrays what a list withholds.

The rule of ``surveys.withholding`` takes the catches of sensitive taxa off stations and visits. A
number made from all fish would give them away again beside the shortened list, so:

- counts at a visit are counts of the fish that are listed;
- in a watershed where such a taxon has been met (a *guarded* one) whole-pass weights, weight for
  the area, the metrics behind an index score and yearly values of counts with their trends are kept
  back at every visit and every station alike, so that their absence points to none of them;
- the index score, its rating and its trend are made of the fish that are listed: whoever scores the
  list by the published method gets the published score. Those who may see all places have the score
  of all fish beside it (``trends.measures.INDEX_ALL_FISH``), with trends of its own.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from surveys.access import Person
from surveys.language import marked
from surveys.models import Catch, Taxon, Visit, VisitStatus, Voucher, VoucherKind
from surveys.queries import visit_records
from surveys.withholding import sees_all, without_sensitive
from trends.indicators import visit_indicators
from trends.measures import INDEX, Measure
from trends.models import VisitResult
from trends.shelf import shelf
from trends.trait_lists import by_list

KEPT_BACK = marked(
    "not published in this watershed, because it could tell where a species lives whose places are withheld"
)
NOT_COMPUTED = marked("not computed yet")
# A taxon that is told for the watershed is told for at least this many visited stations, else the
# watershed would name the station (no published threshold; with one there is nothing to hide behind).
LEAST_STATIONS = 2
# Made from weights that the list does not show.
WEIGHT_MEASURES = frozenset({"biomass_g_per_m2"})


# For files and programs, after the statement of the rule.
NUMBERS_THERE = marked(
    "In watersheds where such species live, counts and the index score of a visit are made of the fish in the public "
    "lists; the metrics behind a score, weights of passes and for the area, yearly values of counts and their "
    "trends are not given."
)
KEPT_BACK_SENTENCE = marked(
    "In this watershed lives a fish whose places are withheld. Numbers of fish and species by station are "
    "therefore kept back; the index is made of the fish in the public lists, and what becomes of the others does "
    "not show in it."
)


def measures_for(person: Person, offered: Sequence[Measure], watershed: int) -> list[Measure]:
    """The measures that a page about single stations may show this person."""
    if sees_all(person) or watershed not in guarded_watersheds([watershed]):
        return list(offered)
    return [m for m in offered if m is INDEX]


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """A visit's numbers, the reasons for those that are missing, and what the score is called.

    ``metrics`` is None where they are kept back.
    """

    values: Mapping[str, float | None]
    reasons: Mapping[str, str]
    metrics: Mapping[str, Mapping[str, Any]] | None = field(default_factory=dict)
    rating: str = ""


def guarded_watersheds(among: Iterable[int] | None = None) -> frozenset[int]:
    """Ids of watersheds where a sensitive taxon has been met at an accepted visit."""
    taxa = list(Taxon.objects.filter(sensitive_location=True).values_list("pk", flat=True))
    if not taxa:
        return frozenset()
    met = Catch.objects.filter(taxon__in=taxa, removal_pass__visit__status=VisitStatus.ACCEPTED)
    if among is not None:
        met = met.filter(removal_pass__visit__station__watershed__in=set(among))
    return frozenset(
        met.values_list("removal_pass__visit__station__watershed", flat=True).distinct().order_by()
    )


def stored_figures(result: VisitResult | None) -> Figures:
    """A visit's numbers as they were computed from all fish."""
    if result is None:
        return Figures(values={}, reasons=dict.fromkeys([INDEX.key], NOT_COMPUTED))
    return Figures(
        values=result.values,
        reasons=result.detail.get("reasons", {}),
        metrics=(result.detail.get("index") or {}).get("metrics", {}),
        rating=result.index_rating,
    )


def score_told(result: VisitResult | None, *, everything: bool) -> tuple[float | None, str]:
    """A visit's score and rating for this reader; where no fish is left out of a list the two are one."""
    if result is None:
        return None, ""
    if everything:
        return result.index_score, result.index_rating
    return result.listed_score, result.listed_rating


def public_figures(
    visits: Sequence[Visit], guarded: frozenset[int] | None = None, *, score_alone: bool = False
) -> dict[int, Figures]:
    """The numbers of accepted visits as the public may have them, by visit id.

    The visits need ``station`` and ``result`` at hand; a fixed number of queries, however many visits.
    With ``score_alone`` the counts are left as they are stored, for a caller that shows none.
    """
    if guarded is None:
        guarded = guarded_watersheds({v.station.watershed_id for v in visits})
    inside = [] if score_alone else [v.pk for v in visits if v.station.watershed_id in guarded]
    listed = _as_listed(inside) if inside else {}
    return {v.pk: _public(v, v.station.watershed_id in guarded, listed.get(v.pk)) for v in visits}


def _public(visit: Visit, is_guarded: bool, listed: Figures | None) -> Figures:
    result: VisitResult | None = getattr(visit, "result", None)
    stored = stored_figures(result)
    if not is_guarded:
        return stored
    if result is None:
        return replace(stored, metrics=None)
    shown = listed or stored
    values = {**shown.values, INDEX.key: result.listed_score}
    reasons = {key: text for key, text in shown.reasons.items() if key != INDEX.key}
    for key in WEIGHT_MEASURES:
        values[key] = None
        reasons[key] = KEPT_BACK
    if result.listed_score is None:
        reasons[INDEX.key] = result.detail.get("listed", {}).get("reason") or NOT_COMPUTED
    return Figures(values=values, reasons=reasons, metrics=None, rating=result.listed_rating)


def _as_listed(ids: Sequence[int]) -> dict[int, Figures]:
    """Indicators of the fish that are listed, for those visits whose list is shortened."""
    shortened = Visit.objects.filter(pk__in=ids, passes__catches__taxon__sensitive_location=True).distinct()
    made = {}
    standing = shelf()
    for record in visit_records(Visit.objects.filter(pk__in=shortened.order_by().values("pk"))):
        # Removal estimates are not asked for, take most of the time, and are not made of an open reach.
        listed = replace(without_sensitive(record), stop_nets="none")
        indicators = visit_indicators(
            by_list(listed, standing.traits_for(record.stratum, record.date))
        ).indicators
        made[record.visit_id] = Figures(
            values={key: one.value for key, one in indicators.items()},
            reasons={k: one.reason for k, one in indicators.items() if one.value is None and one.reason},
        )
    return made


def withheld_taxa(watersheds: Iterable[int]) -> dict[int, list[Taxon]]:
    """Sensitive taxa met in each watershed: told for the watershed as a whole, never for a place in it."""
    places = set(watersheds)
    pairs = (
        Catch.objects.filter(
            taxon__sensitive_location=True,
            removal_pass__visit__status=VisitStatus.ACCEPTED,
            removal_pass__visit__station__watershed__in=places,
        )
        .order_by()
        .values_list("removal_pass__visit__station__watershed", "taxon")
        .distinct()
    )
    found = list(pairs)
    if not found:
        return {}
    stations: dict[int, set[int]] = {}
    visited = Visit.objects.accepted().filter(station__watershed__in={place for place, _ in found})
    for place, station in visited.order_by().values_list("station__watershed", "station").distinct():
        stations.setdefault(place, set()).add(station)
    taxa = Taxon.objects.in_bulk({taxon for _, taxon in found})
    told: dict[int, list[Taxon]] = {}
    for place, taxon in found:
        if len(stations[place]) >= LEAST_STATIONS:
            told.setdefault(place, []).append(taxa[taxon])
    return {place: sorted(list_, key=lambda t: t.scientific_name) for place, list_ in told.items()}


def public_vouchers(visits: Iterable[int]) -> dict[int, list[Voucher]]:
    """Preserved fish that carry a number, by visit; none of a taxon whose places are withheld, by either name."""
    kept: dict[int, list[Voucher]] = {}
    rows = Voucher.objects.filter(visit__in=visits, kind=VoucherKind.PRESERVED).exclude(number="")
    rows = rows.exclude(taxon__sensitive_location=True).exclude(confirmed_as__sensitive_location=True)
    for one in rows.select_related("taxon", "confirmed_as").defer("photo").order_by("number", "pk"):
        kept.setdefault(one.visit_id, []).append(one)
    return kept
