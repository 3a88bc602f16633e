"""Vouchers: photographs kept without what the camera wrote, taken once, confirmed, and the catch put right."""

import datetime
import io
import json
import uuid
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from PIL import Image

from surveys.models import Catch, EntryReceipt, SeasonClose, Visit, VisitStatus, Voucher
from surveys.pictures import LONGEST_SIDE, NotAPicture, plain_picture
from surveys.vouchers import (
    NewVoucher,
    VoucherRefused,
    add_voucher,
    confirm_voucher,
    correct_catch,
    remove_voucher,
)
from tests.factories import make_method, make_station, make_taxon, make_visit

EXIF_ORIENTATION, EXIF_GPS, EXIF_MAKE = 0x0112, 0x8825, 0x010F
VISIT_KEY = "0b6c7a3e-6a39-4f0e-9d55-0f5c2a1b7c11"


def photograph(size: tuple[int, int] = (640, 480), kind: str = "JPEG", **more: object) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, (90, 120, 60)).save(out, kind, **more)
    return out.getvalue()


# --- the picture ----------------------------------------------------------------------------------


def test_a_photograph_keeps_its_pixels_and_nothing_the_camera_wrote():
    # The numbers of the tags are those of Exif 2.32 (CIPA DC-008-2019), 4.6.4 to 4.6.6.
    exif = Image.Exif()
    exif[EXIF_MAKE] = "A camera"
    exif.get_ifd(EXIF_GPS)[2] = (39.0, 2.0, 3.0)
    exif[EXIF_GPS] = exif.get_ifd(EXIF_GPS)
    content = photograph(exif=exif, comment=b"by K. L.", icc_profile=b"a profile")
    assert b"A camera" in content and b"by K. L." in content
    kept = plain_picture(content)
    with Image.open(io.BytesIO(kept)) as picture:
        assert (picture.format, picture.size) == ("JPEG", (640, 480))
        assert not picture.getexif()
        assert not {"comment", "icc_profile", "exif", "xmp"} & set(picture.info)
    assert b"A camera" not in kept and b"by K. L." not in kept


def test_a_photograph_is_laid_upright_before_its_turn_is_forgotten():
    exif = Image.Exif()
    exif[EXIF_ORIENTATION] = 6  # the camera was held upright: a quarter turn to the right is due
    with Image.open(io.BytesIO(plain_picture(photograph((640, 480), exif=exif)))) as picture:
        assert picture.size == (480, 640)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_large_picture_becomes_smaller(kind):
    with Image.open(io.BytesIO(plain_picture(photograph((3000, 1500), kind)))) as picture:
        assert (picture.format, picture.size) == ("JPEG", (LONGEST_SIDE, LONGEST_SIDE // 2))


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"GIF89a" + bytes(40),
        photograph()[:400],
        photograph((8000, 7000), "PNG"),
        bytes(16 * 1024 * 1024),
    ],
    ids=["empty", "a drawing", "another format", "cut off", "too many pixels", "too large"],
)
def test_what_is_no_photograph_is_refused(content):
    with pytest.raises(NotAPicture):
        plain_picture(content)


# --- what a device sends --------------------------------------------------------------------------


@pytest.fixture
def phone(db, signed_in) -> Client:
    make_station("WIL-01", method=make_method())
    return signed_in("biologist")


def send_visit(client: Client) -> None:
    chub = make_taxon("Creek Chub").pk
    what = {"key": VISIT_KEY, "station": "WIL-01", "visit_date": "2024-07-16", "method": "two-pass"}
    what["texts"] = {f"count-1-{chub}": "12"}
    client.post("/entry/sync/", json.dumps(what), content_type="application/json")


def send(client: Client, *, key: str = "", photo: bytes | None = None, **words: object):
    said = {"key": key or str(uuid.uuid4()), "visit": VISIT_KEY, "taxon": make_taxon("Creek Chub").pk}
    said |= {"kind": "photograph", "number": "V-1", "remark": "short snout", **words}
    form: dict[str, object] = {"voucher": json.dumps(said)}
    if photo is not None:
        form["photo"] = SimpleUploadedFile("x.jpg", photo, content_type="image/jpeg")
    return client.post("/entry/sync/voucher/", form)


