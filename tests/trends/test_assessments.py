"""From accepted visits to what may be said: series, periods, certainty, adjustment for many tests."""

import datetime
from collections.abc import Sequence

import pytest

from surveys.models import SamplingMethod, Station, Visit
from surveys.queries import visit_records
from tests.factories import make_method, make_station, make_visit
from trends.assessments import LEAST_YEARS, assess, assess_period, certainty_of
from trends.many_tests import adjust
from trends.measures import INDEX
from trends.models import LandUseNote
from trends.outcomes import Outcome, Period, YearValue, from_plain, to_plain
from trends.recompute import mark_stale, recompute_marked
from trends.record import read_record

STEADY = 0.25


def fish_by_year(
    station: Station,
    counts: Sequence[int | None],
    *,
    start: int = 2001,
    method: SamplingMethod | None = None,
    day: str = "07-15",
) -> None:
    """One accepted visit a year with so many chubs; None is a year without a visit."""
    for year, count in enumerate(counts, start=start):
        if count is not None:
            passes = [{"Creek Chub": count}] if count else [{}]
            make_visit(station, f"{year}-{day}", passes=passes, method=method)


def outcome_of(place: Station, *, measure: str = "total_catch", whole_creek: bool = False) -> Outcome:
    mark_stale([s.pk for s in place.watershed.stations.all()])
    recompute_marked()
    record = read_record(place.watershed)
    return assess(record, measure, None if whole_creek else next(s for s in record.stations if s == place))


# --- words ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("confidence", "word"),
    [
        (0.95, "very_likely"),
        (0.9499, "likely"),
        (0.85, "likely"),
        (0.8499, "leaning"),
        (0.70, "leaning"),
        (0.6999, "unclear"),
    ],
)
def test_the_word_follows_the_confidence_to_the_last_digit(confidence: float, word: str) -> None:
    """The limits 0.95, 0.85 and 0.70 are the programme's own (stricter than published two-thirds scales)."""
    assert certainty_of(confidence, 0.1, -1.0, 1.0, STEADY) == word


def test_steady_needs_the_whole_interval_inside_the_band() -> None:
    assert certainty_of(0.6, 0.001, -0.02, 0.024, STEADY) == "steady"
    assert certainty_of(0.6, 0.001, -0.02, 0.026, STEADY) == "unclear"


def test_a_measure_without_a_band_is_never_called_steady() -> None:
    assert certainty_of(0.5, 0.0, 0.0, 0.0, None) == "unclear"


def test_a_slope_of_zero_is_no_direction_however_sure_the_sign() -> None:
    assert certainty_of(0.99, 0.0, 0.0, 0.5, None) == "unclear"


# --- one station ---------------------------------------------------------------------------------

pytestmark = pytest.mark.django_db


def test_four_years_are_not_assessed_and_five_are() -> None:
    """With 4 values the smallest two-sided exact p is 2/4! = 0.083 (arithmetic)."""
    few, enough = make_station("WIL-A"), make_station("ELM-A", watershed="Elm Run")
    fish_by_year(few, [10, 12, 15, 19])
    fish_by_year(enough, [10, 12, 15, 19, 22])
    short = outcome_of(few).current
    assert short is not None and short.certainty == "not_assessed"
    assert short.p_value is None and str(LEAST_YEARS) in short.reason
    long = outcome_of(enough).current
    assert long is not None and long.certainty == "very_likely"
    assert long.p_value == pytest.approx(2 / 120)


def test_a_rise_in_a_number_without_a_good_direction_is_neither_good_nor_bad() -> None:
    station = make_station()
    fish_by_year(station, [10, 12, 15, 19, 22, 30])
    period = outcome_of(station).current
    assert period is not None and period.direction == "up" and period.good is None


def test_a_missed_year_is_a_gap_and_keeps_its_width() -> None:
    station = make_station()
    fish_by_year(station, [10, 11, None, 13, 14, 15])
    outcome = outcome_of(station)
    assert [y.value for y in outcome.series[0].years] == [10, 11, None, 13, 14, 15]
    assert outcome.gaps == ((2003, "no accepted visit"),)
    assert outcome.current is not None and outcome.current.slope == pytest.approx(1.0)


def test_the_reason_for_a_year_without_a_field_season_comes_from_its_note() -> None:
    station = make_station()
    fish_by_year(station, [10, 11, None, 13, 14])
    LandUseNote.objects.create(
        watershed=station.watershed,
        category="survey",
        starts_on=datetime.date(2003, 4, 1),
        ends_on=datetime.date(2003, 12, 31),
        title="No field season",
    )
    assert outcome_of(station).gaps == ((2003, "No field season"),)


