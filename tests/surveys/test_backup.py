"""A copy of the data: whole, verifiable, and back again as it was."""

import hashlib
import json
import stat
import uuid
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from surveys.models import Catch, RemovalPass, Station, Taxon, Visit, Voucher
from tests.factories import make_station, make_visit
from trends.models import LandUseNote, VisitResult

pytestmark = pytest.mark.django_db(transaction=True)

# Text that a careless format would tear: separators, quotes, line breaks, a lone end-of-data mark.
NASTY = 'tab\there, "quotes", \\N, a line\n\\.\nand é, ☃, a trailing backslash\\'


@pytest.fixture
def records(person: Callable[[str], Any]) -> Visit:
    """A visit with a person, odd text, a change in its history and a note."""
    station = make_station("WR-1")
    visit = make_visit(station, passes=[{"Creek Chub": 12}, {}], notes=NASTY)
    Visit.objects.filter(pk=visit.pk).update(entered_by=person("biologist"), ph=7.3)
    LandUseNote.objects.create(
        watershed=station.watershed, category="trail", starts_on="2020-05-01", title="A trail", text=NASTY
    )
    VisitResult.objects.create(
        visit=visit, values={"richness": 0.1}, visit_revision=1, code_version="t", index_score=1 / 3
    )
    return Visit.objects.get(pk=visit.pk)


@pytest.fixture
def copy(records: Visit, tmp_path: Path) -> Path:
    path = tmp_path / "copy.zip"
    call_command("backup", str(path), verbosity=0)
    return path


def every_row() -> dict[str, list[Any]]:
    """All rows of all tables but sessions and migrations, read without the code under test."""
    rows = {}
    with connection.cursor() as cursor:
        for name in sorted(connection.introspection.table_names(cursor)):
            if name not in ("django_session", "django_migrations"):
                cursor.execute(f'SELECT t::text FROM "{name}" t ORDER BY 1')
                rows[name] = cursor.fetchall()
    return rows


def rewritten(path: Path, change: Callable[[dict[str, bytes]], None]) -> Path:
    """The copy with its members changed, as a faulty disk or a hand might do it."""
    with zipfile.ZipFile(path) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    change(members)
    changed = path.with_name("changed.zip")
    with zipfile.ZipFile(changed, "w") as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return changed


def test_a_database_comes_back_row_for_row(copy: Path, records: Visit) -> None:
    before = every_row()
    assert before["surveys_visitevent"], "the change of the visit is in its history"
    Catch.objects.all().delete()
    Visit.objects.update(notes="spoilt")
    call_command("restore", str(copy), replace=True, verbosity=0)
    assert every_row() == before
    assert Visit.objects.get(pk=records.pk).notes == NASTY


def test_the_whole_field_record_comes_back_with_its_photographs(records: Visit, tmp_path: Path) -> None:
    """Lists, times, flags and the bytes of a picture, also those kept in the history."""
    photo = bytes(range(256)) * 4
    Visit.objects.filter(pk=records.pk).update(
        widths_m=[3.25, 0.1],
        checks_made=["trained", "first aid"],
        weather=NASTY[:200],
        calibrated_on="2024-07-15",
    )
    RemovalPass.objects.filter(visit=records).update(
        started_at="09:00:30",
        ended_at="10:00",
        gear_unit=NASTY[:100],
        waveform="pulsed DC",
        volts_first=1 / 3,
    )
    Catch.objects.update(released=11, died=1, kept=0, gross_g=3.5, tare_g=1.25, weighed=3, unsure=True)
    voucher = Voucher.objects.create(
        visit=records,
        taxon=Taxon.objects.get(),
        photo=photo,
        photo_type="image/jpeg",
        device_key=uuid.uuid4(),
    )
    Voucher.objects.filter(pk=voucher.pk).update(remark=NASTY[:300])
    before, path = every_row(), tmp_path / "copy.zip"
    call_command("backup", str(path), verbosity=0)
    Voucher.objects.all().delete()
    Visit.objects.update(widths_m=[])
    call_command("restore", str(path), replace=True, verbosity=0)
    assert every_row() == before
    assert bytes(Voucher.objects.get().photo) == photo
    assert Visit.objects.get(pk=records.pk).widths_m == [3.25, 0.1]
    assert before["surveys_voucherevent"], "the change of the voucher is in its history"


def test_new_records_get_new_numbers_after_a_restore(copy: Path, records: Visit) -> None:
    call_command("restore", str(copy), replace=True, verbosity=0)
    assert make_visit(records.station, "2001-07-01").pk > records.pk


