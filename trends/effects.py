"""Before against after a dated note, at the stations it concerns and at control stations.

The year is the unit. D(year) is the mean of the stations concerned minus the mean of the controls; the
statistics are those of ``trends.stats.before_after``. Nothing here says why a difference arose.
"""

import datetime
import math
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from surveys.models import Station, Visit
from surveys.said import marked
from trends import cautions
from trends.assessments import class_width
from trends.cautions import pages
from trends.further_years import POWER, target_per_decade
from trends.measures import BY_KEY, Measure
from trends.models import LandUseNote
from trends.outcomes import Caution, StationSeries
from trends.record import Record, read_record
from trends.series import station_series
from trends.stats.before_after import BeforeAfter, before_after, smallest_detectable_effect

# Nothing was done, or it came over the controls as well: before and after say nothing then.
NO_EFFECT = frozenset({"survey", "drought", "flood"})
MOST_PROPOSED = 3
MOST_FURTHER_YEARS = 40
COUNTS = frozenset({"total_catch", "first_pass_catch", "density_per_100_m2", "biomass_g_per_m2"})


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlOption:
    """A station that could stand as a control, why it is offered, and what speaks against it."""

    station: Station
    why: str
    before: int
    after: int
    against: str = ""

    @property
    def enough(self) -> bool:
        return min(self.before, self.after) >= cautions.LEAST_YEARS_A_SIDE


@dataclass(frozen=True, slots=True, kw_only=True)
class YearRow:
    """One year of the comparison; ``side`` is before, after or during."""

    year: int
    side: str
    impact: float | None
    control: float | None
    difference: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """A comparison with everything that a reader needs to weigh it; ``result`` None where none was made."""

    note: LandUseNote
    measure: Measure
    impact: tuple[Station, ...]
    controls: tuple[Station, ...]
    options: tuple[ControlOption, ...]
    options_kept_back: int
    rows: tuple[YearRow, ...]
    result: BeforeAfter | None
    ratio: BeforeAfter | None
    refusal: str
    further_years: int | None
    further_for: float | None
    cautions: tuple[Caution, ...]
    others: tuple[LandUseNote, ...]
    left_out_by_method: tuple[int, ...]


def side_of(note: LandUseNote, day: datetime.date) -> str:
    """Whether a visit came before the note, after it, or while it went on; rough dates are taken widely."""
    first, last = note.starts_on, note.ends_on or note.starts_on
    if note.date_precision in ("year", "decade"):
        first = first.replace(month=1, day=1)
        years = 9 if note.date_precision == "decade" and note.ends_on is None else 0
        last = last.replace(year=last.year + years, month=12, day=31)
    if day < first:
        return "before"
    return "after" if day > last else "during"


def impact_stations(note: LandUseNote) -> tuple[Station, ...]:
    """The station that the note names, else every station of its watershed."""
    if note.station is not None:
        return (note.station,)
    return tuple(note.watershed.stations.order_by("river_km", "code"))


def control_options(note: LandUseNote, impact: Sequence[Station]) -> tuple[ControlOption, ...]:
    """Stations that could be controls, the fittest first: named ones, upstream ones, the same stratum elsewhere."""
    strata = {s.stratum for s in impact if s.stratum}
    streams = {(s.watershed_id, s.stream) for s in impact}
    highest = max((s.river_km for s in impact if s.river_km is not None), default=None)
    candidates = Station.objects.exclude(pk__in=[s.pk for s in impact]).select_related(
        "watershed", "control_for"
    )
    sides = _sides(note)
    disturbed = _disturbed(note)
    options = []
    for s in candidates.order_by("code"):
        upstream = (
            (s.watershed_id, s.stream) in streams
            and highest is not None
            and s.river_km is not None
            and s.river_km > highest
        )
        if s.control_for_id in {x.pk for x in impact}:
            why, rank = marked("named as a control for these stations"), 0
        elif s.watershed_id != note.watershed_id and strata and s.stratum in strata:
            why, rank = marked("the same stratum in another watershed"), 1
        elif note.station_id is not None and upstream:
            why, rank = marked("upstream on the same stream"), 2
        else:
            continue
        count = sides.get(s.pk, Counter())
        against = disturbed.get(s.pk) or disturbed.get(-s.watershed_id, "")
        if upstream and rank != 2:
            against = against or marked("on the same stream")
        options.append(
            (
                rank,
                ControlOption(
                    station=s, why=why, before=count["before"], after=count["after"], against=against
                ),
            )
        )
    options.sort(key=lambda pair: (not pair[1].enough, pair[0], bool(pair[1].against), pair[1].station.code))
    return tuple(option for _, option in options)


