"""What a device sends from the creek: taken exactly once, and never lost beside another version."""

import json
import uuid
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection
from django.test import Client

from surveys.entry.field_lists import field_lists
from surveys.models import Catch, EntryReceipt, RemovalPass, Visit, VisitStatus
from tests.factories import make_method, make_station, make_taxon, make_visit

pytestmark = pytest.mark.django_db
SYNC = "/entry/sync/"
KEY = "0b6c7a3e-6a39-4f0e-9d55-0f5c2a1b7c11"


def message(key: str = KEY, station: str = "WIL-01", **texts) -> dict:
    chub = make_taxon("Creek Chub").pk
    given = {f"count-1-{chub}": "12", f"count-2-{chub}": "4", "effort_s-1": "600", **texts}
    return {"key": key, "station": station, "visit_date": "2024-07-16", "method": "two-pass", "texts": given}


def send(client: Client, what: object):
    return client.post(SYNC, json.dumps(what), content_type="application/json")


@pytest.fixture
def phone(signed_in):
    make_station("WIL-01")
    make_method()
    return signed_in("biologist")


def fish() -> int:
    return sum(Catch.objects.values_list("count", flat=True))


def test_a_visit_becomes_a_whole_draft(phone, person):
    answer = send(phone, message())
    assert (answer.status_code, answer.json()["state"]) == (201, "taken")
    visit = Visit.objects.get()
    assert (visit.status, visit.entered_by, fish()) == (VisitStatus.DRAFT, person("biologist"), 16)
    assert answer.json()["address"] == f"/entry/{visit.pk}/"


def test_the_same_message_again_stores_nothing_twice(phone):
    send(phone, message())
    answer = send(phone, message())
    assert (answer.status_code, answer.json()["state"]) == (200, "same")
    assert (Visit.objects.count(), RemovalPass.objects.count(), fish()) == (1, 2, 16)
    assert EntryReceipt.objects.count() == 1


def test_a_corrected_visit_replaces_what_the_same_device_sent(phone):
    send(phone, message())
    answer = send(phone, message(ph="7.2"))
    assert answer.json()["state"] == "taken"
    assert Visit.objects.get().ph == 7.2


def test_a_draft_that_was_only_begun_at_the_desk_is_filled(phone):
    phone.post("/entry/", {"station": "WIL-01", "visit_date": "2024-07-16"})
    assert send(phone, message()).json()["state"] == "taken"
    assert (Visit.objects.count(), fish()) == (1, 16)


def test_a_visit_that_is_held_otherwise_stands_side_by_side(phone):
    held = make_visit(make_station("WIL-01"), status=VisitStatus.DRAFT, passes=[{"Creek Chub": 11}])
    answer = send(phone, message())
    said = answer.json()
    assert (answer.status_code, said["state"]) == (409, "clash")
    assert {"place": "Pass 1, Creek Chub: fish", "mine": "12", "stored": "11"} in said["differs"]
    assert fish() == 11
    page = phone.get(said["address"]).content.decode()
    assert "Two versions of this visit" in page
    assert said["address"] in phone.get("/entry/").content.decode()
    # What was sent is in the sheet, and saving it settles the matter.
    chub = make_taxon("Creek Chub").pk
    assert f'id="count-1-{chub}" value="12"' in page
    given = {**message()["texts"], "visit_date": "2024-07-16", "method": "two-pass", "passes": "2"}
    phone.post(f"/entry/{held.pk}/", {**given, "revision": held.revision, "sent": KEY})
    assert fish() == 16
    assert not EntryReceipt.objects.get().waiting


def test_what_is_sent_for_an_accepted_visit_is_kept_and_changes_nothing(phone):
    make_visit(make_station("WIL-01"), passes=[{"Creek Chub": 11}])
    said = send(phone, message()).json()
    assert said["state"] == "clash"
    assert EntryReceipt.objects.get().sent["texts"]["effort_s-1"] == "600"
    page = phone.get(said["address"]).content.decode()
    assert "what was sent is kept beside it" in page
    assert 'value="submit"' not in page
    assert fish() == 11


def test_a_visit_changed_at_the_desk_since_is_not_overwritten(phone):
    send(phone, message())
    Visit.objects.update(revision=5)
    assert send(phone, message(ph="7.2")).json()["state"] == "clash"
    assert Visit.objects.get().ph is None


@pytest.mark.parametrize(
    ("texts", "field"), [({"water_temp_c": "180"}, "water_temp_c"), ({"effort_s-3": "5"}, "no_fish-3")]
)
def test_a_broken_rule_stores_nothing_and_says_where(phone, texts, field):
    answer = send(phone, message(**texts))
    assert answer.status_code == 422
    assert [one["field"] for one in answer.json()["remarks"]] == [field]
    assert not Visit.objects.exists()
    assert not EntryReceipt.objects.exists()


def test_an_unknown_station_is_said(phone):
    assert send(phone, message(station="NO-1")).status_code == 422


@pytest.mark.parametrize(
    "what", [[], {}, {"key": "x", "texts": {}}, {**{"key": KEY}, "texts": []}, "nonsense"], ids=str
)
def test_other_messages_are_refused(phone, what):
    assert send(phone, what).status_code == 400
    assert phone.post(SYNC, "{", content_type="application/json").status_code == 400


@pytest.mark.parametrize(("role", "status"), [("", 401), ("planner", 403), ("reviewer", 403)])
def test_a_device_is_told_in_data_that_somebody_has_to_sign_in(signed_in, role, status):
    for address in (SYNC, "/entry/lists.json"):
        answer = signed_in(role).get(address)
        assert (answer.status_code, answer["Content-Type"]) == (status, "application/json")


