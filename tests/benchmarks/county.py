"""Invented counties of several sizes for the benchmarks, each in a database that is dropped afterwards."""

from __future__ import annotations

import argparse
import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

YEARS, STATIONS_IN_A_CREEK = 30, 8


def sizes(description: str) -> list[int]:
    """Numbers of stations asked for on the command line."""
    parser = argparse.ArgumentParser(description=description)
    parser.add_argument("stations", type=int, nargs="*", default=[80, 800], help="80 and 800 by default")
    return list(parser.parse_args().stations)


def ready() -> None:
    """Django, as its commands have it."""
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()


@contextmanager
def county(stations: int) -> Iterator[None]:
    """A database with so many stations and 30 years of accepted visits, without results."""
    from django.test.utils import setup_databases, teardown_databases

    from surveys.synthesis import synthesize

    held = setup_databases(verbosity=0, interactive=False)
    try:
        synthesize(
            stations=stations,
            years=YEARS,
            seed=1,
            stations_per_watershed=STATIONS_IN_A_CREEK,
            announce=False,
        )
        yield
    finally:
        teardown_databases(held, verbosity=0)


def seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def usual(work: Callable[[], object], repeats: int = 7) -> float:
    """Median wall-clock time [s] of several runs, after one that fills what a process keeps."""
    work()
    return sorted(seconds(work) for _ in range(repeats))[repeats // 2]
