"""Query parameters: filters, page size and position, each read strictly and explained when refused."""

import datetime
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from django.db.models import Model
from django.http import QueryDict

from trends.api.problems import BAD_PARAMETER, NOT_ON_RECORD, ApiProblem, ParameterError

DEFAULT_LIMIT = 100
GREATEST_LIMIT = 1_000
GREATEST_ID = 2**63 - 1
FilterKind = Literal["text", "date", "year", "word", "yes_no"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """Records that a filter names one of: an unknown name is a slip of the pen, not an empty answer."""

    model: type[Model]
    field: str
    what: str
    listed_at: str

    def knows(self, name: str) -> bool:
        return self.model._default_manager.filter(**{self.field: name}).exists()

    def unknown(self, name: str) -> str:
        shown = name if len(name) <= 60 else f"{name[:59]}…"
        return f"No {self.what} goes by “{shown}”. The names stand at {self.listed_at}."


@dataclass(frozen=True, slots=True, kw_only=True)
class Filter:
    """One way to narrow a list: the parameter, what it may be, and the field it compares."""

    name: str
    text: str
    field: str
    kind: FilterKind = "text"
    words: tuple[str, ...] = ()
    of: "Named | None" = None

    def schema(self) -> dict[str, Any]:
        match self.kind:
            case "date":
                return {"type": "string", "format": "date"}
            case "year":
                return {"type": "integer", "minimum": 1800, "maximum": 2200}
            case "word":
                return {"type": "string", "enum": list(self.words)}
            case "yes_no":
                return {"type": "boolean"}
        return {"type": "string", "minLength": 1, "maxLength": 200}

    def read(self, text: str) -> Any:
        """The value to compare with; ValueError says what it may be."""
        match self.kind:
            case "date":
                if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text, re.ASCII):
                    raise ValueError("a date as YYYY-MM-DD")
                try:
                    return datetime.date.fromisoformat(text)
                except ValueError:
                    raise ValueError("a date of the calendar as YYYY-MM-DD") from None
            case "year":
                if not re.fullmatch(r"\d{4}", text, re.ASCII) or not 1800 <= int(text) <= 2200:
                    raise ValueError("a year from 1800 to 2200")
                return int(text)
            case "word":
                if text not in self.words:
                    raise ValueError(f"one of: {', '.join(self.words)}")
                return text
            case "yes_no":
                if text not in ("true", "false"):
                    raise ValueError("true or false")
                return text == "true"
        if not 1 <= len(text) <= 200 or "\x00" in text:
            raise ValueError("1 to 200 characters")
        return text


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a request asks for: conditions by field, the page size, and the record it starts after."""

    conditions: dict[str, Any]
    limit: int
    after: int | None


def read_parameters(given: QueryDict, filters: Sequence[Filter], *, paged: bool = True) -> Asked:
    """Read every parameter; all faults are told at once.

    Raises
    ------
    ApiProblem : an unknown parameter, one given twice, a value that cannot be used, or a name of nothing on record
    """
    errors: list[ParameterError] = []
    named: list[tuple[Filter, str]] = []
    known = {one.name: one for one in filters}
    conditions: dict[str, Any] = {}
    limit, after = DEFAULT_LIMIT, None

    def wrong(name: str, code: str, detail: str) -> None:
        errors.append(ParameterError(parameter=name[:60], code=code, detail=detail))

    for name, values in given.lists():
        text = values[-1]
        if len(values) > 1:
            wrong(name, "repeated", "Give each parameter once.")
        elif name == "format":
            continue
        elif name == "limit" and paged:
            if re.fullmatch(r"\d{1,6}", text, re.ASCII) and 1 <= int(text) <= GREATEST_LIMIT:
                limit = int(text)
            else:
                wrong(name, "invalid", f"Must be a whole number from 1 to {GREATEST_LIMIT}.")
        elif name == "after" and paged:
            if re.fullmatch(r"\d{1,19}", text, re.ASCII) and int(text) <= GREATEST_ID:
                after = int(text)
            else:
                wrong(name, "invalid", "Must be taken from the link to the next page.")
        elif name in known:
            try:
                conditions[known[name].field] = known[name].read(text)
                named.append((known[name], text))
            except ValueError as error:
                wrong(name, "invalid", f"Must be {error}.")
        else:
            offered = ["format", *(["limit", "after"] if paged else []), *known]
            wrong(name, "unknown", f"Not known here. Offered: {', '.join(offered)}.")
    if errors:
        raise ApiProblem(BAD_PARAMETER, errors=errors)
    for one, text in named:
        if one.of is not None and not one.of.knows(text):
            wrong(one.name, "not-on-record", one.of.unknown(text))
    if errors:
        raise ApiProblem(NOT_ON_RECORD, errors=errors)
    return Asked(conditions=conditions, limit=limit, after=after)
