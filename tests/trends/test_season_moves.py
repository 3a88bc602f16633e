"""The report of a season says what the season did to the results. The expected words follow from the made counts."""

from collections.abc import Callable

import pytest
from django.test import Client

from surveys.models import RemovalPass
from surveys.season import close_season
from surveys.season_report import report_of
from tests.factories import make_station, make_taxon, make_visit
from trends.recompute import mark_all, recompute_marked
from trends.season_moves import season_moves

pytestmark = pytest.mark.django_db


def surveyed(first: int, last: int, code: str = "WIL-01") -> None:
    for name in ("Creek Chub", "Mottled Sculpin", "Brook Trout"):
        make_taxon(name, lithophilic=name == "Brook Trout", benthic=name == "Mottled Sculpin")
    caught = [{"Creek Chub": 40, "Mottled Sculpin": 60, "Brook Trout": 6}, {"Creek Chub": 9}]
    station = make_station(code, stratum="eastern_piedmont", catchment_km2=8.0, mean_width_m=4.0)
    for year in range(first, last + 1):
        make_visit(station, f"{year}-07-16", mean_width_m=4.0, passes=caught)
    RemovalPass.objects.update(biomass_g=1800)
    mark_all()
    recompute_marked()


def test_a_creek_has_its_finding_without_and_with_the_season() -> None:
    surveyed(2020, 2024)
    (row,) = season_moves(2024)
    assert row["creek"] == "Willow Run"
    assert row["before"] != row["after"]
    assert [(one["station"], one["date"]) for one in row["scores"]] == [("WIL-01", "2024-07-16")]


def test_a_later_season_does_not_colour_the_report_of_an_earlier_one() -> None:
    surveyed(2020, 2022)
    told = season_moves(2022)
    surveyed(2023, 2024)
    assert season_moves(2022) == told


def test_a_visit_without_a_score_says_why() -> None:
    make_visit(make_station("WIL-01", stratum=""), "2024-07-16")
    mark_all()
    recompute_marked()
    (row,) = season_moves(2024)
    (score,) = row["scores"]
    assert row["before"] == "No accepted visit."
    assert score["score"] is None and score["score_before"] is None
    assert score["reason"]


def test_the_signed_report_keeps_how_the_results_moved(signed_in: Callable[[str], Client]) -> None:
    surveyed(2020, 2024)
    assert report_of(2024, moved=False)["moved"] == []
    kept = close_season(2024, by=None).report["moved"]
    assert kept == season_moves(2024)
    text = signed_in("reviewer").get("/season/2024/close/").content.decode()
    assert "Without 2024" in text and kept[0]["before"] in text