def test_a_voucher_comes_after_its_visit_and_is_kept_once(phone):
    key = str(uuid.uuid4())
    early = send(phone, key=key, photo=photograph())
    assert (early.status_code, Voucher.objects.count()) == (409, 0)
    send_visit(phone)
    answers = [send(phone, key=key, photo=photograph()) for _ in range(3)]
    assert [one.status_code for one in answers] == [201, 200, 200]
    voucher = Voucher.objects.get()
    assert (voucher.visit, voucher.number, voucher.remark) == (Visit.objects.get(), "V-1", "short snout")
    assert (voucher.photo_type, voucher.taxon.common_name) == ("image/jpeg", "Creek Chub")


def test_a_voucher_taken_out_at_the_desk_does_not_come_back_from_a_device_that_sends_it_again(phone):
    send_visit(phone)
    key = str(uuid.uuid4())
    assert send(phone, key=key).status_code == 201
    remove_voucher(Voucher.objects.get().pk, reason="the fish of another pass")
    again = send(phone, key=key)
    assert again.status_code == 422
    assert "taken out at the desk" in again.json()["message"]
    assert not Voucher.objects.exists()


def test_a_voucher_of_a_visit_that_stands_beside_another_is_kept(phone):
    make_visit(make_station("WIL-01"), status=VisitStatus.DRAFT, passes=[{"Creek Chub": 11}])
    send_visit(phone)
    assert EntryReceipt.objects.get().waiting
    assert send(phone, kind="preserved").status_code == 201


def test_what_is_no_photograph_is_said_and_nothing_is_kept(phone):
    send_visit(phone)
    answer = send(phone, photo=b"<html>")
    assert answer.status_code == 422
    assert "not a photograph" in answer.json()["message"]
    assert send(phone, kind="hearsay").status_code == 422
    assert send(phone, taxon=10**12).status_code == 422
    assert not Voucher.objects.exists()


@pytest.mark.parametrize("said", ["", "{", "[]", '{"key": "x"}', '"words"', "null"])
def test_another_message_is_refused(phone, said):
    assert phone.post("/entry/sync/voucher/", {"voucher": said}).status_code == 400


@pytest.mark.parametrize(("role", "status"), [("", 401), ("planner", 403), ("reviewer", 403)])
def test_only_those_who_enter_send_a_voucher(signed_in, db, role, status):
    assert send(signed_in(role)).status_code == status


@pytest.mark.django_db(transaction=True)
def test_many_copies_at_once_are_one_voucher(person):
    make_station("WIL-01", method=make_method())
    client, who, key = Client(), person("biologist"), str(uuid.uuid4())
    client.force_login(who)
    send_visit(client)
    make_taxon("Creek Chub")
    picture = photograph()

    def one(_: int) -> int:
        try:
            mine = Client()
            mine.force_login(who)
            return send(mine, key=key, photo=picture).status_code
        finally:
            connection.close()

    with ThreadPoolExecutor(3) as pool:
        assert sorted(pool.map(one, range(3))) == [200, 200, 201]
    assert Voucher.objects.count() == 1


# --- the page of the staff ------------------------------------------------------------------------


@pytest.fixture
def voucher(db) -> Voucher:
    """A fish called Creek Chub that turns out to be another."""
    visit = make_visit(
        make_station("WIL-01", method=make_method()),
        "2024-07-16",
        passes=[{"Creek Chub": 12, "Mottled Sculpin": 2}, {"Creek Chub": 5}],
    )
    make_taxon("Blacknose Dace")
    return add_voucher(visit, NewVoucher(taxon=make_taxon("Creek Chub"), photo=photograph()), by=None)[0]


