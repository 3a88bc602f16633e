"""The pages of the reviewer, of the history and of the vouchers in a made-up language, in all their faces:
what is left in English there was not given out for translation."""

import re
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.contrib.auth.models import Permission
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import translation

from surveys.history import visit_states
from surveys.models import (
    Catch,
    RemovalPass,
    SafetyCheck,
    Taxon,
    Visit,
    VisitQuestion,
    VisitStatus,
    VisitStep,
    Voucher,
)
from surveys.restoring import restore_state
from surveys.review import withdraw_visit
from surveys.uploads.mapping_spec import HEADINGS
from surveys.vouchers import NewVoucher, add_voucher, confirm_voucher, correct_catch
from tests.factories import make_user
from tests.made_up_language import county, data_words, made_up_language, not_given_out
from tests.surveys.test_vouchers import photograph

__all__ = ["county", "made_up_language"]  # fixtures

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("county", "made_up_language")]

# A warning names the column of the file it came from, which has one name in every language.
HEADINGS_OF_A_FILE = re.compile("|".join(rf"\b{one}\b" for one in HEADINGS))


def administrator() -> Any:
    return get_user_model().objects.get(username="administrator")


@pytest.fixture
def desk() -> Client:
    client = Client()
    client.force_login(administrator())
    return client


def in_spanish(name: str, *keys: object) -> str:
    with translation.override("es"):
        return reverse(f"surveys:{name}", args=keys)


def whole(response: HttpResponse) -> bytes:
    """A page with nothing left in English, and what it says."""
    assert response.status_code in (200, 422)
    left = (HEADINGS_OF_A_FILE.sub("", words) for words in not_given_out(response, data_words()))
    assert [words for words in left if re.search(r"[A-Za-zÀ-ÿ]{2,}", words)] == []
    return response.content


def first(status: str, number: int = 0) -> Visit:
    return Visit.objects.filter(status=status).order_by("pk")[number]


def with_a_full_sheet(visit: Visit) -> Visit:
    """Everything that a field sheet can say is written down."""
    Visit.objects.filter(pk=visit.pk).update(
        stop_nets="upstream",
        air_temp_c=24.5,
        conductivity_basis="25 C",
        bottom_visible="partly",
        weather="",
        widths_m=[3.0, 4.5],
        crew_size=4,
        checks_made=["trained", "emergency"],
    )
    RemovalPass.objects.filter(visit=visit).update(
        waveform="pulsed DC", anodes=2, netters=2, volts_first=200, pulse_hz_first=60, pulse_width_ms_last=4
    )
    for one in Catch.objects.filter(removal_pass__visit=visit):
        Catch.objects.filter(pk=one.pk).update(
            released=one.count,
            died=0,
            kept=0,
            in_main=one.count,
            in_eel_well=0,
            in_other=0,
            estimated=True,
            unsure=True,
        )
    return visit


def test_a_visit_with_a_full_field_sheet_warnings_and_an_answer(desk: Client) -> None:
    visit = with_a_full_sheet(first("submitted"))
    VisitQuestion.objects.create(
        visit=visit,
        code="x",
        place="x",
        message="Check the unit and the decimal point against the field sheet.",
        answer="Counted again.",
    )
    text = whole(desk.get(in_spanish("review_visit", visit.pk))).decode()
    assert "⟦" in text and "Counted again." in text
    assert str(SafetyCheck.EMERGENCY.label) in text


@pytest.mark.parametrize("action", ["accept", "return", "withdraw", "reopen", ""])
def test_each_step_of_one_visit_is_told(action: str, desk: Client) -> None:
    """Also a step that is not open from where the visit stands, and a form with nothing in it."""
    visit = first("submitted")
    answer = desk.post(in_spanish("review_visit", visit.pk), {"action": action, "remark": "x"}, follow=True)
    whole(answer)


@pytest.mark.parametrize("action", ["accept", "return", "withdraw", "accept_clean"])
def test_a_step_of_several_visits_is_told(action: str, desk: Client) -> None:
    keys = list(Visit.objects.accepted().order_by("pk").values_list("pk", flat=True)[:2])
    Visit.objects.filter(pk__in=keys).update(status=VisitStatus.SUBMITTED, entered_by=None)
    sent = {"action": action, "visits": keys, "remark": "x"}
    whole(desk.post(in_spanish("review"), sent, follow=True))


def test_nobody_accepts_a_visit_of_their_own(desk: Client) -> None:
    visit = first("submitted")
    Visit.objects.filter(pk=visit.pk).update(entered_by=administrator())
    whole(desk.get(in_spanish("review")))
    whole(desk.get(in_spanish("review_visit", visit.pk)))
    sent = {"action": "accept", "visits": [visit.pk], "remark": ""}
    whole(desk.post(in_spanish("review"), sent, follow=True))


def test_an_empty_desk_and_a_step_without_a_reason(desk: Client) -> None:
    sent = {"action": "return", "visits": [first("submitted").pk], "remark": ""}
    whole(desk.post(in_spanish("review"), sent))
    Visit.objects.filter(status="submitted").update(status="accepted")
    whole(desk.get(in_spanish("review")))


def test_a_withdrawn_visit(desk: Client) -> None:
    visit = first("accepted")
    withdraw_visit(visit.pk, by=administrator(), remark="x")
    whole(desk.get(in_spanish("review_visit", visit.pk)))
    whole(desk.get(in_spanish("visit_history", visit.pk)))


