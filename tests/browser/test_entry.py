"""Entering in a real browser: the sheet by keyboard alone; the tally without a network."""

import psutil
import pytest
from django.conf import settings

from surveys.models import Catch, EntryReceipt, Visit, VisitStatus
from tests.conftest import BROWSER_FLAGS, chromium
from tests.factories import make_method, make_station, make_taxon, make_visit

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def creek(db):
    """A station where Creek Chub is met more often than Blacknose Dace."""
    station = make_station("WIL-01", method=make_method())
    make_visit(station, "2022-07-16", passes=[{"Creek Chub": 9, "Blacknose Dace": 4}, {"Creek Chub": 3}])
    make_visit(station, "2023-07-16", passes=[{"Creek Chub": 11}, {"Creek Chub": 4}])
    return station


@pytest.fixture
def biologist(page, live_server, client, person):
    """The page, signed in as a biologist."""
    client.force_login(person("biologist"))
    cookie = client.cookies[settings.SESSION_COOKIE_NAME]
    page.context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
    page.set_default_timeout(30_000)
    return page


def test_a_sheet_is_typed_by_keyboard_alone_and_handed_in(biologist, live_server, creek):
    page, chub = biologist, make_taxon("Creek Chub").pk
    bluegill = make_taxon("Bluegill").pk
    page.goto(f"{live_server.url}/entry/")
    page.focus("#id_station")
    page.keyboard.type("WIL-01")
    page.keyboard.press("Enter")
    page.wait_for_url("**/entry/*/")
    page.focus(f"#count-1-{chub}")
    page.keyboard.type("12")
    page.keyboard.press("Enter")  # down to the dace
    page.keyboard.type("5")
    page.keyboard.press("ArrowUp")
    for text in ("", "3", "0", "148.5"):  # the rest of the chub's line in pass 1
        page.keyboard.type(text) if text else None
        page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.name") == f"count-2-{chub}"
    page.keyboard.type("4")
    assert page.inner_text("[data-pass-total='1']") == "17"
    assert "Pass 2: 4 fish after 17; the catch fell." in page.inner_text("[data-depletion]")
    page.focus("#add_taxon")
    page.keyboard.type("Bluegill")
    page.keyboard.press("Enter")
    page.wait_for_selector("th:has-text('Lepomis macrochirus')")
    page.wait_for_selector(f"#count-1-{bluegill}:focus")  # the new row has the cursor
    page.wait_for_load_state("load")
    page.keyboard.type("1")
    page.select_option("#stop_nets", "both")
    page.focus("button[value=submit]")
    page.keyboard.press("Enter")  # nobody is named as crew lead: that is asked about
    page.wait_for_selector(".error-summary.ask:focus")
    page.focus("#looked")
    page.keyboard.press("Space")
    page.focus("button[value=submit]")
    page.keyboard.press("Enter")
    page.wait_for_url("**/entry/")
    visit = Visit.objects.get(status=VisitStatus.SUBMITTED)
    caught = Catch.objects.filter(removal_pass__visit=visit)
    assert sorted(caught.values_list("removal_pass__pass_number", "taxon__common_name", "count")) == [
        (1, "Blacknose Dace", 5),
        (1, "Bluegill", 1),
        (1, "Creek Chub", 12),
        (2, "Creek Chub", 4),
    ]
    one = caught.get(removal_pass__pass_number=1, taxon=chub)
    assert (one.young_of_year, one.anomalies, one.biomass_g) == (3, 0, 148.5)


def test_from_the_last_species_the_keys_go_on_to_the_figures_of_the_pass(biologist, live_server, creek):
    page, chub, dace = biologist, make_taxon("Creek Chub").pk, make_taxon("Blacknose Dace").pk
    visit = make_visit(
        creek, "2024-07-16", passes=[{"Creek Chub": 9, "Blacknose Dace": 4}, {}], status=VisitStatus.DRAFT
    )
    page.goto(f"{live_server.url}/entry/{visit.pk}/")
    names = [one.get_attribute("name") for one in page.query_selector_all("tbody input[name^='count-2-']")]
    assert set(names) == {f"count-2-{chub}", f"count-2-{dace}"}
    page.focus(f"[name='{names[-1]}']")
    gone = []
    for key in ("Enter", "Enter", "ArrowDown", "ArrowUp", "ArrowUp", "ArrowUp"):
        page.keyboard.press(key)
        gone.append(page.evaluate("document.activeElement.name"))
    assert gone == ["no_fish-2", "effort_s-2", "pass_biomass_g-2", "effort_s-2", "no_fish-2", names[-1]]


