"""Where a line is parted, the words say what changed: the way of sampling, or only the station's layout."""

from tests.trends.caution_cases import QUIET, YEARS, outcome_of
from trends import wording
from trends.break_words import break_label, break_remark
from trends.chart_words import chart_table
from trends.outcomes import Outcome

ANEW = {y: {"method": "two@2014-01-01"} for y in YEARS if y >= 2014}
OTHER = {y: {"method": "three"} for y in YEARS if y >= 2014}
EARLIER = {y: {"method": "one"} for y in YEARS if y < 2010}


def all_words(found: Outcome) -> str:
    table = [" ".join(row) for row in chart_table(found).rows]
    said = [*wording.trend_sentences(found, staff=True), *wording.cannot_say(found, staff=True)]
    return " ".join([*said, *table, *(break_label(found, year) for year in found.breaks)])


def test_a_station_laid_out_anew_is_nowhere_called_a_new_method() -> None:
    found = outcome_of(changes=ANEW)
    assert found.breaks == (2014,)
    words = all_words(found)
    assert "A station was laid out anew in 2014." in words
    assert "2014: new layout" in words
    assert "first year of a new layout of the station" in words
    assert "method" not in words


def test_a_change_of_method_keeps_its_words() -> None:
    found = outcome_of(changes=OTHER)
    assert "The method changed in 2014." in wording.trend_sentences(found, staff=True)
    assert break_label(found, 2014) == "2014: new method"
    assert "layout" not in all_words(found)


def test_both_kinds_of_change_are_told_apart() -> None:
    found = outcome_of(changes={**EARLIER, **ANEW})
    first, second, *_ = wording.trend_sentences(found, staff=True)
    assert (first, second) == ("The method changed in 2010.", "A station was laid out anew in 2014.")
    assert break_remark(found, 2010) == "first year of a new method"
    assert break_remark(found, 2014) == "first year of a new layout of the station"


def test_one_station_of_several_laid_out_anew_stands_apart_in_words() -> None:
    moved = {y: {"method": "two@2014-01-01"} for y in YEARS if y >= 2014}
    found = outcome_of(more_stations=(QUIET, QUIET), changes_of={1: moved})
    assert found.apart
    words = " ".join(wording.trend_sentences(found, staff=True))
    assert "At ALD-01 the years 2014 to 2019 are from another layout of the station" in words
