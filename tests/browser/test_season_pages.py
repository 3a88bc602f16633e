"""The season in a real browser: warnings on a file are answered, the season is closed and opened again, an
earlier state of a visit is brought back."""

from typing import Any

import pytest
from django.conf import settings
from django.test import Client

from surveys.models import (
    Permit,
    PlannedVisit,
    SeasonClose,
    StationVersion,
    Taxon,
    UploadAnswer,
    Visit,
    VisitStatus,
)
from surveys.uploads.commit import check_upload, new_upload, take
from tests.factories import make_station, make_taxon, make_visit, season_csv
from trends.exports.brief import page_count

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

ROW = {"station": "WIL-01", "visit_date": "2024-07-16", "pass": 1, "taxon": "Creek Chub", "count": 12}


@pytest.fixture
def open_as(page: Any, live_server: Any, person: Any) -> Any:
    """Open an address of the site as a person of a role."""
    page.set_default_timeout(30_000)

    def go(role: str, address: str) -> Any:
        client = Client()
        client.force_login(person(role))
        cookie = client.cookies[settings.SESSION_COOKIE_NAME]
        page.context.clear_cookies()
        page.context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
        page.goto(f"{live_server.url}{address}")
        return page

    return go


@pytest.fixture(autouse=True)
def _lists(db: None) -> None:
    make_station("WIL-01")
    make_taxon("Creek Chub")


def test_a_warning_is_answered_and_the_reviewer_reads_it(open_as: Any, person: Any) -> None:
    content = season_csv(ROW, {**ROW, "pass": 2, "count": 50})
    upload, _ = check_upload("season.csv", content, by=person("biologist"))
    page = open_as("biologist", f"/upload/{upload.pk}/")
    page.click("text=Answer the warnings one by one")
    page.wait_for_selector("text=Keep the answers")
    page.wait_for_load_state("load")
    for field in page.query_selector_all("main input[type=text]"):
        field.fill("confirmed, counted again")
    page.click("text=Keep the answers")
    page.wait_for_selector("text=warnings are answered")
    assert UploadAnswer.objects.count() >= 1
    page.check("#id_looked")
    page.click("text=Take the whole file")
    page.wait_for_selector("text=waiting for the reviewer")
    visit = Visit.objects.get()
    open_as("reviewer", f"/review/{visit.pk}/")
    assert "Answer: confirmed, counted again" in page.inner_text("main")


def test_a_misspelt_name_is_confirmed_and_the_file_taken(open_as: Any, person: Any) -> None:
    content = season_csv(
        {**ROW, "taxon": "Crek Chubb"}, {**ROW, "taxon": "crek chubb", "pass": 2, "count": 3}
    )
    upload, _ = check_upload("season.csv", content, by=person("biologist"))
    page = open_as("biologist", f"/upload/{upload.pk}/")
    assert "“Crek Chubb” in rows 2 and 3" in page.inner_text("#names")
    assert page.is_checked("#names input[value=leave]")  # nothing is chosen for the person
    page.check("#names input[type=radio] >> nth=0")
    page.click("text=Confirm these names")
    page.wait_for_selector("text=Every name of the file stands for a taxon")
    page.wait_for_load_state("load")
    assert "is stored as" in page.inner_text("#names")
    if page.query_selector("#id_looked"):
        page.check("#id_looked")
    page.click("text=Take the whole file")
    page.wait_for_selector("text=waiting for the reviewer")
    assert Visit.objects.get().passes.first().catches.get().taxon == Taxon.objects.get()


def test_a_season_is_closed_refuses_changes_and_is_opened_again(open_as: Any) -> None:
    take(new_upload("season.csv", season_csv(ROW), by=None), by=None, accept=True)
    visit = Visit.objects.get()
    page = open_as("reviewer", "/season/2024/")
    page.click("text=The report of 2024, and its close")
    page.fill("#id_remark", "check the scale")
    page.click("text=Close 2024 as version 2024")
    page.wait_for_selector("text=is closed as version 2024 and locked")
    page = open_as("reviewer", f"/review/{visit.pk}/")
    page.fill("#id_remark", "weights are missing")
    page.click("button:has-text('Return')")
    page.wait_for_selector("text=The season 2024 is closed and locked")
    assert Visit.objects.get().status == VisitStatus.ACCEPTED
    page = open_as("reviewer", "/season/2024/close/")
    page.fill("#id_reason", "a scale was off")
    page.click("text=Open the season again")
    page.wait_for_selector("text=is open again")
    assert SeasonClose.objects.get().reopened_why == "a scale was off"


def test_an_earlier_state_is_brought_back(open_as: Any) -> None:
    for count in (12, 9):
        content = season_csv({**ROW, "count": count})
        take(new_upload(f"of-{count}.csv", content, by=None), by=None, replace=True, accept=True)
    visit = Visit.objects.get()
    page = open_as("biologist", f"/visits/{visit.pk}/")
    page.click("text=Every earlier state of this visit")
    page.click("summary:has-text('Bring this state back')")
    page.fill("#reason-1", "the second file was of another station")
    page.click("button:has-text('Bring state 1 back')")
    page.wait_for_selector("text=is back and waits for the reviewer")
    assert visit.passes.get().catches.get().count == 12


def test_a_moved_station_is_laid_out_anew_and_joined_with_a_written_reason(open_as: Any) -> None:
    page = open_as("biologist", "/stations/WIL-01/")
    page.click("text=How it was laid out, and since when")
    page.click("text=Add a layout")
    page.fill("#id_valid_from", "2020-05-01")
    page.fill("#id_reach_length_m", "100")
    page.fill("#id_width_rule", "at ten transects")
    page.fill("#id_reason", "moved above the new bridge")
    page.click("main button[type=submit]:not(.grave)")
    page.wait_for_selector("text=not compared")
    page.click("main tbody a:has-text('2020-05-01')")
    page.fill("#id_joined_why", "the same riffle, both reaches fished side by side in 2020")
    page.click("main button[type=submit]:not(.grave)")
    page.wait_for_selector("text=compared: the same riffle")
    version = StationVersion.objects.get()
    assert (version.width_rule, version.station.reach_length_m) == ("at ten transects", 100)


CUT_OFF = """() => [...document.querySelectorAll(".sheet-grid :is(td, thead th, .sum th)")]
  .filter((one) => one.scrollWidth > one.clientWidth + 1).map((one) => one.textContent)"""


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("language", ["", "/es"])
def test_a_full_field_sheet_fits_one_side_in_each_language(open_as: Any, language: str, paper: str) -> None:
    """More taxa than there are lines, a plan, a permit and three passes; no number of the last visit is cut off."""
    station = make_station("WIL-02", name="Behind the school", latitude=37.1, longitude=-70.1)
    fish = {f"Genus speciesname{letter}": 120 for letter in "abcdefghijklmnopqrstuvwx"}
    make_visit(station, "2025-07-16", passes=[fish, fish, fish], mean_width_m=4)
    PlannedVisit.objects.create(station=station, year=2199, crew="QX, two volunteers")
    Permit.objects.create(
        number="P-2024-031", body="Water Office", valid_from="2024-01-01", valid_to="2199-12-31"
    )
    page = open_as("biologist", f"{language}/stations/WIL-02/field-sheet/?paper={paper}")
    page.set_viewport_size({"width": 733, "height": 1000})  # 194 mm, what A4 leaves between its margins
    page.emulate_media(media="print")
    assert page.evaluate(CUT_OFF) == []
    assert page_count(page.pdf(prefer_css_page_size=True)) == 1
