"""Sets up the demo from nothing, computes its results, and serves it."""

import argparse
import os
import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection, connections
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone
from gunicorn.app.base import BaseApplication

from config.database import data_dir
from surveys.uploads.values import is_number
from trends import demo, demo_season

DEFAULT_PORT = 8000
HOST = "127.0.0.1"


class Command(BaseCommand):
    help = (
        "Everything from nothing: database, demo data of an invented county, demo logins, results; then serves it "
        "on this computer. A second start finds what is there and only serves."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="set everything up, then stop")
        parser.add_argument(
            "--port", type=_port, default=DEFAULT_PORT, help=f"port to serve on ({DEFAULT_PORT})"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        port, serve = options["port"], not options["no_serve"]
        if serve:
            _refuse_taken(port)
        started = time.monotonic()
        self._say(f"Rillmark demo: {demo.COUNTY}, an invented place")
        try:
            logins = self._set_up()
        except demo.DemoRefused as refusal:
            raise CommandError(str(refusal)) from None
        self._say(
            f"Ready after {time.monotonic() - started:.1f} s. Logins, one per role, for this database alone:"
        )
        for role, password in logins.items():
            self._say(f"  {role:<15}{password}")
        if serve:
            _refuse_taken(port)
            self._serve(port)

    def _set_up(self) -> dict[str, str]:
        with self._step("Database") as done:
            done(_bring_schema_up_to_date())
            demo.claim_database()
        with self._step("Logins"):
            logins = demo.make_logins(data_dir() / "demo_logins.json")
        with self._step("Methods, taxa, stations, notes, land cover") as done:
            done("loaded" if demo.load_lists() else "already there")
        with self._step("Seasons and their results") as done:
            done("loaded" if demo.load_seasons(say=self._progress) else "already there")
        with self._step("Plans of seasons, permits") as done:
            done("loaded" if demo_season.load_plans(timezone.localdate()) else "already there")
        with self._step("Results out of date") as done:
            number = demo.bring_results_up_to_date()
            done(f"{number} watersheds computed" if number else "none")
        return logins

    @contextmanager
    def _step(self, name: str) -> Iterator[Any]:
        """Say what is done, and how long it took; ``done`` takes what came of it."""
        words: list[str] = []
        started = time.monotonic()
        yield words.append
        told = f": {words[-1]}" if words else ""
        self._say(f"  {time.monotonic() - started:5.1f} s  {name}{told}")

    def _progress(self, name: str) -> None:
        if self.stdout.isatty():
            self.stdout.write(f"           {name}", ending="\r")
            self.stdout.flush()

    def _say(self, words: str) -> None:
        self.stdout.write(words)
        self.stdout.flush()

    def _serve(self, port: int) -> None:
        self._say(f"Open http://{HOST}:{port}/ in a browser on this computer. Stop with Ctrl+C.")
        settings.COUNTY_NAME = os.environ["COUNTY_NAME"] = demo.COUNTY
        # The workers are copies of this process, so that nothing is imported twice; each has to open
        # connections of its own.
        connections.close_all()
        connection.close_pool()  # type: ignore[attr-defined] # PostgreSQL connections have one
        _Server(port).run()


class _Server(BaseApplication):
    """gunicorn with the site in it, run by this process."""

    def __init__(self, port: int) -> None:
        self._port = port
        super().__init__()

    def load_config(self) -> None:
        for name, value in {
            "bind": f"{HOST}:{self._port}",
            "workers": 2,
            "threads": 4,
            "preload_app": True,
            "loglevel": "warning",
            "graceful_timeout": 5,
            "proc_name": "rillmark demo",
        }.items():
            self.cfg.set(name, value)

    def load(self) -> Any:
        from config.wsgi import application

        return application


def _port(text: str) -> int:
    number = int(text) if is_number(text, 5) else 0
    if not 1 <= number <= 65535:
        raise argparse.ArgumentTypeError(
            f"{text} is no port: write a number from 1 to 65535, such as {DEFAULT_PORT}."
        )
    return number


def _refuse_taken(port: int) -> None:
    with socket.socket() as probe:
        # As the server itself does: a port that was left a moment ago counts as free.
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, port))
        except PermissionError:
            raise CommandError(
                f"Port {port} may not be used by this account. Choose one above 1023."
            ) from None
        except OSError:
            other = port + 1 if port < 65535 else DEFAULT_PORT
            raise CommandError(
                f"Port {port} is taken, perhaps by a demo that still runs. Stop it, or choose another port: "
                f"uv run manage.py demo --port {other}"
            ) from None


def _bring_schema_up_to_date() -> str:
    executor = MigrationExecutor(connection)
    if not executor.migration_plan(executor.loader.graph.leaf_nodes()):
        return "already there"
    call_command("migrate", verbosity=0, interactive=False)
    return "set up"
