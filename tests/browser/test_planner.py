"""A planner's hour in the browser: choose a view, send it, make a brief, answer a caution, issue it, print it."""

import datetime
import re
from typing import Any

import pytest
from django.conf import settings
from django.test import Client

from tests.copies import MadeOnce
from tests.factories import make_station, make_visit
from trends.exports.brief import page_count
from trends.models import IssuedBrief, LandUseNote
from trends.recompute import mark_all, recompute_marked

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

CAUGHT = (61, 55, 58, 50, 52, 47, 44, 46, 39, 41, 36, 31)


def make_note() -> LandUseNote:
    """Two creeks of one stratum; at one the catch falls, and houses were built beside it."""
    for creek, codes, falls in (
        ("Willow Run", ("WIL-01", "WIL-02"), True),
        ("Birch Run", ("BIR-01",), False),
    ):
        for km, code in enumerate(codes, start=1):
            station = make_station(
                code,
                watershed=creek,
                river_km=3.0 * km,
                latitude=37 + km / 50,
                longitude=-70.0,
                stratum="invented upland",
            )
            for i, number in enumerate(CAUGHT):
                count = number + km if falls else 50 + number % 5
                make_visit(
                    station,
                    datetime.date(2010 + i, 7, 16),
                    passes=[{"Creek Chub": count - 8, "Mottled Sculpin": 8}, {"Creek Chub": 4}],
                    stop_nets="both",
                )
    mark_all()
    recompute_marked()
    watershed = make_station("WIL-01").watershed
    return LandUseNote.objects.create(
        watershed=watershed, category="building", starts_on=datetime.date(2015, 9, 1), title="Forty houses"
    )


@pytest.fixture
def note(transactional_db: None, made_once: MadeOnce) -> LandUseNote:
    return made_once(make_note)


@pytest.fixture
def planner(page: Any, live_server: Any, person: Any) -> Any:
    """The browser's page, signed in as a planner."""
    client = Client()
    client.force_login(person("planner"))
    page.context.add_cookies(
        [
            {
                "name": settings.SESSION_COOKIE_NAME,
                "value": client.cookies[settings.SESSION_COOKIE_NAME].value,
                "url": live_server.url,
            }
        ]
    )
    return page


def _fits(page: Any) -> bool:
    """Whether nothing runs out of the window, asked once the page that is coming has come whole."""
    page.wait_for_load_state("load")
    return page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_a_view_is_chosen_and_stands_in_the_address(note: LandUseNote, page: Any, live_server: Any) -> None:
    page.goto(f"{live_server.url}/watersheds/willow-run/?measure=total_catch")
    page.select_option("#from", "2014")
    page.click("summary:has-text('All 2 stations')")
    page.check("input[name=station][value='WIL-02']")
    page.click("text=Show it")
    page.wait_for_url(re.compile(r"from=2014.*station=WIL-02|station=WIL-02.*from=2014"))
    finding = page.inner_text("h1")
    assert "Between 2014 and 2021 (8 comparable years)" in finding
    page.goto(page.url)
    assert page.inner_text("h1") == finding


@pytest.mark.parametrize("width", [1280, 390])
def test_a_brief_is_issued_with_an_answer_and_opened_again(
    note: LandUseNote, planner: Any, live_server: Any, width: int
) -> None:
    planner.set_viewport_size({"width": width, "height": 900})
    planner.goto(f"{live_server.url}/watersheds/willow-run/?measure=total_catch")
    planner.click("text=A brief of this")
    planner.select_option("#proposal", "building")
    planner.click("text=Make the brief")
    planner.wait_for_url(re.compile("proposal=building"))
    assert _fits(planner)
    assert "Is the creek already slipping" in planner.inner_text("article.brief")
    planner.fill("#title", "Hearing of 3 May")
    planner.click("summary:has-text('Answer a caution')")
    first = planner.locator("input[name^='answer-']").first
    first.fill("Looked at on site.")
    planner.dblclick("text=Issue the brief")  # a second click issues no second brief
    planner.wait_for_url(re.compile(r"/briefs/\d+/$"))
    assert _fits(planner)
    shown = planner.inner_text("article.brief")
    assert "Answered by some-planner: Looked at on site." in shown
    assert "Hearing of 3 May" in shown
    assert "The data are the same today." in planner.inner_text("main")
    assert IssuedBrief.objects.count() == 1


def test_the_brief_comes_as_a_pdf(note: LandUseNote, planner: Any, live_server: Any) -> None:
    planner.goto(f"{live_server.url}/brief/willow-run/")
    with planner.expect_download() as coming:
        planner.click("text=PDF, A4")
    content = coming.value.path().read_bytes()
    assert content.startswith(b"%PDF-")
    assert 1 <= page_count(content) <= 2


def test_the_brief_prints_without_its_form(note: LandUseNote, planner: Any, live_server: Any) -> None:
    planner.goto(f"{live_server.url}/brief/willow-run/")
    planner.emulate_media(media="print")
    assert not planner.is_visible("text=Make the brief")
    assert not planner.is_visible("text=Issue the brief")
    assert planner.is_visible("article.brief h1")


@pytest.mark.parametrize("width", [1280, 390])
def test_controls_are_chosen_before_and_after_a_note(
    note: LandUseNote, page: Any, live_server: Any, width: int
) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(f"{live_server.url}/watersheds/willow-run/")
    page.click("a:has-text('Before and after')")
    page.select_option("#measure", "total_catch")
    page.check("input[value='BIR-01']")
    page.click("button:has-text('Compare')")
    page.wait_for_url(re.compile("control=BIR-01"))
    assert "was lower than before" in page.inner_text("h1")
    assert "cannot show whether it is the reason" in page.inner_text("h1")
    assert _fits(page)
