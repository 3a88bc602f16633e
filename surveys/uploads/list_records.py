"""What the lists of stations and of taxa have in common: what came of a list, and how a record takes a row."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from surveys.uploads.findings import ERROR, NOTE, Finding, has_errors

Row = dict[str, Any]


@dataclass(slots=True, kw_only=True)
class ListResult:
    """What a list did, or would do: how many records are new, changed and as they were."""

    findings: list[Finding] = field(default_factory=list)
    created: int = 0
    updated: int = 0
    same: int = 0
    rows: int = 0
    watersheds: list[str] = field(default_factory=list)  # names of those that are new with the list

    @property
    def has_errors(self) -> bool:
        return has_errors(self.findings)


def refuse(result: ListResult, row: Row, code: str, column: str, message: str, remedy: str) -> None:
    value = row.get(column)
    result.findings.append(
        Finding(
            level=ERROR,
            code=code,
            row=row["line"],
            column=column,
            value="" if value is None else str(value),
            message=message,
            remedy=remedy,
        )
    )


def apply(record: Any, fields: Row, label: str, line: int, result: ListResult) -> bool:
    """Set fields of a stored record; whether anything differed. Each change is a remark."""
    changes = []
    for name, value in fields.items():
        old = getattr(record, name)
        if old != value:
            changes.append(f"{name}: {_shown(old)} -> {_shown(value)}")
            setattr(record, name, value)
    if changes:
        result.findings.append(
            Finding(
                level=NOTE,
                code="record_changed",
                row=line,
                value=label,
                message=f"{label}: {'; '.join(changes)}.",
            )
        )
    return bool(changes)


def _shown(value: Any) -> str:
    return "empty" if value in (None, "") else str(value)


def values(model: type[Any], row: Row, names: Sequence[str]) -> Row:
    """Fields of a record from a row; an empty cell empties the field, in the way the field has."""
    return {
        name: ("" if row[name] is None and not model._meta.get_field(name).null else row[name])
        for name in names
        if name in row
    }
