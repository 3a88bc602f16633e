"""Which fish live in one creek: common, special, not seen lately, back again; for the public.

Counted from accepted visits alone. Taxa whose places are withheld are named for the whole creek where
the rule allows it, without years. The limits below are this programme's choice; no source.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from surveys.models import Catch, Taxon, Visit, VisitStatus, Watershed
from trends.public_figures import withheld_taxa

# "Now" is the latest visited years, so that one poor visit decides nothing.
RECENT_YEARS = 3
# Common: met at this part of the visits of the recent years.
COMMON_SHARE = 0.5
# Not seen: met at this many visits before, and at none of at least so many since.
LEAST_MET_BEFORE = 2
LEAST_VISITS_SINCE = 5
# Back again: after so many visited years in a row without it.
LEAST_YEARS_AWAY = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One kind of fish in one creek; ``since`` counts the visits after the last one that met it."""

    taxon: Taxon
    visits: int
    first_year: int
    last_year: int
    since: int
    recent_share: float
    away: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CreekFish:
    """What a page may say of the fish of one creek."""

    visits: int
    stations: int
    years: tuple[int, ...]
    kinds: int
    common: tuple[Seen, ...]
    special: tuple[Seen, ...]
    lost: tuple[Seen, ...]
    returned: tuple[Seen, ...]
    # Sensitive taxa, for the creek as a whole; without years.
    withheld: tuple[Taxon, ...]


def creek_fish(watershed: Watershed) -> CreekFish:
    """Sort the fish of a creek by when they were met. A fixed number of queries."""
    visits = list(
        Visit.objects.accepted()
        .filter(station__watershed=watershed)
        .order_by("visit_date", "pk")
        .values_list("pk", "visit_date", "station_id")
    )
    pairs = (
        Catch.objects.filter(
            removal_pass__visit__status=VisitStatus.ACCEPTED,
            removal_pass__visit__station__watershed=watershed,
            taxon__sensitive_location=False,
        )
        .order_by()
        .values_list("taxon", "removal_pass__visit")
        .distinct()
    )
    met: dict[int, set[int]] = defaultdict(set)
    for taxon, visit in pairs:
        met[taxon].add(visit)
    taxa = Taxon.objects.in_bulk(met)
    dated = [(pk, day.year) for pk, day, _ in visits]
    seen = sorted(
        (_seen(taxa[pk], dated, at) for pk, at in met.items() if taxa[pk].is_species),
        key=lambda s: (-s.recent_share, -s.visits, s.taxon.scientific_name),
    )
    years = tuple(sorted({year for _, year in dated}))
    recent = set(years[-RECENT_YEARS:])
    withheld = tuple(withheld_taxa([watershed.pk]).get(watershed.pk, ()))
    return CreekFish(
        visits=len(visits),
        stations=len({station for _, _, station in visits}),
        years=years,
        kinds=len(seen) + len(withheld),
        common=tuple(s for s in seen if s.recent_share >= COMMON_SHARE),
        special=tuple(
            s for s in seen if s.taxon.native and s.taxon.tolerance == "intolerant" and s.last_year in recent
        ),
        lost=tuple(
            s
            for s in seen
            if s.taxon.native
            and s.visits >= LEAST_MET_BEFORE
            and s.since >= LEAST_VISITS_SINCE
            and s.last_year not in recent
        ),
        returned=tuple(
            s for s in seen if s.taxon.native and s.away and s.last_year in recent and s.away[1] >= years[0]
        ),
        withheld=withheld,
    )


def _seen(taxon: Taxon, dated: list[tuple[int, int]], at: set[int]) -> Seen:
    """Where a taxon stands in the visits of the creek, which are in order of time."""
    hits = [i for i, (pk, _) in enumerate(dated) if pk in at]
    years = sorted({year for _, year in dated})
    recent = set(years[-RECENT_YEARS:])
    of_recent = [pk for pk, year in dated if year in recent]
    met_years = {dated[i][1] for i in hits}
    return Seen(
        taxon=taxon,
        visits=len(hits),
        first_year=dated[hits[0]][1],
        last_year=dated[hits[-1]][1],
        since=len(dated) - 1 - hits[-1],
        recent_share=sum(1 for pk in of_recent if pk in at) / len(of_recent),
        away=_away(years, met_years, years[-RECENT_YEARS:][0]),
    )


def _away(years: list[int], met: set[int], recent_from: int) -> tuple[int, int] | None:
    """First and last year of the stretch without it that ended within the recent years, if it was long."""
    for back in (y for y in years if y in met and y >= recent_from):
        before = [y for y in years if y < back]
        gap: list[int] = []
        while before and before[-1] not in met:
            gap.insert(0, before.pop())
        if before and len(gap) >= LEAST_YEARS_AWAY:
            return gap[0], gap[-1]
    return None


def names(seen: Iterable[Seen | Taxon], most: int = 8) -> list[str]:
    """Common names, the first few; a kind without one goes by its Latin name."""
    taxa = [s.taxon if isinstance(s, Seen) else s for s in seen]
    return [t.common_name or t.scientific_name for t in taxa[:most]]
