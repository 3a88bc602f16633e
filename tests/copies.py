"""Records that are made once and copied for each test that asks for them.

Making a creek of some years goes through every rule, trigger and computation, which takes up to seconds; putting
the same rows back takes hundredths. Each test still has records of its own, which it may change as it likes.
"""

from collections.abc import Callable
from copy import deepcopy
from typing import Any, TypeVar

from django.core.cache import cache
from django.db import connection, transaction

from tests.emptying import KEPT, Copy, Emptying, filled_tables, rows_of_the_record, tables_of_the_record

T = TypeVar("T")
# Bytes of records from which on they are a county and not a creek.
MUCH = 1_000_000


def _rows(table: str) -> bytes:
    with connection.cursor() as cursor, cursor.copy(f"COPY {table} TO STDOUT") as lines:
        return b"".join(lines)


def _other_rows(record: list[str]) -> dict[str, set[bytes]]:
    """People, sessions and whatever else is no part of the record, line by line."""
    kept = {model._meta.db_table for model in KEPT}
    all_tables = connection.introspection.django_table_names(only_existing=True, include_views=False)
    others = [one for one in all_tables if one not in kept and one not in record]
    return {one: set(_rows(one).splitlines(keepends=True)) for one, _ in filled_tables(others)}


class MadeOnce:
    """``made_once(make)`` gives what ``make()`` gave and the rows it made, as if it had been called again.

    It has to be the first to make records in its test: what stands in the tables of the record is replaced.
    """

    def __init__(self, emptying: Emptying) -> None:
        self.new = emptying

    def __call__(self, make: Callable[[], T]) -> T:
        assert rows_of_the_record() == self.new.nothing, "made_once makes the first records of a test"
        if not self.new.superuser:  # rows may not be put back without their triggers
            return make()
        found = self.new.copies.get(make)
        if found is None:
            found = self.new.copies[make] = self._made(make)
        else:
            self._put_back(found)
        return deepcopy(found.made)

    def _made(self, make: Callable[[], Any]) -> Copy:
        record = tables_of_the_record()
        before = _other_rows(record)
        made = deepcopy(make())
        rows = {one: _rows(one) for one, _ in filled_tables(record)}
        for one, lines in _other_rows(record).items():
            if new := lines - before.get(one, set()):
                rows[one] = b"".join(sorted(new))
        return Copy(made, rows)

    def _put_back(self, found: Copy) -> None:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET LOCAL session_replication_role = replica")
            for one, _ in filled_tables(tables_of_the_record()):
                cursor.execute(f"DELETE FROM {one}")
            for one, lines in found.rows.items():
                with cursor.copy(f"COPY {one} FROM STDIN") as into:
                    into.write(lines)
            cursor.execute("SET LOCAL session_replication_role = origin")
            if sum(map(len, found.rows.values())) > MUCH:
                # As the programme does after many rows: plans made for empty tables would take minutes here.
                cursor.execute(f"ANALYZE {', '.join(found.rows)}")
        # Answers of the programme that are kept by the number of a creek and the time of its results.
        cache.clear()
