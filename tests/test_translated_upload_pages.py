"""The pages of season files and of older files in each of their states, read in a made-up language: what is left
in English there was not given out for translation."""

import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import translation

from surveys.models import MappedFile, Upload, VisitStatus
from surveys.review import accept_visit, return_visit
from surveys.season import close_season
from surveys.uploads.mapping_spec import HEADINGS, PASS_VALUES
from tests.factories import make_station, make_taxon, make_visit, season_csv
from tests.made_up_language import data_words, made_up_language, not_given_out
from tests.surveys.test_uploads_mapping import workbook

__all__ = ["made_up_language"]  # fixture

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("made_up_language")]

ROW = {"station": "WIL-01", "visit_date": "2024-07-16", "pass": 1, "taxon": "Creek Chub", "count": 12}
GOOD = [ROW, {**ROW, "pass": 2, "count": 5}]
ODD = [ROW, {**ROW, "pass": 2, "count": 50}]
# What a person typed or named, the account that did, and units and codes as files write them.
TYPED = re.compile(
    r"'[^']*'|administrator-\d+|reviewer-\d+|biologist-\d+|creek chubb|Snark|no fish|county workbooks|"
    r"Weigh pass 2 again|(?i:lower bridge)|\b(?:old|lists|\d{4})\.(?:xlsx?|csv)|\.xls\b|Catch\b|"
    r"\bWIL-\d+|\bph\b|\bdeg C\b|\buS/cm"
)
# In a list of choices a column stands by the name that it has in a file, before what it means.
CHOICES = {*(f"{name}:" for name in HEADINGS), *PASS_VALUES}


@pytest.fixture(autouse=True)
def _lists() -> None:
    make_station("WIL-01")
    make_taxon("Creek Chub")
    make_taxon("Bluegill")


@pytest.fixture
def desk(signed_in) -> Client:
    return signed_in("administrator")


def address(name: str, *keys: object) -> str:
    with translation.override("es"):
        return reverse(f"surveys:{name}", args=keys)


def left(response: HttpResponse) -> list[str]:
    assert response.status_code in (200, 413, 422)
    assert '<html lang="es">' in response.content.decode()
    found = not_given_out(response, data_words())
    return [
        words for words in found if words not in CHOICES and re.search(r"[A-Za-zÀ-ÿ]{2,}", untyped(words))
    ]


def untyped(words: str) -> str:
    return TYPED.sub(" ", words)


def send(
    desk: Client, *rows: dict[str, Any], name: str = "season.csv", content: bytes | None = None, **more: Any
):
    sent = SimpleUploadedFile(name, season_csv(*rows, **more) if content is None else content)
    return desk.post(address("upload_list"), {"file": sent}, follow=True)


def upload() -> Upload:
    return Upload.objects.latest("pk")


def take(desk: Client, **answers: str):
    page = address("upload", upload().pk)
    seen = desk.get(page).context["form"].initial["seen"]
    return desk.post(page, {"action": "take", "seen": seen, **answers}, follow=True)


