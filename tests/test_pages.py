"""Every page, as every role and as nobody: who gets in, who is sent to sign in, who is refused."""

import re
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import get_resolver, reverse

from surveys.access import ROLES
from tests.factories import make_station, make_visit
from trends.models import LandUseNote
from trends.recompute import mark_all, recompute_marked

pytestmark = pytest.mark.django_db

EVERYBODY = {"", *ROLES}
ENTERS = {"biologist", "administrator"}
REVIEWS = {"reviewer", "administrator"}
WRITES_NOTES = {"planner", "administrator"}

# Address -> who may open it. Names in braces are filled in from the creek below.
PAGES: dict[str, set[str]] = {
    "/": EVERYBODY,
    "/watersheds/willow-run/": EVERYBODY,
    "/stations/": EVERYBODY,
    "/stations/WIL-01/": EVERYBODY,
    "/stations/WIL-01/result/": EVERYBODY,
    "/watersheds/willow-run/result/": EVERYBODY,
    "/visits/{accepted}/": EVERYBODY,
    "/compare/": EVERYBODY,
    "/species/": EVERYBODY,
    "/species/semotilus-atromaculatus/": EVERYBODY,
    "/methods/": EVERYBODY,
    "/methods/maryland_fish_2005/": EVERYBODY,
    "/brief/willow-run/": EVERYBODY,
    "/handout/willow-run/": EVERYBODY,
    "/es/": EVERYBODY,
    "/es/watersheds/willow-run/": EVERYBODY,
    "/es/stations/WIL-01/": EVERYBODY,
    "/es/visits/{accepted}/": EVERYBODY,
    "/es/brief/willow-run/": EVERYBODY,
    "/es/notes/{note}/effect/": EVERYBODY,
    "/account/login/": {""},
    "/data/": EVERYBODY,
    "/data/visits.csv": EVERYBODY,
    "/data/trends.csv": EVERYBODY,
    "/data/archive.zip": EVERYBODY,
    "/data/package.zip": EVERYBODY,
    "/data/tokens/": set(ROLES),
    "/api/v1/": EVERYBODY,
    "/api/v1/openapi.json": EVERYBODY,
    "/healthz": EVERYBODY,
    "/upload/season-file.json": EVERYBODY,
    "/upload/season-file-example.csv": EVERYBODY,
    "/entry/": ENTERS,
    "/upload/": ENTERS | REVIEWS,
    "/upload/map/": ENTERS,
    "/season/": ENTERS | REVIEWS,
    "/season/2021/": ENTERS | REVIEWS,
    "/season/checks/": ENTERS | REVIEWS,
    "/season/checks/unusual_value.ph/": {"administrator"},
    "/season/2021/close/": ENTERS | REVIEWS,
    "/season/2021/season.csv": ENTERS | REVIEWS,
    "/season/2021/permit-report/": ENTERS | REVIEWS,
    "/season/2021/permit-report.csv": ENTERS | REVIEWS,
    "/season/2021/plan/": ENTERS,
    "/season/2021/not-sampled/": ENTERS,
    "/season/permits/": ENTERS,
    "/season/crew/": ENTERS,
    "/season/gear/": ENTERS | REVIEWS,
    "/stations/WIL-01/field-sheet/": ENTERS | REVIEWS,
    "/stations/WIL-01/layout/": ENTERS | REVIEWS,
    "/stations/WIL-01/layout/0/": ENTERS,
    "/visits/{accepted}/history/": ENTERS | REVIEWS,
    "/visits/{accepted}/vouchers/": ENTERS | REVIEWS,
    "/review/": REVIEWS,
    "/notes/": WRITES_NOTES,
    "/watersheds/willow-run/notes/new/": WRITES_NOTES,
    "/notes/{note}/edit/": WRITES_NOTES,
    "/notes/{note}/withdraw/": WRITES_NOTES,
    "/admin/": {"administrator"},
}


@pytest.fixture
def creek() -> dict[str, int]:
    station = make_station("WIL-01", river_km=2.0, latitude=39.1, longitude=-40.2)
    for year in range(2015, 2022):
        accepted = make_visit(station, f"{year}-07-10", mean_width_m=4)
    make_visit(station, "2022-07-10", status="submitted")
    note = LandUseNote.objects.create(
        watershed=station.watershed, category="trail", starts_on="2018-05-01", title="A path"
    )
    mark_all()
    recompute_marked()
    return {"accepted": accepted.pk, "note": note.pk}


@pytest.mark.parametrize("role", sorted(EVERYBODY), ids=lambda role: role or "nobody")
def test_each_page_opens_for_whom_it_should(
    creek: dict[str, int], signed_in: Callable[[str], Client], role: str
) -> None:
    client = signed_in(role)
    wrong = []
    for address, may in PAGES.items():
        answer = client.get(address.format(**creek))
        if role in may:
            right = answer.status_code == 200
        elif not role:
            right = answer.status_code == 302 and "login" in answer.url  # type: ignore[attr-defined]
        else:
            right = answer.status_code in (302, 403)
        if not right:
            wrong.append(f"{address} as {role or 'nobody'}: {answer.status_code}")
    assert wrong == []


