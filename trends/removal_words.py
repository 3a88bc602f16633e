"""The two ways to a total over taxa in words: pooled as one, or added up with a chance of capture each."""

import math
from collections.abc import Sequence

from surveys.language import worded
from trends.number_words import rounded
from trends.stats.removal import removal_total


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
