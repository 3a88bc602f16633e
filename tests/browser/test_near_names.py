# ruff: noqa: F401, F811 - fixtures of the other file are asked for by name
"""A misspelt fish is asked about where it is entered: at the desk by the server, by the creek without a network."""

import pytest
from django.urls import reverse

from surveys.models import TaxonAlias, VisitStatus
from tests.browser.test_entry import begin_tally, biologist, creek
from tests.factories import make_taxon, make_visit

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_at_the_desk_by_keyboard_alone(biologist, live_server, creek):
    page, bluegill = biologist, make_taxon("Bluegill")
    visit = make_visit(creek, "2024-07-16", status=VisitStatus.DRAFT, passes=[])
    page.goto(f"{live_server.url}{reverse('surveys:entry_visit', args=[visit.pk])}")
    said = page.locator("#near-words")
    assert said.get_attribute("aria-live") == "polite"
    page.focus("#add_taxon")
    page.keyboard.type("blue gil")
    page.wait_for_selector("text=Did you mean")
    # Nothing is added by the spelling alone, and the name to choose is the next stop but two of the Tab key.
    assert not page.locator(f"input[name=row][value='{bluegill.pk}']").count()
    for _ in range(3):
        page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.value") == bluegill.scientific_name
    page.keyboard.press("Enter")
    page.wait_for_selector(f"input[name=row][value='{bluegill.pk}']", state="attached")
    page.focus("#add_taxon")
    page.keyboard.type("bluegil")  # a beginning of the name is offered by the field itself
    page.wait_for_function("document.getElementById('near-words').textContent === ''")


def test_a_name_of_the_list_is_taken_as_it_is_whatever_its_case(biologist, live_server, creek):
    page, bluegill = biologist, make_taxon("Bluegill")
    TaxonAlias.objects.create(taxon=bluegill, name="Bream")
    begin_tally(page, live_server.url)
    page.fill("#tally-search", "bREAM")
    page.press("#tally-search", "Enter")
    page.wait_for_selector(f"#add-{bluegill.pk}")


def test_by_the_creek_without_a_network(biologist, live_server, creek):
    page, bluegill, pike = biologist, make_taxon("Bluegill").pk, make_taxon("Esox lucius").pk
    page.set_viewport_size({"width": 390, "height": 844})
    begin_tally(page, live_server.url)
    page.context.set_offline(True)
    page.fill("#tally-search", "Blugill")
    page.press("#tally-search", "Enter")
    page.wait_for_selector("[role=alert] >> text=Blugill is not in the list. Did you mean")
    assert not page.locator(f"#add-{bluegill}").count()
    page.keyboard.press("Tab")
    assert "Lepomis macrochirus" in page.evaluate("document.activeElement.textContent")
    page.keyboard.press("Enter")
    page.wait_for_selector(f"#add-{bluegill}")
    page.fill("#tally-search", "qqqq")
    page.press("#tally-search", "Enter")
    page.wait_for_selector("text=qqqq is not in the list, and no name in it comes near.")
    assert not page.locator(f"#add-{pike}").count()


def test_a_name_that_two_taxa_share_is_asked_about(biologist, live_server, creek):
    page = biologist
    for latin in ("Cottus bairdii", "Cottus caeruleomentum"):
        taxon = make_taxon(latin)
        type(taxon).objects.filter(pk=taxon.pk).update(common_name="Muddler")
    begin_tally(page, live_server.url)
    page.fill("#tally-search", "muddler")
    page.press("#tally-search", "Enter")
    page.wait_for_selector("text=More than one taxon goes by muddler. Which one is meant?")
    assert page.locator(".near-names button").count() == 2


def test_the_limit_and_the_order_are_those_of_the_database(biologist, live_server, creek):
    """The groups of three letters are counted as PostgreSQL's pg_trgm documentation lays down (F.35.1)."""
    from surveys.names import near_names

    page = biologist
    for latin in ("Lepomis macrochirus", "Lepomis gibbosus", "Rhinichthys cataractae", "Etheostoma olmstedi"):
        make_taxon(latin)
    begin_tally(page, live_server.url)
    for text in ("Lepomis macrochiris", "Rhynichthys atratulus", "creek chubb", "Etheostoma"):
        local = page.evaluate(
            """async ([text]) => {
                const { near } = await import("/static/js/entry-tally-names.js");
                const { lists } = await import("/static/js/entry-tally-store.js");
                return near(new Map((await lists()).taxa.map((one) => [one.id, one])), text).map((one) => one.id);
            }""",
            [text],
        )
        (near,) = near_names([text]).values()
        assert local == [one.key for one in near], text
