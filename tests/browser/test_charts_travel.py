"""What leaves a page in a real browser: pictures, the drawing, numbers, the link, the handout on paper, the pack."""

import csv
import datetime
import io
import json
import re
import xml.etree.ElementTree as ET
import zipfile
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import pytest

from surveys.models import Catch, Taxon, Watershed
from tests.factories import make_station, make_visit
from trends import charts
from trends.chart_frames import caption, framed, frames
from trends.exports.offline_pack import write_pack
from trends.exports.sources import source_words
from trends.models import LandCover, LandUseNote
from trends.reading import cover_line, note_marks, numbered_notes, place_outcome
from trends.recompute import mark_all, recompute_marked

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PAGE = "/watersheds/willow-run/?measure=total_catch"


@pytest.fixture(scope="module")
def creek(made_to_stand: Callable[[], AbstractContextManager[None]]) -> Watershed:
    with made_to_stand():
        return _creek()


def _creek() -> Watershed:
    """Two stations over nine years, a gap, a note and two maps of hard ground; a thousand fish in one year."""
    for code in ("WIL-01", "WIL-02"):
        station = make_station(code, stratum="eastern_piedmont", catchment_km2=12, mean_width_m=4)
        for year in (2012, 2013, 2014, 2015, 2017, 2018, 2019, 2020):
            fish = {"Creek Chub": 1100 if year == 2017 else 10 + year - 2012, "Blacknose Dace": 20}
            make_visit(station, f"{year}-07-01", passes=[fish, {"Creek Chub": 4}], mean_width_m=4)
    Taxon.objects.update(benthic=False, lithophilic=False, hybrid=False)
    Catch.objects.update(biomass_g=40.0)
    watershed = station.watershed
    LandUseNote.objects.create(
        watershed=watershed, category="dam", starts_on=datetime.date(2014, 5, 4), title="Weir taken out"
    )
    LandUseNote.objects.create(
        watershed=watershed,
        category="pipe",
        starts_on=datetime.date(2018, 1, 1),
        title="Under enquiry",
        public=False,
    )
    for year, share in ((2013, 9.5), (2019, 14.0)):
        LandCover.objects.create(watershed=watershed, year=year, impervious_pct=share)
    mark_all()
    recompute_marked()
    return watershed


def opened(page: Any, address: str) -> Any:
    """The page with its first chart drawn and the ways of saving folded out."""
    page.goto(address)
    page.wait_for_selector("rill-chart .save-chart", state="attached")
    page.locator("rill-chart .save-chart summary").first.click()
    return page.locator("rill-chart .save-chart").first


def saved(page: Any, box: Any, name: str) -> tuple[str, bytes]:
    with page.expect_download() as waiting:
        box.get_by_role("button", name=name).click()
    download = waiting.value
    return download.suggested_filename, Path(download.path()).read_bytes()


@pytest.mark.parametrize(
    ("button", "ending", "size"),
    [
        ("Picture for a screen (PNG)", "-screen.png", (2200, None)),
        ("Picture for a slide, 16:9 (PNG)", "-slide.png", (1920, 1080)),
        ("Picture for print (PNG)", "-print.png", (1950, None)),
    ],
)
def test_pictures_have_their_size(
    page: Any, live_server: Any, creek: Watershed, button: str, ending: str, size: tuple[int, int | None]
) -> None:
    name, content = saved(page, opened(page, live_server.url + PAGE), button)
    assert name.endswith(ending) and content.startswith(b"\x89PNG")
    width, height = (int.from_bytes(content[i : i + 4], "big") for i in (16, 20))
    assert width == size[0] and height == (size[1] or height)


def test_the_drawing_carries_title_and_caption(page: Any, live_server: Any, creek: Watershed) -> None:
    name, content = saved(page, opened(page, live_server.url + PAGE), "Drawing (SVG)")
    svg = content.decode()
    assert name.endswith(".svg") and svg.startswith("<svg")
    text = re.sub(r"<[^>]+>", " ", svg)
    assert "Willow Run" in text and "Sampled by:" in text and "CC BY 4.0" in text and "Drawn on" in text
    assert "1 Weir taken out" in text, "the numbered marks are explained"


