"""The index of a watershed year by year, by each method and version that ever scored its visits."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from statistics import median

from django.utils.safestring import SafeString, mark_safe

from surveys.language import worded
from surveys.models import Watershed
from trends import svg
from trends.index import Method
from trends.models import EarlierScore, VisitResult

WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 640, 220, 40, 16, 16, 28


@dataclass(frozen=True, slots=True, kw_only=True)
class VersionSeries:
    """Scores by one version: the median of each year, with the number of visits behind it."""

    version: str
    present: bool  # whether these scores stand now, or were replaced
    years: dict[int, tuple[float, int]]


@dataclass(frozen=True, slots=True, kw_only=True)
class VersionRow:
    """One year of the table: (median, visits) of each series, None where it has none."""

    year: int
    values: tuple[tuple[float, int] | None, ...]


def series_of(watershed: Watershed, code: str) -> list[VersionSeries]:
    """The scores that stand, and those that were replaced, of one method; the present ones first."""
    found: dict[tuple[bool, str], dict[int, list[float]]] = defaultdict(lambda: defaultdict(list))
    present = VisitResult.objects.filter(visit__station__watershed=watershed, index_method=code)
    for version, day, score in present.values_list("index_version", "visit__visit_date", "index_score"):
        if score is not None:
            found[(True, version)][day.year].append(score)
    earlier = EarlierScore.objects.filter(
        visit__station__watershed=watershed,
        visit__status="accepted",
        method_code=code,
    )
    for version, day, score in earlier.values_list("method_version", "visit__visit_date", "score"):
        if score is not None:
            found[(False, version)][day.year].append(score)
    return [
        VersionSeries(
            version=version,
            present=standing,
            years={year: (median(scores), len(scores)) for year, scores in sorted(years.items())},
        )
        for (standing, version), years in sorted(found.items(), key=lambda item: (not item[0][0], item[0][1]))
    ]


def rows_of(series: list[VersionSeries]) -> list[VersionRow]:
    years = sorted({year for one in series for year in one.years})
    return [VersionRow(year=year, values=tuple(one.years.get(year) for one in series)) for year in years]


def watersheds_with_earlier_scores(code: str, *, without: Collection[int] = ()) -> list[Watershed]:
    """Where a second series can be shown; ``without`` are ids of watersheds to leave out."""
    return list(
        Watershed.objects.filter(
            stations__visits__earlier_scores__method_code=code, stations__visits__status="accepted"
        )
        .exclude(pk__in=without)
        .distinct()
    )


def drawing(series: list[VersionSeries], method: Method, title: str) -> SafeString:
    """The series on one scale: present scores filled with a line, replaced ones hollow."""
    years = [year for one in series for year in one.years]
    if not years:
        return mark_safe("")
    first, last = min(years), max(years)
    values = [value for one in series for value, _ in one.years.values()]
    low, high = method.score_range or (min(0.0, *values), max(values))

    def place(year: int, value: float) -> tuple[float, float]:
        across = (year - first) / ((last - first) or 1)
        up = (value - low) / ((high - low) or 1)
        return (
            round(LEFT + (WIDTH - LEFT - RIGHT) * across, 1),
            round(HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * up, 1),
        )

    floor = HEIGHT - BOTTOM
    parts = [
        svg.open_picture(WIDTH, HEIGHT, title),
        svg.line("axis", LEFT, floor, WIDTH - RIGHT, floor),
        svg.text("", LEFT - 6, floor, f"{low:g}", "end"),
        svg.text("", LEFT - 6, TOP + 4, f"{high:g}", "end"),
        svg.text("", LEFT, HEIGHT - 8, str(first)),
        svg.text("", WIDTH - RIGHT, HEIGHT - 8, str(last), "end"),
    ]
    for one in series:
        # A line joins years that follow each other; a year without a score stays a gap.
        for run in _runs(sorted(one.years)) if one.present else ():
            parts.append(svg.polyline("line", [place(year, one.years[year][0]) for year in run]))
        for year, (value, _) in one.years.items():
            x, y = place(year, value)
            said = worded(
                "{year}: {value}, version {version}", year=year, value=f"{value:.2f}", version=one.version
            )
            kind, css = ("circle", "dot") if one.present else ("diamond", "station")
            parts.append(svg.shape(kind, css, x, y, 4, said))
    return mark_safe("".join(parts) + "</svg>")  # every text went through svg's own escaping


def _runs(years: list[int]) -> list[list[int]]:
    """Years cut where one is missing; single years are left to their dots."""
    runs: list[list[int]] = []
    for year in years:
        if runs and runs[-1][-1] == year - 1:
            runs[-1].append(year)
        else:
            runs.append([year])
    return [run for run in runs if len(run) > 1]
