"""Warnings on a file as questions: answered before it is taken, read by the reviewer, counted where open."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from surveys.models import Upload, UploadAnswer, Visit
from surveys.review_queue import warnings_of
from surveys.season_report import season_of
from surveys.uploads.answers import keep_answers, mark_of, questions_of
from surveys.uploads.commit import check_upload, take
from surveys.uploads.plan import prepare
from tests.factories import make_station, make_taxon, make_user, season_csv

pytestmark = pytest.mark.django_db

ROW = {"station": "WIL-01", "visit_date": "2024-07-16", "pass": 1, "taxon": "Creek Chub", "count": 12}
SignIn = Callable[[str], Client]


@pytest.fixture
def waiting() -> Upload:
    """A file with two warnings: warm water, and a second pass larger than the first."""
    make_station("WIL-01")
    make_taxon("Creek Chub")
    content = season_csv(ROW, {**ROW, "pass": 2, "count": 50}, water_temp_c=27)
    upload, _ = check_upload("season.csv", content, by=None)
    return upload


def asked(upload: Upload) -> list[Any]:
    return questions_of(prepare(upload.file_name, bytes(upload.content)))


def answer(upload: Upload, *texts: str) -> int:
    plan = prepare(upload.file_name, bytes(upload.content))
    given = {mark_of(finding): text for finding, text in zip(questions_of(plan), texts, strict=False)}
    return keep_answers(upload, plan, given, by=make_user("biologist"))


def test_an_answer_goes_to_the_reviewer_with_the_visit(waiting: Upload) -> None:
    number = len(asked(waiting))
    assert number >= 2
    assert answer(waiting, "confirmed, counted again") == 1
    take(waiting, by=None)
    visit = Visit.objects.get()
    words = warnings_of([visit])[visit.pk]
    assert len(words) == number
    assert [one for one in words if one.endswith(" Answer: confirmed, counted again")] == [words[0]]
    assert season_of(2024).counts()["unanswered"] == number - 1


def test_a_warning_without_an_answer_is_open(waiting: Upload) -> None:
    take(waiting, by=None)
    assert season_of(2024).counts()["unanswered"] == len(waiting.findings.filter(level="warning"))


def test_an_answer_can_be_altered_and_taken_back_until_the_file_is_taken(waiting: Upload) -> None:
    assert answer(waiting, "confirmed", "  ") == 1
    assert answer(waiting, "confirmed by K. L.") == 1
    assert UploadAnswer.objects.get().answer == "confirmed by K. L."
    assert answer(waiting, "") == 0
    take(waiting, by=None)
    assert answer(waiting, "too late") == 0


def test_an_answer_belongs_to_its_warning_alone(waiting: Upload) -> None:
    marks = [mark_of(finding) for finding in asked(waiting)]
    assert len(set(marks)) == len(marks)


@pytest.mark.parametrize(
    ("role", "status"), [("", 302), ("planner", 403), ("reviewer", 403), ("biologist", 200)]
)
def test_who_may_answer(signed_in: SignIn, waiting: Upload, role: str, status: int) -> None:
    assert signed_in(role).get(f"/upload/{waiting.pk}/answers/").status_code == status


def test_warnings_are_answered_by_the_page(signed_in: SignIn, waiting: Upload) -> None:
    client, page = signed_in("biologist"), f"/upload/{waiting.pk}/"
    number = len(asked(waiting))
    assert f"(0 of {number} answered)" in client.get(page).content.decode()
    first = mark_of(asked(waiting)[0])
    shown = client.post(f"{page}answers/", {first: "confirmed", "f" * 24: "no such"}, follow=True)
    assert f"(1 of {number} answered)" in shown.content.decode()
    assert 'value="confirmed"' in client.get(f"{page}answers/").content.decode()
    take(waiting, by=None)
    assert client.get(f"{page}answers/").status_code == 404
