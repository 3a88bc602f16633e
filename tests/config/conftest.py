"""Embedded databases in temporary folders, and processes that use them."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from config._postgres_process import Server, wait_until
from config.database import stop

PROJECT = Path(__file__).resolve().parents[2]
HOLD = """
import sys
from config.database import ensure_running
ensure_running()
print("ready", flush=True)
sys.stdin.read()
"""
LINGER_S = "0.3"


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "slow: starts servers of its own; runs like any other test")


class Embedded:
    """One data folder, and what the tests do with it from outside."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.holders: list[subprocess.Popen[str]] = []

    @property
    def server(self) -> Server:
        return Server(self.folder)

    @property
    def pid(self) -> int | None:
        if not self.folder.exists():
            return None
        process = self.server.postmaster()
        return process.pid if process else None

    def environment(self, linger_s: str = LINGER_S) -> dict[str, str]:
        kept = {
            name: value
            for name, value in os.environ.items()
            if name not in ("DATABASE_URL", "PYTEST_XDIST_WORKER")
        }
        return {**kept, "RILLMARK_DATA_DIR": str(self.folder), "RILLMARK_DATABASE_LINGER_S": linger_s}

    def hold(self) -> subprocess.Popen[str]:
        """A process that uses the database until its input closes or it is killed."""
        process = subprocess.Popen(
            [sys.executable, "-c", HOLD],
            cwd=PROJECT,
            env=self.environment(),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            start_new_session=True,
        )
        self.holders.append(process)
        return process

    def use(self) -> subprocess.Popen[str]:
        process = self.hold()
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
        return process

    def leave(self, process: subprocess.Popen[str]) -> None:
        process.communicate(timeout=20)

    def kill_group(self, process: subprocess.Popen[str]) -> None:
        os.killpg(process.pid, signal.SIGKILL)
        process.communicate(timeout=20)

    def python(self, code: str, linger_s: str = LINGER_S) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-W", "error", "-c", code],
            cwd=PROJECT,
            env=self.environment(linger_s),
            capture_output=True,
            text=True,
            timeout=60,
        )

    def sql(self, statement: str) -> str:
        """Run one statement in a process of its own, as a command would."""
        done = self.python(
            "import psycopg; from config.database import ensure_running as e; i = e()\n"
            "with psycopg.connect(host=i['HOST'], port=i['PORT'], dbname=i['NAME'], user=i['USER'],\n"
            "                     password=i['PASSWORD'], autocommit=True) as c:\n"
            f"    r = c.execute({statement!r})\n"
            "    print(r.fetchone()[0] if r.description else 'done')"
        )
        assert done.returncode == 0, done.stderr
        return done.stdout.strip()

    def refusal(self) -> str:
        """The one line with which a start is refused."""
        done = self.python(
            "from config.database import DatabaseUnavailable, ensure_running\n"
            "try:\n    ensure_running()\nexcept DatabaseUnavailable as error:\n    print(error)"
        )
        assert done.returncode == 0, done.stderr
        line = done.stdout.removesuffix("\n")
        assert line and "\n" not in line
        return line

    def stops(self) -> bool:
        return wait_until(lambda: self.pid is None, 20)

    def close(self) -> None:
        for process in self.holders:
            if process.poll() is None:
                process.kill()
            process.communicate()
        if self.pid is not None:
            stop(self.folder)


@pytest.fixture
def embedded_in() -> Iterator[Callable[[Path], Embedded]]:
    made: list[Embedded] = []

    def make(folder: Path) -> Embedded:
        made.append(Embedded(folder))
        return made[-1]

    yield make
    for each in made:
        each.close()


@pytest.fixture
def new(tmp_path: Path, embedded_in: Callable[[Path], Embedded]) -> Embedded:
    """A data folder that does not exist yet."""
    return embedded_in(tmp_path / "data")


@pytest.fixture(scope="session")
def stopped_database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    original = Embedded(tmp_path_factory.mktemp("original") / "data")
    original.leave(original.use())
    assert original.stops()
    return original.folder


@pytest.fixture
def embedded(stopped_database: Path, new: Embedded) -> Embedded:
    """A data folder with a database that is not running: a copy, which is quicker than a new one."""
    subprocess.run(["cp", "-a", stopped_database, new.folder], check=True)
    return new