def test_one_chart_alone_goes_on_paper_as_a_sharp_pdf(
    page: Any, live_server: Any, creek: Watershed, tmp_path: Path
) -> None:
    """The button opens the print window; Chromium prints here what that window would save as PDF."""
    page.add_init_script("window.print = () => { window.printed = true; }")
    box = opened(page, live_server.url + PAGE)
    before = page.title()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url) if request.url.startswith("http") else None)
    box.get_by_role("button", name="On paper, or as PDF").click()
    page.wait_for_function("window.printed")
    assert page.title() != before, "the file gets the name of the chart"
    page.emulate_media(media="print")
    assert page.locator("body > :visible").count() == 1
    made = page.pdf(format="Letter")
    assert asked == []
    assert len(re.findall(rb"/Type\s*/Page\b", made)) == 1
    assert b"/Subtype /Image" not in made, "lines and letters, no picture made of dots"
    assert b"/Font" in made
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    page.emulate_media(media="screen")
    assert page.title() == before and page.locator(".chart-sheet").count() == 0
    assert page.locator("main").is_visible()


def test_no_server_is_asked_for_a_picture(page: Any, live_server: Any, creek: Watershed) -> None:
    box = opened(page, live_server.url + PAGE)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url) if request.url.startswith("http") else None)
    saved(page, box, "Picture for print (PNG)")
    saved(page, box, "The numbers (CSV)")
    assert asked == []


def test_one_chart_has_the_same_numbers_everywhere(
    page: Any, live_server: Any, creek: Watershed, client: Any
) -> None:
    """The CSV of the button, the table, the live chart, the data beside the page and the interface for programs."""
    box = opened(page, live_server.url + PAGE)
    name, content = saved(page, box, "The numbers (CSV)")
    rows = list(csv.DictReader(io.StringIO(content.decode())))
    by_button = {int(r["Year"]): r["Median of stations (fish)"] for r in rows}
    assert name.endswith(".csv") and by_button[2016] == "" and by_button[2017] == "1124"

    outcome = place_outcome(creek, None, "total_catch")
    assert outcome is not None
    table = {int(r[0]): r[1].replace(",", "").replace("–", "") for r in charts.chart_table(outcome).rows}
    assert table == by_button
    known = {year: float(text) for year, text in by_button.items() if text}

    live = page.evaluate(
        "[...document.querySelector('.js-plotly-plot').data].filter((t) => t.name === 'Willow Run')[0]"
    )
    assert {x: y for x, y in zip(live["x"], live["y"], strict=True) if y is not None} == known

    beside = list(csv.DictReader(io.StringIO(client.get("/watersheds/willow-run.csv").content.decode())))
    mine = [r for r in beside if r["measure"] == "total_catch" and r["station"] == "" and r["value"]]
    assert {int(r["year"]): float(r["value"]) for r in mine} == known

    answer = client.get("/api/v1/trends", {"watershed": "willow-run", "measure": "total_catch"}).json()
    whole = next(r for r in answer["data"] if r["scope"] == "watershed")
    assert {y["year"]: y["value"] for y in whole["years"] if y["value"] is not None} == known


def drawn_lines(svg: str) -> list[dict[int, float]]:
    """The values of each line of dots in a saved drawing: places of the dots, read on the scales of its ticks.

    Nothing but the file is looked at, as by a person with a ruler.
    """
    root = ET.fromstring(svg)
    within = "{http://www.w3.org/2000/svg}"

    def of_class(tag: str, name: str, inside: ET.Element = root) -> list[ET.Element]:
        return [one for one in inside.iter(within + tag) if name in one.get("class", "").split()]

    def shift(one: ET.Element) -> list[float]:
        return [float(number) for number in re.findall(r"-?[\d.]+", one.get("transform", ""))[:2]]

    def scale(side: int) -> tuple[float, float]:
        name = "xy"[side] + "tick"
        places = [shift(tick)[side] for tick in of_class("path", name)]
        words = [
            "".join(one.itertext()) for tick in of_class("g", name) for one in tick.iter(within + "text")
        ]
        numbers = [float(word.replace(",", "")) for word in words]
        assert len(places) == len(numbers) > 2
        per_dot = (numbers[-1] - numbers[0]) / (places[-1] - places[0])
        return numbers[0] - per_dot * places[0], per_dot

    layers = of_class("g", "scatterlayer")
    (plot,) = [one for one in of_class("g", "xy") if any(part in layers for part in one)]
    left, top = shift(plot)
    (x0, dx), (y0, dy) = scale(0), scale(1)
    return [
        {
            round(x0 + dx * (left + x)): y0 + dy * (top + y)
            for x, y in (shift(dot) for dot in of_class("path", "point", line))
        }
        for line in of_class("g", "trace", plot)
    ]


