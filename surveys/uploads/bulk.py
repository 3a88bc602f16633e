"""Many rows at once: keys drawn in one query, rows sent through the database's COPY."""

from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np
from django.db import connection, models
from numpy.typing import NDArray

from surveys.models import Catch, RemovalPass
from surveys.uploads.columns import CATCH_COLUMNS, PASS_COLUMNS, Column
from surveys.uploads.grouping import Grouped
from surveys.uploads.values import cell_text

_ROWS_PER_WRITE = 20_000
_ESCAPED = str.maketrans({"\\": "\\\\", "\t": "\\t", "\n": "\\n", "\r": "\\r"})


def next_ids(model: type[models.Model], number: int) -> list[int]:
    """Draw so many unused keys of a table."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT nextval(pg_get_serial_sequence(%s, 'id')) FROM generate_series(1, %s)",
            [model._meta.db_table, number],
        )
        return [row[0] for row in cursor.fetchall()]


def copy_rows(model: type[models.Model], columns: Iterable[str], lines: Iterator[str]) -> None:
    """Send lines of tab-separated values, as ``_cell`` writes them, into a table."""
    quote = connection.ops.quote_name
    names = ", ".join(quote(column) for column in columns)
    with (
        connection.cursor() as cursor,
        cursor.copy(f"COPY {quote(model._meta.db_table)} ({names}) FROM STDIN") as copy,
    ):
        block: list[str] = []
        for line in lines:
            block.append(line)
            if len(block) >= _ROWS_PER_WRITE:
                copy.write("".join(block))
                block.clear()
        if block:
            copy.write("".join(block))


def insert_passes(rows: Grouped, visit_ids: dict[int, int]) -> NDArray[np.int64]:
    """Store the passes of some visits.

    Parameters
    ----------
    visit_ids : number of a visit in the file -> its key

    Returns
    -------
    Key of each pass of the file, shape (passes,); -1 for passes of other visits.
    """
    of_visit = np.full(rows.visit_count, -1, dtype=np.int64)
    of_visit[list(visit_ids)] = list(visit_ids.values())
    wanted = np.flatnonzero(of_visit[rows.visit_of_pass] >= 0)
    keys = np.full(rows.pass_count, -1, dtype=np.int64)
    keys[wanted] = next_ids(RemovalPass, len(wanted))
    columns = _given(rows, PASS_COLUMNS)
    values = [[_cell(v, column) for v in rows.pass_values(column.name)] for column in columns]
    copy_rows(
        RemovalPass,
        ("id", "visit_id", "pass_number", *(column.stored_as for column in columns)),
        (
            "\t".join(
                (
                    f"{keys[p]}\t{of_visit[rows.visit_of_pass[p]]}\t{rows.number_of_pass[p]}",
                    *(of_column[p] for of_column in values),
                )
            )
            + "\n"
            for p in wanted
        ),
    )
    return keys


def insert_catches(rows: Grouped, pass_keys: NDArray[np.int64], taxa: dict[str, int]) -> None:
    """Store the catches of the passes that have a key; rows with count 0 are not stored."""
    taxon = rows.cells["taxon"]
    taxon_keys = np.array([*(taxon_id(value, taxa) for value in taxon.values), -1, -1], dtype=np.int64)
    keys_of_row = taxon_keys[taxon.codes]
    count = rows.cells["count"]
    caught = (rows.pass_of_row >= 0) & (keys_of_row >= 0) & (np.nan_to_num(count.numbers()) > 0)
    at = np.flatnonzero(caught)
    at = at[pass_keys[rows.pass_of_row[at]] >= 0]
    columns = _given(rows, CATCH_COLUMNS)
    texts = []
    for column in columns:
        cells = rows.cells[column.name]
        values = (*cells.values, None, None)
        words = np.array([_cell(value, column) for value in values], dtype=object)
        texts.append(words[cells.codes[at]].tolist())
    passes = pass_keys[rows.pass_of_row[at]].tolist()
    copy_rows(
        Catch,
        ("removal_pass_id", "taxon_id", *(column.stored_as for column in columns)),
        (
            "\t".join((str(p), str(t), *cells)) + "\n"
            for p, t, *cells in zip(passes, keys_of_row[at].tolist(), *texts, strict=True)
        ),
    )


def taxon_id(value: Any, taxa: dict[str, int]) -> int:
    """The key of a taxon as the checks name it, -1 for "no fish"; taxa made just now are in ``taxa``."""
    if value[0] == "known":
        return int(value[1])
    return taxa[value[1]] if value[0] == "new" else -1


def _given(rows: Grouped, columns: Iterable[Column]) -> list[Column]:
    """The columns that some row fills; the others take what the database gives by itself."""
    return [column for column in columns if rows.cells[column.name].filled.any()]


def _cell(value: Any, column: Column) -> str:
    """A value as the text form of COPY wants it."""
    if value is None:
        value = column.blank
    if value is None:
        return "\\N"
    if isinstance(value, str):
        return value.translate(_ESCAPED)
    return "t" if value is True else "f" if value is False else cell_text(value)