def test_what_was_typed_outlives_a_session_that_ended_and_is_forgotten_once_it_is_stored(
    biologist, live_server, creek, client, person
):
    """Half a sheet is typed when the session ends: nothing is typed twice, nothing is stored unasked."""
    page, chub = biologist, make_taxon("Creek Chub").pk
    added = make_taxon("Bluegill").pk
    visit = make_visit(
        creek, "2024-07-16", passes=[], status=VisitStatus.DRAFT, entered_by=person("biologist")
    )
    sheet = f"{live_server.url}/entry/{visit.pk}/"
    page.goto(sheet)
    page.fill("#add_taxon", "Bluegill")
    with page.expect_navigation():
        page.click("button[value=add_taxon]")
    page.fill(f"#count-1-{added}", "1")
    page.fill("#notes", "Riffle scoured\nPool deep")
    page.context.clear_cookies(name=settings.SESSION_COOKIE_NAME)
    page.fill(f"#count-1-{chub}", "12")
    page.wait_for_selector("[data-signed-out]:not([hidden])")
    page.click("button.second:has-text('Save the draft')")
    page.wait_for_url("**/account/login/**")
    client.force_login(person("biologist"))
    cookie = client.cookies[settings.SESSION_COOKIE_NAME]
    page.context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
    page.goto(sheet)
    page.wait_for_selector("[data-kept]:not([hidden])")
    assert "was not saved" in page.inner_text("[data-kept-words]")
    assert page.input_value(f"#count-1-{chub}") == ""
    page.click("[data-put-back]")
    page.wait_for_selector("form[data-typed]")
    typed = [page.input_value(one) for one in (f"#count-1-{chub}", f"#count-1-{added}", "#notes")]
    assert typed == ["12", "1", "Riffle scoured\nPool deep"]
    assert not Catch.objects.filter(removal_pass__visit=visit).exists()
    page.click("button.second:has-text('Save the draft')")
    page.wait_for_selector(".messages:has-text('Saved as a draft')")
    assert Catch.objects.filter(removal_pass__visit=visit).count() == 2
    page.goto(f"{live_server.url}/entry/")
    page.goto(sheet)
    page.wait_for_selector("[data-row-total]:has-text('12')")
    assert page.is_hidden("[data-kept]")


def test_a_visit_with_its_fates_is_typed_by_keyboard_alone(biologist, live_server, creek):
    """Two passes, the weights and fates of a line opened, remarked while typed, put right, handed in."""
    page, chub, dace = biologist, make_taxon("Creek Chub").pk, make_taxon("Blacknose Dace").pk
    press, keys = page.keyboard.press, page.keyboard.type
    focused = lambda: page.evaluate("document.activeElement.id")  # noqa: E731
    page.goto(f"{live_server.url}/entry/")
    page.focus("#id_station")
    keys("WIL-01")
    press("Enter")
    page.wait_for_url("**/entry/*/")
    page.focus("#checks_made-1")
    press("Space")
    page.focus(f"#count-1-{chub}")
    keys("12")
    press("Tab")
    press("Shift+Tab")
    assert focused() == f"count-1-{chub}"  # no stop between the cells but the cells

    press("+")
    assert focused() == f"gross_g-1-{chub}"
    for text in ("398.5", "250", "", "12", "0", "0"):  # weighed whole, all in the main container
        keys(text) if text else None
        press("Tab")
    assert focused() == f"released-1-{chub}"
    assert page.input_value(f"#biomass_g-1-{chub}") == "148.5"
    for text in ("10", "1", "0"):
        keys(text)
        press("Tab")
    page.wait_for_selector(f"[data-spot=row-{chub}] .error:has-text('12')")
    assert focused() == f"estimated-1-{chub}"  # the remark did not take the keyboard away
    assert page.get_attribute(f"#released-1-{chub}", "aria-invalid") == "true"
    assert "released" in page.inner_text("[data-news]")
    for _ in range(3):
        press("Shift+Tab")
    keys("11")
    page.wait_for_selector(f"[data-spot=row-{chub}] .error", state="detached")
    press("Escape")
    assert focused() == f"count-1-{chub}"
    assert page.is_hidden(f"#detail-{chub}")

    press("Enter")
    assert focused() == f"count-1-{dace}"
    keys("5")
    page.focus(f"#count-2-{chub}")
    keys("4")
    page.focus("[data-open=passes]")
    press("Enter")
    assert focused() == "started_at-1"
    keys("9:40")
    press("Tab")
    keys("10:05")
    page.focus("#gear_unit-1")
    keys("backpack 2")
    page.focus("#widths_m")
    keys("2.1; 2.4; 2.0")
    assert page.input_value("#mean_width_m") == "2.167"
    keys("; 2.3")
    assert page.input_value("#mean_width_m") == "2.2"
    page.focus("#crew_lead")
    keys("K. L.")
    page.focus("#stop_nets")
    keys("both")
    # The questions that are answered go while one types; those that stay are looked at, and once is enough.
    page.wait_for_selector("[data-look]:not(:has-text('crew lead')):not(:has-text('stop nets'))")
    page.focus("#looked")
    press("Space")
    page.focus("button[value=submit]")
    press("Enter")
    page.wait_for_url("**/entry/")
    visit = Visit.objects.get(status=VisitStatus.SUBMITTED)
    one = Catch.objects.get(removal_pass__visit=visit, removal_pass__pass_number=1, taxon=chub)
    assert (one.released, one.died, one.kept, one.in_main, one.biomass_g) == (11, 1, 0, 12, 148.5)
    assert (visit.widths_m, visit.mean_width_m, visit.checks_made) == ([2.1, 2.4, 2.0, 2.3], 2.2, ["trained"])
    first = visit.passes.get(pass_number=1)
    assert (f"{first.started_at:%H:%M}", first.gear_unit) == ("09:40", "backpack 2")


