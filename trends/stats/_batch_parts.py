"""Array machinery of the batch trend call: runs of ties, the pass over all pairs, medians."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trends.stats._checks import BoolArray, FloatArray, IntArray
from trends.stats._exact_null import critical_s, untied_pairs, upper_tail

# Pair slopes worked on together: enough to hide the cost of each call, few enough for the cache.
PAIRS_PER_BLOCK = 400_000
# NumPy sorts runs up to this long by a fixed network of comparisons.
SHORT_RUN = 256
# Series whose pairs are counted together, for the same reason.
SERIES_PER_BLOCK = 2_048


@dataclass(frozen=True, slots=True)
class TiePatterns:
    """The distinct (n, tie sizes) among some rows, and which of them each row has."""

    kinds: list[tuple[int, tuple[int, ...]]]
    of_row: IntArray  # -1 for rows that were not asked for

    def two_sided_p(self, s: IntArray, rows: BoolArray) -> FloatArray:
        """Exact p of the given S, one per marked row."""
        tails = [upper_tail(*kind) for kind in self.kinds]
        starts = np.concatenate([[0], np.cumsum([tail.size for tail in tails])])[:-1]
        largest = np.array([untied_pairs(*kind) for kind in self.kinds])
        kind = self.of_row[rows]
        place = starts[kind] + (largest[kind] - np.abs(s)) // 2
        p: FloatArray = np.minimum(1.0, 2.0 * np.concatenate(tails)[place])
        p[s == 0] = 1.0
        return p

    def critical_values(self, alpha: float, rows: BoolArray) -> tuple[FloatArray, FloatArray]:
        """Critical S and its chance, one per marked row; NaN and 0 where there is none."""
        kind = self.of_row[rows]
        table = np.zeros((len(self.kinds), 2))
        for i in np.unique(kind):
            table[i] = critical_s(alpha, *self.kinds[i]) or (np.nan, 0.0)
        return table[kind, 0], table[kind, 1]


@dataclass(frozen=True, slots=True)
class TieRuns:
    """For every sorted value, how many equal values stand before it in its row."""

    before: IntArray  # shape (columns, rows)

    @classmethod
    def of(cls, in_order: FloatArray) -> TieRuns:
        """Find the runs in rows that were sorted, NaN last."""
        across = np.ascontiguousarray(in_order.T)
        before = np.zeros(across.shape, dtype=np.int64)
        equal = across[1:] == across[:-1]
        for column in range(1, across.shape[0]):
            np.multiply(before[column - 1] + 1, equal[column - 1], out=before[column])
        return cls(before)

    @property
    def tied_pairs(self) -> IntArray:
        """Pairs of equal values: a(a-1)/2 is the sum of 0, 1, ... a-1."""
        pairs: IntArray = self.before.sum(axis=0)
        return pairs

    def variance(self, n: IntArray) -> FloatArray:
        """Tie-corrected variance of S of every row."""
        # A run of a values adds a(a-1)(2a+5): summed here as what each further value adds.
        sizes = np.arange(self.before.shape[0] + 1, dtype=np.int64)
        whole = sizes * (sizes - 1) * (2 * sizes + 5)
        growth = np.diff(whole)
        of_values = growth[self.before].sum(axis=0)
        variance: FloatArray = (n * (n - 1) * (2 * n + 5) - of_values) / 18
        variance[variance <= 1e-9] = 0.0
        return variance

    def patterns(self, n: IntArray, rows: BoolArray) -> TiePatterns:
        """Group the marked rows by their number of values and sizes of ties."""
        of_row = np.full(n.size, -1, dtype=np.int64)
        chosen = np.flatnonzero(rows)
        kinds: dict[bytes, int] = {}
        named: list[tuple[int, tuple[int, ...]]] = []
        if chosen.size:
            before = self.before[:, chosen]
            ends = before.copy()
            ends[:-1][before[1:] > 0] = 0  # keep the last value of each run only
            sizes = np.sort(ends.T, axis=1)
            table = np.ascontiguousarray(np.column_stack([n[chosen], sizes]))
            for row, line in zip(chosen.tolist(), table, strict=True):
                key = line.tobytes()
                kind = kinds.get(key)
                if kind is None:
                    kind = kinds[key] = len(named)
                    named.append((int(line[0]), tuple(int(a) + 1 for a in line[1:] if a > 0)))
                of_row[row] = kind
        return TiePatterns(named, of_row)


def pair_pass(
    t: FloatArray, x: FloatArray, n_pairs: IntArray, low_rank: FloatArray, high_rank: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Median slope and the slopes at two ranks, for every row.

    Missing values make NaN slopes, which sorting puts last. Up to 32 years the slopes are
    sorted as two short runs, because sorting is several times faster below 257 numbers.
    """
    rows, columns = x.shape
    width = columns * (columns - 1) // 2
    slope, lower, upper = (np.full(rows, np.nan) for _ in range(3))
    if width == 0 or rows == 0:
        return slope, lower, upper
    lags = [(lag, columns - lag) for lag in range(1, columns)]
    runs = np.concatenate([t[lag:] - t[:-lag] for lag, _ in lags])
    split, split_lag = _split(columns)
    in_first = n_pairs if split == width else _pairs_within(x, split_lag)
    block = max(1, PAIRS_PER_BLOCK // width)
    work = np.empty((min(block, rows), width))
    for first in range(0, rows, block):
        part = slice(first, min(first + block, rows))
        values = x[part]
        slopes = work[: values.shape[0]]
        start = 0
        for lag, length in lags:
            np.subtract(values[:, lag:], values[:, :-lag], out=slopes[:, start : start + length])
            start += length
        np.divide(slopes, runs, out=slopes)
        ordered = SortedPairs.of(slopes, split, in_first[part], n_pairs[part])
        slope[part], lower[part], upper[part] = ordered.median_and_ranks(low_rank[part], high_rank[part])
    return slope, lower, upper


def _split(columns: int) -> tuple[int, int]:
    """Where to cut the pair slopes, between two lags, into two runs that are short enough."""
    width, first = columns * (columns - 1) // 2, 0
    if SHORT_RUN < width <= 2 * SHORT_RUN:
        for lag in range(1, columns):
            if first + columns - lag > SHORT_RUN:
                return (first, lag - 1) if width - first <= SHORT_RUN else (width, columns - 1)
            first += columns - lag
    return width, columns - 1


def _pairs_within(x: FloatArray, lags: int) -> IntArray:
    """Number of pairs of values that are present and at most so many columns apart."""
    across = np.ascontiguousarray(~np.isnan(x).T)
    pairs = np.zeros(x.shape[0], dtype=np.int64)
    for lag in range(1, lags + 1):
        both = across[lag:] & across[:-lag]
        pairs += np.add.reduce(both.view(np.uint8), axis=0, dtype=np.uint8)
    return pairs


@dataclass(frozen=True, slots=True)
class SortedPairs:
    """Pair slopes of some rows, sorted as one run or as two, the present ones first."""

    slopes: FloatArray  # shape (rows, pairs), each run sorted, in one piece of memory
    split: int  # where the second run begins; the width where there is one run
    n_one: IntArray
    n_two: IntArray

    @classmethod
    def of(cls, slopes: FloatArray, split: int, n_one: IntArray, n_all: IntArray) -> SortedPairs:
        """Sort in place."""
        one, two = slopes[:, :split], slopes[:, split:]
        one.sort(axis=1)
        two.sort(axis=1)
        return cls(slopes, split, n_one, n_all - n_one)

    @property
    def size(self) -> IntArray:
        """Slopes that are present, in both runs."""
        return self.n_one + self.n_two

    def median_and_ranks(
        self, low_rank: FloatArray, high_rank: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Median of every row, and the slopes at two ranks counted from 1.

        Ranks between whole numbers are interpolated; beyond the ends they are infinite.
        """
        size = self.size
        rank = np.nan_to_num(np.stack([low_rank, high_rank]), nan=1.0)
        below = np.minimum(np.maximum(rank.astype(np.int64), 1), np.maximum(size, 1))
        # All three in one search, which spares two of three passes over the bookkeeping.
        here, following = self._pair(np.concatenate([np.maximum((size + 1) // 2, 1)[None], below]))
        median: FloatArray = (here[0] + np.where(size % 2 == 0, following[0], here[0])) / 2
        found = here[1:] + (rank - below) * (following[1:] - here[1:])
        found[rank < 1] = -np.inf
        found[rank > size] = np.inf
        return median, found[0], found[1]

    def _pair(self, k: IntArray) -> tuple[FloatArray, FloatArray]:
        """The k-th smallest of every row and the one after it (itself at the end)."""
        # Positions in the flat memory: twice as fast to take from as by row and column.
        flat, width = self.slopes.ravel(), self.slopes.shape[1]
        one = np.arange(self.slopes.shape[0]) * width
        two = one + self.split
        last, end = self.split - 1, width - self.split - 1
        if end < 0:
            following = np.minimum(k, np.maximum(self.n_one, 1) - 1)
            return flat.take(one + k - 1), flat.take(one + following)
        # How many of the k smallest stand in the first run: the fewest that leave no
        # smaller one behind there.
        low, high = np.maximum(k - self.n_two, 0), np.minimum(k, self.n_one)
        for _ in range(int(self.n_one.max(initial=0)).bit_length()):
            middle = (low + high) // 2
            more = (low < high) & (
                flat.take(one + np.minimum(middle, last))
                < flat.take(two + np.minimum(np.maximum(k - middle - 1, 0), end))
            )
            low, high = np.where(more, middle + 1, low), np.where(more, high, middle)
        rest = k - low
        here = np.fmax(
            np.where(low > 0, flat.take(one + np.maximum(low - 1, 0)), np.nan),
            np.where(rest > 0, flat.take(two + np.minimum(np.maximum(rest - 1, 0), end)), np.nan),
        )
        following = np.fmin(
            np.where(low < self.n_one, flat.take(one + np.minimum(low, last)), np.nan),
            np.where(rest < self.n_two, flat.take(two + np.minimum(rest, end)), np.nan),
        )
        return here, np.where(np.isnan(following), here, following)


def rising_pairs(x: FloatArray) -> IntArray:
    """Number of pairs in which the later value is larger, for every row."""
    rows, columns = x.shape
    rising = np.zeros(rows, dtype=np.int64)
    # At most 255 pairs share a lag in any calendar met here, so a byte can count them.
    counter = np.uint8 if columns <= 256 else np.int64
    for first in range(0, rows, SERIES_PER_BLOCK):
        part = slice(first, min(first + SERIES_PER_BLOCK, rows))
        across = np.ascontiguousarray(x[part].T)
        for lag in range(1, columns):
            larger = across[lag:] > across[:-lag]
            rising[part] += np.add.reduce(larger.view(np.uint8), axis=0, dtype=counter)
    return rising


def row_medians(in_order: FloatArray, n: IntArray) -> FloatArray:
    """Median of every row that was sorted, NaN last."""
    place = np.arange(n.size)
    top = np.maximum(n - 1, 0)
    medians: FloatArray = (in_order[place, top // 2] + in_order[place, np.minimum(n // 2, top)]) / 2
    return medians


def year_medians(t: FloatArray, present: BoolArray, n: IntArray) -> FloatArray:
    """Median of the years used by every row."""
    counted = np.cumsum(present, axis=1)
    top = np.maximum(n - 1, 0)
    first = (counted <= (top // 2)[:, None]).sum(axis=1)
    second = (counted <= np.minimum(n // 2, top)[:, None]).sum(axis=1)
    last = t.size - 1
    medians: FloatArray = (t[np.minimum(first, last)] + t[np.minimum(second, last)]) / 2
    return medians
