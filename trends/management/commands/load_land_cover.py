"""Loads the land cover of watersheds by year."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from surveys.management.reporting import amount, print_findings, read_file
from trends.imports import load_land_cover


class Command(BaseCommand):
    help = "Insert or update the land cover of watersheds from a list (CSV or XLSX), whole or not at all."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", help="the list, .csv or .xlsx")
        parser.add_argument("--dry-run", action="store_true", help="check and report, store nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        name, content = read_file(options["file"])
        result = load_land_cover(name, content, dry_run=options["dry_run"])
        print_findings(self, result.findings, options["verbosity"])
        if result.has_errors:
            errors = sum(finding.level == "error" for finding in result.findings)
            raise CommandError(f"Nothing was stored: {amount(errors, 'error')} in {name}.")
        verb = "would be " if options["dry_run"] else ""
        self.stdout.write(
            f"{name}: {amount(result.created, 'year of a watershed', 'years of watersheds')} {verb}added, "
            f"{result.updated:,} {verb}changed, {result.same:,} as they were."
        )
