"""The share of fish with anomalies at a visit: of how many looked at, and within which limits.

A line on which nobody noted anomalies was not looked at, and that is not zero.
"""

from scipy.stats import binomtest

from surveys.language import worded
from surveys.queries import VisitRecord
from trends.number_words import rounded


def anomaly_sentence(record: VisitRecord) -> str:
    """The share with exact limits (Clopper & Pearson 1934); empty where no fish was caught."""
    lines = [c for one in record.passes for c in one.catches if c.count]
    noted = [c for c in lines if c.anomalies is not None]
    looked = sum(c.count for c in noted)
    rest = sum(c.count for c in lines) - looked
    if not lines:
        return ""
    if not looked:
        return worded("Nobody noted anomalies at this visit. Not looked at is not the same as none.")
    found = sum(c.anomalies or 0 for c in noted)
    limits = binomtest(found, looked).proportion_ci(0.95, method="exact")
    words = {
        "found": found,
        "looked": looked,
        "share": rounded(100 * found / looked, 1),
        "lower": rounded(100 * limits.low, 1),
        "upper": rounded(100 * limits.high, 1),
    }
    if not rest:
        return worded(
            "Anomalies: {found} of {looked} fish looked at, {share} % (95 % limits {lower} to {upper} %).",
            **words,
        )
    return worded(
        "Anomalies: {found} of {looked} fish looked at, {share} % (95 % limits {lower} to {upper} %). They were not "
        "noted for the other {rest}.",
        rest=rest,
        **words,
    )
