"""The desks for methods, traits and taxa in each of their states are wholly in the reader's language."""

import re
from functools import cache
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import translation

from surveys.models import Station, Taxon
from tests.factories import make_taxon
from tests.made_up_language import county, data_words, made_up_language, not_given_out
from trends.index.method import METHODS
from trends.models import IndexMethodVersion
from trends.publishing import strata_here
from trends.reference_models import TraitList

__all__ = ["county", "made_up_language"]  # fixtures

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("county", "made_up_language")]

MARYLAND = (METHODS / "maryland_fish_2005.yaml").read_text(encoding="utf-8")
CODE = "maryland_fish_2005"
# The framework's own Spanish, which the made-up language does not know.
FRAMEWORK = re.compile(
    r"Este campo es obligatorio\.?|Desconocido|Introduzca una fecha válida\.?|No se ha enviado ningún archivo"
)
# What these tests write down themselves, and the words of the files that are looked at.
WRITTEN = re.compile(
    r"Wilder|Semotilus( thoreauianus)?|No such fish|eastern_piedmont|maryland_fish_2005|decimal_places|perhaps|middle|"
    r"scientific_name|tolerance|trophic_guild|benthic|lithophilic|native|migratory|"
    r"\b(index|combine|usable|version|decimals|boolean|sturdy|intolerant|moderate|tolerant)\b|\[[^\]]*\]|[a-z_]+(?:/[a-z_0-9]+)+"
)


data = cache(data_words)


@pytest.fixture
def desk() -> Client:
    data()  # before the test takes names off the list
    client = Client()
    client.force_login(get_user_model().objects.get(username="administrator"))
    return client


def address(name: str, *keys: object) -> str:
    with translation.override("es"):
        return reverse(f"trends:{name}", args=keys)


def left(response: Any) -> list[str]:
    """What stands in English still, on the page that an answer holds or leads to."""
    found = not_given_out(response, data())
    return [rest for one in found if re.search("[a-z]{2}", rest := WRITTEN.sub(" ", FRAMEWORK.sub(" ", one)))]


def stricter(version: str = "2") -> str:
    """The shipped method with a cut point that few catches meet, as another version."""
    text = re.sub(r"(?m)^version: .*$", f'version: "{version}"', MARYLAND)
    return text.replace("{points: 5, at_most: 45}", "{points: 5, at_most: 5}")


def draft(desk: Client) -> IndexMethodVersion:
    desk.post(address("method_desk"), {"text": stricter()})
    return IndexMethodVersion.objects.get()


def use(desk: Client, row: IndexMethodVersion, kind: str, day: str = "") -> HttpResponse:
    asked = {"use": kind, "applies_from": day, "note": ""}
    return desk.post(address("method_publish", row.pk), {**asked, "note": "Wilder"}, follow=True)


# --- methods ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("combine: mean", "combine: middle"),
        ("decimals:", "decimal_places:"),
        ("ratings:", "ratings: ["),
        ("better: lower", "better: higher"),
        ("version:", "version: 1\nversion:"),
        ("usable: true", "usable: perhaps"),
        (MARYLAND, ""),
    ],
    ids=["word", "key", "no YAML", "bands", "twice", "type", "empty"],
)
def test_the_faults_of_a_method_file_are_said(desk: Client, old: str, new: str) -> None:
    text = MARYLAND.replace(old, new, 1)
    answer = desk.post(address("method_desk"), {"text": text})
    assert answer.status_code == 422
    assert left(answer) == []


def test_a_version_is_shown_from_draft_to_use(desk: Client) -> None:
    row = draft(desk)
    page = address("method_draft", row.pk)
    faces = [desk.get(address("method_desk")), desk.get(address("method_draft_in_full", row.pk))]
    faces += [desk.get(page), desk.get(page, {"creek": "all"})]
    faces += [desk.post(address("method_publish", row.pk), asked) for asked in ({}, {"use": "since"})]
    faces += [
        use(desk, row, kind, day) for kind, day in (("aside", ""), ("since", "2025-01-01"), ("all", ""))
    ]
    faces += [desk.get(address("method_desk"))]
    # Published, it is neither taken again nor dropped.
    faces += [desk.post(address("method_desk"), {"text": stricter()})]
    faces += [desk.post(address("method_discard", row.pk), follow=True)]
    assert [left(one) for one in faces] == [[] for _ in faces]


def test_a_draft_is_dropped(desk: Client) -> None:
    assert left(desk.post(address("method_discard", draft(desk).pk), follow=True)) == []


def test_the_choice_of_a_method_for_a_stratum_is_shown_and_made(desk: Client) -> None:
    page = address("method_strata")
    for stratum in strata_here():
        for choice in ("none", CODE, "rule"):
            asked = {f"stratum-{stratum}": choice}
            assert left(desk.post(page, asked)) == []
            assert left(desk.post(page, {**asked, "confirm": "yes"}, follow=True)) == []


