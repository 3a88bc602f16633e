"""How one cell's text becomes a value: strict, and never by guessing. Pure code."""

import datetime
import re
import unicodedata
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

_ISO_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_OTHER_DATE = re.compile(r"([0-9]{1,2})([/.-])([0-9]{1,2})\2([0-9]{4})")
_DAY_NUMBER = re.compile(r"[34][0-9]{4}")
_NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]*)?([eE][+-]?[0-9]{1,2})?")
_WHOLE = re.compile(r"([+-]?)([0-9]{1,15})(\.0*)?")
_TIME = re.compile(r"[0-9]{1,2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{1,6})?)?")
_DECIMAL_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+")

Parser = Callable[[str], Any]


class CellError(ValueError):
    """A cell that cannot be read: a short code, what is wrong, and what to write instead."""

    def __init__(self, code: str, message: str, remedy: str) -> None:
        super().__init__(message)
        self.code, self.message, self.remedy = code, message, remedy


def fold(text: str) -> str:
    """A name as it is compared: case, kinds of space and of accent marks no longer matter."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


def parse_date(text: str) -> datetime.date:
    """A day written YYYY-MM-DD. Any other order of day and month is asked about."""
    if _ISO_DATE.fullmatch(text):
        try:
            return datetime.date.fromisoformat(text)
        except ValueError:
            raise CellError(
                "bad_date", f"There is no day {text} in the calendar.", "Write the day as YYYY-MM-DD."
            ) from None
    if other := _OTHER_DATE.fullmatch(text):
        first, second, year = int(other[1]), int(other[3]), int(other[4])
        readings = {day for day in (_day(year, second, first), _day(year, first, second)) if day is not None}
        if len(readings) == 2:
            early, late = sorted(readings)
            raise CellError(
                "ambiguous_date",
                f"{text} can be read as {early:%d %B %Y} or as {late:%d %B %Y}.",
                f"Write {early} or {late}, whichever is meant.",
            )
        if readings:
            raise CellError(
                "bad_date",
                f"{text} is not written as YYYY-MM-DD.",
                f"If it is meant, write {readings.pop()}.",
            )
    if _DAY_NUMBER.fullmatch(text):
        day = datetime.date(1899, 12, 30) + datetime.timedelta(days=int(text))
        raise CellError(
            "bad_date",
            f"{text} looks like a spreadsheet's day number; it would be {day}.",
            "Format the column as a date (YYYY-MM-DD) and save again.",
        )
    raise CellError(
        "bad_date", f"{text!r} is not a date.", "Write the day as YYYY-MM-DD, such as 2024-07-25."
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
        "bad_time", f"{text!r} is not a time of day.", "Write hours and minutes of 24 hours, such as 14:05."
    )


def parse_whole(text: str) -> int:
    """A whole number of 0 or more; ``3.0`` is 3, as spreadsheets write it."""
    if whole := _WHOLE.fullmatch(text):
        number = int(whole[2])
        if whole[1] == "-" and number:
            raise CellError("negative", f"{text} is below zero.", "Write a whole number of 0 or more.")
        return number
    if _NUMBER.fullmatch(text):
        raise CellError(
            "not_a_whole_number", f"{text} is not a whole number.", "Write a whole number of 0 or more."
        )
    raise CellError(
        "not_a_whole_number",
        f"{text!r} is not a whole number.",
        "Write digits only; leave the cell empty where nothing was recorded.",
    )


def parse_number(text: str) -> float:
    """A number with a decimal point; words such as NA are not numbers."""
    if _NUMBER.fullmatch(text):
        return float(text)
    if _DECIMAL_COMMA.fullmatch(text):
        raise CellError(
            "not_a_number",
            f"{text} has a comma where a decimal point is expected.",
            f"If a decimal is meant, write {text.replace(',', '.')}.",
        )
    raise CellError(
        "not_a_number",
        f"{text!r} is not a number.",
        "Write a number with a decimal point; leave the cell empty where nothing was recorded.",
    )


def text_up_to(limit: int) -> Parser:
    """Text of at most so many characters, without control characters."""

    def parse(text: str) -> str:
        if len(text) > limit:
            raise CellError("too_long", f"The text has {len(text)} characters.", f"Shorten it to {limit}.")
        if any(ord(sign) < 32 and sign not in "\n\r\t" for sign in text):
            raise CellError("bad_text", "The text has unprintable characters.", "Type it again by hand.")
        return unicodedata.normalize("NFC", text)

    return parse


def parse_station_code(text: str) -> str:
    code: str = text_up_to(60)(text)
    if re.search(r"[\s/?#]", code):
        raise CellError("bad_code", f"{text!r} is no station code.", "Use no spaces and no / ? # in a code.")
    return code


def one_of(words: Mapping[str, Any]) -> Parser:
    """One of a few words, in any case."""
    listed = ", ".join(value if isinstance(value, str) else word for word, value in words.items() if word)

    def parse(text: str) -> Any:
        try:
            return words[fold(text)]
        except KeyError:
            raise CellError(
                "not_a_choice", f"{text!r} is not one of the words known here.", f"Write one of: {listed}."
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
                f"{text} is outside what is possible ({low:g} to {high:g}).",
                "Check the unit and the decimal point against the field sheet.",
            )
        return number

    return parse


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
