"""The sheet at the desk in each of its states is wholly in the reader's language: read in a made-up one."""

import json
import re
from collections.abc import Callable, Iterable
from html import unescape
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import translation

from surveys.entry.receive import receive
from surveys.models import Taxon, Visit, VisitQuestion, VisitStatus
from surveys.review import return_visit
from surveys.season import close_season
from tests.factories import make_method, make_station, make_taxon, make_visit
from tests.made_up_language import data_words, left_over, made_up_language, not_given_out

__all__ = ["made_up_language"]  # fixture

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("made_up_language")]

KEY = "5f5b2a0e-93a1-4c8f-8a55-7f5c0c9b1d20"
# What a person typed, the account that typed it, units and codes as files write them, the framework's own Spanish.
TYPED = re.compile(
    r"'[^']*'|biologist-\d+|reviewer-\d+|Weigh pass 2 again|Snark|NO-99|\bdeg C\b|\buS/|DC, pulsed DC, AC|"
    r"Introduzca una fecha válida|Escoja una opción válida\. Esa opción no está entre las disponibles"
)


@pytest.fixture
def visit(person) -> Visit:
    """A draft for a station where two species were met before."""
    station = make_station("WIL-01", method=make_method("two-pass", planned_passes=2))
    make_visit(station, "2023-07-16", passes=[{"Creek Chub": 8, "Mottled Sculpin": 3}, {"Creek Chub": 2}])
    return make_visit(
        station, "2024-07-16", status=VisitStatus.DRAFT, entered_by=person("biologist"), passes=[]
    )


@pytest.fixture
def desk(signed_in) -> Client:
    return signed_in("biologist")


def address(name: str, *keys: object) -> str:
    with translation.override("es"):
        return reverse(f"surveys:{name}", args=keys)


def typed(visit: Visit, **texts: str) -> dict[str, str]:
    base = {"visit_date": str(visit.visit_date), "method": visit.method.code, "passes": "2"}
    return {**base, "revision": str(visit.revision), "action": "save", **texts}


def left(response: HttpResponse) -> list[str]:
    return [words for words in not_given_out(response, data_words()) if not_typed(words)]


def not_typed(words: str) -> bool:
    return re.search(r"[A-Za-zÀ-ÿ]{2,}", TYPED.sub(" ", words)) is not None


def chub(word: str, number: int = 1) -> str:
    return f"{word}-{number}-{make_taxon('Creek Chub').pk}"


def test_drafts_and_what_came_back_or_differs(desk, visit, person):
    back = make_visit(make_station("WIL-02"), status=VisitStatus.SUBMITTED, entered_by=person("biologist"))
    return_visit(back.pk, by=person("reviewer"), remark="Weigh pass 2 again")
    make_visit(make_station("WIL-03"), status=VisitStatus.DRAFT, entered_by=person("reviewer"), passes=[])
    make_visit(make_station("WIL-04"), status=VisitStatus.DRAFT, passes=[])
    _sent_from_a_device(back, person)
    page = desk.get(address("entry"))
    assert "WIL-03" in page.content.decode()
    assert f"?sent={KEY}" in page.content.decode()
    assert left(page) == []
    assert left(desk.get(address("entry_visit", back.pk))) == []


def _sent_from_a_device(visit: Visit, person: Any) -> None:
    texts = {chub("count"): "99", "ph": "7.1"}
    receive(
        {
            "key": KEY,
            "station": visit.station.code,
            "visit_date": str(visit.visit_date),
            "method": visit.method.code,
            "texts": texts,
        },
        by=person("biologist"),
    )


@pytest.mark.parametrize(
    "given",
    [
        {"station": "NO-99", "visit_date": "2024-07-17"},
        {"station": "WIL-01", "visit_date": "2999-01-01"},
        {"station": "WIL-01", "visit_date": "16.7.2024"},
        {"station": "WIL-01", "visit_date": "2024-07-17", "method": "0"},
    ],
)
def test_why_a_visit_cannot_be_begun(desk, visit, given):
    answer = desk.post(address("entry"), given)
    assert answer.status_code == 422
    assert left(answer) == []


def test_a_visit_that_was_begun_before_is_gone_on_with(desk, visit):
    given = {"station": visit.station.code, "visit_date": str(visit.visit_date)}
    answer = desk.post(address("entry"), given, follow=True)
    assert answer.redirect_chain[-1][0] == address("entry_visit", visit.pk)
    assert left(answer) == []


def test_a_sheet_that_is_only_begun(desk, visit):
    assert left(desk.get(address("entry_visit", visit.pk))) == []


