"""Put a copy made by ``backup`` back."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from surveys.backup import BackupError, check_backup, restore_backup


class Command(BaseCommand):
    help = (
        "Put back a copy made by `backup`: its checksums and counts are verified first, an empty database is "
        "set up by itself, and everything is loaded in one transaction or not at all. Everybody is "
        "signed out."
    )
    # The tables may not be there yet.
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument(
            "--replace", action="store_true", help="Lose what the database holds now; refused otherwise."
        )
        parser.add_argument("--check", action="store_true", help="Only verify the file; change nothing.")

    def handle(self, *args: Any, **options: Any) -> None:
        say = self.stdout.write if options["verbosity"] > 1 else lambda text: None
        try:
            if options["check"]:
                manifest = check_backup(options["file"])
                done = "The copy is whole"
            else:
                manifest = restore_backup(options["file"], replace=options["replace"], say=say)
                done = "Restored"
        except BackupError as error:
            raise CommandError(str(error)) from None
        if options["verbosity"]:
            self.stdout.write(
                f"{done}: {len(manifest.tables)} tables, {manifest.rows} rows, as of {manifest.made_at}."
            )
