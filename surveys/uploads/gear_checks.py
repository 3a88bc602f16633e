"""Checks of a visit's readings and gear against the visits to the same station before it: readings that look
copied, a conductivity of another kind, other gear. Pure code."""

from collections.abc import Iterable
from typing import Any, Final

from surveys.rules import Rules
from surveys.said import marked, said
from surveys.uploads.field_columns import FIELD_COLUMNS
from surveys.uploads.findings import WARNING, Finding
from surveys.uploads.grouping import Grouped
from surveys.uploads.known import EarlierVisit, Known
from surveys.uploads.values import fold

MEASURED: Final = (
    "water_temp_c",
    "conductivity_us_cm",
    "dissolved_oxygen_mg_l",
    "ph",
    "turbidity_ntu",
    "discharge_m3_s",
    "air_temp_c",
)
GEAR: Final = ("waveform", "anodes", "netters")
BASIS: Final = "conductivity_basis"
_TITLES = {column.name: column.title for column in FIELD_COLUMNS}
_WORDS = {
    "water_temp_c": marked("water temperature"),
    "conductivity_us_cm": marked("conductivity"),
    "dissolved_oxygen_mg_l": marked("dissolved oxygen"),
    "ph": marked("pH"),
    "turbidity_ntu": marked("turbidity"),
    "discharge_m3_s": marked("discharge"),
    "air_temp_c": marked("air temperature"),
}


def check_against_last(rows: Grouped, known: Known, findings: list[Finding]) -> None:
    """Each visit against the last one before it at its station."""
    given = {name: rows.visit_values(name) for name in (*MEASURED, BASIS)}
    first_passes = {int(rows.visit_of_pass[p]): p for p, n in enumerate(rows.number_of_pass) if n == 1}
    gear = {name: rows.pass_values(name) for name in GEAR}
    for visit in range(rows.visit_count):
        station = known.stations.get(fold(rows.station(visit)))
        day = rows.date(visit)
        last = (
            max((e for e in station.earlier if e.date < day), key=lambda e: e.date, default=None)
            if station
            else None
        )
        if last is None:
            continue
        line = rows.line(int(rows.first_row_of_visit[visit]))
        findings += _copied(line, {name: given[name][visit] for name in MEASURED}, last, known.rules)
        findings += _basis(line, given[BASIS][visit], last)
        if visit in first_passes:
            p = first_passes[visit]
            findings += _gear(rows.line(int(rows.first_row_of_pass[p])), {n: gear[n][p] for n in GEAR}, last)


def _copied(line: int, readings: dict[str, Any], last: EarlierVisit, rules: Rules) -> Iterable[Finding]:
    same = [name for name, value in readings.items() if value is not None and value == last.values.get(name)]
    if len(same) >= rules.limit("readings_repeated", "readings"):
        words = ", ".join(_WORDS[name] for name in same)
        yield Finding(
            level=WARNING,
            code="readings_repeated",
            row=line,
            column=same[0],
            value=f"{readings[same[0]]:g}",
            message=said(
                "{number} readings are exactly those of {day}: {names}. Were they copied?",
                number=len(same),
                day=last.date,
                names=words,
            ),
            remedy=marked("Check them against the field sheet; keep them if they were measured anew."),
        )


def _basis(line: int, basis: str | None, last: EarlierVisit) -> Iterable[Finding]:
    before = last.values.get(BASIS)
    if basis and before and basis != before:
        yield Finding(
            level=WARNING,
            code="basis_differs",
            row=line,
            column=BASIS,
            value=basis,
            message=said(
                "The conductivity is given as {written}, on {day} it was {written_2}.",
                written=repr(basis),
                day=last.date,
                written_2=repr(before),
            ),
            remedy=marked("Check what the meter shows; the two kinds are not compared with each other."),
        )


def _gear(line: int, gear: dict[str, Any], last: EarlierVisit) -> Iterable[Finding]:
    for name, value in gear.items():
        before = last.values.get(name)
        if value and before and value != before:
            yield Finding(
                level=WARNING,
                code="gear_differs",
                row=line,
                column=name,
                value=str(value),
                message=said(
                    "The {what} of pass 1: {written}, on {day}: {written_2}.",
                    what=_TITLES[name],
                    written=value,
                    day=last.date,
                    written_2=before,
                ),
                remedy=marked("Keep it if it was so. A change of gear can look like a change of the creek."),
            )
