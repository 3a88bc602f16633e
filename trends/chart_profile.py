"""A measure along the creek: river kilometre against value, the latest year over the faint earlier ones."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from django.utils.safestring import SafeString, mark_safe

from surveys.language import told, worded
from surveys.models import Station
from trends import svg
from trends.chart_parts import value_range
from trends.chart_words import ABSENT, ChartTable
from trends.measures import BY_KEY
from trends.number_words import counted, format_value, listed
from trends.outcomes import Outcome, StationSeries
from trends.reading import NumberedNote

WIDTH, HEIGHT = 760, 340
LEFT, RIGHT, TOP, FLOOR = 56, 96, 20, 262
STRIP = 318
# A year's line along the creek needs a value at this many stations of the main stream.
LEAST_ON_LINE = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """The picture, its sentence and its numbers; ``svg`` is empty where fewer than two stations have a place."""

    title: str
    subtitle: str
    words: str
    svg: SafeString
    table: ChartTable


@dataclass(frozen=True, slots=True)
class _Spot:
    station: Station
    series: StationSeries
    km: float
    main: bool

    def at(self, year: int) -> float | None:
        return next((y.value for y in self.series.years if y.year == year), None)


def profile(outcome: Outcome, stations: Sequence[Station], notes: Sequence[NumberedNote] = ()) -> Profile:
    """Stations by their distance from the mouth; the main stream joined, side streams apart."""
    measure = BY_KEY[outcome.measure]
    year = outcome.latest_year or 0
    spots = _spots(outcome, stations)
    placed = [s for s in spots if s.at(year) is not None]
    title = worded(
        "{measure} along {place}, {year}", measure=measure.name, place=outcome.place_name, year=year
    )
    drawn = mark_safe("")
    if len(spots) >= LEAST_ON_LINE:
        drawn = _draw(outcome, spots, notes, year, title)
    without = [s.code for s in stations if s.river_km is None]
    return Profile(
        title=title,
        subtitle=worded(
            "{measure}; earlier years faint; squares lie on side streams; hollow marks have no value in {year} "
            "and show the last one before",
            measure=measure.axis_title,
            year=year,
        ),
        words=_words(outcome, placed, without, year),
        svg=drawn,
        table=_table(outcome, stations, year),
    )


def _spots(outcome: Outcome, stations: Sequence[Station]) -> list[_Spot]:
    series = {s.station: s for s in outcome.series if s.present()}
    placed = [s for s in stations if s.river_km is not None and s.code in series]
    streams = [s.stream for s in placed]
    main = max(streams, key=lambda name: (streams.count(name), -streams.index(name)), default="")
    return sorted(
        (_Spot(s, series[s.code], float(s.river_km or 0), s.stream == main) for s in placed),
        key=lambda spot: spot.km,
    )


def _draw(
    outcome: Outcome, spots: list[_Spot], notes: Sequence[NumberedNote], year: int, title: str
) -> SafeString:
    measure = BY_KEY[outcome.measure]
    low, high = value_range(outcome)
    most_km = max(s.km for s in spots) * 1.06 or 1.0

    def x(km: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * km / most_km

    def y(value: float) -> float:
        return FLOOR - (FLOOR - TOP) * (value - low) / ((high - low) or 1)

    parts = [svg.open_picture(WIDTH, HEIGHT, title), *_axes(outcome, low, high, most_km, x, y)]
    years = sorted({v.year for s in spots for v in s.series.present()})
    main = [s for s in spots if s.main]
    for one in (v for v in years if v != year):
        points = [(x(s.km), y(v)) for s in main if (v := s.at(one)) is not None]
        if len(points) >= LEAST_ON_LINE:
            parts.append(svg.polyline("faint", points))
        parts += [
            svg.shape("circle", "faint-dot", x(s.km), y(v), 1.8)
            for s in spots
            if (v := s.at(one)) is not None
        ]
    points = [(x(s.km), y(v)) for s in main if (v := s.at(year)) is not None]
    if len(points) >= LEAST_ON_LINE:
        parts.append(svg.polyline("trend", points))
    for s in spots:
        latest = s.at(year)
        shown = s.series.present()[-1] if latest is None else None
        value = latest if latest is not None else (shown.value if shown else None)
        if value is None:
            continue
        when = year if shown is None else shown.year
        words = worded(
            "{station}: {value} in {year}",
            station=s.station.code,
            value=format_value(measure, value),
            year=when,
        )
        parts.append(
            svg.shape(
                "circle" if s.main else "square",
                "dot" if latest is not None else "hollow",
                x(s.km),
                y(value),
                5,
                words,
            )
        )
    parts += _names(spots, x)
    parts += _note_strip(spots, notes, x)
    return mark_safe("".join([*parts, "</svg>"]))


def _axes(outcome: Outcome, low: float, high: float, most_km: float, x, y) -> list[str]:  # type: ignore[no-untyped-def]
    right = WIDTH - RIGHT + 10
    parts = [
        svg.line("axis", LEFT, TOP, LEFT, FLOOR),
        svg.line("axis", LEFT, FLOOR, right, FLOOR),
        svg.text("", right, FLOOR + 34, worded("km from the mouth"), "end"),
    ]
    for value in (low, (low + high) / 2, high):
        parts.append(svg.line("year-tick", LEFT - 5, y(value), LEFT, y(value)))
        parts.append(svg.text("", LEFT - 8, y(value) + 4, f"{value:g}", "end"))
    step = next((s for s in (0.5, 1, 2, 5, 10, 20, 50, 100) if most_km / s <= 10), 200)
    km = 0.0
    while km <= most_km:
        parts.append(svg.line("year-tick", x(km), FLOOR, x(km), FLOOR + 5))
        parts.append(svg.text("", x(km), FLOOR + 18, f"{km:g}", "middle"))
        km += step
    if outcome.ratings:
        parts.append(svg.line("axis", right, TOP, right, FLOOR))
    for word, band_low, band_high in outcome.ratings:
        parts.append(svg.line("axis", right, y(band_low), right + 7, y(band_low)))
        parts.append(svg.text("", right + 10, (y(band_low) + y(band_high)) / 2 + 4, told(word)))
    return parts


def _names(spots: list[_Spot], x) -> list[str]:  # type: ignore[no-untyped-def]
    """Codes over the stations, on two rows where they would touch."""
    parts, ends = [], [-100.0, -100.0]
    for s in spots:
        half = 3.4 * len(s.station.code)
        row = 0 if x(s.km) - half > ends[0] + 4 else 1
        ends[row] = x(s.km) + half
        parts.append(svg.text("", x(s.km), TOP - 8 + 14 * row, s.station.code, "middle"))
        parts.append(svg.line("drop", x(s.km), TOP + 8, x(s.km), FLOOR))
    return parts


def _note_strip(spots: list[_Spot], notes: Sequence[NumberedNote], x) -> list[str]:  # type: ignore[no-untyped-def]
    """Numbers of the notes under the station they speak of."""
    by_code = {s.station.code: s for s in spots}
    placed: dict[str, list[int]] = {}
    for one in notes:
        if one.note.station is not None and one.note.station.code in by_code:
            placed.setdefault(one.note.station.code, []).append(one.number)
    if not placed:
        return []
    parts = [svg.text("", 2, STRIP + 4, worded("notes"))]
    for code, numbers in placed.items():
        start = x(by_code[code].km) - 9.5 * (len(numbers) - 1)
        for i, number in enumerate(numbers):
            parts.append(svg.shape("circle", "note-mark", start + 19 * i, STRIP, 8.5))
            parts.append(svg.text("note-number-in", start + 19 * i, STRIP + 4, str(number), "middle"))
    return parts


def _words(outcome: Outcome, placed: list[_Spot], without: list[str], year: int) -> str:
    measure = BY_KEY[outcome.measure]
    if len(placed) < LEAST_ON_LINE:
        words = worded(
            "Fewer than two stations with a distance from the mouth have a value in {year}, "
            "so there is no profile.",
            year=year,
        )
    else:
        values = [(s.at(year) or 0.0, s.station.code) for s in placed]
        each = [
            worded(
                "{station} at km {km}: {value}",
                station=s.station.code,
                km=f"{s.km:g}",
                value=format_value(measure, s.at(year), unit=False),
            )
            for s in placed
        ]
        low, high = min(values), max(values)
        words = worded(
            "Profile of {stations} in {year}, from the mouth upwards: {each}. Lowest at {low}, highest at {high}.",
            stations=counted(len(placed), "station", "stations"),
            year=year,
            each=", ".join(each),
            low=low[1],
            high=high[1],
        )
    if without:
        words += " " + worded("Without a distance from the mouth: {stations}.", stations=listed(without))
    return words


def _table(outcome: Outcome, stations: Sequence[Station], year: int) -> ChartTable:
    measure = BY_KEY[outcome.measure]
    series = {s.station: s for s in outcome.series}
    rows = []
    for s in sorted(stations, key=lambda one: (one.river_km is None, one.river_km or 0, one.code)):
        own = series.get(s.code)
        present = own.present() if own else []
        now = next((v.value for v in present if v.year == year), None)
        earlier = [v.value for v in present if v.year < year and v.value is not None]
        rows.append(
            (
                s.code,
                s.stream,
                ABSENT if s.river_km is None else f"{s.river_km:g}",
                ABSENT if now is None else format_value(measure, now, unit=False),
                ABSENT if not earlier else format_value(measure, median(earlier), unit=False),
                str(len(earlier)),
            )
        )
    return ChartTable(
        worded("{measure} along the creek", measure=measure.name),
        (
            worded("Station"),
            worded("Stream"),
            worded("km from the mouth"),
            str(year),
            worded("Median of earlier years"),
            worded("Earlier years"),
        ),
        tuple(rows),
    )
