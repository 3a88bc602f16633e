"""Write the offline pack of a watershed for a meeting."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from surveys.models import Watershed
from trends.exports.offline_pack import write_pack


class Command(BaseCommand):
    help = (
        "Write everything for a meeting as one archive that opens from a memory stick: the handout with "
        "questions and answers, charts with tables, and the numbers as CSV. It holds public data alone."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--watershed", required=True, metavar="SLUG", help="As in its address.")
        parser.add_argument("file", type=Path, metavar="FILE.zip")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        if path.suffix.lower() != ".zip":
            raise CommandError(f"{path.name}: a pack is a zip file; give a name that ends in .zip.")
        watershed = Watershed.objects.filter(slug=options["watershed"]).first()
        if watershed is None:
            known = ", ".join(Watershed.objects.order_by("slug").values_list("slug", flat=True)) or "none yet"
            raise CommandError(f"There is no watershed {options['watershed']}. Known: {known}.")
        try:
            count = write_pack(path, watershed)
        except OSError as error:
            raise CommandError(f"{path} cannot be written: {error.strerror}.") from error
        if options["verbosity"]:
            self.stdout.write(f"{count} files written to {path}. Unpack it and open index.html.")
