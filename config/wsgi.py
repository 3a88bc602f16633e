"""The entry point for a web server: ``gunicorn config.wsgi``."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

application = get_wsgi_application()


def _read_ahead() -> None:
    """Read pages and index methods at the start of a process, so that no reader waits for it."""
    from django.urls import get_resolver

    from trends.index.method import load_method, method_codes

    get_resolver().url_patterns  # noqa: B018 - asking for them loads every page's module
    for code in method_codes():
        load_method(code)


_read_ahead()
