"""A method names the trait list it was calibrated on: held here, that list scores the method's strata.

It scores nothing before a person has seen what it changes, and another list chosen for a stratum goes first.
"""

import datetime
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from surveys.models import RemovalPass, Taxon, Visit
from tests.factories import make_station, make_taxon, make_visit
from trends import recompute
from trends.index import load_method
from trends.models import ListedTraits, TraitList, VisitResult
from trends.shelf import shelf
from trends.trait_lists import use_list

pytestmark = pytest.mark.django_db

STRATUM = "Eastern Piedmont"
NAMED = str(load_method("maryland_fish_2005").traits["list"])
CATCH: list[dict[str, int]] = [{"Creek Chub": 40, "Mottled Sculpin": 60, "Brook Trout": 6}, {"Creek Chub": 9}]


@pytest.fixture
def visit() -> Visit:
    for name in ("Creek Chub", "Mottled Sculpin", "Brook Trout"):
        make_taxon(name, lithophilic=name == "Brook Trout", benthic=name == "Mottled Sculpin")
    station = make_station("WIL-1", stratum=STRATUM, catchment_km2=8.0, mean_width_m=4.0)
    made = make_visit(station, "2023-07-16", passes=CATCH, mean_width_m=4.0)
    RemovalPass.objects.update(biomass_g=1800)
    score()
    return made


def score() -> None:
    recompute.mark_all()
    recompute.mark_outdated()
    recompute.recompute_marked(everything=True)


def stored() -> float:
    value = VisitResult.objects.get().index_score
    assert value is not None
    return value


def hold(name: str, **fields: Any) -> TraitList:
    """A list on which the chub is intolerant and spawns on clean stones, which moves the score."""
    row = TraitList.objects.create(
        name=name, dated=datetime.date(2005, 1, 1), source="Table 3 of the report", **fields
    )
    chub = Taxon.objects.get(scientific_name="Semotilus atromaculatus")
    traits = {"tolerance": "intolerant", "lithophilic": True}
    ListedTraits.objects.create(trait_list=row, taxon=chub, traits=traits)
    return row


def page(address: str) -> str:
    return Client().get(address).content.decode().replace("&#x27;", "'")


def test_the_list_of_the_method_scores_where_it_is_held(visit: Visit) -> None:
    before = stored()
    hold(NAMED.upper())  # the spelling of the name may differ in case
    score()
    assert stored() != before
    listed = shelf().traits_for(STRATUM)
    assert listed is not None and listed.calibrated


def test_indicators_go_by_the_same_list_and_every_page_names_it(visit: Visit) -> None:
    tolerant = VisitResult.objects.get().values["tolerant_share_pct"]
    hold(NAMED)
    score()
    assert VisitResult.objects.get().values["tolerant_share_pct"] < tolerant
    words = f"{NAMED}, 2005-01-01 (the list that the index method was calibrated on)"
    station = visit.station
    for address in (
        visit.get_absolute_url(),
        station.get_absolute_url(),
        station.watershed.get_absolute_url(),
        reverse("trends:method", args=["maryland_fish_2005"]),
    ):
        assert words in page(address), address


def test_without_such_a_list_the_pages_name_the_countys_own(visit: Visit) -> None:
    for address in (visit.get_absolute_url(), visit.station.get_absolute_url()):
        assert "Traits behind the indicators and the score" in page(address)
        assert "the county's own" in page(address).replace("’", "'")


def test_another_list_chosen_for_the_stratum_goes_first(visit: Visit) -> None:
    hold(NAMED)
    chosen = TraitList.objects.create(
        name="Another", dated="2010-01-01", source="A report", strata=["eastern_piedmont"]
    )
    listed = shelf().traits_for(STRATUM)
    assert listed is not None
    assert (listed.name, listed.calibrated) == (chosen.name, False)


def test_a_stratum_of_another_method_is_not_served(visit: Visit) -> None:
    hold(NAMED)
    assert shelf().traits_for("coldwater") is None
    assert shelf().traits_for("") is None


def test_it_is_seen_first_then_used_and_can_be_left_out(
    visit: Visit, signed_in: Any, django_capture_on_commit_callbacks: Any
) -> None:
    client, before = signed_in("administrator"), stored()
    file = SimpleUploadedFile(
        "list.csv",
        b"scientific_name,tolerance,lithophilic\nSemotilus atromaculatus,intolerant,1\n",
    )
    client.post(
        reverse("trends:trait_lists"),
        {"name": NAMED, "dated": "2005-01-01", "region": "", "source": "Table 3", "file": file},
    )
    row = TraitList.objects.get()
    score()
    assert stored() == before  # it is held, and waits
    address = reverse("trends:trait_list", args=[row.pk])
    text = client.get(address).content.decode()
    assert "was calibrated on a list of this name" in text and "waits until you have seen" in text
    asked = {"strata": ["eastern_piedmont"], "reason": "The method was calibrated on it."}
    (moved,) = client.post(address, asked).context["preview"].moved
    with django_capture_on_commit_callbacks(execute=True):
        client.post(address, {**asked, "confirm": "yes"})
    assert stored() == pytest.approx(moved.score_after)
    # It serves by its name, so a method that names another list would not be scored with it.
    assert TraitList.objects.get().strata == []
    with django_capture_on_commit_callbacks(execute=True):
        use_list(TraitList.objects.get(), [], reason="Our own fits better.")
    assert stored() == before
    assert shelf().traits_for(STRATUM) is None
