"""Brings an earlier state of a visit back, as an act with a reason. What stands now goes into the history."""

from typing import Any

import pghistory
from django.db import transaction

from surveys.history import visit_states
from surveys.history_words import CATCH_FIELDS, PASS_FIELDS, Contents
from surveys.models import (
    Catch,
    RemovalPass,
    SamplingMethod,
    Station,
    Taxon,
    Upload,
    Visit,
    VisitStatus,
    VisitStep,
)
from surveys.said import said
from surveys.season import SeasonLocked, refuse_closed
from surveys.signals import visits_changed


class NotRestored(Exception):  # noqa: N818 - an answer to the person
    """An earlier state that cannot be brought back as things stand; the message says how to go on."""


def restore_state(visit_id: int, number: int, *, seen: int, by: Any, reason: str) -> Visit:
    """Bring a visit back to an earlier state. It waits for the reviewer as a new revision.

    Parameters
    ----------
    number : which state, as ``visit_states`` numbers them
    seen : how many states there were when the person chose
    by : the person, who then counts as the one who entered it
    reason : why; required

    Raises
    ------
    NotRestored : no reason, a change meanwhile, a closed season, or something the state rests on is no longer there
    """
    reason = reason.strip()
    if not reason:
        raise NotRestored(said("Say why the earlier state is right; the reason is kept with the visit."))
    with transaction.atomic(), pghistory.context(entry="restored", remark=reason):
        visit = Visit.objects.select_for_update(of=("self",)).select_related("station").get(pk=visit_id)
        if visit.status == VisitStatus.WITHDRAWN:
            raise NotRestored(
                said("{visit} is withdrawn. Take it back to draft on the review page first.", visit=visit)
            )
        states = visit_states(visit)
        if len(states) != seen or not 0 <= number < len(states):
            raise NotRestored(said("The visit was changed meanwhile. Look at its history again."))
        state = states[number]
        if state.same_as_now:
            raise NotRestored(said("This state is how the visit stands now; there is nothing to bring back."))
        try:
            refuse_closed([visit.visit_date, state.contents.values["visit_date"]])
        except SeasonLocked as refused:
            raise NotRestored(str(refused)) from refused
        _refuse(visit, state.contents)
        touched = {visit.station_id, state.contents.values["station_id"]} if visit.is_accepted else set()
        for name, value in state.contents.values.items():
            setattr(visit, name, value)
        visit.upload = Upload.objects.defer("content").filter(pk=state.upload_id or 0).first()
        visit.entered_by = by
        visit.status = VisitStatus.SUBMITTED
        visit.revision += 1
        visit.save()
        _write_rows(visit, state.contents)
        VisitStep.objects.create(
            visit=visit,
            status=VisitStatus.SUBMITTED,
            by=by,
            remark=said("state {number} brought back: {reason}", number=number + 1, reason=reason),
        )
        if touched:
            visits_changed.send(sender=Visit, station_ids=touched)
    return visit


def _refuse(visit: Visit, contents: Contents) -> None:
    station, day = contents.values["station_id"], contents.values["visit_date"]
    if not Station.objects.filter(pk=station).exists():
        raise NotRestored(said("The station of that state is no longer in the list."))
    if not SamplingMethod.objects.filter(pk=contents.values["method_id"]).exists():
        raise NotRestored(said("The sampling method of that state is no longer in the list."))
    if Visit.objects.filter(station=station, visit_date=day).exclude(pk=visit.pk).exists():
        raise NotRestored(
            said(
                "Another visit holds {day} at this station by now. Withdraw or move it first.",
                day=f"{day:%Y-%m-%d}",
            )
        )
    taxa = {taxon for _, taxon in contents.catches}
    if Taxon.objects.filter(pk__in=taxa).count() != len(taxa):
        raise NotRestored(
            said("A taxon of that state is no longer in the list. Enter its fish anew instead.")
        )


def _write_rows(visit: Visit, contents: Contents) -> None:
    """Passes and catches as they were, touching only the rows that differ."""
    passes = {one.pass_number: one for one in RemovalPass.objects.filter(visit=visit)}
    RemovalPass.objects.filter(
        pk__in=[one.pk for number, one in passes.items() if number not in contents.passes]
    ).delete()
    for number, values in contents.passes.items():
        fields = dict(zip(PASS_FIELDS, values, strict=True))
        if number not in passes:
            passes[number] = RemovalPass.objects.create(visit=visit, pass_number=number, **fields)
        elif any(getattr(passes[number], name) != value for name, value in fields.items()):
            RemovalPass.objects.filter(pk=passes[number].pk).update(**fields)
    wanted = {
        (passes[number].pk, taxon): dict(zip(CATCH_FIELDS, values, strict=True))
        for (number, taxon), values in contents.catches.items()
    }
    stored = {
        (one.removal_pass_id, one.taxon_id): one for one in Catch.objects.filter(removal_pass__visit=visit)
    }
    Catch.objects.filter(pk__in=[one.pk for key, one in stored.items() if key not in wanted]).delete()
    for (one_pass, taxon), fields in wanted.items():
        row = stored.get((one_pass, taxon))
        if row is None:
            Catch.objects.create(removal_pass_id=one_pass, taxon_id=taxon, **fields)
        elif any(getattr(row, name) != value for name, value in fields.items()):
            Catch.objects.filter(pk=row.pk).update(**fields)
