"""The columns of the two files that are loaded here: land-use notes and land cover.

A date of a note may be written as exactly as it is known: a day (2014-06-20), a month (2014-06), a
year (2014) or a decade (1970s).
"""

import calendar
import datetime
import re

from surveys.uploads.columns import Column
from surveys.uploads.values import (
    CellError,
    fold,
    one_of,
    parse_date,
    parse_flag,
    parse_number,
    parse_whole,
    text_up_to,
)
from trends.models import DatePrecision, NoteCategory

WrittenDate = tuple[datetime.date, datetime.date, str]  # first day, last day, precision

_MONTH = re.compile(r"([0-9]{4})-([0-9]{2})")
_YEAR = re.compile(r"([0-9]{4})(?:\.0)?")
_DECADE = re.compile(r"([0-9]{3})0s")
EARLIEST_YEAR, LATEST_YEAR = 1600, 2200
EARLIEST_MAPPING = 1800


def parse_written_date(text: str) -> WrittenDate:
    """A date as exactly as it was written: its first day, its last day, and how sure it is."""
    if match := _DECADE.fullmatch(text):
        first = int(match[1]) * 10
        found = datetime.date(first, 1, 1), datetime.date(first + 9, 12, 31), DatePrecision.DECADE
    elif match := _YEAR.fullmatch(text):
        year = int(match[1])
        if not EARLIEST_YEAR <= year <= LATEST_YEAR:
            raise CellError("bad_date", f"{text} is no likely year.", "Check the year.")
        found = datetime.date(year, 1, 1), datetime.date(year, 12, 31), DatePrecision.YEAR
    elif match := _MONTH.fullmatch(text):
        year, month = int(match[1]), int(match[2])
        if not 1 <= month <= 12:
            raise CellError("bad_date", f"{text} has no such month.", "Write year and month as YYYY-MM.")
        last = calendar.monthrange(year, month)[1]
        found = datetime.date(year, month, 1), datetime.date(year, month, last), DatePrecision.MONTH
    else:
        day = parse_date(text)
        found = day, day, DatePrecision.DAY
    if not EARLIEST_YEAR <= found[0].year <= LATEST_YEAR:
        raise CellError("bad_date", f"{text} is no likely date.", "Check the year.")
    return found[0], found[1], str(found[2])


# Code or label, as people write either.
CATEGORIES = {fold(word): c.value for c in NoteCategory for word in (c.value, str(c.label))}
PRECISIONS = {fold(word): p.value for p in DatePrecision for word in (p.value, str(p.label))}


def _category(text: str) -> str:
    try:
        return CATEGORIES[fold(text)]
    except KeyError:
        known = ", ".join(NoteCategory.values)
        raise CellError(
            "not_a_choice", f"{text!r} is no category known here.", f"Write one of: {known}."
        ) from None


def _year(text: str) -> int:
    year = parse_whole(text)
    if not EARLIEST_MAPPING <= year <= LATEST_YEAR:
        raise CellError("out_of_range", f"{text} is no likely year of a mapping.", "Check the year.")
    return year


def _text(name: str, meaning: str, limit: int, example: str, *, required: bool = False) -> Column:
    return Column(
        name=name, meaning=meaning, kind="string", parse=text_up_to(limit), example=example, required=required
    )


NOTE_LIST: tuple[Column, ...] = (
    _text("watershed", "Name or address word of the watershed", 200, "Mill Creek", required=True),
    _text("station", "Station code, where the note belongs to one place", 60, "MILL-02"),
    Column(
        name="category",
        meaning="What kind of event: " + ", ".join(NoteCategory.values),
        kind="string",
        parse=_category,
        example="road",
        required=True,
        words=NoteCategory.values,
    ),
    Column(
        name="starts_on",
        meaning="Start, as exactly as known: 2014-06-20, 2014-06, 2014 or 1970s",
        kind="string",
        parse=parse_written_date,
        example="2014-06",
        required=True,
    ),
    Column(
        name="ends_on",
        meaning="End, in the same ways; empty where it lasts or was one day",
        kind="string",
        parse=parse_written_date,
        example="2015-11-20",
    ),
    _text("title", "A few words", 120, "Bridge rebuilt", required=True),
    _text("text", "What happened", 10_000, "New culvert of 38 m."),
    _text("source", "Where this is known from", 300, "Road office file"),
    Column(
        name="public",
        meaning="Shown to everybody (1) or to staff alone (0); empty means 1",
        kind="boolean",
        parse=parse_flag,
        example="1",
    ),
    Column(
        name="date_precision",
        meaning="How sure the dates are, where they are written as days: " + ", ".join(DatePrecision.values),
        kind="string",
        parse=one_of(PRECISIONS),
        example="month",
    ),
)

LAND_COVER_LIST: tuple[Column, ...] = (
    _text("watershed", "Name or address word of the watershed", 200, "Mill Creek", required=True),
    Column(
        name="year",
        meaning="Year of the mapping",
        kind="integer",
        parse=_year,
        example="2016",
        required=True,
    ),
    Column(
        name="impervious_pct",
        meaning="Share under roofs, roads and other hard surfaces",
        kind="number",
        parse=parse_number,
        example="14.5",
        unit="%",
        hard=(0, 100),
    ),
    Column(
        name="forest_pct",
        meaning="Share under forest",
        kind="number",
        parse=parse_number,
        example="31",
        unit="%",
        hard=(0, 100),
    ),
)
