"""Warnings on a file as questions: each can be answered before the file is taken, and the answer goes to the
reviewer with the visit."""

import hashlib
from collections.abc import Mapping
from typing import Any

from django.db import transaction

from surveys.models import Upload, UploadAnswer, UploadStatus
from surveys.said import said
from surveys.uploads.findings import Finding
from surveys.uploads.plan import Plan
from surveys.uploads.preview import questions_by_visit

LONGEST_ANSWER = 500


def mark_of(finding: Finding) -> str:
    """A short name of a warning: another row, value or wording has another."""
    whole = f"{finding.code}|{finding.row}|{finding.column}|{finding.message}"
    return hashlib.sha256(whole.encode()).hexdigest()[:24]


def answers_of(upload: Upload) -> dict[str, str]:
    """The answers given to an upload, by the mark of the warning."""
    if upload._state.adding:
        return {}
    return dict(upload.answers.values_list("mark", "answer"))


def questions_of(plan: Plan) -> list[Finding]:
    """The warnings that can be answered, row by row."""
    found = [finding for findings in questions_by_visit(plan).values() for finding in findings]
    return sorted(found, key=lambda finding: (finding.row or 0, finding.column, finding.code))


def keep_answers(upload: Upload, plan: Plan, given: Mapping[str, str], *, by: Any) -> int:
    """Store what was answered, by mark; an empty text takes an answer back. Nothing once the file is taken.

    Returns
    -------
    int : number of warnings that are answered now
    """
    with transaction.atomic():
        locked = Upload.objects.select_for_update().defer("content").get(pk=upload.pk)
        if locked.status == UploadStatus.CHECKED:
            for finding in questions_of(plan):
                mark = mark_of(finding)
                text = given.get(mark)
                if text is None:
                    continue
                if text.strip():
                    UploadAnswer.objects.update_or_create(
                        upload=locked,
                        mark=mark,
                        defaults={
                            "message": finding.message,
                            "answer": text.strip()[:LONGEST_ANSWER],
                            "by": by,
                        },
                    )
                else:
                    UploadAnswer.objects.filter(upload=locked, mark=mark).delete()
        there = answers_of(locked)
    return sum(mark_of(finding) in there for finding in questions_of(plan))


def told(findings: list[Finding], answers: Mapping[str, str]) -> tuple[list[str], int]:
    """Warnings in words with their answers, and how many have none."""
    words, open_ones = [], 0
    for finding in findings:
        answer = answers.get(mark_of(finding), "")
        said_to_it = said("Answer: {written}", written=answer)
        words.append(f"{finding.message} {said_to_it}" if answer else finding.message)
        open_ones += not answer
    return words, open_ones
