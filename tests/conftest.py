"""What all tests share: people of each role, and a browser where one is installed."""

import os
import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import Group
from django.db import connection
from django.test import Client, TransactionTestCase
from django.utils import translation

from tests.copies import MadeOnce
from tests.emptying import Emptying

CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome")
BROWSER_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

if sys.dont_write_bytecode:
    # Asked to leave no compiled files beside the sources, as many containers do, Python compiles all it imports
    # anew in each of the many processes that the tests start. Here they go into the folder of pytest instead.
    sys.pycache_prefix = str(Path(__file__).resolve().parents[1] / ".pytest_cache" / "bytecode")
    sys.dont_write_bytecode = False
    os.environ["PYTHONPYCACHEPREFIX"] = sys.pycache_prefix
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# Files of browser tests that take longest, the longest first: begun last, they would leave one core waiting.
LONGEST = (
    "test_accessibility_of_staff.py",
    "test_tally_field_record.py",
    "test_charts_travel.py",
    "test_pictures_travel.py",
    "test_entry.py",
    "test_planner.py",
    "test_keyboard.py",
    "test_accessibility.py",
    "test_tally_meanwhile.py",
)


def _turn(item: pytest.Item) -> int:
    if "browser" not in item.keywords:
        return 0
    return 1 + (LONGEST.index(item.path.name) if item.path.name in LONGEST else len(LONGEST))


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Put the browser tests last, the longest of them first; skip them where no Chromium is installed.

    CI demands one by RILLMARK_REQUIRE_BROWSER.
    """
    items.sort(key=_turn)
    if chromium() or os.environ.get("RILLMARK_REQUIRE_BROWSER"):
        return
    skip = pytest.mark.skip(reason="no Chromium is installed (Debian: apt-get install chromium)")
    for item in items:
        if "browser" in item.keywords:
            item.add_marker(skip)


def chromium() -> str | None:
    return next((path for name in CHROMIUM_NAMES if (path := shutil.which(name))), None)


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: Any) -> Iterator[Emptying]:
    """The test database, and what empties it; before it is dropped, whoever is still connected is sent away.

    A request that a closing browser left behind may hold its connection for a moment after the last
    test, and a database in use cannot be dropped.
    """
    with django_db_blocker.unblock():
        emptying = Emptying()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", lambda case: emptying.after_test())
        yield emptying
    with django_db_blocker.unblock(), connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )


@pytest.fixture(scope="module")
def made_to_stand(
    django_db_setup: Emptying, django_db_blocker: Any
) -> Iterator[Callable[[], AbstractContextManager[None]]]:
    """For a file of browser tests that only read: ``with made_to_stand():`` in a fixture of the whole file."""
    with django_db_blocker.unblock():
        yield django_db_setup.made_to_stand
    with django_db_blocker.unblock():
        django_db_setup.let_go()


@pytest.fixture(scope="session")
def made_once(django_db_setup: Emptying) -> MadeOnce:
    """Records that many tests begin with: ``made_once(make)`` in a fixture calls ``make`` in the first of them,
    and puts the same rows back in the others."""
    return MadeOnce(django_db_setup)


@pytest.fixture(autouse=True)
def back_to_english() -> Iterator[None]:
    """A request for a Spanish page leaves its language in the thread; the next request sets its own, the
    next test does not."""
    yield
    translation.deactivate()


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """One headless Chromium for the whole run."""
    from playwright.sync_api import expect, sync_playwright

    # A busy machine may take seconds over what takes milliseconds; a wait ends as soon as it is met.
    expect.set_options(timeout=30_000)
    path = chromium()
    assert path, "RILLMARK_REQUIRE_BROWSER is set, but no Chromium is installed"
    # Playwright's own loop runs in this thread; Django must not take it for an async server.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=path, args=BROWSER_FLAGS)
        yield opened
        opened.close()


@pytest.fixture
def page(browser: Any) -> Iterator[Any]:
    """A fresh page of 1280 px that fails the test on a script error or a breach of the content policy."""
    context = browser.new_context(viewport={"width": 1280, "height": 900}, locale="en-US")
    problems: list[str] = []
    opened = context.new_page()
    opened.on("pageerror", lambda error: problems.append(f"script error: {error}"))
    opened.on(
        "console",
        lambda message: problems.append(message.text) if "Content Security Policy" in message.text else None,
    )
    yield opened
    context.close()
    assert problems == []


@pytest.fixture
def person(db: None, django_user_model: Any) -> Callable[[str], Any]:
    """A person of a role: ``person("biologist")``; the same one when asked again."""

    def make(role: str) -> Any:
        user, created = django_user_model.objects.get_or_create(
            username=f"some-{role}", defaults={"email": f"{role}@example.org"}
        )
        if created:
            user.set_unusable_password()
            user.is_staff = role == "administrator"
            user.save()
            user.groups.add(Group.objects.get(name=role))
        return user

    return make


@pytest.fixture
def signed_in(person: Callable[[str], Any]) -> Callable[[str], Client]:
    """A test client signed in as a role; ``signed_in("")`` is nobody."""

    def make(role: str) -> Client:
        client = Client()
        if role:
            client.force_login(person(role))
        return client

    return make