def test_the_photograph_is_for_the_staff_alone(voucher, signed_in):
    address = f"/visits/{voucher.visit_id}/vouchers/{voucher.pk}/photo"
    answer = signed_in("reviewer").get(address)
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/jpeg")
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert {"private", "no-store"} <= set(answer["Cache-Control"].split(", "))
    assert answer.content == bytes(voucher.photo)
    assert signed_in("").get(address).status_code == 302
    for role in ("planner", "outreach"):
        assert signed_in(role).get(address).status_code == 403
    # Under the address of another visit it is not found.
    assert signed_in("reviewer").get(address.replace(str(voucher.visit_id), "999999", 1)).status_code == 404


def test_public_pages_and_files_say_nothing_of_vouchers(voucher, signed_in):
    for address in (f"/visits/{voucher.visit_id}/", "/stations/WIL-01/", "/api/v1/visits/"):
        assert "voucher" not in signed_in("").get(address).content.decode().lower(), address


def test_a_voucher_is_added_at_the_desk(voucher, signed_in):
    address = f"/visits/{voucher.visit_id}/vouchers/"
    given = {"taxon": "Mottled Sculpin (Cottus bairdii)", "number": "J-7", "kind": "preserved"}
    assert signed_in("biologist").post(address, given).status_code == 302
    added = Voucher.objects.get(number="J-7")
    assert (added.kind, added.photo, added.taxon.common_name) == ("preserved", None, "Mottled Sculpin")
    signed_in("reviewer").post(address, given)
    assert Voucher.objects.filter(number="J-7").count() == 1


def test_a_voucher_added_by_mistake_is_taken_out_with_a_reason_and_stays_in_the_history(voucher, signed_in):
    page, address = (
        f"/visits/{voucher.visit_id}/vouchers/",
        f"/visits/{voucher.visit_id}/vouchers/{voucher.pk}/remove/",
    )
    client = signed_in("biologist")
    answer = client.post(address, {"reason": "  "}, follow=True)
    assert "Say why the voucher is taken out." in answer.content.decode()
    assert "It was added by mistake" in client.get(page).content.decode()
    answer = client.post(address, {"reason": "the picture of another creek"}, follow=True)
    assert "is taken out. What it was stays in the history." in answer.content.decode()
    assert not Voucher.objects.exists()
    (kept,) = Voucher.pgh_event_models["before_delete"].objects.filter(pgh_obj_id=voucher.pk)
    assert bytes(kept.photo) == bytes(voucher.photo)
    assert kept.pgh_context.metadata["reason"] == "the picture of another creek"
    # The catch is as it was.
    assert Catch.objects.filter(removal_pass__visit=voucher.visit_id, taxon=voucher.taxon).count() == 2


@pytest.mark.parametrize("role", ["reviewer", "planner", "outreach"])
def test_only_those_who_enter_take_a_voucher_out(voucher, signed_in, role):
    answer = signed_in(role).post(
        f"/visits/{voucher.visit_id}/vouchers/{voucher.pk}/remove/", {"reason": "x"}
    )
    assert answer.status_code == 403
    assert Voucher.objects.exists()


def test_a_file_that_is_no_photograph_is_refused_at_the_desk_beside_its_field(voucher, signed_in):
    given = {"taxon": "Creek Chub", "kind": "photograph", "photo": SimpleUploadedFile("x.jpg", b"nothing")}
    answer = signed_in("biologist").post(f"/visits/{voucher.visit_id}/vouchers/", given)
    assert answer.status_code == 422
    assert "not a photograph" in answer.content.decode()


def confirm(client: Client, voucher: Voucher, name: str, **more: str):
    n = f"v{voucher.pk}-"
    given = {f"{n}confirmed_as": name, f"{n}confirmed_by": "K. L.", f"{n}confirmed_on": "2024-08-01", **more}
    return client.post(f"/visits/{voucher.visit_id}/vouchers/{voucher.pk}/confirm/", given)


def test_confirming_another_name_keeps_both_and_changes_nothing_by_itself(voucher, signed_in):
    client = signed_in("reviewer")
    assert confirm(client, voucher, "Blacknose Dace").status_code == 302
    voucher.refresh_from_db()
    assert voucher.taxon.common_name == "Creek Chub"
    assert voucher.confirmed_as.common_name == "Blacknose Dace"
    assert (voucher.confirmed_by, voucher.confirmed_on) == ("K. L.", datetime.date(2024, 8, 1))
    visit = Visit.objects.get()
    assert (visit.status, visit.revision) == (VisitStatus.ACCEPTED, 1)
    assert not Catch.objects.filter(taxon__common_name="Blacknose Dace").exists()
    page = client.get(f"/visits/{visit.pk}/vouchers/").content.decode()
    assert "The catch still says Creek Chub" in page
    assert "Pass 2: 5 fish" in page


