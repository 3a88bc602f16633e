"""The one place where input to the statistics is checked and brought into shape."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from trends.stats.errors import InsufficientData

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]
MINIMUM_VALUES = 3


@dataclass(frozen=True, slots=True)
class YearlySeries:
    """A checked series in order of time, without the missing values."""

    years: FloatArray
    values: FloatArray
    n_missing: int

    @property
    def n(self) -> int:
        """Number of values that are present."""
        return int(self.values.size)

    @property
    def has_repeated_years(self) -> bool:
        """True when two values share a year."""
        return bool(np.any(np.diff(self.years) == 0))


def finite_or_missing(name: str, values: ArrayLike, *, ndim: int = 1) -> FloatArray:
    """Turn the input into floats; NaN stays, infinities and wrong shapes are refused.

    A masked value is a missing one: what stands under the mask, often -999, is never read.
    """
    try:
        given = np.ma.asarray(values) if np.ma.isMaskedArray(values) else np.asarray(values)
        if given.dtype.kind in "cMm":
            raise TypeError(f"got values of type {given.dtype}")
        if given.dtype.kind == "O":
            given = np.ma.filled(given, np.nan)
            given = np.where(pd.isna(given), np.nan, given)
        array: FloatArray = np.ma.filled(given.astype(np.float64), np.nan)
    except (TypeError, ValueError) as error:
        raise ValueError(f"{name} must be numbers in a table of {ndim} dimension(s): {error}") from error
    if array.ndim != ndim:
        raise ValueError(f"{name} must have {ndim} dimension(s), got {array.ndim}")
    infinite = np.argwhere(np.isinf(array))
    if infinite.size:
        place = ", ".join(str(int(i)) for i in infinite[0])
        raise ValueError(f"{name}[{place}] is infinite ({array[tuple(infinite[0])]})")
    return array


def yearly_series(years: ArrayLike, values: ArrayLike, *, minimum: int = MINIMUM_VALUES) -> YearlySeries:
    """Check a series, drop missing values pair by pair and put it in order of time.

    Rows may come in any order. A year may appear more than once (several visits in
    one year); no pair is formed within a year.
    """
    t = finite_or_missing("years", years)
    x = finite_or_missing("values", values)
    if t.size != x.size:
        raise ValueError(f"years and values must have the same length, got {t.size} and {x.size}")
    present = ~(np.isnan(t) | np.isnan(x))
    t, x = t[present], x[present]
    if x.size < minimum:
        raise InsufficientData(
            "too_few_years", f"values has fewer than {minimum} values that are not missing: {x.size}"
        )
    if np.all(t == t[0]):
        raise InsufficientData(
            "one_year_only", f"years holds a single year, {t[0]:g}, so no pair can be formed"
        )
    order = np.argsort(t, kind="stable")
    return YearlySeries(t[order], x[order], int(present.size - x.size))


def calendar(years: ArrayLike, width: int, *, table: str) -> FloatArray:
    """Check the years that head the columns of a table: finite, none twice, right number."""
    t = finite_or_missing("years", years)
    if np.isnan(t).any():
        raise ValueError(f"years[{int(np.flatnonzero(np.isnan(t))[0])}] is missing")
    if t.size != width:
        raise ValueError(f"years has {t.size} entries but {table} has {width} columns")
    ordered = np.sort(t)
    repeated = ordered[:-1][np.diff(ordered) == 0]
    if repeated.size:
        raise ValueError(f"years holds {repeated[0]:g} more than once")
    return t


def season_labels(seasons: Sequence[object]) -> list[str | None]:
    """The label of every value's season as text; None where it is missing."""
    labels: list[object] = np.ma.filled(np.ma.asarray(seasons, dtype=object), np.nan).ravel().tolist()
    missing = pd.isna(np.array(labels, dtype=object))
    return [None if gone else str(label) for label, gone in zip(labels, missing, strict=True)]


def whole_counts(name: str, values: ArrayLike, *, ndim: int = 1) -> FloatArray:
    """Check counts: present, not negative, whole."""
    array = not_negative(name, values, ndim=ndim)
    odd = np.argwhere(array != np.floor(array))
    if odd.size:
        raise ValueError(f"{name}{_place(odd[0])} is not a whole number ({array[tuple(odd[0])]:g})")
    return array


def not_negative(name: str, values: ArrayLike, *, ndim: int = 1) -> FloatArray:
    """Check amounts: present, finite, not negative."""
    array = finite_or_missing(name, values, ndim=ndim)
    missing = np.argwhere(np.isnan(array))
    if missing.size:
        raise ValueError(f"{name}{_place(missing[0])} is missing: unknown is not zero")
    negative = np.argwhere(array < 0)
    if negative.size:
        raise ValueError(f"{name}{_place(negative[0])} is negative ({array[tuple(negative[0])]:g})")
    return array


def share(name: str, value: float) -> float:
    """Check a number strictly between 0 and 1, such as a confidence or an alpha."""
    number = float(value)
    if not 0.0 < number < 1.0:
        raise ValueError(f"{name} must lie between 0 and 1, got {value}")
    return number


def positive(name: str, value: float) -> float:
    """Check a finite number above 0."""
    number = float(value)
    if not math.isfinite(number) or number <= 0:
        raise ValueError(f"{name} must be a finite number above 0, got {value}")
    return number


def one_of(name: str, value: str, allowed: tuple[str, ...]) -> str:
    """Check a word against the words that are known."""
    if value not in allowed:
        raise ValueError(f"{name} must be one of {', '.join(allowed)}; got {value!r}")
    return value


def _place(index: NDArray[np.int64]) -> str:
    return "[" + ", ".join(str(int(i)) for i in index) + "]"
