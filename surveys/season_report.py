"""The state of a season: station by station what was due, done, not done and why, and what is unanswered."""

import datetime
from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Q, Sum
from django.utils import timezone, translation

from surveys.models import NotSampled, PlannedVisit, Station, Upload, Visit, VisitQuestion, VisitStatus
from surveys.said import marked, said
from surveys.signals import season_reported

DONE, WAITING, RETURNED, DRAFT = marked("done"), marked("waiting"), marked("returned"), marked("begun")
NOT_SAMPLED, DUE, MISSING = marked("not sampled"), marked("due"), marked("missing")
_BY_STATUS = {
    VisitStatus.ACCEPTED: DONE,
    VisitStatus.SUBMITTED: WAITING,
    VisitStatus.RETURNED: RETURNED,
    VisitStatus.DRAFT: DRAFT,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonRow:
    """One station in one year. ``state`` is the furthest it has come; all that is on record stands beside."""

    station: Station
    state: str
    plans: tuple[PlannedVisit, ...]
    visits: tuple[Visit, ...]
    not_sampled: tuple[NotSampled, ...]
    unanswered: int

    @property
    def planned(self) -> bool:
        return bool(self.plans)


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    year: int
    rows: tuple[SeasonRow, ...]

    def of_state(self, *states: str) -> list[SeasonRow]:
        return [row for row in self.rows if row.state in states]

    def counts(self) -> dict[str, int]:
        states = (DONE, WAITING, RETURNED, DRAFT, NOT_SAMPLED, DUE, MISSING)
        return {
            "stations": len(self.rows),
            "planned": sum(row.planned for row in self.rows),
            **{state.replace(" ", "_"): len(self.of_state(state)) for state in states},
            "unanswered": sum(row.unanswered for row in self.rows),
        }


def seasons_on_record() -> list[int]:
    """Years with a plan, a visit or a note that nothing was sampled; the latest first."""
    years = {day.year for day in Visit.objects.dates("visit_date", "year")}
    years |= set(PlannedVisit.objects.values_list("year", flat=True).distinct())
    years |= set(NotSampled.objects.values_list("year", flat=True).distinct())
    return sorted(years, reverse=True)


def season_of(year: int, *, today: datetime.date | None = None) -> Season:
    """Everything on record for one year, by watershed and station. A fixed number of queries."""
    today = today or timezone.localdate()
    plans: dict[int, list[PlannedVisit]] = defaultdict(list)
    for plan in PlannedVisit.objects.filter(year=year):
        plans[plan.station_id].append(plan)
    visits: dict[int, list[Visit]] = defaultdict(list)
    made = Visit.objects.filter(visit_date__year=year).exclude(status=VisitStatus.WITHDRAWN)
    for visit in made.order_by("visit_date").select_related("station"):
        visits[visit.station_id].append(visit)
    gaps: dict[int, list[NotSampled]] = defaultdict(list)
    for gap in NotSampled.objects.filter(year=year):
        gaps[gap.station_id].append(gap)
    unanswered = _unanswered(visits)
    stations = (
        Station.objects.filter(pk__in=[*plans, *visits, *gaps])
        .with_places()
        .order_by("watershed__name", "code")
    )
    return Season(
        year=year,
        rows=tuple(
            SeasonRow(
                station=station,
                state=_state(year, plans[station.pk], visits[station.pk], gaps[station.pk], today),
                plans=tuple(plans[station.pk]),
                visits=tuple(visits[station.pk]),
                not_sampled=tuple(gaps[station.pk]),
                unanswered=unanswered[station.pk],
            )
            for station in stations
        ),
    )


def _unanswered(visits: dict[int, list[Visit]]) -> Counter[int]:
    """Questions without an answer by station: asked when a visit was handed in, or in the file it came from."""
    made = [visit for of_station in visits.values() for visit in of_station]
    counts: Counter[int] = Counter()
    for station, number in (
        VisitQuestion.objects.filter(visit__in=[visit.pk for visit in made], answer="")
        .order_by()
        .values_list("visit__station")
        .annotate(Count("pk"))
    ):
        counts[station] += number
    files = {visit.upload_id for visit in made if visit.upload_id}
    open_ones = {
        (key, entry["station"], entry["date"]): entry.get("unanswered", len(entry.get("warnings", ())))
        for key, summary in Upload.objects.filter(pk__in=files).values_list("pk", "summary")
        for entry in summary.get("visits", [])
    }
    for visit in made:
        place = (visit.upload_id or 0, visit.station.code, str(visit.visit_date))
        counts[visit.station_id] += open_ones.get(place, 0)
    return counts


def _state(
    year: int, plans: list[PlannedVisit], visits: list[Visit], gaps: list[NotSampled], today: datetime.date
) -> str:
    for status, state in _BY_STATUS.items():
        if any(visit.status == status for visit in visits):
            return state
    if gaps:
        return NOT_SAMPLED
    days = [plan.planned_on or datetime.date(year, 12, 31) for plan in plans]
    return MISSING if max(days, default=datetime.date(year, 12, 31)) < today else DUE


@translation.override("en")  # what is signed is stored, and told in the reader's language later
def report_of(year: int, *, moved: bool = True) -> dict[str, Any]:
    """The report that is signed: plain data, kept as it stood. How the results moved takes the longest part and may
    be left out while looking.

    ``moved`` has a row for each creek: its name, its trend in words without and with this season, and
    ``scores``: station, score and rating of this season, and those of the season before.
    """
    season = season_of(year)
    fish = dict(
        Visit.objects.accepted()
        .filter(visit_date__year=year)
        .order_by()
        .annotate(fish=Sum("passes__catches__count", default=0))
        .values_list("pk", "fish")
    )
    withdrawn = Visit.objects.filter(Q(visit_date__year=year, status=VisitStatus.WITHDRAWN))
    return {
        "counts": season.counts(),
        "rows": [
            {
                "station": row.station.code,
                "watershed": row.station.watershed.name,
                "state": row.state,
                "planned": row.planned,
                "reasons": [gap.words for gap in row.not_sampled],
                "unanswered": row.unanswered,
            }
            for row in season.rows
        ],
        "visits": [
            {
                "station": row.station.code,
                "date": str(visit.visit_date),
                "revision": visit.revision,
                "fish": fish[visit.pk],
            }
            for row in season.rows
            for visit in row.visits
            if visit.pk in fish
        ],
        "withdrawn": [
            said("{station} on {day}", station=code, day=day)
            for code, day in withdrawn.order_by("station__code", "visit_date").values_list(
                "station__code", "visit_date"
            )
        ],
        "moved": [row for _, rows in season_reported.send(sender=Visit, year=year) for row in rows or ()]
        if moved
        else [],
    }
