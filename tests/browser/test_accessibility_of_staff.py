# ruff: noqa: F401, F811 - fixtures of the other file are asked for by name
"""Every page of each role in two widths, as those of the public; and no page of the site is forgotten."""

import re
from collections.abc import Callable
from importlib import import_module
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from django.urls import resolve

from surveys.models import Upload
from tests.browser.test_accessibility import EVERYBODY, WHERE, page, records, walk

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

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


def sign_in(page: Any, address: str, user: Any) -> None:
    client = Client()
    client.force_login(user)
    cookie = client.cookies[settings.SESSION_COOKIE_NAME]
    page.context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": address}])


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


@pytest.mark.parametrize("role", list(ROLES))
def test_the_pages_of_each_role(
    page: Any, live_server: Any, records: dict[str, int], upload: int, person: Callable[[str], Any], role: str
) -> None:
    sign_in(page, live_server.url, person(role))
    wrong = walk(page, live_server.url, ROLES[role], {**records, "upload": upload})
    assert not wrong, wrong
