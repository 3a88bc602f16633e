"""The way of a visit from draft to accepted, and back: who may move it, and what is recorded.

Every step is one transaction that locks the visit, checks that the step is lawful from where the
visit stands, writes who did it, and tells listeners when results are touched.
"""

from collections.abc import Iterable
from typing import Any

import pghistory
from django.db import transaction

from surveys.models import Visit, VisitStatus, VisitStep
from surveys.said import said
from surveys.season import SeasonLocked, refuse_closed
from surveys.signals import visits_changed

# From which status each step may be taken.
STEPS: dict[str, frozenset[str]] = {
    VisitStatus.SUBMITTED: frozenset({VisitStatus.DRAFT, VisitStatus.RETURNED}),
    VisitStatus.ACCEPTED: frozenset({VisitStatus.SUBMITTED}),
    VisitStatus.RETURNED: frozenset({VisitStatus.SUBMITTED, VisitStatus.ACCEPTED}),
    VisitStatus.WITHDRAWN: frozenset(
        {VisitStatus.DRAFT, VisitStatus.SUBMITTED, VisitStatus.ACCEPTED, VisitStatus.RETURNED}
    ),
    VisitStatus.DRAFT: frozenset({VisitStatus.WITHDRAWN}),
}
NEEDS_REMARK = frozenset({VisitStatus.RETURNED, VisitStatus.WITHDRAWN})


class StepRefused(Exception):  # noqa: N818 - the name says what happened
    """A step that is not lawful from where the visit stands; the message says how to go on."""


def move_visits(visits: Iterable[int], to: str, *, by: Any, remark: str = "") -> list[Visit]:
    """Move visits to a status, all or none.

    Parameters
    ----------
    visits : ids of the visits
    to : the status to reach
    by : the person, or None for a command
    remark : why; required when returning or withdrawing

    Raises
    ------
    StepRefused : a visit is missing, stands where the step is not allowed, belongs to a closed season, or
        a remark is missing.
    """
    wanted = sorted(set(visits))
    remark = remark.strip()
    if to in NEEDS_REMARK and not remark:
        raise StepRefused(said("Say why: the person who entered the visit needs to know what to do."))
    with transaction.atomic(), pghistory.context(step=str(to), remark=remark):
        locked = list(
            Visit.objects.select_for_update(of=("self",))
            .filter(pk__in=wanted)
            .select_related("station")
            .order_by("pk")
        )
        if len(locked) != len(wanted):
            raise StepRefused(said("One of these visits is no longer there. Reload the page."))
        try:
            refuse_closed(visit.visit_date for visit in locked)
        except SeasonLocked as refused:
            raise StepRefused(str(refused)) from refused
        touched: set[int] = set()
        for visit in locked:
            if visit.status not in STEPS[to]:
                raise StepRefused(
                    said(
                        "The visit to {visit} is {status}; it cannot become {target} from there. Reload the "
                        "page to see where it stands.",
                        visit=visit,
                        status=visit.get_status_display(),
                        target=VisitStatus(to).label,
                    )
                )
            if VisitStatus.ACCEPTED in (to, visit.status):
                touched.add(visit.station_id)
            visit.status = to
        Visit.objects.filter(pk__in=wanted).update(status=to)
        VisitStep.objects.bulk_create([VisitStep(visit=v, status=to, by=by, remark=remark) for v in locked])
        if touched:
            visits_changed.send(sender=Visit, station_ids=touched)
    return locked


def submit_visit(visit: int, *, by: Any, remark: str = "") -> Visit:
    """Hand a draft or a returned visit to the reviewer."""
    return move_visits([visit], VisitStatus.SUBMITTED, by=by, remark=remark)[0]


def accept_visit(visit: int, *, by: Any, remark: str = "") -> Visit:
    """Let a visit count in results and be seen by the public."""
    return move_visits([visit], VisitStatus.ACCEPTED, by=by, remark=remark)[0]


def return_visit(visit: int, *, by: Any, remark: str) -> Visit:
    """Send a visit back with what needs mending; it stops counting."""
    return move_visits([visit], VisitStatus.RETURNED, by=by, remark=remark)[0]


def withdraw_visit(visit: int, *, by: Any, remark: str) -> Visit:
    """Take a visit out of every result, keeping the record and the reason."""
    return move_visits([visit], VisitStatus.WITHDRAWN, by=by, remark=remark)[0]
