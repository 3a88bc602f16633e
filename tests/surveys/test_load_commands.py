"""The loading commands: what they print, how they refuse, and the open three-pass data set."""

import csv
import io
import json
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db.models import Sum

from surveys.models import Catch, RemovalPass, Station, Taxon, Upload, Visit, VisitStatus
from tests.factories import make_station, make_taxon, season_csv

pytestmark = pytest.mark.django_db

OPEN_DATA = Path(__file__).resolve().parents[3] / "shared" / "reference" / "open_data"

ROW = {"station": "WIL-01", "visit_date": "2024-07-16", "pass": 1, "taxon": "Creek Chub", "count": 12}


def run(*args: Any, **options: Any) -> str:
    out = io.StringIO()
    call_command(*map(str, args), stdout=out, stderr=out, no_color=True, **options)
    return out.getvalue()


@pytest.fixture
def season(tmp_path: Path) -> Path:
    make_station("WIL-01")
    make_taxon("Creek Chub")
    path = tmp_path / "season.csv"
    path.write_bytes(season_csv(ROW, {**ROW, "pass": 2, "count": 5}))
    return path


def test_loading_says_what_was_stored(season: Path) -> None:
    said = run("load_season", season)
    assert "Stored 1 visit (0 replaced) with 2 passes and 17 fish; waiting for review." in said


def test_a_dry_run_stores_nothing(season: Path) -> None:
    assert "1 new" in run("load_season", season, "--dry-run")
    assert not Visit.objects.exists()
    assert not Upload.objects.exists()


def test_the_second_time_nothing_changes(season: Path) -> None:
    run("load_season", season, "--accept")
    said = run("load_season", season, "--accept")
    assert "already taken on" in said
    assert "nothing changes" in said
    assert (Upload.objects.count(), Visit.objects.count()) == (1, 1)


def test_a_column_that_is_passed_over_is_always_named(season: Path, tmp_path: Path) -> None:
    season.write_bytes(season_csv({**ROW, "observer": "K. L."}))
    assert "The column 'observer' is not known here; it is passed over." in run("load_season", season)
    path = tmp_path / "list.csv"
    path.write_text("Station,Watershed,Stream,Lat,Long,Owner\nA-1,W,W,39.1,-77.2,County\n")
    said = run("load_stations", path)
    assert "'Owner' is not known here" in said and "'Lat'" not in said
    assert (Station.objects.get(code="A-1").latitude, Station.objects.get(code="A-1").longitude) == (
        39.1,
        -77.2,
    )


def test_warnings_do_not_block(season: Path) -> None:
    season.write_bytes(season_csv(ROW, {**ROW, "pass": 2, "count": 50}))
    assert "warning, row 3, count [50]" in run("load_season", season)
    assert Visit.objects.exists()


def test_errors_block_with_one_line(season: Path) -> None:
    season.write_bytes(season_csv({**ROW, "count": -1}, {**ROW, "visit_date": "03/04/2024"}))
    out = io.StringIO()
    with pytest.raises(CommandError, match=r"^Nothing was stored: 2 errors in season\.csv\.[^\n]*$"):
        call_command("load_season", str(season), stdout=out, stderr=out, no_color=True)
    assert "error, row 2, count [-1]" in out.getvalue()
    assert "error, row 3, visit_date [03/04/2024]" in out.getvalue()


def test_a_held_visit_is_shown_value_by_value_and_needs_replace(season: Path) -> None:
    run("load_season", season, "--accept")
    season.write_bytes(season_csv(ROW, {**ROW, "pass": 2, "count": 6}))
    out = io.StringIO()
    with pytest.raises(CommandError, match="Add --replace"):
        call_command("load_season", str(season), stdout=out, stderr=out, no_color=True)
    assert "pass 2, Semotilus atromaculatus, count (row 3): 5 -> 6" in out.getvalue()
    assert "1 replaced" in run("load_season", season, "--replace", "--accept")
    assert Visit.objects.get().status == VisitStatus.ACCEPTED


def test_json_holds_findings_and_counts(season: Path) -> None:
    season.write_bytes(season_csv(ROW, {**ROW, "pass": 2, "count": 50}))
    answer = json.loads(run("load_season", season, "--json", "--dry-run"))
    assert (answer["taken"], answer["counts"]["visits_new"], answer["counts"]["warnings"]) == (False, 1, 1)
    assert answer["findings"][0]["code"] == "later_pass_larger"
    assert json.loads(run("load_season", season, "--json"))["taken"] is True


def test_json_is_printed_for_a_refused_file_too(season: Path) -> None:
    season.write_bytes(season_csv({**ROW, "count": "x"}))
    out = io.StringIO()
    with pytest.raises(CommandError):
        call_command("load_season", str(season), "--json", stdout=out)
    assert json.loads(out.getvalue())["counts"]["errors"] == 1


