"""What is said about a file: one remark with its place, what is wrong and what to do. Pure code."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any, Final

from surveys.rules import key_of
from surveys.said import marked, said

ERROR: Final = "error"  # nothing of the file is stored
WARNING: Final = "warning"  # odd, but may be true: a person has to look
NOTE: Final = "note"  # said so that nobody is surprised

_ORDER = {ERROR: 0, WARNING: 1, NOTE: 2}

# Beyond this many remarks of one kind a person reads the first ones and mends the cause.
MOST_OF_ONE_KIND = 1_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One remark. ``row`` is the line as a spreadsheet shows it; the headings are line 1."""

    level: str
    code: str
    message: str
    remedy: str = ""
    row: int | None = None
    column: str = ""
    value: str = ""

    def as_dict(self) -> dict[str, Any]:
        return asdict(self)

    @property
    def rule(self) -> str:
        """The key of the rule that it comes from."""
        return key_of(self.code, self.column)

    @property
    def place(self) -> str:
        """Where, in words: ``row 12, count``."""
        if self.row and self.column:
            return said("row {number}, {column}", number=self.row, column=self.column)
        if self.row:
            return said("row {number}", number=self.row)
        return self.column or marked("the file")


def has_errors(findings: Iterable[Finding]) -> bool:
    return any(finding.level == ERROR for finding in findings)


def in_order(findings: Iterable[Finding]) -> list[Finding]:
    """About the file first, then row by row, the gravest first within a row."""
    return sorted(
        findings, key=lambda f: (f.row if f.row is not None else 0, _ORDER[f.level], f.column, f.code)
    )


def shortened(findings: Iterable[Finding], most: int = MOST_OF_ONE_KIND) -> list[Finding]:
    """In order, with at most so many of each kind, and a closing remark that counts those left out."""
    kept: list[Finding] = []
    seen: dict[tuple[str, str], int] = {}
    for finding in in_order(findings):
        kind = (finding.level, finding.code)
        seen[kind] = seen.get(kind, 0) + 1
        if seen[kind] <= most:
            kept.append(finding)
    for (level, code), number in seen.items():
        if number > most:
            kept.append(
                Finding(
                    level=level,
                    code=code,
                    message=said(
                        "{number} more rows have the same remark; {listed} are listed.",
                        number=f"{number - most:,}",
                        listed=f"{most:,}",
                    ),
                    remedy=marked("Mend the cause in the whole column, then send the file again."),
                )
            )
    return kept


def count_by_level(findings: Iterable[Finding]) -> dict[str, int]:
    counts = {ERROR: 0, WARNING: 0, NOTE: 0}
    for finding in findings:
        counts[finding.level] += 1
    return counts