def begin_tally(page, url: str) -> None:
    """Open the tally with a network once, so that the device keeps it, and begin a visit."""
    page.goto(f"{url}/entry/tally/")
    page.wait_for_selector("rill-tally[data-offline-ready=yes]")
    page.fill("#tally-station", "WIL-01")
    page.fill("#tally-date", "2024-07-16")
    page.click("#tally-begin")
    page.click("#to-fish")
    page.wait_for_selector("#close-pass")


def test_a_tally_without_a_network_survives_a_reload_and_is_sent_once(biologist, live_server, creek):
    page = biologist
    page.set_viewport_size({"width": 390, "height": 844})
    chub, dace = make_taxon("Creek Chub").pk, make_taxon("Blacknose Dace").pk
    begin_tally(page, live_server.url)
    sent: list[str] = []
    page.on("request", lambda one: sent.append(one.url) if one.method == "POST" else None)
    page.context.set_offline(True)

    for _ in range(5):
        page.click(f"#add-{chub}")
    page.click("#mode-young")
    page.click(f"#add-{chub}")
    page.click("#mode-young")
    page.click(f"#add-{dace}")
    page.wait_for_selector("text=Pass 1: 7 fish of 2 taxa")
    page.click("#undo")
    page.wait_for_selector("text=Pass 1: 6 fish of 1 taxon")

    page.reload()
    page.wait_for_selector("text=Pass 1: 6 fish of 1 taxon")
    assert "6, 1 of the year" in page.get_attribute(f"#add-{chub}", "aria-label")

    # The keypad by a long press: twelve dace at once.
    page.hover(f"#add-{dace}")
    page.mouse.down()
    page.wait_for_selector("#many-count")
    page.mouse.up()
    page.fill("#many-count", "12")
    page.click("text=Batch weight")
    page.fill("#many-weight", "30.5")
    page.click("#line-add")
    page.wait_for_selector("text=Pass 1: 18 fish of 2 taxa")
    page.click("#timer")
    page.fill("#pass-effort", "640")
    page.click("#close-pass")
    page.click("#next-pass")
    page.click("#close-pass")  # nothing tallied: it has to be said
    page.click("text=Yes, no fish")
    page.wait_for_selector("text=Pass 2: 0 fish after 18; the catch fell.")

    page.click("text=Water and reach")
    page.fill("#water_temp_c", "18.5")
    page.fill("#width-0", "3.2")
    page.press("#width-0", "Tab")
    page.fill("#width-1", "3.0")
    page.press("#width-1", "Tab")
    page.wait_for_selector("text=Mean width: 3.1 m.")
    page.click("text=Finish")
    page.click("#send")
    page.wait_for_selector("text=No signal. It is sent when there is one.")
    assert not Visit.objects.filter(status=VisitStatus.DRAFT).exists()

    page.reload()
    page.wait_for_selector("text=Ready to be sent")
    page.context.set_offline(False)
    page.wait_for_selector("text=Sent and stored as a draft")
    page.reload()
    page.wait_for_selector("text=Sent and stored as a draft")
    assert len(sent) == 1
    visit = Visit.objects.get(status=VisitStatus.DRAFT)
    assert (visit.water_temp_c, visit.mean_width_m, visit.reach_length_m) == (18.5, 3.1, 75)
    assert (visit.widths_m, visit.notes) == ([3.2, 3.0], "")
    caught = Catch.objects.filter(removal_pass__visit=visit)
    assert sorted(caught.values_list("taxon", "count", "young_of_year", "biomass_g")) == sorted(
        [(chub, 6, 1, None), (dace, 12, None, 30.5)]
    )
    assert list(visit.passes.values_list("pass_number", "effort_s")) == [(1, 640), (2, None)]


