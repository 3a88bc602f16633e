# ruff: noqa: F401, F811 - fixtures of the other file are asked for by name
"""The field sheet by the creek in a real browser: checks, gear, times, containers and vouchers, without a network."""

import io
from pathlib import Path

import psutil
import pytest
from django.conf import settings
from PIL import Image
from playwright.sync_api import expect

from surveys.models import Catch, Visit, VisitStatus, Voucher
from tests.browser.test_entry import begin_tally, biologist, creek
from tests.conftest import BROWSER_FLAGS, chromium
from tests.factories import make_taxon

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    """A photograph larger than the device sends."""
    path = tmp_path / "fish.jpg"
    Image.new("RGB", (3200, 2400), (120, 140, 90)).save(path, "JPEG")
    return path


def keep_voucher(page, picture: Path | None = None, number: str = "V-1") -> None:
    page.fill("#voucher-taxon", "Creek Chub")
    page.fill("#voucher-number", number)
    if picture:
        page.set_input_files("#voucher-photo", picture)
    page.click("#voucher-keep")
    page.wait_for_selector(f".tally-voucher:has-text('{number}')")


def finish(page) -> None:
    page.click("nav >> text=Finish")
    page.click("#send")


def test_what_was_looked_at_is_a_record_that_holds_nobody_up(biologist, live_server, creek):
    page = biologist
    page.goto(f"{live_server.url}/entry/tally/")
    page.wait_for_selector("rill-tally[data-offline-ready=yes]")
    page.fill("#tally-station", "WIL-01")
    page.fill("#tally-date", "2024-07-16")
    page.click("#tally-begin")
    page.wait_for_selector("text=0 written down, 8 not")
    # Nothing is ticked, and the fish can be tallied all the same.
    page.click("#to-fish")
    page.wait_for_selector("#close-pass")
    page.click("nav >> text=Before")
    page.check("#check-gear-tested")
    page.check("#check-first-aid")
    page.fill("#checks_by", "K. L.")
    page.press("#checks_by", "Tab")
    page.wait_for_selector("text=2 written down, 6 not")
    words = page.inner_text("main").lower()
    assert "whether the work begins is for the trained crew leader to decide" in words
    assert "safe to" not in words and "cleared" not in words
    page.reload()
    assert page.is_checked("#check-first-aid") and not page.is_checked("#check-emergency")
    page.click("#to-fish")
    page.click("#close-pass")
    page.click("text=Yes, no fish")
    finish(page)
    page.wait_for_selector("text=Sent and stored as a draft")
    visit = Visit.objects.get(status=VisitStatus.DRAFT)
    assert (sorted(visit.checks_made), visit.checks_by) == (["first aid", "gear tested"], "K. L.")


