"""Computes indicators, index scores and trends that are out of date, or all of them."""

import argparse
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from surveys.management.reporting import amount
from surveys.models import Watershed
from trends.models import StaleStation
from trends.recompute import mark_all, mark_outdated, recompute_marked
from trends.recompute_processes import recompute_in_processes


def _positive(text: str) -> int:
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError("must be 1 or more")
    return number


class Command(BaseCommand):
    help = (
        "Compute indicators, index scores and trends that are out of date: after a change of visits that was "
        "broken off, or made by an older version of the program. With --all, compute everything anew."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--watershed", metavar="SLUG", help="only this watershed")
        parser.add_argument("--all", action="store_true", help="also what is up to date")
        parser.add_argument(
            "--processes",
            type=_positive,
            metavar="N",
            help="how many processes share the work; by default by the number of watersheds and processors",
        )
        parser.add_argument(
            "--dry-run", action="store_true", help="say what would be computed, store nothing"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        watershed = _watershed(options["watershed"])
        if options["dry_run"]:
            self._preview(watershed, everything=options["all"])
            return
        _mark(watershed, everything=options["all"])
        if watershed is not None:
            number = recompute_marked(everything=options["all"], watershed=watershed, say=self._say)
        else:
            number = recompute_in_processes(
                everything=options["all"], say=self._say, processes=options["processes"]
            )
        self._say(f"{amount(number, 'watershed')} computed." if number else "Every result is up to date.")

    def _say(self, words: str) -> None:
        self.stdout.write(words)
        self.stdout.flush()

    def _preview(self, watershed: Watershed | None, *, everything: bool) -> None:
        with transaction.atomic():
            _mark(watershed, everything=everything)
            marks = StaleStation.objects.select_related("station").order_by("station__code")
            if watershed is not None:
                marks = marks.filter(station__watershed=watershed)
            codes = [mark.station.code for mark in marks]
            transaction.set_rollback(True)
        shown = f": {', '.join(codes)}" if codes else ""
        self._say(f"{amount(len(codes), 'station')} would be computed{shown}.")


def _mark(watershed: Watershed | None, *, everything: bool) -> None:
    if everything:
        mark_all(watershed)
    else:
        mark_outdated()


def _watershed(slug: str | None) -> Watershed | None:
    if not slug:
        return None
    found = Watershed.objects.filter(slug=slug).first()
    if found is None:
        known = ", ".join(Watershed.objects.order_by("slug").values_list("slug", flat=True)[:10])
        raise CommandError(f"There is no watershed {slug}." + (f" Known: {known}." if known else ""))
    return found
