# ruff: noqa: F401, F811 - fixtures of the other files are asked for by name
"""What stands on the screen of the tally while something is on its way to the server, in a real browser."""

from pathlib import Path
from typing import Any

import pytest

from surveys.models import Voucher
from tests.browser.test_entry import begin_tally, biologist, creek
from tests.browser.test_tally_field_record import finish, keep_voucher, picture
from tests.factories import make_taxon

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_what_is_typed_is_kept_when_an_answer_draws_the_screen_anew(biologist, live_server, creek):
    page = biologist
    begin_tally(page, live_server.url)
    page.click("nav >> text=Water")
    page.fill("#water_temp_c", "18")  # and the field is not left
    page.evaluate("document.querySelector('rill-tally').reload()")
    assert page.input_value("#water_temp_c") == "18"
    page.reload()
    page.wait_for_selector("#water_temp_c")
    assert page.input_value("#water_temp_c") == "18"


def test_an_answer_does_not_draw_over_the_screen_that_came_after_it(biologist, live_server, creek):
    page = biologist
    begin_tally(page, live_server.url)
    page.evaluate("""() => {
      const tally = document.querySelector("rill-tally");
      const late = tally.reload();
      location.hash = "";
      return late;
    }""")
    page.wait_for_selector("#tally-begin")
    assert "WIL-01" in page.inner_text("ul.ruled")


def test_a_voucher_that_is_begun_stays_while_another_goes_up(
    biologist, live_server, creek, picture: Path
) -> None:
    page = biologist
    held: list[Any] = []
    begin_tally(page, live_server.url)
    page.click("#close-pass")
    page.click("text=Yes, no fish")
    finish(page)
    page.wait_for_selector("text=Sent and stored as a draft")
    page.route("**/entry/sync/voucher/", lambda route: held.append(route))
    with page.expect_request("**/entry/sync/voucher/"):
        keep_voucher(page, picture)
    page.fill("#voucher-taxon", "Creek Chub")
    page.fill("#voucher-number", "V-2")
    with page.expect_response("**/entry/sync/voucher/"):
        held.pop().continue_()
    page.unroute("**/entry/sync/voucher/")
    page.click("#voucher-keep")
    page.wait_for_selector(".tally-voucher:has-text('V-2'):has-text('on the server')")
    assert {one.number for one in Voucher.objects.all()} == {"V-1", "V-2"}


# Taps while the page reads what is on the disk: as soon as the taps are asked for, one more fish is tapped.
TAPPED_BETWEEN = """async (taxon) => {
  const { transaction } = IDBDatabase.prototype;
  const tapped = new Promise((done) => {
    IDBDatabase.prototype.transaction = function (stores, mode, options) {
      const made = transaction.call(this, stores, mode, options);
      if (mode === "readonly" && stores.includes("taps")) {
        IDBDatabase.prototype.transaction = transaction;
        document.getElementById(`add-${taxon}`).click();
        made.addEventListener("complete", done);
      }
      return made;
    };
  });
  document.dispatchEvent(new Event("visibilitychange"));
  await tapped;
}"""


def test_a_fish_tapped_while_the_screen_is_drawn_anew_is_on_it_and_is_the_one_taken_back(
    biologist, live_server, creek
):
    page = biologist
    chub, dace = (make_taxon(name).pk for name in ("Creek Chub", "Blacknose Dace"))
    begin_tally(page, live_server.url)
    page.click(f"#add-{dace}")
    page.wait_for_selector("text=Pass 1: 1 fish of 1 taxon")
    page.evaluate(TAPPED_BETWEEN, chub)
    page.wait_for_selector("text=Pass 1: 2 fish of 2 taxa")
    page.click("#undo")
    page.wait_for_selector("text=Taken back: Creek Chub")
    page.reload()
    page.wait_for_selector("text=Pass 1: 1 fish of 1 taxon")
    assert "1" in page.inner_text(f"#add-{dace}") and "0" in page.inner_text(f"#add-{chub}")


def test_the_tub_that_was_chosen_stays_chosen_after_a_look_away(biologist, live_server, creek):
    page = biologist
    begin_tally(page, live_server.url)
    page.select_option("select", "eel")
    page.click("#mode-marks")
    page.evaluate("document.querySelector('rill-tally').show()")
    assert page.input_value("select") == "eel"
    assert page.get_attribute("#mode-marks", "aria-pressed") == "true"