@pytest.mark.parametrize(
    "more", [{"confirmed_as": "Nessie"}, {"confirmed_by": ""}, {"confirmed_on": "2999-01-01"}], ids=str
)
def test_a_confirmation_that_cannot_be_is_said(voucher, signed_in, more):
    answer = confirm(
        signed_in("reviewer"), voucher, "Blacknose Dace", **{f"v{voucher.pk}-{k}": v for k, v in more.items()}
    )
    assert answer.status_code == 422
    voucher.refresh_from_db()
    assert voucher.confirmed_as is None


def test_the_catch_is_put_right_pass_by_pass_and_the_visit_is_reviewed_again(voucher, signed_in, person):
    client = signed_in("biologist")
    confirm(client, voucher, "Blacknose Dace")
    address = f"/visits/{voucher.visit_id}/vouchers/{voucher.pk}/correct/"
    assert client.post(address, {"revision": "1", "passes": ["2"]}).status_code == 302
    visit = Visit.objects.get()
    assert (visit.status, visit.revision, visit.entered_by) == ("submitted", 2, person("biologist"))
    caught = Catch.objects.values_list("removal_pass__pass_number", "taxon__common_name", "count")
    assert sorted(caught) == [(1, "Creek Chub", 12), (1, "Mottled Sculpin", 2), (2, "Blacknose Dace", 5)]
    assert "Rhinichthys atratulus" in visit.steps.last().remark
    history = client.get(f"/visits/{visit.pk}/history/").content.decode()
    assert "Creek Chub" in history and "Blacknose Dace" in history
    # The page that was open before speaks of another revision by now.
    client.post(address, {"revision": "1", "passes": ["1"]})
    assert Catch.objects.filter(taxon__common_name="Creek Chub").count() == 1


def test_where_a_pass_holds_both_names_the_fish_are_added_and_the_unknown_stays_unknown(voucher):
    first = Catch.objects.filter(removal_pass__pass_number=1)
    first.filter(taxon__common_name="Creek Chub").update(
        young_of_year=3, released=10, died=2, kept=0, gross_g=300, tare_g=100, biomass_g=200, weighed=6
    )
    first.filter(taxon__common_name="Mottled Sculpin").update(released=2, died=0, kept=0, biomass_g=9)
    confirm_voucher(voucher.pk, make_taxon("Mottled Sculpin"), who="K. L.", on=None)
    correct_catch(voucher.pk, [1], revision=1, by=None)
    one = first.get()
    assert (one.taxon.common_name, one.count) == ("Mottled Sculpin", 14)
    assert (one.young_of_year, one.released, one.died, one.kept) == (None, 12, 2, 0)
    assert (one.biomass_g, one.weighed, one.gross_g, one.tare_g) == (209, 8, None, None)


def test_a_closed_season_is_left_as_it_is(voucher):
    confirm_voucher(voucher.pk, make_taxon("Blacknose Dace"), who="K. L.", on=None)
    SeasonClose.objects.create(year=2024)
    with pytest.raises(VoucherRefused):
        correct_catch(voucher.pk, [1, 2], revision=1, by=None)
    with pytest.raises(VoucherRefused):
        add_voucher(voucher.visit, NewVoucher(taxon=voucher.taxon), by=None)
    with pytest.raises(VoucherRefused):
        remove_voucher(voucher.pk, reason="a mistake")


def test_a_voucher_whose_name_holds_offers_nothing_to_put_right(voucher):
    confirm_voucher(voucher.pk, voucher.taxon, who="K. L.", on=None)
    with pytest.raises(VoucherRefused):
        correct_catch(voucher.pk, [1], revision=1, by=None)
