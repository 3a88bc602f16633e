"""A station in time: laying it out anew from a day on, joining the years with a reason, taking it back."""

import itertools
from dataclasses import dataclass
from typing import Any

import pghistory
from django.db import transaction
from django.utils import timezone

from surveys.models import Station, StationVersion
from surveys.season import refuse_closed
from surveys.signals import visits_changed

# In the history, the mark of a change that a layout made to its station.
BY_LAYOUT = "by_layout"
# What a station says of itself and a layout may say anew.
POSITION = ("latitude", "longitude")
FOLLOWED = (("reach_length_m",), POSITION)
# How far the true place may lie from a position belongs to that position and goes with it.
UNCERTAINTY = "position_uncertainty_m"


def keep_version(version: StationVersion, *, by: Any) -> None:
    """Store a layout. What the station says of itself follows the layout that is in force today.

    Raises
    ------
    SeasonLocked : the layout begins, or began so far, in a closed season
    """
    with transaction.atomic(), pghistory.context(**{BY_LAYOUT: True}):
        station = Station.objects.select_for_update(of=("self",)).get(pk=version.station_id)
        stored = station.versions.filter(pk=version.pk).first()
        refuse_closed(one.valid_from for one in (version, stored) if one is not None)
        before = _said_today(station)
        version.by = by
        version.save()
        _follow(station, before)
        visits_changed.send(sender=StationVersion, station_ids={station.pk})


def drop_version(version: StationVersion) -> None:
    """Take a layout out; years before and after it are then one again.

    The station goes back to what the layouts that are left say, and before the first of them to what
    it said itself.

    Raises
    ------
    SeasonLocked : the layout began in a closed season
    """
    with transaction.atomic(), pghistory.context(**{BY_LAYOUT: True}):
        station = Station.objects.select_for_update(of=("self",)).get(pk=version.station_id)
        refuse_closed([version.valid_from])
        before = _said_today(station)
        version.delete()
        _follow(station, before)
        visits_changed.send(sender=StationVersion, station_ids={station.pk})


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What layouts say of a station: values of each group of fields, or None where no layout says any."""

    values: dict[tuple[str, ...], tuple[Any, ...] | None]
    uncertainty: float | None  # of the position that is said


def _said_today(station: Station) -> Said:
    """What the layouts in force today say, the latest that says anything; None where none does."""
    rows = station.versions.filter(valid_from__lte=timezone.localdate()).order_by("-valid_from")
    layouts = list(rows.values(*itertools.chain(*FOLLOWED), UNCERTAINTY))
    placed = next((row for row in layouts if row["latitude"] is not None), None)
    return Said(
        values={names: _first_said(layouts, names) for names in FOLLOWED},
        uncertainty=placed[UNCERTAINTY] if placed else None,
    )


def _first_said(layouts: list[dict[str, Any]], names: tuple[str, ...]) -> tuple[Any, ...] | None:
    told = (tuple(row[name] for name in names) for row in layouts)
    return next((values for values in told if None not in values), None)


def _follow(station: Station, before: Said) -> None:
    """Let the station say what its layouts say; where they no longer say anything, what it said itself."""
    changed: dict[str, Any] = {}
    now = _said_today(station)
    for names, said in now.values.items():
        if said is None and before.values[names] is None:
            continue
        wanted = said or _own(station, names)
        changed |= dict(zip(names, wanted, strict=True))
    moves = any(changed.get(name, getattr(station, name)) != getattr(station, name) for name in POSITION)
    if moves or now.uncertainty != before.uncertainty:
        from_layout = now.values[POSITION] is not None
        changed[UNCERTAINTY] = now.uncertainty if from_layout else _uncertainty_at(station, changed)
    if any(getattr(station, name) != value for name, value in changed.items()):
        Station.objects.filter(pk=station.pk).update(**changed)


def _uncertainty_at(station: Station, place: dict[str, Any]) -> float | None:
    """What the station said last of the position that it goes back to."""
    of_station: Any = Station
    earlier = of_station.pgh_event_models["before_update"].objects.filter(pgh_obj_id=station.pk)
    there = earlier.filter(**{name: place[name] for name in POSITION})
    return there.order_by("-pgh_id").values_list(UNCERTAINTY, flat=True).first()  # type: ignore[no-any-return]


def _own(station: Station, names: tuple[str, ...]) -> tuple[Any, ...]:
    """The last that the station said for itself: its history without what a layout gave it."""
    of_station: Any = Station
    of_layout: Any = StationVersion
    earlier = of_station.pgh_event_models["before_update"].objects.filter(pgh_obj_id=station.pk)
    former = of_layout.pgh_event_models["before_update"].objects.filter(station_id=station.pk)
    given = {*former.values_list(*names), *station.versions.values_list(*names)}
    rows = list(earlier.order_by("pgh_id").values_list("pgh_context__metadata", *names))
    states = [*(tuple(row[1:]) for row in rows), tuple(getattr(station, name) for name in names)]
    own = states[0]
    for (context, *_), (before, after) in zip(rows, itertools.pairwise(states), strict=True):
        # The mark holds to the end of its transaction, in which the station may be changed by itself too.
        by_layout = (context or {}).get(BY_LAYOUT) and after in given
        if after != before and not by_layout:
            own = after
    return own