def test_visits_made_in_another_way_stand_beside_each_other(desk: Client) -> None:
    """One that waits, one that came back, one of a single pass; a fish is new, another one is missing."""
    visits = list(Visit.objects.accepted().order_by("station", "-visit_date"))
    station = visits[0].station_id
    here = [one for one in visits if one.station_id == station]
    Visit.objects.filter(pk=here[1].pk).update(status="submitted")
    Visit.objects.filter(pk=here[2].pk).update(status="returned")
    RemovalPass.objects.filter(visit__in=[here[1].pk, here[3].pk], pass_number__gt=1).delete()
    new = Taxon.objects.create(scientific_name="x", slug="x")
    Catch.objects.create(removal_pass=here[0].passes.get(pass_number=1), taxon=new, count=3)
    text = whole(desk.get(in_spanish("review_visit", here[0].pk))).decode()
    assert "first in the watershed" in text
    whole(desk.get(in_spanish("review_visit", here[-1].pk)))


def test_the_history_of_a_visit_that_was_changed_in_every_way(desk: Client) -> None:
    visit = with_a_full_sheet(first("accepted"))
    Visit.objects.filter(pk=visit.pk).update(
        stop_nets="both", checks_made=["first aid"], water_temp_c=19.5, status="returned"
    )
    RemovalPass.objects.filter(visit=visit, pass_number=2).delete()
    Catch.objects.filter(removal_pass__visit=visit).update(estimated=False)
    whole(desk.get(in_spanish("visit_history", visit.pk)))
    whole(desk.post(in_spanish("visit_history", visit.pk), {}))
    seen = len(visit_states(visit))
    sent = {"number": 1, "seen": seen, "reason": "x"}
    text = whole(desk.post(in_spanish("visit_history", visit.pk), sent, follow=True)).decode()
    assert "⟦ brought back: ⟧" in text
    # Asked for once more with what was seen before.
    whole(desk.post(in_spanish("visit_history", visit.pk), sent, follow=True))


def test_what_is_kept_with_a_visit_is_english_whoever_changed_it() -> None:
    visit = first("accepted")
    caught = Catch.objects.filter(removal_pass__visit=visit).order_by("pk")[0]
    other = Taxon.objects.exclude(pk=caught.taxon_id).order_by("pk")[0]
    number = caught.removal_pass.pass_number
    with translation.override("es"):
        voucher, _ = add_voucher(visit, NewVoucher(taxon=caught.taxon), by=None)
        confirm_voucher(voucher.pk, other, who="K. L. again", on=None)
        correct_catch(voucher.pk, [number], revision=visit.revision, by=None)
        restore_state(visit.pk, 0, seen=len(visit_states(visit)), by=None, reason="x")
    steps = list(VisitStep.objects.filter(visit=visit).order_by("pk").values_list("remark", flat=True))
    assert steps[-2:] == [
        f"{caught.taxon.scientific_name} became {other.scientific_name} in pass {number}, after voucher "
        f"photograph {voucher.pk} was confirmed by K. L. again.",
        "state 1 brought back: x",
    ]


def test_vouchers_from_their_adding_to_their_taking_out(desk: Client) -> None:
    visit = first("accepted")
    caught = Catch.objects.filter(removal_pass__visit=visit).order_by("pk")[0]
    page = in_spanish("visit_vouchers", visit.pk)
    whole(desk.post(page, {}))
    wrong = {"taxon": "x", "kind": "photograph", "photo": SimpleUploadedFile("a.jpg", b"none")}
    whole(desk.post(page, wrong))
    picture = SimpleUploadedFile("a.jpg", photograph(), "image/jpeg")
    sent = {"taxon": caught.taxon.scientific_name, "kind": "photograph", "photo": picture}
    whole(desk.post(page, sent, follow=True))
    whole(desk.post(page, {**sent, "photo": "", "kind": "preserved", "number": "V1"}, follow=True))
    voucher = Voucher.objects.get(number="")
    keys = (visit.pk, voucher.pk)
    whole(desk.post(in_spanish("voucher_confirm", *keys), {f"v{voucher.pk}-confirmed_on": "2999-01-01"}))
    other = Taxon.objects.exclude(pk=caught.taxon_id).exclude(common_name="").order_by("pk")[0]
    given = {
        "confirmed_as": other.scientific_name,
        "confirmed_by": "administrator",
        "confirmed_on": "2025-10-01",
    }
    sent = {f"v{voucher.pk}-{name}": value for name, value in given.items()}
    whole(desk.post(in_spanish("voucher_confirm", *keys), sent, follow=True))
    Visit.objects.filter(pk=visit.pk).update(status="draft")
    whole(desk.get(page))
    Visit.objects.filter(pk=visit.pk).update(status="accepted")
    whole(desk.post(in_spanish("voucher_correct", *keys), {}, follow=True))
    chosen = {"passes": [caught.removal_pass.pass_number], "revision": visit.revision}
    whole(desk.post(in_spanish("voucher_correct", *keys), chosen, follow=True))
    whole(desk.get(in_spanish("review_visit", visit.pk)))
    whole(desk.post(in_spanish("voucher_remove", *keys), {}, follow=True))
    whole(desk.post(in_spanish("voucher_remove", *keys), {"reason": "x"}, follow=True))


def test_who_may_only_look_is_told_so() -> None:
    """A leave that no role has by itself: an administrator may give it to one person."""
    person = make_user("planner", name="somebody")
    person.user_permissions.add(Permission.objects.get(codename="see_unaccepted"))
    client = Client()
    client.force_login(person)
    visit = first("accepted")
    voucher, _ = add_voucher(visit, NewVoucher(taxon=Taxon.objects.all()[0]), by=None)
    sent = {"number": 1, "seen": 1, "reason": "x"}
    whole(client.post(in_spanish("visit_history", visit.pk), sent, follow=True))
    whole(client.post(in_spanish("visit_vouchers", visit.pk), sent, follow=True))
    whole(client.post(in_spanish("voucher_confirm", visit.pk, voucher.pk), sent, follow=True))
