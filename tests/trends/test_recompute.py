"""Stored results: made when, and only when, what they rest on has changed."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from surveys.models import Visit
from surveys.review import accept_visit, return_visit, withdraw_visit
from tests.factories import make_station, make_user, make_visit
from trends import recompute
from trends.models import StaleStation, TrendResult, VisitResult

pytestmark = pytest.mark.django_db


def accept(visit: Visit, capture: object) -> None:
    with capture(execute=True):  # type: ignore[operator]
        accept_visit(visit.pk, by=None)


def test_accepting_a_visit_makes_its_result_and_trends(django_capture_on_commit_callbacks: object) -> None:
    visit = make_visit(status="submitted")
    accept(visit, django_capture_on_commit_callbacks)
    result = VisitResult.objects.get()
    assert result.values["total_catch"] == 17
    assert (result.visit_revision, result.code_version) == (1, recompute.CODE_VERSION)
    assert TrendResult.objects.filter(station=visit.station, measure="total_catch").exists()
    assert TrendResult.objects.filter(watershed=visit.station.watershed, station=None).exists()
    assert not StaleStation.objects.exists()


def test_nothing_else_is_touched(django_capture_on_commit_callbacks: object) -> None:
    here, neighbour = make_station("WIL-1"), make_station("WIL-2")
    elsewhere = make_station("ELM-1", watershed="Elm Run")
    for station in (here, neighbour, elsewhere):
        accept(make_visit(station, "2020-07-01", status="submitted"), django_capture_on_commit_callbacks)
    before = {t.pk: t.computed_at for t in TrendResult.objects.all()}
    results = {r.pk: r.computed_at for r in VisitResult.objects.all()}
    accept(make_visit(here, "2021-07-01", status="submitted"), django_capture_on_commit_callbacks)
    changed = [t for t in TrendResult.objects.all() if before.get(t.pk) != t.computed_at]
    assert {(t.station.code if t.station else None, t.watershed.name) for t in changed} == {
        ("WIL-1", "Willow Run"),
        (None, "Willow Run"),
    }
    assert {r.pk: r.computed_at for r in VisitResult.objects.all() if r.pk in results} == results


@pytest.mark.parametrize("step", [return_visit, withdraw_visit])
def test_a_visit_that_no_longer_counts_leaves_the_results(
    step: object, django_capture_on_commit_callbacks: object
) -> None:
    visit = make_visit(status="submitted")
    accept(visit, django_capture_on_commit_callbacks)
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[operator]
        step(visit.pk, by=make_user("reviewer"), remark="Counted twice.")  # type: ignore[operator]
    assert not VisitResult.objects.exists()
    trend = TrendResult.objects.get(station=visit.station, measure="total_catch")
    assert trend.n_years == 0


def test_a_correction_is_computed_from_the_new_revision(django_capture_on_commit_callbacks: object) -> None:
    visit = make_visit(status="submitted")
    accept(visit, django_capture_on_commit_callbacks)
    visit.passes.get(pass_number=1).catches.update(count=40)
    Visit.objects.filter(pk=visit.pk).update(revision=2)
    recompute.mark_stale([visit.station_id])
    recompute.recompute_marked()
    result = VisitResult.objects.get()
    assert (result.values["total_catch"], result.visit_revision) == (45, 2)


def test_results_of_older_code_are_found_and_made_again() -> None:
    visit = make_visit()
    recompute.mark_outdated()
    recompute.recompute_marked()
    VisitResult.objects.update(code_version="0")
    recompute.mark_outdated()
    assert list(StaleStation.objects.values_list("station", flat=True)) == [visit.station_id]
    assert recompute.recompute_marked() == 1
    assert VisitResult.objects.get().code_version == recompute.CODE_VERSION


def test_a_mark_made_in_a_change_that_fails_goes_with_it() -> None:
    from django.db import transaction

    visit = make_visit(status="submitted")
    with pytest.raises(RuntimeError), transaction.atomic():
        accept_visit(visit.pk, by=None)
        raise RuntimeError("the change fails")
    assert not StaleStation.objects.exists()


def test_stored_results_hold_no_number_that_json_cannot_carry() -> None:
    visit = make_visit(passes=[{"Creek Chub": 1}, {}], stop_nets="both")
    recompute.mark_stale([visit.station_id])
    recompute.recompute_marked()
    removal = VisitResult.objects.get().detail["indicators"]["removal_total"]
    assert removal["upper"] is None


def test_computing_a_station_takes_no_more_queries_with_more_years() -> None:
    asked = {}
    for years in (3, 12):
        station = make_station(f"W-{years}", watershed=f"Creek {years}")
        for year in range(years):
            make_visit(station, f"{2001 + year}-07-01")
        recompute.mark_stale([station.pk])
        with CaptureQueriesContext(connection) as queries:
            recompute.recompute_marked()
        asked[years] = len(queries)
    assert asked[12] <= asked[3]


def test_a_trait_list_that_changes_a_trait_makes_the_results_anew(
    django_capture_on_commit_callbacks: object,
) -> None:
    from surveys.uploads.reference import load_taxa

    visit = make_visit(passes=[{"Creek Chub": 4}])
    recompute.mark_stale([visit.station_id])
    recompute.recompute_marked()
    assert VisitResult.objects.get().values["tolerant_share_pct"] == 100
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[operator]
        load_taxa(
            "taxa.csv",
            b"scientific_name,common_name,tolerance\nSemotilus atromaculatus,Creek Chub,intolerant\n",
        )
    assert VisitResult.objects.get().values["tolerant_share_pct"] == 0
