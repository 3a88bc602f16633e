"""Brings a stored visit to what a file says, touching only the rows that differ.

The database keeps each row as it was before, with the file that changed it.
"""

from collections.abc import Sequence
from typing import Any

from django.db.models import F

from surveys.models import Catch, RemovalPass, Upload, Visit
from surveys.uploads.bulk import taxon_id
from surveys.uploads.differences import (
    CATCH_FIELDS,
    PASS_FIELDS,
    FileVisit,
    file_visits,
    keep_unsaid,
    stored_visits,
)
from surveys.uploads.plan import Plan, VisitPlan


def replace_visits(
    plan: Plan, visits: Sequence[VisitPlan], upload: Upload, taxa: dict[str, int], *, by: Any, status: str
) -> list[int]:
    """Rewrite visits that are held with other values; returns their keys.

    A replaced visit gets the status given here: what was accepted was the earlier version.
    """
    if not visits or plan.rows is None:
        return []
    wanted = file_visits(plan.rows, [visit.number for visit in visits])
    held = stored_visits([visit.visit_id for visit in visits if visit.visit_id is not None])
    for visit in visits:
        if visit.visit_id is None:
            continue
        keep_unsaid(wanted[visit.number], held[visit.visit_id], plan.rows.silent)
        Visit.objects.filter(pk=visit.visit_id).update(
            **visit.values, status=status, entered_by=by, upload=upload, revision=F("revision") + 1
        )
        _passes(visit.visit_id, wanted[visit.number])
        _catches(visit.visit_id, wanted[visit.number], taxa)
    return [visit.visit_id for visit in visits if visit.visit_id is not None]


def _passes(visit_id: int, new: FileVisit) -> None:
    stored = {one.pass_number: one for one in RemovalPass.objects.filter(visit=visit_id)}
    gone = [one.pk for number, one in stored.items() if number not in new.passes]
    RemovalPass.objects.filter(pk__in=gone).delete()
    for number, values in new.passes.items():
        fields = dict(zip(PASS_FIELDS, values, strict=True))
        one = stored.get(number)
        if one is None:
            RemovalPass.objects.create(visit_id=visit_id, pass_number=number, **fields)
        elif any(getattr(one, name) != value for name, value in fields.items()):
            RemovalPass.objects.filter(pk=one.pk).update(**fields)


def _catches(visit_id: int, new: FileVisit, taxa: dict[str, int]) -> None:
    passes = dict(RemovalPass.objects.filter(visit=visit_id).values_list("pass_number", "pk"))
    wanted = {
        (passes[number], taxon_id(taxon, taxa)): dict(zip(CATCH_FIELDS, values, strict=True))
        for (number, taxon), values in new.catches.items()
    }
    stored = {
        (one.removal_pass_id, one.taxon_id): one for one in Catch.objects.filter(removal_pass__visit=visit_id)
    }
    gone = [one.pk for key, one in stored.items() if key not in wanted]
    Catch.objects.filter(pk__in=gone).delete()
    for key, fields in wanted.items():
        one = stored.get(key)
        if one is not None and any(getattr(one, name) != value for name, value in fields.items()):
            Catch.objects.filter(pk=one.pk).update(**fields)
    Catch.objects.bulk_create(
        Catch(removal_pass_id=key[0], taxon_id=key[1], **fields)
        for key, fields in wanted.items()
        if key not in stored
    )
