"""Public pages take as many queries for many rows as for few."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from surveys.models import Station, Watershed
from tests.factories import make_station, make_visit
from trends import recompute
from trends.views import compare, overview, stations

pytestmark = pytest.mark.django_db

PAGES = (
    "/",
    "/stations/",
    "/watersheds/creek-0/",
    "/stations/A-0-0/",
    "/compare/",
    "/compare/?level=stations",
    "/compare/?level=stations&measure=total_catch&sort=latest&order=down",
)


def _fill(creeks: range, stations_each: range, years: range) -> None:
    made: set[int] = set()
    for creek in creeks:
        for number in stations_each:
            code = f"A-{creek}-{number}"
            held = Station.objects.filter(code=code).first()
            station = held or make_station(code, watershed=f"Creek {creek}")
            for year in years:
                make_visit(
                    station, f"{year}-07-01", passes=[{"Creek Chub": 5 + year % 7, "Blacknose Dace": 3}]
                )
            made.add(station.pk)
    recompute.mark_stale(made)
    recompute.recompute_marked()


def _queries(browser: Client, address: str) -> int:
    with CaptureQueriesContext(connection) as caught:
        assert browser.get(address).status_code == 200
    return len(caught)


def test_queries_stay_as_many_when_creeks_stations_and_years_double(client: Client) -> None:
    _fill(range(2), range(2), range(2001, 2006))
    for address in PAGES:
        client.get(address)  # what is read once a process is read now
    # New visits before either count: what a page keeps until its data change is read again in both.
    _fill(range(2), range(2), range(2006, 2007))
    few = {address: _queries(client, address) for address in PAGES}
    _fill(range(2), range(2), range(2007, 2013))
    _fill(range(2), range(2, 4), range(2001, 2013))
    _fill(range(2, 4), range(4), range(2001, 2013))
    assert {address: _queries(client, address) for address in PAGES} == few


def test_a_long_list_comes_in_parts_with_the_axes_and_tests_of_the_whole(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    _fill(range(3), range(2), range(2001, 2008))
    whole = client.get("/compare/?level=stations&measure=total_catch").context
    monkeypatch.setattr(compare, "PLACES_AT_ONCE", 4)
    parts = [client.get(f"/compare/?level=stations&measure=total_catch&page={n}").context for n in (1, 2)]
    assert [row.name for part in parts for row in part["rows"]] == [row.name for row in whole["rows"]]
    assert [row.outcome for part in parts for row in part["rows"]] == [row.outcome for row in whole["rows"]]
    for part in parts:
        assert [part[key] for key in ("first", "last", "top", "tested")] == [
            whole[key] for key in ("first", "last", "top", "tested")
        ]


def test_the_lists_of_creeks_and_of_stations_come_in_parts(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    _fill(range(3), range(1), range(2001, 2003))
    monkeypatch.setattr(overview, "CREEKS_AT_ONCE", 2)
    monkeypatch.setattr(stations, "STATIONS_AT_ONCE", 2)
    for address, shown in (("/", "Creek 0"), ("/?page=2", "Creek 2"), ("/stations/?page=2", "A-2-0")):
        page = client.get(address)
        assert shown in page.content.decode()
        assert f"Part {2 if 'page' in address else 1} of 2" in page.content.decode()


def test_the_axis_of_a_list_is_that_of_its_outcomes(client: Client) -> None:
    from trends.chart_parts import value_range
    from trends.measures import BY_KEY, MEASURES
    from trends.models import TrendResult
    from trends.reading import outcome_of
    from trends.standings import creek_standings, shared_axes, station_standings

    _fill(range(2), range(2), range(2001, 2008))
    watersheds = list(Watershed.objects.all())
    for key in (m.key for m in MEASURES):
        for standings, of_stations in (
            (creek_standings(watersheds, BY_KEY[key]), False),
            (station_standings(watersheds, BY_KEY[key]), True),
        ):
            results = TrendResult.objects.filter(measure=key, station__isnull=not of_stations)
            outcomes = [o for o in map(outcome_of, results) if o.latest_year is not None]
            years = [y.year for o in outcomes for y in o.middle]
            expected = (
                (min(years), max(years), max(value_range(o)[1] for o in outcomes))
                if outcomes
                else (None,) * 3
            )
            assert shared_axes(standings, BY_KEY[key]) == expected
