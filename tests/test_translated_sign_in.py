"""Signing in and passwords in each language: the pages, their refusals, and the link in a mail."""

import re

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils import translation

from surveys.models import Watershed
from tests.factories import make_user, make_watershed
from tests.made_up_language import data_words, made_up_language, not_given_out
from trends.middleware import TRANSLATED

__all__ = ["made_up_language"]  # fixture

pytestmark = pytest.mark.django_db

WORD = "quiet-riffle-9-darters"
# Labels of the forms, as the package that makes them says them in Spanish.
LABELS = re.compile(
    r"Usuario o correo electrónico|Nueva contraseña(?: \(de nuevo\))?|"
    r"Contraseña(?: actual| \(de nuevo\))?|Recordarme|Dirección de correo electrónico|Correo electrónico"
)
FOR_EVERYBODY = (
    "login",
    "inactive",
    "signup",
    "reset_password",
    "reset_password_done",
    "reset_password_from_key_done",
)
SIGNED_IN = ("logout", "change_password", "reauthenticate")
# A page for those without a password, and one that only a mail leads to.
BY_THEIR_OWN_TEST = ("set_password", "reset_password_from_key")


def spanish(name: str) -> str:
    with translation.override("es"):
        return reverse(f"account_{name}")


def left_in_english(response: object) -> list[str]:
    found = not_given_out(response, data_words())  # type: ignore[arg-type]
    return [one for one in found if re.search(r"[A-Za-zÀ-ÿ]{2,}", LABELS.sub("", one))]


def test_every_page_is_looked_at() -> None:
    named = {name.removeprefix("account_") for name in TRANSLATED if name.startswith("account_")}
    assert named == {*FOR_EVERYBODY, *SIGNED_IN, *BY_THEIR_OWN_TEST}


@pytest.mark.usefixtures("made_up_language")
class TestInAMadeUpLanguage:
    @pytest.mark.parametrize("name", FOR_EVERYBODY)
    def test_the_pages_for_everybody(self, name: str, client: Client) -> None:
        page = client.get(spanish(name))
        assert page.status_code == 200 and left_in_english(page) == []

    @pytest.mark.parametrize("name", SIGNED_IN)
    def test_the_pages_for_who_is_signed_in(self, name: str, client: Client) -> None:
        client.force_login(make_user("biologist", "wader"))
        page = client.get(spanish(name))
        assert page.status_code == 200 and left_in_english(page) == []

    def test_who_has_no_password_yet_sets_one(self, client: Client) -> None:
        one = make_user("biologist", "wader")
        one.set_unusable_password()
        one.save()
        client.force_login(one)
        page = client.get(spanish("set_password"))
        assert page.status_code == 200 and left_in_english(page) == []

    @pytest.mark.parametrize("sent", [{"login": ""}, {"login": "nobody", "password": "wrong"}])
    def test_a_refusal_to_sign_in(self, sent: dict[str, str], client: Client) -> None:
        page = client.post(spanish("login"), sent)
        assert page.context["form"].errors and left_in_english(page) == []

    def test_the_errors_of_a_new_password(self, client: Client) -> None:
        one = make_user("biologist", "wader")
        one.set_password(WORD)
        one.save()
        client.force_login(one)
        page = client.post(
            spanish("change_password"), {"oldpassword": "x", "password1": "wader", "password2": "y"}
        )
        assert len(page.context["form"].errors) >= 2 and left_in_english(page) == []

    def test_a_link_that_no_longer_works(self, client: Client) -> None:
        page = client.get(f"{spanish('reset_password')}key/1-nothing/")
        assert "⟦This link no longer works.⟧" in page.content.decode() and left_in_english(page) == []

    def test_what_is_said_after_signing_in_and_out(self, client: Client) -> None:
        one = make_user("biologist", "wader")
        one.set_password(WORD)
        one.save()
        make_watershed()
        assert Watershed.objects.exists()
        page = client.post(spanish("login"), {"login": "wader", "password": WORD}, follow=True)
        assert page.request["PATH_INFO"] == "/es/"
        assert "Ha iniciado sesión" in page.content.decode()
        page = client.post(spanish("logout"), follow=True)
        assert page.request["PATH_INFO"] == "/es/" and "Ha cerrado sesión." in page.content.decode()


def test_who_must_sign_in_first_does_so_in_the_language_of_the_page(client: Client) -> None:
    answer = client.get("/es/notes/")
    assert answer.status_code == 302 and answer["Location"] == "/es/account/login/?next=/es/notes/"
    answer = client.get("/notes/")
    assert answer["Location"] == "/account/login/?next=/notes/"


def test_the_page_that_comes_next_changes_its_language_with_the_sign_in(client: Client) -> None:
    page = client.get("/account/login/?next=/notes/%3Fyear%3D2020").content.decode()
    assert 'href="/es/account/login/?next=/es/notes/%3Fyear%3D2020"' in page
    page = client.get("/es/account/login/?next=/es/notes/").content.decode()
    assert 'href="/account/login/?next=/notes/"' in page


def test_the_link_in_a_mail_leads_to_a_page_in_the_language_it_was_asked_for_in(client: Client) -> None:
    one = make_user("biologist", "wader")
    one.email = "wader@example.org"
    one.set_password("an-older-word-5")
    one.save()
    client.post(spanish("reset_password"), {"email": "wader@example.org"})
    address = re.search(r"https?://[^/\s]+(/es/account/password/reset/key/\S+)", mail.outbox[0].body)
    assert address is not None and "contraseña" in mail.outbox[0].body
    form = client.get(address[1], follow=True)
    assert '<html lang="es">' in form.content.decode()
    done = client.post(form.request["PATH_INFO"], {"password1": WORD, "password2": WORD}, follow=True)
    assert done.request["PATH_INFO"] == spanish("reset_password_from_key_done")
    one.refresh_from_db()
    assert one.check_password(WORD)
