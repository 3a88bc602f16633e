"""No public page tells where a sensitive fish lives: not by name, and not by a number beside a shortened list."""

import re
from collections.abc import Callable

import pytest
from django.test import Client

from tests.factories import make_station, make_taxon, make_visit
from trends.recompute import mark_all, recompute_marked

pytestmark = pytest.mark.django_db

SECRET, PLACE = "Etheostoma sellare", "WIL-01"


@pytest.fixture
def creek() -> None:
    make_taxon(
        SECRET, sensitive_location=True, native=True, common_name="Hidden Darter", tolerance="intolerant"
    )
    for code in (PLACE, "WIL-02"):
        station = make_station(code, river_km=1.5)
        for year in range(2015, 2023):
            fish = {"Creek Chub": 31, "Brook Trout": 7}
            if code == PLACE:
                fish[SECRET] = 9
            make_visit(station, f"{year}-07-10", passes=[fish, {"Creek Chub": 5}], mean_width_m=4)
    mark_all()
    recompute_marked()


def visit_address(client: Client) -> str:
    page = client.get(f"/stations/{PLACE}/").content.decode()
    return "/visits/" + page.split("/visits/")[1].split("/")[0] + "/"


@pytest.mark.parametrize(
    "address",
    [
        "/stations/WIL-01/",
        "/stations/WIL-01/?measure=richness",
        "/compare/?measure=richness&level=stations",
        "visit",
    ],
)
def test_the_public_reads_neither_the_name_nor_the_count(
    creek: None, signed_in: Callable[[str], Client], address: str
) -> None:
    client = signed_in("")
    page = client.get(visit_address(client) if address == "visit" else address).content.decode()
    assert SECRET not in page and "Hidden Darter" not in page
    if address == "visit":
        # By hand: 31 + 7 + 5 fish are listed; with the nine withheld there would be 52.
        assert ">43<" in page
        told = re.sub(r"<[^>]+>", " ", re.sub(r"<script.*?</script>", " ", page, flags=re.S))
        # A colon stands before the minutes of the hour at which the page was computed.
        assert re.findall(r"(?<![.:\d])(?:52|47)(?![.\d])", told) == []
        assert "47" not in re.findall(r'"y": ?\[([^\]]*)\]', page)[0]
        assert "3 species" not in page


def test_the_public_gets_no_yearly_counts_at_a_station_and_is_told_why(
    creek: None, signed_in: Callable[[str], Client]
) -> None:
    page = signed_in("").get(f"/stations/{PLACE}/?measure=richness").content.decode()
    assert 'value="richness"' not in page


def test_the_neighbour_where_it_was_never_met_is_treated_alike(
    creek: None, signed_in: Callable[[str], Client]
) -> None:
    """Else the missing number would point to the station that hides something."""
    client = signed_in("")
    here, there = (client.get(f"/stations/{code}/").content.decode() for code in (PLACE, "WIL-02"))
    assert ('value="richness"' in here) == ('value="richness"' in there)


def test_staff_read_everything(creek: None, signed_in: Callable[[str], Client]) -> None:
    client = signed_in("planner")
    assert SECRET in client.get(visit_address(client)).content.decode()
    assert 'value="richness"' in client.get(f"/stations/{PLACE}/").content.decode()