class TestSeasonFiles:
    def test_the_list_with_what_was_sent_and_what_came_back(self, desk, person):
        send(desk, *GOOD)
        take(desk)
        send(desk, *ODD, visit_date="2023-07-16")
        send(desk, *GOOD, visit_date="2022-07-16")
        desk.post(address("upload", upload().pk), {"action": "discard"})
        back = make_visit(
            make_station("WIL-02"), status=VisitStatus.SUBMITTED, entered_by=person("biologist")
        )
        return_visit(back.pk, by=person("reviewer"), remark="Weigh pass 2 again")
        page = desk.get(address("upload_list"))
        assert len(page.context["uploads"]) == 3
        assert len(page.context["returned"]) == 1
        assert left(page) == []

    def test_the_list_for_who_may_not_send(self, signed_in):
        assert left(signed_in("reviewer").get(address("upload_list"))) == []

    def test_a_form_without_a_file(self, desk):
        assert left(desk.post(address("upload_list"), {})) == []

    def test_a_file_that_is_too_large(self, desk, settings):
        settings.UPLOAD_LIMIT_BYTES = 10
        page = send(desk, *GOOD)
        assert page.status_code == 413
        assert left(page) == []

    def test_a_file_that_waits_is_taken_once_and_laid_aside_no_more(self, desk):
        assert left(send(desk, *GOOD)) == []
        assert left(send(desk, *GOOD)) == []
        page = address("upload", upload().pk)
        assert left(desk.post(page, {"action": "take", "seen": "0"}, follow=True)) == []
        assert left(take(desk)) == []
        assert left(send(desk, *GOOD)) == []
        assert left(desk.post(page, {"action": "take", "seen": "0"}, follow=True)) == []

    def test_one_row_more_of_what_is_stored(self, desk):
        send(desk, *GOOD)
        take(desk)
        assert left(send(desk, *GOOD, name="lists.csv", content=season_csv(*GOOD) + b"\n")) == []

    def test_a_file_that_is_laid_aside(self, desk):
        send(desk, *GOOD)
        page = address("upload", upload().pk)
        assert left(desk.post(page, {"action": "discard"}, follow=True)) == []
        assert left(desk.get(page)) == []

    def test_a_file_with_errors(self, desk):
        rows = [{**ROW, "count": -1}, {**ROW, "station": "WIL-1"}, {**ROW, "visit_date": "2999-01-01"}]
        assert left(send(desk, *rows)) == []
        page = address("upload", upload().pk)
        assert left(desk.post(page, {"action": "take", "seen": "0"}, follow=True)) == []

    @pytest.mark.parametrize(
        ("name", "content"),
        [
            ("old.xls", b"x"),
            ("2019.xlsx", b"x"),
            ("2019.xlsx", b"\xd0\xcf\x11\xe0"),
            ("2019.csv", b""),
            ("2019.csv", b"station\n"),
            ("2019.csv", b"\xff\xfe\xfa"),
        ],
    )
    def test_a_file_that_cannot_be_read(self, desk, name, content):
        assert left(send(desk, name=name, content=content)) == []
        desk.post(address("upload", upload().pk), {"action": "discard"})
        assert left(desk.get(address("upload", upload().pk))) == []

    def test_a_workbook_of_two_sheets(self, desk):
        rows = [list(ROW), list(ROW.values())]
        assert left(send(desk, name="2019.xlsx", content=workbook(Catch=rows, Other=rows))) == []

    def test_warnings_and_the_answers_to_them(self, desk):
        assert left(send(desk, *ODD, water_temp_c=27)) == []
        page = address("upload_answers", upload().pk)
        questions = desk.get(page)
        assert questions.context["rows"]
        assert left(questions) == []
        mark = questions.context["rows"][0][1]
        assert left(desk.post(page, {mark: "Snark"}, follow=True)) == []
        assert left(take(desk)) == []
        assert left(take(desk, looked="on")) == []

    def test_nothing_that_asks_for_an_answer(self, desk):
        send(desk, *GOOD)
        assert left(desk.get(address("upload_answers", upload().pk))) == []

    def test_visits_that_are_held_with_other_values(self, desk, person):
        send(desk, *GOOD)
        take(desk)
        accept_visit(upload().visits.get().pk, by=person("reviewer"))
        changed = [{**ROW, "count": 13, "ph": 7.1}, {**ROW, "pass": 3, "count": 5, "taxon": "Bluegill"}]
        new = [{**one, "visit_date": "2023-07-16", "pass": number} for number, one in enumerate(GOOD, 1)]
        page = send(desk, *changed, {**ROW, "pass": 2, "count": 1}, *new)
        assert page.context["going_back"]
        assert left(page) == []
        assert left(take(desk, looked="on")) == []
        assert left(take(desk, looked="on", replace="on")) == []

    def test_a_visit_of_a_closed_season(self, desk, person):
        send(desk, *GOOD)
        take(desk)
        accept_visit(upload().visits.get().pk, by=person("reviewer"))
        close_season(2024, by=person("reviewer"), remark="")
        assert left(send(desk, {**ROW, "count": 13})) == []


class TestNames:
    ROWS = tuple(
        {**ROW, "pass": number, "taxon": name}
        for number, name in enumerate(("creek chubb", "Creek Chubb", "Snark"), 1)
    )

    def given(self, **said: str) -> dict[str, str]:
        return {"name-1": "creek chubb", "name-2": "Snark", **said}

    def test_names_to_confirm(self, desk):
        assert left(send(desk, *self.ROWS)) == []

    def test_what_is_said_of_them(self, desk):
        near = send(desk, *self.ROWS).context["names"].questions[0].near[0]
        page = address("upload_names", upload().pk)
        unclear = self.given(**{"choice-2": "other", "other-2": "Snark"})
        assert left(desk.post(page, unclear, follow=True)) == []
        one = self.given(**{"choice-1": str(near.key), "remember-1": "yes"})
        assert left(desk.post(page, one, follow=True)) == []
        both = self.given(**{"name-1": "Snark", "choice-1": "other", "other-1": "Bluegill"})
        assert left(desk.post(page, both, follow=True)) == []
        assert not desk.get(address("upload", upload().pk)).context["names"].questions
        assert left(take(desk, looked="on")) == []
        assert left(desk.post(page, one, follow=True)) == []

    def test_a_name_of_two_taxa(self, desk):
        make_taxon("Luxilus cornutus", common_name="Shiner")
        make_taxon("Notropis hudsonius", common_name="Shiner")
        assert left(send(desk, {**ROW, "taxon": "Shiner"})) == []

    def test_names_that_come_near_while_one_types(self, desk):
        (near, *_) = desk.get(address("near_names"), {"name": "creek chubb"}).json()["near"]
        assert near["words"].startswith("⟦nearly the same as")


