"""Before and after a note: who is compared, what is said, what is refused, and planted effects found again."""

import datetime
from typing import Any

import numpy as np
import pytest

from surveys.models import Station
from tests.copies import MadeOnce
from tests.factories import make_station, make_visit
from trends import effect_words, effects
from trends.models import LandUseNote
from trends.recompute import mark_all, recompute_marked
from trends.stats.before_after import before_after

STRATUM = "invented upland"
# Weather that comes over all stations alike, and scatter of each; all invented.
WEATHER = (0, 4, -3, 2, 6, -5, 1, 3, -2, 5, -4, 2, 0, 3)
SCATTER = ((1, -1, 0, 2, -2, 1, 0, -1, 2, 0, -1, 1, 0, -2), (0, 2, -1, 1, 0, -2, 1, 2, -1, 0, 2, -1, 1, 0))
FIRST = 2008


def _station(
    code: str, watershed: str, level: int, own: int, *, step: int = 0, years: int = 14, **fields: Any
) -> Station:
    """A station whose catch is its level, the weather, its scatter, and a step from 2015 on."""
    station = make_station(code, watershed=watershed, stream=watershed, stratum=STRATUM, **fields)
    for i in range(14):
        caught = level + WEATHER[i] + SCATTER[own][i] + (step if FIRST + i >= 2015 else 0)
        make_visit(
            station, datetime.date(FIRST + i, 7, 16), passes=[{"Creek Chub": caught}], stop_nets="both"
        )
    return station


def _note(station: Station, starts: str, ends: str | None = None, **fields: Any) -> LandUseNote:
    return LandUseNote.objects.create(
        watershed=station.watershed,
        station=station,
        category=fields.pop("category", "channel"),
        starts_on=starts,
        ends_on=ends,
        title=fields.pop("title", "Banks lowered"),
        **fields,
    )


def make_work() -> LandUseNote:
    """Twenty more fish from 2015 on at one station; two untouched stations of the same stratum elsewhere."""
    impact = _station("ALD-01", "Alder Run", 40, 0, step=20, river_km=2.0)
    _station("BIR-01", "Birch Run", 50, 1)
    _station("CED-01", "Cedar Run", 60, 0)
    mark_all()
    recompute_marked()
    note = _note(impact, "2014-09-01", "2015-03-20")
    note.refresh_from_db()
    return note


@pytest.fixture
def work(db: None, made_once: MadeOnce) -> LandUseNote:
    return made_once(make_work)


def test_the_planted_step_is_found_against_the_controls(work: LandUseNote) -> None:
    found = effects.effect(work, "total_catch")
    assert [s.code for s in found.controls] == ["BIR-01", "CED-01"]
    assert found.result is not None
    assert (found.result.n_before, found.result.n_after) == (7, 7)
    assert found.result.lower < 20 < found.result.upper
    assert abs(found.result.effect - 20) < 1.5
    # The shared weather is taken out: without controls the limits are far wider.
    alone = effects.effect(work, "total_catch", [])
    assert alone.result is not None
    assert alone.result.upper - alone.result.lower > 2 * (found.result.upper - found.result.lower)
    assert "C27" in [c.code for c in alone.cautions]


def test_two_ways_and_every_choice_of_after_years_are_given(work: LandUseNote) -> None:
    found = effects.effect(work, "total_catch")
    assert found.result is not None
    assert [e.method for e in found.result.estimates[:2]] == ["Welch t", "randomisation"]
    # Runs of three or more of seven years: 5 + 4 + 3 + 2 + 1.
    assert len(found.result.by_after_years) == 15
    assert found.ratio is not None


@pytest.mark.parametrize("measure", ["total_catch", "native_richness"])
def test_it_says_also_happened_and_never_because(work: LandUseNote, measure: str, client: Any) -> None:
    page = client.get(f"/notes/{work.pk}/effect/?measure={measure}").content.decode()
    assert "lso happened" in page
    for word in ("because of", "caused by", "led to", "due to", "thanks to", "proves", "impact of"):
        assert word not in page.lower()


def test_too_few_years_after_are_refused_with_the_number_that_lacks(work: LandUseNote) -> None:
    work.starts_on, work.ends_on = datetime.date(2020, 1, 1), None
    work.save()
    found = effects.effect(work, "total_catch")
    assert found.result is None
    assert "C28" in [c.code for c in found.cautions]
    assert found.cautions[0].numbers["years_lacking_after"] == 1
    assert "nothing can be said yet" in effect_words.headline(found)


def test_too_few_years_before_cannot_be_made_up_for(work: LandUseNote) -> None:
    work.starts_on, work.ends_on = datetime.date(2009, 9, 1), None
    work.save()
    found = effects.effect(work, "total_catch")
    assert found.result is None
    assert "no visit made now can add to them" in effect_words.further(found)


