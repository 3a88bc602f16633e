"""Writing the plan of a season and the records of what was not sampled. Each an act of its own."""

from typing import Any

from django.db import transaction

from surveys.models import NotSampled, PlannedVisit, Station, Visit, VisitStatus
from surveys.season import refuse_closed
from surveys.signals import visits_changed


def plan_like(year: int, *, by: Any) -> int:
    """Plan the stations that were visited in the latest season before; returns how many were added."""
    made = Visit.objects.exclude(status=VisitStatus.WITHDRAWN).filter(visit_date__year__lt=year)
    latest = made.order_by("-visit_date").values_list("visit_date", flat=True).first()
    if latest is None:
        return 0
    with transaction.atomic():
        refuse_closed([year])
        there = PlannedVisit.objects.filter(year=year).values("station")
        stations = Station.objects.filter(
            pk__in=made.filter(visit_date__year=latest.year).values("station")
        ).exclude(pk__in=there)
        made_plans = PlannedVisit.objects.bulk_create(
            PlannedVisit(station=station, year=year, added_by=by) for station in stations
        )
    return len(made_plans)


def keep_plan(plan: PlannedVisit, *, by: Any) -> None:
    with transaction.atomic():
        refuse_closed([plan.year])
        plan.added_by = plan.added_by or by
        plan.save()


def drop_plan(plan: PlannedVisit) -> None:
    with transaction.atomic():
        refuse_closed([plan.year])
        plan.delete()


def keep_not_sampled(record: NotSampled, *, by: Any) -> None:
    """Store why a station was not sampled; what shows the gap is made anew."""
    with transaction.atomic():
        refuse_closed([record.year])
        record.by = by
        record.save()
        visits_changed.send(sender=NotSampled, station_ids={record.station_id})


def drop_not_sampled(record: NotSampled) -> None:
    with transaction.atomic():
        refuse_closed([record.year])
        station = record.station_id
        record.delete()
        visits_changed.send(sender=NotSampled, station_ids={station})
