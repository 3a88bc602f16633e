"""Fresh figures for PostgreSQL's query planner after many rows were stored at once.

Until the database looks by itself, some minutes later, it takes a table for as large as it last was. A
season of many thousand rows in a table that was empty then gets plans for an empty table, and what reads it
right after (the results of the stations) can take minutes instead of a second.
"""

from django.db import connection

from surveys.models import Catch, RemovalPass, Station, Taxon, Visit, VisitStep, Watershed

# A file of fewer rows does not change a plan.
MANY_ROWS = 2_000
_TABLES = (Watershed, Station, Taxon, Visit, VisitStep, RemovalPass, Catch)


def refresh_statistics() -> None:
    """Look at the tables of visits now; rows of the transaction that is under way count."""
    names = ", ".join(connection.ops.quote_name(model._meta.db_table) for model in _TABLES)
    with connection.cursor() as cursor:
        cursor.execute(f"ANALYZE {names}")
