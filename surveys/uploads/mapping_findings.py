"""What is odd in a file of another layout, in words, while its rows are made into those of a season file. Pure code."""

from collections.abc import Mapping, Sequence
from typing import Protocol

from surveys.said import said, said_n
from surveys.uploads.findings import ERROR, WARNING, Finding

Visit = tuple[str, str]  # station and day, as texts


class SheetLine(Protocol):
    """Where something stands: the name of its sheet, and its line there."""

    sheet: str
    number: int


def without_catch(
    told: Mapping[tuple[Visit, str], bool],
    facts: Mapping[Visit, dict[str, str]],
    passes: Mapping[tuple[Visit, str], dict[str, str]],
    findings: list[Finding],
) -> None:
    """Remark on visits and passes that the file tells of, and gives no catch for.

    Parameters
    ----------
    told : passes with rows of their own, and whether any caught a fish
    """
    caught = {visit for visit, _ in told}
    missing = [
        said(
            "{written_station} on {written_day} has no catch in this file, so it makes no row. "
            "Empty is not zero.",
            written_station=visit[0],
            written_day=visit[1],
        )
        for visit in facts
        if visit not in caught
    ]
    missing += [
        said(
            "pass {written} of {written_station} on {written_day} has no catch in this file, so it makes no row. "
            "Empty is not zero.",
            written=number,
            written_station=visit[0],
            written_day=visit[1],
        )
        for visit, number in passes
        if visit in caught and (visit, number) not in told
    ]
    findings += [
        Finding(
            level=WARNING,
            code="no_catch_on_record",
            message=words,
            remedy=said("Add a row “no fish” with count 0 if the pass was made and caught nothing."),
        )
        for words in missing
    ]


def of_several(sheet: str, name: str, lines: Sequence[int]) -> Finding:
    """That a value which stands once on a line of several catches is left out, told once for a column."""
    return Finding(
        level=WARNING,
        code="value_of_several",
        row=lines[0],
        column=name,
        message=said_n(
            "{written_sheet}: {column} stands once on {n} line of several passes or taxa. It belongs to none of "
            "them alone, so it is left out.",
            "{written_sheet}: {column} stands once on each of {n} lines of several passes or taxa. It belongs to "
            "none of them alone, so it is left out.",
            len(lines),
            written_sheet=sheet,
            column=name,
        ),
        remedy=said(
            "Give each pass or taxon a column of its own, or map the weight of a whole pass as {column}.",
            column="pass_biomass_g",
        ),
    )


def odd(
    line: SheetLine, code: str, message: str, remedy: str, *, column: str = "", level: str = ERROR
) -> Finding:
    """A remark on one line of a sheet."""
    return Finding(
        level=level,
        code=code,
        row=line.number,
        column=column,
        message=message,
        remedy=remedy,
    )
