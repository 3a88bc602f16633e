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


# As soon as the keypad is gone, what lies below it is tapped at the same place.
TAPPED_THROUGH = """() => document.addEventListener("click", (first) => {
  document.querySelector("dialog").addEventListener("close", () => setTimeout(() => {
    const { clientX, clientY } = first;
    document.querySelectorAll(".tally-add")[1].dispatchEvent(
      new MouseEvent("click", { bubbles: true, cancelable: true, detail: 1, clientX, clientY }));
    document.body.dataset.tapped = "yes";
  }));
}, { once: true })"""


def test_a_second_tap_on_a_button_is_not_a_second_fish_a_second_pass_or_a_second_voucher(
    biologist, live_server, creek
):
    page = biologist
    begin_tally(page, live_server.url)
    page.click(".tally-more >> nth=0")
    page.fill("#many-count", "40")
    page.dblclick("#line-add")
    page.wait_for_selector("text=Pass 1: 40 fish of 1 taxon")
    page.wait_for_selector("dialog", state="detached")
    page.click(".tally-more >> nth=0")
    page.fill("#many-count", "1")
    page.evaluate(TAPPED_THROUGH)
    page.click("#line-add")
    page.wait_for_selector("body[data-tapped]")
    page.wait_for_selector("text=Pass 1: 41 fish of 1 taxon")
    page.wait_for_selector("dialog", state="detached")
    page.click(".tally-more >> nth=0")
    page.fill("#many-count", "2")
    for _ in range(4):  # held down: the last ones fall on the button that has the focus then
        page.keyboard.down("Enter")
    page.wait_for_selector("text=Pass 1: 43 fish of 1 taxon")
    page.wait_for_selector("dialog", state="detached")
    # While the keypad closes, the focus comes back to the button that opened it, with the key still down.
    for button in (".tally-more", ".tally-add"):
        page.focus(button)
        page.keyboard.down("Enter")
    page.keyboard.up("Enter")
    assert page.locator("dialog").count() == 0
    page.click("#close-pass")
    page.dblclick("#next-pass")
    page.wait_for_selector("#pass-2[aria-pressed=true]")
    page.dblclick("#close-pass")
    page.wait_for_selector("dialog >> text=Nothing is tallied in pass 2.")
    assert page.locator("dialog").count() == 1
    page.click("dialog button >> nth=1")
    assert page.locator(".pass-tabs button").all_inner_texts() == ["Pass 1, closed", "Pass 2"]
    page.click("#pass-1")
    page.wait_for_selector("text=All passes: 43.")
    page.click("text=Vouchers")
    page.fill("#voucher-taxon", "Creek Chub")
    page.dblclick("#voucher-keep")
    page.wait_for_selector(".tally-voucher")
    page.reload()
    page.wait_for_selector(".tally-voucher")
    assert page.locator(".tally-voucher").count() == 1


def test_over_an_unprotected_connection_a_visit_is_tallied_and_the_page_says_what_is_missing(
    biologist, live_server, creek
):
    page = biologist
    # What browsers leave out where a page comes over http from another machine.
    page.add_init_script(
        "delete Crypto.prototype.randomUUID; delete Navigator.prototype.serviceWorker;"
        "delete Navigator.prototype.storage;"
    )
    page.goto(f"{live_server.url}/entry/tally/")
    page.wait_for_selector("text=This page opens only with a signal here")
    page.fill("#tally-station", "WIL-01")
    page.click("#tally-begin")
    page.click("#to-fish")
    page.click(".tally-add >> nth=0")
    page.wait_for_selector("text=Pass 1: 1 fish of 1 taxon")
    page.click("#close-pass")
    page.wait_for_selector("#next-pass")
    finish(page)
    page.wait_for_selector("text=Sent and stored as a draft.")
