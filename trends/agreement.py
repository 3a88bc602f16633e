"""Do the stations of a creek move together, does one pull, and which numbers move?"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from surveys.language import worded, worded_n
from trends import wording
from trends.assessments import COMPARED, DISAGREE_P, LEAST_YEARS_FOR_COVARIANCE, LIKELY
from trends.cautions.retest import retest
from trends.many_tests import adjust
from trends.measures import BY_KEY, INDEX, INDEX_ALL_FISH
from trends.number_words import format_p, listed
from trends.outcomes import Outcome
from trends.station_directions import compare_stations
from trends.stats._checks import MINIMUM_VALUES
from trends.stats.kendall import regional_kendall


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """Sentences on the agreement of stations; empty where fewer than two were tested."""

    together: str = ""
    pull: str = ""


def agreement(outcome: Outcome, *, staff: bool) -> Agreement:
    """Agreement over the current period of a watershed's outcome."""
    period = outcome.current
    if period is None or len(period.stations) < 2 or period.heterogeneity_p is None or period.slope is None:
        return Agreement()
    up, down = period.stations_up, period.stations_down
    rest = [code for code in period.stations if code not in (*up, *down)]
    parts = [
        f"{listed(list(codes))} {word}"
        for codes, word in (
            (up, worded("rising")),
            (down, worded("falling")),
            (rest, worded("with no clear direction")),
        )
        if codes
    ]
    if period.certainty == "disagree":
        verdict = worded("The stations differ more than chance allows")
    elif period.heterogeneity_p < DISAGREE_P:  # only of stations that all move one way by themselves
        verdict = worded("The stations move the same way, though not equally surely")
    else:
        verdict = worded("The stations do not differ more than chance allows")
    if staff:
        p = format_p(period.heterogeneity_p)
        verdict = worded("{verdict} (test of agreement {p})", verdict=verdict, p=p)
    return Agreement(
        together=f"{verdict}: {'; '.join(parts)}.",
        pull=_pull(outcome),
    )


def _pull(outcome: Outcome) -> str:
    """The station without which the creek's slope changes most, and whether the direction stands."""
    period = outcome.current
    assert period is not None and period.slope is not None
    rows = {
        s.station: {y.year: y.value for y in s.present() if y.method == period.method}
        for s in outcome.series
        if s.station in period.stations
    }
    if len(rows) < 3:
        return ""
    calendar = sorted({y for row in rows.values() for y in row})
    years = np.array(calendar, dtype=float)
    found = []
    for left in rows:
        # The same test as the verdict's, which does not take the stations as independent proofs.
        tested = retest(outcome, frozenset(), covariance_from=LEAST_YEARS_FOR_COVARIANCE, without=left)
        matrix = np.array(
            [[row.get(y, np.nan) for y in calendar] for code, row in rows.items() if code != left],
            dtype=float,
        )
        if np.count_nonzero(~np.isnan(matrix), axis=1).max() < MINIMUM_VALUES:
            found.append((0.0, left, period.slope, 0))  # without it there is nothing to test
            continue
        again = regional_kendall(years, matrix)
        others = [code for code in rows if code != left]
        apart = compare_stations(others, years, matrix, **COMPARED).disagree
        sure = tested is not None and tested[0] >= LIKELY and not apart
        sign = int(np.sign(again.slope)) if sure else 0
        found.append((abs(again.slope - period.slope), left, again.slope, sign))
    now = {"up": 1, "down": -1}.get(period.direction, 0) if wording.supported(period) else 0
    turned = [left for _, left, _, sign in found if sign != now]
    pull, most, slope, _ = max(found)
    measure = BY_KEY[outcome.measure]
    sentences = []
    if pull >= 1e-9:
        sentences.append(
            worded(
                "Without {station}, which pulls most, the slope would be {other} instead of {slope}.",
                station=most,
                other=wording.format_slope(measure, slope),
                slope=wording.format_slope(measure, period.slope),
            )
        )
    sentences.append(
        worded("Without {stations} the verdict would be another one.", stations=listed(turned))
        if turned
        else worded("The verdict stands without any one of the stations.")
    )
    return " ".join(sentences)


@dataclass(frozen=True, slots=True, kw_only=True)
class MetricRow:
    """One measure of a creek beside the others; words by the adjusted p."""

    name: str
    outcome: Outcome
    tested: int


def metric_rows(outcomes: Sequence[Outcome]) -> list[MetricRow]:
    """Every measure's direction, decided by values adjusted for looking at all of them at once.

    Where there are two scores of the same visits, that of all fish alone: they are not two findings.
    """
    both = {o.measure for o in outcomes} >= {INDEX.key, INDEX_ALL_FISH.key}
    adjusted = adjust([o for o in outcomes if not (both and o.measure == INDEX.key)])
    tested = sum(1 for o in adjusted if o.current and o.current.p_value is not None)
    return [MetricRow(name=BY_KEY[o.measure].name, outcome=o, tested=tested) for o in adjusted]


def metrics_words(rows: Sequence[MetricRow], *, staff: bool) -> str:
    """Which numbers move: "2 of 9 numbers show a direction: ..."."""
    moving = [r for r in rows if wording.supported(r.outcome.current)]
    if not rows:
        return ""
    if not moving:
        return worded_n(
            "The one number followed here shows no direction.",
            "None of the {n} numbers followed here shows a direction.",
            len(rows),
        )
    each = listed([f"{r.name.lower()} ({wording.outcome_verdict(r.outcome, staff=staff)})" for r in moving])
    return worded_n(
        "{n} of {all} numbers followed here shows a direction: {each}.",
        "{n} of {all} numbers followed here show a direction: {each}.",
        len(moving),
        all=len(rows),
        each=each,
    )
