"""The data package and the open data page: valid by an independent library, and nothing withheld in it.

Source: Data Package and Table Schema, version 1, as the frictionless library reads them.
"""

import csv
import io
import json
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from frictionless import Package, system

from surveys.models import Catch, SamplingMethod, Station, Taxon, Visit
from tests.trends.exports.conftest import SENSITIVE, County
from trends.exports import downloads
from trends.models import LandCover, LandUseNote
from trends.recompute import mark_all, recompute_marked

pytestmark = pytest.mark.django_db
FILES = ["package.zip", "visits.csv", "trends.csv", "archive.zip", "visits.schema.json", "trends.schema.json"]


@pytest.fixture(autouse=True)
def made_anew() -> Iterator[None]:
    downloads.forget()
    yield
    downloads.forget()


@pytest.fixture
def records(county: County) -> County:
    """The county with a metric score in the open watershed, notes and land cover."""
    county.open.stratum, county.open.catchment_km2 = "Eastern Piedmont", 10
    county.open.save()
    watershed = county.open.watershed
    LandUseNote.objects.create(
        watershed=watershed,
        category="trail",
        starts_on="2020-05-01",
        title="=A trail",
        text='Two lines,\n"so"',
    )
    LandUseNote.objects.create(
        watershed=watershed, category="pipe", starts_on="2020-05-01", title="Under enquiry", public=False
    )
    LandCover.objects.create(watershed=watershed, year=2019, impervious_pct=14.0)
    mark_all()
    recompute_marked(everything=True)
    return county


@pytest.fixture
def folder(records: County, tmp_path: Path) -> Path:
    call_command("export_package", str(tmp_path / "all.zip"), verbosity=0)
    with zipfile.ZipFile(tmp_path / "all.zip") as archive:
        archive.extractall(tmp_path / "all")
    return tmp_path / "all"


def rows_of(folder: Path, name: str) -> list[dict[str, str]]:
    return list(
        csv.DictReader(io.StringIO((folder / "data" / f"{name}.csv").read_bytes().decode(), newline=""))
    )


def validated(folder: Path) -> Any:
    with system.use_context(trusted=True):
        return Package(str(folder / "datapackage.json")).validate()


def test_the_package_is_valid_and_no_table_is_empty(folder: Path) -> None:
    report = validated(folder)
    assert report.valid, report.flatten(["name", "type", "note"])
    names = [one["name"] for one in json.loads((folder / "datapackage.json").read_text())["resources"]]
    for name in (
        "watersheds", "stations", "visits", "passes", "catches", "indicators", "scores", "score_metrics",
        "trends", "trend_years", "notes", "land_cover", "taxa", "methods", "withheld_species",
    ):  # fmt: skip
        assert name in names and rows_of(folder, name), name


def test_the_library_would_find_an_orphan(folder: Path) -> None:
    """Else the test above could pass because nothing is looked at."""
    path = folder / "data" / "catches.csv"
    path.write_bytes(path.read_bytes().replace(b"creek-chub", b"no-such").replace(b"semotilus-", b"no-such-"))
    types = {row[0] for row in validated(folder).flatten(["type"])}
    assert "foreign-key" in types


def test_the_description_says_licence_sources_version_units_and_what_is_withheld(folder: Path) -> None:
    document = json.loads((folder / "datapackage.json").read_text())
    assert [one["name"] for one in document["licenses"]] == ["CC-BY-4.0"]
    assert document["sources"] and document["version"] and document["created"]
    assert "shortened by rule" in document["description"]
    fields = {(r["name"], f["name"]): f for r in document["resources"] for f in r["schema"]["fields"]}
    assert fields["passes", "effort_s"]["unit"] == "s"
    assert fields["stations", "longitude"]["unit"] == "degree"
    assert fields["stations", "position_uncertainty_m"]["unit"] == "m"
    dictionary = list(csv.DictReader(io.StringIO((folder / "data-dictionary.csv").read_text())))
    assert {(row["table"], row["column"]) for row in dictionary} == set(fields)
    assert all(row["meaning"] for row in dictionary)


def test_counts_are_those_of_the_database(folder: Path) -> None:
    listed = Catch.objects.filter(removal_pass__visit__status="accepted", taxon__sensitive_location=False)
    stored = sorted((one.removal_pass.visit_id, one.taxon.slug, one.count) for one in listed)
    found = sorted((int(r["visit"]), r["taxon"], int(r["count"])) for r in rows_of(folder, "catches"))
    assert found == stored
    accepted = set(Visit.objects.accepted().values_list("pk", flat=True))
    assert {int(r["visit"]) for r in rows_of(folder, "visits")} == accepted


