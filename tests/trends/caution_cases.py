"""A made record that raises no caution, and ways to change one thing about it. All numbers invented."""

import datetime
from dataclasses import replace
from typing import Any

from surveys.models import Station, Watershed
from trends.assessments import assess
from trends.models import LandUseNote
from trends.outcomes import Outcome
from trends.record import Record, VisitValue

YEARS = tuple(range(2008, 2020))
# Twelve years without direction, without likeness of neighbours, spread evenly.
QUIET = (40.0, 43.0, 38.5, 42.0, 39.0, 44.0, 37.5, 41.5, 43.5, 38.0, 42.5, 40.5)
RISING = (20.0, 24.5, 23.0, 29.0, 27.5, 34.0, 32.0, 38.5, 37.0, 43.0, 41.5, 48.0)


def visit(station: int, year: int, value: float | None, measure: str, **changes: Any) -> VisitValue:
    base = VisitValue(
        visit_id=station * 10_000 + year,
        station_id=station,
        date=datetime.date(year, 7, 15),
        method="two",
        method_name="Two passes",
        in_season=True,
        values={measure: value},
        reasons={},
        index_method="",
        index_version="",
        passes=2,
        reach_length_m=75.0,
        mean_width_m=4.0,
        stop_nets="both",
        total_catch=60,
        gear="one backpack unit",
        crew_lead="A",
        effort_s_per_pass=900.0,
        pass_catches=(40, 20),
        removal_usable=True,
        taxa=("Cottus bairdii",),
        turbidity_ntu=5.0,
        discharge_m3_s=0.2,
        season_closes=datetime.date(year, 9, 30),
    )
    return replace(base, **changes)


def note(category: str, starts: str, ends: str | None = None, station: Station | None = None) -> LandUseNote:
    return LandUseNote(
        pk=hash((category, starts)) % 100_000,
        category=category,
        starts_on=datetime.date.fromisoformat(starts),
        ends_on=datetime.date.fromisoformat(ends) if ends else None,
        title=f"A {category}",
        station=station,
    )


def outcome_of(
    values: tuple[float | None, ...] = QUIET,
    *,
    measure: str = "first_pass_catch",
    years: tuple[int, ...] = YEARS,
    changes: dict[int, dict[str, Any]] | None = None,
    every: dict[str, Any] | None = None,
    changes_of: dict[int, dict[int, dict[str, Any]]] | None = None,
    more_stations: tuple[tuple[float | None, ...], ...] = (),
    streams: tuple[str, ...] = ("Alder Run", "Birch Run", "Cedar Run"),
    one_station: bool = False,
    **record: Any,
) -> Outcome:
    """The assessed record of one station, or of a watershed where more stations are given.

    ``changes`` alters the visits of a year, ``changes_of`` those of one station, ``every`` all of them;
    ``record`` sets fields of the record.
    ``one_station`` assesses the first station alone, the others only make the calendar.
    """
    rows = (values, *more_stations)
    place = Watershed(pk=1, name="Alder", slug="alder")
    stations = tuple(
        Station(pk=i, code=f"ALD-0{i}", watershed=place, stream=streams[i - 1])
        for i in range(1, len(rows) + 1)
    )
    visits = {
        s.pk: tuple(
            visit(
                s.pk,
                y,
                v,
                measure,
                **{
                    **(every or {}),
                    **(changes or {}).get(y, {}),
                    **(changes_of or {}).get(s.pk, {}).get(y, {}),
                },
            )
            for y, v in zip(years, row, strict=True)
            if v is not None
        )
        for s, row in zip(stations, rows, strict=True)
    }
    fields = {"no_season": {}, **record}
    made = Record(watershed=place, stations=stations, visits=visits, **fields)
    return assess(made, measure, None if more_stations and not one_station else stations[0])


def codes(outcome: Outcome) -> list[str]:
    return [c.code for c in outcome.cautions]
