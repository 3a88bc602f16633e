"""Add an invented data set for load tests."""

import argparse
import time
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from surveys.synthesis import AlreadyThereError, synthesize


def _positive(text: str) -> int:
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError("must be 1 or more")
    return number


def _years(text: str) -> int:
    number = _positive(text)
    if number > 200:
        raise argparse.ArgumentTypeError("must be 200 or less")
    return number


class Command(BaseCommand):
    help = (
        "Add an invented set of accepted visits for load tests, written through the database's COPY. "
        "Use a database of its own: invented and real visits do not belong side by side. Results are "
        "not made unless --recompute is given; `recompute` makes them later."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--stations", type=_positive, required=True, metavar="N")
        parser.add_argument("--years", type=_years, required=True, metavar="N")
        parser.add_argument("--seed", type=int, default=1, metavar="N", help="One seed gives one set.")
        parser.add_argument("--stations-per-watershed", type=_positive, default=20, metavar="N")
        parser.add_argument("--recompute", action="store_true", help="Also make the results.")

    def handle(self, *args: Any, **options: Any) -> None:
        started = time.monotonic()
        if options["seed"] < 0:
            raise CommandError("--seed must be 0 or more.")
        say = self.stdout.write if options["verbosity"] else None
        try:
            made = synthesize(
                stations=options["stations"],
                years=options["years"],
                seed=options["seed"],
                stations_per_watershed=options["stations_per_watershed"],
                announce=options["recompute"],
                say=say,
            )
        except AlreadyThereError as error:
            raise CommandError(str(error)) from None
        if say:
            say(
                f"Invented: {made.watersheds} watersheds, {made.stations} stations, {made.visits} visits, "
                f"{made.passes} passes, {made.catches} catches in {time.monotonic() - started:.1f} s."
            )
            if not options["recompute"]:
                say("No results yet: `recompute` makes indicators, scores and trends.")
