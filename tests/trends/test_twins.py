"""The data beside each public page: there for everybody, linked, equal to the page, and nothing withheld in it."""

import csv
import io
import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from surveys.models import Visit
from tests.factories import make_station, make_taxon, make_visit
from trends.recompute import mark_all, recompute_marked

pytestmark = pytest.mark.django_db

SECRET = "Etheostoma sellare"
ROLES = ("", "biologist", "administrator")


@pytest.fixture
def visit() -> Visit:
    """Two stations of Willow Run with a withheld darter at one; a visit in review besides."""
    make_taxon(SECRET, sensitive_location=True, native=True, common_name="Hidden Darter")
    for code in ("WIL-01", "WIL-02"):
        station = make_station(
            code,
            latitude=39.1,
            longitude=-77.25,
            name="=Upper bridge",
            stratum="eastern_piedmont",
            catchment_km2=9,
        )
        for year in range(2016, 2022):
            fish = {"Creek Chub": 30, "Blacknose Dace": 5}
            if code == "WIL-01":
                fish[SECRET] = 9
            made = make_visit(station, f"{year}-07-10", passes=[fish, {"Creek Chub": 4}], mean_width_m=4)
    make_visit(station, "2023-07-10", passes=[{"Bluegill": 77}], status="submitted")
    mark_all()
    recompute_marked()
    return made


def pages(visit: Visit) -> dict[str, str]:
    """Page -> address of its data without the ending."""
    return {
        "/": "/creeks",
        "/watersheds/willow-run/": "/watersheds/willow-run",
        "/stations/WIL-01/": "/stations/WIL-01",
        f"/visits/{visit.pk}/": f"/visits/{visit.pk}",
        "/species/semotilus-atromaculatus/": "/species/semotilus-atromaculatus",
        "/species/etheostoma-sellare/": "/species/etheostoma-sellare",
    }


@pytest.mark.parametrize("form", ["json", "csv"])
def test_each_page_names_its_data_in_its_head_and_in_a_link(
    visit: Visit, signed_in: Callable[[str], Client], form: str
) -> None:
    client = signed_in("")
    for page, data in pages(visit).items():
        html = client.get(page).content.decode()
        assert re.search(rf'<link rel="alternate" type="[a-z/]+" href="{data}\.{form}"', html), page
        assert f'<a href="{data}.{form}">' in html, page
        assert client.get(f"{data}.{form}").status_code == 200


def test_everybody_gets_the_same_bytes(visit: Visit, signed_in: Callable[[str], Client]) -> None:
    for data in pages(visit).values():
        for form in ("json", "csv"):
            assert len({signed_in(role).get(f"{data}.{form}").content for role in ROLES}) == 1


def test_no_place_of_a_withheld_species_is_in_any_of_them(
    visit: Visit, signed_in: Callable[[str], Client]
) -> None:
    """The darter is told for the watershed; beside no station, visit or year."""
    client = signed_in("")
    marked = Visit.objects.filter(station__code="WIL-01").earliest("visit_date")
    for address in ("/stations/WIL-01", f"/visits/{marked.pk}", "/creeks"):
        for form in ("json", "csv"):
            text = client.get(f"{address}.{form}").content.decode()
            if address == "/creeks":
                # The watershed as a whole may name it.
                text = text.split('"watersheds": [')[0]
            assert SECRET not in text and "Hidden Darter" not in text, address
    # A reason why a number is missing names no fish either, wherever a trend is read.
    for address in ("/", "/stations/WIL-01/", "/api/v1/trends", "/watersheds/willow-run.csv"):
        text = client.get(address).content.decode()
        assert SECRET not in text and "Hidden Darter" not in text, address
    species = client.get("/species/etheostoma-sellare.json").json()
    assert [(r["watershed"], r["met"], r["year"], r["visits_met"]) for r in species["rows"]] == [
        ("willow-run", True, None, None)
    ]
    assert "stations" not in species and species["about"]["places_withheld"] is True
    # 43 fish were caught at that visit with the darters, 34 + 5 = 39 without: no number tells the difference.
    numbers = client.get(f"/visits/{marked.pk}.json").json()
    assert numbers["indicators"][0]["total_catch"] == 39
    years = list(csv.DictReader(io.StringIO(client.get("/stations/WIL-01.csv").content.decode())))
    kept_back = [r for r in years if r["measure"] == "total_catch"]
    assert kept_back and all(r["value"] == "" and r["reason"] for r in kept_back)


def test_with_a_single_visited_station_a_withheld_species_is_not_told_at_all(
    visit: Visit, signed_in: Callable[[str], Client]
) -> None:
    make_visit(make_station("ALD-01", watershed="Alder Run"), "2022-07-01", passes=[{SECRET: 2}])
    rows = signed_in("").get("/species/etheostoma-sellare.json").json()["rows"]
    assert [r["watershed"] for r in rows] == ["willow-run"]


def test_what_is_not_accepted_has_no_data_for_anybody(
    visit: Visit, signed_in: Callable[[str], Client]
) -> None:
    waiting = Visit.objects.get(status="submitted")
    for role in ROLES:
        client = signed_in(role)
        assert client.get(f"/visits/{waiting.pk}.json").status_code == 404
        assert '"Bluegill"' not in client.get("/stations/WIL-02.json").content.decode()
    page = signed_in("biologist").get(f"/visits/{waiting.pk}/").content.decode()
    assert 'rel="alternate" type' not in page


@pytest.mark.parametrize(
    "address",
    [
        "/watersheds/nowhere.json",
        "/stations/NO-1.csv",
        "/visits/999999.json",
        "/species/none.csv",
        "/creeks.xml",
    ],
)
def test_what_is_not_there_is_not_found(address: str, signed_in: Callable[[str], Client]) -> None:
    assert signed_in("").get(address).status_code == 404


def test_the_columns_are_explained_and_a_longitude_keeps_its_minus(
    visit: Visit, signed_in: Callable[[str], Client]
) -> None:
    client = signed_in("")
    for data in pages(visit).values():
        document = client.get(f"{data}.json").json()
        head = client.get(f"{data}.csv").content.decode().split("\r\n")[0].split(",")
        assert [f["name"] for f in document["fields"]] == head
        assert all(f["description"] for f in document["fields"])
        assert document["license"].startswith("https://creativecommons.org/") and document["withheld"]
    assert client.get("/stations/WIL-01.json").json()["about"]["longitude"] == -77.25


def test_an_unchanged_answer_is_not_sent_again(visit: Visit, signed_in: Callable[[str], Client]) -> None:
    client = signed_in("")
    first = client.get("/creeks.json")
    again: Any = client.get("/creeks.json", headers={"If-None-Match": first["ETag"]})
    assert again.status_code == 304


def test_data_is_read_only(visit: Visit, signed_in: Callable[[str], Client]) -> None:
    assert signed_in("administrator").post("/creeks.json").status_code == 405
    # Nor is a stranger told of a form that was not filled in: this client asks for marks as a browser's page would.
    strict = Client(enforce_csrf_checks=True)
    assert {strict.post(one).status_code for one in ("/creeks.json", "/stations/WIL-01.csv")} == {405}
