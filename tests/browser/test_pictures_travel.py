"""Pictures drawn by the server leave a page in a real browser as live charts do: in every form."""

import csv
import io
import re
import xml.etree.ElementTree as ET
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import pytest

from surveys.models import Taxon, Watershed
from tests.factories import make_station, make_visit
from trends.recompute import mark_all, recompute_marked

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SVG = "{http://www.w3.org/2000/svg}"
PROFILE = "/watersheds/willow-run/?measure=total_catch"
STRIP = "/species/semotilus-atromaculatus/"
CAUGHT = {"WIL-01": 30, "WIL-02": 24, "WIL-03": 51}


@pytest.fixture(scope="module")
def creek(made_to_stand: Callable[[], AbstractContextManager[None]]) -> Watershed:
    with made_to_stand():
        return make_creek()


def make_creek() -> Watershed:
    """Three stations along a creek over five years, the fourth without a visit; chub met in the first two."""
    Taxon.objects.create(
        scientific_name="Semotilus atromaculatus", common_name="Creek Chub", slug="semotilus-atromaculatus"
    )
    for km, (code, caught) in enumerate(CAUGHT.items(), start=1):
        station = make_station(code, river_km=2.5 * km, latitude=39 + km / 50, longitude=-77.0)
        for year in (2018, 2019, 2020, 2022):
            fish = {"Creek Chub": 5} if year < 2020 else {}
            make_visit(
                station, f"{year}-07-01", passes=[{**fish, "Blacknose Dace": caught - sum(fish.values())}]
            )
    mark_all()
    recompute_marked()
    return station.watershed


def opened(page: Any, address: str, part: str) -> Any:
    """The ways of saving one picture, folded out."""
    page.goto(address)
    box = page.locator(f"{part} rill-save").first
    box.locator("summary").click()
    return box


def saved(page: Any, box: Any, name: str) -> tuple[str, bytes]:
    with page.expect_download() as waiting:
        box.get_by_role("button", name=name).click()
    return waiting.value.suggested_filename, Path(waiting.value.path()).read_bytes()


def drawn(content: bytes) -> ET.Element:
    return ET.fromstring(content)


def words_of(svg: ET.Element) -> str:
    return " ".join(one.text or "" for one in svg.iter(f"{SVG}text"))


@pytest.mark.parametrize(
    ("part", "address", "button", "ending", "size"),
    [
        ("#profile", PROFILE, "Picture for a screen (PNG)", "-screen.png", (2200, None)),
        ("#profile", PROFILE, "Picture for print (PNG)", "-print.png", (1950, None)),
        ("section", STRIP, "Picture for a screen (PNG)", "-screen.png", (2200, None)),
        ("section", STRIP, "Picture for a slide, 16:9 (PNG)", "-slide.png", (1920, 1080)),
        ("section", STRIP, "Picture for print (PNG)", "-print.png", (1950, None)),
    ],
)
def test_pictures_have_their_size_and_are_not_empty(
    page: Any,
    live_server: Any,
    creek: Watershed,
    part: str,
    address: str,
    button: str,
    ending: str,
    size: tuple[int, int | None],
) -> None:
    name, content = saved(page, opened(page, live_server.url + address, part), button)
    assert name.endswith(ending) and content.startswith(b"\x89PNG")
    width, height = (int.from_bytes(content[i : i + 4], "big") for i in (16, 20))
    assert width == size[0] and height == (size[1] or height)
    assert len(content) > 20_000, "letters and marks take room; plain paper does not"


def test_a_profile_as_a_drawing_stands_alone_and_says_the_numbers_of_its_table(
    page: Any, live_server: Any, creek: Watershed
) -> None:
    box = opened(page, live_server.url + PROFILE, "#profile")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url) if request.url.startswith("http") else None)
    name, content = saved(page, box, "Drawing (SVG)")
    svg = drawn(content)
    assert name == "total-catch-along-willow-run-2022.svg"
    said = words_of(svg)
    assert "Total catch along Willow Run, 2022" in said
    assert "Years 2018 to 2022." in said and "CC BY 4.0" in said and "Drawn on" in said
    assert not [one for one in svg.iter() if one.get("class") or one.get("style")], "no style sheet is needed"
    assert "Profile of 3 stations in 2022" in (svg.findtext(f"{SVG}desc") or "")

    in_drawing = dict(re.findall(r"(WIL-\d+): ([\d.]+) fish in 2022", content.decode()))
    _, numbers = saved(page, box, "The numbers (CSV)")
    in_table = {row["Station"]: row["2022"] for row in csv.DictReader(io.StringIO(numbers.decode()))}
    assert in_drawing == in_table == {code: str(caught) for code, caught in CAUGHT.items()}
    assert asked == [], "no server is asked for a picture"


