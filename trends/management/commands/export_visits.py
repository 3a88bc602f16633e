"""Write one row for each accepted visit to a CSV file."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from trends.exports.tables import write_table_files
from trends.exports.visits import KEY, visit_columns, visit_rows


class Command(BaseCommand):
    help = (
        "Write one row for each accepted visit, with every indicator and index metric, to FILE.csv; "
        "a data dictionary (Table Schema) goes beside it as FILE.schema.json."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE.csv")
        parser.add_argument(
            "--public",
            action="store_true",
            help="Leave out what could tell where sensitive taxa live; without it the file is for staff.",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        if path.suffix.lower() != ".csv":
            raise CommandError(f"{path.name}: visits are written as CSV; give a name that ends in .csv.")
        public = options["public"]
        try:
            count = write_table_files(path, visit_columns(public=public), visit_rows(public=public), key=KEY)
        except OSError as error:
            raise CommandError(f"{path} cannot be written: {error.strerror}.") from error
        for_whom = "for everybody" if public else "for staff: --public makes one to hand out"
        if options["verbosity"]:
            self.stdout.write(f"{count} visits written to {path} ({for_whom}).")
