"""Cautions on a change that is not a straight one: C22, and C23 where the survey changed with it."""

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from surveys.said import marked, said
from trends.cautions import limits
from trends.cautions.situation import Situation, caution
from trends.outcomes import Caution, way_of
from trends.stats.kendall import direction_of

SURVEY = marked("the survey in {year}")


def _rss_aicc(values: NDArray[np.float64], design: NDArray[np.float64], extra: int = 0) -> float:
    """AICc of a least-squares fit; ``extra`` counts what was chosen by looking, such as the year of a step."""
    fitted = design @ np.linalg.lstsq(design, values, rcond=None)[0]
    return _aicc(float(np.sum((values - fitted) ** 2)), values.size, design.shape[1] + 1 + extra)


def _aicc(rss: float, n: int, k: int) -> float:
    if n - k - 1 <= 0:
        return math.inf
    return n * math.log(max(rss / n, 1e-12)) + 2 * k + 2 * k * (k + 1) / (n - k - 1)


def best_step(years: NDArray[np.float64], values: NDArray[np.float64]) -> tuple[int, float] | None:
    """First year after the best single step, and by how much its AICc beats a level line."""
    least = limits.LEAST_YEARS_A_SIDE
    if values.size < 2 * least or np.ptp(values) == 0:
        return None
    level = _aicc(float(np.sum((values - values.mean()) ** 2)), values.size, 2)
    # The least-squares fit of a step is the mean before it and the mean from it on.
    first = np.arange(least, values.size - least + 1)
    after = years >= years[first, None]
    n_after = after.sum(axis=1)
    sum_after = np.where(after, values, 0.0).sum(axis=1)
    sum_before = np.where(after, 0.0, values).sum(axis=1)
    before_mean, after_mean = sum_before / (values.size - n_after), sum_after / n_after
    fitted = np.where(after, after_mean[:, None], before_mean[:, None])
    squares = ((values - fitted) ** 2).sum(axis=1)
    # Four parameters: two means, the scatter, and the year that was chosen by looking.
    tried = [
        (_aicc(float(rss), values.size, 4), int(years[i])) for rss, i in zip(squares, first, strict=True)
    ]
    best, year = min(tried)
    return year, level - best


def bent(s: Situation) -> Iterator[Caution]:
    """A curve or a step clearly fits better than a line, or the two halves go opposite ways."""
    period = s.period
    if period is None or period.certainty == "not_assessed" or len(s.points) < 2 * limits.LEAST_YEARS:
        return
    years = np.array([y.year for y in s.points], dtype=float)
    values = np.array([y.value for y in s.points], dtype=float)
    if np.ptp(values) == 0:
        return
    t = (years - years.mean()) / np.ptp(years)
    ones = np.ones_like(t)
    line = _rss_aicc(values, np.column_stack([ones, t]))
    curve = line - _rss_aicc(values, np.column_stack([ones, t, t**2]))
    found = best_step(years, values)
    level = _rss_aicc(values, ones[:, None])
    step = line - (level - found[1]) if found else -math.inf
    halves = _halves(years, values)
    numbers = {"curve_better_by": round(curve, 1), "limit": limits.CURVE_BEATS}
    limit = f"{limits.CURVE_BEATS:g}"
    turning = halves[0] * halves[1] < 0
    if turning or curve > limits.CURVE_BEATS or step > limits.CURVE_BEATS:
        if turning:
            if halves[0] > 0:
                what = said("It rose in the first half and fell in the second; one slope hides it.")
                plain = said("It first rose and then fell; one slope hides that.")
            else:
                what = said("It fell in the first half and rose in the second; one slope hides it.")
                plain = said("It first fell and then rose; one slope hides that.")
        elif step >= curve and found:
            what = said(
                "A step in {year} fits better than a line (AICc lower by {better}, limit {limit}); one slope hides it.",
                year=found[0],
                better=f"{step:.1f}",
                limit=limit,
            )
            plain = said("It changed in one step about {year} rather than little by little.", year=found[0])
            numbers["step_year"] = found[0]
            numbers["step_better_by"] = round(step, 1)
        else:
            what = said(
                "A curve fits better than a line (AICc lower by {better}, limit {limit}); one slope hides it.",
                better=f"{curve:.1f}",
                limit=limit,
            )
            plain = said("The change was not even; one slope hides that.")
        yield caution("C22", "warn", what, plain, **numbers)


def _halves(years: NDArray[np.float64], values: NDArray[np.float64]) -> tuple[int, int]:
    """The supported direction of each half of the years, 0 where there is none."""
    middle = years.size // 2
    signs = []
    for part in (slice(None, middle), slice(middle, None)):
        if np.ptp(values[part]) == 0:
            signs.append(0)
            continue
        total, confidence = direction_of(years[part], values[part])
        signs.append(int(np.sign(total)) if confidence >= limits.DIRECTION_CONFIDENCE else 0)
    return signs[0], signs[1]


def step_where_ways_changed(s: Situation) -> Iterator[Caution]:
    """A step of the whole record within a year of a change of method, of the crew's lead, or of the survey."""
    rows = [y for y in s.outcome.middle if y.value is not None]
    if len(rows) < 2 * limits.LEAST_YEARS_A_SIDE:
        return
    years = np.array([y.year for y in rows], dtype=float)
    found = best_step(years, np.array([y.value for y in rows], dtype=float))
    if found is None:
        return
    year, better = found
    if better < limits.CURVE_BEATS:
        return
    anew = len({way_of(p.method) for p in s.outcome.periods}) < 2
    changes = dict.fromkeys(
        s.outcome.breaks, marked("the station's layout in {year}") if anew else marked("the method in {year}")
    )
    changes |= {n.starts_on.year: SURVEY for n in s.record.notes if n.category == "survey" and s.concerns(n)}
    close = {y: what for y, what in changes.items() if abs(y - year) <= limits.STEP_YEARS}
    # A season called off is no change of the way of sampling.
    close = {y: what for y, what in close.items() if not (what == SURVEY and y in s.record.no_season)}
    if close:
        what = "; ".join(said(w, year=y) for y, w in sorted(close.items()))
        yield caution(
            "C23",
            "warn",
            said(
                "A step in {year}, within {step_years} year of a change of {what}: it may be the survey, not the "
                "creek.",
                year=year,
                step_years=limits.STEP_YEARS,
                what=what,
            ),
            said(
                "The numbers jump in {year}, when the way of surveying changed. The jump may come from that.",
                year=year,
            ),
            year=year,
            changes=sorted(close),
            within_years=limits.STEP_YEARS,
        )


RULES = (bent, step_where_ways_changed)
