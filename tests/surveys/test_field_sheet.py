"""The field sheet: what stands on it, and that it prints on one side of either paper."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.conf import settings
from django.test import Client

from surveys.entry.cautions import FOR_FISH, FOR_PEOPLE, STANDING_LINE
from surveys.field_sheet import CallingRow
from surveys.models import PlannedVisit, SafetyCheck, Taxon
from tests.factories import make_method, make_station, make_visit

SignIn = Callable[[str], Client]


@pytest.fixture
def creek(db: None) -> Any:
    station = make_station("WIL-01", method=make_method(planned_passes=3), name="Below the footbridge")
    make_visit(station, "2023-07-16", passes=[{"Creek Chub": 12, "Bluegill": 1}, {"Creek Chub": 5}])
    make_visit(station, "2024-07-16", passes=[{"Creek Chub": 9}, {"Creek Chub": 4}])
    return station


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("role", "status"),
    [("", 302), ("planner", 403), ("outreach", 403), ("biologist", 200), ("reviewer", 200)],
)
def test_who_may_print_a_sheet(signed_in: SignIn, creek: Any, role: str, status: int) -> None:
    assert signed_in(role).get("/stations/WIL-01/field-sheet/").status_code == status


@pytest.mark.django_db
def test_no_sheet_for_an_unknown_station(signed_in: SignIn) -> None:
    assert signed_in("biologist").get("/stations/NO-1/field-sheet/").status_code == 404


def test_species_stand_in_calling_order_with_last_times_numbers(signed_in: SignIn, creek: Any) -> None:
    sheet = signed_in("biologist").get("/stations/WIL-01/field-sheet/").context["sheet"]
    assert [(row.taxon.common_name, row.met, row.last) for row in sheet.rows] == [
        ("Creek Chub", "2/2", "9 + 4"),
        ("Bluegill", "1/2", "none"),
    ]
    assert (list(sheet.passes), sheet.last_total) == ([1, 2, 3], 13)


def test_numbers_of_many_passes_stand_closely_and_may_go_on_below() -> None:
    row = CallingRow(taxon=Taxon(), met="2/2", last="112 + 40 + 18")
    assert row.close.split("\u200b") == ["112+", "40+", "18"]
    assert CallingRow(taxon=Taxon(), met="2/2", last="112 + 40").close == ""


def test_the_cautions_and_the_standing_line_are_on_the_sheet(signed_in: SignIn, creek: Any) -> None:
    shown = signed_in("biologist").get("/stations/WIL-01/field-sheet/").content.decode()
    assert STANDING_LINE in shown
    for one in (*FOR_PEOPLE, *FOR_FISH):
        assert one.words in shown and one.source in shown


def test_there_is_a_box_for_what_the_record_of_a_visit_holds(signed_in: SignIn, creek: Any) -> None:
    """Checks before the current, clock and gear of each pass, weights, fates, vouchers; no setting is filled in."""
    shown = signed_in("biologist").get("/stations/WIL-01/field-sheet/").content.decode()
    for one in SafetyCheck:
        assert str(one.label) in shown
    for words in (
        "DC / pulsed / AC",
        "volts, V: first / last",
        "g / tare",
        "r / d / k",
        "eel well",
        "Voucher no.",
    ):
        assert words in shown
    assert shown.count('<tr><th scope="row">3</th>' + "<td></td>" * 10) == 1


def test_the_plan_of_the_coming_visit_is_on_the_sheet(signed_in: SignIn, creek: Any) -> None:
    PlannedVisit.objects.create(station=creek, year=2199, planned_on="2199-07-01", crew="K. L.")
    shown = signed_in("biologist").get("/stations/WIL-01/field-sheet/").content.decode()
    assert "Planned: 2199-07-01, K. L." in shown


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(("paper", "width", "height"), [("a4", 210.0, 297.0), ("letter", 215.9, 279.4)])
def test_the_sheet_fits_one_side(
    page: Any, live_server: Any, signed_in: SignIn, paper: str, width: float, height: float
) -> None:
    """Sizes in mm: ISO 216 A4, ANSI Letter (8.5 by 11 inches)."""
    station = make_station("WIL-01", method=make_method(planned_passes=3), name="Below the footbridge")
    names = [f"Notropis longinomen {letter}" for letter in "abcdefghijklmnopqrstuvwxyz"]
    make_visit(station, "2024-07-16", passes=[dict.fromkeys(names, 100)] * 3)
    cookie = signed_in("biologist").cookies[settings.SESSION_COOKIE_NAME]
    page.context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
    page.goto(f"{live_server.url}/stations/WIL-01/field-sheet/?paper={paper}")
    printed = page.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1
    found = re.search(rb"/MediaBox\s*\[0 0 ([0-9.]+) ([0-9.]+)\]", printed)
    assert found is not None
    assert [float(side) / 72 * 25.4 for side in found.groups()] == pytest.approx([width, height], abs=0.3)