def test_marks_of_a_profile_lie_where_their_numbers_say(
    page: Any, live_server: Any, creek: Watershed
) -> None:
    """Kilometres across and fish upwards, read back from the places of the dots."""
    _, content = saved(page, opened(page, live_server.url + PROFILE, "#profile"), "Drawing (SVG)")
    places = {}
    for mark in drawn(content).iter(f"{SVG}circle"):
        if told := re.match(r"(WIL-\d+): ([\d.]+) fish", mark.findtext(f"{SVG}title") or ""):
            places[told[1]] = (float(mark.get("cx", "")), float(mark.get("cy", "")), float(told[2]))
    (x1, y1, v1), (x2, y2, v2), (x3, y3, v3) = (places[code] for code in CAUGHT)
    assert x2 - x1 == pytest.approx(x3 - x2, abs=0.2), "the stations are as far apart as their kilometres"
    assert (y1 - y2) / (y1 - y3) == pytest.approx((v2 - v1) / (v3 - v1), abs=0.02)


def test_a_strip_of_years_as_a_drawing(page: Any, live_server: Any, creek: Watershed) -> None:
    box = opened(page, live_server.url + STRIP, "section")
    name, content = saved(page, box, "Drawing (SVG)")
    svg = drawn(content)
    assert name == "creek-chub-year-by-year.svg"
    circles = list(svg.iter(f"{SVG}circle"))
    assert [c.get("fill") != "none" for c in circles] == [True, True, False, False], "met twice, missed twice"
    assert "2018" in words_of(svg) and "Filled: met" in words_of(svg)
    _, numbers = saved(page, box, "The numbers (CSV)")
    row = next(csv.DictReader(io.StringIO(numbers.decode())))
    assert row["Visits met in"] == "6" and row["Of visits made"] == "12"


def test_a_picture_goes_on_paper_alone_and_sharp(page: Any, live_server: Any, creek: Watershed) -> None:
    page.add_init_script("window.print = () => { window.printed = true; }")
    box = opened(page, live_server.url + PROFILE, "#profile")
    box.get_by_role("button", name="On paper, or as PDF").click()
    page.wait_for_function("window.printed")
    page.emulate_media(media="print")
    made = page.pdf(format="Letter")
    assert len(re.findall(rb"/Type\s*/Page\b", made)) == 1
    assert b"/Subtype /Image" not in made and b"/Font" in made


# In one go, for a chart that is drawn meanwhile brings a part of its own that folds.
PRINTED = """() => {
  const open = () => [...document.querySelectorAll("details")].map((one) => one.open);
  const before = open();
  dispatchEvent(new Event("beforeprint"));
  const onPaper = open();
  dispatchEvent(new Event("afterprint"));
  return [before, onPaper, open()];
}"""


def test_what_is_folded_away_stands_open_on_paper_and_is_folded_again(
    page: Any, live_server: Any, creek: Watershed
) -> None:
    """Some browsers leave closed parts out of a print, whatever the style sheet says."""
    opened(page, live_server.url + PROFILE, "#profile")
    before, on_paper, after = page.evaluate(PRINTED)
    assert all(on_paper) and not all(before)
    assert after == before


def test_the_link_leads_back_to_the_picture_and_can_be_copied(
    page: Any, live_server: Any, creek: Watershed
) -> None:
    page.context.grant_permissions(["clipboard-read", "clipboard-write"], origin=live_server.url)
    box = opened(page, live_server.url + PROFILE, "#profile")
    link = box.get_by_role("link", name="Link that opens this chart again").get_attribute("href")
    assert link.endswith("?measure=total_catch#profile")
    box.get_by_role("button", name="Copy the link").click()
    box.get_by_text("The link is copied.").wait_for()
    assert page.evaluate("navigator.clipboard.readText()") == link


