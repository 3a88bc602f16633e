"""How the loading commands read a file and print what was found in it."""

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from surveys.uploads.findings import ERROR, NOTE, WARNING, Finding, in_order
from surveys.uploads.reader import too_large

MOST_PRINTED = 200
# What of a file was not looked into is always said.
_ALWAYS_SAID = frozenset({"unknown_column", "other_sheets"})


def read_file(text: str) -> tuple[str, bytes]:
    """Name and content of a file; a CommandError in one line where it cannot be read."""
    path = Path(text)
    try:
        size = path.stat().st_size
        if path.is_file() and size > settings.UPLOAD_LIMIT_BYTES:
            finding = too_large(size, settings.UPLOAD_LIMIT_BYTES)
            raise CommandError(f"{finding.message} {finding.remedy}")
        return path.name, path.read_bytes()
    except FileNotFoundError:
        raise CommandError(f"There is no file {path}.") from None
    except IsADirectoryError:
        raise CommandError(f"{path} is a folder, not a file.") from None
    except OSError as problem:
        raise CommandError(f"{path} cannot be read: {problem.strerror}.") from None


def print_findings(command: BaseCommand, findings: Iterable[Finding], verbosity: int) -> None:
    """One line per remark, errors on standard error; most notes only when more is asked for."""
    style = {ERROR: command.style.ERROR, WARNING: command.style.WARNING, NOTE: lambda words: words}
    shown = [f for f in in_order(findings) if verbosity > 1 or f.level != NOTE or f.code in _ALWAYS_SAID]
    for finding in shown[:MOST_PRINTED]:
        out: Any = command.stderr if finding.level == ERROR else command.stdout
        value = f" [{finding.value}]" if finding.value else ""
        remedy = f" {finding.remedy}" if finding.remedy else ""
        out.write(
            style[finding.level](f"{finding.level}, {finding.place}{value}: {finding.message}{remedy}"),
            style_func=lambda words: words,
        )
    if len(shown) > MOST_PRINTED:
        command.stdout.write(f"... and {len(shown) - MOST_PRINTED:,} more remarks.")


def amount(number: int, one: str, many: str = "") -> str:
    """``1 visit``, ``2 visits``."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"