def _sides(note: LandUseNote) -> dict[int, Counter[str]]:
    """Visited years of every station on each side of the note. One query."""
    found: dict[int, dict[int, str]] = {}
    for station, day in (
        Visit.objects.accepted().order_by("visit_date").values_list("station_id", "visit_date")
    ):
        found.setdefault(station, {})[day.year] = side_of(note, day)
    return {station: Counter(years.values()) for station, years in found.items()}


def _disturbed(note: LandUseNote) -> dict[int, str]:
    """Titles of other works by station id, and by minus the watershed id for those of a whole watershed."""
    found: dict[int, str] = {}
    for one in LandUseNote.objects.public().exclude(pk=note.pk).exclude(category__in=pages.EVERYWHERE):
        found[one.station_id or -one.watershed_id] = f"{one.title}, {one.starts_on.year}"
    return found


def proposed(options: Sequence[ControlOption]) -> tuple[Station, ...]:
    """The controls taken where none are chosen: named ones with enough years, else undisturbed ones, else any."""
    named = [o for o in options if o.enough and o.why.startswith("named")]
    fit = named or [o for o in options if o.enough and not o.against] or [o for o in options if o.enough]
    return tuple(o.station for o in fit[:MOST_PROPOSED])


def effect(
    note: LandUseNote,
    measure_key: str,
    chosen: Sequence[str] | None = None,
    *,
    staff: bool = False,
    kept_back: Collection[int] = (),
) -> Effect:
    """Compare before and after.

    Parameters
    ----------
    chosen : codes of control stations; empty for none; None takes the proposed ones
    kept_back : ids of watersheds whose stations may not be controls, for their numbers are not for this reader
    """
    measure = BY_KEY[measure_key]
    impact = impact_stations(note)
    every = control_options(note, impact)
    options = tuple(o for o in every if o.station.watershed_id not in kept_back)
    if chosen is None:
        controls = proposed(options)
    else:
        controls = tuple(o.station for o in options if o.station.code in set(chosen))
    records = {w: read_record(w) for w in {s.watershed for s in (*impact, *controls)}}
    width = _class_width(records[note.watershed], impact, measure) if measure.is_index else None
    inside, outside = _series(records, impact, measure_key), _series(records, controls, measure_key)
    inside, dropped_in = _one_method(inside)
    outside, dropped_out = _one_method(outside)
    impact = tuple(s for s in impact if s.code in {x.station for x in inside})
    sides = _year_sides(note, records[note.watershed], impact)
    years = sorted({y.year for s in inside for y in s.present()})
    rows = _rows(years, sides, inside, outside)
    left_out = [float(y) for y in years if sides.get(y) == "during"]
    after = [y for y in years if sides.get(y) == "after"]
    result, ratio, refusal = _compare(measure, years, inside, outside, after, left_out)
    n_before = (
        result.n_before if result else sum(1 for r in rows if r.side == "before" and r.difference is not None)
    )
    n_after = (
        result.n_after if result else sum(1 for r in rows if r.side == "after" and r.difference is not None)
    )
    step = target_per_decade(measure, width)
    notes = _other_notes(note, impact, staff=staff)
    found = [
        pages.few_years_a_side(n_before, n_after),
        pages.no_control(len(outside)),
        _weak(controls, impact, note, result, years) if controls else None,
        pages.confounded(note, notes),
    ]
    return Effect(
        note=note,
        measure=measure,
        impact=impact,
        controls=tuple(s for s in controls if s.code in {x.station for x in outside}),
        options=options,
        options_kept_back=len(every) - len(options),
        rows=rows,
        result=result if result is not None and result.usable else None,
        ratio=ratio,
        refusal=refusal or (result.reason if result is not None and not result.usable else ""),
        further_years=_further(rows, n_before, n_after, step),
        further_for=step,
        cautions=cautions.in_order(c for c in found if c is not None),
        others=tuple(n for n in notes if _near(note, n)),
        left_out_by_method=tuple(sorted({*dropped_in, *dropped_out})),
    )


def _class_width(record: Record, impact: Sequence[Station], measure: Measure) -> float | None:
    from trends.assessments import assess

    outcome = assess(record, measure.key, impact[0]) if impact and record.visits.get(impact[0].pk) else None
    return class_width(measure, outcome.ratings) if outcome else None


def _series(records: dict, stations: Sequence[Station], measure: str) -> list[StationSeries]:  # type: ignore[type-arg]
    found = []
    for s in stations:
        record = records[s.watershed]
        series = station_series(record, s, measure, record.years([s]))
        if series.present():
            found.append(series)
    return found


