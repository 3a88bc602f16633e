"""What the methods page says about every number: plain words, formula, source, and why this way.

Text data only. Every threshold is taken from the constant that the code itself uses, so that the
page cannot say one number while the code uses another.
"""

from trends.glossary.caution_entry import CautionEntry
from trends.glossary.cautions import CAUTIONS
from trends.glossary.certainty import CERTAINTY, CertaintyRow, public_and_staff
from trends.glossary.counting import COUNTING, CountingEntry
from trends.glossary.statistics import STATISTICS, Statistic

__all__ = [
    "CAUTIONS",
    "CERTAINTY",
    "COUNTING",
    "STATISTICS",
    "CautionEntry",
    "CertaintyRow",
    "CountingEntry",
    "Statistic",
    "public_and_staff",
]
