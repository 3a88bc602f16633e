"""Many places or numbers shown together: words decided by values adjusted for looking at all of them at once.

Benjamini, Y. and Y. Hochberg. 1995. Controlling the false discovery rate: a practical and powerful approach
to multiple testing. J. R. Stat. Soc. B 57:289-300.
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

from trends.assessments import certainty_of, direction_for, is_good
from trends.measures import BY_KEY
from trends.outcomes import Outcome

AnyOutcome = TypeVar("AnyOutcome", bound=Outcome)


def adjusted_p(p_values: Sequence[float | None]) -> list[float | None]:
    """Benjamini-Hochberg over the tests that were made; None where none was."""
    from statsmodels.stats.multitest import multipletests

    tested = [p for p in p_values if p is not None]
    adjusted = iter(multipletests(tested, method="fdr_bh")[1] if tested else ())
    return [None if p is None else float(next(adjusted)) for p in p_values]


def with_adjusted(outcome: AnyOutcome, p: float | None) -> AnyOutcome:
    """The outcome with the word that its current period earns by an adjusted p.

    A word can only get weaker; a proven "steady" and a disagreement stay, for they do not rest on p.
    """
    period = outcome.current
    if p is None or period is None:
        return outcome
    certainty = period.certainty
    if certainty in ("very_likely", "likely", "leaning"):
        certainty = certainty_of(1 - p / 2, period.slope or 0.0, -math.inf, math.inf, None)
    direction = direction_for(period.slope or 0.0, certainty)
    changed = replace(
        period,
        p_adjusted=p,
        certainty=certainty,
        direction=direction,
        good=is_good(BY_KEY[outcome.measure], direction),
    )
    return replace(outcome, periods=tuple(changed if one is period else one for one in outcome.periods))


def adjust(outcomes: Sequence[AnyOutcome]) -> list[AnyOutcome]:
    """The same outcomes as they read when shown together: words decided by the adjusted p."""
    found = adjusted_p([o.current.p_value if o.current else None for o in outcomes])
    return [with_adjusted(outcome, p) for outcome, p in zip(outcomes, found, strict=True)]
