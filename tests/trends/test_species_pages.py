"""The species pages: what is listed, what is found, and what the public is never told."""

import datetime
import re
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from surveys.models import TaxonAlias, VisitStatus
from surveys.withholding import STATEMENT
from tests.factories import make_station, make_taxon, make_visit
from trends.species import finding, not_seen_since, occurrence, species_list
from trends.species_drawings import station_map, strip, strip_words

pytestmark = pytest.mark.django_db

CHUB, SCULPIN = {"Creek Chub": 4}, {"Mottled Sculpin": 2}


def _page(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def _names(search: str) -> list[str]:
    return [row.taxon.common_name for row in species_list(search)]


class TestList:
    def test_visits_and_years_are_of_accepted_visits(self) -> None:
        station = make_station("A-1")
        make_visit(station, "2018-07-01", passes=[CHUB, CHUB])
        make_visit(station, "2020-07-01", passes=[CHUB])
        make_visit(station, "2023-07-01", passes=[CHUB], status=VisitStatus.SUBMITTED)
        (row,) = species_list()
        assert (row.visits, row.fish, row.first_year, row.last_year) == (2, 12, 2018, 2020)

    def test_a_visit_with_two_passes_is_one_visit(self) -> None:
        make_visit(passes=[CHUB, CHUB, CHUB])
        assert species_list()[0].visits == 1

    @pytest.mark.parametrize("search", ["creek", "atromacul", "CC", "Creek Chub", "crek chubb", "mud chub"])
    def test_a_name_is_found_by_part_code_old_name_and_near_spelling(self, search: str) -> None:
        chub = make_taxon("Creek Chub", code="CC")
        make_taxon("Mottled Sculpin")
        TaxonAlias.objects.create(taxon=chub, name="mud chub")
        assert _names(search)[0] == "Creek Chub"

    def test_two_old_names_do_not_list_a_taxon_twice(self) -> None:
        chub = make_taxon("Creek Chub")
        TaxonAlias.objects.create(taxon=chub, name="mud chub")
        TaxonAlias.objects.create(taxon=chub, name="horned chub")
        assert _names("chub") == ["Creek Chub"]

    def test_nothing_like_it_says_so(self, client: Client) -> None:
        make_taxon("Creek Chub")
        assert "No name on the list is like" in _page(client, reverse("trends:species_list") + "?q=qqqqqq")

    @pytest.mark.parametrize("odd", ["%00", "'%22%3Cscript%3E", "%25_", "x" * 5000, "%F0%9F%90%9F"])
    def test_odd_words_are_searched_and_escaped(self, client: Client, odd: str) -> None:
        assert "<script>" not in _page(client, reverse("trends:species_list") + f"?q={odd}")

    def test_an_empty_list_says_what_would_fill_it(self, client: Client) -> None:
        assert "load_taxa" in _page(client, reverse("trends:species_list"))

    def test_the_number_of_queries_does_not_grow(
        self, client: Client, django_assert_num_queries: Any
    ) -> None:
        make_visit(passes=[CHUB])
        with django_assert_num_queries(2):
            client.get(reverse("trends:species_list"))
        make_visit(make_station("B-1", watershed="Alder Run"), passes=[SCULPIN, {"Bluegill": 1}])
        with django_assert_num_queries(2):
            client.get(reverse("trends:species_list"))


class TestOccurrence:
    def test_met_and_made_are_counted_by_watershed(self) -> None:
        willow, alder = make_station("W-1"), make_station("A-1", watershed="Alder Run")
        make_visit(willow, "2018-07-01", passes=[CHUB])
        make_visit(willow, "2019-07-01", passes=[SCULPIN])
        make_visit(alder, "2021-07-01", passes=[SCULPIN])
        found = occurrence(make_taxon("Creek Chub"), with_stations=True)
        shares = {w.watershed.name: (w.meeting.met, w.meeting.made) for w in found.watersheds}
        assert shares == {"Alder Run": (0, 1), "Willow Run": (1, 2)}
        assert [m.state for m in found.everywhere.years] == ["met", "not met", "not visited", "not met"]
        assert not_seen_since(found.everywhere) == "not seen since 2018 in 2 visits"

    def test_a_visit_in_review_counts_nowhere(self) -> None:
        make_visit(passes=[CHUB], status=VisitStatus.SUBMITTED)
        found = occurrence(make_taxon("Creek Chub"), with_stations=True)
        assert found.everywhere.made == 0
        assert "no visit has been accepted yet" in finding("Creek Chub", found.everywhere)

    def test_a_later_visit_of_the_last_year_met_is_no_disappearance(self) -> None:
        station = make_station("W-1")
        make_visit(station, "2018-07-01", passes=[CHUB])
        make_visit(station, "2018-08-01", passes=[SCULPIN])
        assert not_seen_since(occurrence(make_taxon("Creek Chub"), with_stations=True).everywhere) == ""

    def test_the_strip_tells_three_states_by_shape(self) -> None:
        station = make_station("W-1")
        make_visit(station, "2018-07-01", passes=[CHUB])
        make_visit(station, "2020-07-01", passes=[SCULPIN])
        years = occurrence(make_taxon("Creek Chub"), with_stations=True).everywhere.years
        drawn = strip(years)
        assert drawn.count('class="dot"') == 1
        assert drawn.count('<circle class="axis"') == 1
        assert drawn.count('class="gap"') == 1
        assert strip_words(years) == "met in 2018; visited and not met in 2020; not visited in 2019"

    def test_the_map_fills_met_stations_and_leaves_others_hollow(self) -> None:
        first = make_station("W-1", latitude=39.10, longitude=-77.10)
        second = make_station("W-2", latitude=39.12, longitude=-77.10)
        make_station("W-3", latitude=39.14, longitude=-77.10)
        make_visit(first, passes=[CHUB])
        make_visit(second, passes=[SCULPIN])
        drawn = station_map(occurrence(make_taxon("Creek Chub"), with_stations=True).stations)
        assert drawn.count('<circle class="dot"') == 1
        assert drawn.count('<circle class="axis"') == 1
        assert re.search(r"\d k?m</text>", drawn)
        assert ">N</text>" in drawn
        assert "W-3" not in drawn

    def test_the_scale_bar_is_as_long_as_the_ground_it_stands_for(self) -> None:
        # One degree of latitude is 111.2 km on a sphere of 6371 km (arithmetic).
        south = make_station("W-1", latitude=39.0, longitude=-77.0)
        north = make_station("W-2", latitude=39.1, longitude=-77.0)
        make_visit(south, passes=[CHUB])
        make_visit(north, passes=[CHUB])
        drawn = station_map(occurrence(make_taxon("Creek Chub"), with_stations=True).stations)
        heights = [float(y) for y in re.findall(r'<circle class="dot" cx="[\d.]+" cy="([\d.]+)"', drawn)]
        km = float(re.findall(r">([\d.]+) km</text>", drawn)[0])
        end = float(re.findall(r'<path class="axis" d="M16,[\d.]+ V[\d.]+ H([\d.]+)', drawn)[0])
        assert (end - 16) / km == pytest.approx(abs(heights[0] - heights[1]) / 11.12, rel=0.01)


class TestPage:
    def test_traits_that_are_not_known_are_shown_as_such(self, client: Client) -> None:
        taxon = make_taxon("Notropis sp.", rank="genus")
        page = _page(client, taxon.get_absolute_url())
        assert "Whether it is native here is not known" in page
        assert page.count("not known") >= 6
        assert "counts as fish and not as a species" in page

    def test_look_alikes_on_the_list_are_linked(self, client: Client) -> None:
        dace = make_taxon("Blacknose Dace")
        chub = make_taxon("Creek Chub", look_alikes="Rhinichthys atratulus; Nocomis micropogon")
        page = _page(client, chub.get_absolute_url())
        assert dace.get_absolute_url() in page
        assert "Nocomis micropogon" in page
        assert "not on this list" in page

    def test_an_unknown_taxon_is_not_found(self, client: Client) -> None:
        assert client.get("/species/no-such-fish/").status_code == 404

    def test_a_fish_no_longer_caught_is_never_called_gone(self, client: Client) -> None:
        station = make_station("W-1")
        make_visit(station, "2010-07-01", passes=[CHUB])
        for year in range(2011, 2016):
            make_visit(station, f"{year}-07-01", passes=[SCULPIN])
        page = _page(client, make_taxon("Creek Chub").get_absolute_url())
        assert "not seen since 2010 in 5 visits" in page
        assert "extinct" not in page.lower()
        assert "extirpated" not in page.lower()

    def test_the_number_of_queries_does_not_grow(
        self, client: Client, django_assert_num_queries: Any
    ) -> None:
        taxon = make_taxon("Creek Chub", look_alikes="Rhinichthys atratulus")
        make_taxon("Blacknose Dace")
        make_visit(make_station("W-1"), passes=[CHUB])
        with django_assert_num_queries(9):
            client.get(taxon.get_absolute_url())
        for number in range(3):
            station = make_station(f"A-{number}", watershed=f"Run {number}", latitude=39.0, longitude=-77.0)
            make_visit(station, datetime.date(2020 + number, 7, 1), passes=[CHUB])
        with django_assert_num_queries(9):
            client.get(taxon.get_absolute_url())


class TestSensitivePlaces:
    @pytest.fixture
    def address(self) -> str:
        trout = make_taxon("Brook Trout", sensitive_location=True)
        station = make_station("SECRET-7", name="Hidden riffle", latitude=39.1234, longitude=-77.4321)
        make_visit(station, "2019-07-01", passes=[{"Brook Trout": 3}])
        make_visit(make_station("OPEN-1"), "2018-07-01", passes=[{"Creek Chub": 3}])
        return trout.get_absolute_url()

    def test_a_creek_with_one_visited_station_is_not_named(self, client: Client) -> None:
        """Its name would be the place."""
        trout = make_taxon("Brook Trout", sensitive_location=True)
        make_visit(make_station("SECRET-7"), "2019-07-01", passes=[{"Brook Trout": 3}])
        assert "Willow Run" not in _page(client, trout.get_absolute_url())

    def test_the_public_gets_neither_years_nor_counts(self, address: str, client: Client) -> None:
        page = _page(client, address)
        assert "2019" not in page and "of 2 visits" not in page

    @pytest.mark.parametrize("role", ["", "nobody in particular"])
    def test_the_public_learns_the_watershed_and_no_station(
        self, address: str, role: str, client: Client, django_user_model: Any
    ) -> None:
        if role:
            client.force_login(django_user_model.objects.create(username=role))
        page = _page(client, address)
        assert "Willow Run" in page
        assert STATEMENT in page
        for leak in ("SECRET-7", "Hidden riffle", "39.12", "77.43", "Map of"):
            assert leak not in page

    @pytest.mark.parametrize("role", ["biologist", "reviewer", "planner", "outreach", "administrator"])
    def test_staff_see_the_stations_and_that_the_public_does_not(
        self, address: str, role: str, signed_in: Any
    ) -> None:
        page = _page(signed_in(role), address)
        assert "SECRET-7" in page
        assert "For staff only" in page


@pytest.mark.parametrize("method", ["post", "put", "delete"])
def test_the_species_pages_are_read_only(client: Client, method: str) -> None:
    make_taxon("Creek Chub")
    for address in ("/species/", "/species/semotilus-atromaculatus/"):
        assert getattr(client, method)(address).status_code == 405


@pytest.mark.parametrize(("authorship", "shown"), [("(Quillon, 1801)", True), ("", False)])
def test_who_named_a_taxon_is_told_where_it_is_on_record(
    client: Client, authorship: str, shown: bool
) -> None:
    make_taxon("Creek Chub", authorship=authorship)
    page = _page(client, "/species/semotilus-atromaculatus/")
    assert ("Named by" in page) == shown and authorship in page
