"""Every page, for everybody and for each role, in two widths: axe-core finds nothing, nothing scrolls sideways.

Yardstick: WCAG 2.2 level AA, by the rules of axe-core, its advice on good practice included. Automatic
checks find only part; keyboard and reading aloud are walked through elsewhere.
"""

import datetime
import re
from collections.abc import Callable, Iterator
from importlib import import_module
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.test import Client
from django.urls import resolve

from surveys.models import Catch, Taxon, Upload
from tests.factories import make_method, make_station, make_taxon, make_visit
from trends.models import LandCover, LandUseNote
from trends.recompute import mark_all, recompute_marked

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

WIDTHS = (1280, 390)
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
ROLES = {
    "biologist": (
        "/data/tokens/",
        "/",
        f"{WHERE}/",
        "/entry/",
        "/entry/{draft}/",
        "/entry/tally/",
        "/upload/",
        "/upload/{upload}/",
        "/upload/{upload}/answers/",
        "/season/",
        "/season/2024/",
        "/season/checks/",
        "/season/2024/plan/",
        "/season/2024/not-sampled/",
        "/season/2024/close/",
        "/season/2024/permit-report/",
        "/season/permits/",
        "/season/crew/",
        "/season/gear/?gear=x",
        "/stations/WIL-01/field-sheet/",
        "/stations/WIL-01/layout/",
        "/stations/WIL-01/layout/0/",
        "/upload/map/",
        "/account/password/change/",
        "/account/logout/",
    ),
    "reviewer": (
        "/review/",
        "/visits/{accepted}/vouchers/",
        "/review/{submitted}/",
        "/visits/{submitted}/",
        "/visits/{accepted}/history/",
        "/upload/",
    ),
    "planner": (
        "/notes/",
        f"{WHERE}/notes/new/",
        "/notes/{note}/edit/",
        "/notes/{note}/withdraw/",
        f"{WHERE}/",
        "/brief/willow-run/",
    ),
    "outreach": ("/handout/willow-run/", "/handout/willow-run/edit/", "/stations/WIL-01/"),
    "administrator": (
        "/",
        "/review/",
        "/visits/{accepted}/",
        "/methods/",
        "/method-desk/",
        "/stations/WIL-01/layout/",
        "/season/checks/unusual_weight/",
        "/method-desk/strata/",
        "/method-desk/checks/maryland_fish_2005/",
        "/trait-lists/",
        "/trait-lists/county/",
        "/species/semotilus-atromaculatus/traits/",
        "/species/semotilus-atromaculatus/merge/",
        "/species/semotilus-atromaculatus/split/",
        "/admin/",
        "/admin/surveys/station/",
        "/admin/surveys/station/add/",
        "/admin/trends/landusenote/add/",
        "/admin/auth/user/",
    ),
}
# Files, data and addresses for programs or for the push of a button: nothing that a person looks at.
NOT_PAGES = {
    "creeks_data", "watershed_data", "station_data", "visit_data", "species_data", "handout_pack", "method_file",
    "api_openapi", "api_list", "api_detail", "entry_worker", "entry_manifest", "entry_lists", "entry_sync",
    "entry_check", "near_names", "upload_names", "open_data_file", "token_revoke",
    "season_schema", "season_example", "season_export", "permit_report_file", "season_plan_like", "upload_remarks",
    "upload_file", "entry_voucher", "voucher_photo", "voucher_confirm", "voucher_correct", "voucher_remove",
    "mapping_original", "resubmit", "brief_pdf", "brief_issue", "brief_issued_pdf", "method_publish", "method_discard",
}  # fmt: skip
# Pages of a record that show the form walked here without one, or what the page before it shows.
LIKE_ANOTHER = {
    "season_plan": "season_plan_add",
    "season_not_sampled": "season_not_sampled_add",
    "season_permit": "season_permit_add",
    "season_crew": "season_crew_add",
    "station_version": "station_layout",
    "mapping_batch": "mapping_list",
    "mapping_file": "mapping_list",
    "brief_issued": "brief",
    "trait_list": "trait_lists",
    "method_draft": "method_desk",
    "method_draft_in_full": "method",
}


@pytest.fixture
def records(transactional_db: None, person: Callable[[str], Any]) -> dict[str, int]:
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
    biologist = person("biologist")
    draft = make_visit(station, "2024-07-12", status="draft", entered_by=biologist)
    submitted = make_visit(station, "2024-08-12", status="submitted", entered_by=biologist)
    mark_all()
    recompute_marked()
    return {"accepted": made.pk, "draft": draft.pk, "submitted": submitted.pk, "note": note.pk}


@pytest.fixture
def upload(records: dict[str, int], person: Callable[[str], Any]) -> int:
    """A file with faults, as the page of a file shows it."""
    from django.core.files.uploadedfile import SimpleUploadedFile

    client = Client()
    client.force_login(person("biologist"))
    content = (
        b"station,visit_date,pass,taxon,count\r\n"
        b"WIL-01,2025-07-01,1,Creek Chub,12\r\nWIL-O1,2025-07-01,1,Creek Chup,x\r\n"
    )
    client.post("/upload/", {"file": SimpleUploadedFile("season.csv", content, "text/csv")})
    found = Upload.objects.order_by("-pk").first()
    assert found is not None
    return found.pk


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


def sign_in(page: Any, address: str, user: Any) -> None:
    client = Client()
    client.force_login(user)
    cookie = client.cookies[settings.SESSION_COOKIE_NAME]
    page.context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": address}])


def look(page: Any, address: str) -> list[str]:
    """What is wrong with one page in the present width, everything folded out."""
    page.goto(address)
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    if page.locator("rill-chart").count():
        page.evaluate("document.querySelector('rill-chart').scrollIntoView()")
        page.wait_for_selector("rill-chart .save-chart", state="attached", timeout=20_000)
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    found = Axe().run(page).response["violations"]
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
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        for path in paths:
            told = look(page, base + path.format(**ids))
            wrong += [f"{path} at {width}: {one}" for one in told]
    return "\n".join(wrong)


def names_of(patterns: Any) -> set[str]:
    """The names of all addresses below these."""
    found = set()
    for one in patterns:
        found |= names_of(one.url_patterns) if hasattr(one, "url_patterns") else {one.name} - {None}
    return found


def test_no_page_is_forgotten() -> None:
    """Every named address of the site stands in a list of this file, or is no page to look at."""
    paths = [path for group in (EVERYBODY, *ROLES.values()) for path in group]
    # A page below /es/ is one of those without it.
    numbered = [re.sub(r"{\w+}", "1", path).split("?")[0] for path in paths if not path.startswith("/es/")]
    seen = {resolve(path).url_name for path in numbered if path != "/nothing-here/"}
    ours = names_of(import_module("trends.urls").urlpatterns) | names_of(
        import_module("surveys.urls").urlpatterns
    )
    forgotten = ours - seen - NOT_PAGES - LIKE_ANOTHER.keys()
    assert sorted(forgotten) == []
    assert set(LIKE_ANOTHER.values()) <= seen


def test_the_public_pages(page: Any, live_server: Any, records: dict[str, int]) -> None:
    wrong = walk(page, live_server.url, EVERYBODY, records)
    assert not wrong, wrong


@pytest.mark.parametrize("role", list(ROLES))
def test_the_pages_of_each_role(
    page: Any, live_server: Any, records: dict[str, int], upload: int, person: Callable[[str], Any], role: str
) -> None:
    sign_in(page, live_server.url, person(role))
    wrong = walk(page, live_server.url, ROLES[role], {**records, "upload": upload})
    assert not wrong, wrong
