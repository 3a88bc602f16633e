"""What is said of a row or a heading of the wrong shape. Pure code."""

from surveys.uploads.findings import ERROR, WARNING, Finding


def no_heading(line: int, position: int) -> Finding:
    return Finding(
        level=WARNING,
        code="no_heading",
        row=line,
        message=f"Column {position} has values but no heading; it is passed over.",
        remedy="Give it a heading, or empty the column.",
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
        message=f"Line {top} fills {above} of the {below} columns that line {number} fills: "
        "it looks like a title over the table.",
        remedy="Delete the lines above the headings, so that they come first, and save again. "
        f"Where line {number} has headings of its own, send the file as an older file.",
    )


def ragged(number: int, found: int, expected: int) -> Finding:
    return Finding(
        level=ERROR,
        code="ragged_row",
        row=number,
        message=f"The row has {found} cells where the headings are {expected}.",
        remedy="Look for a missing or an extra separator, or a text with one that is not in quotes.",
    )