def test_a_check_is_asked_for_and_recorded(desk: Client) -> None:
    page = address("method_check", CODE)
    assert left(desk.post(page, {})) == []
    asked = {"checked_by_name": "Wilder", "edition": "Wilder", "pages": "3"}
    assert left(desk.post(page, {**asked, "checked_on": "2999-01-01"})) == []
    assert left(desk.post(page, {**asked, "checked_on": "2025-01-01"}, follow=True)) == []
    assert left(desk.get(page)) == []


# --- traits and lists -----------------------------------------------------------------------------------


def test_changed_traits_are_shown_made_and_kept(desk: Client) -> None:
    taxon = Taxon.objects.get(scientific_name="Semotilus atromaculatus")
    page = address("trait_change", taxon.slug)
    asked = {"rank": taxon.rank, "tolerance": "intolerant", "native": "false", "reason": "Wilder"}
    faces = [
        desk.post(page, {}),
        desk.post(page, asked),
        desk.post(page, {**asked, "confirm": "yes"}, follow=True),
    ]
    faces += [desk.get(page)]
    assert [left(one) for one in faces] == [[] for _ in faces]


def bring(desk: Client, text: str, name: str = "Wilder") -> HttpResponse:
    file = SimpleUploadedFile("list.csv", text.encode())
    asked = {"name": name, "dated": "2011-05-01", "region": "Wilder", "source": "Wilder", "file": file}
    return desk.post(address("trait_lists"), asked, follow=True)


LIST = (
    "scientific_name,tolerance,lithophilic\nSemotilus atromaculatus,intolerant,1\nNo such fish,tolerant,0\n"
)


def test_a_list_is_brought_looked_at_and_used(desk: Client) -> None:
    faces = [desk.post(address("trait_lists"), {}), bring(desk, "scientific_name\nSemotilus atromaculatus\n")]
    faces += [bring(desk, "scientific_name,tolerance\nSemotilus atromaculatus,sturdy\n"), bring(desk, LIST)]
    faces += [bring(desk, LIST)]  # of the same name
    row = TraitList.objects.get(name="Wilder")
    page, strata = address("trait_list", row.pk), list(strata_here())
    faces += [desk.post(page, {}), desk.post(page, {"strata": strata, "reason": "Wilder"})]
    faces += [desk.post(page, {"strata": strata, "reason": "Wilder", "confirm": "yes"}, follow=True)]
    # Another one cannot serve the same strata.
    bring(desk, LIST, "Semotilus thoreauianus")
    other = address("trait_list", TraitList.objects.get(name="Semotilus thoreauianus").pk)
    faces += [desk.post(other, {"strata": strata, "reason": "Wilder", "confirm": "yes"})]
    faces += [desk.get(address("trait_lists"))]
    assert [left(one) for one in faces] == [[] for _ in faces]


def test_the_countys_own_list_is_named(desk: Client) -> None:
    page = address("trait_county")
    asked = {"name": "Wilder", "dated": "2020-02-01", "source": "Wilder"}
    assert [left(desk.post(page, {})), left(desk.post(page, asked, follow=True))] == [[], []]


# --- taxa -----------------------------------------------------------------------------------------------


def two_taxa() -> tuple[Taxon, Taxon]:
    """Two species that were caught."""
    caught = Taxon.objects.filter(
        catches__isnull=False, rank="species", hybrid=False, sensitive_location=False
    )
    first, second = caught.distinct().order_by("scientific_name")[:2]
    return first, second


def test_a_merge_is_refused_shown_and_done(desk: Client) -> None:
    gone, kept = two_taxa()
    page = address("taxon_merge", gone.slug)
    asked = {"into": kept.pk, "reason": "Wilder"}
    faces = [desk.post(page, {})]
    genus = make_taxon("Semotilus", rank="genus")
    faces += [desk.post(page, {**asked, "into": genus.pk})]
    Taxon.objects.filter(pk=gone.pk).update(sensitive_location=True)
    faces += [desk.post(page, asked)]
    Taxon.objects.filter(pk=gone.pk).update(sensitive_location=False)
    faces += [desk.post(page, asked), desk.post(page, {**asked, "confirm": "yes"}, follow=True)]
    assert [left(one) for one in faces] == [[] for _ in faces]


def test_a_split_is_refused_shown_and_done(desk: Client) -> None:
    taxon, other = two_taxa()
    page = address("taxon_split", taxon.slug)
    asked = {"new_name": "Semotilus thoreauianus", "from_day": "2021-01-01", "reason": "Wilder"}
    station = Station.objects.filter(visits__passes__catches__taxon=taxon).distinct()[0]
    wrong = (
        {"from_day": ""},
        {"new_name": taxon.scientific_name},
        {"from_day": "2999-01-01"},
        {"from_day": "x"},
    )
    faces = [desk.post(page, {}), *(desk.post(page, {**asked, **one}) for one in wrong)]
    faces += [desk.post(page, {**asked, "new_name": other.scientific_name, "from_day": "1990-01-01"})]
    faces += [desk.post(page, asked), desk.post(page, {**asked, "stations": [station.pk]})]
    faces += [desk.post(page, {**asked, "confirm": "yes"}, follow=True)]
    assert [left(one) for one in faces] == [[] for _ in faces]