def test_a_year_with_a_visit_during_the_works_is_on_neither_side(work: LandUseNote) -> None:
    work.starts_on, work.ends_on = datetime.date(2014, 7, 1), datetime.date(2015, 8, 1)
    work.save()
    found = effects.effect(work, "total_catch")
    assert [r.year for r in found.rows if r.side == "during"] == [2014, 2015]
    assert found.result is not None
    assert (found.result.n_before, found.result.n_after) == (6, 6)


@pytest.mark.parametrize(
    ("precision", "day", "side"),
    [
        ("day", "2014-08-31", "before"),
        ("day", "2014-09-01", "during"),
        ("day", "2015-03-21", "after"),
        ("year", "2014-01-01", "during"),
        ("year", "2015-12-31", "during"),
        ("year", "2016-01-01", "after"),
    ],
)
def test_rough_dates_are_taken_widely(precision: str, day: str, side: str) -> None:
    note = LandUseNote(
        starts_on=datetime.date(2014, 9, 1), ends_on=datetime.date(2015, 3, 20), date_precision=precision
    )
    assert effects.side_of(note, datetime.date.fromisoformat(day)) == side


def test_a_named_control_goes_before_others_and_disturbed_ones_come_last(work: LandUseNote) -> None:
    impact = Station.objects.get(code="ALD-01")
    cedar = Station.objects.get(code="CED-01")
    cedar.control_for = impact
    cedar.save()
    _note(Station.objects.get(code="BIR-01"), "2013-05-01", category="road", title="Road widened")
    work.refresh_from_db()
    found = effects.effect(work, "total_catch")
    assert [o.station.code for o in found.options] == ["CED-01", "BIR-01"]
    assert [s.code for s in found.controls] == ["CED-01"]
    chosen = effects.effect(work, "total_catch", ["BIR-01"])
    weak = next(c for c in chosen.cautions if c.code == "C29")
    assert "Road widened" in weak.staff


def test_a_station_of_another_stratum_is_no_control(work: LandUseNote) -> None:
    _station("DOG-01", "Dogwood Run", 30, 1)
    Station.objects.filter(code="DOG-01").update(stratum="another")
    assert "DOG-01" not in [o.station.code for o in effects.effect(work, "total_catch").options]


def test_other_notes_of_the_same_years_are_named(work: LandUseNote, client: Any) -> None:
    _note(work.station, "2015-06-01", category="pipe", title="Sewer relined")
    _note(work.station, "2014-06-01", category="road", title="Owner's secret drive", public=False)
    page = client.get(f"/notes/{work.pk}/effect/?measure=total_catch").content.decode()
    assert "Sewer relined" in page
    assert "C30" in page
    assert "secret drive" not in page


def test_private_notes_and_events_have_no_page_for_the_public(
    work: LandUseNote, client: Any, signed_in: Any
) -> None:
    private = _note(work.station, "2013-01-01", title="Quarrel", public=False)
    drought = _note(work.station, "2012-06-01", category="drought", title="Dry summer")
    assert client.get(f"/notes/{private.pk}/effect/").status_code == 404
    assert signed_in("planner").get(f"/notes/{private.pk}/effect/").status_code == 200
    assert client.get(f"/notes/{drought.pk}/effect/").status_code == 404
    assert client.get("/notes/999999/effect/").status_code == 404


def test_controls_come_back_from_the_address(work: LandUseNote, client: Any) -> None:
    page = client.get(
        f"/notes/{work.pk}/effect/?measure=total_catch&control=&control=CED-01"
    ).content.decode()
    assert 'value="CED-01" checked' in page
    assert 'value="BIR-01" checked' not in page
    none = client.get(f"/notes/{work.pk}/effect/?measure=total_catch&control=").content.decode()
    assert " checked" not in none


@pytest.mark.parametrize("planted", [0.0, 2.0])
def test_limits_hold_a_planted_effect_as_often_as_they_say(planted: float) -> None:
    """300 seeded records of 5 years before and 5 after, with weather shared by both stations.

    The 95 % limits should hold the planted step in about 95 % of records; with 300 of them the share
    has a standard error of 1.3 points, so it is held to 95 +- 3.9 (three standard errors).
    """
    random = np.random.default_rng(20_311)
    held = {"Welch t": 0, "randomisation": 0}
    records = 300
    years = np.arange(2001, 2011)
    for _ in range(records):
        weather = random.normal(0, 2.0, 10)
        impact = 10 + weather + random.normal(0, 1, 10) + planted * (years >= 2006)
        control = 12 + weather + random.normal(0, 1, 10)
        found = before_after(years, impact, change_year=2006, controls=control)
        for one in found.estimates[:2]:
            held[one.method] += one.lower <= planted <= one.upper
    assert {name: 0.911 <= n / records <= 0.989 for name, n in held.items()} == dict.fromkeys(held, True)
