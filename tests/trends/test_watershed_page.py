"""The creek's page: what stands in the address comes back, pictures say in form what colour says."""

import datetime
from dataclasses import replace
from typing import Any
from urllib.parse import parse_qs

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from surveys.models import Catch, Station, Taxon, Visit, Watershed
from tests.copies import MadeOnce
from tests.factories import make_method, make_station, make_visit
from trends.agreement import agreement, metric_rows, metrics_words
from trends.chart_map import station_map
from trends.choice import chosen_outcome, read_choice
from trends.measures import MEASURES
from trends.models import LandUseNote, TrendResult
from trends.outcomes import Outcome
from trends.reading import outcome_of
from trends.recompute import mark_all, recompute_marked
from trends.record import read_record
from trends.wording import outcome_verdict, supported

pytestmark = pytest.mark.django_db

RISING = (31, 36, 34, 41, 39, 46, 44, 51, 49, 56, 54, 61)


def fill(station: Station, caught: tuple[int, ...], **more: Any) -> None:
    for i, number in enumerate(caught):
        make_visit(
            station,
            datetime.date(2010 + i, 7, 16),
            passes=[{"Creek Chub": number - 6, "Mottled Sculpin": 6}, {"Creek Chub": 4}],
            stop_nets="both",
            **more,
        )


def make_creek() -> Watershed:
    for i, (km, side) in enumerate(((1.0, 0), (4.0, 0), (6.0, 1)), start=1):
        station = make_station(
            f"WIL-0{i}",
            river_km=km,
            latitude=37.0 + km / 100,
            longitude=-70.0,
            stream="Side Brook" if side else "Willow Run",
        )
        fill(station, tuple(v + i for v in RISING))
    mark_all()
    recompute_marked()
    return station.watershed


@pytest.fixture
def creek(db: None, made_once: MadeOnce) -> Watershed:
    return made_once(make_creek)


def test_the_page_opens_with_finding_and_facts(creek: Watershed, client: Any) -> None:
    page = client.get(f"/watersheds/{creek.slug}/?measure=total_catch").content.decode()
    assert "Between 2010 and 2021 (12 comparable years) the number of fish caught very likely rose" in page
    for words in ("Comparable years", "Along the creek", "Which numbers move", "What changed among the fish"):
        assert words in page
    assert page.index("Comparable years") < page.index("Through the years")


def test_a_view_comes_back_from_its_address(creek: Watershed, client: Any) -> None:
    page = client.get(
        f"/watersheds/{creek.slug}/?measure=total_catch&from=2012&to=2018&station=WIL-02"
    ).content.decode()
    assert "Between 2012 and 2018 (7 comparable years)" in page
    assert 'value="WIL-02" checked' in page
    assert 'value="WIL-01" checked' not in page
    assert "WIL-02, Willow Run" in page
    assert "station=WIL-02&amp;from=2012&amp;to=2018" in page


def test_the_whole_creek_reads_what_is_stored(creek: Watershed, client: Any) -> None:
    TrendResult.objects.filter(station__isnull=True, measure="total_catch").update(
        outcome=TrendResult.objects.get(station__isnull=True, measure="richness").outcome
    )
    whole = client.get(f"/watersheds/{creek.slug}/?measure=total_catch&from=2010&to=2021").content.decode()
    assert "number of species" in whole


@pytest.mark.parametrize(
    "query", ["from=9999", "to=0001", "station=%27", "from=2021&to=2010", "measure=x&from=-1"]
)
def test_odd_addresses_do_no_harm(creek: Watershed, client: Any, query: str) -> None:
    assert client.get(f"/watersheds/{creek.slug}/?{query}").status_code == 200


def test_the_profile_keeps_side_streams_apart(creek: Watershed, client: Any) -> None:
    page = client.get(f"/watersheds/{creek.slug}/?measure=total_catch").content.decode()
    # The last year: 61 and the number of the station in pass 1, 4 fish in pass 2.
    profile = page[page.index('id="profile"') : page.index("Where the stations lie")]
    assert profile.count('<circle class="dot"') == 2
    assert profile.count('<polygon class="dot"') == 1
    assert "from the mouth upwards: WIL-01 at km 1: 66, WIL-02 at km 4: 67, WIL-03 at km 6: 68" in profile


