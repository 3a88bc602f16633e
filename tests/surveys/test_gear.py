"""Visits are found by the meter or the unit that was used, between two days, in one step."""

import datetime
from typing import Any

import pytest

from surveys.gear import gear_on_record, visits_with
from surveys.models import VisitStatus
from tests.factories import make_station, make_visit

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _visits() -> None:
    for code, day, meters, unit, status in (
        ("WIL-01", "2023-07-01", "M7, pH-2", "B-12", VisitStatus.ACCEPTED),
        ("WIL-01", "2024-07-01", "m7", "B-14", VisitStatus.ACCEPTED),
        ("WIL-02", "2024-07-20", "M8; M7", "B-14", VisitStatus.DRAFT),
        ("WIL-02", "2023-07-20", "M7", "B-12", VisitStatus.WITHDRAWN),
        ("WIL-03", "2024-07-21", "", "", VisitStatus.ACCEPTED),
    ):
        visit = make_visit(make_station(code), day, meters=meters, status=status)
        visit.passes.update(gear_unit=unit)


def _found(*asked: Any) -> list[str]:
    return [str(one) for one in visits_with(*asked)]


def test_a_meter_is_found_however_it_was_written_and_withdrawn_visits_are_not() -> None:
    assert _found("m7") == ["WIL-01 on 2023-07-01", "WIL-01 on 2024-07-01", "WIL-02 on 2024-07-20"]


def test_both_days_are_included() -> None:
    day = datetime.date(2024, 7, 1)
    assert _found("M7", day, day) == ["WIL-01 on 2024-07-01"]
    assert _found("M7", day + datetime.timedelta(days=1)) == ["WIL-02 on 2024-07-20"]
    assert _found("M7", None, day - datetime.timedelta(days=1)) == ["WIL-01 on 2023-07-01"]


def test_a_unit_of_several_passes_gives_its_visit_once() -> None:
    assert _found("B-14") == ["WIL-01 on 2024-07-01", "WIL-02 on 2024-07-20"]


def test_a_name_of_the_list_gives_as_many_visits_as_the_list_says_and_none_of_a_longer_name() -> None:
    make_visit(make_station("WIL-04"), "2024-07-22", meters="M71; M7x")
    for one in gear_on_record():
        assert visits_with(one.name, whole=True).count() == one.visits, one
    assert "WIL-04 on 2024-07-22" in _found("M7")  # a part of a name is still enough where one wants that


def test_what_is_on_record_stands_with_its_days() -> None:
    lines = {(one.name, one.kind): (one.visits, str(one.first), str(one.last)) for one in gear_on_record()}
    assert lines[("M7", "meter")] == (2, "2023-07-01", "2024-07-20")
    assert lines[("B-14", "unit")] == (2, "2024-07-01", "2024-07-20")
    assert ("pH-2", "meter") in lines


def test_the_page_answers_and_says_when_the_days_are_turned_round(signed_in: Any) -> None:
    client = signed_in("biologist")
    page = client.get("/season/gear/?gear=M7&first=2024-01-01").content.decode()
    assert "“M7” was used at 2 visits, from 2024-07-01 to 2024-07-20" in page
    assert (
        "No visit on record names “M9” in these days" in client.get("/season/gear/?gear=M9").content.decode()
    )
    only = client.get("/season/gear/?gear=M&whole=on").content.decode()
    assert "No visit on record names “M” in these days" in only
    answer = client.get("/season/gear/?gear=M7&first=2024-01-01&last=2023-01-01")
    assert answer.status_code == 422
    assert "The last day is before the first." in answer.content.decode()
