"""How one cell's text becomes a value: strict, and never by guessing. Pure code."""

import datetime
import re
import unicodedata
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from surveys.said import marked, said

_ISO_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_OTHER_DATE = re.compile(r"([0-9]{1,2})([/.-])([0-9]{1,2})\2([0-9]{4})")
_YEAR_FIRST = re.compile(r"([0-9]{4})([-/.])([0-9]{1,2})\2([0-9]{1,2})([ T][0-9:.]+)?")
_DAY_NUMBER = re.compile(r"[34][0-9]{4}")
_NUMBER = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]{1,2})?")
# Far more digits than any count has, so that one too many is told as too large.
_WHOLE = re.compile(r"([+-]?)([0-9]{1,40})(\.0*)?")
_TIME = re.compile(r"[0-9]{1,2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{1,6})?)?")
_DECIMAL_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+")

# What spreadsheets show, and write into a file, where a formula failed.
_FAILED_FORMULAS = frozenset(
    {"#N/A", "#DIV/0!", "#REF!", "#VALUE!", "#NAME?", "#NUM!", "#NULL!", "#SPILL!", "#CALC!"}
)

Parser = Callable[[str], Any]


class CellError(ValueError):
    """A cell that cannot be read: a short code, what is wrong, and what to write instead."""

    def __init__(self, code: str, message: str, remedy: str) -> None:
        super().__init__(message)
        self.code, self.message, self.remedy = code, message, remedy


def fold(text: str) -> str:
    """A name as it is compared: case, kinds of space and of accent marks no longer matter."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


def refuse_failed_formula(text: str) -> None:
    """Raise CellError where a spreadsheet's formula failed: its mark is no value and no name of anything."""
    if text.upper() in _FAILED_FORMULAS:
        raise CellError(
            "bad_text",
            said("{written} is what a spreadsheet shows where a formula failed.", written=text),
            marked("Put the formula right, or leave the cell empty where nothing was recorded."),
        )


def parse_date(text: str) -> datetime.date:
    """A day written YYYY-MM-DD. Any other order of day and month is asked about."""
    if _ISO_DATE.fullmatch(text):
        try:
            return datetime.date.fromisoformat(text)
        except ValueError:
            raise CellError(
                "bad_date",
                said("There is no day {written} in the calendar.", written=text),
                marked("Write the day as YYYY-MM-DD."),
            ) from None
    if other := _OTHER_DATE.fullmatch(text):
        first, second, year = int(other[1]), int(other[3]), int(other[4])
        readings = {day for day in (_day(year, second, first), _day(year, first, second)) if day is not None}
        if len(readings) == 2:
            early, late = sorted(readings)
            raise CellError(
                "ambiguous_date",
                said(
                    "{written} can be read as {day} {month} {year} or as {day_2} {month_2} {year_2}.",
                    written=text,
                    day=f"{early:%d}",
                    month=f"{early:%B}",
                    year=f"{early:%Y}",
                    day_2=f"{late:%d}",
                    month_2=f"{late:%B}",
                    year_2=f"{late:%Y}",
                ),
                said("Write {early} or {late}, whichever is meant.", early=early, late=late),
            )
        if readings:
            raise _not_iso(text, readings.pop())
    if (parts := _YEAR_FIRST.fullmatch(text)) and (meant := _day(*map(int, parts.group(1, 3, 4)))):
        raise _not_iso(text, meant)
    if _DAY_NUMBER.fullmatch(text):
        day = datetime.date(1899, 12, 30) + datetime.timedelta(days=int(text))
        raise CellError(
            "bad_date",
            said(
                "{written} looks like a spreadsheet's day number; it would be {day}.", written=text, day=day
            ),
            marked("Format the column as a date (YYYY-MM-DD) and save again."),
        )
    raise CellError(
        "bad_date",
        said("{written} is not a date.", written=repr(text)),
        marked("Write the day as YYYY-MM-DD, such as 2024-07-25."),
    )


def _not_iso(text: str, day: datetime.date) -> CellError:
    return CellError(
        "bad_date",
        said("{written} is not written as YYYY-MM-DD.", written=text),
        said("If it is meant, write {day}.", day=day),
    )


def _day(year: int, month: int, day: int) -> datetime.date | None:
    try:
        return datetime.date(year, month, day)
    except ValueError:
        return None


def parse_time(text: str) -> datetime.time:
    """A time of day on the clock of 24 hours: 9:40, 14:05 or 14:05:30."""
    if _TIME.fullmatch(text):
        try:
            return datetime.time.fromisoformat(text if text[2] == ":" else f"0{text}")
        except ValueError:
            pass
    raise CellError(
        "bad_time",
        said("{written} is not a time of day.", written=repr(text)),
        marked("Write hours and minutes of 24 hours, such as 14:05."),
    )


_WHOLE_REMEDY = marked("Write a whole number of 0 or more.")