def test_a_ruler_on_the_saved_drawing_reads_the_numbers_of_the_table(
    page: Any, live_server: Any, creek: Watershed
) -> None:
    """The drawing, the numbers saved beside it, the table and the interface for programs say one thing."""
    box = opened(page, live_server.url + PAGE)
    _, numbers = saved(page, box, "The numbers (CSV)")
    rows = list(csv.DictReader(io.StringIO(numbers.decode())))
    known = {
        int(r["Year"]): float(r["Median of stations (fish)"]) for r in rows if r["Median of stations (fish)"]
    }
    assert known[2017] == 1124 and 2016 not in known

    _, drawing = saved(page, box, "Drawing (SVG)")
    lines = [line for line in drawn_lines(drawing.decode()) if line]
    # Places in the drawing are rounded to a hundredth of its unit, which here is a fiftieth of a fish.
    assert len(lines) == 2, "the stations, which caught alike in this creek, and the median of them"
    assert lines == [pytest.approx(known, abs=0.05)] * 2


def test_the_link_opens_the_same_chart_again(page: Any, live_server: Any, creek: Watershed) -> None:
    box = opened(page, f"{live_server.url}/watersheds/willow-run/?measure=richness")
    title = page.locator(".chart-title").first.inner_text()
    link = box.get_by_role("link", name="Link that opens this chart again").get_attribute("href")
    assert link.endswith("/watersheds/willow-run/?measure=richness#trajectory")
    page.goto("about:blank")
    page.goto(link)
    assert page.locator(".chart-title").first.inner_text() == title


def test_saving_works_by_keyboard_and_says_what_happened(
    page: Any, live_server: Any, creek: Watershed
) -> None:
    page.goto(live_server.url + PAGE)
    page.wait_for_selector("rill-chart .save-chart", state="attached")
    page.focus("rill-chart .save-chart summary")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent").startswith("Picture for a screen")
    with page.expect_download():
        page.keyboard.press("Enter")
    page.wait_for_selector("rill-chart [role=status]:has-text('The picture is saved.')")


@pytest.mark.parametrize("size", ["screen", "slide", "print"])
def test_browser_and_server_put_the_same_frame_on_a_figure(
    page: Any, live_server: Any, creek: Watershed, size: str
) -> None:
    outcome = place_outcome(creek, None, "total_catch")
    assert outcome is not None
    notes = note_marks(numbered_notes(creek, staff=False))
    figure = charts.trajectory(outcome, notes=notes, cover=cover_line(creek))
    frame = frames(figure, caption(figure, source_words(), datetime.date(2024, 11, 5)))[size]
    page.goto(live_server.url + PAGE)
    made = page.evaluate(
        """async ([figure, frame]) => {
            const { framed } = await import("/static/js/chart-frames.js");
            return framed(figure, frame);
        }""",
        json.loads(json.dumps([figure, frame])),
    )
    assert made == json.loads(json.dumps(framed(figure, frame)))


def test_a_figure_of_many_rows_shows_its_first_on_a_slide_in_browser_and_files_alike(
    page: Any, live_server: Any, creek: Watershed
) -> None:
    kinds = [(f"Genus species{i:02d}", "", [40 - i, None, 0 if i % 3 else 7]) for i in range(29)]
    figure = charts.species_by_year(kinds, [2019, 2020, 2021])
    frame = frames(figure, "Words.")["slide"]
    assert frame["subtitle"].startswith("The 12 kinds caught in most years, of 29.")
    page.goto(live_server.url + PAGE)
    made = page.evaluate(
        """async ([figure, frame]) => {
            const { framed } = await import("/static/js/chart-frames.js");
            return framed(figure, frame);
        }""",
        json.loads(json.dumps([figure, frame])),
    )
    here = framed(figure, frame)
    assert made == json.loads(json.dumps(here))
    assert len(here["layout"]["yaxis"]["ticktext"]) == 12
    caught = next(part for part in here["data"] if part["name"] == "caught")
    assert max(caught["y"]) == 11
    assert len(caught["marker"]["size"]) == len(caught["x"]) == len(caught["text"])
    # A figure of few rows is shown whole.
    few = charts.species_by_year(kinds[:9], [2019, 2020, 2021])
    assert frames(few, "Words.")["slide"]["rows"] == 0


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_the_handout_prints_on_one_side(page: Any, live_server: Any, creek: Watershed, paper: str) -> None:
    page.goto(f"{live_server.url}/handout/willow-run/")
    printed = page.pdf(format=paper, prefer_css_page_size=False)
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1


