"""Faces that the walk over the desk does not meet: notes, handouts, tokens and briefs once they are worked with."""

from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone, translation

from surveys.models import Watershed
from tests.made_up_language import county, data_words, made_up_language, not_given_out
from trends.handout_parts import EVERY
from trends.models import ApiToken, IssuedBrief, LandUseNote
from trends.token_models import LONGEST_DAYS, MOST_IN_USE

__all__ = ["county", "made_up_language"]  # fixtures

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("county", "made_up_language")]

HARD = f"Administrative infrastructure determines {'hydrological responsibility and ' * 7}sensibility."


@pytest.fixture
def desk() -> Client:
    client = Client()
    client.force_login(get_user_model().objects.get(username="administrator"))
    return client


@pytest.fixture
def address() -> Callable[..., str]:
    """The Spanish address of a page."""

    def of(name: str, *keys: object) -> str:
        with translation.override("es"):
            return reverse(name, args=keys)

    return of


def creek() -> Watershed:
    found = Watershed.objects.order_by("slug").first()
    assert found
    return found


def note() -> LandUseNote:
    return LandUseNote.objects.current().order_by("pk")[0]


def whole(response: HttpResponse) -> bool:
    """Nothing on the page is outside the catalogue."""
    assert list(not_given_out(response, data_words())) == []
    return True


def test_the_errors_of_a_note(desk: Client, address: Callable[..., str]) -> None:
    empty = desk.post(address("trends:note_add", creek().slug), {"title": ""})
    assert empty.status_code == 422 and whole(empty)
    backwards = {"title": note().title, "category": "road", "date_precision": "day"}
    backwards |= {"starts_on": "2020-05-05", "ends_on": "2019-05-05"}
    answer = desk.post(address("trends:note_add", creek().slug), backwards)
    assert answer.status_code == 422 and whole(answer)
    twice = {"title": note().title, "category": "road", "date_precision": "day"}
    twice |= {"starts_on": str(note().starts_on), "station": str(note().station_id or "")}
    answer = desk.post(address("trends:note_add", note().watershed.slug), twice)
    assert answer.status_code == 422 and whole(answer)
    answer = desk.post(address("trends:note_withdraw", note().pk), {"why": ""})
    assert answer.status_code == 422 and whole(answer)


def test_what_is_said_when_a_note_is_kept_and_withdrawn(desk: Client, address: Callable[..., str]) -> None:
    one = note()
    sent = {"title": one.title, "category": "road", "starts_on": "2016-05-05", "date_precision": "day"}
    assert whole(desk.post(address("trends:note_edit", one.pk), sent, follow=True))
    assert whole(desk.post(address("trends:note_withdraw", one.pk), {"why": one.title}, follow=True))
    LandUseNote.objects.all().delete()
    assert whole(desk.get(address("trends:notes")))


def test_a_token_that_is_made_revoked_and_refused(desk: Client, address: Callable[..., str]) -> None:
    page = address("trends:tokens")
    last = timezone.localdate().isoformat()
    made = desk.post(page, {"name": creek().name, "ends_on": last})
    text = made.context["text"]
    assert text and text in made.content.decode() and whole(made)
    one = ApiToken.objects.get(name=creek().name)
    assert whole(desk.post(address("trends:token_revoke", one.pk), follow=True))
    administrator = get_user_model().objects.get(username="administrator")
    yesterday = timezone.localdate() - timezone.timedelta(days=1)
    ApiToken.objects.made(administrator, creek().name, yesterday)
    for _ in range(MOST_IN_USE):
        ApiToken.objects.made(administrator, creek().name, timezone.localdate())
    far = timezone.localdate() + timezone.timedelta(days=LONGEST_DAYS + 9)
    refused = desk.post(page, {"name": "a", "ends_on": far.isoformat()})
    assert len(refused.context["form"].errors) == 3 and whole(refused)


@pytest.mark.parametrize("words", ["en", "es"])
def test_the_words_of_a_handout(desk: Client, address: Callable[..., str], words: str) -> None:
    page = f"{address('trends:handout_edit', creek().slug)}?words={words}"
    opened = desk.get(page)
    assert whole(opened)
    sent = {part.key: "" for part in EVERY} | {"blame": HARD}
    desk.post(page, sent | {"seen": _seen(desk, page)})
    kept = desk.post(page, sent | {"seen": _seen(desk, page), "blame": f"{HARD} So it is."}, follow=True)
    assert kept.status_code == 200 and "The words are kept." in kept.content.decode()
    remarks = desk.get(page)
    assert remarks.context["earlier"] and _without(HARD, remarks)


def _seen(desk: Client, page: str) -> str:
    return desk.get(page).context["form"].initial["seen"]


def _without(words: str, response: HttpResponse) -> bool:
    """Nothing is outside the catalogue but these words, which a person wrote, and what is cut from them."""
    left = [one for one in not_given_out(response, data_words()) if words[:40] not in one]
    assert left == []
    return True


@pytest.mark.parametrize("words", ["en", "es"])
def test_words_that_a_handout_cannot_have(desk: Client, address: Callable[..., str], words: str) -> None:
    page = f"{address('trends:handout_edit', creek().slug)}?words={words}"
    banned = {
        "en": "It proves, is caused by, no change, stable, healthy creek, significant, clean water. {kinds} {odd} {",
        "es": "Demuestra que, debido a, sin cambios, arroyo sano, significativo, agua limpia. {kinds} {odd} {",
    }[words]
    sent = {part.key: "" for part in EVERY} | {"seen": _seen(desk, page), "fish": f"{banned} 5", "state": "x"}
    answer = desk.post(page, sent)
    assert answer.status_code == 422
    listed = [str(one) for errors in answer.context["form"].errors.values() for one in errors]
    assert len(listed) >= 10
    from surveys.language import told

    with translation.override("es"):
        assert [one for one in listed if "⟦" not in told(one)] == []
    clash = desk.post(page, {part.key: "" for part in EVERY} | {"seen": "earlier"})
    assert clash.status_code == 422 and whole(clash)


def test_a_brief_that_was_issued(desk: Client, address: Callable[..., str]) -> None:
    place = creek()
    sent: dict[str, Any] = {"address": "", "title": place.name, "hash": ""}
    issued = desk.post(address("trends:brief_issue", place.slug), sent, follow=True)
    one = IssuedBrief.objects.get()
    assert issued.request["PATH_INFO"] == f"/es/briefs/{one.pk}/" and whole(issued)
    IssuedBrief.objects.update(data_version="before")
    assert whole(desk.get(address("trends:brief_issued", one.pk)))
    IssuedBrief.objects.update(content_hash="altered")
    assert whole(desk.get(address("trends:brief_issued", one.pk)))


def test_the_page_for_programs_leads_to_addresses_without_a_language(address: Callable[..., str]) -> None:
    page = Client().get(address("trends:api"), headers={"accept": "text/html"})
    assert whole(page) and 'href="/api/v1/stations?format=geojson"' in page.content.decode()
    as_data = Client().get(f"{address('trends:api')}?format=json").json()
    english = Client().get("/api/v1/?format=json").json()
    assert as_data == english, "what programs read is English at each address"
