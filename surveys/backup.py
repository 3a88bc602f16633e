"""A whole, verifiable copy of the data in one zip file, made and read back without other programs.

``manifest.json`` names every table with its columns, its number of rows and the SHA-256 of its
member, the sequences, and the migrations that had been applied. Each table is one member in COPY's
text format, tab-separated lines that outlive this program (its CSV format is not used: servers before
PostgreSQL 18 misread a line of a note that holds nothing but a backslash and a full stop). Sessions
are left out: nobody stays signed in over a restore.
"""

import hashlib
import json
import os
import zipfile
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder

from surveys.models import Catch, RemovalPass, StationVersion, Visit

FORMAT = "rillmark-backup"
FORMAT_VERSION = 1
MANIFEST = "manifest.json"
BLOCK = 1 << 20
SESSIONS = "django_session"
MIGRATIONS = "django_migrations"
# What a migration writes by itself: rows in these tables alone do not make a database non-empty.
SEEDED = frozenset(
    {
        "django_content_type",
        "auth_permission",
        "auth_group",
        "auth_group_permissions",
        "pghistory_context",
        "surveys_samplingmethod",
    }
)
Progress = Callable[[str], None]


class BackupError(Exception):
    """Why a copy cannot be made or read; one sentence for the person at the terminal."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table as it stands in a copy."""

    name: str
    columns: tuple[str, ...]
    rows: int
    sha256: str

    @property
    def member(self) -> str:
        return f"tables/{self.name}.tsv"


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """What a copy holds; ``sequences`` maps table to the last number given out and whether it was used."""

    made_at: str
    server: str
    migrations: tuple[tuple[str, str], ...]
    tables: tuple[Table, ...]
    sequences: dict[str, tuple[int, bool]]

    @property
    def rows(self) -> int:
        return sum(table.rows for table in self.tables)


def _quote(name: str) -> str:
    return connection.ops.quote_name(name)


def _silent(text: str) -> None:
    pass


# --- making ------------------------------------------------------------------------------------------


def make_backup(path: Path, say: Progress = _silent) -> Manifest:
    """Write the copy; the file appears under its name only when it is complete.

    All tables are read in one snapshot, so that work going on meanwhile cannot tear the copy. The
    file is readable by its owner alone: it holds the password hashes of the staff.
    """
    part = path.with_name(f".{path.name}.part")
    try:
        descriptor = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(descriptor, "wb") as target, transaction.atomic(durable=True):
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
                manifest = _write_archive(archive, say)
        with part.open("rb") as written:
            os.fsync(written.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    return manifest


def _write_archive(archive: zipfile.ZipFile, say: Progress) -> Manifest:
    migrations = _applied()
    if not migrations:
        raise BackupError("There is no data yet: this database has never been set up (run `migrate`).")
    tables = []
    for name, columns in _database_tables().items():
        tables.append(_write_table(archive, name, columns))
        say(f"{name}: {tables[-1].rows} rows")
    manifest = Manifest(
        made_at=datetime.now(UTC).isoformat(timespec="seconds"),
        server=f"PostgreSQL {connection.pg_version // 10000}",  # type: ignore[attr-defined]
        migrations=migrations,
        tables=tuple(tables),
        sequences=_sequences(tables),
    )
    archive.writestr(MANIFEST, json.dumps(_manifest_plain(manifest), indent=1))
    return manifest


def _manifest_plain(manifest: Manifest) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "version": FORMAT_VERSION,
        "made_at": manifest.made_at,
        "server": manifest.server,
        "left_out": [SESSIONS],
        "migrations": manifest.migrations,
        "tables": [
            {"name": t.name, "columns": t.columns, "rows": t.rows, "sha256": t.sha256}
            for t in manifest.tables
        ],
        "sequences": manifest.sequences,
    }


def _applied() -> tuple[tuple[str, str], ...]:
    return tuple(sorted(MigrationRecorder(connection).applied_migrations()))


def _database_tables() -> dict[str, tuple[str, ...]]:
    """Tables with the columns that can be written, sessions and the list of migrations left out."""
    with connection.cursor() as cursor:
        cursor.execute(
            """
            SELECT c.table_name, array_agg(c.column_name::text ORDER BY c.ordinal_position)
            FROM information_schema.columns c
            JOIN information_schema.tables t USING (table_schema, table_name)
            WHERE c.table_schema = current_schema() AND t.table_type = 'BASE TABLE'
              AND c.is_generated = 'NEVER' AND c.table_name <> ALL (%s)
            GROUP BY c.table_name ORDER BY c.table_name
            """,
            [[SESSIONS, MIGRATIONS]],
        )
        return {name: tuple(columns) for name, columns in cursor.fetchall()}


