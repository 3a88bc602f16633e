"""export_visits and export_trends: what was stored, nothing lost, reasons where a number is missing."""

import csv
import io
import json
from pathlib import Path

import frictionless
import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.factories import make_station, make_visit
from tests.trends.exports.conftest import County
from trends.assessments import FOLLOWED
from trends.exports.visits import visit_rows
from trends.models import TrendResult, VisitResult
from trends.public_figures import KEPT_BACK
from trends.recompute import mark_all, recompute_marked


def exported(command: str, path: Path, **options: object) -> list[dict[str, str]]:
    call_command(command, str(path), verbosity=0, **options)
    return list(csv.DictReader(io.StringIO(path.read_bytes().decode(), newline="")))


def test_each_accepted_visit_has_one_row_with_its_stored_numbers(county: County, tmp_path: Path) -> None:
    rows = exported("export_visits", tmp_path / "visits.csv")
    assert [(r["station"], r["visit_date"]) for r in rows] == [
        ("AR-1", "2023-07-06"),
        ("WR-1", "2023-07-04"),
        ("WR-2", "2023-07-05"),
    ]
    by_visit = {int(r["visit"]): r for r in rows}
    for result in VisitResult.objects.all():
        row = by_visit[result.visit_id]
        for key, value in result.values.items():
            assert (float(row[key]) if row[key] else None) == pytest.approx(value)


def test_numbers_are_those_worked_out_by_hand(county: County, tmp_path: Path) -> None:
    """12 + 30 + 3 and 5 + 1 fish on 75 m x 4 m: 51 fish, 17 per 100 m2; 301 g on 300 m2 (arithmetic)."""
    row = exported("export_visits", tmp_path / "visits.csv")[1]
    assert row["total_catch"] == "51"
    assert float(row["density_per_100_m2"]) == pytest.approx(17.0)
    assert float(row["biomass_g_per_m2"]) == pytest.approx(301 / 300)
    assert row["richness"] == "3"
    assert row["water_temp_c"] == "0.0"
    assert row["conductivity_us_cm"] == ""


def test_a_missing_number_has_its_reason(county: County, tmp_path: Path) -> None:
    rows = {r["station"]: r for r in exported("export_visits", tmp_path / "visits.csv")}
    assert rows["WR-2"]["density_per_100_m2"] == ""
    assert "width" in rows["WR-2"]["density_per_100_m2_reason"]
    assert rows["WR-2"]["index_score"] == ""
    assert rows["WR-2"]["index_score_reason"]
    assert rows["AR-1"]["density_per_100_m2_reason"] == ""


def test_a_visit_whose_results_are_not_made_yet_says_so(county: County, tmp_path: Path) -> None:
    VisitResult.objects.all().delete()
    rows = exported("export_visits", tmp_path / "visits.csv")
    assert {r["total_catch"] for r in rows} == {""}
    assert {r["total_catch_reason"] for r in rows} == {"not computed yet"}


def test_a_name_that_starts_with_an_equals_sign_cannot_run(county: County, tmp_path: Path) -> None:
    assert exported("export_visits", tmp_path / "visits.csv")[1]["station_name"] == "'=Ford & bridge"


@pytest.mark.parametrize("command", ["export_visits", "export_trends"])
def test_the_dictionary_beside_the_file_fits_it(county: County, tmp_path: Path, command: str) -> None:
    path = tmp_path / "table.csv"
    call_command(command, str(path), verbosity=0)
    schema = json.loads((tmp_path / "table.schema.json").read_text())
    with frictionless.system.use_context(trusted=True):
        resource = frictionless.Resource(
            path=str(path), schema=frictionless.Schema.from_descriptor(schema), encoding="utf-8"
        )
        report = resource.validate()
    assert report.flatten(["rowNumber", "fieldName", "type", "note"]) == []


def test_index_metrics_have_columns_of_their_own(county: County, tmp_path: Path) -> None:
    county.guarded.stratum = "Eastern Piedmont"
    county.guarded.catchment_km2 = 10
    county.guarded.save()
    mark_all()
    recompute_marked(everything=True)
    row = exported("export_visits", tmp_path / "visits.csv")[1]
    metrics = VisitResult.objects.get(visit=county.visit).detail["index"]["metrics"]
    assert metrics
    assert any(metric["value"] is not None for metric in metrics.values())
    for key, metric in metrics.items():
        start = f"maryland_fish_2005.{key}."
        values = [v for k, v in row.items() if k.startswith(f"{start}value") and v]
        assert [float(v) for v in values] == ([] if metric["value"] is None else [metric["value"]])
        assert row[f"{start}points"] == ("" if metric["points"] is None else str(metric["points"]))
        assert metric["points"] is not None or row[f"{start}reason"]


