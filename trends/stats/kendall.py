"""Kendall-type trend statistics under one import path.

The work is done in the neighbouring modules, one per statistic; nothing is computed here.
"""

from __future__ import annotations

from trends.stats._mann_kendall import MannKendall, direction_of, mann_kendall
from trends.stats._regional import RegionalKendall, regional_kendall, seasonal_kendall
from trends.stats._sen import SenSlope, sen_slope
from trends.stats._trend_batch import TrendBatch, trend_batch

__all__ = [
    "MannKendall",
    "RegionalKendall",
    "SenSlope",
    "TrendBatch",
    "direction_of",
    "mann_kendall",
    "regional_kendall",
    "seasonal_kendall",
    "sen_slope",
    "trend_batch",
]
