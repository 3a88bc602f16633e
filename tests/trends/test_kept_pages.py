"""A page of the public is made once, and anew as soon as anybody has written anything."""

import datetime
import threading
from typing import Any

import pytest
from django.core.cache import caches
from django.db import connection, connections, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext

from surveys.models import Watershed
from tests.factories import make_station, make_visit
from trends import kept_pages
from trends.models import LandUseNote
from trends.recompute import mark_all, recompute_marked
from trends.views import watersheds

pytestmark = pytest.mark.django_db(transaction=True)

PAGE = "/watersheds/willow-run/"
MOST_TRIES = 200


@pytest.fixture(autouse=True)
def creek() -> Watershed:
    caches["pages"].clear()
    station = make_station("WIL-01")
    for year in range(2015, 2022):
        make_visit(station, f"{year}-07-01", passes=[{"Creek Chub": 30 + year % 7}])
    mark_all()
    recompute_marked()
    LandUseNote.objects.create(
        watershed=station.watershed, category="trail", starts_on="2017-04-01", title="Trail paved"
    )
    return station.watershed


def read(address: str = PAGE, **headers: Any) -> tuple[str, int]:
    """The page for a reader without cookies, and how many questions the database was asked for it."""
    with CaptureQueriesContext(
        connection,
    ) as asked:
        response = Client().get(address, **headers)
    assert response.status_code == 200
    return response.content.decode(), len(asked)


def test_the_second_reader_gets_the_same_page_for_one_question() -> None:
    """Other tests write beside this one, in databases of the same server; between two writes there is time."""
    first, many = read()
    assert many > 10
    found = []
    while len(found) < MOST_TRIES and (not found or found[-1][1] != 1):
        found.append(read())
    assert found[-1] == (first, 1)
    assert {page for page, _ in found} == {first}


def test_whatever_is_written_is_seen_by_the_next_reader(creek: Watershed) -> None:
    before, _ = read()
    LandUseNote.objects.update(title="Trail taken out")
    after, many = read()
    assert "Trail paved" in before
    assert "Trail taken out" in after
    assert many > 10


def test_what_is_written_but_not_committed_is_neither_shown_nor_kept_over_its_commit() -> None:
    """The page is read while somebody's change is under way, then once more after it was committed."""
    written, go_on = threading.Event(), threading.Event()

    def write() -> None:
        with transaction.atomic():
            LandUseNote.objects.update(title="Trail taken out")
            written.set()
            go_on.wait(20)
        connections.close_all()

    writer = threading.Thread(target=write)
    writer.start()
    assert written.wait(20)
    during = [read()[0] for _ in range(2)]
    go_on.set()
    writer.join(20)
    assert all("Trail paved" in page for page in during)
    assert "Trail taken out" in read()[0]


def test_a_change_while_a_page_is_made_keeps_it_from_being_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    """What was made half before and half after a change is shown once, as ever, and not again."""

    def meanwhile(*given: Any, **named: Any) -> Any:
        LandUseNote.objects.update(title="Trail taken out")
        return made(*given, **named)

    made = watersheds.render
    monkeypatch.setattr(watersheds, "render", meanwhile)
    read()
    monkeypatch.undo()
    assert read()[1] > 10


def test_each_address_language_host_and_day_has_a_page_of_its_own(monkeypatch: pytest.MonkeyPatch) -> None:
    read()
    for address in (f"{PAGE}?measure=richness", f"/es{PAGE}"):
        assert read(address)[1] > 10
    assert 'lang="es"' in read(f"/es{PAGE}")[0]
    assert read(headers={"host": "localhost"})[1] > 10
    monkeypatch.setattr(kept_pages.timezone, "localdate", lambda: datetime.date(2000, 1, 1))
    assert read()[1] > 10


def test_whoever_is_signed_in_gets_a_page_of_their_own_and_leaves_none(signed_in: Any) -> None:
    planner = signed_in("planner")
    for _ in range(2):
        page = planner.get(PAGE).content.decode()
        assert "Add a note" in page
    public, many = read()
    assert "Add a note" not in public
    assert many > 10
    assert "Add a note" in planner.get(PAGE).content.decode()


def test_refusals_and_forms_are_made_each_time() -> None:
    for address in ("/account/login/", "/watersheds/no-such-creek/"):
        Client().get(address)
        assert not caches["pages"]._cache, address  # type: ignore[attr-defined]


def test_inside_a_transaction_nothing_is_kept() -> None:
    """There one's own changes can be seen, but the database tells them by no other answer."""
    with transaction.atomic():
        read()
        LandUseNote.objects.update(title="Trail taken out")
        assert "Trail taken out" in read()[0]
