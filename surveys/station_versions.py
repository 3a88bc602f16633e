"""A station in time: laying it out anew from a day on, joining the years with a reason, taking it back."""

from typing import Any

from django.db import transaction
from django.utils import timezone

from surveys.models import Station, StationVersion
from surveys.signals import visits_changed


def keep_version(version: StationVersion, *, by: Any) -> None:
    """Store a layout. What the station says of itself follows the layout that is in force today."""
    with transaction.atomic():
        station = Station.objects.select_for_update(of=("self",)).get(pk=version.station_id)
        version.by = by
        version.save()
        latest = station.versions.filter(valid_from__lte=timezone.localdate()).order_by("-valid_from").first()
        if latest == version:
            _follow(station, version)
        visits_changed.send(sender=StationVersion, station_ids={station.pk})


def drop_version(version: StationVersion) -> None:
    """Take a layout out; years before and after it are then one again."""
    with transaction.atomic():
        station = version.station_id
        version.delete()
        visits_changed.send(sender=StationVersion, station_ids={station})


def _follow(station: Station, version: StationVersion) -> None:
    given = {name: getattr(version, name) for name in ("reach_length_m", "latitude", "longitude")}
    changed = {
        name: value for name, value in given.items() if value is not None and getattr(station, name) != value
    }
    if changed:
        Station.objects.filter(pk=station.pk).update(**changed)
