"""The date of a note is worded no closer than it is known, and once where both ends are the same."""

import datetime

import pytest
from django.utils import translation

from trends.models import LandUseNote
from trends.note_dates import span, when


def _note(starts: str, ends: str, precision: str) -> LandUseNote:
    return LandUseNote(
        starts_on=datetime.date.fromisoformat(starts),
        ends_on=datetime.date.fromisoformat(ends) if ends else None,
        date_precision=precision,
    )


@pytest.mark.parametrize(
    ("starts", "ends", "precision", "words"),
    [
        ("2018-09-09", "", "day", "9 September 2018"),
        ("2018-09-09", "2018-09-09", "day", "9 September 2018"),
        ("2018-09-09", "2018-09-11", "day", "9 September 2018 to 11 September 2018"),
        ("2008-04-01", "2012-09-30", "month", "April 2008 to September 2012"),
        ("2008-04-01", "2008-04-30", "month", "April 2008"),
        ("2017-01-01", "2019-12-31", "year", "2017 to 2019"),
        ("2017-01-01", "2017-12-31", "year", "2017"),
        ("1970-01-01", "1979-12-31", "decade", "1970s"),
        ("1974-01-01", "", "decade", "1970s"),
        ("1960-01-01", "1979-12-31", "decade", "1960s to 1970s"),
    ],
)
def test_a_note_tells_its_date_as_closely_as_it_is_known(
    starts: str, ends: str, precision: str, words: str
) -> None:
    assert when(_note(starts, ends, precision)) == words


def test_a_note_tells_its_date_in_the_language_of_the_page() -> None:
    with translation.override("es"):
        assert when(_note("2018-09-09", "", "day")) == "9 de septiembre de 2018"
        assert when(_note("1970-01-01", "1979-12-31", "decade")) == "década de 1970"


@pytest.mark.parametrize(
    ("starts", "ends", "precision", "first", "last"),
    [
        ("2018-09-09", "", "day", "2018-09-09", "2018-09-09"),
        ("2018-09-09", "2018-09-11", "day", "2018-09-09", "2018-09-11"),
        ("2024-02-10", "", "month", "2024-02-01", "2024-02-29"),
        ("2008-04-10", "2012-09-10", "month", "2008-04-01", "2012-09-30"),
        ("2017-06-01", "2019-06-01", "year", "2017-01-01", "2019-12-31"),
        ("1974-01-01", "", "decade", "1970-01-01", "1979-12-31"),
        ("1960-01-01", "1979-12-31", "decade", "1960-01-01", "1979-12-31"),
    ],
)
def test_a_rough_date_may_cover_all_of_its_time(
    starts: str, ends: str, precision: str, first: str, last: str
) -> None:
    days = span(_note(starts, ends, precision))
    assert [day.isoformat() for day in days] == [first, last]
