"""The test of a verdict once more, with some years or a station left out."""

import numpy as np

from trends.cautions import limits
from trends.outcomes import Outcome
from trends.stats.kendall import direction_of, regional_kendall
from trends.stats.shuffle import shuffled_years


def retest(
    outcome: Outcome, left_out: frozenset[int], *, covariance_from: int, without: str = ""
) -> tuple[float, int] | None:
    """Confidence and sign of the current period's test without these years; None if too few are left.

    ``without`` is the code of a station that is left out as well. The tests are those of the verdict
    itself: one station by Mann-Kendall, several by shuffled years or, from ``covariance_from`` years on,
    with the covariances between them.
    """
    period = outcome.current
    if period is None:
        return None
    rows = [
        {y.year: y.value for y in s.present() if y.method == period.method and y.year not in left_out}
        for s in outcome.series
        if s.station in period.stations and s.station != without
    ]
    rows = [values for values in rows if values]
    if max((len(v) for v in rows), default=0) < limits.LEAST_YEARS:
        return None
    calendar = sorted({year for values in rows for year in values})
    years = np.array(calendar, dtype=float)
    matrix = np.array([[values.get(y, np.nan) for y in calendar] for values in rows], dtype=float)
    if len(rows) == 1:
        s, confidence = direction_of(years, matrix[0])
        return float(confidence), int(np.sign(s))
    if len(calendar) < covariance_from:
        shuffled = shuffled_years(years, matrix)
        return float(shuffled.direction_confidence), int(np.sign(shuffled.slope))
    again = regional_kendall(years, matrix, correct_for_correlation=True)
    return float(again.direction_confidence), int(np.sign(again.slope))
