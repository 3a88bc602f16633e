"""The pages for sending and reviewing: who may, what is shown, what a confirmation does."""

from collections.abc import Callable
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from surveys.models import Upload, UploadStatus, Visit, VisitStatus
from tests.factories import make_station, make_taxon, make_visit, season_csv

pytestmark = pytest.mark.django_db

LIST = "/upload/"
ROW = {"station": "WIL-01", "visit_date": "2024-07-16", "pass": 1, "taxon": "Creek Chub", "count": 12}
GOOD = [ROW, {**ROW, "pass": 2, "count": 5}]
ODD = [ROW, {**ROW, "pass": 2, "count": 50}]

REFUSED = [("", 302), ("planner", 403), ("outreach", 403)]

SignIn = Callable[[str], Client]


@pytest.fixture(autouse=True)
def _lists() -> None:
    make_station("WIL-01")
    make_taxon("Creek Chub")


def send(client: Client, *rows: dict[str, Any], name: str = "season.csv", **more: Any) -> Any:
    content = more.pop("content", None) or season_csv(*rows)
    return client.post(LIST, {"file": SimpleUploadedFile(name, content)}, follow=True, **more)


def page_of(upload: Upload) -> str:
    return reverse("surveys:upload", args=[upload.pk])


def take(client: Client, upload: Upload, **answers: Any) -> Any:
    form = client.get(page_of(upload)).context["form"]
    return client.post(
        page_of(upload), {"action": "take", "seen": form.initial["seen"], **answers}, follow=True
    )


@pytest.mark.parametrize(
    ("role", "status"),
    [
        ("", 302),
        ("planner", 403),
        ("outreach", 403),
        ("reviewer", 200),
        ("biologist", 200),
        ("administrator", 200),
    ],
)
def test_who_may_open_the_upload_pages(signed_in: SignIn, role: str, status: int) -> None:
    send(signed_in("biologist"), *GOOD)
    client = signed_in(role)
    for address in (LIST, page_of(Upload.objects.get()), page_of(Upload.objects.get()) + "file"):
        assert client.get(address).status_code == status


@pytest.mark.parametrize(
    ("role", "status"),
    [
        ("", 302),
        ("planner", 403),
        ("outreach", 403),
        ("reviewer", 403),
        ("biologist", 200),
        ("administrator", 200),
    ],
)
def test_who_may_send_a_file(signed_in: SignIn, role: str, status: int) -> None:
    answer = signed_in(role).post(LIST, {"file": SimpleUploadedFile("s.csv", season_csv(*GOOD))})
    assert answer.status_code == (302 if status == 200 else status)
    assert Upload.objects.exists() == (status == 200)


@pytest.mark.parametrize("role", ["", "planner", "outreach", "reviewer"])
def test_who_may_not_take_a_file(signed_in: SignIn, role: str) -> None:
    send(signed_in("biologist"), *GOOD)
    upload = Upload.objects.get()
    signed_in(role).post(page_of(upload), {"action": "take", "seen": "x"})
    assert not Visit.objects.exists()


def test_sending_needs_the_token_of_the_form(person: Callable[[str], Any]) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(person("biologist"))
    assert send(client, *GOOD).status_code == 403
    assert not Upload.objects.exists()


def test_a_sent_file_is_shown_and_not_yet_stored(signed_in: SignIn) -> None:
    answer = send(signed_in("biologist"), *GOOD)
    assert "season.csv would add 1 visit" in answer.content.decode()
    assert Upload.objects.get().status == UploadStatus.CHECKED
    assert not Visit.objects.exists()


def test_looking_at_a_plan_writes_nothing(signed_in: SignIn) -> None:
    client = signed_in("biologist")
    send(client, *GOOD)
    before = Upload.objects.values().get()
    client.get(page_of(Upload.objects.get()))
    assert Upload.objects.values().get() == before
    assert not Visit.objects.exists()


def test_a_confirmed_file_waits_for_the_reviewer(signed_in: SignIn, person: Callable[[str], Any]) -> None:
    client = signed_in("biologist")
    send(client, *GOOD)
    answer = take(client, Upload.objects.get())
    assert "1 visit is stored and waiting for the reviewer" in answer.content.decode()
    visit = Visit.objects.get()
    assert (visit.status, visit.entered_by) == (VisitStatus.SUBMITTED, person("biologist"))
    assert "was taken on" in answer.content.decode()


