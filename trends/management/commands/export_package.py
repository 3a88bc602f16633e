"""Write the whole public data set as a Frictionless data package."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from trends.exports.data_package import write_package
from trends.exports.publishers import county_publisher


class Command(BaseCommand):
    help = (
        "Write everything public as one zip file of tables with a description (Frictionless data package): "
        "watersheds, stations, visits, passes, catches, indicators, scores, trends, notes and land cover. "
        "Exact places of sensitive taxa are withheld."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE.zip")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        if path.suffix.lower() != ".zip":
            raise CommandError(f"{path.name}: a package is a zip file; give a name that ends in .zip.")
        publisher = county_publisher()
        try:
            counts = write_package(path, publisher, today=timezone.localdate())
        except OSError as error:
            raise CommandError(f"{path} cannot be written: {error.strerror}.") from error
        if options["verbosity"]:
            told = ", ".join(f"{count} {name.replace('_', ' ')}" for name, count in counts.items())
            self.stdout.write(f"Package written to {path}: {told}.")
