"""The species list, and one taxon: its traits, and where and when it was met."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from surveys.access import Person
from surveys.language import marked, worded
from surveys.look_alikes import marks_between
from surveys.models import Taxon, Watershed
from surveys.withholding import STATEMENT, sees_all
from trends import species_drawings
from trends.public_figures import LEAST_STATIONS, withheld_taxa
from trends.reference_models import TaxonOperation, TraitList
from trends.species import cleaned_search, finding, not_seen_since, occurrence, species_list
from trends.taxonomy import kept_under, operations_of
from trends.trait_changes import trait_history


@require_safe
def species(request: HttpRequest) -> HttpResponse:
    search = cleaned_search(request.GET.get("q", ""))
    rows = species_list(search)
    met = [row for row in rows if row.visits]
    return render(
        request,
        "trends/species_list.html",
        {
            "search": search,
            "groups": [
                (marked("Met here"), met),
                (marked("On the list, not met yet"), [row for row in rows if not row.visits]),
            ],
            "total": len(rows),
            "met": len(met),
        },
    )


def may_see_stations(person: Person, taxon: Taxon) -> bool:
    """Stations of a sensitive taxon are for those who may see exact places."""
    return not taxon.sensitive_location or sees_all(person)


def _withheld(request: HttpRequest, taxon: Taxon, met_in: list[Watershed]) -> HttpResponse:
    """A sensitive fish as the public reads of it: its creeks, without years and counts that could be placed."""
    told = withheld_taxa([w.pk for w in met_in])
    return render(
        request,
        "trends/species_withheld.html",
        {
            "taxon": taxon,
            "met": bool(met_in),
            "watersheds": [w for w in met_in if taxon in told.get(w.pk, [])],
            "least_stations": LEAST_STATIONS,
            "withheld": STATEMENT,
        },
    )


def _unknown() -> Taxon:
    raise Http404(worded("There is no taxon of this name."))


@require_safe
def taxon(request: HttpRequest, slug: str) -> HttpResponse:
    one = Taxon.objects.filter(slug=slug).first()
    if one is None:
        return redirect(kept_under(slug) or _unknown(), permanent=True)
    open_to_person = may_see_stations(request.user, one)
    found = occurrence(one, with_stations=open_to_person)
    if not open_to_person:
        return _withheld(request, one, [row.watershed for row in found.watersheds if row.meeting.met])
    years = found.everywhere.years
    look_alikes = one.look_alike_names
    listed = {t.scientific_name: t for t in Taxon.objects.filter(scientific_name__in=look_alikes)}
    return render(
        request,
        "trends/species_detail.html",
        {
            "taxon": one,
            "aliases": list(one.aliases.all()),
            "finding": finding(one.common_name or one.scientific_name, found.everywhere),
            "occurrence": found,
            "faded": any(
                not_seen_since(m) for m in (found.everywhere, *(w.meeting for w in found.watersheds))
            ),
            "strip": species_drawings.strip(years),
            "first_year": years[0].year if years else None,
            "last_year": years[-1].year if years else None,
            "strip_words": species_drawings.strip_words(years),
            "key": species_drawings.strip_key(),
            "watersheds": [
                {
                    "watershed": row.watershed,
                    "meeting": row.meeting,
                    "strip": species_drawings.strip(row.meeting.years, labels=False),
                    "since": not_seen_since(row.meeting),
                }
                for row in found.watersheds
            ],
            "stations": [
                {"station": s, "since": not_seen_since(s.meeting)} for s in found.stations if s.meeting.met
            ],
            "visited_stations": len(found.stations),
            "map": species_drawings.station_map(found.stations),
            "withheld": "" if open_to_person else STATEMENT,
            "staff_only": one.sensitive_location and open_to_person,
            "look_alikes": [
                {"name": name, "taxon": listed.get(name), "marks": marks_between(one.scientific_name, name)}
                for name in look_alikes
            ],
            "history": trait_history(one) if request.user.is_authenticated else [],
            "operations": [
                # A split may name stations; the public is told of merges alone, and of no withheld taxon.
                done
                for done in operations_of(one)
                if sees_all(request.user)
                or (done.kind == TaxonOperation.Kind.MERGE and not one.sensitive_location)
            ],
            "listed_on": one.listed_traits.select_related("trait_list"),
            "county_list": TraitList.objects.filter(is_county=True).first(),
        },
    )