def test_an_answer_lost_on_the_way_stores_nothing_twice(biologist, live_server, creek):
    page, chub = biologist, make_taxon("Creek Chub").pk
    begin_tally(page, live_server.url)
    page.click(f"#add-{chub}")
    page.wait_for_selector("text=Pass 1: 1 fish")
    page.click("#close-pass")
    lost = {"answers": 0}

    def lose(route):
        if route.request.method == "POST":
            route.fetch()  # it reaches the server, but the answer never comes back
            lost["answers"] += 1
            route.abort()
        else:
            route.continue_()

    page.context.route("**/entry/sync/", lose)
    page.click("text=Finish")
    page.click("#send")
    page.wait_for_selector("text=The signal was lost")
    assert lost["answers"] == 1
    page.context.unroute("**/entry/sync/")
    page.click("#send-now")
    page.wait_for_selector("text=Sent and stored as a draft")
    assert Visit.objects.filter(status=VisitStatus.DRAFT).count() == 1
    assert EntryReceipt.objects.count() == 1


def test_a_tally_survives_a_browser_that_is_killed(browser, live_server, client, person, creek, tmp_path):
    client.force_login(person("biologist"))
    cookie = client.cookies[settings.SESSION_COOKIE_NAME]
    chub = make_taxon("Creek Chub").pk

    def opened():
        return browser.browser_type.launch_persistent_context(
            str(tmp_path), executable_path=chromium(), args=BROWSER_FLAGS
        )

    context = opened()
    context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
    page = context.new_page()
    begin_tally(page, live_server.url)
    context.set_offline(True)
    for _ in range(3):
        page.click(f"#add-{chub}")
    page.wait_for_selector("text=Pass 1: 3 fish")
    address = page.url
    for process in psutil.process_iter(["cmdline"]):
        if f"--user-data-dir={tmp_path}" in (process.info["cmdline"] or []):
            process.kill()

    context = opened()
    context.set_offline(True)
    page = context.new_page()
    page.goto(address)
    page.wait_for_selector("text=Pass 1: 3 fish")
    context.close()


def test_a_visit_held_otherwise_is_shown_side_by_side_on_the_device(biologist, live_server, creek):
    page, chub = biologist, make_taxon("Creek Chub").pk
    begin_tally(page, live_server.url)
    page.click(f"#add-{chub}")
    page.wait_for_selector("text=Pass 1: 1 fish")
    make_visit(creek, "2024-07-16", passes=[{"Creek Chub": 2}], status=VisitStatus.DRAFT)
    page.click("text=Finish")
    page.click("#send")
    page.click("dialog >> text=Send it")
    page.wait_for_selector("text=holds this visit with other values")
    assert page.locator("tr", has_text="Creek Chub: fish").inner_text().split()[-2:] == ["1", "2"]
    page.click("text=Decide at the desk")
    page.wait_for_selector("text=Two versions of this visit")


def test_look_alikes_are_asked_about_once(biologist, live_server, creek):
    page = biologist
    chub, dace = make_taxon("Creek Chub"), make_taxon("Blacknose Dace")
    type(chub).objects.filter(pk=chub.pk).update(look_alikes=dace.scientific_name)
    begin_tally(page, live_server.url)
    page.click(f"#add-{chub.pk}")
    page.click(f"#add-{dace.pk}")
    page.click("text=Looked at again")
    page.click(f"#add-{dace.pk}")
    page.wait_for_selector("text=Pass 1: 3 fish")
    assert not page.locator("text=look alike").count()


def test_nothing_to_hit_is_smaller_than_a_thumb(biologist, live_server, creek):
    page = biologist
    page.set_viewport_size({"width": 390, "height": 844})
    begin_tally(page, live_server.url)
    small = """els => els.map(e => [e.outerHTML.slice(0, 60), e.getBoundingClientRect()])
        .filter(([_, r]) => r.width && (r.height < 44 || r.width < 44)).map(([h]) => h)"""
    for step in ("before", "fish", "water", "vouchers", "finish"):
        page.goto(
            page.url.split("/tally/")[0] + "/tally/#" + page.url.split("#")[1].split("/")[0] + f"/{step}"
        )
        page.wait_for_selector(f"a[aria-current=page][href$='/{step}']")
        assert page.locator("main button, main a, main input, main select").evaluate_all(small) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
