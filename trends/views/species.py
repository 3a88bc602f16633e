"""The species list, and one taxon: its traits, and where and when it was met."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from surveys.access import Person
from surveys.models import Taxon
from surveys.withholding import STATEMENT, sees_all
from trends import species_drawings
from trends.species import cleaned_search, finding, not_seen_since, occurrence, species_list


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
                ("Met here", met),
                ("On the list, not met yet", [row for row in rows if not row.visits]),
            ],
            "total": len(rows),
            "met": len(met),
        },
    )


def may_see_stations(person: Person, taxon: Taxon) -> bool:
    """Stations of a sensitive taxon are for those who may see exact places."""
    return not taxon.sensitive_location or sees_all(person)


@require_safe
def taxon(request: HttpRequest, slug: str) -> HttpResponse:
    one = get_object_or_404(Taxon, slug=slug)
    open_to_person = may_see_stations(request.user, one)
    found = occurrence(one, with_stations=open_to_person)
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
            "look_alikes": [{"name": name, "taxon": listed.get(name)} for name in look_alikes],
        },
    )