def test_errors_are_shown_by_row_and_block(signed_in: SignIn) -> None:
    client = signed_in("biologist")
    answer = send(client, {**ROW, "count": -1}, {**ROW, "station": "WIL-1"})
    text = answer.content.decode()
    assert "2 errors in season.csv" in text
    assert "Row 2" in text
    assert "Row 3" in text
    assert "WIL-01" in text
    assert "Take the whole file" not in text
    client.post(page_of(Upload.objects.get()), {"action": "take", "seen": "x"})
    assert not Visit.objects.exists()


def test_warnings_ask_for_a_word(signed_in: SignIn) -> None:
    client = signed_in("biologist")
    send(client, *ODD)
    upload = Upload.objects.get()
    assert take(client, upload).status_code == 422
    assert not Visit.objects.exists()
    take(client, upload, looked="on")
    assert Visit.objects.exists()


def test_replacing_asks_for_its_own_word_and_shows_the_differences(signed_in: SignIn) -> None:
    client = signed_in("biologist")
    held = make_visit(make_station("WIL-01"), "2024-07-16")
    answer = send(client, ROW, {**ROW, "pass": 2, "count": 4})
    text = answer.content.decode()
    assert "what differs" in text
    assert "back to the reviewer" in text
    upload = Upload.objects.get()
    assert take(client, upload, looked="on").status_code == 422
    take(client, upload, looked="on", replace="on")
    held.refresh_from_db()
    assert (held.status, held.revision) == (VisitStatus.SUBMITTED, 2)


def test_a_plan_that_is_out_of_date_is_shown_again(signed_in: SignIn) -> None:
    client = signed_in("biologist")
    send(client, *GOOD)
    upload = Upload.objects.get()
    form = client.get(page_of(upload)).context["form"]
    make_visit(make_station("WIL-01"), "2024-07-16")
    client.post(
        page_of(upload), {"action": "take", "seen": form.initial["seen"], "looked": "on", "replace": "on"}
    )
    upload.refresh_from_db()
    assert upload.status == UploadStatus.TAKEN or Visit.objects.get().revision == 1


def test_the_same_file_again_leads_to_the_one_that_was_taken(signed_in: SignIn) -> None:
    client = signed_in("biologist")
    send(client, *GOOD)
    take(client, Upload.objects.get())
    answer = send(client, *GOOD)
    assert "already taken on" in answer.content.decode()
    assert Upload.objects.count() == 1


def test_a_file_can_be_laid_aside(signed_in: SignIn) -> None:
    client = signed_in("biologist")
    send(client, *GOOD)
    upload = Upload.objects.get()
    client.post(page_of(upload), {"action": "discard"})
    assert "was laid aside" in client.get(page_of(upload)).content.decode()
    client.post(page_of(upload), {"action": "take", "seen": "x"})
    assert not Visit.objects.exists()


def test_the_file_with_remarks_is_whole_and_runs_no_formula(signed_in: SignIn) -> None:
    client = signed_in("biologist")
    send(client, {**ROW, "count": -1, "notes": "=1+1"}, {**ROW, "pass": 2, "notes": "fine"})
    answer = client.get(page_of(Upload.objects.get()) + "remarks.csv")
    lines = answer.content.decode("utf-8-sig").splitlines()
    assert lines[0].startswith("row,station")
    assert lines[0].endswith("remarks")
    assert len(lines) == 3
    assert lines[1].startswith("2,WIL-01,2024-07-16,1,Creek Chub,-1,'=1+1,")
    assert "below zero" in lines[1]
    assert lines[2].startswith("3,WIL-01,2024-07-16,2,Creek Chub,") and lines[2].endswith("fine,")


def test_the_file_with_remarks_is_put_right_and_sent_again(signed_in: SignIn) -> None:
    """The rows without a remark belong to the same visit: without them it would be stored in part."""
    client = signed_in("biologist")
    text = season_csv({**ROW, "count": -1}, {**ROW, "pass": 2, "count": 4}).decode()
    text += "WIL-01,2024-07-16\n"  # a row that cannot be taken apart
    client.post(LIST, {"file": SimpleUploadedFile("season.csv", text.encode())})
    sent = client.get(page_of(Upload.objects.get()) + "remarks.csv").content.decode("utf-8-sig")
    assert sent.count("\n") == 4
    again = sent.replace(",-1,", ",9,")
    client.post(LIST, {"file": SimpleUploadedFile("mended.csv", again.encode())})
    refused = Upload.objects.get(file_name="mended.csv")
    assert {(f.code, f.row) for f in refused.findings.filter(level="error")} == {("required_blank", 4)}
    whole = "\n".join(again.splitlines()[:3])
    client.post(LIST, {"file": SimpleUploadedFile("whole.csv", whole.encode())})
    counts = Upload.objects.get(file_name="whole.csv").summary["counts"]
    assert (counts["errors"], counts["passes"], counts["fish"]) == (0, 2, 13)