def _write_table(archive: zipfile.ZipFile, name: str, columns: tuple[str, ...]) -> Table:
    listed = ", ".join(_quote(column) for column in columns)
    order = f" ORDER BY {_quote('id')}" if "id" in columns else ""
    statement = (
        f"COPY (SELECT {listed} FROM {_quote(name)}{order}) TO STDOUT WITH (FORMAT text, ENCODING 'UTF8')"
    )
    digest = hashlib.sha256()
    member = Table(name=name, columns=columns, rows=0, sha256="").member
    with connection.cursor() as cursor, archive.open(member, "w", force_zip64=True) as target:
        with cursor.copy(statement) as copy:
            for block in copy:
                digest.update(block)
                target.write(block)
        rows = cursor.rowcount
    return Table(name=name, columns=columns, rows=rows, sha256=digest.hexdigest())


def _sequences(tables: list[Table]) -> dict[str, tuple[int, bool]]:
    found: dict[str, tuple[int, bool]] = {}
    with connection.cursor() as cursor:
        for table in tables:
            if "id" not in table.columns:
                continue
            cursor.execute("SELECT pg_get_serial_sequence(%s, 'id')", [_quote(table.name)])
            sequence = cursor.fetchone()[0]
            if sequence is not None:
                cursor.execute(f"SELECT last_value, is_called FROM {sequence}")
                found[table.name] = cursor.fetchone()
    return found


# --- reading back ------------------------------------------------------------------------------------


def check_backup(path: Path, say: Progress = _silent) -> Manifest:
    """Read the whole copy and compare every table with what the manifest says of it.

    Raises
    ------
    BackupError : not a copy, made by a newer program, cut off, or altered
    """
    try:
        with zipfile.ZipFile(path) as archive:
            manifest = _read_manifest(archive)
            for table in manifest.tables:
                _check_table(archive, table)
            say(f"{len(manifest.tables)} tables with {manifest.rows} rows are whole.")
            return manifest
    except FileNotFoundError:
        raise BackupError(f"There is no file {path}.") from None
    except OSError as error:
        raise BackupError(f"{path} cannot be read: {error.strerror or error}.") from None
    except (zipfile.BadZipFile, EOFError, NotImplementedError, zlib.error) as error:
        raise BackupError(f"{path} is damaged or is not a copy made by `backup` ({error}).") from None


def _read_manifest(archive: zipfile.ZipFile) -> Manifest:
    try:
        plain = json.loads(archive.read(MANIFEST))
        if plain["format"] != FORMAT:
            raise BackupError("This zip file was not made by `backup`.")
        if plain["version"] > FORMAT_VERSION:
            raise BackupError("This copy was made by a newer version of the program; update first.")
        return Manifest(
            made_at=plain["made_at"],
            server=plain["server"],
            migrations=tuple((app, name) for app, name in plain["migrations"]),
            tables=tuple(
                Table(name=t["name"], columns=tuple(t["columns"]), rows=t["rows"], sha256=t["sha256"])
                for t in plain["tables"]
            ),
            sequences={name: (last, used) for name, (last, used) in plain["sequences"].items()},
        )
    except (KeyError, TypeError, ValueError):
        raise BackupError("This zip file has no manifest of a copy; it was not made by `backup`.") from None


def _check_table(archive: zipfile.ZipFile, table: Table) -> None:
    digest = hashlib.sha256()
    rows = 0
    try:
        member = archive.open(table.member)
    except KeyError:
        raise BackupError(f"The copy is not whole: {table.member} is missing.") from None
    with member:
        while block := member.read(BLOCK):
            digest.update(block)
            # A line break inside a value is written as two characters, so lines are rows.
            rows += block.count(b"\n")
    if digest.hexdigest() != table.sha256:
        raise BackupError(f"The copy has been altered: {table.member} does not match its checksum.")
    if rows != table.rows:
        raise BackupError(
            f"The copy is not whole: {table.member} has {rows} rows, the manifest says {table.rows}."
        )


