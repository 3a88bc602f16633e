"""Write the public records as a Darwin Core archive."""

import re
import textwrap
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from surveys.models import Taxon
from trends.exports.dwca_archive import write_archive
from trends.exports.publishers import STATUS_WORDS, county_publisher

# So many unknown names are told; a file that is no list at all would else fill the screen.
FEW = 5


class Command(BaseCommand):
    help = (
        "Write accepted visits as a Darwin Core archive: events (visits and passes), occurrences, "
        "measurements, survey facts (Humboldt extension) and EML. The archive is made for the public: "
        "exact places of sensitive taxa are withheld, and crew names and notes are left out."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE.zip")
        parser.add_argument(
            "--occurrence-status",
            choices=sorted(STATUS_WORDS),
            default="present",
            help="Words of occurrenceStatus: present/absent, or detected/notDetected (advised since 2026).",
        )
        parser.add_argument(
            "--targets",
            type=Path,
            metavar="FILE",
            help="Scientific names, one a line, of taxa whose absence is reported where a visit caught none.",
        )
        parser.add_argument("--organization", default=settings.COUNTY_NAME, help="Default: COUNTY_NAME.")
        parser.add_argument("--title", default="", help="Title of the dataset.")
        parser.add_argument("--contact", default=settings.CONTACT, help="Default: CONTACT.")
        parser.add_argument("--country", default="US", help="ISO 3166-1 code of two letters (default US).")
        parser.add_argument("--state", default="")
        parser.add_argument("--county", default=settings.COUNTY_NAME, help="Default: COUNTY_NAME.")
        parser.add_argument(
            "--namespace",
            default="",
            metavar="URI",
            help="What identifiers grow from; keep it the same for good (default: made from COUNTY_NAME).",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        if path.suffix.lower() != ".zip":
            raise CommandError(f"{path.name}: an archive is a zip file; give a name that ends in .zip.")
        if not re.fullmatch("[A-Z]{2}", options["country"]):
            raise CommandError("--country takes a code of two capital letters, such as US.")
        publisher = county_publisher(
            organization=options["organization"],
            title=options["title"],
            contact=options["contact"],
            namespace=options["namespace"],
            country=options["country"],
            state=options["state"],
            county=options["county"],
            status=options["occurrence_status"],
            targets=self._targets(options["targets"]),
        )
        verbosity = options["verbosity"]
        say = self.stdout.write if verbosity > 1 else lambda text: None
        try:
            counts = write_archive(path, publisher, today=timezone.localdate(), say=say)
        except OSError as error:
            raise CommandError(f"{path} cannot be written: {error.strerror}.") from error
        if verbosity:
            told = ", ".join(f"{count} in {name}" for name, count in counts.items())
            self.stdout.write(f"Archive written to {path}: {told}.")
            if not options["organization"]:
                self.stderr.write("No publisher is named: set COUNTY_NAME or give --organization.")

    def _targets(self, path: Path | None) -> tuple[Taxon, ...]:
        if path is None:
            return ()
        try:
            lines = path.read_text(encoding="utf-8-sig").splitlines()
        except (OSError, UnicodeDecodeError) as error:
            raise CommandError(f"{path} cannot be read as UTF-8 text: {error}.") from None
        names = list(dict.fromkeys(line.strip() for line in lines if line.strip()))
        taxa = {t.scientific_name: t for t in Taxon.objects.filter(scientific_name__in=names)}
        if unknown := [name for name in names if name not in taxa]:
            few = ", ".join(textwrap.shorten(name, 60, placeholder="…") for name in unknown[:FEW])
            more = f" and {len(unknown) - FEW:,} more lines" if len(unknown) > FEW else ""
            raise CommandError(f"Not in the taxon list: {few}{more}. Write one scientific name a line.")
        if hidden := [name for name in names if taxa[name].sensitive_location]:
            raise CommandError(
                f"Absence of taxa whose places are withheld cannot be reported: {', '.join(hidden)}."
            )
        return tuple(taxa[name] for name in names)
