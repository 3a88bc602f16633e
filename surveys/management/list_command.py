"""The command that takes a reference list: the four of them differ in the list alone."""

from collections.abc import Callable
from typing import Any, ClassVar

from django.core.management.base import BaseCommand, CommandError, CommandParser

from surveys.management.reporting import amount, print_findings, read_file


class ListCommand(BaseCommand):
    """Takes a list whole or not at all, and says what came of it."""

    # Function of (file name, content, dry_run=) that returns findings and counts.
    load: ClassVar[Callable[..., Any]]
    one: str
    many: str

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", help="the list, .csv or .xlsx")
        parser.add_argument("--dry-run", action="store_true", help="check and report, store nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        name, content = read_file(options["file"])
        result = type(self).load(name, content, dry_run=options["dry_run"])
        print_findings(self, result.findings, options["verbosity"])
        if result.has_errors:
            errors = sum(finding.level == "error" for finding in result.findings)
            raise CommandError(f"Nothing was stored: {amount(errors, 'error')} in {name}.")
        verb = "would be " if options["dry_run"] else ""
        self.stdout.write(
            f"{name}: {amount(result.created, self.one, self.many)} {verb}added, "
            f"{result.updated:,} {verb}changed, {result.same:,} as they were."
        )
        if result.watersheds:
            self.stdout.write(f"New watersheds: {', '.join(result.watersheds)}.")
