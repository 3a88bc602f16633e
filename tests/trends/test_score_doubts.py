"""How firm a score is, and what moved it between two years."""

from typing import Any

import pytest
from django.test import Client

from surveys.models import Catch, RemovalPass, Taxon, Visit
from surveys.queries import visit_records
from tests.factories import make_station, make_taxon, make_visit
from trends import recompute
from trends.models import VisitResult
from trends.score_doubts import doubts, year_change
from trends.shelf import loaded_method

pytestmark = pytest.mark.django_db

STRATUM = "eastern_piedmont"


@pytest.fixture
def station() -> Any:
    make_taxon("Creek Chub", lithophilic=False, benthic=False, look_alikes="Semotilus corporalis")
    make_taxon("Mottled Sculpin", lithophilic=False)
    make_taxon("Brook Trout", lithophilic=True, benthic=False)
    make_taxon(
        "Semotilus corporalis", tolerance="moderate", trophic_guild="generalist", lithophilic=True, benthic=False,
        native=True, look_alikes="Semotilus atromaculatus",
    )  # fmt: skip
    return make_station("WIL-1", stratum=STRATUM, catchment_km2=8.0, mean_width_m=4.0)


def score(*visits: Visit) -> None:
    RemovalPass.objects.update(biomass_g=1800)
    recompute.mark_all()
    recompute.recompute_marked()


def visit_of(station: Any, day: str, **catch: int) -> Visit:
    names = {"chub": "Creek Chub", "sculpin": "Mottled Sculpin", "trout": "Brook Trout"}
    first = {names[key]: count for key, count in catch.items()}
    return make_visit(station, day, passes=[first, {"Creek Chub": 3}], mean_width_m=4.0)


def test_a_number_that_was_estimated_gives_no_score(station: Any) -> None:
    """An index rests on fish that were counted (common practice, no source)."""
    visit = visit_of(station, "2023-07-16", chub=60, sculpin=20, trout=6)
    score(visit)
    assert VisitResult.objects.get().index_score is not None
    Catch.objects.filter(count=60).update(estimated=True)
    Visit.objects.update(revision=2)
    score(visit)
    result = VisitResult.objects.get()
    assert result.index_score is None
    assert "a number of fish was estimated, not counted" in result.detail["reasons"]["index_score"]


def test_each_reading_gives_the_score_of_the_catch_it_describes(station: Any) -> None:
    visit = visit_of(station, "2023-07-16", chub=60, sculpin=20, trout=6)
    score(visit)
    method = loaded_method("maryland_fish_2005")
    record = visit_records(Visit.objects.filter(pk=visit.pk))[0]
    found = doubts(record, STRATUM, method)
    assert found is not None
    labels = {one.label: one for one in (*found.readings, *found.unmoved)}
    assert set(labels) == {"all Semotilus atromaculatus read as Semotilus corporalis", "first pass only"}
    # The same visit, had the fish been named the other way: scored on its own, not by the band.
    taxon = Taxon.objects.get(scientific_name="Semotilus corporalis")
    visit.passes.first().catches.filter(taxon__scientific_name="Semotilus atromaculatus").update(taxon=taxon)  # type: ignore[union-attr]
    visit.passes.last().catches.update(taxon=taxon)  # type: ignore[union-attr]
    Visit.objects.filter(pk=visit.pk).update(revision=2)
    score(visit)
    assert labels["all Semotilus atromaculatus read as Semotilus corporalis"].score == pytest.approx(
        VisitResult.objects.get().index_score
    )
    assert found.low <= found.score <= found.high


def test_the_band_stands_on_the_page_of_the_visit(station: Any) -> None:
    visit = visit_of(station, "2023-07-16", chub=60, sculpin=20, trout=6)
    score(visit)
    page = Client().get(visit.get_absolute_url()).content.decode()
    assert "How firm is this score?" in page
    assert "all Semotilus atromaculatus read as Semotilus corporalis" in page


def test_a_look_alike_whose_places_are_withheld_is_not_named_to_the_public(
    station: Any, signed_in: Any
) -> None:
    Taxon.objects.filter(scientific_name="Semotilus corporalis").update(sensitive_location=True)
    visit = visit_of(station, "2023-07-16", chub=60, sculpin=20, trout=6)
    score(visit)
    assert "read as Semotilus corporalis" not in Client().get(visit.get_absolute_url()).content.decode()
    assert (
        "read as Semotilus corporalis"
        in signed_in("biologist").get(visit.get_absolute_url()).content.decode()
    )


def test_the_parts_of_the_metrics_add_up_to_the_change(station: Any) -> None:
    score(
        visit_of(station, "2021-07-16", chub=60, sculpin=4, trout=1),
        visit_of(station, "2022-07-16", chub=60, sculpin=4, trout=1),
        visit_of(station, "2023-07-16", chub=20, sculpin=60, trout=6),
    )
    found = year_change(station)
    assert found is not None and found.years == (2021, 2022, 2023)
    assert (found.before.visit.visit_date.year, found.after.visit.visit_date.year) == (2022, 2023)
    parts = sum(one.score_part or 0 for one in found.comparison.metrics)
    change = (found.after.index_score or 0) - (found.before.index_score or 0)
    assert change != 0
    # The mean of the metric scores: each metric's part is its change divided by their number.
    assert parts == pytest.approx(change)


def test_the_years_of_the_form_are_compared_and_odd_ones_fall_back(station: Any) -> None:
    score(
        visit_of(station, "2021-07-16", chub=60, sculpin=4, trout=1),
        visit_of(station, "2022-07-16", chub=60, sculpin=4, trout=1),
        visit_of(station, "2023-07-16", chub=20, sculpin=60, trout=6),
    )
    address = station.get_absolute_url()
    asked = Client().get(address, {"before": "2021", "after": "2023"}).content.decode()
    assert "2021:" in asked and "Two years compared" in asked
    odd = Client().get(address, {"before": "x", "after": "99999999999"})
    assert odd.status_code == 200 and "2022:" in odd.content.decode()


def test_scores_of_two_versions_are_not_taken_apart(station: Any) -> None:
    score(
        visit_of(station, "2022-07-16", chub=60, sculpin=4, trout=1),
        visit_of(station, "2023-07-16", chub=20, sculpin=60, trout=6),
    )
    row = VisitResult.objects.order_by("visit__visit_date").first()
    assert row is not None
    row.detail["index"]["version"] = row.index_version = "0"
    row.save()
    found = year_change(station)
    assert found is not None and not found.comparison.comparable
    assert "version" in found.words