@pytest.mark.parametrize("more", [[], ["--name", "chub"]], ids=["no file", "no name"])
def test_json_is_printed_where_the_file_was_never_looked_into(tmp_path: Path, more: list[str]) -> None:
    path = tmp_path / "none.csv"
    if more:
        path.write_bytes(season_csv(ROW))
    out = io.StringIO()
    with pytest.raises(CommandError) as refusal:
        call_command("load_season", str(path), "--json", *more, stdout=out)
    answer = json.loads(out.getvalue())
    assert (answer["file"], answer["taken"], answer["visits"]) == ("none.csv", False, [])
    assert answer["refused"] == str(refusal.value)


def test_json_says_why_a_held_visit_was_not_replaced(season: Path) -> None:
    assert json.loads(run("load_season", season, "--json"))["refused"] is None
    season.write_bytes(season_csv(ROW, {**ROW, "pass": 2, "count": 6}))
    out = io.StringIO()
    with pytest.raises(CommandError):
        call_command("load_season", str(season), "--json", stdout=out)
    answer = json.loads(out.getvalue())
    assert (answer["counts"]["errors"], answer["counts"]["visits_changed"]) == (0, 1)
    assert answer["refused"].endswith("Add --replace to replace them.")


def test_what_is_held_and_waits_is_not_accepted_by_sending_it_again(season: Path) -> None:
    run("load_season", season)
    said = run("load_season", season, "--accept")
    assert "nothing changes" in said
    assert "1 visit of it is not accepted" in said
    assert Visit.objects.get().status == VisitStatus.SUBMITTED


@pytest.mark.parametrize("command", ["load_season", "load_stations", "load_taxa"])
def test_a_file_that_is_not_there_is_one_line(command: str, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match=r"^There is no file [^\n]*$"):
        run(command, tmp_path / "none.csv")
    with pytest.raises(CommandError, match="is a folder"):
        run(command, tmp_path)


@pytest.mark.parametrize("command", ["load_season", "load_stations", "load_taxa"])
def test_a_file_beyond_the_limit_is_refused_unread(command: str, tmp_path: Path, settings: Any) -> None:
    settings.UPLOAD_LIMIT_BYTES = 1024 * 1024
    path = tmp_path / "big.csv"
    path.write_bytes(b"station\n" * 200_000)
    with pytest.raises(CommandError, match=r"the limit is 1 MB"):
        run(command, path)


@pytest.mark.parametrize("command", ["load_stations", "load_taxa"])
def test_a_bad_list_is_refused_with_one_line(command: str, tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_text("watershed,common_name\nW,Chub\n")
    with pytest.raises(CommandError, match=r"^Nothing was stored: \d errors? in list\.csv\.$"):
        run(command, path)


# --- open data ------------------------------------------------------------------------------------

needs_open_data = pytest.mark.skipif(
    not OPEN_DATA.is_dir(),
    reason="the open data set is not beside the checkout (../shared/reference/open_data)",
)


def everything() -> list[Any]:
    return [list(m.objects.order_by("pk").values()) for m in (Visit, RemovalPass, Catch, Taxon, Upload)]


@needs_open_data
def test_the_open_three_pass_data_are_taken_whole_and_once() -> None:
    """NEON fish electrofishing DP1.20107.001, RELEASE-2024 (CC0), three-pass catches at fixed reaches."""
    path = OPEN_DATA / "three_pass_season_file.csv"
    with path.open(newline="") as handle:
        rows = list(csv.DictReader(handle))
    run("load_stations", OPEN_DATA / "stations.csv")
    assert Station.objects.count() == 10
    run("load_season", path, "--create-taxa", "--accept")

    visits = {(row["station"], row["visit_date"]) for row in rows}
    assert len(visits) == 83
    assert {(v.station.code, str(v.visit_date)) for v in Visit.objects.accepted().with_places()} == visits
    assert RemovalPass.objects.count() == len({(r["station"], r["visit_date"], r["pass"]) for r in rows})

    in_file: Counter[tuple[str, str]] = Counter()
    for row in rows:
        if row["taxon"] != "no fish":
            in_file[row["station"], row["taxon"]] += int(row["count"])
    stored = Catch.objects.values_list(
        "removal_pass__visit__station__code", "taxon__scientific_name"
    ).annotate(total=Sum("count"))
    assert {(station, taxon): total for station, taxon, total in stored.order_by()} == dict(in_file)

    before = everything()
    said = run("load_season", path, "--create-taxa", "--accept")
    assert "nothing changes" in said
    assert [
        list(m.objects.order_by("pk").values()) for m in (Visit, RemovalPass, Catch, Taxon, Upload)
    ] == before


@needs_open_data
def test_the_open_taxon_list_is_taken() -> None:
    run("load_taxa", OPEN_DATA / "taxa.csv")
    assert Taxon.objects.count() == 16
