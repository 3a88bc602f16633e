"""What a column of a file is: heading, meaning, unit, limits, example, and where its value is stored. Pure code."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from surveys.said import marked, said
from surveys.uploads.values import (
    CellError,
    Parser,
    fold,
    one_of,
    parse_flag,
    parse_list,
    parse_number,
    parse_whole,
    refuse_failed_formula,
    text_up_to,
)

ROW, PASS, VISIT = "row", "pass", "visit"


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a file.

    ``hard`` limits refuse a value, ``ask`` limits and ``ask_words`` make a person look. ``scope`` says
    over which rows the value has to be the same: its own row, all rows of a pass, or all rows of a visit.
    """

    name: str
    meaning: str
    kind: str  # the word of the published schema: string, date, time, integer, number, boolean
    parse: Parser
    example: str
    required: bool = False
    unit: str = ""
    scope: str = ROW
    hard: tuple[float | None, float | None] = (None, None)
    ask: tuple[float | None, float | None] = (None, None)
    words: Sequence[str] = ()
    list_words: Sequence[str] = ()  # of which the cell holds a list
    ask_words: Sequence[str] = ()
    other_headings: Sequence[str] = ()
    title: str = ""  # the value in the words of the pages
    field: str = ""  # where it is stored, if not under its own name
    blank: Any = None  # what is stored where nothing is given

    @property
    def stored_as(self) -> str:
        return self.field or self.name

    @property
    def title_with_unit(self) -> str:
        return f"{self.title}, {self.unit}" if self.unit not in ("", "fish") else self.title

    def read(self, text: str) -> Any:
        """The value of a cell that is not empty.

        Raises
        ------
        CellError : it cannot be read, or lies outside the hard limits
        """
        refuse_failed_formula(text)
        value = self.parse(text)
        if self.kind in ("integer", "number"):
            low, high = self.hard
            if (low is not None and value < low) or (high is not None and value > high):
                code = "negative" if value < 0 and low == 0 else "out_of_range"
                raise CellError(
                    code,
                    _impossible(self._with_unit(text), low, high),
                    marked("Check the unit and the decimal point against the field sheet."),
                )
        return value

    def asks(self, value: Any, limits: tuple[float | None, float | None] | None = None) -> str:
        """Why a person should look at this value, or nothing; ``limits`` in place of its own."""
        if value in self.ask_words:
            return said(
                "{column} is {written}: that is worth a second look.", column=self.name, written=repr(value)
            )
        low, high = self.ask if limits is None else limits
        if low is None and high is None:
            return ""
        if (low is not None and value < low) or (high is not None and value > high):
            return _unusual(self._with_unit(f"{value:g}"), low, high)
        return ""

    def _with_unit(self, number: str) -> str:
        # The two units that are words; the others are the same in every language.
        if self.unit == "fish":
            return said("{number} fish", number=number)
        if self.unit == "people":
            return said("{number} people", number=number)
        return f"{number} {self.unit}".strip()


def _plain(limit: float | None) -> str:
    """A limit with every digit: 1,000,000 and not 1e+06."""
    return "" if limit is None else f"{limit:,.12g}"


def _impossible(value: str, low: float | None, high: float | None) -> str:
    if low is None:
        return said("{value} is outside what is possible (at most {high}).", value=value, high=_plain(high))
    if high is None:
        return said("{value} is outside what is possible (at least {low}).", value=value, low=_plain(low))
    return said(
        "{value} is outside what is possible ({low} to {high}).",
        value=value,
        low=_plain(low),
        high=_plain(high),
    )


def _unusual(value: str, low: float | None, high: float | None) -> str:
    if low is None:
        return said("{value} is unusual (expected at most {high}).", value=value, high=_plain(high))
    if high is None:
        return said("{value} is unusual (expected at least {low}).", value=value, low=_plain(low))
    return said(
        "{value} is unusual (expected {low} to {high}).", value=value, low=_plain(low), high=_plain(high)
    )


def whole_column(name: str, meaning: str, example: str, most: float, **more: Any) -> Column:
    more.setdefault("hard", (0, most))
    return Column(name=name, meaning=meaning, kind="integer", parse=parse_whole, example=example, **more)


def number_column(
    name: str, meaning: str, example: str, low: float | None, high: float | None, **more: Any
) -> Column:
    return Column(
        name=name,
        meaning=meaning,
        kind="number",
        parse=parse_number,
        example=example,
        hard=(low, high),
        **more,
    )


def text_column(name: str, meaning: str, example: str, limit: int, **more: Any) -> Column:
    more.setdefault("parse", text_up_to(limit))
    return Column(name=name, meaning=meaning, kind="string", example=example, **more)


def words_column(name: str, meaning: str, example: str, words: Sequence[str], **more: Any) -> Column:
    parse = one_of({fold(word): word for word in words})
    return text_column(name, meaning, example, 0, parse=parse, words=tuple(words), **more)


def list_column(name: str, meaning: str, example: str, parse: Parser, **more: Any) -> Column:
    """Several values in one cell, parted by semicolons."""
    return Column(
        name=name,
        meaning=meaning,
        kind="string",
        parse=parse_list(parse),
        example=example,
        blank=(),
        **more,
    )


def flag_column(name: str, meaning: str, example: str = "1", **more: Any) -> Column:
    return Column(name=name, meaning=meaning, kind="boolean", parse=parse_flag, example=example, **more)
