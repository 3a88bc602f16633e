"""Write a whole copy of the data to one file."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from surveys.backup import BackupError, make_backup


class Command(BaseCommand):
    help = (
        "Write a whole, verifiable copy of the data to FILE (a zip of tables with checksums): records, "
        "results, uploads, history and people, all from one moment. Left out: sessions, the secret key and "
        "settings. Keep it safe: it holds the accounts of the staff."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument("--force", action="store_true", help="Write over a file that is there.")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        if path.exists() and not options["force"]:
            raise CommandError(f"{path} is there already. Give another name, or --force to write over it.")
        say = self.stdout.write if options["verbosity"] > 1 else lambda text: None
        try:
            manifest = make_backup(path, say)
        except BackupError as error:
            raise CommandError(str(error)) from None
        except OSError as error:
            raise CommandError(f"{path} cannot be written: {error.strerror}.") from None
        if options["verbosity"]:
            size = path.stat().st_size / 1e6
            self.stdout.write(
                f"{len(manifest.tables)} tables with {manifest.rows} rows written to {path} ({size:.1f} MB)."
            )
