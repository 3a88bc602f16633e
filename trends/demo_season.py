"""The demo's seasons as they are planned: who goes where and when, what was called off and why, and the permits.

Stations, people and offices are invented. The plan of the coming season follows today's date, so that the
season page has something to come whenever the demo is made.
"""

import datetime
from typing import Any

from django.db import transaction

from surveys.models import (
    CrewMember,
    NotSampled,
    NotSampledKind,
    Permit,
    PlannedVisit,
    Station,
    Visit,
    Watershed,
)
from surveys.planning import keep_not_sampled, keep_plan

# The last season that is loaded, and the one that the visitor is to upload.
LOADED, TO_UPLOAD = 2024, 2025
UPLOAD_DAYS = {"BREN": (7, 8), "LUMM": (8, 18), "OSTR": (7, 29), "TARV": (6, 12)}
CREWS = {
    "BREN": "RO, two volunteers",
    "LUMM": "MT, RO",
    "OSTR": "MT, JK, PD",
    "TARV": "JK, PD",
}
# Month and day in the coming season; None: the day is still open.
COMING_DAYS: dict[str, tuple[int, int] | None] = {
    "TARV-01": (6, 15),
    "TARV-02": (6, 15),
    "TARV-03": (6, 22),
    "TARV-04": (6, 22),
    "BREN-01": (7, 8),
    "BREN-02": (7, 9),
    "BREN-03": (7, 14),
    "BREN-04": None,
    "OSTR-01": (8, 4),
    "OSTR-02": (8, 5),
    "OSTR-03": None,
    "OSTR-04": (8, 11),
    "LUMM-01": (8, 18),
    "LUMM-02": (8, 18),
}
NOTES = {
    "OSTR-04": "Trout: ask for the temperature first.",
    "TARV-03": "Ask at the works for the gate key.",
    "BREN-04": "After the school holidays begin.",
}
# Station, year, day, what happened and why; the year None is the coming one.
CALLED_OFF: tuple[tuple[str, int | None, tuple[int, int] | None, str, str], ...] = (
    ("OSTR-04", 2018, (8, 22), NotSampledKind.CANCELLED, "the creek was in flood for the rest of the season"),
    ("LUMM-01", 2023, None, NotSampledKind.CANCELLED, "no crew was free in August"),
    ("LUMM-02", 2023, None, NotSampledKind.CANCELLED, "no crew was free in August"),
    ("LUMM-02", None, None, NotSampledKind.CANCELLED, "the mill pond is drained for work on its outlet"),
)
OFFICE = "Quillomby County Water Office"


def coming_year(today: datetime.date) -> int:
    """The season that is still ahead: this year's until May, then the next."""
    return today.year if today.month < 6 else today.year + 1


def load_plans(today: datetime.date, *, by: Any = None) -> bool:
    """Plans, what was called off, two permits and the crew; False where the demo has them already."""
    if PlannedVisit.objects.exists() or Permit.objects.exists():
        return False
    with transaction.atomic():
        stations = {station.code: station for station in Station.objects.filter(code__in=COMING_DAYS)}
        coming = coming_year(today)
        _plan_as_made(stations, by)
        if coming != TO_UPLOAD:
            _plan_to_upload(stations, by)
        _plan_coming(stations, coming, by)
        for code, year, day, kind, reason in CALLED_OFF:
            year = year or coming
            record = NotSampled(
                station=stations[code],
                year=year,
                day=datetime.date(year, *day) if day else None,
                kind=kind,
                reason=reason,
            )
            record.full_clean(exclude=["by"])
            keep_not_sampled(record, by=by)
        _permits(today, coming)
        _crew(today)
    return True


def _keep(station: Station, year: int, day: datetime.date | None, by: Any, note: str = "") -> None:
    plan = PlannedVisit(
        station=station, year=year, planned_on=day, crew=CREWS[station.code[:4]] if day else "", note=note
    )
    plan.full_clean(exclude=["added_by"])
    keep_plan(plan, by=by)


def _plan_as_made(stations: dict[str, Station], by: Any) -> None:
    """The last season loaded had been planned for the very days."""
    for visit in Visit.objects.filter(visit_date__year=LOADED, station__in=stations.values()):
        _keep(stations[visit.station.code], LOADED, visit.visit_date, by)


def _plan_to_upload(stations: dict[str, Station], by: Any) -> None:
    for code, station in stations.items():
        day = datetime.date(TO_UPLOAD, *UPLOAD_DAYS[code[:4]]) + datetime.timedelta(
            days=7 * (int(code[-1]) - 1)
        )
        _keep(station, TO_UPLOAD, day, by)


def _plan_coming(stations: dict[str, Station], year: int, by: Any) -> None:
    for code, day in COMING_DAYS.items():
        _keep(stations[code], year, datetime.date(year, *day) if day else None, by, NOTES.get(code, ""))


def _permits(today: datetime.date, coming: int) -> None:
    """One that covers every water through the coming season, and one for two creeks that ends in three weeks."""
    soon = today + datetime.timedelta(days=21)
    general = Permit(
        number=f"QW-{LOADED}-031",
        body=OFFICE,
        valid_from=datetime.date(LOADED, 4, 1),
        valid_to=datetime.date(coming, 12, 31),
        waters="all wadeable creeks of the county, native and introduced fish",
        limits="Fish are returned where they were caught. The office is told two days before each visit.",
        report_due=datetime.date(coming + 1, 1, 31),
    )
    withheld = Permit(
        number=f"QW-{soon.year}-104",
        body=OFFICE,
        valid_from=soon - datetime.timedelta(days=364),
        valid_to=soon,
        waters="places of brook trout and bridle shiner",
        limits="No fish of these two species is kept.",
        report_due=soon + datetime.timedelta(days=60),
    )
    for permit in (general, withheld):
        permit.full_clean()
        permit.save()
    withheld.watersheds.set(Watershed.objects.filter(slug__in=["ostrelwyn-creek", "lummerdane-branch"]))


def _crew(today: datetime.date) -> None:
    """Four people by invented initials: two in order, one whose first aid ends soon, one with a lapse and a gap."""
    course = "Backpack electrofishing, two days"

    def days(number: int) -> datetime.date:
        return today + datetime.timedelta(days=number)

    for one in (
        CrewMember(
            initials="JK",
            course=course,
            course_on=days(-1200),
            course_until=days(620),
            first_aid_until=days(410),
            cpr_until=days(410),
            may_lead=True,
        ),
        CrewMember(
            initials="MT",
            course=course,
            course_on=days(-900),
            course_until=days(920),
            first_aid_until=days(300),
            cpr_until=days(300),
            may_lead=True,
        ),
        CrewMember(
            initials="PD",
            course=course,
            course_on=days(-400),
            course_until=days(1400),
            first_aid_until=days(19),
            cpr_until=days(200),
        ),
        CrewMember(initials="RO", first_aid_until=days(-12)),
    ):
        one.full_clean()
        one.save()