def test_a_zero_catch_is_a_value_and_not_a_gap() -> None:
    station = make_station()
    fish_by_year(station, [5, 4, 0, 3, 2])
    outcome = outcome_of(station)
    assert outcome.series[0].years[2].value == 0
    assert "C38" in {c.code for c in outcome.cautions}


def test_two_visits_in_a_year_give_their_median() -> None:
    station = make_station()
    fish_by_year(station, [10, 20])
    make_visit(station, "2001-08-20", passes=[{"Creek Chub": 30}])
    assert [y.value for y in outcome_of(station).series[0].years] == [20, 20]


def test_a_visit_outside_the_season_of_its_method_is_told_and_not_used() -> None:
    summer = make_method("summer", season_starts="06-01", season_ends="09-30")
    station = make_station()
    fish_by_year(station, [10, 11, 12, 13, 14], method=summer)
    make_visit(station, "2006-11-02", passes=[{"Creek Chub": 90}], method=summer)
    outcome = outcome_of(station)
    last = outcome.series[0].years[-1]
    assert last.value is None and "2006-11-02" in last.reason
    assert "C12" in {c.code for c in outcome.cautions}


def test_a_change_of_method_parts_the_series_and_changing_back_joins_it() -> None:
    old, new = make_method("old"), make_method("new")
    station = make_station()
    fish_by_year(station, list(range(10, 20)), start=2001, method=old)
    fish_by_year(station, list(range(90, 100)), start=2011, method=new)
    outcome = outcome_of(station)
    assert [(p.method, p.first_year, p.last_year) for p in outcome.periods] == [
        ("old", 2001, 2010),
        ("new", 2011, 2020),
    ]
    assert outcome.breaks == (2011,)
    assert all(p.slope == pytest.approx(1.0) for p in outcome.periods)
    assert [c.level for c in outcome.cautions if c.code == "C06"] == ["stop"]
    for visit in Visit.objects.filter(method=new):
        visit.method = old
        visit.revision += 1
        visit.save()
    joined = outcome_of(station)
    assert [(p.first_year, p.last_year) for p in joined.periods] == [(2001, 2020)]
    assert joined.breaks == ()


def test_every_year_alike_is_no_direction_and_no_error() -> None:
    station = make_station()
    fish_by_year(station, [7, 7, 7, 7, 7, 7])
    period = outcome_of(station).current
    assert period is not None and (period.slope, period.p_value) == (0.0, 1.0)
    assert period.certainty == "unclear"


# --- a whole creek ---------------------------------------------------------------------------------


def test_stations_that_go_different_ways_are_not_averaged() -> None:
    up, down = make_station("WIL-U"), make_station("WIL-D")
    fish_by_year(up, list(range(10, 22)))
    fish_by_year(down, list(range(40, 28, -1)))
    outcome = outcome_of(up, whole_creek=True)
    assert outcome.current is not None and outcome.current.certainty == "disagree"
    assert (outcome.current.stations_up, outcome.current.stations_down) == (("WIL-U",), ("WIL-D",))
    assert "C26" in {c.code for c in outcome.cautions}


def test_a_new_station_of_two_visits_does_not_make_a_creek_disagree() -> None:
    """By hand: Z of the long station is 66 / sqrt(212.67) = 4.53 and of the new one 1, so chi-square is 6.2."""
    long, new = make_station("WIL-L"), make_station("WIL-N")
    fish_by_year(long, list(range(10, 22)))
    fish_by_year(new, [30, 31], start=2011)
    period = outcome_of(long, whole_creek=True).current
    assert period is not None
    assert (period.certainty, period.heterogeneity_p) == ("very_likely", None)


def test_a_short_and_a_long_record_that_both_rise_do_not_disagree() -> None:
    long, short = make_station("WIL-L"), make_station("WIL-S")
    fish_by_year(long, list(range(10, 30)))
    fish_by_year(short, list(range(30, 36)), start=2015)
    period = outcome_of(long, whole_creek=True).current
    assert period is not None and period.heterogeneity_p is not None and period.heterogeneity_p < 0.05
    assert (period.certainty, period.direction) == ("very_likely", "up")
    assert period.stations_up == ("WIL-L", "WIL-S")


def test_a_creek_says_of_a_station_only_what_the_station_says_of_itself() -> None:
    """S = 7 of 7 untied years has the exact p 0.381 (Kendall's table), a confidence of 0.81: not likely."""
    leaning, falling = make_station("WIL-L"), make_station("WIL-F")
    fish_by_year(leaning, [21, 20, 22, 26, 25, 24, 23])
    fish_by_year(falling, [33, 30, 28, 25, 23, 20, 18])
    alone = outcome_of(leaning).current
    creek = outcome_of(leaning, whole_creek=True).current
    assert alone is not None and (alone.s, alone.certainty) == (7, "leaning")
    assert creek is not None and (creek.stations_up, creek.stations_down) == ((), ("WIL-F",))