def restore_backup(path: Path, *, replace: bool = False, say: Progress = _silent) -> Manifest:
    """Put a copy back: check it, set the database up as it was then, load all of it or nothing, update.

    Parameters
    ----------
    replace : empty a database that holds data first; without it such a database is refused

    Raises
    ------
    BackupError : the copy or the database is not fit for it; nothing has been changed then
    """
    manifest = check_backup(path, say)
    _prepare_schema(manifest, say)
    if not replace and (held := _tables_with_data()):
        raise BackupError(
            f"This database holds data already ({', '.join(held[:3])}{', ...' if len(held) > 3 else ''}). "
            "Restore into an empty one, or give --replace to lose what is here."
        )
    try:
        with transaction.atomic(durable=True), zipfile.ZipFile(path) as archive:
            _load(archive, manifest, say)
    except DatabaseError as error:
        said = str(error).strip().splitlines()[0]
        raise BackupError(f"The database refused the copy, and nothing was changed: {said}") from error
    call_command("migrate", verbosity=0, interactive=False)
    with connection.cursor() as cursor:
        for table in manifest.tables:
            cursor.execute(f"ANALYZE {_quote(table.name)}")
    return manifest


def _prepare_schema(manifest: Manifest, say: Progress) -> None:
    """Bring an empty database to the migrations of the copy; demand them of any other."""
    executor = MigrationExecutor(connection)
    known = set(executor.loader.disk_migrations)
    wanted = set(manifest.migrations)
    if unknown := sorted(wanted - known):
        raise BackupError(
            f"The copy was made by another version of the program ({unknown[0][0]}.{unknown[0][1]} is not "
            "known here); restore it with that version or a later one."
        )
    applied = set(executor.loader.applied_migrations)
    if not applied:
        say("Setting up the empty database.")
        if wanted == known:
            call_command("migrate", verbosity=0, interactive=False)
        else:
            executor.migrate(_leaves(executor, wanted))
    elif applied != wanted:
        raise BackupError(
            "The tables of this database are those of another version than the copy's. Restore into a "
            "database that has not been set up yet; it is brought up to date afterwards."
        )


def _leaves(executor: MigrationExecutor, wanted: set[tuple[str, str]]) -> list[tuple[str, str]]:
    """The migrations of a set that no other of the set rests on."""
    graph = executor.loader.graph
    return sorted(
        key for key in wanted if not any(child.key in wanted for child in graph.node_map[key].children)
    )


def _tables_with_data() -> list[str]:
    held = []
    with connection.cursor() as cursor:
        for name in _database_tables():
            if name not in SEEDED:
                cursor.execute(f"SELECT EXISTS (SELECT FROM {_quote(name)})")
                if cursor.fetchone()[0]:
                    held.append(name)
    return held


def _load(archive: zipfile.ZipFile, manifest: Manifest, say: Progress) -> None:
    """Empty the tables and fill them; part of the caller's transaction.

    Emptying by TRUNCATE and filling by COPY fires none of the history triggers, which wait for
    updates and deletes, so the history comes out of the copy alone. The locks of closed seasons watch
    rows that are added, too: they step aside, for the copy holds what was signed.
    """
    here = _database_tables()
    for table in manifest.tables:
        if set(table.columns) - set(here.get(table.name, ())):
            raise BackupError(f"The database has no table {table.name} as the copy has it.")
    names = ", ".join(_quote(name) for name in [*here, SESSIONS])
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT set_config('pgtrigger.ignore', %s, true)", [f"{{{','.join(_season_locks())}}}"]
        )
        # Checked once at the end, for rows may point to rows that come later.
        cursor.execute("SET CONSTRAINTS ALL DEFERRED")
        cursor.execute(f"TRUNCATE {names}")
        for table in manifest.tables:
            _fill(cursor, archive, table)
            say(f"{table.name}: {table.rows} rows")
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        for name, (last, used) in manifest.sequences.items():
            cursor.execute(
                "SELECT setval(pg_get_serial_sequence(%s, 'id'), %s, %s)", [_quote(name), last, used]
            )


def _season_locks() -> list[str]:
    locked = (Visit, RemovalPass, Catch, StationVersion)
    found = []
    for model in locked:
        for trigger in getattr(model._meta, "triggers", ()):
            pgid = trigger.get_pgid(model)
            found += [pgid, f"{model._meta.db_table}:{pgid}"]
    return found


def _fill(cursor: Any, archive: zipfile.ZipFile, table: Table) -> None:
    listed = ", ".join(_quote(column) for column in table.columns)
    statement = f"COPY {_quote(table.name)} ({listed}) FROM STDIN WITH (FORMAT text, ENCODING 'UTF8')"
    with archive.open(table.member) as member, cursor.copy(statement) as copy:
        while block := member.read(BLOCK):
            copy.write(block)
    if cursor.rowcount != table.rows:
        raise BackupError(f"{table.name} took {cursor.rowcount} rows of {table.rows}; nothing was changed.")
