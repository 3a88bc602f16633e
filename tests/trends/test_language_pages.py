"""The same page in another language: where it stands, how it says so, and what stays in English."""

import re
from collections.abc import Callable

import pytest
from django.template.loader import render_to_string
from django.test import Client
from django.utils import translation

from tests.factories import make_station, make_visit
from trends.recompute import mark_all, recompute_marked

pytestmark = pytest.mark.django_db


@pytest.fixture
def creek() -> None:
    station = make_station("WIL-01")
    for year in range(2014, 2024):
        make_visit(station, f"{year}-07-10", passes=[{"Creek Chub": 20}, {"Creek Chub": 6}], mean_width_m=4)
    mark_all()
    recompute_marked()


def test_the_language_stands_in_the_address_and_in_the_page(client: Client, creek: None) -> None:
    english, spanish = client.get("/"), client.get("/es/")
    assert '<html lang="en">' in english.content.decode()
    assert '<html lang="es">' in spanish.content.decode()
    assert spanish["Content-Language"] == "es"
    assert "Arroyos" in spanish.content.decode()


def test_a_browser_that_prefers_spanish_gets_what_the_address_says(client: Client, creek: None) -> None:
    """A page that is sent on must read the same for whoever opens it."""
    answer = client.get("/", headers={"accept-language": "es"})
    assert answer.status_code == 200 and '<html lang="en">' in answer.content.decode()


def test_each_page_leads_to_itself_in_the_other_language(client: Client, creek: None) -> None:
    address = "/watersheds/willow-run/?measure=richness&from=2015"
    page = client.get(address).content.decode()
    assert re.search(
        r'<a class="language" href="/es/watersheds/willow-run/\?measure=richness&amp;from=2015" '
        r'hreflang="es" lang="es">Español</a>',
        page,
    )
    back = client.get(f"/es{address}").content.decode()
    assert 'href="/watersheds/willow-run/?measure=richness&amp;from=2015" hreflang="en"' in back


def test_a_creeks_data_are_the_same_file_in_every_language(client: Client, creek: None) -> None:
    answer = client.get("/es/watersheds/willow-run.csv")
    assert answer.status_code == 302 and answer["Location"] == "/watersheds/willow-run.csv"
    answer = client.get("/es/api/v1/watersheds?limit=1")
    assert answer.status_code == 302 and answer["Location"] == "/api/v1/watersheds?limit=1"


def test_what_is_not_translated_is_shown_in_english_and_never_half(client: Client, creek: None) -> None:
    answer = client.get("/es/upload/season-file.json")
    assert answer.status_code == 302 and answer["Location"] == "/upload/season-file.json"


def test_a_page_in_english_alone_has_no_link_to_another_language(signed_in: Callable[[str], Client]) -> None:
    page = signed_in("biologist").get("/account/email/")
    assert page.status_code == 200 and "hreflang" not in page.content.decode()


def test_an_address_in_no_known_language_is_not_found(client: Client) -> None:
    assert client.get("/fr/").status_code == 404


def test_a_page_that_is_not_there_says_so_in_the_language_of_its_address(client: Client) -> None:
    english, spanish = client.get("/watersheds/none/"), client.get("/es/watersheds/none/")
    assert english.status_code == spanish.status_code == 404
    assert '<html lang="en">' in english.content.decode() and "no such page" in english.content.decode()
    page = spanish.content.decode()
    assert '<html lang="es">' in page and "Esta página no existe." in page
    assert 'href="/es/"' in page, "the way back stays in the reader's language"


def test_an_address_below_a_language_that_no_page_has_is_answered_in_it(client: Client) -> None:
    answer = client.get("/es/ninguna/")
    assert answer.status_code == 404 and "Esta página no existe." in answer.content.decode()


@pytest.mark.parametrize(
    ("template", "words"),
    [
        ("400.html", "No se pudo entender la solicitud."),
        ("403.html", "Su función no permite abrir esta página."),
        ("403_csrf.html", "El formulario era demasiado antiguo"),
        ("500.html", "No se pudo preparar la página."),
    ],
)
def test_each_page_of_an_error_is_whole_in_spanish(template: str, words: str) -> None:
    with translation.override("es"):
        page = render_to_string(template, {"reference": "4711"})
    assert '<html lang="es">' in page and words in page
    assert not re.search(r"\b(the|was|and|again|page)\b", re.sub(r"<[^>]+>", " ", page))
