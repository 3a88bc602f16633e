"""Write the planner's brief of a watershed to a PDF."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import translation

from surveys.models import Watershed
from trends import brief
from trends.brief_proposals import PROPOSALS
from trends.exports.brief import PAPERS, NotPrinted, brief_html, brief_pdf
from trends.measures import BY_KEY


class Command(BaseCommand):
    help = (
        "Write the planner's brief to a PDF, printed by the installed Chromium; or to an HTML file that needs nothing "
        "else, where the name ends in .html. The same numbers as on the page."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE.pdf|.html")
        parser.add_argument("--watershed", required=True, metavar="SLUG")
        parser.add_argument("--station", action="append", default=[], metavar="CODE", help="may be repeated")
        parser.add_argument("--from", dest="first", type=int, metavar="YEAR", help="first year looked at")
        parser.add_argument("--to", dest="last", type=int, metavar="YEAR", help="last year looked at")
        parser.add_argument(
            "--measure",
            action="append",
            default=[],
            choices=sorted(BY_KEY),
            help="an indicator; may be repeated",
        )
        parser.add_argument("--proposal", default="general", choices=[p.key for p in PROPOSALS])
        parser.add_argument("--paper", default="letter", choices=sorted(PAPERS))
        parser.add_argument("--language", default="en", choices=[code for code, _ in settings.LANGUAGES])

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        if path.suffix.lower() not in (".pdf", ".html"):
            raise CommandError(f"{path.name}: give a name that ends in .pdf or .html.")
        watershed = Watershed.objects.filter(slug=options["watershed"]).first()
        if watershed is None:
            known = ", ".join(Watershed.objects.order_by("slug").values_list("slug", flat=True)) or "none"
            raise CommandError(f"There is no watershed {options['watershed']}. Known are: {known}.")
        known_codes = set(watershed.stations.values_list("code", flat=True))
        for code in options["station"]:
            if code not in known_codes:
                raise CommandError(
                    f"{watershed.name} has no station {code}. It has: {', '.join(sorted(known_codes))}."
                )
        asked = {
            "station": options["station"],
            "from": [str(options["first"])] if options["first"] else [],
            "to": [str(options["last"])] if options["last"] else [],
            "measure": options["measure"],
            "proposal": [options["proposal"]],
        }
        with translation.override(options["language"]):
            content, _ = brief.for_creek(watershed, asked)
        if content is None:
            raise CommandError(
                f"No accepted visit to {watershed.name} can be shown for these stations and years."
            )
        try:
            if path.suffix.lower() == ".html":
                path.write_text(brief_html(content, paper=options["paper"]), encoding="utf-8")
            else:
                path.write_bytes(brief_pdf(content, paper=options["paper"]))
        except NotPrinted as problem:
            raise CommandError(str(problem)) from None
        except OSError as problem:
            raise CommandError(f"{path} cannot be written: {problem.strerror}.") from problem
        if options["verbosity"]:
            self.stdout.write(
                f"Brief of {watershed.name} written to {path} (data version {content['data_version']}, content "
                f"{brief.content_hash(content)[:12]})."
            )
