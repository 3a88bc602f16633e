"""Every page of the public in two widths: axe-core finds nothing, nothing scrolls sideways.

Yardstick: WCAG 2.2 level AA, by the rules of axe-core, its advice on good practice included. Automatic
checks find only part; keyboard and reading aloud are walked through elsewhere.
"""

import datetime
from collections.abc import Iterator
from typing import Any

import pytest
from axe_playwright_python.base import AXE_SCRIPT

from surveys.models import Catch, Taxon
from tests.copies import MadeOnce
from tests.factories import make_method, make_station, make_taxon, make_user, make_visit
from trends.models import LandCover, LandUseNote
from trends.recompute import mark_all, recompute_marked

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# Each page is opened on a phone, then the same page is widened, as a phone is turned or a window drawn larger.
WIDTHS = (390, 1280)
WHERE = "/watersheds/willow-run"

# Named pages that a person looks at, with arguments; ids are filled in from the records.
EVERYBODY = (
    "/",
    "/stations/",
    "/stations/WIL-01/",
    "/stations/WIL-01/result/",
    f"{WHERE}/",
    f"{WHERE}/result/",
    f"{WHERE}/?measure=richness",
    "/brief/willow-run/",
    "/visits/{accepted}/",
    "/species/",
    "/species/?q=dace",
    "/species/semotilus-atromaculatus/",
    "/compare/",
    "/compare/?level=stations&measure=total_catch",
    "/methods/",
    "/methods/maryland_fish_2005/",
    "/handout/willow-run/",
    "/notes/{note}/effect/",
    "/data/",
    "/api/v1/",
    "/es/watersheds/willow-run/",
    "/es/handout/willow-run/",
    "/es/brief/willow-run/",
    "/account/login/",
    "/account/password/reset/",
    "/nothing-here/",
)


def make_records() -> dict[str, int]:
    """Two stations over eight years with a gap and a change of method, notes, cover, a draft, a file."""
    other = make_method("one-pass", planned_passes=1)
    make_taxon("Hidden Darter", scientific_name="Etheostoma sellare", sensitive_location=True, native=True)
    for number in (1, 2):
        station = make_station(
            f"WIL-0{number}",
            name=f"Above bridge {number}",
            river_km=number,
            latitude=39.1 + number / 100,
            longitude=-77.1,
            stratum="eastern_piedmont",
            catchment_km2=12,
            mean_width_m=4,
        )
        for year in (2015, 2016, 2017, 2018, 2020, 2021, 2022, 2023):
            fish = {
                "Creek Chub": 10 + 2 * (year - 2015),
                "Blacknose Dace": 30,
                "Mottled Sculpin": 2023 - year,
            }
            passes = [{k: v for k, v in fish.items() if v}, {"Creek Chub": 5, "Brook Trout": 1}]
            method = other if year == 2015 else None
            made = make_visit(station, f"{year}-07-1{number}", passes=passes, mean_width_m=4, method=method)
    # What the index needs to know beside the counts, so that its table is looked at too; invented.
    Taxon.objects.update(benthic=False, lithophilic=False, hybrid=False)
    Catch.objects.update(biomass_g=40.0)
    watershed = station.watershed
    note = LandUseNote.objects.create(
        watershed=watershed,
        category="building",
        starts_on=datetime.date(2018, 3, 1),
        date_precision="month",
        title="Forty houses at the upper bridge",
    )
    LandUseNote.objects.create(
        watershed=watershed,
        category="dam",
        starts_on=datetime.date(2021, 5, 4),
        title="Weir out",
        public=False,
    )
    for year, share in ((2016, 9.5), (2021, 14.0)):
        LandCover.objects.create(watershed=watershed, year=year, impervious_pct=share)
    biologist = make_user("biologist", "some-biologist")
    biologist.set_unusable_password()
    biologist.save()
    draft = make_visit(station, "2024-07-12", status="draft", entered_by=biologist)
    submitted = make_visit(station, "2024-08-12", status="submitted", entered_by=biologist)
    mark_all()
    recompute_marked()
    return {"accepted": made.pk, "draft": draft.pk, "submitted": submitted.pk, "note": note.pk}


@pytest.fixture
def records(transactional_db: None, made_once: MadeOnce) -> dict[str, int]:
    return made_once(make_records)


@pytest.fixture
def page(browser: Any) -> Iterator[Any]:
    """A page without the content policy: axe-core itself writes inline styles where it copies an element."""
    context = browser.new_context(viewport={"width": 1280, "height": 900}, locale="en-US", bypass_csp=True)
    problems: list[str] = []
    made = context.new_page()
    made.on("pageerror", lambda error: problems.append(f"script error: {error}"))
    yield made
    context.close()
    assert problems == []


def open_page(page: Any, address: str) -> None:
    """A page with its chart drawn and everything folded out."""
    page.set_viewport_size({"width": WIDTHS[0], "height": 900})
    page.goto(address)
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    if page.locator("rill-chart").count():
        page.evaluate("document.querySelector('rill-chart').scrollIntoView()")
        page.wait_for_selector("rill-chart .save-chart", state="attached")
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    page.evaluate(AXE_SCRIPT)


def look(page: Any) -> list[str]:
    """What is wrong with the open page in its present width."""
    found = page.evaluate("axe.run({ resultTypes: ['violations'] }).then(({ violations }) => violations)")
    told = [
        f"{one['id']}: {one['help']}: {node['target']} {node.get('failureSummary', '')[:200]}"
        for one in found
        for node in one["nodes"][:3]
    ]
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    if wide > 0:
        told.append(f"scrolls sideways by {wide} px")
    if not page.evaluate("document.documentElement.lang"):
        told.append("the language is not marked")
    return told


def walk(page: Any, base: str, paths: tuple[str, ...], ids: dict[str, int]) -> str:
    """All pages in both widths; what is wrong, a line each, empty where nothing is."""
    wrong = []
    for path in paths:
        open_page(page, base + path.format(**ids))
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 900})
            wrong += [f"{path} at {width}: {one}" for one in look(page)]
    return "\n".join(wrong)


def test_the_public_pages(page: Any, live_server: Any, records: dict[str, int]) -> None:
    wrong = walk(page, live_server.url, EVERYBODY, records)
    assert not wrong, wrong
