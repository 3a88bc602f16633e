"""A reader changes the language in a real browser: the same view, its charts, files and dates in the other one."""

import csv
import io
import re
from pathlib import Path
from typing import Any

import pytest

from surveys.models import Watershed
from tests.copies import MadeOnce
from tests.factories import make_station, make_visit
from trends.models import LandUseNote
from trends.recompute import mark_all, recompute_marked

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

VIEW = "/watersheds/willow-run/?measure=total_catch&from=2014"


def make_creek() -> Watershed:
    """Two stations over ten years, fewer fish from year to year, and a flood on record."""
    for km, code in enumerate(("WIL-01", "WIL-02"), start=1):
        station = make_station(code, river_km=2.0 * km, latitude=39 + km / 50, longitude=-77.0)
        for i, year in enumerate(range(2012, 2022)):
            make_visit(station, f"{year}-07-01", passes=[{"Creek Chub": 60 - 4 * i + km}, {"Creek Chub": 9}])
    LandUseNote.objects.create(
        watershed=station.watershed, category="flood", starts_on="2018-09-09", title="Bridge under water"
    )
    mark_all()
    recompute_marked()
    return station.watershed


@pytest.fixture
def creek(transactional_db: None, made_once: MadeOnce) -> Watershed:
    return made_once(make_creek)


def _heard(page: Any) -> str:
    """The chart's title, subtitle and text, and what is written inside the drawing."""
    page.locator("#trajectory rill-chart").scroll_into_view_if_needed()
    page.wait_for_selector("#trajectory .chart-live svg text", state="attached")
    drawn = page.locator("#trajectory .chart-live svg text").all_text_contents()
    return " ".join([page.inner_text("#trajectory figcaption"), page.inner_text("#trajectory-text"), *drawn])


def test_the_view_stays_when_the_language_changes_and_changes_back(
    creek: Watershed, page: Any, live_server: Any
) -> None:
    page.goto(live_server.url + VIEW)
    english = page.inner_text("h1")
    assert page.get_attribute("html", "lang") == "en"
    page.click("a[hreflang=es]")
    page.wait_for_url("**/es/watersheds/willow-run/**")
    page.wait_for_selector("html[lang=es]", state="attached")
    assert "measure=total_catch" in page.url
    assert "from=2014" in page.url
    spanish = page.inner_text("h1")
    assert spanish != english
    assert re.findall(r"\d+", spanish) == re.findall(r"\d+", english)
    page.click("a[hreflang=en]")
    page.wait_for_selector("html[lang=en]", state="attached")
    assert page.inner_text("h1") == english


def test_the_chart_and_what_is_saved_of_it_are_in_the_language_of_the_page(
    creek: Watershed, page: Any, live_server: Any
) -> None:
    page.goto(f"{live_server.url}/es{VIEW}")
    heard = _heard(page)
    assert "Captura total (peces)" in heard
    assert "inundación" in heard  # on the ground of its year
    assert not re.search(r"\b(Total catch|years?|flood|falling|stations?)\b", heard)
    box = page.locator("#trajectory .save-chart")
    box.locator("summary").click()
    with page.expect_download() as coming:
        box.get_by_role("button", name="Los números (CSV)").click()
    text = Path(coming.value.path()).read_text(encoding="utf-8-sig")
    heads = next(row for row in csv.reader(io.StringIO(text)) if len(row) > 2)
    assert heads[0] == "Año"
    assert coming.value.suggested_filename.endswith(".csv")


@pytest.mark.parametrize(
    "address", ["/", VIEW, "/stations/WIL-01/?measure=total_catch", "/compare/?measure=total_catch"]
)
def test_longer_words_fit_a_narrow_screen(
    creek: Watershed, page: Any, live_server: Any, address: str
) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(f"{live_server.url}/es{address}")
    page.wait_for_load_state("load")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_the_handout_and_the_brief_are_read_in_spanish(creek: Watershed, page: Any, live_server: Any) -> None:
    page.goto(f"{live_server.url}/es/handout/willow-run/")
    handout = page.inner_text("main")
    assert "9 de septiembre de 2018" in handout
    page.goto(f"{live_server.url}/es/brief/willow-run/?measure=total_catch")
    brief = page.inner_text("article.brief")
    assert "Lo que esto no muestra" in brief
    assert "inundación" in brief
    for text in (handout, brief):
        assert not re.search(r"\b(What|Between|the|fish|year)\b", text.replace("Bridge under water", ""))