def test_the_whole_field_sheet_goes_up_in_its_fields(biologist, live_server, creek):
    page, chub = biologist, make_taxon("Creek Chub").pk
    eel = make_taxon("Anguilla rostrata").pk
    page.set_viewport_size({"width": 390, "height": 844})
    begin_tally(page, live_server.url)
    page.context.set_offline(True)

    page.fill("#tally-search", "Anguilla rostrata")
    page.press("#tally-search", "Tab")
    page.wait_for_selector(f"#add-{eel}")
    page.select_option("select", "apart")
    page.click(f"#add-{eel}")
    for _ in range(4):
        page.click(f"#add-{chub}")
    # Eels are told apart in the total of the pass; the line just tallied is read back large.
    page.wait_for_selector("text=Pass 1: 5 fish of 2 taxa (1 eel, 4 other fish). All passes: 5 (1 eel).")
    assert page.inner_text(".tally-last").split("\n") == ["Creek Chub", "4"]

    page.click(f"li:has(#add-{chub}) >> text=123")
    page.check("#mark-estimated")
    page.check("#mark-unsure")
    page.click("text=Batch weight")
    page.fill("#many-gross", "398,5")
    page.fill("#many-tare", "250")
    page.press("#many-tare", "Tab")
    page.wait_for_selector("text=The fish alone: 148.5 g")
    page.fill("#many-weighed", "3")
    page.click("summary:has-text('Released')")
    page.fill("#fate-died", "1")
    page.click("#rest-released")
    assert page.input_value("#fate-released") == "3"
    page.click("#line-add")
    page.wait_for_selector("dialog", state="detached")

    page.fill("#pass-from", "1200")
    page.fill("#pass-to", "1840")
    page.press("#pass-to", "Tab")
    page.wait_for_selector("text=By the counter: 640 s.")
    # The visit is not of today, so no time is filled in by itself.
    assert page.input_value("#pass-started") == ""
    page.fill("#pass-started", "09:40")
    page.fill("#pass-ended", "10:05")
    page.click("text=Gear of pass 1")
    gear = ("gear_unit", "anodes", "netters", "volts_first", "volts_last", "pulse_hz_first")
    assert [page.input_value(f"#{name}") for name in gear] == [""] * len(gear)
    page.fill("#gear_unit", "backpack 2")
    page.select_option(".tally-gear select", "pulsed DC")
    page.fill("#volts_first", "250")
    page.fill("#volts_last", "275")
    page.fill("#netters", "2")
    page.press("#netters", "Tab")
    page.click("#close-pass")
    page.click("#all-released")
    page.wait_for_selector("text=written down for every line")

    page.click("text=Water and reach")
    for name, value in {
        "conductivity_us_cm": "310",
        "air_temp_c": "24",
        "weather": "sunny, no rain",
        "identifier": "K. L.",
        "crew_size": "4",
        "width-0": "3.2",
    }.items():
        page.fill(f"#{name}", value)
        page.press(f"#{name}", "Tab")
    page.fill("#width-1", "3.0")
    page.press("#width-1", "Tab")
    page.wait_for_selector("text=Mean width: 3.1 m.")
    page.locator(".field", has_text="The conductivity is").locator("select").select_option("ambient")
    page.locator(".field", has_text="Can the bottom be seen?").locator("select").select_option("partly")
    page.context.set_offline(False)
    finish(page)
    page.wait_for_selector("text=Sent and stored as a draft")

    visit = Visit.objects.get(status=VisitStatus.DRAFT)
    assert (visit.widths_m, visit.mean_width_m) == ([3.2, 3.0], 3.1)
    assert (visit.conductivity_basis, visit.bottom_visible, visit.weather) == (
        "ambient",
        "partly",
        "sunny, no rain",
    )
    assert (visit.air_temp_c, visit.identifier, visit.crew_size, visit.notes) == (24, "K. L.", 4, "")
    one = visit.passes.get()
    assert (one.effort_s, str(one.started_at), str(one.ended_at)) == (640, "09:40:00", "10:05:00")
    assert (one.gear_unit, one.waveform, one.volts_first, one.volts_last) == (
        "backpack 2",
        "pulsed DC",
        250,
        275,
    )
    assert (one.netters, one.anodes, one.pulse_hz_first) == (2, None, None)
    line = Catch.objects.get(removal_pass=one, taxon=chub)
    assert (line.count, line.in_main, line.in_eel_well, line.in_other) == (4, 4, 0, 0)
    assert (line.released, line.died, line.kept) == (3, 1, 0)
    assert (line.gross_g, line.tare_g, line.biomass_g, line.weighed) == (398.5, 250, 148.5, 3)
    assert (line.estimated, line.unsure) == (True, True)
    line = Catch.objects.get(removal_pass=one, taxon=eel)
    assert (line.in_main, line.in_eel_well, line.released) == (0, 1, 1)


def test_the_times_of_a_pass_of_today_fill_themselves_in(biologist, live_server, creek):
    page, chub = biologist, make_taxon("Creek Chub").pk
    page.clock.set_fixed_time("2024-07-16T09:40:20")
    begin_tally(page, live_server.url)
    page.click(f"#add-{chub}")
    expect(page.locator("#pass-started")).to_have_value("09:40")
    page.clock.set_fixed_time("2024-07-16T10:05:20")
    page.click("#close-pass")
    expect(page.locator("#pass-ended")).to_have_value("10:05")
    page.clock.set_fixed_time("2024-07-16T10:41:00")
    page.click("#next-pass")
    expect(page.locator("#pass-started")).to_have_value("10:41")
    # A pass that is closed within the minute it began has no end: the record would say it took no time.
    page.click(f"#add-{chub}")
    page.click("#close-pass")
    page.wait_for_selector("text=Open pass 2 again")
    assert page.input_value("#pass-ended") == ""


SLOW_DISK = """
  const own = Object.getOwnPropertyDescriptor(IDBTransaction.prototype, "oncomplete");
  Object.defineProperty(IDBTransaction.prototype, "oncomplete", { ...own, set(then) {
    own.set.call(this, (event) => setTimeout(() => then.call(this, event), this.mode === "readwrite" ? 700 : 0));
  } });
"""


