"""A station that is laid out anew is another thing in time: its trend stops there, unless joined."""

import datetime
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.utils.html import strip_tags

from surveys.models import Station, StationVersion
from surveys.queries import Layouts, layouts
from surveys.station_versions import drop_version, keep_version
from tests.factories import make_station, make_visit
from trends.assessments import assess
from trends.outcomes import Outcome
from trends.recompute import mark_all, recompute_marked
from trends.record import read_record

pytestmark = pytest.mark.django_db

MOVED = datetime.date(2020, 5, 1)


def visited(code: str = "WIL-01") -> Station:
    station = make_station(code)
    for year in range(2015, 2025):
        make_visit(station, f"{year}-07-16", passes=[{"Creek Chub": 10 + year - 2015}])
    return station


def version(station: Station, **fields: Any) -> StationVersion:
    made = StationVersion(station=station, valid_from=MOVED, reason="parking moved", **fields)
    keep_version(made, by=None)
    return made


def outcome(station: Station, *, whole_creek: bool = False) -> Outcome:
    mark_all()
    recompute_marked()
    return assess(read_record(station.watershed), "total_catch", None if whole_creek else station)


def spans(found: Outcome) -> list[tuple[int, int]]:
    return [(period.first_year, period.last_year) for period in found.periods]


def test_a_layout_stands_from_its_day_on() -> None:
    days = Layouts((datetime.date(2010, 5, 1), MOVED))
    keys = [days.comparable_key("two-pass", datetime.date.fromisoformat(day)) for day in
            ("2010-04-30", "2010-05-01", "2020-04-30", "2020-05-01")]  # fmt: skip
    assert keys == ["two-pass", "two-pass@2010-05-01", "two-pass@2010-05-01", "two-pass@2020-05-01"]


def test_a_new_layout_parts_the_series() -> None:
    station = visited()
    assert spans(outcome(station)) == [(2015, 2024)]
    version(station)
    found = outcome(station)
    assert spans(found) == [(2015, 2019), (2020, 2024)]
    assert found.breaks == (2020,)
    assert "laid out from 2020-05-01" in found.periods[1].method_name


def test_a_written_reason_joins_the_years() -> None:
    station = visited()
    version(station, joined_why="the same riffle, measured again from the lower mark")
    found = outcome(station)
    assert (spans(found), found.breaks) == ([(2015, 2024)], ())


def test_other_stations_of_the_creek_keep_their_line() -> None:
    station = visited()
    for code in ("WIL-02", "WIL-03"):
        visited(code)
    version(station)
    found = outcome(station, whole_creek=True)
    assert found.current is not None
    assert (found.current.first_year, found.current.last_year) == (2015, 2024)
    assert set(found.current.stations) == {"WIL-01", "WIL-02", "WIL-03"}
    # The moved station stands in the creek's line up to its move, and apart from it afterwards.
    assert [y.reason for y in found.middle][-1] == "2 of 3 stations"


def test_taking_a_layout_out_makes_the_years_one_again() -> None:
    station = visited()
    drop_version(version(station))
    assert layouts(station.watershed) == {}
    assert spans(outcome(station)) == [(2015, 2024)]


def test_the_station_follows_the_layout_in_force_and_no_future_one() -> None:
    station = visited()
    keep_version(
        StationVersion(station=station, valid_from=MOVED, reason="longer", reach_length_m=100), by=None
    )
    keep_version(
        StationVersion(
            station=station, valid_from=datetime.date(2199, 1, 1), reason="longer", reach_length_m=150
        ),
        by=None,
    )
    station.refresh_from_db()
    assert station.reach_length_m == 100
    assert station.visits.first().reach_length_m == 75  # what was fished then stays as it was


