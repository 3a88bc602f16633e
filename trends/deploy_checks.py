"""Checks of a server before it is opened to people: ``manage.py check --deploy``."""

from typing import Any

from django.core import checks
from django.db import DatabaseError

from config.database import DatabaseUnavailable
from config.settings import env


@checks.register(checks.Tags.security, deploy=True)
def no_demo_accounts_on_a_server(app_configs: Any, **kwargs: Any) -> list[checks.CheckMessage]:
    """Demo accounts belong to a demo's own database, not to one that a server uses."""
    if not env.database_url:
        return []
    from trends.demo import demo_accounts  # here, since it brings the reader of files into every start

    try:
        names = sorted(demo_accounts().values_list("username", flat=True))
    except (DatabaseError, DatabaseUnavailable):
        return []  # no schema yet, or no database: then there are no accounts either
    if not names:
        return []
    return [
        checks.Warning(
            f"The database of DATABASE_URL holds demo accounts: {', '.join(names)}.",
            hint="Delete them in the administration pages, or give the demo a database of its own.",
            id="trends.W001",
        )
    ]