def test_the_map_tells_directions_by_form_and_has_north_and_scale(creek: Watershed, client: Any) -> None:
    page = client.get(f"/watersheds/{creek.slug}/?measure=total_catch").content.decode()
    drawn = page[page.index("Where the stations lie") :]
    assert drawn.count("very likely rising</title></polygon>") == 3
    assert ">N</text>" in drawn
    assert " km</text>" in drawn
    assert station_map([Station(code="X-1")], {}) == ""


def test_event_years_are_shaded_and_events_have_no_effect_page(creek: Watershed, client: Any) -> None:
    LandUseNote.objects.create(
        watershed=creek, category="flood", starts_on=datetime.date(2014, 9, 1), title="Storm of September"
    )
    page = client.get(f"/watersheds/{creek.slug}/?measure=total_catch").content.decode()
    assert '"name": "event"' in page
    assert "/effect/" not in page


def test_the_public_reads_public_words(creek: Watershed, client: Any, signed_in: Any) -> None:
    address = f"/watersheds/{creek.slug}/?measure=total_catch"
    assert "test of agreement p" not in client.get(address).content.decode()
    assert "test of agreement p" in signed_in("planner").get(address).content.decode()


def test_one_station_is_called_one() -> None:
    drawn = station_map([Station(code="X-1", latitude=37.0, longitude=-70.0)], {})
    assert "Map of 1 station;" in drawn


def stored_creek(station: Station) -> Outcome:
    return outcome_of(
        TrendResult.objects.get(watershed=station.watershed, station=None, measure="total_catch")
    )


def test_two_new_stations_beside_an_old_one_leave_the_page_whole(client: Any) -> None:
    old, *new = (make_station(f"WIL-{x}") for x in "ABC")
    fill(old, RISING)
    for station in new:
        fill(station, (20, 22))
    mark_all()
    recompute_marked()
    page = client.get(f"/watersheds/{old.watershed.slug}/?measure=total_catch").content.decode()
    assert "very likely rose" in page
    outcome = stored_creek(old)
    assert outcome.current is not None
    # As it was stored while stations of few years were compared too.
    before = replace(outcome, periods=(replace(outcome.current, heterogeneity_p=0.03),))
    assert "Without WIL-A the verdict would be another one." in agreement(before, staff=True).pull


def test_stations_that_all_rise_are_not_said_to_differ_where_their_records_differ_in_length() -> None:
    """The page says that the creek rose; the test of agreement compares Z, which grows with the years."""
    long, short = (make_station(f"WIL-{x}") for x in "AB")
    fill(long, tuple(range(20, 40)))
    fill(short, tuple(range(50, 56)))
    mark_all()
    recompute_marked()
    outcome = stored_creek(long)
    assert outcome.current is not None and outcome.current.heterogeneity_p is not None
    assert outcome.current.heterogeneity_p < 0.05 and supported(outcome.current)
    told = agreement(outcome, staff=False).together
    assert told == "The stations move the same way, though not equally surely: WIL-A and WIL-B rising."


def test_a_station_left_out_is_tested_as_the_creek_was(client: Any) -> None:
    """Three stations that share every wet and dry year are one proof, with one of them left out as before."""
    catches = (31, 30, 32, 36, 35, 34, 33)
    stations = [make_station(f"WIL-{x}") for x in "ABC"]
    for more, station in enumerate(stations):
        fill(station, tuple(c + more for c in catches))
    mark_all()
    recompute_marked()
    outcome = stored_creek(stations[0])
    assert outcome.current is not None and not supported(outcome.current)
    assert "The verdict stands without any one of the stations." in agreement(outcome, staff=True).pull


def _hide_a_species() -> None:
    Taxon.objects.filter(common_name="Mottled Sculpin").update(sensitive_location=True)
    mark_all()
    recompute_marked(everything=True)