def test_a_device_that_writes_slowly_loses_no_tap_and_no_typed_figure(biologist, live_server, creek):
    """A phone's disk may take a second. What is done next waits for what was done before."""
    page, chub = biologist, make_taxon("Creek Chub").pk
    page.add_init_script(SLOW_DISK)
    page.goto(f"{live_server.url}/entry/tally/")
    page.fill("#tally-station", "WIL")
    page.wait_for_timeout(1_500)  # the lists come meanwhile, and the page is drawn again
    assert page.input_value("#tally-station:focus") == "WIL"
    begin_tally(page, live_server.url)
    page.fill("#pass-effort", "640")
    # The tap, and the closing of the pass by a phone that does not leave the field, come at once.
    page.evaluate(
        f"document.getElementById('add-{chub}').click(); document.getElementById('close-pass').click()"
    )
    page.wait_for_selector("text=Open pass 1 again")
    assert page.locator("dialog").count() == 0  # nobody is asked whether the pass caught no fish
    assert page.input_value("#pass-effort") == "640"
    page.evaluate("document.getElementById('next-pass').click()")
    page.wait_for_selector("#close-pass")
    page.evaluate(f"document.getElementById('add-{chub}').click(); document.getElementById('undo').click()")
    page.wait_for_selector("text=Taken back: Creek Chub, 1. Pass 2: 0 fish")
    page.fill("#pass-effort", "500")
    page.evaluate("location.hash = location.hash.replace('/fish', '/finish')")
    page.wait_for_selector("text=Pass 2: nothing yet, 500 s, not closed")
    assert "Pass 1: 1 fish of 1 taxon, 640 s" in page.inner_text("main")


def test_fates_that_do_not_make_up_the_count_are_asked_about_and_go_up_in_words(
    biologist, live_server, creek
):
    page, chub = biologist, make_taxon("Creek Chub").pk
    begin_tally(page, live_server.url)
    page.click(f"#add-{chub}")
    page.click(f"li:has(#add-{chub}) >> text=123")
    page.click("summary:has-text('Released')")
    page.fill("#fate-died", "3")
    page.click("#line-add")
    page.click("text=Keep it so")
    page.wait_for_selector("dialog", state="detached")
    page.click("#close-pass")
    page.click("nav >> text=Finish")
    page.wait_for_selector("text=Pass 1, Creek Chub: 3 died, of 1 tallied.")
    page.click("#send")
    page.wait_for_selector("text=Sent and stored as a draft")
    visit = Visit.objects.get(status=VisitStatus.DRAFT)
    assert "Creek Chub: 3 died, of 1 tallied." in visit.notes
    assert Catch.objects.get(removal_pass__visit=visit).died is None


def test_a_photograph_waits_on_the_device_and_goes_up_once(biologist, live_server, creek, picture):
    page, chub = biologist, make_taxon("Creek Chub").pk
    begin_tally(page, live_server.url)
    page.context.set_offline(True)
    page.click(f"#add-{chub}")
    page.click("#close-pass")
    page.click("nav >> text=Vouchers")
    keep_voucher(page, picture)
    page.reload()
    page.wait_for_selector(".tally-voucher img")
    finish(page)
    page.wait_for_selector("text=No signal. It is sent when there is one.")
    assert not Voucher.objects.exists()
    sent: list[str] = []
    lost = {"answers": 0}

    def lose_the_first(route):
        sent.append(route.request.url)
        if lost["answers"]:
            route.continue_()
            return
        lost["answers"] += 1
        route.fetch()  # it reaches the server, but the answer never comes back
        route.abort()

    page.context.route("**/entry/sync/voucher/", lose_the_first)
    page.context.set_offline(False)
    page.wait_for_selector("text=Sent and stored as a draft")
    page.wait_for_selector("text=Vouchers that wait are sent again")
    assert Voucher.objects.count() == 1
    page.reload()
    page.wait_for_selector(".tally-voucher:has-text('on the server')")
    page.reload()
    page.wait_for_selector(".tally-voucher:has-text('on the server')")
    assert len(sent) == 2
    voucher = Voucher.objects.get()
    assert (voucher.visit.status, voucher.number, voucher.taxon_id) == (VisitStatus.DRAFT, "V-1", chub)
    with Image.open(io.BytesIO(bytes(voucher.photo))) as kept:
        assert (kept.format, kept.size) == ("JPEG", (2000, 1500))


def test_a_voucher_may_follow_after_the_visit_and_without_a_photograph(biologist, live_server, creek):
    page, chub = biologist, make_taxon("Creek Chub").pk
    begin_tally(page, live_server.url)
    page.click(f"#add-{chub}")
    page.click("#close-pass")
    finish(page)
    page.wait_for_selector("text=Sent and stored as a draft")
    keep_voucher(page, number="V-2")
    page.wait_for_selector(".tally-voucher:has-text('on the server')")
    assert (Voucher.objects.get().number, Voucher.objects.get().photo) == ("V-2", None)


