"""Other ways of looking at a result: shown beside it, each with its own numbers and source."""

from dataclasses import replace

import pytest

from tests.trends.hand_made import outcome, period, rising, series
from trends.outcomes import Outcome
from trends.second_looks import looks
from trends.stats.kendall import mann_kendall


def station_outcome() -> Outcome:
    """One station, 2006 to 2017, rising; nobody out in 2012."""
    own = series("ALD-01", rising(2.5))
    base = outcome(period(scatter=0.4, test="Mann-Kendall, exact"), scope="station", place="ALD-01")
    return replace(base, series=(own,), middle=own.years)


def test_each_look_names_its_source_and_why_it_only_stands_beside() -> None:
    found = looks(station_outcome(), {})
    assert {"lag-one", "step", "halves", "smallest"} <= {one.key for one in found}
    assert all(one.source and one.why_beside and one.found for one in found)


def test_years_with_a_gap_are_not_tested_for_serial_correlation() -> None:
    """Closing up gaps would be wrong: years that are not neighbours say nothing about neighbours."""
    like = next(one for one in looks(station_outcome(), {}) if one.key == "lag-one")
    assert like.found.startswith("Not tested")


def test_both_halves_are_tested_with_the_same_test() -> None:
    halves = next(one for one in looks(station_outcome(), {}) if one.key == "halves")
    values = [v for v in rising(2.5).values() if v is not None]
    first = mann_kendall(range(5), values[:5])
    assert f"S +{first.s}" in halves.found


def test_a_driver_is_taken_out_beside_the_raw_trend() -> None:
    flow = {year: 0.1 + 0.01 * ((year * 7) % 5) for year in range(2006, 2018)}
    found = {one.key: one for one in looks(station_outcome(), {"discharge_m3_s": flow})}
    assert "instead of" in found["driver-discharge_m3_s"].found
    assert "11 years" in found["driver-discharge_m3_s"].found


def test_a_driver_with_too_few_readings_is_left_out() -> None:
    found = looks(station_outcome(), {"discharge_m3_s": {2006: 0.1, 2007: 0.2}})
    assert not any(one.key.startswith("driver") for one in found)


def test_a_result_that_was_not_tested_has_no_other_looks() -> None:
    untested = period(certainty="not_assessed", p_value=None, slope=None)
    assert looks(replace(station_outcome(), periods=(untested,)), {}) == []


@pytest.mark.parametrize("word", ["significant", "caused", "proves", "no change"])
def test_no_banned_word_slips_in(word: str) -> None:
    flow = {year: 0.1 + 0.01 * ((year * 7) % 5) for year in range(2006, 2018)}
    told = " ".join(
        f"{o.title} {o.found} {o.why_beside}" for o in looks(station_outcome(), {"discharge_m3_s": flow})
    )
    assert word not in told.lower()


def test_where_no_step_can_be_told_nothing_is_claimed_of_its_absence() -> None:
    """The same value every year: the test has nothing to find, and that is not proof that nothing changed."""
    level = station_outcome()
    same = series("ALD-01", dict.fromkeys(range(2006, 2018), 3.0))
    step = next(o for o in looks(replace(level, series=(same,), middle=same.years), {}) if o.key == "step")

    assert step.found == "No single step stands out in these years; that does not show that there was none."