def test_ways_of_saving_are_said_in_the_language_of_the_page(
    page: Any, live_server: Any, creek: Watershed
) -> None:
    page.goto(f"{live_server.url}/es{PROFILE}")
    page.wait_for_selector("rill-chart .save-chart", state="attached")
    said = page.locator(".save-chart summary").all_inner_texts()
    assert said[0] == "Guardar o compartir esta gráfica" and "Guardar o compartir esta imagen" in said
    page.locator(".save-chart summary").first.click()
    buttons = page.locator(".save-chart").first.get_by_role("button").all_inner_texts()
    assert "Los números (CSV)" in buttons and not [b for b in buttons if "Picture" in b or "Copy" in b]


# Every picture of the page on its slide: its name, the ways of saving it, the smallest words as they are
# shown on a slide 576 px wide.
ON_SLIDES = """() => [...document.querySelectorAll("rill-save")].map((one) => {
  const frame = { width: 576, height: 324, paper: "#fff" };
  const sheet = one.sheet(frame);
  const drawn = new DOMParser().parseFromString(sheet.text, "image/svg+xml").documentElement;
  const sizes = [...drawn.querySelectorAll("text")].map((text) => {
    const inner = text.closest("svg");
    const scale = inner === drawn ? 1 : Number(inner.getAttribute("width")) / inner.viewBox.baseVal.width;
    return Number.parseFloat(text.getAttribute("font-size")) * scale;
  });
  return { name: one.dataset.name, offered: one.textContent.includes("16:9"), smallest: Math.min(...sizes) };
})"""


@pytest.mark.parametrize("address", [PROFILE, STRIP, "/compare/?measure=total_catch"])
def test_every_picture_comes_as_a_slide_with_words_that_can_be_read(
    page: Any, live_server: Any, creek: Watershed, address: str
) -> None:
    """A slide is 13.33 inches wide, so 576 px of it are 1.667 points each; below 12 points nobody reads."""
    page.goto(live_server.url + address)
    page.wait_for_selector("rill-save .save-chart", state="attached")
    found = page.evaluate(ON_SLIDES)
    assert found
    for one in found:
        assert one["offered"], one
        assert one["smallest"] * 13.333 * 72 / 576 >= 12, one


# Letters of the live chart that do not fit paper narrower than the screen; asked before it could be drawn anew.
OFF_THE_PAPER = """() => {
  document.body.style.width = "620px";
  const { right } = document.querySelector(".chart-live").getBoundingClientRect();
  const letters = [...document.querySelectorAll(".chart-live text")];
  const off = letters.filter((one) => one.getBoundingClientRect().right > right).map((one) => one.textContent);
  return [letters.length > 5, off];
}"""


def test_the_whole_page_is_printed_with_the_last_years_of_its_chart(
    page: Any, live_server: Any, creek: Watershed
) -> None:
    page.goto(live_server.url + PROFILE)
    page.wait_for_selector("rill-chart .save-chart", state="attached")
    page.emulate_media(media="print")
    assert page.evaluate(OFF_THE_PAPER) == [True, []]


# Letters of the server's picture that its frame cuts off.
CUT_OFF = """() => {
  const frame = document.querySelector(".chart-still").getBoundingClientRect();
  return [...document.querySelectorAll(".chart-still text")].filter((one) => {
    const box = one.getBoundingClientRect();
    return box.left < frame.left || box.right > frame.right || box.top < frame.top;
  }).map((one) => one.textContent);
}"""


def test_a_picture_of_the_server_is_whole_on_a_phone_and_keeps_its_paper_in_the_readers_own_colours(
    page: Any, live_server: Any, creek: Watershed
) -> None:
    """Where the chart library does not come, the picture stays; in forced colours its ink needs its paper."""
    page.route("**/*plotly.min*", lambda route: route.abort())
    page.set_viewport_size({"width": 390, "height": 844})
    page.emulate_media(forced_colors="active")
    page.goto(live_server.url + PROFILE)
    page.wait_for_selector(".chart-still svg")
    assert page.evaluate(CUT_OFF) == []
    grounds = "[...document.querySelectorAll('main svg')].map((one) => getComputedStyle(one).backgroundColor)"
    assert set(page.evaluate(grounds)) == {"rgb(251, 250, 246)"}
    # Only the page that is open has a rule of the text's colour below its name.
    rules = "[...document.querySelectorAll('.nav a')].map((one) => getComputedStyle(one).borderBottomColor)"
    assert set(page.evaluate(rules)) == {page.evaluate("getComputedStyle(document.body).backgroundColor")}
