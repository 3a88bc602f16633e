"""What stands on the field sheet of a station: its reach, the fish met there, last time's numbers, and what
is checked before work. Boxes to fill in, no advice: no setting is proposed and nobody is cleared to work."""

import datetime
from dataclasses import dataclass

from django.db.models import Q

from surveys.entry.cautions import FOR_FISH, FOR_PEOPLE, STANDING_LINE, Caution
from surveys.entry.expected import expected_taxa
from surveys.models import Catch, Permit, PlannedVisit, SafetyCheck, SamplingMethod, Station, Taxon, Visit
from surveys.said import marked

# More rows would not fit one side together with the blank ones.
MOST_EXPECTED, ROWS = 18, 21
# Characters of last time's numbers that fit their column as they are.
LONGEST_LAST = 8
MOST_PASSES = 4

EQUIPMENT = (
    marked("unit, charged batteries, spare"),
    marked("anode, cathode, netters’ nets"),
    marked("stop nets and anchors"),
    marked("waders, gloves, polarised glasses"),
    marked("first-aid kit, radio or phone"),
    marked("tape and wading rod"),
    marked("meters, calibrated on ______"),
    marked("holding tanks, lids, aerators"),
    marked("live well for eels, covered"),
    marked("scale, measuring board"),
    marked("voucher jars, camera, keys to taxa"),
    marked("permit and notices, this sheet"),
)
# Looked at as well, though the record of a visit has no box for it.
ALSO = (
    marked("nobody with heart trouble, a pacemaker or pregnant at the gear"),
    marked("signals agreed; anyone can call a stop"),
    marked("gear clean and dry since the last water"),
)
# What is read from the unit and the clock, pass by pass. The boxes are empty: no setting is proposed.
GEAR = (
    (marked("start"), ""),
    (marked("end"), ""),
    (marked("on-time"), "s"),
    (marked("unit, serial no."), ""),
    (marked("DC / pulsed / AC"), ""),
    (marked("anodes"), ""),
    (marked("netters"), ""),
    (marked("volts"), "V"),
    (marked("pulses"), "Hz"),
    (marked("pulse width"), "ms"),
)
VOUCHERS = 3
READINGS = (
    (marked("Water temp."), "°C"),
    (marked("Air temp."), "°C"),
    (marked("Conductivity"), "µS/cm"),
    (marked("at 25 °C / ambient"), ""),
    (marked("Diss. oxygen"), "mg/L"),
    ("pH", ""),
    (marked("Turbidity"), "NTU"),
    (marked("Discharge"), "m³/s"),
    (marked("Bottom seen"), ""),
    (marked("Weather, rain of 48 h"), ""),
    (marked("Meters"), ""),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CallingRow:
    """One line of the grid. ``last`` is the count by pass of the latest visit, such as ``12 + 5``; ``close`` where
    there are so many that they stand closely, and go on below rather than being cut off."""

    taxon: Taxon
    met: str
    last: str

    @property
    def close(self) -> str:
        return self.last.replace(" + ", "+\u200b") if len(self.last) > LONGEST_LAST else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldSheet:
    station: Station
    method: SamplingMethod | None
    rows: tuple[CallingRow, ...]
    left_out: int  # taxa met before that found no line
    blank_rows: range
    passes: range
    last_visit: Visit | None
    last_total: int
    width_m: float | None
    plan: PlannedVisit | None
    permits: tuple[Permit, ...]
    standing_line: str = STANDING_LINE
    for_people: tuple[Caution, ...] = FOR_PEOPLE
    for_fish: tuple[Caution, ...] = FOR_FISH
    equipment: tuple[str, ...] = EQUIPMENT
    checks: tuple[str, ...]
    also: tuple[str, ...] = ALSO
    gear: tuple[tuple[str, str], ...] = GEAR
    vouchers: range = range(VOUCHERS)
    readings: tuple[tuple[str, str], ...] = READINGS


def field_sheet(station: Station, *, today: datetime.date) -> FieldSheet:
    """The sheet for the next visit to a station. A fixed number of queries."""
    method = station.method or SamplingMethod.objects.filter(is_default=True).first()
    last = Visit.objects.accepted().filter(station=station).order_by("-visit_date").first()
    caught: dict[int, dict[int, int]] = {}
    numbers: list[int] = []
    if last:
        numbers = list(last.passes.values_list("pass_number", flat=True))
        for taxon, number, count in Catch.objects.filter(removal_pass__visit=last).values_list(
            "taxon_id", "removal_pass__pass_number", "count"
        ):
            caught.setdefault(taxon, {})[number] = count
    expected = expected_taxa(station)
    rows = tuple(
        CallingRow(
            taxon=one.taxon,
            met=f"{one.visits}/{one.of_visits}",
            last=" + ".join(str(caught[one.taxon.pk].get(n, 0)) for n in sorted(numbers))
            if one.taxon.pk in caught
            else (marked("none") if last else ""),
        )
        for one in expected[:MOST_EXPECTED]
    )
    planned = method.planned_passes if method else 2
    plans = PlannedVisit.objects.filter(station=station, year__gte=today.year).order_by("year", "planned_on")
    waters = Q(watersheds=None) | Q(watersheds=station.watershed_id)
    return FieldSheet(
        station=station,
        method=method,
        rows=rows,
        left_out=len(expected) - len(rows),
        blank_rows=range(max(3, ROWS - len(rows))),
        passes=range(1, min(planned, MOST_PASSES) + 1),
        last_visit=last,
        last_total=sum(count for of_pass in caught.values() for count in of_pass.values()),
        width_m=last.mean_width_m if last else station.mean_width_m,
        plan=plans.first(),
        checks=tuple(str(one.label) for one in SafetyCheck),
        permits=tuple(Permit.objects.filter(waters, valid_to__gte=today).distinct().order_by("valid_to")),
    )
