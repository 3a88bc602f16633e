# ruff: noqa: F401, F811 - fixtures of the other file are asked for by name
"""The tally in Spanish, and changed over between languages without a network: one device, one store of visits."""

import re

import pytest
from django.urls import reverse
from django.utils.translation import override

from surveys.models import Catch, Visit, VisitStatus
from tests.browser.test_entry import begin_tally, biologist, creek
from tests.factories import make_taxon

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# Both workers have kept their page; the English one of the page itself is waited for before.
ALL_KEPT = """async () => (await navigator.serviceWorker.getRegistrations()).filter((one) => one.active).length === 2"""


def in_language(page, code: str) -> None:
    page.click(f"a[hreflang={code}]")
    page.wait_for_selector(f"html[lang={code}]", state="attached")


def test_the_language_changes_without_a_network_and_the_visit_stays(biologist, live_server, creek):
    page, chub = biologist, make_taxon("Creek Chub").pk
    page.set_viewport_size({"width": 390, "height": 844})
    begin_tally(page, live_server.url)
    page.wait_for_function(ALL_KEPT)
    page.context.set_offline(True)
    for _ in range(3):
        page.click(f"#add-{chub}")
    page.wait_for_selector("text=Pass 1: 3 fish of 1 taxon.")
    place = page.url.split("#")[1]

    in_language(page, "es")
    page.wait_for_selector("text=Pasada 1: 3 peces de 1 taxón. Todas las pasadas: 3.")
    assert page.url == f"{live_server.url}/es/entry/tally/#{place}"
    page.click(f"#add-{chub}")
    page.wait_for_selector("text=Pasada 1: 4 peces de 1 taxón")
    page.reload()
    page.wait_for_selector("text=Pasada 1: 4 peces de 1 taxón")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390

    in_language(page, "en")
    page.wait_for_selector("text=Pass 1: 4 fish of 1 taxon")
    assert page.url == f"{live_server.url}/entry/tally/#{place}"
    # Neither worker has cleared away what the other keeps.
    kept = page.evaluate("caches.keys()")
    assert sorted(re.sub(r"[0-9a-f]{16}$", "", one) for one in kept) == [
        "rillmark-tally-",
        "rillmark-tally-es-",
    ]


def test_a_visit_is_begun_tallied_and_sent_in_spanish(biologist, live_server, creek):
    page, chub = biologist, make_taxon("Creek Chub").pk
    page.goto(f"{live_server.url}/es/entry/tally/")
    page.wait_for_selector("rill-tally[data-offline-ready=yes]")
    page.context.set_offline(True)
    page.fill("#tally-station", "WIL-01")
    page.fill("#tally-date", "2024-07-16")
    page.click("#tally-begin")
    page.wait_for_selector("text=0 puntos anotados, 8 no.")
    page.click("#to-fish")
    page.click(f"#add-{chub}")
    page.click(f"li:has(#add-{chub}) >> text=123")
    page.click("summary:has-text('Soltados')")
    page.fill("#fate-died", "3")
    page.click("#line-add")
    page.click("text=Dejarlo así")
    page.wait_for_selector("dialog", state="detached")
    page.click("#close-pass")
    page.click("nav >> text=Terminar")
    # The crew reads it in its language; the record says it in English, whatever the device speaks.
    page.wait_for_selector("text=Pasada 1, Creek Chub: 3 muertos, de 1 en el recuento.")
    page.click("#send")
    page.wait_for_selector("text=No hay señal. Se envía cuando la haya.")
    page.context.set_offline(False)
    page.wait_for_selector("text=Enviada y guardada como borrador.")
    visit = Visit.objects.get(status=VisitStatus.DRAFT)
    assert visit.notes == "Pass 1, Creek Chub: 3 died, of 1 tallied."
    assert Catch.objects.get(removal_pass__visit=visit).count == 1
    assert page.get_attribute("a.button", "href") == f"/es/entry/{visit.pk}/"


def test_who_has_to_sign_in_is_told_so_in_spanish(biologist, live_server, creek):
    page, chub = biologist, make_taxon("Creek Chub").pk
    begin_tally(page, f"{live_server.url}/es")
    page.click(f"#add-{chub}")
    page.click("#close-pass")
    page.click("nav >> text=Terminar")
    page.context.clear_cookies()
    page.click("#send")
    page.wait_for_selector("text=Inicie sesión de nuevo para enviar. Todo queda guardado en el dispositivo.")
    link = page.get_by_role("link", name="Iniciar sesión")
    with override("es"):
        assert link.get_attribute("href") == f"{reverse('account_login')}?next=/es/entry/tally/"
