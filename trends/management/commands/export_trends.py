"""Write one row for each trend result to a CSV or JSON file."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from trends.exports.tables import write_table_files
from trends.exports.trends import COLUMNS, trend_rows, write_trends_json


class Command(BaseCommand):
    help = (
        "Write one row for each trend result: place, measure, certainty, years, slope with limits, p, test, "
        "method. CSV gets a data dictionary beside it (FILE.schema.json); JSON also holds yearly values, "
        "periods of other methods and cautions in words."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE.csv|.json")
        parser.add_argument(
            "--public",
            action="store_true",
            help="The words and numbers of the public pages; without it the file is for staff.",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        rows = trend_rows(public=options["public"])
        try:
            match path.suffix.lower():
                case ".csv":
                    count = write_table_files(path, COLUMNS, rows)
                case ".json":
                    count = write_trends_json(path, rows)
                case _:
                    raise CommandError(f"{path.name}: give a name that ends in .csv or .json.")
        except OSError as error:
            raise CommandError(f"{path} cannot be written: {error.strerror}.") from error
        if options["verbosity"]:
            self.stdout.write(f"{count} trend results written to {path}.")