def parse_whole(text: str) -> int:
    """A whole number of 0 or more; ``3.0`` is 3, as spreadsheets write it."""
    if whole := _WHOLE.fullmatch(text):
        number = int(whole[2])
        if whole[1] == "-" and number:
            raise CellError("negative", said("{written} is below zero.", written=text), _WHOLE_REMEDY)
        return number
    is_number = bool(_NUMBER.fullmatch(text))
    raise CellError(
        "not_a_whole_number",
        said("{written} is not a whole number.", written=text if is_number else repr(text)),
        _WHOLE_REMEDY
        if is_number
        else marked("Write digits only; leave the cell empty where nothing was recorded."),
    )


def parse_number(text: str) -> float:
    """A number with a decimal point; words such as NA are not numbers."""
    if _NUMBER.fullmatch(text):
        return float(text)
    if _DECIMAL_COMMA.fullmatch(text):
        raise CellError(
            "not_a_number",
            said("{written} has a comma where a decimal point is expected.", written=text),
            said("If a decimal is meant, write {written}.", written=text.replace(",", ".")),
        )
    raise CellError(
        "not_a_number",
        said("{written} is not a number.", written=repr(text)),
        marked("Write a number with a decimal point; leave the cell empty where nothing was recorded."),
    )


# What a spreadsheet may take for the start of a formula (OWASP ASVS 5.0, item 1.2.10), or that stands behind the
# sign that keeps it from doing so.
_LIKE_A_FORMULA = re.compile(r"'*[=+\-@\t\r\0]")


def guarded(text: str) -> str:
    """Free text for a file: an apostrophe in front keeps a spreadsheet from running it. The one home of this rule."""
    return f"'{text}" if _LIKE_A_FORMULA.match(text) else text


def unguarded(text: str) -> str:
    """The text as it was before ``guarded``."""
    return text[1:] if text.startswith("'") and _LIKE_A_FORMULA.match(text) else text


def text_up_to(limit: int) -> Parser:
    """Text of at most so many characters, without control characters."""

    def parse(text: str) -> str:
        text = unguarded(text)
        if len(text) > limit:
            raise CellError(
                "too_long",
                said("The text has {number} characters.", number=len(text)),
                said("Shorten it to {number}.", number=limit),
            )
        if any(ord(sign) < 32 and sign not in "\n\r\t" for sign in text):
            raise CellError(
                "bad_text", marked("The text has unprintable characters."), marked("Type it again by hand.")
            )
        return unicodedata.normalize("NFC", text)

    return parse


def parse_station_code(text: str) -> str:
    code: str = text_up_to(60)(text)
    if re.search(r"[\s/?#]", code):
        raise CellError(
            "bad_code",
            said("{written} is no station code.", written=repr(text)),
            marked("Use no spaces and no / ? # in a code."),
        )
    return code


def one_of(words: Mapping[str, Any]) -> Parser:
    """One of a few words, in any case."""
    listed = ", ".join(value if isinstance(value, str) else word for word, value in words.items() if word)

    def parse(text: str) -> Any:
        try:
            return words[fold(text)]
        except KeyError:
            raise CellError(
                "not_a_choice",
                said("{written} is not one of the words known here.", written=repr(text)),
                said("Write one of: {written}.", written=listed),
            ) from None

    return parse


def parse_list(one: Parser) -> Parser:
    """Several values parted by semicolons, as a tuple; blanks between two semicolons are passed over."""

    def parse(text: str) -> tuple[Any, ...]:
        return tuple(one(part.strip()) for part in text.split(";") if part.strip())

    return parse


def number_between(low: float, high: float) -> Parser:
    """A number within limits, for the values of a list."""

    def parse(text: str) -> float:
        number = parse_number(text)
        if not low <= number <= high:
            raise CellError(
                "out_of_range",
                said(
                    "{value} is outside what is possible ({low} to {high}).",
                    value=text,
                    low=f"{low:g}",
                    high=f"{high:g}",
                ),
                marked("Check the unit and the decimal point against the field sheet."),
            )
        return number

    return parse


def is_number(text: str, digits: int = 18) -> bool:
    """Whether a text is nothing but so many digits at most: such as ``²`` are digits of no number."""
    return text.isascii() and text.isdigit() and len(text) <= digits


def cell_text(value: Any) -> str:
    """A value as a file gives it; read again it is the very same."""
    if value is None or value is False:
        return ""
    if value is True:
        return "1"
    if isinstance(value, tuple | list):
        return "; ".join(cell_text(one) for one in value)
    if isinstance(value, float):
        # Every digit, and never an exponent.
        return format(Decimal(repr(value)), "f")
    if isinstance(value, datetime.time):
        return value.isoformat("auto" if value.second or value.microsecond else "minutes")
    return str(value)


_FLAGS = {
    "1": True,
    "yes": True,
    "true": True,
    "y": True,
    "0": False,
    "no": False,
    "false": False,
    "n": False,
}
parse_flag = one_of(_FLAGS)
