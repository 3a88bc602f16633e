"""A year without a visit says why, where the season's records know it."""

import pytest

from surveys.models import NotSampled
from surveys.planning import keep_not_sampled
from tests.factories import make_station, make_visit
from trends.models import TrendResult
from trends.outcomes import Outcome, from_plain
from trends.recompute import mark_all, recompute_marked
from trends.record import read_record
from trends.series import middle_series, station_series

pytestmark = pytest.mark.django_db


def test_the_reason_of_a_station_stands_for_its_empty_year() -> None:
    station, other = make_station("WIL-01"), make_station("WIL-02")
    for year in (2022, 2024):
        make_visit(station, f"{year}-07-16")
    NotSampled.objects.create(station=station, year=2023, kind="dry", reason="no water in August")
    NotSampled.objects.create(station=other, year=2024, kind="cancelled", reason="the creek was in flood")
    mark_all()
    recompute_marked()
    record = read_record(station.watershed)
    series = [station_series(record, one, "total_catch", record.years()) for one in (station, other)]
    assert {y.year: y.reason for y in series[0].years if y.value is None} == {2023: "dry: no water in August"}
    assert [y.reason for y in series[1].years] == [
        "no accepted visit",
        "no accepted visit",
        "cancelled: the creek was in flood",
    ]
    # The whole creek has no value in 2023, and names the one reason it knows; in 2024 it has one.
    middle = middle_series(series, record.years(), record.no_season)
    assert [y.reason for y in middle] == ["1 of 2 stations", "dry: no water in August", "1 of 2 stations"]


def test_a_visit_that_was_made_after_all_stands_before_the_reason() -> None:
    station = make_station("WIL-01")
    make_visit(station, "2024-07-16")
    NotSampled.objects.create(station=station, year=2024, kind="partly", reason="thunder after pass 1")
    mark_all()
    recompute_marked()
    record = read_record(station.watershed)
    (only,) = station_series(record, station, "total_catch", record.years()).years
    assert only.value == 17


@pytest.mark.django_db(transaction=True)
def test_a_reason_that_is_stored_is_in_the_results_at_once() -> None:
    station = make_station("WIL-01")
    for year in (2022, 2024):
        make_visit(station, f"{year}-07-16")
    keep_not_sampled(NotSampled(station=station, year=2023, kind="dry", reason="no water"), by=None)
    stored = TrendResult.objects.filter(station=station, measure="total_catch").get()
    assert (2023, "dry: no water") in [tuple(gap) for gap in from_plain(Outcome, stored.outcome).gaps]
