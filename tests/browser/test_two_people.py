"""Two people at one visit, each in a browser of their own; and a question that history asks, from typing to the kept
answer."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.conf import settings
from django.test import Client

from surveys.models import Station, Visit, VisitQuestion, VisitStatus
from tests.factories import make_method, make_station, make_taxon, make_visit

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def creek(db: None) -> Station:
    station = make_station("WIL-01", method=make_method())
    for year in (2021, 2022, 2023):
        make_visit(
            station, f"{year}-07-16", passes=[{"Creek Chub": 9, "Blacknose Dace": 4}, {"Creek Chub": 3}]
        )
    return station


@pytest.fixture
def page_of(browser: Any, live_server: Any, person: Any) -> Iterator[Callable[[str], Any]]:
    """A page of its own for a person of a role, in a context of its own."""
    contexts = []

    def opened(role: str) -> Any:
        client = Client()
        client.force_login(person(role))
        cookie = client.cookies[settings.SESSION_COOKIE_NAME]
        context = browser.new_context()
        contexts.append(context)
        context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
        page = context.new_page()
        page.set_default_timeout(30_000)
        return page

    yield opened
    for context in contexts:
        context.close()


def test_the_second_to_save_sees_both_versions_and_loses_nothing(
    page_of: Callable[[str], Any], live_server: Any, creek: Station
) -> None:
    chub, dace = make_taxon("Creek Chub").pk, make_taxon("Blacknose Dace").pk
    visit = make_visit(creek, "2024-07-16", passes=[{"Creek Chub": 2}, {}], status=VisitStatus.DRAFT)
    first, second = page_of("biologist"), page_of("administrator")
    for page in (first, second):
        page.goto(f"{live_server.url}/entry/{visit.pk}/")
    first.fill(f"#count-1-{chub}", "12")
    first.fill("#ph", "7.1")
    second.fill(f"#count-1-{chub}", "14")
    second.fill(f"#count-1-{dace}", "5")
    first.click("button.second:has-text('Save the draft')")
    first.wait_for_selector("text=Saved as a draft")

    second.click("button.second:has-text('Save the draft')")
    second.wait_for_selector("text=Two versions of this visit")
    rows = {
        row.query_selector("th").inner_text(): [cell.inner_text() for cell in row.query_selector_all("td.n")]
        for row in second.query_selector_all("table.differences tbody tr")
    }
    assert rows["Pass 1, Creek Chub: fish"] == ["14", "12"]
    assert rows["Pass 1, Blacknose Dace: fish"] == ["5", "empty"]
    assert rows["pH"] == ["empty", "7.1"]
    # What the second had not touched is to be taken from the first; what both typed is theirs to decide.
    assert second.is_checked("input[name=take][value=ph]")
    assert not second.is_checked(f"input[name=take][value=count-1-{chub}]")
    visit.refresh_from_db()
    assert visit.ph == 7.1
    second.click("button.second:has-text('Save the draft')")
    second.wait_for_selector("text=Saved as a draft")
    visit.refresh_from_db()
    caught = dict(visit.passes.get(pass_number=1).catches.values_list("taxon__common_name", "count"))
    assert (visit.ph, caught) == (7.1, {"Creek Chub": 14, "Blacknose Dace": 5})


def test_a_fish_new_to_the_watershed_is_asked_about_answered_and_the_answer_is_read_in_review(
    page_of: Callable[[str], Any], live_server: Any, creek: Station
) -> None:
    trout = make_taxon("Brook Trout").pk
    visit = make_visit(
        creek, "2024-07-16", passes=[{"Creek Chub": 9, "Blacknose Dace": 4}, {}], status=VisitStatus.DRAFT
    )
    page = page_of("biologist")
    page.goto(f"{live_server.url}/entry/{visit.pk}/")
    page.check("#no_fish-2") if not page.is_checked("#no_fish-2") else None
    page.select_option("#stop_nets", "both")
    page.fill("#crew_lead", "MT")
    page.fill("#add_taxon", "Brook Trout")
    page.press("#add_taxon", "Enter")
    page.wait_for_selector("th:has-text('Salvelinus fontinalis')")
    page.wait_for_load_state("load")  # what is typed before the scripts are there asks no question
    page.fill(f"#count-1-{trout}", "1")
    question = page.locator(
        "[data-look] li", has_text="has never been caught in the watershed of WIL-01 before"
    )
    question.wait_for()  # asked while typing, before anything is saved
    question.locator("input").fill("one fish, photographed, two of us looked")
    page.fill("#ph", "7.2")
    page.wait_for_timeout(1_000)  # the live check comes back once more
    assert question.locator("input").input_value() == "one fish, photographed, two of us looked"
    page.check("#looked")
    page.click("button[value=submit]")
    page.wait_for_url("**/entry/")
    kept = VisitQuestion.objects.get(visit=visit, code="taxon_new_to_watershed")
    assert kept.answer == "one fish, photographed, two of us looked"

    reviewer = page_of("reviewer")
    reviewer.goto(f"{live_server.url}/review/{visit.pk}/")
    said = reviewer.inner_text("main")
    assert "Answer: one fish, photographed, two of us looked" in said
    assert "first in the watershed" in said
    assert Visit.objects.get(pk=visit.pk).status == VisitStatus.SUBMITTED


# A browser that goes back may show the page as it stood, without asking the server: the scripts are told so.
WENT_BACK = """({ others }) => {
  const form = document.querySelector("form[data-sign-out]");
  form.addEventListener("submit", (event) => event.preventDefault());
  if (others) form.querySelector("button").click();
  dispatchEvent(new PageTransitionEvent("pageshow", { persisted: true }));
}"""


def test_the_way_back_after_a_sign_out_shows_no_page_of_staff_to_whoever_comes_next(
    page_of: Callable[[str], Any], live_server: Any, creek: Station
) -> None:
    page = page_of("reviewer")
    page.goto(f"{live_server.url}/review/")
    page.evaluate(WENT_BACK, {"others": False})
    assert page.locator("body").is_visible() and page.url.endswith("/review/")
    page.context.clear_cookies()
    with page.expect_navigation(url="**/account/login/?next=/review/"):
        page.evaluate(WENT_BACK, {"others": True})


# Whether each click would be kept from sending the form; nothing is sent.
CLICKED = """() => {
  const button = document.querySelector("form button.primary");
  const kept = [];
  addEventListener("submit", (event) => { kept.push(event.defaultPrevented); event.preventDefault(); });
  button.click();
  button.click();
  dispatchEvent(new PageTransitionEvent("pageshow", { persisted: true }));
  button.click();
  return [kept, button.disabled];
}"""


def test_a_second_click_sends_no_form_and_after_the_way_back_the_button_works_again(
    page_of: Callable[[str], Any], live_server: Any, creek: Station
) -> None:
    """Also where a field is named like a property of the form, as the method of a visit is."""
    page = page_of("biologist")
    page.goto(f"{live_server.url}/entry/")
    assert page.locator("form [name=method]").count() == 1
    assert page.evaluate(CLICKED) == [[False, True, False], False]