def test_the_pack_opens_from_a_folder_without_a_network(page: Any, creek: Watershed, tmp_path: Path) -> None:
    write_pack(tmp_path / "pack.zip", creek)
    with zipfile.ZipFile(tmp_path / "pack.zip") as archive:
        archive.extractall(tmp_path / "stick")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto((tmp_path / "stick" / "index.html").as_uri())
    assert "Fish health in Willow Run" in page.inner_text("h1")
    assert page.locator("svg .dot").count() > 0
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(251, 250, 246)"
    page.get_by_role("link", name="Charts", exact=True).click()
    assert page.locator("figure.chart").count() >= 5
    page.get_by_role("link", name="Stations", exact=True).click()
    assert "WIL-01" in page.inner_text("main")
    assert all(url.startswith("file://") for url in asked) and len(asked) == 3


def test_each_chart_of_the_pack_comes_as_a_picture_and_as_numbers(
    page: Any, creek: Watershed, tmp_path: Path
) -> None:
    """What the page draws, what the picture draws and what the file counts are the same years."""
    write_pack(tmp_path / "pack.zip", creek)
    with zipfile.ZipFile(tmp_path / "pack.zip") as archive:
        archive.extractall(tmp_path / "stick")
    page.goto((tmp_path / "stick" / "charts.html").as_uri())
    figures = page.locator("main section").all()
    linked = [
        (
            figure.locator("svg .dot").count(),
            [link.get_attribute("href") for link in figure.locator("a[download]").all()],
        )
        for figure in figures
        if figure.locator("figure.chart").count()
    ]
    assert linked
    for dots, (picture, numbers) in linked:
        content = (tmp_path / "stick" / numbers).read_text(encoding="utf-8")
        rows = list(csv.DictReader(io.StringIO(content)))
        assert len([row for row in rows if row["value"] and not row["station"]]) == dots
        page.goto((tmp_path / "stick" / picture).as_uri())
        assert page.locator("svg .dot").count() == dots
        assert page.locator("svg > title").text_content() and page.locator("svg .caption").count()
        wide = page.evaluate(
            "Math.max(...[...document.querySelectorAll('text')].map(one => one.getBoundingClientRect().right))"
        )
        assert wide <= 1280


def test_the_pack_is_for_staff_and_holds_public_data_alone(
    creek: Watershed, signed_in: Callable[[str], Any]
) -> None:
    assert signed_in("").get("/handout/willow-run/pack.zip").status_code == 302
    response = signed_in("outreach").get("/handout/willow-run/pack.zip")
    with zipfile.ZipFile(io.BytesIO(response.content)) as archive:
        texts = {name: archive.read(name).decode() for name in archive.namelist()}
    pages = {"index.html", "charts.html", "stations.html"}
    assert set(texts) >= {*pages, "data/years.csv", "data/years.schema.json", "README.txt"}
    # Each chart as a picture, beside its numbers.
    pictures = {Path(name).stem for name in texts if name.startswith("pictures/")}
    assert pictures == {Path(name).stem for name in texts if name.startswith("data/")} - {
        "years",
        "years.schema",
    }
    assert "Under enquiry" not in "".join(texts.values())
    for name in ("index.html", "charts.html", "stations.html"):
        assert not re.search(r"(?:src|href)=\"(?:https?:|/)", texts[name]), name
    years = list(csv.DictReader(io.StringIO(texts["data/years.csv"])))
    fields = [f["name"] for f in json.loads(texts["data/years.schema.json"])["fields"]]
    assert list(years[0]) == fields and {r["measure"] for r in years} >= {"total_catch", "richness"}