def opened(browser, folder: Path):
    return browser.browser_type.launch_persistent_context(
        str(folder), executable_path=chromium(), args=BROWSER_FLAGS
    )


def killed(folder: Path) -> None:
    for process in psutil.process_iter(["cmdline"]):
        if f"--user-data-dir={folder}" in (process.info["cmdline"] or []):
            process.kill()


def test_a_photograph_survives_that_the_browser_is_killed_without_a_network(
    browser,
    live_server,
    client,
    person,
    creek,
    tmp_path,
    picture,
):
    client.force_login(person("biologist"))
    cookie = client.cookies[settings.SESSION_COOKIE_NAME]
    folder = tmp_path / "device"
    context = opened(browser, folder)
    context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
    page = context.new_page()
    begin_tally(page, live_server.url)
    context.set_offline(True)
    page.click("nav >> text=Vouchers")
    keep_voucher(page, picture)
    address = page.url
    killed(folder)

    context = opened(browser, folder)
    context.set_offline(True)
    page = context.new_page()
    page.goto(address)
    page.wait_for_selector(".tally-voucher img")
    # The cookie of the first start went with it, as after a night: the person signs in again.
    context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
    page.click("nav >> text=Fish")
    page.click(f"#add-{make_taxon('Creek Chub').pk}")
    page.click("#close-pass")
    finish(page)
    page.wait_for_selector("text=No signal")
    context.set_offline(False)
    page.wait_for_selector(".tally-voucher:has-text('on the server')")
    assert Voucher.objects.get().photo
    context.close()


# What the earlier version of the tally kept: database version 1 with one visit in progress and its taps.
EARLIER = """async ([key, taxon]) => {
  await new Promise((done) => { const gone = indexedDB.deleteDatabase("rillmark-tally"); gone.onsuccess = done; });
  const db = await new Promise((done) => {
    const request = indexedDB.open("rillmark-tally", 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore("visits", { keyPath: "key" });
      request.result.createObjectStore("taps", { keyPath: "id", autoIncrement: true }).createIndex("visit", "visit");
      request.result.createObjectStore("lists");
    };
    request.onsuccess = () => done(request.result);
  });
  const t = db.transaction(["visits", "taps"], "readwrite");
  t.objectStore("visits").put({
    key, begun: 1, station: "WIL-01", stream: "Willow Run", date: "2024-07-16", method: "two-pass", rows: [taxon],
    pass: 1, passes: [{ closed: false, noFish: false, seconds: 0, since: null, effort: "600", weight: "" }],
    texts: { ph: "7.2" }, widths: ["3.2"], told: { young: false, marks: false }, weights: {},
    fates: { [`1-${taxon}`]: { released: "2", died: "1" } }, alike: [], ready: false, sent: null,
    clash: null, refused: null,
  });
  for (const container of ["main", "main", "eel"]) {
    t.objectStore("taps").add({ visit: key, pass: 1, taxon, container, count: 1, young: 0, marks: 0, at: 1 });
  }
  await new Promise((done) => { t.oncomplete = done; });
  db.close();
}"""


def test_a_tally_in_progress_from_the_earlier_version_goes_on(biologist, live_server, creek):
    page, chub = biologist, make_taxon("Creek Chub").pk
    key = "5f6c7a3e-6a39-4f0e-9d55-0f5c2a1b7c11"
    page.goto(f"{live_server.url}/healthz")
    page.evaluate(EARLIER, [key, chub])
    page.goto(f"{live_server.url}/entry/tally/#{key}/fish")
    page.wait_for_selector("text=Pass 1: 3 fish of 1 taxon")
    page.click(f"#add-{chub}")
    page.click("#undo")
    page.click("#close-pass")
    page.click("nav >> text=Vouchers")
    page.wait_for_selector("text=No voucher yet")
    finish(page)
    page.wait_for_selector("text=Sent and stored as a draft")
    visit = Visit.objects.get(status=VisitStatus.DRAFT)
    assert (visit.ph, visit.mean_width_m, visit.passes.get().effort_s) == (7.2, 3.2, 600)
    line = Catch.objects.get(removal_pass__visit=visit)
    assert (line.count, line.in_main, line.in_eel_well) == (3, 2, 1)
    assert (line.released, line.died, line.kept) == (2, 1, 0)