def test_public_counts_are_those_of_the_listed_fish(county: County, tmp_path: Path) -> None:
    """Of 51 fish of 3 species, 4 darters are withheld: 47 fish of 2 species on 300 m2 (arithmetic)."""
    row = exported("export_visits", tmp_path / "visits.csv", public=True)[1]
    assert row["total_catch"] == "47"
    assert row["first_pass_catch"] == "42"
    assert row["richness"] == "2"
    assert row["benthic_richness"] == "0"
    assert float(row["density_per_100_m2"]) == pytest.approx(100 * 47 / 300)


def test_weights_are_kept_back_at_every_station_of_the_watershed(county: County, tmp_path: Path) -> None:
    rows = {r["station"]: r for r in exported("export_visits", tmp_path / "visits.csv", public=True)}
    assert rows["WR-1"]["biomass_g_per_m2_reason"] == KEPT_BACK
    assert rows["WR-2"]["biomass_g_per_m2_reason"] == KEPT_BACK
    assert rows["AR-1"]["biomass_g_per_m2_reason"] != KEPT_BACK
    assert not any(key.startswith("removal_") for key in rows["WR-1"])


def test_the_number_of_queries_does_not_grow_with_the_visits(county: County) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            list(visit_rows(public=True))
        return len(captured)

    before = queries()
    station = make_station("WR-9")
    for year in range(2000, 2010):
        make_visit(station, f"{year}-07-01", passes=[{"Creek Chub": 3, "Etheostoma sellare": 1}])
    assert queries() == before


def test_each_trend_result_has_one_row(county: County, tmp_path: Path) -> None:
    rows = exported("export_trends", tmp_path / "trends.csv")
    # In the watershed of the withheld fish the index of all fish is followed as well: two stations and the whole.
    assert len(rows) == TrendResult.objects.count() == 5 * len(FOLLOWED) + 3
    assert {r["certainty"] for r in rows} == {"not_assessed"}
    assert all(r["reason"] for r in rows)
    assert {r["slope_per_year"] for r in rows} == {""}


def test_a_steady_rise_is_exported_as_tested(db: None, tmp_path: Path) -> None:
    """Ten years, one fish more each: slope 1, S = 45, tau 1, exact two-sided p = 2/10! (arithmetic)."""
    station = make_station("WR-1")
    for i in range(10):
        make_visit(station, f"{2010 + i}-07-01", passes=[{"Creek Chub": 10 + i}])
    mark_all()
    recompute_marked()
    rows = exported("export_trends", tmp_path / "trends.csv")
    row = next(r for r in rows if r["station"] == "WR-1" and r["measure"] == "total_catch")
    assert float(row["slope_per_year"]) == pytest.approx(1.0)
    assert float(row["s"]) == 45
    assert float(row["tau"]) == pytest.approx(1.0)
    assert float(row["p_value"]) == pytest.approx(2 / 3_628_800)
    assert (row["first_year"], row["last_year"], row["n_years"]) == ("2010", "2019", "10")
    assert row["certainty"] == "very_likely"
    assert row["test"] == "Mann-Kendall, exact"
    call_command("export_trends", str(tmp_path / "trends.json"), verbosity=0)
    document = json.loads((tmp_path / "trends.json").read_text())
    same = next(t for t in document["trends"] if t["station"] == "WR-1" and t["measure"] == "total_catch")
    assert same["slope_per_year"] == float(row["slope_per_year"])
    assert [y["value"] for y in same["years"]] == list(range(10, 20))


@pytest.mark.parametrize("command", ["export_visits", "export_trends"])
def test_a_wrong_ending_or_folder_is_refused(db: None, tmp_path: Path, command: str) -> None:
    with pytest.raises(CommandError, match="ends in"):
        call_command(command, str(tmp_path / "table.txt"))
    with pytest.raises(CommandError, match="cannot be written"):
        call_command(command, str(tmp_path / "none" / "table.csv"))
    assert list(tmp_path.iterdir()) == []
