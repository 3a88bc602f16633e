"""How much faster the batch calls are than a loop, as ratios taken in one run.

Run ``python -m tests.benchmarks.bench_statistics`` from the top of the checkout; not
collected by pytest. Best of several repeats; times depend on the machine, ratios less so.
"""

from __future__ import annotations

import time
import tracemalloc
from collections.abc import Callable

import numpy as np
import pymannkendall
from scipy import stats

from trends.stats import _exact_null
from trends.stats.kendall import trend_batch
from trends.stats.removal import removal_batch

SERIES, YEARS, SAMPLE = 10_000, 30, 300
VISITS, VISIT_SAMPLE = 1_000_000, 20_000


def main() -> None:
    """Print one line per comparison."""
    trends()
    exact()
    removal()


def best_time(work: Callable[[], object], repeats: int = 5) -> float:
    """Shortest wall-clock time [s]: what else the machine does only ever adds."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def series_with_gaps_and_ties() -> np.ndarray:
    """Yearly series to one decimal, a tenth of the values missing."""
    random = np.random.default_rng(1)
    table = np.round(random.normal(5, 1.5, (SERIES, YEARS)), 1)
    table[random.random(table.shape) < 0.1] = np.nan
    return table


def trends() -> None:
    table, years = series_with_gaps_and_ties(), np.arange(1990, 1990 + YEARS)
    part = SERIES / SAMPLE

    def scipy_pair() -> None:
        for row in table[:SAMPLE]:
            there = ~np.isnan(row)
            stats.kendalltau(years[there], row[there])
            stats.theilslopes(row[there], years[there])

    mann_kendall_loop = best_time(
        lambda: [pymannkendall.original_test(row) for row in table[:SAMPLE]], repeats=3
    )
    scipy_loop = best_time(scipy_pair, repeats=3)
    batch = best_time(lambda: trend_batch(years, table), repeats=9)
    tracemalloc.start()
    trend_batch(years, table)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    say(f"test, slope and limits of {SERIES} series x {YEARS} years", batch)
    ratio("pymannkendall, series by series (no limits)", mann_kendall_loop * part, batch, goal=200)
    ratio("scipy kendalltau and theilslopes, series by series", scipy_loop * part, batch, goal=140)
    print(f"    memory above the input: {peak / 1e6:.0f} MB (goal: under 200 MB)")


def exact() -> None:
    table, years = series_with_gaps_and_ties(), np.arange(YEARS)
    for cached in (_exact_null.discordance_counts, _exact_null.upper_tail, _exact_null.critical_s):
        cached.cache_clear()
    plain = best_time(lambda: trend_batch(years, table, method="normal"))
    cold = best_time(lambda: trend_batch(years, table, method="exact"), repeats=1) - plain
    warm = best_time(lambda: trend_batch(years, table, method="exact")) - plain
    print(f"exact p given ties, same series: {cold:.2f} s cold (goal 1 s), {warm:.3f} s cached (goal 0.1 s)")


def weighted_row(catches: list[int]) -> int:
    """Carle & Strub's number of one row, in plain Python."""
    total, k = sum(catches), len(catches)
    x = sum((k - i) * c for i, c in enumerate(catches, start=1))
    n = total
    while True:
        ratio_here = (n + 1) / (n - total + 1)
        for i in range(1, k + 1):
            ratio_here *= (k * n - x - total + 1 + k - i) / (k * n - x + 2 + k - i)
        if ratio_here <= 1:
            return n
        n += 1


def removal() -> None:
    random = np.random.default_rng(2)
    left, p = random.integers(0, 300, VISITS), random.uniform(0.3, 0.8, VISITS)
    passes = []
    for _ in range(3):
        passes.append(random.binomial(left, p))
        left = left - passes[-1]
    table = np.column_stack(passes).astype(np.float64)
    rows = [[int(c) for c in row] for row in table[:VISIT_SAMPLE]]
    loop = best_time(lambda: [weighted_row(row) for row in rows], repeats=3) * VISITS / VISIT_SAMPLE
    weighted = best_time(lambda: removal_batch(table, method="weighted"), repeats=3)
    say(f"weighted estimates with limits of {VISITS} three-pass visits", weighted)
    ratio("plain Python, row by row (no limits)", loop, weighted, goal=30)
    likely = best_time(lambda: removal_batch(table), repeats=3)
    print(f"    likelihood form: {likely:.2f} s (goal: under 5 s)")


def say(what: str, seconds: float) -> None:
    print(f"{what}: {1000 * seconds:.0f} ms")


def ratio(anchor: str, anchor_seconds: float, seconds: float, goal: int) -> None:
    print(f"    {anchor}: {anchor_seconds:.2f} s -> {anchor_seconds / seconds:.0f} x (goal {goal} x)")


if __name__ == "__main__":
    main()
