"""What every picture of an outcome needs: runs of joined years, the supported line, the range of the axis.

Pure geometry in years and values; ``charts`` and ``sparklines`` turn it into pictures.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median

from trends.listed import ListedOutcome
from trends.measures import BY_KEY
from trends.outcomes import Outcome, Period, YearValue
from trends.wording import line_years, supported

Point = tuple[float, float]


def runs(years: Iterable[YearValue], breaks: Sequence[int] = ()) -> list[list[Point]]:
    """Neighbouring years with a value. A missing year, a change of method or a break ends a run."""
    found: list[list[Point]] = []
    previous: YearValue | None = None
    for one in years:
        if one.value is None:
            previous = None
            continue
        joined = (
            previous is not None
            and one.year == previous.year + 1
            and (one.method == previous.method or not one.method or not previous.method)
            and one.year not in breaks
        )
        if not joined:
            found.append([])
        found[-1].append((float(one.year), one.value))
        previous = one
    return found


@dataclass(frozen=True, slots=True)
class TrendLine:
    """The slope line from first to last year of a period; empty limits where none can be given."""

    line: tuple[Point, Point]
    lower: tuple[Point, ...]
    upper: tuple[Point, ...]


def trend_line(outcome: Outcome, period: Period) -> TrendLine | None:
    """The Sen line of a period and its band, or None where no direction is supported.

    The line has the period's slope and intercept. The band is bounded by two lines with the lower
    and upper limit of the slope through the same middle point: the median of the period's years,
    and the line's value there. So it shows the uncertainty of the slope alone, is narrowest in the
    middle of the record, and is no forecast of single years.
    """
    if not supported(period) or period.slope is None:
        return None
    own = [y for y in line_years(outcome) if y.value is not None and _within(y, period)]
    if not own:
        return None
    centre = median(y.year for y in own)
    if period.intercept is None:
        level = median(y.value for y in own if y.value is not None)
    else:
        level = period.intercept + period.slope * centre

    def ends(slope: float) -> tuple[Point, Point]:
        first, last = period.first_year, period.last_year
        return (first, level + slope * (first - centre)), (last, level + slope * (last - centre))

    lower: tuple[Point, ...] = ()
    upper: tuple[Point, ...] = ()
    if period.lower is not None and period.upper is not None:
        # Either side of the middle the limits change places; the polygon keeps low and high apart.
        a, b = ends(period.lower), ends(period.upper)
        lower = (b[0], (centre, level), a[1])
        upper = (a[0], (centre, level), b[1])
    return TrendLine(ends(period.slope), lower, upper)


def _within(one: YearValue, period: Period) -> bool:
    in_years = period.first_year <= one.year <= period.last_year
    return in_years and (not one.method or one.method == period.method)


def value_range(outcome: Outcome) -> Point:
    """The value axis: an index and a share show their full scale, all else starts at zero."""
    scale = outcome.scale or BY_KEY[outcome.measure].full_scale
    if scale is not None:
        return float(scale[0]), float(scale[1])
    values = [y.value for s in outcome.series for y in s.years if y.value is not None]
    values += [y.value for y in line_years(outcome) if y.value is not None]
    if isinstance(outcome, ListedOutcome) and outcome.highest is not None:
        values.append(outcome.highest)
    return min(0.0, *values, 0.0), nice_ceiling(max(values, default=1.0))


def nice_ceiling(value: float) -> float:
    """The next round number at or above a value: 1, 2, 2.5, 4, 5 or 8 times a power of ten."""
    if value <= 0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(value))
    return next(m * power for m in (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10) if m * power >= value * 0.999999)
