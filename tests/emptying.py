"""Empty tables after a test that commits, without making anew what every migration leaves behind.

Django empties all tables after such a test and then sends the signal of a finished migration, so that content
types, permissions and the groups of our roles are made again. That costs several times what the emptying does,
some three hundred times a run. They are the same after as before, so they stay; where a test did change them,
all is done as Django does it.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, NamedTuple

from django.contrib.auth.models import Group, Permission
from django.contrib.contenttypes.models import ContentType
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import connection, transaction

from surveys.first_records import ensure_a_method

KEPT = (ContentType, Permission, Group, Group.permissions.through)
# Cutting a table off makes new files for it and its indexes; a few rows are deleted sooner.
FEW_BYTES = 4_000_000


class Copy(NamedTuple):
    """Records that ``tests.copies`` puts back: what their maker gave, and the rows of each table."""

    made: Any
    rows: dict[str, bytes]


def _kept_rows() -> list[list[tuple[Any, ...]]]:
    return [list(model._default_manager.order_by("pk").values_list()) for model in KEPT]


def filled_tables(tables: list[str]) -> list[tuple[str, int]]:
    """Tables that hold a row, with their bytes."""
    each = "SELECT '{0}', pg_relation_size('{0}') WHERE EXISTS (SELECT 1 FROM {0})"
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(each.format(one) for one in tables))
        return cursor.fetchall()


def tables_of_the_record() -> list[str]:
    """The tables of the project; people and their sessions stand in others."""
    all_tables = connection.introspection.django_table_names(only_existing=True, include_views=False)
    return [one for one in all_tables if one.startswith(("surveys_", "trends_"))]


def rows_of_the_record() -> dict[str, int]:
    """How many rows each table of the project holds."""
    tables = tables_of_the_record()
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(f"SELECT '{one}', count(*) FROM {one}" for one in tables))
        return dict(cursor.fetchall())


def _delete_all(tables: list[str]) -> bool:
    """Delete what is in the tables, unless it is much. Whoever still writes is waited for.

    Without triggers: neither the history nor the guards of closed seasons have a say in tidying up.
    """
    with transaction.atomic(), connection.cursor() as cursor:
        names = [connection.ops.quote_name(one) for one in tables]
        cursor.execute(f"LOCK TABLE {', '.join(names)} IN EXCLUSIVE MODE")
        filled = filled_tables(tables)
        if sum(size for _, size in filled) > FEW_BYTES:
            return False
        cursor.execute("SET LOCAL session_replication_role = replica")
        for one, _ in filled:
            cursor.execute(f"DELETE FROM {connection.ops.quote_name(one)}")
    return True


class Emptying:
    """What stands in the kept tables is remembered when the database is new."""

    def __init__(self) -> None:
        self.kept_rows = _kept_rows()
        self.nothing = rows_of_the_record()
        self.standing: dict[str, int] | None = None
        self.copies: dict[Callable[[], Any], Copy] = {}
        with connection.cursor() as cursor:
            cursor.execute("SELECT current_setting('is_superuser') = 'on'")
            (self.superuser,) = cursor.fetchone()

    @contextmanager
    def made_to_stand(self) -> Iterator[None]:
        """What is made in here stays after each test, until ``let_go``; the tests of it only read."""
        yield
        self.standing = rows_of_the_record()

    def let_go(self) -> None:
        self.standing = None
        self.after_test()

    def after_test(self) -> None:
        if self.standing is not None:
            assert rows_of_the_record() == self.standing, (
                "a test wrote into records that its whole file reads"
            )
            return
        if _kept_rows() != self.kept_rows:
            call_command("flush", verbosity=0, interactive=False, reset_sequences=False)
            self.kept_rows = _kept_rows()
            self.copies.clear()  # they name groups by numbers that are no longer given
            return
        kept = {model._meta.db_table for model in KEPT}
        all_tables = connection.introspection.django_table_names(only_existing=True, include_views=False)
        tables = [one for one in all_tables if one not in kept]
        if not (self.superuser and _delete_all(tables)):
            connection.ops.execute_sql_flush(connection.ops.sql_flush(no_style(), tables))
        ensure_a_method()  # the default method, which every migration leaves behind where there is none
