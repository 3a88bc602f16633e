"""The history of one visit: every earlier state of what was measured and caught, what each change did, by
whom, when and from where. Read from the tables that the database's triggers fill; writes nothing.

The database keeps a row as it was before each update and delete, and when a row was added. An earlier
state is put together from these: the oldest kept version at or after the change, else the row as it is.
"""

import datetime
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import pghistory.models
from django.contrib.auth import get_user_model

from surveys.history_words import (
    CATCH_FIELDS,
    ORIGINS,
    PASS_FIELDS,
    VISIT_FIELDS,
    Altered,
    Contents,
    Words,
)
from surveys.models import Catch, RemovalPass, Taxon, Upload, Visit, VisitStatus, VisitStep
from surveys.said import marked, said

_Stamp = tuple[datetime.datetime, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """The visit as it stood: number 0 is the state it came in with, the last is how it stands.

    ``at``, ``by``, ``source`` and ``steps`` tell how it came to stand so; ``altered`` is what that changed
    in the state before it. ``same_as_now`` is false where something measured or caught is another today.
    """

    number: int
    contents: Contents
    status: str
    revision: int
    upload_id: int | None
    at: datetime.datetime | None
    by: str
    source: str
    file: Upload | None
    steps: tuple[VisitStep, ...] = ()
    altered: tuple[Altered, ...] = ()
    same_as_now: bool = True

    @property
    def status_words(self) -> str:
        return str(VisitStatus(self.status).label)


@dataclass(slots=True)
class _Change:
    """Rows kept in one transaction under one context, in the order of their writing."""

    stamp: _Stamp
    order: int | None = None  # by the visit's own history, which its lock keeps in order
    context: dict[str, Any] = field(default_factory=dict)


def visit_states(visit: Visit) -> list[State]:
    """Every state of a visit, the first one first, as the database holds it now. A fixed number of queries."""
    visit = Visit.objects.get(pk=visit.pk)
    events = list(_events(Visit).filter(id=visit.pk).order_by("pgh_id"))
    passes = list(RemovalPass.objects.filter(visit=visit))
    pass_events = list(_events(RemovalPass).filter(visit_id=visit.pk).order_by("pgh_id"))
    pass_ids = {one.pk for one in passes} | {one.id for one in pass_events}
    catches = list(Catch.objects.filter(removal_pass__in=pass_ids))
    catch_events = list(_events(Catch).filter(removal_pass_id__in=pass_ids).order_by("pgh_id"))
    changes = _changes(events, [*pass_events, *catch_events], [*passes, *catches])
    at = {change.stamp: number for number, change in enumerate(changes)}
    by_time = {change.stamp[0]: number for number, change in enumerate(changes)}

    visits = _versions(events, [visit], at, by_time, len(changes))
    pass_rows = _versions(pass_events, passes, at, by_time, len(changes))
    catch_rows = _versions(catch_events, catches, at, by_time, len(changes))
    held = [
        (_contents(visits[n], pass_rows[n], catch_rows[n]), visits[n][0]) for n in range(len(changes) + 1)
    ]
    return _told(visit, held, changes)


def _events(model: Any) -> Any:
    return model.pgh_event_model.objects.all()


def _stamp(event: Any) -> _Stamp:
    return (event.pgh_created_at, event.pgh_context_id)


def _changes(own: list[Any], others: list[Any], rows: Iterable[Any]) -> list[_Change]:
    """The transactions that changed the visit, in order.

    Rows that were added without any row being changed are a change of their own, except the first,
    which came with the visit.
    """
    found: dict[_Stamp, _Change] = {}
    for event in own:
        found.setdefault(_stamp(event), _Change(_stamp(event), event.pgh_id))
    for event in others:
        found.setdefault(_stamp(event), _Change(_stamp(event)))
    times = {stamp[0] for stamp in found}
    added = {row.added_at for row in (*rows, *others) if getattr(row, "added_at", None)}
    lone = sorted(added - times)
    if lone and (not times or lone[0] < min(times)):
        lone = lone[1:]
    for time in lone:
        found[time, None] = _Change((time, None))
    ordered = sorted((c for c in found.values() if c.order is not None), key=lambda c: c.order or 0)
    for change in sorted((c for c in found.values() if c.order is None), key=lambda c: c.stamp[0]):
        place = next((i for i, c in enumerate(ordered) if c.stamp[0] > change.stamp[0]), len(ordered))
        ordered.insert(place, change)
    keys = {change.stamp[1] for change in ordered if change.stamp[1]}
    contexts = dict(pghistory.models.Context.objects.filter(pk__in=keys).values_list("pk", "metadata"))
    for change in ordered:
        change.context = contexts.get(change.stamp[1]) or {}
    return ordered


def _versions(
    events: list[Any],
    rows: Iterable[Any],
    at: dict[_Stamp, int],
    by_time: dict[datetime.datetime, int],
    changes: int,
) -> list[list[Any]]:
    """For each state, the rows it held: a list per state, from before the first change to now."""
    kept: dict[int, list[tuple[int, Any]]] = defaultdict(list)
    for event in events:
        kept[event.id].append((at[_stamp(event)], event))
    now = {row.pk: row for row in rows}
    states: list[list[Any]] = [[] for _ in range(changes + 1)]
    for key in kept.keys() | now.keys():
        versions = kept.get(key, [])
        any_row = versions[0][1] if versions else now[key]
        added = getattr(any_row, "added_at", None)
        # The change that added the row; what came with the visit was added before every change.
        born = by_time.get(added, -1) + 1 if added else 0
        for number in range(born, changes + 1):
            version = next((row for place, row in versions if place >= number), now.get(key))
            if version is not None:
                states[number].append(version)
    return states


def _contents(visits: list[Any], passes: list[Any], catches: list[Any]) -> Contents:
    numbers = {_key(one): one.pass_number for one in passes}
    return Contents(
        values={name: getattr(visits[0], name) for name in VISIT_FIELDS},
        passes={
            one.pass_number: tuple(getattr(one, name) for name in PASS_FIELDS)
            for one in sorted(passes, key=lambda one: one.pass_number)
        },
        catches={
            (numbers[one.removal_pass_id], one.taxon_id): tuple(getattr(one, name) for name in CATCH_FIELDS)
            for one in catches
            if one.removal_pass_id in numbers
        },
    )


def _key(row: Any) -> int:
    return int(row.id)


def _told(visit: Visit, held: list[tuple[Contents, Any]], changes: list[_Change]) -> list[State]:
    """The states with who, when and why, and what each changed in the one before it."""
    steps = list(visit.steps.select_related("by"))
    words = Words([contents for contents, _ in held])
    people = _people(changes, [row for _, row in held])
    files = Upload.objects.defer("content").in_bulk([row.upload_id for _, row in held if row.upload_id])
    now = held[-1][0]
    states = []
    for number, (contents, row) in enumerate(held):
        change = changes[number - 1] if number else None
        begins = change.stamp[0] if change else None
        ends = changes[number].stamp[0] if number < len(changes) else None
        own = tuple(s for s in steps if (not begins or s.at >= begins) and (not ends or s.at < ends))
        who = people.get(_person_key(change.context.get("user")) if change else row.entered_by_id, "")
        if not who and own and own[0].by:
            who = str(own[0].by)
        before = held[number - 1] if number else None
        altered = words.altered(before[0], contents) if before else []
        if before and before[1].status != row.status:
            labels = [str(VisitStatus(one.status).label) for one in (before[1], row)]
            altered.insert(0, Altered(title=marked("status"), before=labels[0], after=labels[1]))
        states.append(
            State(
                number=number,
                contents=contents,
                status=row.status,
                revision=row.revision,
                upload_id=row.upload_id,
                at=begins or (own[0].at if own else None),
                by=who,
                source=_source(change, row, files),
                file=files.get(row.upload_id) if not before or before[1].upload_id != row.upload_id else None,
                steps=own,
                altered=tuple(altered),
                same_as_now=contents == now,
            )
        )
    return states


def _person_key(value: Any) -> int | None:
    try:
        return int(value)
    except (TypeError, ValueError):
        return None


def _people(changes: list[_Change], rows: list[Any]) -> dict[int | None, str]:
    keys = {_person_key(change.context.get("user")) for change in changes} | {
        row.entered_by_id for row in rows
    }
    people = get_user_model().objects.in_bulk([key for key in keys if key is not None])
    return {key: str(person) for key, person in people.items()}


def _source(change: _Change | None, row: Any, files: dict[int, Upload]) -> str:
    """From which file or page a change came."""
    if change is None:
        begun = row.upload_id not in files
        return ORIGINS["begun"] if begun else said("the file {file}", file=files[row.upload_id].file_name)
    noted = change.context
    if noted.get("file"):
        return said("the file {file}", file=noted["file"])
    if noted.get("entry"):
        return ORIGINS.get(str(noted["entry"]), str(noted["entry"]))
    if noted.get("url"):
        return said("the page {address}", address=noted["url"])
    return (
        said("a step of the review by command")
        if noted.get("step")
        else said("outside the pages of this site")
    )


def catch_table(contents: Contents) -> list[tuple[Taxon, list[int | None]]]:
    """Fish by taxon and pass of one state, None where the taxon was not caught in the pass."""
    taxa = Taxon.objects.in_bulk({taxon for _, taxon in contents.catches})
    rows = []
    for key in sorted(taxa, key=lambda key: taxa[key].scientific_name):
        caught = [contents.catches.get((number, key)) for number in contents.passes]
        rows.append((taxa[key], [fields[0] if fields else None for fields in caught]))
    return rows
