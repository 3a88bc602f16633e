"""How the cost of results grows: linear in what changed, flat in the size of the county.

Run ``python -m tests.benchmarks.bench_recompute [STATIONS ...]`` from the top of the checkout; not
collected by pytest. Each size has a database of its own, which is dropped afterwards. Times depend on the
machine; the ratios, taken in one run, less so.
"""

from __future__ import annotations

from dataclasses import dataclass

from tests.benchmarks.county import county, ready, seconds, sizes, usual

VISITS_ACCEPTED = 9


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """Seconds, at one size."""

    stations: int
    visits: int
    everything: float
    everything_by_two: float
    accept: float  # one visit: its results, its station's and its watershed's trends


def main() -> None:
    """Print the costs at each size, and their ratios to the smallest."""
    asked = sizes(__doc__ or "")
    ready()
    found = [measured(stations) for stations in asked]
    first = found[0]
    for cost in found:
        per_visit = cost.everything / cost.visits
        print(
            f"{cost.stations} stations, {cost.visits} visits: all results {cost.everything:.1f} s "
            f"({1000 * per_visit:.2f} ms a visit, {per_visit / (first.everything / first.visits):.2f} x the first); "
            f"by two processes {cost.everything / cost.everything_by_two:.2f} x as fast; "
            f"one accepted visit {1000 * cost.accept:.0f} ms ({cost.accept / first.accept:.2f} x the first)"
        )


def measured(stations: int) -> Cost:
    """Results of a whole county, and of one visit after the other in it."""
    from surveys.models import Visit
    from trends.recompute import mark_all, recompute_marked
    from trends.recompute_processes import recompute_in_processes

    with county(stations):
        mark_all()
        everything = seconds(recompute_marked)
        mark_all()
        by_two = seconds(lambda: recompute_in_processes(everything=True, processes=2))
        visits = list(Visit.objects.order_by("station__code", "visit_date").values_list("pk", flat=True))
        waiting = visits[:: max(1, len(visits) // VISITS_ACCEPTED)]
        accept = usual(lambda: accept_again(waiting.pop()), repeats=VISITS_ACCEPTED - 2)
        return Cost(
            stations=stations,
            visits=len(visits),
            everything=everything,
            everything_by_two=by_two,
            accept=accept,
        )


def accept_again(visit: int) -> None:
    """Put a visit back before its review, its result dropped, and accept it."""
    from surveys.models import Visit
    from surveys.review import accept_visit
    from trends.models import VisitResult

    VisitResult.objects.filter(visit=visit).delete()
    Visit.objects.filter(pk=visit).update(status="submitted")
    accept_visit(visit, by=None)


if __name__ == "__main__":
    main()
