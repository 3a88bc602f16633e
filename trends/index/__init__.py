"""Fish indices of biotic integrity: published methods as data, and the scoring of a sample by them.

Nothing here knows of databases or pages: a method and a sample go in, a frozen result comes out.
"""

from trends.index.errors import MethodError, SampleError
from trends.index.method import Method, load_method
from trends.index.results import IndexResult, LeftOut, MetricResult
from trends.index.scoring import score_sample

__all__ = [
    "IndexResult",
    "LeftOut",
    "Method",
    "MethodError",
    "MetricResult",
    "SampleError",
    "load_method",
    "score_sample",
]