def test_without_an_index_the_public_is_told_why_nothing_is_shown(
    creek: Watershed, client: Any, signed_in: Any
) -> None:
    _hide_a_species()
    address = f"/watersheds/{creek.slug}/?measure=richness"
    page = client.get(address).content.decode()
    assert "kept back" in page
    assert "has been accepted yet" not in page
    assert "Through the years" not in page
    assert "Through the years" in signed_in("planner").get(address).content.decode()


def test_species_with_withheld_places_are_told_for_the_creek_alone(creek: Watershed, client: Any) -> None:
    # What the index needs to know beside the counts; invented.
    creek.stations.update(stratum="eastern_piedmont", catchment_km2=12)
    Visit.objects.update(mean_width_m=4)
    Catch.objects.update(biomass_g=40.0)
    Taxon.objects.update(benthic=False, lithophilic=False, hybrid=False)
    _hide_a_species()
    page = client.get(f"/watersheds/{creek.slug}/?measure=richness").content.decode()
    assert "Fish index score" in page
    assert page.count("<option value=") == 1
    fish = page[page.index("What changed among the fish") :]
    assert fish.count("Mottled Sculpin") == 1
    assert "In this watershed: Mottled Sculpin" in fish


def test_queries_do_not_grow_with_visits(creek: Watershed, client: Any) -> None:
    def number() -> int:
        with CaptureQueriesContext(connection) as seen:
            client.get(f"/watersheds/{creek.slug}/?measure=total_catch")
        return len(seen)

    number()
    before = number()
    for station in creek.stations.all():
        make_visit(station, "2022-07-16", passes=[{"Creek Chub": 60}, {}])
    mark_all()
    recompute_marked()
    number()
    assert number() == before


def test_what_is_kept_in_memory_is_forgotten_with_a_new_visit(creek: Watershed, client: Any) -> None:
    address = f"/watersheds/{creek.slug}/?measure=total_catch"
    assert "Bluegill" not in client.get(address).content.decode()
    for year in range(2022, 2027):
        for station in creek.stations.all():
            make_visit(
                station,
                datetime.date(year, 7, 16),
                passes=[{"Creek Chub": 50, "Bluegill": 6}, {"Creek Chub": 3}],
            )
    mark_all()
    recompute_marked()
    assert "Bluegill, at 15 of 15 visits: a probable change" in client.get(address).content.decode()


@pytest.mark.parametrize(
    "query", ["from=2012", "to=2012", "station=WIL-02", "from=2013&to=2019&station=WIL-01"]
)
def test_a_part_without_its_cautions_has_the_same_numbers_and_words(creek: Watershed, query: str) -> None:
    """The other measures of a chosen part are assessed without cautions; nothing else may hang on those."""
    Visit.objects.filter(station__code="WIL-01", visit_date__year__gte=2018).update(
        method=make_method("other")
    )
    record = read_record(creek)
    choice = read_choice(parse_qs(query), [s.code for s in record.stations], range(2010, 2022))
    full, bare = (
        [chosen_outcome(creek, choice, m.key, record, with_cautions=told) for m in MEASURES]
        for told in (True, False)
    )
    assert any(o and o.cautions for o in full)
    assert [o and replace(o, cautions=()) for o in full] == bare
    with_them, without = (metric_rows([o for o in found if o and o.latest_year]) for found in (full, bare))
    words = [[outcome_verdict(r.outcome, staff=True) for r in rows] for rows in (with_them, without)]
    assert words[0] == words[1]
    assert metrics_words(with_them, staff=True) == metrics_words(without, staff=True)


def test_measures_that_no_verdict_may_be_given_for_read_so_in_a_part_too(
    creek: Watershed, client: Any
) -> None:
    """Four years are too few for every measure, whether its cautions were made or not."""
    page = client.get(f"/watersheds/{creek.slug}/?measure=total_catch&from=2018").content.decode()
    table = page[page.index("Which numbers move") :]
    table = table[: table.index("</table>")]
    assert "not enough comparable years" in table
    assert "getting" not in table and "rising" not in table and "falling" not in table
