"""A score that leaves the house says how far its cut points may be trusted."""

import io
import zipfile
from pathlib import Path

import pytest
from django.core.management import call_command

from surveys.models import RemovalPass
from tests.factories import make_station, make_taxon, make_visit
from trends.method_standing import standing_sentence
from trends.models import TrendResult
from trends.reading import outcome_of
from trends.recompute import mark_all, recompute_marked
from trends.twins import SERIES_COLUMNS, series_rows

pytestmark = pytest.mark.django_db

METHOD = "maryland_fish_2005"


@pytest.fixture(autouse=True)
def _scored_station() -> None:
    for name in ("Creek Chub", "Mottled Sculpin", "Brook Trout"):
        make_taxon(name, lithophilic=name == "Brook Trout", benthic=name == "Mottled Sculpin")
    station = make_station("WIL-01", stratum="eastern_piedmont", catchment_km2=8.0)
    for year in range(2016, 2022):
        caught = [{"Creek Chub": 40, "Mottled Sculpin": 60, "Brook Trout": 6}, {"Creek Chub": 9}]
        make_visit(station, f"{year}-07-10", passes=caught, mean_width_m=4)
    RemovalPass.objects.update(biomass_g=1800)
    mark_all()
    recompute_marked()


def test_the_archive_for_records_says_it_beside_each_score_and_in_its_metadata(tmp_path: Path) -> None:
    path = tmp_path / "archive.zip"
    call_command("export_dwca", str(path), verbosity=0, organization="Alder County Parks")
    sentence = standing_sentence(METHOD)
    assert sentence
    with zipfile.ZipFile(path) as archive:
        texts = {name: archive.read(name).decode() for name in archive.namelist()}
    assert sentence in texts["eml.xml"]
    measured = next(text for text in texts.values() if "fish index score" in text)
    lines = [line for line in io.StringIO(measured) if "fish index score" in line]
    assert lines
    assert all(sentence.rstrip(".") in line for line in lines)


def test_the_data_of_a_page_says_it_on_the_rows_of_the_index_alone() -> None:
    assert "index_standing" in {column.key for column in SERIES_COLUMNS}
    rows = [row for result in TrendResult.objects.all() for row in series_rows(outcome_of(result))]
    told = {row["measure"]: row["index_standing"] for row in rows}
    assert told.pop("index_score") == standing_sentence(METHOD)
    assert set(told.values()) == {""}