def test_who_was_signed_out_meanwhile_is_told_so_and_comes_back_to_the_page_with_the_form(
    creek: dict[str, int], signed_in: Callable[[str], Client]
) -> None:
    """An address that only takes forms would answer with an error after the sign-in."""
    nobody = signed_in("")
    came_from = {"Referer": "http://testserver/upload/?page=2"}
    answer = nobody.post(
        reverse("surveys:resubmit", args=[creek["accepted"]]), headers=came_from, follow=True
    )
    assert answer.redirect_chain == [("/account/login/?next=/upload/%3Fpage%3D2", 302)]
    assert "You were signed out meanwhile, and nothing was stored." in answer.content.decode()
    # Never to another site, and a page that is only opened says nothing.
    for odd in ("http://elsewhere.example/x/", "http://["):
        elsewhere = nobody.post("/entry/", headers={"Referer": odd})
        assert elsewhere.url == "/account/login/?next=/entry/"  # type: ignore[attr-defined]
    assert "signed out meanwhile" not in signed_in("").get("/entry/", follow=True).content.decode()


def test_a_visit_that_is_not_accepted_does_not_exist_for_the_public(
    creek: dict[str, int], signed_in: Callable[[str], Client]
) -> None:
    from surveys.models import Visit

    waiting = Visit.objects.get(status="submitted").pk
    assert signed_in("").get(f"/visits/{waiting}/").status_code == 404
    assert signed_in("planner").get(f"/visits/{waiting}/").status_code == 404
    assert signed_in("reviewer").get(f"/visits/{waiting}/").status_code == 200
    for address in (
        "/",
        "/watersheds/willow-run/",
        "/watersheds/willow-run/result/?measure=total_catch",
        "/stations/WIL-01/",
        "/stations/WIL-01/result/?measure=total_catch",
        "/species/semotilus-atromaculatus/",
        "/brief/willow-run/",
        "/handout/willow-run/",
    ):
        page = signed_in("").get(address).content.decode()
        # The axis ends a little beyond 2021, at 2022.6; a year would stand alone.
        assert re.findall(r"2022(?!\.)", page) == [], f"{address} hints at a visit that is not accepted"
        assert "C33" not in page and "accepted it" not in page, (
            f"{address} counts a visit that is not accepted"
        )


@pytest.mark.parametrize(
    "address",
    [
        "/watersheds/none/",
        "/stations/NONE/",
        "/stations/A%00B/",
        "/stations/A%00B.json",
        "/stations/A%00B/result/",
        "/visits/999999/",
        "/species/none/",
        "/methods/none/",
        "/nothing/",
    ],
)
def test_what_is_not_there_is_a_plain_404(signed_in: Callable[[str], Client], address: str) -> None:
    answer = signed_in("").get(address)
    assert answer.status_code == 404
    assert "Traceback" not in answer.content.decode()


@pytest.mark.parametrize(
    "address", ["/", "/watersheds/willow-run/", "/stations/", "/compare/", "/species/", "/methods/"]
)
def test_an_empty_house_says_what_would_fill_it(signed_in: Callable[[str], Client], address: str) -> None:
    answer = signed_in("").get(address)
    assert answer.status_code in (200, 404)


@pytest.mark.parametrize("address", ["/", "/stations/", "/compare/", "/visits/{accepted}/"])
def test_reading_pages_take_no_post(
    creek: dict[str, int], signed_in: Callable[[str], Client], address: str
) -> None:
    assert signed_in("").post(address.format(**creek)).status_code == 405


def test_no_page_sends_anything_to_another_site(
    creek: dict[str, int], signed_in: Callable[[str], Client]
) -> None:
    client = signed_in("")
    for address in (a for a, may in PAGES.items() if may == EVERYBODY):
        page = client.get(address.format(**creek))
        if "html" not in page.headers["Content-Type"]:
            continue
        foreign = re.findall(r"(?:src|href)=\"(?:https?:)?//[^\"]+\"", page.content.decode())
        loaded = [f for f in foreign if f.startswith("src")]
        assert loaded == [], address


def test_safety_headers_are_sent(creek: dict[str, int], signed_in: Callable[[str], Client]) -> None:
    """OWASP ASVS 5.0, items 3.4.1 to 3.4.8."""
    headers = signed_in("").get("/").headers
    assert "default-src 'none'" in headers["Content-Security-Policy"]
    assert "unsafe" not in headers["Content-Security-Policy"]
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["Referrer-Policy"] == "same-origin"
    assert headers["Cross-Origin-Opener-Policy"] == "same-origin"


def test_every_address_is_listed_above() -> None:
    """A new page must say who may open it."""
    listed = {address.split("{")[0] for address in PAGES}
    named = {
        str(pattern.pattern)
        for app in get_resolver().url_patterns
        for pattern in getattr(app, "url_patterns", [app])
        if not str(getattr(app, "pattern", "")).startswith("admin")
    }
    plain = {f"/{p}" for p in named if "<" not in p and not p.startswith(("account/", "entry/", "api/"))}
    assert plain - {"/"} <= listed | ELSEWHERE


# Tested beside their own code: data files, machine addresses, parts of the tally.
ELSEWHERE = {"/creeks.json", "/creeks.csv"}
