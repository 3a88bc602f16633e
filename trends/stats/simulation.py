"""Simulation study of the trend test, its limits and the removal limits; fixed seed.

Run ``python -m trends.stats.simulation`` to print the tables, or add ``--into FILE`` to
replace the tables between the two markers of a Markdown file. Nothing here is used by the
statistics themselves.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

import numpy as np
from numpy.random import Generator

from trends.stats import serial
from trends.stats._checks import FloatArray
from trends.stats.kendall import trend_batch
from trends.stats.removal import removal_batch

SEED = 61_909
SERIES = 4_000
SERIES_FOR_CORRECTIONS = 1_500
LENGTHS = (5, 8, 10, 15, 25)
CORRELATION = 0.3
TREND = 0.15  # change per year, in standard deviations of the scatter
START, END = "<!-- simulation: start -->", "<!-- simulation: end -->"
# How a series on the scale of the scatter becomes what is written down.
KINDS: dict[str, Callable[[FloatArray], FloatArray]] = {
    "continuous": lambda x: x,
    "integer": lambda x: np.round(12 + 3 * x),  # a count or a richness with a scatter of 3
    "tied": lambda x: np.round(3 + x),  # a score of about five steps
}
SCALE = {"continuous": 1.0, "integer": 3.0, "tied": 1.0}


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the tables or write them into a file."""
    parser = argparse.ArgumentParser(description="Simulation study of the statistics (fixed seed).")
    parser.add_argument("--into", type=Path, metavar="FILE", help="Markdown file with the two markers")
    options = parser.parse_args(arguments)
    page = ""
    if options.into is not None:
        page = options.into.read_text(encoding="utf-8")
        if START not in page or END not in page:
            parser.error(f"{options.into} does not hold the markers {START} and {END}")
    text = "\n\n".join((trend_study(), correction_study(), removal_study())) + "\n"
    if options.into is None:
        sys.stdout.write(text)
        return 0
    before, rest = page.split(START, 1)
    after = rest.split(END, 1)[1]
    options.into.write_text(f"{before}{START}\n\n{text}\n{END}{after}", encoding="utf-8")
    return 0


def scatter(random: Generator, series: int, n: int, correlation: float) -> FloatArray:
    """Normal scatter of unit variance; neighbouring years correlated as asked."""
    noise = random.standard_normal((series, n))
    for year in range(1, n):
        noise[:, year] = correlation * noise[:, year - 1] + np.sqrt(1 - correlation**2) * noise[:, year]
    return noise


def trend_study(series: int = SERIES, lengths: Iterable[int] = LENGTHS) -> str:
    """False alarms of the test, and how often the slope limits hold the true slope."""
    rows = []
    for correlation in (0.0, CORRELATION):
        for kind, written in KINDS.items():
            for n in lengths:
                random = np.random.default_rng([SEED, n, round(100 * correlation)])
                noise = scatter(random, series, n, correlation)
                years = np.arange(n, dtype=np.float64)
                flat = trend_batch(years, written(noise))
                normal = trend_batch(years, written(noise), method="normal")
                moving = trend_batch(years, written(noise + TREND * years))
                true = TREND * SCALE[kind]
                rows.append(
                    [
                        kind,
                        f"{correlation:g}",
                        str(n),
                        percent(flat.p_value <= 0.05),
                        percent(normal.p_value <= 0.05),
                        percent((flat.lower <= 0) & (flat.upper >= 0)),
                        percent((moving.lower <= true) & (moving.upper >= true)),
                        percent(~moving.limits_available),
                    ]
                )
    heading = [
        "values",
        "lag-one r",
        "years",
        "false alarms, auto",
        "false alarms, normal",
        "limits hold slope 0",
        f"limits hold slope {TREND:g} sd",
        "no limits",
    ]
    return f"Trend test at nominal 5 % and 95 % slope limits, {series} series per row.\n\n" + table(
        heading, rows
    )


def correction_study(series: int = SERIES_FOR_CORRECTIONS, lengths: Iterable[int] = (15, 25)) -> str:
    """False alarms of the test and of its corrections when neighbouring years are alike."""
    rows = []
    for correlation in (0.0, CORRELATION, 0.6):
        for n in lengths:
            random = np.random.default_rng([SEED, n, round(100 * correlation), 2])
            years = np.arange(n)
            found = [
                (
                    serial.hamed_rao(years, x, max_lag=3),
                    serial.yue_wang(years, x),
                    serial.trend_free_prewhitening(years, x),
                )
                for x in scatter(random, series, n, correlation)
            ]
            plain = np.array([three[0].plain.p_value for three in found])
            corrected = np.array([[one.p_value for one in three] for three in found])
            rows.append(
                [f"{correlation:g}", str(n), percent(plain <= 0.05)]
                + [percent(corrected[:, i] <= 0.05) for i in range(3)]
            )
    heading = [
        "lag-one r",
        "years",
        "plain",
        "Hamed-Rao, 3 lags",
        "Yue-Wang, 1 lag",
        "trend-free prewhitening",
    ]
    return f"False alarms at nominal 5 % with the corrections, {series} series per row.\n\n" + table(
        heading, rows
    )


def removal_study(series: int = SERIES) -> str:
    """How often the removal limits hold the true number, and how the estimate leans."""
    rows = []
    for passes in (2, 3):
        for n in (20, 60, 200):
            for p in (0.4, 0.6, 0.75):
                random = np.random.default_rng([SEED, passes, n, round(100 * p)])
                left, catches = np.full(series, n), []
                for _ in range(passes):
                    catches.append(random.binomial(left, p))
                    left = left - catches[-1]
                batch = removal_batch(np.array(catches, dtype=np.float64).T)
                usable = batch.usable
                reach = 1.959964 * batch.standard_error
                rows.append(
                    [
                        str(passes),
                        str(n),
                        f"{p:g}",
                        percent((batch.lower <= n) & (batch.upper >= n)),
                        percent((np.abs(batch.n_hat - n) <= reach)[usable]),
                        percent(usable),
                        percent(np.isinf(batch.upper)),
                        f"{100 * (np.median(batch.n_hat[usable]) / n - 1):+.1f} %",
                    ]
                )
    heading = [
        "passes",
        "fish",
        "p",
        "profile limits hold",
        "n_hat +- 1.96 SE holds",
        "usable",
        "no upper limit",
        "median error",
    ]
    return f"Removal estimate, 95 % limits, {series} visits per row.\n\n" + table(heading, rows)


def percent(flags: np.ndarray) -> str:
    """Share of true entries."""
    return f"{100 * float(np.mean(flags)):.1f} %"


def table(heading: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A Markdown table."""
    lines = [heading, ["---"] * len(heading), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


if __name__ == "__main__":
    raise SystemExit(main())