def test_what_is_known_of_a_position_a_name_and_a_protocol_is_told(records: County, tmp_path: Path) -> None:
    Station.objects.filter(code="WR-1").update(position_uncertainty_m=12.5)
    Taxon.objects.filter(common_name="Creek Chub").update(authorship="(Quillon, 1801)")
    SamplingMethod.objects.update(reference="County field manual, section 4")
    call_command("export_package", str(tmp_path / "all.zip"), verbosity=0)
    with zipfile.ZipFile(tmp_path / "all.zip") as archive:
        archive.extractall(tmp_path)
    told = {r["station"]: r["position_uncertainty_m"] for r in rows_of(tmp_path, "stations")}
    assert (told["WR-1"], told["WR-2"]) == ("12.5", "")
    assert {r["authorship"] for r in rows_of(tmp_path, "taxa")} == {"(Quillon, 1801)", ""}
    assert {r["reference"] for r in rows_of(tmp_path, "methods")} == {"County field manual, section 4"}


def test_numbers_stay_numbers_and_text_is_escaped(folder: Path) -> None:
    assert {r["station"]: r["longitude"] for r in rows_of(folder, "stations")}["WR-1"] == "-77.4321"
    assert [r["title"] for r in rows_of(folder, "notes")] == ["'=A trail"]


def test_a_file_that_is_not_a_zip_is_refused(db: None, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match=r"ends in \.zip"):
        call_command("export_package", str(tmp_path / "all.csv"))


# --- the page ------------------------------------------------------------------------------------


def text_of(name: str, content: bytes) -> dict[str, str]:
    """Each text in a file: the file itself, or what is in the zip, file names included."""
    if not name.endswith(".zip"):
        return {name: content.decode()}
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {inner: inner + archive.read(inner).decode() for inner in archive.namelist()}


@pytest.mark.parametrize("name", FILES)
def test_no_file_tells_what_is_withheld(records: County, name: str) -> None:
    """The walk over every file: names for the watershed alone, nothing unreviewed, nobody's name."""
    for inner, text in text_of(name, Client().get(f"/data/{name}").content).items():
        for secret in ("Under enquiry", "Robin Example", "Gate code", "2024-07-06"):
            assert secret not in text, f"{secret} in {inner} of {name}"
        for line in text.splitlines():
            if SENSITIVE in line:
                assert "WR-1" not in line and "39.1234" not in line, f"{inner} of {name}"
                assert str(records.visit.visit_date) not in line
        if inner.startswith("data/"):
            assert (SENSITIVE in text) == (inner == "data/withheld_species.csv"), inner


def test_counts_in_the_package_do_not_betray_the_shortened_list(folder: Path, records: County) -> None:
    fish: dict[str, int] = {}
    for row in rows_of(folder, "catches"):
        fish[row["visit"]] = fish.get(row["visit"], 0) + int(row["count"])
    for row in rows_of(folder, "indicators"):
        assert int(float(row["total_catch"])) == fish[row["visit"]]
    assert "biomass_g" not in rows_of(folder, "passes")[0]
    guarded = {r["visit"] for r in rows_of(folder, "visits") if r["watershed"] == "willow-run"}
    assert not guarded & {r["visit"] for r in rows_of(folder, "score_metrics")}


@pytest.mark.parametrize("name", FILES)
def test_a_file_comes_under_its_name_with_a_fingerprint_of_its_content(records: County, name: str) -> None:
    first = Client().get(f"/data/{name}")
    assert first.headers["Content-Disposition"] == f'attachment; filename="{name}"'
    assert "public" in first.headers["Cache-Control"]
    downloads.forget()
    again = Client().get(f"/data/{name}", headers={"If-None-Match": first.headers["ETag"]})
    assert again.status_code == 304, "made anew from the same records it is the same file"


def test_a_changed_record_changes_the_file(records: County) -> None:
    etag = Client().get("/data/package.zip").headers["ETag"]
    LandCover.objects.update(impervious_pct=15.0)
    downloads.forget()
    assert Client().get("/data/package.zip", headers={"If-None-Match": etag}).status_code == 200


def test_the_page_links_every_file_and_the_footer_links_the_page(records: County) -> None:
    page = Client().get("/data/").content.decode()
    assert [name for name in FILES if f'href="/data/{name}"' not in page] == []
    assert 'href="/data/"' in Client().get("/").content.decode()
    assert Client().get("/data/secrets.csv").status_code == 404


def test_signing_in_changes_no_file(records: County, signed_in: Any) -> None:
    for name in FILES:
        assert (
            signed_in("administrator").get(f"/data/{name}").content == Client().get(f"/data/{name}").content
        )
