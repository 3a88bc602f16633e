"""When something on the land happened: in words no closer than it is known, and the days that it may cover."""

import calendar
import datetime

from django.utils.formats import date_format

from surveys.language import day_words, worded
from trends.models import DatePrecision, LandUseNote


def when(note: LandUseNote) -> str:
    """ "9 September 2018 to 11 September 2018", "2013 to 2014", "1970s"; once where both ends are worded alike."""
    first = _words(note.starts_on, note.date_precision)
    last = _words(note.ends_on, note.date_precision) if note.ends_on else first
    return first if last == first else worded("{first} to {last}", first=first, last=last)


def span(note: LandUseNote) -> tuple[datetime.date, datetime.date]:
    """First and last day that a note may cover: a date known to the month, year or decade stands for all of it."""
    first, _ = _whole(note.starts_on, note.date_precision)
    _, last = _whole(note.ends_on or note.starts_on, note.date_precision)
    return first, last


def _whole(day: datetime.date, precision: str) -> tuple[datetime.date, datetime.date]:
    match precision:
        case DatePrecision.DECADE:
            year = day.year // 10 * 10
            return datetime.date(year, 1, 1), datetime.date(year + 9, 12, 31)
        case DatePrecision.YEAR:
            return datetime.date(day.year, 1, 1), datetime.date(day.year, 12, 31)
        case DatePrecision.MONTH:
            return day.replace(day=1), day.replace(day=calendar.monthrange(day.year, day.month)[1])
    return day, day


def _words(day: datetime.date, precision: str) -> str:
    match precision:
        case DatePrecision.DECADE:
            return worded("{year}s", year=day.year // 10 * 10)
        case DatePrecision.YEAR:
            return str(day.year)
        case DatePrecision.MONTH:
            return date_format(day, "YEAR_MONTH_FORMAT")
    return day_words(day)
