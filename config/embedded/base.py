"""The database backend: Django's own for PostgreSQL, with a server that is started on demand.

Commands that need no database (help, static files, type checks) therefore start none.
"""

from collections.abc import Iterable
from typing import Any

from django.db.backends.postgresql import base, client
from django.db.utils import OperationalError

from config.database import DatabaseUnavailable, ensure_running, program


class EmbeddedDatabaseUnavailable(DatabaseUnavailable, OperationalError):  # noqa: N818 - as its parent
    """What Django's own code and ours both expect of a database that cannot be reached."""


class DatabaseClient(client.DatabaseClient):
    """`manage.py dbshell`, with the psql that came with the server."""

    executable_name = str(program("psql"))

    def runshell(self, parameters: Iterable[str]) -> None:
        self.connection.get_connection_params()
        super().runshell(parameters)


class DatabaseWrapper(base.DatabaseWrapper):
    client_class = DatabaseClient

    def get_connection_params(self) -> dict[str, Any]:
        try:
            server = ensure_running()
        except DatabaseUnavailable as error:
            raise EmbeddedDatabaseUnavailable(str(error)) from error
        del server["NAME"]  # tests use a database of their own
        self.settings_dict.update(server)
        return super().get_connection_params()