def test_sending_needs_the_token(person):
    make_station("WIL-01")
    client = Client(enforce_csrf_checks=True)
    client.force_login(person("biologist"))
    assert send(client, message()).status_code == 403
    token = client.get(SYNC).json()["token"]
    make_method()
    answer = client.post(
        SYNC, json.dumps(message()), content_type="application/json", headers={"X-CSRFToken": token}
    )
    assert answer.status_code == 201


@pytest.mark.django_db(transaction=True)
def test_many_copies_at_once_are_one_visit(person):
    make_station("WIL-01")
    make_method()
    what, who = message(), person("biologist")

    def one(_: int) -> int:
        try:
            client = Client()
            client.force_login(who)
            return send(client, what).status_code
        finally:
            connection.close()

    with ThreadPoolExecutor(4) as pool:
        codes = list(pool.map(one, range(4)))
    assert sorted(codes) == [200, 200, 200, 201]
    assert (Visit.objects.count(), fish()) == (1, 16)


@pytest.mark.django_db(transaction=True)
def test_two_devices_at_once_lose_nothing(person):
    make_station("WIL-01")
    make_method()
    who = person("biologist")
    both = [message(str(uuid.UUID(int=n)), ph=f"7.{n}") for n in (1, 2)]

    def one(what: dict) -> int:
        try:
            client = Client()
            client.force_login(who)
            return send(client, what).status_code
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        codes = list(pool.map(one, both))
    # The second either finds the first visit, or is told to send again.
    assert codes.count(201) == 1
    again = send_again(who, both[codes.index(next(code for code in codes if code != 201))])
    assert again == 409
    assert (Visit.objects.count(), fish()) == (1, 16)
    assert EntryReceipt.objects.count() == 2


def send_again(who, what: dict) -> int:
    client = Client()
    client.force_login(who)
    return send(client, what).status_code


def test_lists_for_the_creek_hold_no_positions():
    station = make_station("WIL-01", latitude=39.04, longitude=-77.12)
    make_visit(station, "2022-07-16", passes=[{"Creek Chub": 1, "Blacknose Dace": 90}])
    make_visit(station, "2023-07-16", passes=[{"Creek Chub": 1}])
    lists = field_lists()
    chub, dace = make_taxon("Creek Chub").pk, make_taxon("Blacknose Dace").pk
    one = next(s for s in lists["stations"] if s["code"] == "WIL-01")
    assert one["expected"] == [chub, dace]
    assert "39.04" not in json.dumps(lists)


def test_look_alikes_are_known_both_ways():
    one = make_taxon("Creek Chub", look_alikes="Semotilus corporalis")
    other = make_taxon("Semotilus corporalis")
    alike = {taxon["id"]: taxon["alike"] for taxon in field_lists()["taxa"]}
    assert (alike[one.pk], alike[other.pk]) == ([other.pk], [one.pk])


def test_the_page_and_its_files_can_be_kept(signed_in):
    client = signed_in("biologist")
    page = client.get("/entry/tally/").content.decode()
    assert "some-biologist" not in page
    assert "judgement of the trained crew leader" in page
    worker = client.get("/entry/worker.js")
    assert worker["Content-Type"] == "text/javascript"
    settings = json.loads(worker.content.decode().split("const SETTINGS = ")[1].split(";\n")[0])
    assert settings["scope"] == "/entry/"
    for address in settings["files"]:
        answer = client.get(address)
        answer.close()
        assert answer.status_code == 200, address
    manifest = client.get("/entry/tally.webmanifest").json()
    assert (manifest["start_url"], manifest["display"]) == ("/entry/tally/", "standalone")


def test_each_language_has_a_page_a_worker_and_a_cache_of_its_own(signed_in):
    client = signed_in("biologist")
    kept = {}
    for code, start in (("en", ""), ("es", "/es")):
        worker = client.get(f"{start}/entry/worker.js")
        assert worker.status_code == 200  # a browser takes no worker from behind a redirect
        text = worker.content.decode().split("const SETTINGS = ")[1].split(";\n")[0]
        kept[code] = settings = json.loads(text)
        assert (settings["scope"], settings["page"]) == (f"{start}/entry/", f"{start}/entry/tally/")
        manifest = client.get(f"{start}/entry/tally.webmanifest").json()
        assert (manifest["start_url"], manifest["lang"]) == (f"{start}/entry/tally/", code)
    assert kept["en"]["cache"] != kept["es"]["cache"]
    # Another word on the page of one language is fetched anew by its devices.
    assert kept["en"]["version"] != kept["es"]["version"]
    page = client.get("/entry/tally/").content.decode()
    assert 'href="/es/entry/tally/" hreflang="es" lang="es" data-worker="/es/entry/worker.js"' in page


def test_a_device_is_answered_in_its_language(phone, signed_in):
    answer = signed_in("").get("/es/entry/sync/")
    assert (answer.status_code, answer.json()["message"][:16]) == (401, "Inicie sesión de")
    refused = phone.post(
        "/es/entry/sync/", json.dumps(message(water_temp_c="180")), content_type="application/json"
    )
    assert refused.status_code == 422
    (remark,) = refused.json()["remarks"]
    assert (remark["place"], remark["field"]) == ("Temperatura del agua", "water_temp_c")
    taken = phone.post("/es/entry/sync/", json.dumps(message()), content_type="application/json")
    assert taken.json()["address"] == f"/es/entry/{Visit.objects.get().pk}/"
