"""Takes a season file: one transaction that writes the whole plan, or nothing."""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pghistory
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from surveys.models import Upload, UploadFinding, UploadStatus, Visit, VisitStatus, VisitStep
from surveys.planner_statistics import MANY_ROWS, refresh_statistics
from surveys.said import marked, said, said_n
from surveys.signals import visits_changed
from surveys.uploads.answers import answers_of, told
from surveys.uploads.bulk import insert_catches, insert_passes, next_ids
from surveys.uploads.findings import ERROR, shortened
from surveys.uploads.name_choices import names_of, store_names
from surveys.uploads.plan import CHANGED, NEW, Plan, VisitPlan, prepare
from surveys.uploads.preview import questions_by_visit
from surveys.uploads.replace import replace_visits
from surveys.uploads.taxa import create_taxa as add_taxa

# One file is taken at a time; the number only has to be this program's own.
_ONE_AT_A_TIME = 7_205_001
MOST_VISITS_IN_SUMMARY = 10_000


class NotTaken(Exception):  # noqa: N818 - an answer to the person, with the plan that explains it
    """A file that was not taken; nothing was stored. Carries the plan, and says how to go on."""

    def __init__(self, message: str, plan: Plan) -> None:
        super().__init__(message)
        self.plan = plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What became of a file. ``changed`` is False where everything was already stored."""

    plan: Plan
    upload: Upload | None
    changed: bool


def new_upload(file_name: str, content: bytes, *, by: Any) -> Upload:
    """An upload that is not stored yet."""
    return Upload(
        file_name=file_name[-255:],
        sha256=hashlib.sha256(content).hexdigest(),
        size_bytes=len(content),
        content=content,
        uploaded_by=by,
    )


def take(
    upload: Upload,
    *,
    by: Any,
    replace: bool = False,
    accept: bool = False,
    create_taxa: bool = False,
    seen: str | None = None,
    names: Mapping[str, int] | None = None,
) -> Taken:
    """Check a file once more and write it, whole or not at all.

    Parameters
    ----------
    upload : stored, or not stored yet (then it is stored with the rest)
    by : the person, or None for a command
    replace : take the place of visits that are held with other values
    accept : pass the review as well; otherwise the visits wait for the reviewer
    create_taxa : add taxa that are not known, all traits unknown
    seen : the mark of the plan that was confirmed; a plan that came out otherwise is refused
    names : what names of the file mean, beside what was said on its page: folded name -> key of the taxon

    Raises
    ------
    NotTaken : errors, visits held with other values, or the store changed since ``seen``
    """
    try:
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_advisory_xact_lock(%s)", [_ONE_AT_A_TIME])
            if upload.pk:
                upload = Upload.objects.select_for_update().get(pk=upload.pk)
            meant = names_of(upload) | dict(names or {})
            plan = prepare(
                upload.file_name, bytes(upload.content), create_taxa=create_taxa, lock=True, names=meant
            )
            _refuse(plan, upload, replace=replace, seen=seen)
            if plan.nothing_to_do:
                return Taken(plan=plan, upload=plan.taken_before, changed=False)
            _write(plan, upload, by=by, accept=accept)
            if plan.row_count >= MANY_ROWS:
                refresh_statistics()
            store_names(upload, plan, names or {}, by=by)
    except IntegrityError as clash:
        # Somebody else stored the same visit between the check and the write.
        raise NotTaken(
            said(
                "Nothing was stored: the records changed while the file was written ({clash}). Send it again.",
                clash=_constraint(clash),
            ),
            prepare(
                upload.file_name,
                bytes(upload.content),
                create_taxa=create_taxa,
                names=names_of(upload) | dict(names or {}),
            ),
        ) from clash
    return Taken(plan=plan, upload=upload, changed=True)


def _constraint(clash: IntegrityError) -> str:
    cause = clash.__cause__
    name = getattr(getattr(cause, "diag", None), "constraint_name", None)
    return str(name or marked("a rule of the database"))


def check_upload(file_name: str, content: bytes, *, by: Any) -> tuple[Upload, bool]:
    """Keep a file that was sent, with what was found in it; nothing of it is stored as a visit yet.

    Returns
    -------
    The upload, and whether it was there before: the same bytes are not kept twice while they wait, or
    where all they hold is stored.
    """
    fresh = new_upload(file_name, content, by=by)
    plan = prepare(fresh.file_name, content)
    earlier = Upload.objects.filter(sha256=fresh.sha256, status=UploadStatus.CHECKED).first()
    if plan.taken_before and plan.nothing_to_do:
        return plan.taken_before, True
    if earlier:
        return earlier, True
    with transaction.atomic():
        fresh.row_count, fresh.summary = plan.row_count, summary(plan)
        fresh.save()
        keep_findings(fresh, plan)
    return fresh, False


def refresh_upload(upload: Upload, plan: Plan) -> None:
    """Keep what a waiting file reads as now, in place of what was found before."""
    with transaction.atomic():
        upload.summary = summary(plan)
        upload.save(update_fields=["summary"])
        keep_findings(upload, plan)


def discard(upload: Upload) -> None:
    """Lay a file aside that is not to be taken; it stays on record."""
    with transaction.atomic():
        locked = Upload.objects.select_for_update().get(pk=upload.pk)
        if locked.status == UploadStatus.CHECKED:
            locked.status = UploadStatus.DISCARDED
            locked.save(update_fields=["status"])


def _refuse(plan: Plan, upload: Upload, *, replace: bool, seen: str | None) -> None:
    if upload.status != UploadStatus.CHECKED:
        raise NotTaken(
            said("This file is already taken; nothing was done.")
            if upload.status == UploadStatus.TAKEN
            else said("This file is already discarded; nothing was done."),
            plan,
        )
    if plan.has_errors:
        number = sum(finding.level == ERROR for finding in plan.findings)
        raise NotTaken(
            said_n(
                "Nothing was stored: {n} error in {written}. Correct the file and send it again.",
                "Nothing was stored: {n} errors in {written}. Correct the file and send it again.",
                number,
                written=plan.file_name,
            ),
            plan,
        )
    if seen is not None and seen != plan.mark():
        raise NotTaken(
            said(
                "Nothing was stored: the records changed since this page was shown. Look at the plan again."
            ),
            plan,
        )
    if plan.changed and not replace:
        number = len(plan.changed)
        raise NotTaken(
            said_n(
                "Nothing was stored: {n} visit is already held with other values. "
                "Look at the differences, then say that they are to be replaced.",
                "Nothing was stored: {n} visits are already held with other values. "
                "Look at the differences, then say that they are to be replaced.",
                number,
            ),
            plan,
        )


def _write(plan: Plan, upload: Upload, *, by: Any, accept: bool) -> None:
    upload.status, upload.taken_at = UploadStatus.TAKEN, timezone.now()
    upload.row_count = plan.row_count
    upload.summary = summary(plan, answers_of(upload))
    upload.save()
    keep_findings(upload, plan)
    with pghistory.context(upload=upload.pk, file=plan.file_name):
        taxa = add_taxa(plan.new_taxa) if plan.new_taxa else {}
        new, changed = plan.of_kind(NEW), plan.of_kind(CHANGED)
        status = VisitStatus.ACCEPTED if accept else VisitStatus.SUBMITTED
        touched = {visit.station_id for visit in changed if visit.status == VisitStatus.ACCEPTED}
        if accept:
            touched |= {visit.station_id for visit in (*new, *changed)}
        ids = _insert_new(plan, new, upload, taxa, by=by, status=status)
        ids += replace_visits(plan, changed, upload, taxa, by=by, status=status)
        _record_steps(ids, upload, by=by, accept=accept)
        if touched:
            visits_changed.send(sender=Visit, station_ids=touched)


def _insert_new(
    plan: Plan, visits: Sequence[VisitPlan], upload: Upload, taxa: dict[str, int], *, by: Any, status: str
) -> list[int]:
    if not visits or plan.rows is None:
        return []
    ids = next_ids(Visit, len(visits))
    Visit.objects.bulk_create(
        (
            Visit(
                pk=pk,
                station_id=visit.station_id,  # type: ignore[misc] # a visit to be taken has a station
                visit_date=visit.date,
                status=status,
                entered_by=by,
                upload=upload,
                **visit.values,
            )
            for pk, visit in zip(ids, visits, strict=True)
        ),
        batch_size=1_000,
    )
    passes = insert_passes(plan.rows, {visit.number: pk for pk, visit in zip(ids, visits, strict=True)})
    insert_catches(plan.rows, passes, taxa)
    return ids


def _record_steps(ids: Sequence[int], upload: Upload, *, by: Any, accept: bool) -> None:
    remark = said("from the file {written}", written=upload.file_name)
    steps = [VisitStep(visit_id=pk, status=VisitStatus.SUBMITTED, by=by, remark=remark) for pk in ids]
    if accept:
        words = said("accepted on loading")
        steps += [VisitStep(visit_id=pk, status=VisitStatus.ACCEPTED, by=by, remark=words) for pk in ids]
    VisitStep.objects.bulk_create(steps, batch_size=2_000)


def keep_findings(upload: Upload, plan: Plan) -> None:
    """Store the remarks as they were shown, in place of earlier ones."""
    if not upload._state.adding:
        upload.findings.all().delete()
    UploadFinding.objects.bulk_create(
        (UploadFinding(upload=upload, **finding.as_dict()) for finding in shortened(plan.findings)),
        batch_size=2_000,
    )


def summary(plan: Plan, answers: Mapping[str, str] | None = None) -> dict[str, Any]:
    """What was shown to the person who confirmed it, to be read again later."""
    questions = questions_by_visit(plan)
    warnings = {visit: told(findings, answers or {}) for visit, findings in questions.items()}
    return {
        "counts": plan.counts(),
        "new_taxa": list(plan.new_taxa.values()),
        "visits": [
            {
                "station": visit.station_code,
                "date": str(visit.date),
                "kind": visit.kind,
                "passes": visit.passes,
                "catches": visit.catches,
                "fish": visit.fish,
                "warnings": warnings.get(visit.number, ([], 0))[0],
                "rules": [finding.rule for finding in questions.get(visit.number, ())],
                "unanswered": warnings.get(visit.number, ([], 0))[1],
                "differences": [
                    {"what": d.what, "old": d.old, "new": d.new, "row": d.row} for d in visit.differences
                ],
            }
            for visit in plan.visits[:MOST_VISITS_IN_SUMMARY]
        ],
    }
