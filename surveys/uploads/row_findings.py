"""What is said of a row or a heading of the wrong shape. Pure code."""

from typing import Final

from surveys.said import marked, said, said_n
from surveys.uploads.findings import ERROR, WARNING, Finding

# These name the line of the headings, which is no row of the table.
OF_HEADINGS: Final = frozenset({"no_heading", "title_above"})


def no_heading(line: int, position: int) -> Finding:
    return Finding(
        level=WARNING,
        code="no_heading",
        row=line,
        message=said("Column {number} has values but no heading; it is passed over.", number=position),
        remedy=marked("Give it a heading, or empty the column."),
    )


def title_above(top: int, headings: list[str], number: int, row: list[str]) -> Finding | None:
    """A title over the table is told as what it is; else every row below would be blamed for its length."""
    above, below = (sum(bool(cell.strip()) for cell in line) for line in (headings, row))
    if above > 2 or below < above + 3:
        return None
    return Finding(
        level=ERROR,
        code="title_above",
        row=top,
        value=next(cell for cell in headings if cell),
        message=said(
            "Line {line} fills {some} of the {all} columns that line {next} fills: it looks like a title over "
            "the table.",
            line=top,
            some=above,
            all=below,
            next=number,
        ),
        remedy=said(
            "Delete the lines above the headings, so that they come first, and save again. Where line {next} "
            "has headings of its own, send the file as an older file.",
            next=number,
        ),
    )


def ragged(number: int, found: int, expected: int) -> Finding:
    return Finding(
        level=ERROR,
        code="ragged_row",
        row=number,
        message=said_n(
            "The row has {n} cell where the headings are {expected}.",
            "The row has {n} cells where the headings are {expected}.",
            found,
            expected=expected,
        ),
        remedy=marked("Look for a missing or an extra separator, or a text with one that is not in quotes."),
    )
