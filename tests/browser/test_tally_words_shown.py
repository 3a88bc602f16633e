# ruff: noqa: F401, F811 - fixtures of the other files are asked for by name
"""Every screen of the tally in a made-up language: what it shows in plain letters was never given out."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from PIL import Image

from surveys.models import VisitStatus
from tests.browser.test_entry import begin_tally, biologist, creek
from tests.factories import make_taxon, make_visit
from tests.made_up_language import data_words, left_over, made_up_language

pytestmark = [
    pytest.mark.browser,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("made_up_language"),
]

# Texts and spoken attributes of the page as it stands, hidden parts as well: a dialog and a closed box are read, too.
HEARD = """() => {
  const skipped = (one) => one.closest("script, style, template, code, [lang=la], [lang=en], [translate=no]");
  const found = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) if (!skipped(walk.currentNode.parentElement)) found.push(walk.currentNode.data);
  for (const one of document.body.querySelectorAll("*")) {
    if (skipped(one)) continue;
    found.push(...["title", "alt", "aria-label", "placeholder"].map((name) => one.getAttribute(name) ?? ""));
  }
  return found;
}"""
# Typed by the test, and a unit.
TYPED = re.compile(r"Blugill|qqqq|\bNO-1\b|\bV-1\b|\bdeg C\b")


@pytest.fixture
def heard(biologist: Any) -> Callable[[str], None]:
    """Look at the screen as it is once something stands on it: ``heard("#undo")``."""

    def look(selector: str) -> None:
        biologist.wait_for_selector(selector, state="attached")
        data = data_words()
        texts = (TYPED.sub(" ", text) for text in biologist.evaluate(HEARD))
        assert [rest for text in texts if (rest := left_over(text, data))] == [], selector

    return look


def typed(page: Any, selector: str, text: str) -> None:
    page.fill(selector, text)
    page.press(selector, "Tab")


def test_home_and_what_comes_before_the_fish(biologist, live_server, creek, heard):
    page = biologist
    page.goto(f"{live_server.url}/es/entry/tally/")
    page.wait_for_selector("rill-tally[data-offline-ready=yes]")
    heard("#tally-begin")
    for station in ("", "NO-1"):
        page.fill("#tally-station", station)
        page.click("#tally-begin")
        heard("form .error-words:not(:empty)")
    page.fill("#tally-station", "WIL-01")
    page.fill("#tally-date", "")
    page.click("#tally-begin")
    heard("form .error-words:not(:empty)")
    page.fill("#tally-date", "2024-07-16")
    page.click("#tally-begin")
    heard("#to-fish")
    page.click("p.place a")
    heard("ul.ruled")


def test_the_fish_and_the_lines_of_the_catch(biologist, live_server, creek, heard):
    page, chub, eel = biologist, make_taxon("Creek Chub"), make_taxon("Anguilla rostrata").pk
    dace = make_taxon("Blacknose Dace")
    type(chub).objects.filter(pk=chub.pk).update(look_alikes=dace.scientific_name)
    make_taxon("Bluegill")
    begin_tally(page, f"{live_server.url}/es")
    page.click("#undo")
    heard("[role=alert] .message")
    for text in ("Blugill", "qqqq"):
        typed(page, "#tally-search", text)
        heard(".error-words:not(:empty)")
    typed(page, "#tally-search", "Anguilla rostrata")
    page.wait_for_selector(f"#add-{eel}")
    page.select_option("select", "apart")
    page.click(f"#add-{eel}")
    for mode in ("young", "marks"):
        page.click(f"#mode-{mode}")
        page.click(f"#add-{chub.pk}")
    page.click("#undo")
    heard(".tally-last strong")
    page.select_option("select", "other")
    page.click(f"#add-{chub.pk}")
    page.click(f"#add-{dace.pk}")
    heard("[role=alert] .warning")
    page.click("[role=alert] .warning button")

    page.click(f"li:has(#add-{chub.pk}) .tally-more")
    heard("#line-add")
    for field, text in (("count", "x"), ("weight", "x"), ("gross", "5"), ("tare", "9"), ("weighed", "90")):
        page.evaluate("document.querySelectorAll('dialog details').forEach((one) => { one.open = true; })")
        typed(page, f"#many-{field}", text)
        page.click("#line-add")
        heard("dialog .error-words:not(:empty)")
        typed(page, f"#many-{field}", {"gross": "5", "tare": "2"}.get(field, ""))
    page.check("#mark-estimated")
    page.check("#mark-unsure")
    for fate in ("released", "died", "kept"):
        page.fill(f"#fate-{fate}", "3")
    page.click("#line-add")
    heard("dialog .grave")
    page.click("dialog .grave")
    page.wait_for_selector("dialog", state="detached")
    heard("#undo")

    page.click("#timer")
    typed(page, "#pass-from", "1200")
    typed(page, "#pass-to", "1100")
    heard(".tally-pass-fields p[role=status]:not(:empty)")
    typed(page, "#pass-to", "1840")
    typed(page, "#pass-effort", "600")
    heard(".tally-pass-fields p[role=status]:not(:empty)")
    page.click("#close-pass")
    heard("#all-released")
    page.click("#all-released")
    page.wait_for_selector("#all-released", state="detached")
    page.click("#next-pass")
    page.click("#close-pass")
    heard("dialog .grave")
    page.click("dialog .grave")
    page.wait_for_selector("dialog", state="detached")
    heard(".depletion:not([hidden])")


def test_water_vouchers_and_the_end(biologist, live_server, creek, heard, tmp_path):
    page, chub = biologist, make_taxon("Creek Chub").pk
    picture = tmp_path / "fish.png"
    Image.new("RGB", (30, 20)).save(picture)
    (tmp_path / "none.png").write_bytes(b"no picture")
    begin_tally(page, f"{live_server.url}/es")
    page.click(f"#add-{chub}")
    page.click(f"li:has(#add-{chub}) .tally-more")
    page.click("dialog details:has(#fate-died) summary")
    page.fill("#fate-died", "3")
    page.click("#line-add")
    page.click("dialog .grave")
    page.wait_for_selector("dialog", state="detached")

    page.click("nav a[href$='/water']")
    heard("#notes")
    typed(page, "#width-0", "3.2")
    typed(page, "#water_temp_c", "180")
    heard("#width-1")

    page.click("nav a[href$='/vouchers']")
    heard(".empty")
    page.click("#voucher-keep")
    heard(".error-words:not(:empty)")
    page.fill("#voucher-taxon", "qqqq")
    page.click("#voucher-keep")
    heard(".error-words:not(:empty)")
    page.fill("#voucher-taxon", "Creek Chub")
    page.set_input_files("#voucher-photo", tmp_path / "none.png")
    page.click("#voucher-keep")
    heard("form > .error-words:not(:empty)")
    page.set_input_files("#voucher-photo", picture)
    page.fill("#voucher-number", "V-1")
    page.click("#voucher-keep")
    heard(".tally-voucher img")
    page.click(".tally-voucher button")
    heard("dialog .grave")
    page.click("dialog .second")

    page.click("nav a[href$='/finish']")
    heard("#send")
    page.click(".tally-removal .grave")
    heard("dialog .grave")
    page.click("dialog .second")
    page.click("#send")
    heard("dialog .grave")
    page.click("dialog .grave")
    # A rule that holds it back, in the words of the server.
    heard(".error-summary li")
    page.click("nav a[href$='/water']")
    typed(page, "#water_temp_c", "18")
    page.click("nav a[href$='/finish']")
    page.context.set_offline(True)
    page.click("#send")
    page.click("dialog .grave")
    heard("#send-now")
    heard(".tally-words:not(:empty)")
    page.click("p.place a")
    heard("ul.ruled")
    page.context.set_offline(False)
    page.wait_for_selector("ul.ruled li:has-text('sent')")
    page.click("ul.ruled a")
    heard("a.button")


def test_a_visit_that_the_server_holds_otherwise(biologist, live_server, creek, heard):
    page, chub = biologist, make_taxon("Creek Chub").pk
    begin_tally(page, f"{live_server.url}/es")
    page.click(f"#add-{chub}")
    page.wait_for_selector(".tally-last strong")
    make_visit(creek, "2024-07-16", passes=[{"Creek Chub": 2}], status=VisitStatus.DRAFT)
    page.click("#close-pass")
    page.click("nav a[href$='/finish']")
    page.click("#send")
    heard("tbody tr")
