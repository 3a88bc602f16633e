"""The pages for files of another layout: mapping, preview, the kept mapping, the report of a batch."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from surveys.models import Catch, ColumnMapping, MappedFile, Upload, UploadStatus, Visit
from surveys.uploads.mapped import receive_files
from tests.factories import make_station, make_taxon
from tests.surveys.test_uploads_mapping import workbook

pytestmark = pytest.mark.django_db

PAGE = "/upload/map/"
SignIn = Callable[[str], Client]


@pytest.fixture(autouse=True)
def _lists() -> None:
    make_station("WIL-01")
    make_taxon("Creek Chub")
    make_taxon("Bluegill")


def wide(year: int) -> bytes:
    """A title, then a column for each species; days written day first; a name for the station."""
    rows = [
        ["Summer survey"],
        ["Where", "Date", "Run", "Creek Chub", "Bluegill"],
        ["Lower bridge", f"16.07.{year}", 1, 12, 1],
        ["Lower bridge", f"16.07.{year}", 2, 5, 0],
    ]
    return workbook(**{"Catch": rows})


def send(client: Client, *files: tuple[str, bytes]) -> MappedFile:
    sent = [SimpleUploadedFile(name, content) for name, content in files]
    answer = client.post(PAGE, {"files": sent})
    assert answer.status_code == 302
    return MappedFile.objects.order_by("pk")[0]


def filled(client: Client, file: MappedFile, **changed: str) -> dict[str, str]:
    """The form of a file as the page shows it, with what a person changes."""
    shown = client.get(f"{PAGE}file/{file.pk}/").context
    given = {name: str(value) for name, value in shown["form"].initial.items() if value not in ("", False)}
    for sheet in shown["sheets"]:
        given[sheet.field] = str(sheet.heading_line)
        for one in sheet.headings:
            place = one.field[5:]
            given |= {one.field: one.value, f"number-{place}": one.number, f"taxon-{place}": one.taxon}
    return given | changed


ANSWERS = {
    "role-0-0": "station",
    "date_order": "dmy",
    "stations": "Lower bridge = WIL-01",
    "name": "county workbooks",
}


@pytest.mark.parametrize(
    ("role", "status"),
    [("", 302), ("planner", 403), ("outreach", 403), ("reviewer", 403), ("biologist", 200)],
)
def test_who_may_send_older_files(signed_in: SignIn, role: str, status: int) -> None:
    assert signed_in(role).get(PAGE).status_code == status


def test_headings_that_are_understood_are_filled_in(signed_in: SignIn) -> None:
    client = signed_in("biologist")
    given = filled(client, send(client, ("2019.xlsx", wide(2019))))
    assert given["line-0"] == "2"
    assert [given[f"role-0-{n}"] for n in range(5)] == ["", "visit_date", "pass", "species", "species"]


def test_the_preview_shows_what_follows_and_stores_nothing(signed_in: SignIn) -> None:
    client = signed_in("biologist")
    file = send(client, ("2019.xlsx", wide(2019)))
    given = filled(client, file, **ANSWERS, action="preview", part="1")
    shown = client.post(f"{PAGE}file/{file.pk}/", given).content.decode()
    assert "3 rows of a season file" in shown and "2019-07-16" in shown and "WIL-01" in shown
    assert "<html" not in shown
    assert not ColumnMapping.objects.exists() and not Upload.objects.exists()


def test_a_mapping_is_kept_and_reads_all_files_of_the_batch(signed_in: SignIn) -> None:
    client = signed_in("biologist")
    file = send(client, *((f"{year}.xlsx", wide(year)) for year in (2019, 2020, 2021)))
    page = f"{PAGE}file/{file.pk}/"
    assert client.post(page, filled(client, file, **{**ANSWERS, "name": ""})).status_code == 422
    shown = client.post(page, filled(client, file, **ANSWERS), follow=True).content.decode()
    assert "3 files were read by it" in shown
    assert "3 visits in 3 files" in shown
    report = f"{PAGE}{file.batch}/"
    assert "Tick that" in client.post(report, {}, follow=True).content.decode()
    assert "3 of 3 files are taken" in client.post(report, {"looked": "1"}, follow=True).content.decode()
    assert Visit.objects.count() == 3
    assert sorted(Catch.objects.values_list("count", flat=True)) == [1, 1, 1, 5, 5, 5, 12, 12, 12]
    # The file as it came stays, and each row can be followed back to its line.
    file.refresh_from_db()
    assert client.get(f"{page}original").content == bytes(file.content)
    assert file.sources == [["Catch", 3], ["Catch", 3], ["Catch", 4]]


def test_next_time_the_kept_mapping_is_used_at_once(signed_in: SignIn) -> None:
    client = signed_in("biologist")
    file = send(client, ("2019.xlsx", wide(2019)))
    client.post(f"{PAGE}file/{file.pk}/", filled(client, file, **ANSWERS))
    batch = receive_files([("2022.xlsx", wide(2022))], by=None)
    later = MappedFile.objects.get(batch=batch)
    assert later.mapping_name == "county workbooks"
    assert later.upload is not None and later.upload.status == UploadStatus.CHECKED


def test_a_file_that_cannot_be_read_is_told_in_the_report(signed_in: SignIn) -> None:
    client = signed_in("biologist")
    file = send(client, ("old.xls", b"x"), ("2019.xlsx", wide(2019)))
    shown = client.get(f"{PAGE}{file.batch}/").content.decode()
    assert "cannot be read" in shown and "1 of 2 files waits for a mapping" in shown
    assert client.get(f"{PAGE}file/{file.pk}/").status_code == 302


def test_errors_of_the_season_file_are_in_the_report_and_it_is_not_taken(signed_in: SignIn) -> None:
    client = signed_in("biologist")
    file = send(client, ("2019.xlsx", wide(2019)))
    given = filled(client, file, **{**ANSWERS, "stations": ""})
    client.post(f"{PAGE}file/{file.pk}/", given)
    (row,) = client.get(f"{PAGE}{file.batch}/").context["rows"]
    assert row["counts"]["errors"] > 0
    client.post(f"{PAGE}{file.batch}/", {"looked": "1"})
    assert not Visit.objects.exists()


def test_names_of_stations_are_written_with_an_equals_sign(signed_in: SignIn) -> None:
    client = signed_in("biologist")
    file = send(client, ("2019.xlsx", wide(2019)))
    answer = client.post(f"{PAGE}file/{file.pk}/", filled(client, file, **{**ANSWERS, "stations": "Lower"}))
    assert answer.status_code == 422
    assert "is not written as" in answer.content.decode()


def open_mapping(page: Any, address: str, signed_in: SignIn) -> None:
    """Send a workbook and open the page that asks what its headings mean."""
    cookie = signed_in("biologist").cookies[settings.SESSION_COOKIE_NAME]
    page.context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": address}])
    page.set_default_timeout(10_000)
    page.goto(f"{address}{PAGE}")
    page.set_input_files(
        "input[type=file]",
        [{"name": "2019.xlsx", "mimeType": "application/octet-stream", "buffer": wide(2019)}],
    )
    page.click("main form button[type=submit]")
    page.click("text=Map the headings of 2019.xlsx")
    page.wait_for_selector("text=no catch yet")


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
def test_what_was_chosen_before_the_script_was_there_is_shown_too(
    page: Any, live_server: Any, signed_in: SignIn
) -> None:
    """A slow line: the page is there, and the script that shows the rows is not."""
    held: list[Any] = []
    page.route("**/mapping-preview*.js", lambda route: held.append(route))
    open_mapping(page, live_server.url, signed_in)
    page.select_option("select[name=role-0-0]", "station")
    assert len(held) == 1
    held[0].continue_()
    page.wait_for_selector("[data-preview] >> text=3 rows of a season file")


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
def test_a_wide_workbook_is_mapped_with_a_live_preview(
    page: Any, live_server: Any, signed_in: SignIn
) -> None:
    open_mapping(page, live_server.url, signed_in)
    page.select_option("select[name=role-0-0]", "station")
    page.wait_for_selector("[data-preview] >> text=3 rows of a season file")
    page.select_option("#id_date_order", "dmy")
    page.wait_for_selector("[data-preview] >> text=2019-07-16")
    page.fill("#id_stations", "Lower bridge = WIL-01")
    page.wait_for_selector("[data-preview] >> text=WIL-01")
    page.fill("#id_name", "county workbooks")
    page.click("text=Keep the mapping and check the files")
    page.wait_for_url(re.compile(r"/upload/map/[0-9a-f-]{36}/$"))
    page.check("#looked")
    page.click("button:has-text('Take 1 file')")
    page.wait_for_selector("text=1 of 1 files are taken")
    assert Catch.objects.count() == 3