def wide(year: int) -> bytes:
    rows = [
        ["Where", "Date", "Run", "Creek Chub", "Bluegill"],
        ["Lower bridge", f"16.07.{year}", 1, 12, 1],
        ["Lower bridge", f"16.07.{year}", 2, 5, 0],
    ]
    return workbook(Catch=rows)


ANSWERS = {
    "line-0": "1",
    **{f"role-0-{n}": role for n, role in enumerate(("station", "visit_date", "pass", "species", "species"))},
    "date_order": "dmy",
    "stations": "Lower bridge = WIL-01",
    "name": "county workbooks",
}


def send_older(desk: Client, *files: tuple[str, bytes]):
    sent = [SimpleUploadedFile(name, content) for name, content in files]
    return desk.post(address("mapping_list"), {"files": sent}, follow=True)


class TestOlderFiles:
    def page(self) -> str:
        return address("mapping_file", MappedFile.objects.order_by("pk")[0].pk)

    def left(self, response: HttpResponse) -> list[str]:
        """Without the headings of the file."""
        return [words for words in left(response) if words not in ("Where", "Date", "Run")]

    def test_the_page_to_send_them(self, desk):
        assert left(desk.get(address("mapping_list"))) == []
        assert left(desk.post(address("mapping_list"), {})) == []
        files = [SimpleUploadedFile(f"{n}.csv", b"x") for n in range(61)]
        assert left(desk.post(address("mapping_list"), {"files": files})) == []

    def test_the_report_of_files_that_cannot_be_read_or_wait(self, desk):
        assert left(send_older(desk, ("old.xls", b"x"), ("2019.xlsx", wide(2019)))) == []
        assert left(desk.get(self.page(), follow=True)) == []

    def test_what_the_headings_mean(self, desk):
        send_older(desk, ("2019.xlsx", wide(2019)))
        assert self.left(desk.get(self.page())) == []
        assert self.left(desk.post(self.page(), {})) == []
        wrong = {**ANSWERS, "stations": "Lower bridge"}
        assert self.left(desk.post(self.page(), wrong)) == []

    @pytest.mark.parametrize(
        "given",
        [
            {},
            {"role-0-1": ""},
            {"role-0-3": "", "role-0-4": ""},
            {"role-0-3": "of_pass:count", "number-0-3": "1"},
            {"role-0-0": "visit_key"},
        ],
    )
    def test_the_rows_that_follow(self, desk, given):
        send_older(desk, ("2019.xlsx", wide(2019)))
        assert self.left(desk.post(self.page(), {**ANSWERS, **given, "action": "preview"})) == []

    def test_a_mapping_is_kept_and_its_files_taken(self, desk):
        send_older(desk, ("2019.xlsx", wide(2019)), ("2020.xlsx", wide(2020)))
        report = desk.post(self.page(), ANSWERS, follow=True)
        assert left(report) == []
        assert left(desk.get(address("mapping_list"))) == []
        assert self.left(desk.get(self.page())) == []
        batch = report.redirect_chain[-1][0]
        assert left(desk.post(batch, {}, follow=True)) == []
        assert left(desk.post(batch, {"looked": "1"}, follow=True)) == []
        assert left(desk.post(self.page(), ANSWERS, follow=True)) == []

    def test_a_file_that_a_mapping_does_not_fit(self, desk):
        sheets = {"Catch": [["Where", "Date"], ["WIL-01", "2024-07-16"]], "Other": [["Where"], ["WIL-01"]]}
        send_older(desk, ("2019.xlsx", workbook(**sheets)))
        assert left(desk.post(self.page(), ANSWERS, follow=True)) == []

    def test_files_that_are_left(self, desk):
        send(desk, {**ROW, "visit_date": "2019-07-16", "count": 1})
        take(desk)
        send_older(desk, ("2019.xlsx", wide(2019)))
        report = desk.post(self.page(), ANSWERS, follow=True)
        assert left(desk.post(report.redirect_chain[-1][0], {"looked": "1"}, follow=True)) == []
