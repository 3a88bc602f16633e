"""Loads a season file: the same checks and the same code as the upload page."""

import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from surveys.management.reporting import amount, print_findings, read_file
from surveys.models import VisitStatus
from surveys.names import UnclearName, taxa_named
from surveys.uploads.commit import NotTaken, Taken, new_upload, take
from surveys.uploads.plan import Plan, prepare
from surveys.uploads.store import read_known

MOST_DIFFERENCES = 100


class Command(BaseCommand):
    help = (
        "Load a season file (CSV or XLSX), whole or not at all. Warnings are printed and do not block; "
        "errors do. Loaded visits wait for a reviewer unless --accept is given."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", help="the season file, .csv or .xlsx")
        parser.add_argument("--dry-run", action="store_true", help="check and compare, store nothing")
        parser.add_argument(
            "--replace", action="store_true", help="replace visits that are held with other values"
        )
        parser.add_argument("--accept", action="store_true", help="pass the review as well")
        parser.add_argument(
            "--create-taxa", action="store_true", help="add taxa that are not known, all traits unknown"
        )
        parser.add_argument(
            "--name",
            action="append",
            default=[],
            metavar="WRITTEN=MEANT",
            help='what a name of the file means, such as --name "creek chubb=Semotilus atromaculatus"; '
            "may be given several times",
        )
        parser.add_argument("--json", action="store_true", help="print findings and counts as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            self._load(options)
        except CommandError as refusal:
            # What another program reads is JSON also where the file was never looked into.
            if options["json"] and not self._answered:
                nothing = Plan(file_name=Path(options["file"]).name, sha256="", findings=())
                self._print_json(nothing, options, changed=False, refused=str(refusal))
            raise

    def _load(self, options: dict[str, Any]) -> None:
        self._answered = False
        name, content = read_file(options["file"])
        names = _meant(options["name"])
        if not options["json"] and len(content) > 1_000_000:
            self.stdout.write(f"Reading and checking {name} ({len(content) / 1024**2:.1f} MB) ...")
            self.stdout.flush()
        if options["dry_run"]:
            plan = prepare(name, content, create_taxa=options["create_taxa"], names=names)
            errors = amount(plan.counts()["errors"], "error")
            refused = f"{errors} in {name}. Nothing was stored." if plan.has_errors else ""
            self._report(plan, options, changed=False, refused=refused)
            if refused:
                raise CommandError(refused)
            return
        try:
            taken = take(
                new_upload(name, content, by=None),
                by=None,
                replace=options["replace"],
                accept=options["accept"],
                create_taxa=options["create_taxa"],
                names=names,
            )
        except NotTaken as refusal:
            how = (
                " Add --replace to replace them."
                if refusal.plan.changed and not refusal.plan.has_errors
                else ""
            )
            self._report(refusal.plan, options, changed=False, refused=f"{refusal}{how}")
            raise CommandError(f"{refusal}{how}") from None
        self._report(taken.plan, options, changed=taken.changed)
        if not options["json"]:
            self._closing_words(taken, accept=options["accept"])

    def _print_json(self, plan: Plan, options: dict[str, Any], *, changed: bool, refused: str) -> None:
        answer = as_json(plan, dry_run=options["dry_run"], changed=changed, refused=refused)
        self.stdout.write(json.dumps(answer, indent=2))
        self._answered = True

    def _report(self, plan: Plan, options: dict[str, Any], *, changed: bool, refused: str = "") -> None:
        if options["json"]:
            self._print_json(plan, options, changed=changed, refused=refused)
            return
        print_findings(self, plan.findings, options["verbosity"])
        left = MOST_DIFFERENCES
        for visit in plan.visits:
            for difference in visit.differences[: max(left, 0)]:
                row = f" (row {difference.row})" if difference.row else ""
                self.stdout.write(
                    f"differs, {visit.station_code} on {visit.date}, {difference.what}{row}: "
                    f"{_shown(difference.old)} -> {_shown(difference.new)}"
                )
            left -= len(visit.differences)
        for one in plan.open_names:
            meant = one.near[0].scientific_name if one.near else "the scientific name"
            self.stdout.write(
                f'If only the spelling is wrong, say what is meant: --name "{one.text}={meant}"'
            )
        counts = plan.counts()
        if plan.visits:
            self.stdout.write(
                f"{plan.file_name}: {amount(counts['rows'], 'row')}, {amount(counts['visits'], 'visit')}: "
                f"{counts['visits_new']} new, {counts['visits_same']} the same, "
                f"{counts['visits_changed']} changed, {counts['visits_refused']} refused."
            )

    def _closing_words(self, taken: Taken, *, accept: bool) -> None:
        counts = taken.plan.counts()
        if not taken.changed:
            before = taken.plan.taken_before
            at = timezone.localtime(before.taken_at) if before and before.taken_at else None
            when = f"This file was already taken on {at:%Y-%m-%d %H:%M}. " if at else ""
            self.stdout.write(f"{when}Everything in it is stored; nothing changes.")
            waiting = sum(visit.status != VisitStatus.ACCEPTED for visit in taken.plan.visits)
            if accept and waiting:
                self.stdout.write(
                    f"{amount(waiting, 'visit')} of it {'is' if waiting == 1 else 'are'} not accepted: --accept "
                    "passes the review for what a file brings, not for what is held. Accept on the review page."
                )
            return
        state = "accepted" if accept else "waiting for review"
        new_taxa = f", {amount(counts['taxa_new'], 'new taxon', 'new taxa')}" if counts["taxa_new"] else ""
        visits = amount(counts["visits_new"] + counts["visits_changed"], "visit")
        passes = amount(counts["passes"], "pass", "passes")
        self.stdout.write(
            self.style.SUCCESS(
                f"Stored {visits} ({counts['visits_changed']} replaced) with {passes} and "
                f"{counts['fish']:,} fish{new_taxa}; {state}."
            )
        )


def _meant(given: list[str]) -> dict[str, int]:
    """What the options say of names, as keys of taxa."""
    names: dict[str, str] = {}
    for one in given:
        written, sign, meant = one.partition("=")
        if not sign or not written.strip() or not meant.strip():
            raise CommandError(f"--name {one!r} is not of the form WRITTEN=MEANT.")
        names[written] = meant
    try:
        return taxa_named(names, read_known(()).taxa) if names else {}
    except UnclearName as fault:
        raise CommandError(str(fault)) from None


def _shown(value: Any) -> str:
    return "empty" if value in (None, "") else str(value)


def as_json(plan: Plan, *, dry_run: bool, changed: bool, refused: str = "") -> dict[str, Any]:
    """Findings and counts for another program, and why nothing was taken where that was refused."""
    before = plan.taken_before
    return {
        "file": plan.file_name,
        "sha256": plan.sha256,
        "dry_run": dry_run,
        "taken": changed,
        "refused": refused or None,
        "already_taken_at": before.taken_at.isoformat() if before and before.taken_at else None,
        "counts": plan.counts(),
        "findings": [finding.as_dict() for finding in plan.findings],
        "visits": [
            {
                "station": visit.station_code,
                "date": str(visit.date),
                "kind": visit.kind,
                "differences": [
                    {
                        "pass": d.pass_number,
                        "taxon": d.taxon,
                        "column": d.column,
                        "old": d.old,
                        "new": d.new,
                        "row": d.row,
                    }
                    for d in visit.differences
                ],
            }
            for visit in plan.visits
        ],
    }