def test_a_remark_on_the_headings_is_no_row_of_the_file_with_remarks(signed_in: SignIn) -> None:
    """Sent again, a row with nothing but its number would refuse a file that could be taken."""
    client = signed_in("biologist")
    content = season_csv(*GOOD).replace(b"taxon,", b",taxon,").replace(b"Creek Chub,", b"x,Creek Chub,")
    send(client, content=content)
    sent = client.get(page_of(Upload.objects.get()) + "remarks.csv").content
    assert sent.count(b"\n") == 3
    send(client, name="again.csv", content=sent)
    counts = Upload.objects.get(file_name="again.csv").summary["counts"]
    assert (counts["errors"], counts["fish"]) == (0, 17)


def test_the_file_comes_back_byte_for_byte(signed_in: SignIn) -> None:
    client = signed_in("biologist")
    send(client, *GOOD)
    assert client.get(page_of(Upload.objects.get()) + "file").content == season_csv(*GOOD)


@pytest.mark.parametrize("room", [0, 1_000_000], ids=["by the file", "by the announced length"])
def test_a_file_that_is_too_large_gets_413_and_the_limit(signed_in: SignIn, settings: Any, room: int) -> None:
    settings.UPLOAD_LIMIT_BYTES = 1024 * 1024
    answer = send(signed_in("biologist"), content=b"a,b\n" * (262_144 + 1 + room))
    assert answer.status_code == 413
    assert "the limit is 1 MB" in answer.content.decode()
    assert not Upload.objects.exists()


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("empty.csv", b" ", "The file is empty"),
        ("season.csv", "station,count\nBäch,1\n".encode("latin-1"), "Line 2 is not in UTF-8"),
        ("season.pdf", b"%PDF-1.7", "Send a file that ends in .csv or .xlsx"),
        ("season.xlsx", b"station,count\n", "the content is not a workbook"),
    ],
)
def test_a_file_that_cannot_be_read_says_why(
    signed_in: SignIn, name: str, content: bytes, words: str
) -> None:
    assert words in send(signed_in("biologist"), name=name, content=content).content.decode().replace(
        "&#x27;", "'"
    )


def test_no_file_at_all_is_an_error_of_the_form(signed_in: SignIn) -> None:
    assert signed_in("biologist").post(LIST, {}).status_code == 422


def test_schema_and_example_can_be_fetched_by_anybody() -> None:
    assert Client().get("/upload/season-file.json").json()["fields"][0]["name"] == "station"
    assert Client().get("/upload/season-file-example.csv").content.startswith(b"station,")


def test_the_example_file_itself_is_accepted(signed_in: SignIn) -> None:
    make_station("MILL-02")
    make_taxon("Blacknose Dace")
    example = Client().get("/upload/season-file-example.csv").content
    assert "would add 1 visit" in send(signed_in("biologist"), content=example).content.decode()


def test_what_a_file_holds_is_shown_as_text_only(signed_in: SignIn) -> None:
    text = send(signed_in("biologist"), {**ROW, "taxon": "<script>alert(1)</script>"}).content.decode()
    assert "<script>alert(1)" not in text
    assert "&lt;script&gt;" in text


def test_an_unknown_upload_is_not_found(signed_in: SignIn) -> None:
    assert signed_in("biologist").get("/upload/999999/").status_code == 404


def test_queries_do_not_grow_with_the_rows(signed_in: SignIn) -> None:
    client = signed_in("biologist")

    def queries_of(years: int) -> int:
        send(client, *({**ROW, "visit_date": f"20{year:02d}-07-16"} for year in range(1, years + 1)))
        client.get(page_of(Upload.objects.latest("pk")))  # what is kept for all pages is kept now
        with CaptureQueriesContext(connection) as asked:
            client.get(page_of(Upload.objects.latest("pk")))
        return len(asked)

    assert queries_of(20) == queries_of(2)
