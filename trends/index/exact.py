"""Exact numbers, so that a value lying on a cut point falls on the right side of it."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction

Number = int | float | Fraction | Decimal

ACRES_PER_KM2 = Fraction("247.105")  # 1 ha = 2.47105 acres
ACRES_PER_SQ_MI = Fraction(640)


def exact(number: Number | str) -> Fraction:
    """Return the number as it was written: 0.1 becomes one tenth, not its binary neighbour.

    Raises
    ------
    ValueError : not a finite number
    """
    if isinstance(number, bool):
        raise ValueError("yes or no is not a number")
    if isinstance(number, float):
        if not math.isfinite(number):
            raise ValueError(f"{number} is not a finite number")
        return Fraction(repr(float(number)))
    if isinstance(number, Decimal) and not number.is_finite():
        raise ValueError(f"{number} is not a finite number")
    return Fraction(number)


def round_half_up(value: Fraction, step: Fraction) -> Fraction:
    """Round to a multiple of ``step``; halves go up, as in hand calculation."""
    return math.floor(value / step + Fraction(1, 2)) * step


def plain(value: Fraction | None) -> float | None:
    """Return an ordinary number for results and files."""
    return None if value is None else float(value)


def short(value: Fraction | float, digits: int = 4) -> str:
    """Write a number for a sentence, without trailing zeros."""
    text = f"{float(value):.{digits}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
