"""Every public page is wholly there in each language: the walk opens it in a made-up one."""

import re

import polib
import pytest
from django.test import Client
from django.urls import reverse
from django.utils import translation

from surveys.models import Station, Taxon, Visit, Watershed
from tests.made_up_language import CATALOGUE, county, data_words, made_up_language, not_given_out
from tests.test_translated_desk_pages import AT_THE_DESK
from trends.brief_proposals import PROPOSALS
from trends.effects import NO_EFFECT
from trends.middleware import TRANSLATED
from trends.models import LandUseNote

__all__ = ["county", "made_up_language"]  # fixtures


def _notes_with_a_page() -> list[int]:
    """Every public note that years can be compared about: found, not found, refused, with and without controls."""
    notes = LandUseNote.objects.public().exclude(category__in=NO_EFFECT)
    return list(notes.order_by("pk").values_list("pk", flat=True))


def addresses() -> list[str]:
    """One page of each kind, two where a page has two faces."""
    creek = Watershed.objects.order_by("name").first()
    station = Station.objects.order_by("code").first()
    visit = Visit.objects.accepted().order_by("-visit_date").first()
    fish = Taxon.objects.filter(catches__isnull=False).order_by("scientific_name").first()
    assert creek and station and visit and fish
    found = {
        "trends:overview": [[]],
        "trends:watershed": [[slug] for slug in Watershed.objects.values_list("slug", flat=True)],
        "trends:stations": [[]],
        "trends:station": [[station.code]],
        "trends:visit": [[visit.pk]],
        "trends:species_list": [[]],
        "trends:species": [[fish.slug]],
        "trends:compare": [[]],
        "trends:methods": [[]],
        "trends:method": [
            ["maryland_fish_2005"],
            ["wisconsin_coldwater_1996"],
            ["karr_midwest_1986"],
            ["ohio_modified_well_being"],
        ],
        "trends:open_data": [[]],
        "trends:api": [[]],
        "trends:handout": [[creek.slug]],
        "trends:handout_pack": [],  # a file; its pages are looked at below
        "trends:brief": [[slug] for slug in Watershed.objects.values_list("slug", flat=True)],
        # A file and a form: what they hold is the page of the brief.
        "trends:brief_pdf": [],
        "trends:brief_issue": [],
        "trends:effect": [[key] for key in _notes_with_a_page()],
        "trends:watershed_result": [[creek.slug]],
        "trends:station_result": [[station.code]],
    }
    public = {name for name in TRANSLATED if name.startswith("trends:")} - AT_THE_DESK
    unknown = public - found.keys()
    assert not unknown, f"name an address for {sorted(unknown)}"
    pages = [reverse(name, args=keys) for name in sorted(public) for keys in found[name]]
    brief = reverse("trends:brief", args=[creek.slug])
    return [*pages, *(f"{brief}?proposal={one.key}" for one in PROPOSALS)]


@pytest.mark.django_db
@pytest.mark.usefixtures("county", "made_up_language")
def test_no_page_holds_words_that_were_not_given_out_for_translation() -> None:
    client = Client()
    with translation.override("es"):
        pages = addresses()
    data = data_words()
    found = []
    for address in pages:
        # A browser asks for pages; a program would get data at some of the addresses.
        response = client.get(address, headers={"accept": "text/html"})
        assert response.status_code == 200, address
        found += [f"{address}: {words}" for words in not_given_out(response, data)]
    assert not found, "\n".join(dict.fromkeys(found))


def test_the_catalogue_is_whole() -> None:
    """No entry is empty or doubtful, and no gap of the English is lost or made up."""
    catalogue = polib.pofile(str(CATALOGUE), wrapwidth=0)
    gap = re.compile(r"\{\w+\}|%\(\w+\)s")
    faults = []
    for entry in catalogue:
        if entry.obsolete:
            continue
        said = list(entry.msgstr_plural.values()) if entry.msgid_plural else [entry.msgstr]
        if not all(said) or "fuzzy" in entry.flags:
            faults.append(f"not translated: {entry.msgid[:80]}")
            continue
        wanted = set(gap.findall(entry.msgid_plural or entry.msgid))
        for words in said[-1:]:
            if set(gap.findall(words)) != wanted:
                faults.append(f"other gaps: {entry.msgid[:80]}")
    assert faults == []


def test_the_compiled_catalogue_is_the_written_one() -> None:
    written = polib.pofile(str(CATALOGUE), wrapwidth=0)
    compiled = polib.mofile(str(CATALOGUE.with_suffix(".mo")))
    wanted = {(e.msgctxt, e.msgid): e.msgstr or e.msgstr_plural for e in written if not e.obsolete}
    assert {(e.msgctxt, e.msgid): e.msgstr or e.msgstr_plural for e in compiled} == wanted
