"""Write the charts of a watershed as picture files."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from surveys.models import Watershed
from trends.chart_frames import SIZES
from trends.exports.charts import FORMATS, NoBrowserError, NotDrawnError, watershed_pictures, write_pictures
from trends.measures import INDEX
from trends.public_figures import guarded_watersheds


class Command(BaseCommand):
    help = (
        "Write the charts of a watershed as files: each measure followed there, and the index at each "
        "station. Words and numbers are those of the public pages. Pictures are drawn by an installed "
        "Chromium (BROWSER_PATH names another one)."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--watershed", required=True, metavar="SLUG", help="As in its address.")
        parser.add_argument(
            "--out", required=True, type=Path, metavar="DIR", help="Made where it is missing."
        )
        parser.add_argument("--format", required=True, choices=FORMATS)
        parser.add_argument(
            "--size",
            choices=SIZES,
            default="screen",
            help="screen (default), slide (16:9, large type), or print (6.5 inches wide).",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        slug, folder = options["watershed"], options["out"]
        watershed = Watershed.objects.filter(slug=slug).first()
        if watershed is None:
            known = ", ".join(Watershed.objects.order_by("slug").values_list("slug", flat=True)) or "none yet"
            raise CommandError(f"There is no watershed {slug}. Known: {known}.")
        if folder.exists() and not folder.is_dir():
            raise CommandError(f"{folder} is a file; --out takes a folder.")
        pictures = watershed_pictures(watershed)
        if not pictures:
            raise CommandError(f"{watershed.name} has no result to draw yet. Accept visits, then recompute.")
        verbosity = options["verbosity"]
        say = self.stdout.write if verbosity > 1 else self._progress(len(pictures), verbosity)
        try:
            written = write_pictures(pictures, folder, options["format"], size=options["size"], say=say)
        except (NoBrowserError, NotDrawnError) as error:
            raise CommandError(str(error)) from error
        except OSError as error:
            raise CommandError(f"{folder} cannot be written: {error.strerror}.") from error
        if verbosity:
            self.stdout.write(f"{len(written)} charts written to {folder}.")
            if watershed.pk in guarded_watersheds([watershed.pk]):
                self.stdout.write(
                    f"Only the {INDEX.name.lower()} is drawn here: counts could tell where a species lives "
                    "whose places are withheld."
                )

    def _progress(self, total: int, verbosity: int) -> Any:
        """A line for every fifth picture of a long batch."""
        done = 0

        def say(name: str) -> None:
            nonlocal done
            done += 1
            if verbosity and total > 5 and done % 5 == 0 and done < total:
                self.stdout.write(f"{done} of {total} drawn")

        return say
