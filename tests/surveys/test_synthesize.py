"""The invented set for load tests: its size, that it can be made again, and that it is lawful."""

from typing import Any

import pytest
from django.core.management import CommandError, call_command

from surveys.models import Catch, RemovalPass, Station, Visit, VisitStatus, Watershed

pytestmark = pytest.mark.django_db


def synthesize(**options: Any) -> None:
    call_command("synthesize", **{"stations": 6, "years": 4, "seed": 7, "verbosity": 0} | options)


def catches() -> list[tuple[Any, ...]]:
    return list(
        Catch.objects.order_by("removal_pass__visit__station__code", "removal_pass__visit__visit_date", "pk")
        .values_list("removal_pass__visit__visit_date", "removal_pass__pass_number", "taxon__slug", "count")
    )  # fmt: skip


def test_stations_and_years_are_as_asked() -> None:
    synthesize(stations=50, years=10)
    assert Station.objects.count() == 50
    assert Watershed.objects.count() == 3
    visits = Visit.objects.all()
    assert {v.status for v in visits} == {VisitStatus.ACCEPTED}
    assert len({v.visit_date.year for v in visits}) == 10
    # A tenth of 500 visits is missing; 450 within four standard deviations of a binomial (6.7).
    assert abs(len(visits) - 450) < 27


def test_the_same_seed_gives_the_same_set() -> None:
    synthesize()
    first = catches()
    assert first
    Visit.objects.all().delete()
    Station.objects.all().delete()
    Watershed.objects.all().delete()
    synthesize()
    assert catches() == first


def test_another_seed_gives_another_set_beside_it() -> None:
    synthesize(seed=7)
    first = catches()
    synthesize(seed=8)
    assert Station.objects.count() == 12
    assert len(catches()) != 2 * len(first)


def test_a_seed_is_used_once() -> None:
    synthesize()
    with pytest.raises(CommandError, match="already there"):
        synthesize()
    assert Station.objects.count() == 6


def test_every_row_keeps_the_rules_of_its_model() -> None:
    """COPY passes by the models, so their own validation is run over what it wrote."""
    synthesize(stations=2, years=3)
    for model in (Watershed, Station, Visit, RemovalPass, Catch):
        for row in model.objects.all():
            row.full_clean(exclude=["entered_by", "upload"] if model is Visit else None)
    for visit in Visit.objects.prefetch_related("passes"):
        assert [one.pass_number for one in visit.passes.all()] == [1, 2]
        assert visit.method.in_season(visit.visit_date)


def test_a_record_made_afterwards_gets_a_free_number() -> None:
    synthesize()
    watershed = Watershed.objects.create(name="Willow Run", slug="willow-run")
    assert Watershed.objects.filter(pk=watershed.pk).count() == 1
    assert Watershed.objects.count() == 2


@pytest.mark.parametrize("options", [{"stations": "0"}, {"years": "-1"}, {"stations": "many"}])
def test_odd_sizes_are_refused(options: dict[str, str]) -> None:
    arguments = {"stations": "2", "years": "2"} | options
    with pytest.raises(CommandError):
        call_command("synthesize", *[f"--{name}={value}" for name, value in arguments.items()])