def _one_method(series: Sequence[StationSeries]) -> tuple[list[StationSeries], set[int]]:
    """Each station's years by the method it was fished with most; the years of other methods are left out."""
    kept, dropped = [], set()
    for one in series:
        counts = Counter(y.method for y in one.present())
        method = max(counts, key=lambda m: (counts[m], max(y.year for y in one.present() if y.method == m)))
        dropped |= {y.year for y in one.present() if y.method != method}
        years = tuple(y for y in one.years if y.method == method)
        kept.append(StationSeries(station=one.station, name=one.name, years=years))
    return kept, dropped


def _year_sides(note: LandUseNote, record: Record, impact: Sequence[Station]) -> dict[int, str]:
    """The side of each year by its visits; a year with visits on two sides belongs to the works."""
    found: dict[int, set[str]] = {}
    for s in impact:
        for v in record.visits.get(s.pk, ()):
            if v.in_season:
                found.setdefault(v.date.year, set()).add(side_of(note, v.date))
    return {year: sides.pop() if len(sides) == 1 else "during" for year, sides in found.items()}


def _mean(series: Sequence[StationSeries], year: int) -> float | None:
    """Mean over the stations, None unless every one has a value."""
    values = [next((y.value for y in s.years if y.year == year), None) for s in series]
    present = [v for v in values if v is not None]
    return sum(present) / len(present) if present and len(present) == len(values) else None


def _rows(
    years: Sequence[int],
    sides: dict[int, str],
    inside: Sequence[StationSeries],
    outside: Sequence[StationSeries],
) -> tuple[YearRow, ...]:
    rows = []
    for year in years:
        a, b = _mean(inside, year), _mean(outside, year)
        d = a if not outside else (a - b if a is not None and b is not None else None)
        rows.append(YearRow(year=year, side=sides.get(year, "during"), impact=a, control=b, difference=d))
    return tuple(rows)


def _compare(
    measure: Measure,
    years: Sequence[int],
    inside: Sequence[StationSeries],
    outside: Sequence[StationSeries],
    after: Sequence[int],
    left_out: Sequence[float],
) -> tuple[BeforeAfter | None, BeforeAfter | None, str]:
    if not inside:
        return None, None, marked("No accepted visit gives this number at the stations concerned.")
    change = min(after, default=max(years) + 1)

    def table(series: Sequence[StationSeries]) -> np.ndarray:
        by_year = [{y.year: y.value for y in s.years} for s in series]
        return np.array(
            [[np.nan if (v := row.get(y)) is None else v for y in years] for row in by_year], dtype=float
        )

    controls = table(outside) if outside else None
    result = before_after(years, table(inside), change_year=change, controls=controls, left_out=left_out)
    ratio = None
    every = np.concatenate([table(inside).ravel(), *([controls.ravel()] if controls is not None else [])])
    if measure.key in COUNTS and result.usable and np.nanmin(every) > 0:
        ratio = before_after(
            years, table(inside), change_year=change, controls=controls, left_out=left_out, ratio=True
        )
    return result, ratio, ""


def _weak(
    controls: Sequence[Station],
    impact: Sequence[Station],
    note: LandUseNote,
    result: BeforeAfter | None,
    years: Sequence[int],
) -> Caution | None:
    own = LandUseNote.objects.public().filter(watershed__in={c.watershed_id for c in controls})
    drift = result.drift_before.p_value if result is not None and result.drift_before is not None else None
    window = (min(years), max(years)) if years else (note.starts_on.year, note.starts_on.year)
    return pages.weak_control(controls, impact, own, drift, window, note)


def _other_notes(note: LandUseNote, impact: Sequence[Station], *, staff: bool) -> list[LandUseNote]:
    notes = LandUseNote.objects.current() if staff else LandUseNote.objects.public()
    mine = {s.pk for s in impact}
    return [
        n
        for n in notes.filter(watershed=note.watershed).exclude(pk=note.pk).order_by("starts_on")
        if n.station_id is None or n.station_id in mine
    ]


def _near(note: LandUseNote, other: LandUseNote) -> bool:
    return pages.confounded(note, [other]) is not None


def _further(rows: Sequence[YearRow], before: int, after: int, step: float | None) -> int | None:
    """Further yearly visits until a step of this size would be seen with the usual power; None if never."""
    least = max(0, int(cautions.LEAST_YEARS_A_SIDE) - after)
    own = [
        [r.difference for r in rows if r.side == side and r.difference is not None]
        for side in ("before", "after")
    ]
    free = sum(max(len(part) - 1, 0) for part in own)
    if before < cautions.LEAST_YEARS_A_SIDE or step is None or free < 2:
        return None
    squares = sum(float(np.sum((np.array(part) - np.mean(part)) ** 2)) for part in own if part)
    spread = math.sqrt(squares / free)
    if spread == 0:
        return least
    for more in range(least, MOST_FURTHER_YEARS + 1):
        if (
            after + more >= 1
            and smallest_detectable_effect(before, after + more, spread, power=POWER) <= step
        ):
            return more
    return None
