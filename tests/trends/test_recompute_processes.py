"""Results made by several processes are those made by one."""

import pytest

from tests.factories import make_station, make_visit
from trends import recompute
from trends.models import StaleStation, TrendResult, VisitResult
from trends.recompute_processes import LEAST_WATERSHEDS_EACH, processes_for, recompute_in_processes


def test_few_watersheds_are_left_to_one_process() -> None:
    assert processes_for(0) == processes_for(1) == processes_for(2 * LEAST_WATERSHEDS_EACH - 1) == 1
    assert processes_for(10_000) >= 1


@pytest.mark.django_db(transaction=True)
def test_two_processes_make_the_results_that_one_makes() -> None:
    stations = [make_station(f"P-{n}", watershed=f"Brook {n}") for n in range(3)]
    for station in stations:
        for year in range(2001, 2008):
            make_visit(station, f"{year}-07-01", passes=[{"Creek Chub": 1 + year % 5, "Blacknose Dace": 4}])
    said: list[str] = []
    made = []
    for processes in (1, 2):
        recompute.mark_stale([s.pk for s in stations])
        assert recompute_in_processes(everything=True, processes=processes, say=said.append) == 3
        assert not StaleStation.objects.exists()
        made.append(
            (
                list(VisitResult.objects.order_by("visit").values_list("visit", "values", "detail")),
                list(
                    TrendResult.objects.order_by("watershed", "station", "measure").values_list("made_from")
                ),
            )
        )
        VisitResult.objects.all().delete()
        TrendResult.objects.all().delete()
    assert made[0] == made[1]
    assert len(made[0][0]) == 21
    assert sorted(word.split(": ")[1][:7] for word in said[3:]) == ["Brook 0", "Brook 1", "Brook 2"]
