"""The exact chances of Kendall's S when there is no trend, given the pattern of ties.

Everything is counted in whole numbers. Up to 20 values the counts fit 64 bits, and
because sums and differences of whole numbers stay right modulo 2**64, the counting may
run in machine integers; beyond that Python's own unlimited integers are used.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import factorial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trends.stats._checks import FloatArray

# 20! is below 2**64, 21! is not.
LARGEST_N_IN_MACHINE_INTEGERS = 20
# Up to this many years the exact chances are used; beyond, the normal curve is as good.
LARGEST_N_FOR_EXACT = 20


def tie_sizes(values: FloatArray) -> tuple[int, ...]:
    """Sizes of the groups of equal values, groups of one left out, in rising order."""
    _, counts = np.unique(values, return_counts=True)
    return tuple(sorted(int(c) for c in counts if c > 1))


def untied_pairs(n: int, ties: Sequence[int]) -> int:
    """Number of pairs whose two values differ; the largest S that can be reached."""
    return n * (n - 1) // 2 - sum(a * (a - 1) // 2 for a in ties)


@lru_cache(maxsize=1024)
def discordance_counts(n: int, ties: tuple[int, ...]) -> NDArray[Any]:
    """Count, for every m, the different orders with m falling pairs.

    Without ties the counts are the coefficients of (1)(1+q)...(1+q+...+q^(n-1)). A
    group of a equal values divides that polynomial by the same product for a.
    """
    kind: Any = np.uint64 if n <= LARGEST_N_IN_MACHINE_INTEGERS else object
    if not ties:
        counts = np.zeros(n * (n - 1) // 2 + 1, dtype=kind)
        counts[0] = 1
        for size in range(2, n + 1):
            counts = _times_geometric(counts, size)
        return counts
    group = ties[-1]
    # The quotient has a lower degree; as power series both may be cut before dividing.
    counts = discordance_counts(n, ties[:-1])[: untied_pairs(n, ties) + 1]
    for size in range(2, group + 1):
        counts = _over_geometric(counts, size)
    return counts


@lru_cache(maxsize=16384)
def upper_tail(n: int, ties: tuple[int, ...]) -> FloatArray:
    """P(S >= s) for s = D, D-2, D-4, ... down to the smallest s that is not negative.

    Entry m belongs to s = D - 2m, where D is the number of untied pairs.
    """
    pairs = untied_pairs(n, ties)
    orders = factorial(n)
    for a in ties:
        orders //= factorial(a)
    running = np.cumsum(discordance_counts(n, ties)[: pairs // 2 + 1])
    tail: FloatArray = np.array([int(c) / orders for c in running], dtype=np.float64)
    tail.setflags(write=False)
    return tail


def two_sided_p(s: int, n: int, ties: tuple[int, ...]) -> float:
    """P(|S'| >= |s|) when every order of the values is equally likely."""
    if s == 0:
        return 1.0
    m = (untied_pairs(n, ties) - abs(s)) // 2
    return min(1.0, 2.0 * float(upper_tail(n, ties)[m]))


@lru_cache(maxsize=16384)
def critical_s(alpha: float, n: int, ties: tuple[int, ...]) -> tuple[int, float] | None:
    """Smallest S with P(S' >= S) <= alpha / 2 and that chance; None when there is none."""
    tail = upper_tail(n, ties)
    # A chance that equals alpha/2 in exact arithmetic must not be lost to the last bit.
    reached = int(np.searchsorted(tail, alpha / 2 * (1 + 1e-12), side="right"))
    pairs = untied_pairs(n, ties)
    if reached == 0 or pairs == 0:
        return None
    m = reached - 1
    s = pairs - 2 * m
    if s <= 0:
        return None
    return s, float(tail[m])


def _times_geometric(counts: NDArray[Any], size: int) -> NDArray[Any]:
    """Multiply by 1 + q + ... + q^(size-1) = (1 - q^size) / (1 - q)."""
    product = counts.copy()
    product[size:] -= counts[:-size]
    return np.cumsum(product, dtype=product.dtype)


def _over_geometric(counts: NDArray[Any], size: int) -> NDArray[Any]:
    """Divide by 1 + q + ... + q^(size-1) = (1 - q^size) / (1 - q)."""
    quotient = counts.copy()
    quotient[1:] -= counts[:-1]
    padded = np.zeros(-(-quotient.size // size) * size, dtype=quotient.dtype)
    padded[: quotient.size] = quotient
    summed = np.cumsum(padded.reshape(-1, size), axis=0, dtype=padded.dtype)
    divided: NDArray[Any] = summed.reshape(-1)[: quotient.size]
    return divided
