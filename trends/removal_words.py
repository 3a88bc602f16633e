"""What stands beside a removal estimate in words: the total over taxa added up, and passes of unequal time."""

import math
from collections.abc import Sequence

from surveys.language import worded
from trends.number_words import rounded
from trends.stats.removal import removal_estimate, removal_total

# The formulas want the same effort in every pass (Seber 1973, as quoted by Bohlin et al. 1989). From how
# unequal on a reader is told is a judgement: the longest pass a fifth longer than the shortest.
UNEQUAL_TIMES = 1.2


def separate_sentence(catches_by_taxon: Sequence[Sequence[int]], *, usable: bool) -> str:
    """How the total would read added up taxon by taxon, beside the pooled one; empty where there is none.

    Parameters
    ----------
    catches_by_taxon : shape (taxa, passes), fish
    usable : whether an estimate may be made at this visit at all (closed reach, several passes)
    """
    if not usable or len(catches_by_taxon) < 2:
        return ""
    total = removal_total(catches_by_taxon)
    if not math.isfinite(total.separate) or len(total.without_estimate) == len(catches_by_taxon):
        return ""
    n = len(total.without_estimate)
    upper = worded("no upper limit") if math.isinf(total.separate_upper) else rounded(total.separate_upper, 0)
    words = worded(
        "“All fish” takes every taxon as caught with the same chance, which leans low where they differ. Added up "
        "taxon by taxon, each with its own chance, the total is {total} (95 % limits {lower} to {upper}).",
        total=rounded(total.separate, 0),
        lower=rounded(total.separate_lower, 0),
        upper=upper,
    )
    if not n:
        return words
    least = worded(
        "{n} of {all} taxa have no estimate and enter with their catch alone: a least value.",
        n=n,
        all=len(catches_by_taxon),
    )
    return f"{words} {least}"


def effort_sentence(catches: Sequence[int], times_s: Sequence[float | None], *, usable: bool) -> str:
    """What the estimate of all fish would be with the time of each pass counted in; empty where they are alike.

    Parameters
    ----------
    catches : fish of each pass
    times_s : current-on time of each pass [s]; None where it was not noted
    usable : whether an estimate is shown at all
    """
    times = [t for t in times_s if t]
    if not usable or len(times) < len(catches) or max(times) <= UNEQUAL_TIMES * min(times):
        return ""
    again = removal_estimate(catches, effort=times)
    words = worded(
        "The passes took from {least} to {most} s of current. The estimates take each pass as the same effort, which "
        "is not so here.",
        least=rounded(min(times), 0),
        most=rounded(max(times), 0),
    )
    if not again.usable:
        other = worded("With the time of each pass counted in there is no estimate of all fish.")
    elif math.isinf(again.upper):
        other = worded(
            "With the time of each pass counted in, all fish would be {total}, at least {lower}.",
            total=rounded(again.n_hat, 0),
            lower=rounded(again.lower, 0),
        )
    else:
        other = worded(
            "With the time of each pass counted in, all fish would be {total} (95 % limits {lower} to {upper}).",
            total=rounded(again.n_hat, 0),
            lower=rounded(again.lower, 0),
            upper=rounded(again.upper, 0),
        )
    return f"{words} {other}"