def test_how_well_a_position_is_known_goes_with_the_position() -> None:
    station = make_station("WIL-01", latitude=39.1, longitude=-77.2, position_uncertainty_m=30)
    Station.objects.filter(pk=station.pk).update(position_uncertainty_m=12)

    def known() -> tuple[float | None, float | None]:
        station.refresh_from_db()
        return station.latitude, station.position_uncertainty_m

    moved = version(station, latitude=39.3, longitude=-77.2)
    assert known() == (39.3, None)  # nobody said how well the new place is known
    moved.position_uncertainty_m = 5
    keep_version(moved, by=None)
    assert known() == (39.3, 5)
    drop_version(moved)
    assert known() == (39.1, 12)


def test_a_layout_leaves_the_uncertainty_that_was_written_down_for_its_position() -> None:
    station = make_station("WIL-01", latitude=39.1, longitude=-77.2)
    version(station, latitude=39.3, longitude=-77.2)
    Station.objects.filter(pk=station.pk).update(position_uncertainty_m=8)
    longer = StationVersion(
        station=station, valid_from=datetime.date(2021, 5, 1), reason="longer", reach_length_m=100
    )
    keep_version(longer, by=None)
    station.refresh_from_db()
    assert (station.latitude, station.position_uncertainty_m, station.reach_length_m) == (39.3, 8, 100)


@pytest.mark.parametrize(
    ("uncertainty", "words"),
    [
        (12.5, "may lie up to 12.5 m away"),
        (30, "may lie up to 30 m away"),
        (0.02, "may lie up to 0.02 m away"),
    ],
)
def test_the_pages_tell_how_well_a_position_is_known(
    uncertainty: float, words: str, signed_in: Callable[[str], Client]
) -> None:
    place = {"latitude": 39.1, "longitude": -77.2, "position_uncertainty_m": uncertainty}
    station = make_station("WIL-01", **place)
    StationVersion.objects.create(station=station, valid_from=MOVED, reason="moved", **place)
    for address in ("/stations/WIL-01/", "/stations/WIL-01/layout/"):
        assert words in signed_in("biologist").get(address).content.decode()


def test_a_position_of_which_nobody_said_how_well_it_is_known_stands_alone() -> None:
    make_station("WIL-01", latitude=39.1, longitude=-77.2)
    assert "may lie" not in Client().get("/stations/WIL-01/").content.decode()


@pytest.mark.parametrize(
    ("role", "shown", "form"),
    [("", 302, 302), ("planner", 403, 403), ("reviewer", 200, 403), ("biologist", 200, 200)],
)
def test_who_may_see_and_change_layouts(
    signed_in: Callable[[str], Client], role: str, shown: int, form: int
) -> None:
    make_station("WIL-01")
    assert signed_in(role).get("/stations/WIL-01/layout/").status_code == shown
    assert signed_in(role).get("/stations/WIL-01/layout/0/").status_code == form


def test_a_layout_is_kept_and_taken_out_by_the_page(signed_in: Callable[[str], Client]) -> None:
    make_station("WIL-01")
    client = signed_in("biologist")
    page = "/stations/WIL-01/layout/0/"
    assert client.post(page, {"valid_from": "2020-05-01", "reason": ""}).status_code == 422
    form = {"valid_from": "2020-05-01", "reason": "parking moved", "reach_length_m": "100"}
    assert "not compared" in client.post(page, form, follow=True).content.decode()
    assert client.post(page, form).status_code == 422  # one layout a day
    kept = StationVersion.objects.get()
    client.post(f"/stations/WIL-01/layout/{kept.pk}/", {**form, "joined_why": "same riffle"})
    shown = strip_tags(client.get("/stations/WIL-01/layout/").content.decode())
    assert "compared: same riffle" in shown
    client.post(f"/stations/WIL-01/layout/{kept.pk}/", {"action": "drop"})
    assert not StationVersion.objects.exists()


@pytest.mark.parametrize(
    ("role", "shown"), [("", False), ("planner", False), ("reviewer", True), ("biologist", True)]
)
def test_the_page_of_a_station_leads_those_who_may_to_its_layouts(
    signed_in: Callable[[str], Client], role: str, shown: bool
) -> None:
    make_station("WIL-01")
    text = signed_in(role).get("/stations/WIL-01/").content.decode()
    assert ("/stations/WIL-01/layout/" in text) is shown