# What is typed, and what a person then reads. Each opens another part of the sheet, or another remark.
SHEETS: dict[str, Callable[[], dict[str, str]]] = {
    "every line opened": lambda: {"open": "all", chub("count"): "12", chub("gross_g"): "80"},
    "the passes opened": lambda: {"open": "passes"},
    "one more pass": lambda: {"action": "add_pass"},
    "a species that nobody knows": lambda: {"add_taxon": "Snark"},
    "a name that comes near": lambda: {"add_taxon": "creek chubb"},
    "passes that fell, and did not": lambda: {
        "action": "add_pass",
        chub("count"): "5",
        chub("count", 2): "7",
    },
    "a pass without anything": lambda: {chub("count", 2): "7"},
    "a pass of zeros": lambda: {chub("count"): "0", chub("count", 2): "7"},
    "no fish, twice": lambda: {"no_fish-1": "1", "no_fish-2": "1", "action": "add_pass"},
    "no fish beside fish": lambda: {"no_fish-1": "1", chub("count"): "7"},
    "a weight without fish": lambda: {chub("biomass_g"): "7"},
    "no date, no method": lambda: {"visit_date": "", "method": ""},
    "a date that cannot be read": lambda: {"visit_date": "16.7.2024"},
    "values that cannot be": lambda: {
        "ph": "77",
        "water_temp_c": "warm",
        "crew_size": "1.5",
        "calibrated_on": "soon",
        "widths_m": "2; x",
        "effort_s-1": "-3",
        "started_at-1": "9h",
        "waveform-1": "wave",
        chub("count"): "many",
        chub("died"): "1",
    },
    "values that are asked about": lambda: {
        "water_temp_c": "34",
        "conductivity_us_cm": "5000",
        "bottom_visible": "no",
        "crew_size": "1",
        "reach_length_m": "300",
        "widths_m": "2; 2",
        "mean_width_m": "3",
        "pulse_hz_first-1": "120",
        "effort_s-1": "3",
        chub("count"): "400",
        chub("gross_g"): "80",
        chub("tare_g"): "90",
        chub("died"): "3",
        chub("released"): "2",
        chub("young_of_year"): "500",
    },
}
ANSWERED = dict(SHEETS) | {
    "handed in with nothing on it": lambda: {"action": "submit"},
    "handed in with questions": lambda: {"action": "submit", chub("count"): "12", chub("count", 2): "4"},
    "withdrawn without a reason": lambda: {"action": "withdraw"},
    "a draft is saved": lambda: {chub("count"): "12", chub("count", 2): "4"},
    "a draft is withdrawn": lambda: {"action": "withdraw", "why": "Snark"},
    "saved from an older revision": lambda: {"revision": "7", "ph": "7.1", chub("count"): "12"},
}


@pytest.mark.parametrize("name", ANSWERED)
def test_what_is_said_of_a_typed_sheet(name, desk, visit):
    answer = desk.post(address("entry_visit", visit.pk), typed(visit, **ANSWERED[name]()), follow=True)
    assert answer.status_code in (200, 409, 422)
    assert left(answer) == []


@pytest.mark.parametrize("name", SHEETS)
def test_what_is_said_while_one_types(name, desk, visit):
    answer = desk.post(address("entry_check", visit.pk), typed(visit, **SHEETS[name]()))
    found = answer.json()
    data = data_words()
    for words in _texts(found):
        assert not not_typed(left_over(words, data)), words


def _texts(found: dict[str, Any]) -> Iterable[str]:
    yield from (found["season"], found["permit"], *found["said"])
    for html in (found["look"], *found["spots"].values()):
        # Attributes are read aloud, too: the page with the same parts looks at them.
        yield unescape(re.sub(r"<[^>]+>", " ", html))


def test_the_words_that_the_scripts_say(desk, visit):
    page = desk.get(address("entry_visit", visit.pk)).content.decode()
    words = json.loads(re.search(r'<script id="sheet-words" type="application/json">(.+?)</script>', page)[1])
    data = data_words()
    assert [key for key, said in words.items() if left_over(re.sub(r"\{\w+\}", " ", said), data)] == []


def test_what_a_device_sent_beside_what_is_stored(desk, visit, person):
    make_visit(visit.station, "2022-07-16", status=VisitStatus.DRAFT, passes=[{"Creek Chub": 4}])
    other = Visit.objects.get(visit_date="2022-07-16")
    _sent_from_a_device(other, person)
    page = desk.get(address("entry_visit", other.pk) + f"?sent={KEY}")
    assert 'name="take"' in page.content.decode()
    assert left(page) == []


def test_a_visit_that_waits_for_the_reviewer_is_not_changed(desk, visit):
    Visit.objects.filter(pk=visit.pk).update(status=VisitStatus.SUBMITTED)
    given = typed(visit, **{chub("count"): "12"})
    answer = desk.post(address("entry_visit", visit.pk), given)
    assert answer.status_code == 409
    assert left(answer) == []


def test_a_closed_season(desk, visit, person):
    """The day is moved into a season that is closed."""
    make_visit(visit.station, "2022-07-16")
    close_season(2022, by=person("reviewer"))
    given = typed(visit, visit_date="2022-07-17", **{chub("count"): "12"})
    answer = desk.post(address("entry_visit", visit.pk), given)
    assert answer.status_code == 422
    assert left(answer) == []
    found = desk.post(address("entry_check", visit.pk), given).json()
    assert found["season"]
    assert not any(not_typed(left_over(words, data_words())) for words in _texts(found))


def test_questions_are_stored_in_english_for_every_reader(desk, visit):
    given = typed(visit, action="submit", **{chub("count"): "12", chub("count", 2): "4"})
    page = desk.post(address("entry_visit", visit.pk), given).content.decode()
    looked = re.search(r'name="looked" value="(\w+)"', page)[1]
    desk.post(address("entry_visit", visit.pk), {**given, "looked": looked, "remark": "as written"})
    assert Visit.objects.get(pk=visit.pk).status == VisitStatus.SUBMITTED
    said = VisitQuestion.objects.filter(visit=visit).values_list("place", "message")
    assert ("Crew lead", "Nobody is named as crew lead.") in said
    assert not any("⟦" in words for one in said for words in one)
    assert Taxon.objects.filter(common_name="Creek Chub").exists()
