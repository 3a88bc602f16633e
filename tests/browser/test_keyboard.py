"""The main tasks of the public and of staff with the keyboard alone, with the focus seen at every step.

Yardstick: WCAG 2.2, success criteria 2.1.1 (keyboard), 2.1.2 (no trap), 2.4.7 (focus visible) and the
setting prefers-reduced-motion. Nothing here clicks.
"""

import datetime
from typing import Any

import pytest
from django.conf import settings
from django.test import Client

from surveys.models import Visit
from tests.copies import MadeOnce
from tests.factories import make_station, make_visit
from trends.models import ApiToken, LandUseNote
from trends.recompute import mark_all, recompute_marked

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# What is focused, by name and place, and whether anything shows that it is.
FOCUSED = """() => {
  const one = document.activeElement;
  if (!one || one === document.body) return null;
  const style = getComputedStyle(one), box = one.getBoundingClientRect();
  const outlined = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) > 0;
  return {
    name: (one.getAttribute("aria-label") || one.textContent || one.name || "").trim().replace(/\\s+/g, " "),
    tag: one.tagName,
    seen: outlined || style.boxShadow !== "none",
    inside: box.bottom > 0 && box.top < innerHeight && box.width > 0 && box.height > 0,
  };
}"""
MOST_STEPS = 200


def make_creek() -> Visit:
    station = make_station("WIL-01", river_km=2.0)
    for year in range(2012, 2021):
        make_visit(station, f"{year}-07-10", passes=[{"Creek Chub": year - 2000}, {}], mean_width_m=4)
    submitted = make_visit(station, "2021-07-10", status="submitted")
    mark_all()
    recompute_marked()
    return submitted


@pytest.fixture
def creek(transactional_db: None, made_once: MadeOnce) -> Visit:
    return made_once(make_creek)


@pytest.fixture
def staff(page: Any, live_server: Any, signed_in: Any) -> Any:
    """The page of somebody who is signed in: ``staff("planner")``."""

    def make(role: str) -> Any:
        client: Client = signed_in(role)
        cookie = client.cookies[settings.SESSION_COOKIE_NAME].value
        page.context.add_cookies(
            [{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": live_server.url}]
        )
        return page

    return make


def tab_to(page: Any, name: str, *, key: str = "Tab") -> dict[str, Any]:
    """Step until something of this name is focused; every step on the way must be seen."""
    for _ in range(MOST_STEPS):
        page.keyboard.press(key)
        here = page.evaluate(FOCUSED)
        if here is None:
            continue
        assert here["seen"] and here["inside"], f"the focus cannot be seen on {here}"
        if here["name"].startswith(name):
            return here
    raise AssertionError(f"{name} cannot be reached by keyboard")


def into(page: Any, label: str) -> None:
    """Step into the field with this label."""
    wanted = page.get_by_label(label).first
    for _ in range(MOST_STEPS):
        page.keyboard.press("Tab")
        if wanted.evaluate("(one) => one === document.activeElement"):
            return
    raise AssertionError(f"the field {label} cannot be reached by keyboard")


@pytest.mark.parametrize(
    "address",
    [
        "/",
        "/watersheds/willow-run/",
        "/stations/WIL-01/",
        "/compare/",
        "/species/",
        "/data/",
        "/handout/willow-run/",
    ],
)
def test_every_public_page_is_walked_through_to_its_end(
    page: Any, live_server: Any, creek: Visit, address: str
) -> None:
    """Each stop is seen, and the walk comes out at the end: nothing traps it."""
    page.goto(live_server.url + address)
    stops = page.locator("a[href], button, input:not([type=hidden]), select, textarea, summary").count()
    for _ in range(stops + MOST_STEPS):
        page.keyboard.press("Tab")
        here = page.evaluate(FOCUSED)
        if here is None:
            return
        assert here["seen"], f"nothing shows the focus on {here}"
    raise AssertionError("the walk does not come to an end")


def test_the_first_stop_skips_to_the_page(page: Any, live_server: Any, creek: Visit) -> None:
    page.goto(live_server.url)
    page.keyboard.press("Tab")
    assert page.evaluate(FOCUSED)["name"] == "Skip to the page"
    page.keyboard.press("Enter")
    page.wait_for_function("document.activeElement.id === 'main'")


def test_the_public_finds_a_creek_and_opens_the_numbers(page: Any, live_server: Any, creek: Visit) -> None:
    page.goto(live_server.url)
    tab_to(page, "Willow Run")
    page.keyboard.press("Enter")
    page.wait_for_url("**/watersheds/willow-run/**")
    tab_to(page, "The same numbers in a table")
    page.keyboard.press("Enter")
    assert page.locator(".chart-numbers table").first.is_visible()


def test_the_public_takes_a_file_along(page: Any, live_server: Any, creek: Visit) -> None:
    page.goto(f"{live_server.url}/data/")
    tab_to(page, "Visits")
    with page.expect_download() as waiting:
        page.keyboard.press("Enter")
    assert waiting.value.suggested_filename == "visits.csv"


def test_a_planner_writes_a_note(staff: Any, live_server: Any, creek: Visit) -> None:
    page = staff("planner")
    page.goto(f"{live_server.url}/watersheds/willow-run/notes/new/")
    into(page, "Title")
    page.keyboard.type("Weir taken out")
    into(page, "Category")
    page.keyboard.type("D")
    into(page, "Starts on")
    page.keyboard.type("05042014")
    tab_to(page, "Keep the note")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    note = LandUseNote.objects.get()
    assert (note.title, note.starts_on) == ("Weir taken out", datetime.date(2014, 5, 4))


def test_a_reviewer_accepts_a_visit(staff: Any, live_server: Any, creek: Visit) -> None:
    page = staff("reviewer")
    page.goto(f"{live_server.url}/review/{creek.pk}/")
    tab_to(page, "Accept")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    creek.refresh_from_db()
    assert creek.status == "accepted"


def test_staff_make_and_revoke_a_token(staff: Any, live_server: Any, creek: Visit) -> None:
    page = staff("biologist")
    page.goto(f"{live_server.url}/data/tokens/")
    into(page, "What it is for")
    page.keyboard.type("Yearly report")
    page.keyboard.press("Enter")
    page.wait_for_selector("code.token")
    tab_to(page, "Revoke")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=is revoked")
    assert ApiToken.objects.get().state == "revoked"


def test_nothing_moves_for_those_who_want_it_still(page: Any, live_server: Any, creek: Visit) -> None:
    page.emulate_media(reduced_motion="reduce")
    for address in ("/", "/watersheds/willow-run/", "/compare/"):
        page.goto(live_server.url + address)
        moving = page.evaluate(
            """() => [...document.querySelectorAll("*")].filter((one) => {
              const style = getComputedStyle(one);
              const long = (text) => text.split(",").some((part) => parseFloat(part) > 0.01);
              return long(style.animationDuration) || long(style.transitionDuration);
            }).map((one) => one.tagName + "." + one.className)"""
        )
        assert moving == [], address
        assert page.evaluate("getComputedStyle(document.documentElement).scrollBehavior") == "auto"