def test_an_empty_machine_is_set_up_by_the_restore(copy: Path) -> None:
    before = every_row()
    try:
        with connection.cursor() as cursor:
            cursor.execute("DROP SCHEMA public CASCADE")
            cursor.execute("CREATE SCHEMA public")
        call_command("restore", str(copy), verbosity=0)
    finally:
        call_command("migrate", verbosity=0, interactive=False)
    assert every_row() == before


def test_a_database_with_data_is_left_alone_without_a_word(copy: Path) -> None:
    before = every_row()
    with pytest.raises(CommandError, match="holds data already"):
        call_command("restore", str(copy), verbosity=0)
    assert every_row() == before


def test_the_manifest_tells_rows_and_checksums(copy: Path) -> None:
    with zipfile.ZipFile(copy) as archive:
        manifest = json.loads(archive.read("manifest.json"))
        for table in manifest["tables"]:
            content = archive.read(f"tables/{table['name']}.tsv")
            assert hashlib.sha256(content).hexdigest() == table["sha256"]
            assert content.count(b"\n") == table["rows"]
        rows = {table["name"]: table["rows"] for table in manifest["tables"]}
    assert rows["surveys_visit"] == 1
    assert rows["surveys_catch"] == 1
    assert rows["auth_user"] == 1
    assert "django_session" not in rows


def test_only_its_owner_may_read_a_copy(copy: Path) -> None:
    assert stat.S_IMODE(copy.stat().st_mode) == 0o600


def test_a_copy_is_not_written_over_by_accident(copy: Path) -> None:
    content = copy.read_bytes()
    with pytest.raises(CommandError, match="is there already"):
        call_command("backup", str(copy), verbosity=0)
    assert copy.read_bytes() == content


def drop_a_table(members: dict[str, bytes]) -> None:
    del members["tables/surveys_catch.tsv"]


def change_a_digit(members: dict[str, bytes]) -> None:
    members["tables/surveys_catch.tsv"] = members["tables/surveys_catch.tsv"].replace(b"12", b"13")


def promise_more_rows(members: dict[str, bytes]) -> None:
    manifest = json.loads(members["manifest.json"])
    next(t for t in manifest["tables"] if t["name"] == "surveys_catch")["rows"] = 2
    members["manifest.json"] = json.dumps(manifest).encode()


def come_from_the_future(members: dict[str, bytes]) -> None:
    manifest = json.loads(members["manifest.json"])
    manifest["migrations"].append(["surveys", "9999_not_written_yet"])
    members["manifest.json"] = json.dumps(manifest).encode()


def point_nowhere(members: dict[str, bytes]) -> None:
    """Checksums in order, but a catch belongs to a taxon that is not there."""
    manifest = json.loads(members["manifest.json"])
    members["tables/surveys_taxon.tsv"] = b""
    table = next(t for t in manifest["tables"] if t["name"] == "surveys_taxon")
    table.update(rows=0, sha256=hashlib.sha256(b"").hexdigest())
    members["manifest.json"] = json.dumps(manifest).encode()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (drop_a_table, "surveys_catch.tsv is missing"),
        (change_a_digit, "does not match its checksum"),
        (promise_more_rows, "the manifest says 2"),
        (come_from_the_future, "another version"),
        (point_nowhere, "refused the copy, and nothing was changed"),
    ],
    ids=lambda value: getattr(value, "__name__", ""),
)
def test_a_copy_that_is_not_whole_changes_nothing(
    copy: Path, change: Callable[[dict[str, bytes]], None], said: str
) -> None:
    before = every_row()
    with pytest.raises(CommandError, match=said):
        call_command("restore", str(rewritten(copy, change)), replace=True, verbosity=0)
    assert every_row() == before


def test_a_file_cut_short_is_refused(copy: Path, tmp_path: Path) -> None:
    cut = tmp_path / "cut.zip"
    cut.write_bytes(copy.read_bytes()[:-200])
    with pytest.raises(CommandError, match="damaged"):
        call_command("restore", str(cut), check=True, verbosity=0)


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="There is no file"):
        call_command("restore", str(tmp_path / "none.zip"), verbosity=0)


def test_a_failed_backup_leaves_no_half_file(records: Visit, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="cannot be written"):
        call_command("backup", str(tmp_path / "no-such-folder" / "copy.zip"), verbosity=0)
    assert list(tmp_path.iterdir()) == []
    assert Station.objects.count() == Taxon.objects.count() == 1