def test_pairs_are_never_formed_between_stations() -> None:
    """One station fished early and one late, each falling: the creek falls, whatever their levels."""
    early, late = make_station("WIL-1"), make_station("WIL-2")
    fish_by_year(early, [20, 18, 16, 14, 12, 10], start=2001)
    fish_by_year(late, [90, 86, 80, 77, 71, 70], start=2007)
    outcome = outcome_of(early, whole_creek=True)
    assert outcome.current is not None and outcome.current.direction == "down"


def test_the_middle_line_never_mixes_methods() -> None:
    old, new = make_method("old"), make_method("new")
    switched, steadfast = make_station("WIL-S"), make_station("WIL-T")
    fish_by_year(steadfast, [10] * 10, start=2001, method=new)
    fish_by_year(switched, [99] * 5, start=2001, method=old)
    fish_by_year(switched, [20] * 5, start=2006, method=new)
    outcome = outcome_of(steadfast, whole_creek=True)
    assert [y.value for y in outcome.middle] == [10] * 5 + [15] * 5
    assert outcome.breaks == ()
    assert [p.method for p in outcome.apart] == ["old"]


def test_the_latest_value_is_the_median_of_the_stations_visited_last() -> None:
    for number, count in enumerate((10, 20, 60), start=1):
        fish_by_year(make_station(f"WIL-{number}"), [count])
    outcome = outcome_of(Station.objects.get(code="WIL-1"), whole_creek=True)
    assert (outcome.latest_value, outcome.latest_stations) == (20, 3)


# --- many at once ----------------------------------------------------------------------------------


def test_shown_among_many_a_word_can_only_get_weaker() -> None:
    """Benjamini & Hochberg 1995: of k tests the smallest p is multiplied by k."""
    rising = make_station("WIL-R")
    fish_by_year(rising, [10, 12, 15, 19, 22])
    alone = outcome_of(rising)
    level = []
    for number in range(6):
        station = make_station(f"ELM-{number}", watershed=f"Elm Run {number}")
        fish_by_year(station, [10, 30, 11, 29, 12])
        level.append(outcome_of(station))
    together = adjust([alone, *level])[0].current
    assert alone.current is not None and together is not None
    assert together.p_value == alone.current.p_value == pytest.approx(2 / 120)
    assert together.p_adjusted == pytest.approx(7 * 2 / 120)
    assert (alone.current.certainty, together.certainty) == ("very_likely", "likely")


def test_an_outcome_comes_back_from_storage_as_it_was() -> None:
    station = make_station()
    fish_by_year(station, [10, 11, None, 13, 14, 15])
    outcome = outcome_of(station, whole_creek=True)
    assert from_plain(Outcome, to_plain(outcome)) == outcome


def test_only_accepted_visits_make_a_series() -> None:
    station = make_station()
    fish_by_year(station, [10, 11, 12])
    make_visit(station, "2004-07-15", status="submitted")
    assert [y.year for y in outcome_of(station).series[0].years] == [2001, 2002, 2003]
    assert len(visit_records(Visit.objects.all())) == 4


def test_an_index_that_fell_at_the_end_is_not_steady_for_all_its_equal_years() -> None:
    """Eighteen like years and two that are far lower: Sen's limits are both 0, and still it is no proof.

    The claim "steady" needs the whole interval inside its band (equivalence testing, common practice, no source).
    """
    fallen = outcome_with_band(
        (2.7,) * 6 + (2.0, 2.3, 2.7, 3.0, 3.0, 2.7, 2.7, 3.0) + (2.7,) * 4 + (1.3, 1.3)
    )
    held = outcome_with_band((2.7,) * 6 + (2.6, 2.8, 2.7, 2.7, 2.8, 2.7, 2.7, 2.6) + (2.7,) * 6)

    assert (fallen.lower, fallen.upper) == (0.0, 0.0)
    assert fallen.certainty == "unclear"
    assert held.certainty == "steady"


def outcome_with_band(values: tuple[float, ...]) -> Period:
    """A station's index with four classes one point wide, so that the band is a quarter of a point a decade."""
    years = [YearValue(year=2005 + i, value=v, method="two") for i, v in enumerate(values)]
    ratings = [
        (word, low, low + 1.0) for word, low in (("very poor", 1), ("poor", 2), ("fair", 3), ("good", 4))
    ]
    return assess_period(INDEX, ("two", "Two passes"), {"ALD-01": years}, ratings)
