"""Visits whose reach was of another size than usual at their station, by the same sampling method."""

from collections import defaultdict
from collections.abc import Iterable
from statistics import median
from typing import Protocol

from surveys.said import marked
from trends.cautions import limits

LENGTH, WIDTH = marked("longer or shorter"), marked("wider or narrower")


class Sized(Protocol):
    """What a visit must tell."""

    @property
    def visit_id(self) -> int: ...
    @property
    def method(self) -> str: ...
    @property
    def reach_length_m(self) -> float | None: ...
    @property
    def mean_width_m(self) -> float | None: ...


def in_doubt(visits: Iterable[Sized]) -> dict[int, set[str]]:
    """For one station: visit id to what was unusual. A method that asks for another reach is no doubt."""
    by_method: dict[str, list[Sized]] = defaultdict(list)
    for visit in visits:
        by_method[visit.method].append(visit)
    found: dict[int, set[str]] = defaultdict(set)
    for own in by_method.values():
        lengths = [(v.visit_id, v.reach_length_m) for v in own if v.reach_length_m is not None]
        widths = [(v.visit_id, v.mean_width_m) for v in own if v.mean_width_m is not None]
        for word, limit, known in (
            (LENGTH, limits.LENGTH_DIFFERS, lengths),
            (WIDTH, limits.WIDTH_DIFFERS, widths),
        ):
            usual = median(size for _, size in known) if known else 0.0
            for pk, size in known:
                if abs(size - usual) > limit * usual + 1e-9:
                    found[pk].add(word)
    return dict(found)
