"""A closed season is locked: taxa and layouts do not reach into it, and the database holds the rule too."""

import datetime
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.urls import reverse

from surveys import backup
from surveys.models import Catch, RemovalPass, SeasonClose, Station, StationVersion, Taxon, Visit
from surveys.season import SeasonLocked, close_season, reopen_season
from surveys.station_versions import drop_version, keep_version
from tests.factories import make_station, make_taxon, make_visit
from trends.taxonomy import Split, TaxaRefused, merge_taxa, split_taxon

pytestmark = pytest.mark.django_db

SignIn = Callable[[str], Client]
DAY = datetime.date(2024, 5, 1)


@pytest.fixture
def closed() -> Visit:
    """A station with visits in 2023 and 2024, of which both seasons are closed, and 2025, which is open."""
    make_taxon("Semotilus thoreauianus")
    station = make_station("WIL-01")
    for year in (2023, 2024, 2025):
        visit = make_visit(station, f"{year}-07-16", passes=[{"Semotilus thoreauianus": 5, "Creek Chub": 9}])
    for year in (2023, 2024):
        close_season(year, by=None)
    return visit


def taxa() -> tuple[Taxon, Taxon]:
    names = ("Semotilus thoreauianus", "Semotilus atromaculatus")
    return tuple(Taxon.objects.get(scientific_name=name) for name in names)  # type: ignore[return-value]


# --- taxa ----------------------------------------------------------------------------------------------


def test_a_merge_that_reaches_into_closed_seasons_is_refused_and_names_them(
    closed: Visit, person: Any
) -> None:
    with pytest.raises(
        TaxaRefused, match=r"2 of these visits lie in a closed season\. The seasons 2023 and 2024"
    ):
        merge_taxa(*taxa(), by=person("administrator"), reason="One and the same.")
    assert Catch.objects.filter(taxon__scientific_name="Semotilus thoreauianus").count() == 3


def test_once_they_are_open_again_the_merge_is_done(closed: Visit, person: Any) -> None:
    for year in (2023, 2024):
        reopen_season(year, by=None, reason="two names of one fish")
    assert merge_taxa(*taxa(), by=person("administrator"), reason="One and the same.").visits == 3


def test_a_split_is_refused_from_a_closed_day_and_done_from_an_open_one(closed: Visit, person: Any) -> None:
    def asked(day: datetime.date) -> Split:
        return Split(
            taxon=taxa()[1],
            new_name="Semotilus corporalis",
            new_common_name="Fallfish",
            from_day=day,
            stations=(),
        )

    with pytest.raises(
        TaxaRefused, match=r"1 of these visits lies in a closed season\. The season 2024 is closed"
    ):
        split_taxon(asked(DAY), by=person("administrator"), reason="Told apart.")
    done = split_taxon(asked(datetime.date(2025, 1, 1)), by=person("administrator"), reason="Told apart.")
    assert done.visits == 1


def test_the_preview_says_so_before_there_is_a_button_to_press(closed: Visit, signed_in: SignIn) -> None:
    gone, kept = taxa()
    address = reverse("trends:taxon_merge", args=[gone.slug])
    answer = signed_in("administrator").post(address, {"into": kept.pk, "reason": "Why."})
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "The seasons 2023 and 2024 are closed and locked." in text
    assert "Merge them" not in text


# --- layouts -------------------------------------------------------------------------------------------


def layout(station: Station, day: datetime.date = DAY, **fields: Any) -> StationVersion:
    return StationVersion(station=station, valid_from=day, reason="parking moved", **fields)


def test_a_layout_is_not_dated_into_a_closed_season(closed: Visit) -> None:
    with pytest.raises(SeasonLocked, match="season 2024 is closed"):
        keep_version(layout(closed.station), by=None)
    keep_version(layout(closed.station, datetime.date(2025, 5, 1)), by=None)


def test_a_layout_of_a_closed_season_is_not_moved_out_of_it_nor_taken_out(closed: Visit) -> None:
    reopen_season(2024, by=None, reason="a layout was forgotten")
    keep_version(layout(closed.station), by=None)
    close_season(2024, by=None)
    kept = StationVersion.objects.get()
    with pytest.raises(SeasonLocked):
        drop_version(kept)
    kept.valid_from = datetime.date(2025, 5, 1)
    with pytest.raises(SeasonLocked):
        keep_version(kept, by=None)
    assert StationVersion.objects.get().valid_from == DAY


def test_the_form_of_a_layout_says_why_it_is_refused(closed: Visit, signed_in: SignIn) -> None:
    client, address = signed_in("biologist"), "/stations/WIL-01/layout/0/"
    answer = client.post(address, {"valid_from": "2024-05-01", "reason": "parking moved"})
    assert answer.status_code == 422
    assert "The season 2024 is closed and locked." in answer.content.decode()
    assert not StationVersion.objects.exists()


def test_the_page_of_a_locked_layout_says_so_at_once_and_has_no_way_to_take_it_out(
    closed: Visit, signed_in: SignIn
) -> None:
    reopen_season(2024, by=None, reason="a layout was forgotten")
    keep_version(layout(closed.station), by=None)
    close_season(2024, by=None)
    client, address = signed_in("biologist"), f"/stations/WIL-01/layout/{StationVersion.objects.get().pk}/"
    text = client.get(address).content.decode()
    assert "The season 2024 is closed and locked." in text
    assert "Take it out" not in text
    answer = client.post(address, {"action": "drop"}, follow=True)
    assert "Nothing was taken out. The season 2024" in answer.content.decode()
    assert StationVersion.objects.exists()


# --- the database --------------------------------------------------------------------------------------


def _of_2024(model: Any) -> Any:
    where = {Visit: "visit_date__year", RemovalPass: "visit__visit_date__year"}
    return model.objects.filter(**{where.get(model, "removal_pass__visit__visit_date__year"): 2024})


def move_into_a_closed_season(closed: Visit) -> None:
    Visit.objects.filter(pk=closed.pk).update(visit_date="2024-08-01")


def add_a_visit(closed: Visit) -> None:
    make_visit(make_station("WIL-02"), "2024-08-01")


def add_a_fish(closed: Visit) -> None:
    one = _of_2024(RemovalPass).get()
    Catch.objects.create(removal_pass=one, taxon=make_taxon("Mottled Sculpin"), count=1)


def give_a_catch(closed: Visit) -> None:
    fish = make_taxon("Mottled Sculpin")
    one = Catch.objects.create(removal_pass=closed.passes.get(), taxon=fish, count=1)
    Catch.objects.filter(pk=one.pk).update(removal_pass=_of_2024(RemovalPass).get().pk)


AROUND: dict[str, Callable[[Visit], Any]] = {
    "a count": lambda _: _of_2024(Catch).update(count=99),
    "a catch given to a pass of it": give_a_catch,
    "a catch taken away": lambda _: _of_2024(Catch).delete(),
    "a catch added": add_a_fish,
    "the effort of a pass": lambda _: _of_2024(RemovalPass).update(effort_s=1),
    "a reading": lambda _: _of_2024(Visit).update(ph=7.1),
    "a status": lambda _: _of_2024(Visit).update(status="draft"),
    "a visit moved into it": move_into_a_closed_season,
    "a visit moved out of it": lambda _: _of_2024(Visit).update(visit_date="2025-08-01"),
    "a visit added": add_a_visit,
    "a layout added": lambda v: layout(v.station).save(),
}


@pytest.mark.parametrize("change", AROUND.values(), ids=AROUND)
def test_no_path_around_the_pages_changes_a_closed_season(
    closed: Visit, change: Callable[[Visit], Any]
) -> None:
    with pytest.raises(IntegrityError, match="The season 2024 is closed and locked"), transaction.atomic():
        change(closed)


def test_a_person_who_leaves_is_taken_off_the_visits_of_a_closed_season(person: Any) -> None:
    """Accounts may go; the numbers stay."""
    someone = person("biologist")
    visit = make_visit(make_station("WIL-01"), "2024-07-16")
    Visit.objects.update(entered_by=someone)
    close_season(2024, by=None)
    someone.delete()
    visit.refresh_from_db()
    assert visit.entered_by is None


@pytest.mark.django_db(transaction=True)
def test_a_copy_with_closed_seasons_and_layouts_is_put_back_whole(tmp_path: Path) -> None:
    station = make_station("WIL-01")
    make_visit(station, "2024-07-16", passes=[{"Creek Chub": 9}])
    keep_version(layout(station), by=None)
    close_season(2024, by=None)
    backup.make_backup(tmp_path / "copy.zip")
    backup.restore_backup(tmp_path / "copy.zip", replace=True)
    assert (Catch.objects.get().count, StationVersion.objects.count()) == (9, 1)
    assert SeasonClose.objects.get().year == 2024
    with connection.cursor() as cursor, pytest.raises(IntegrityError):
        cursor.execute("UPDATE surveys_catch SET count = 10")


# --- what a station says of itself -----------------------------------------------------------------------


def reach() -> float | None:
    return Station.objects.get(code="WIL-01").reach_length_m


def test_taking_a_layout_out_gives_the_station_back_what_the_layout_before_said() -> None:
    station = make_station("WIL-01", reach_length_m=75)
    first, second = (
        layout(station, reach_length_m=100),
        layout(station, DAY.replace(year=2025), reach_length_m=120),
    )
    keep_version(first, by=None)
    keep_version(second, by=None)
    assert reach() == 120
    drop_version(second)
    assert reach() == 100
    drop_version(first)
    assert reach() == 75  # no layout is left: what the station said itself


def test_the_order_in_which_layouts_go_makes_no_difference() -> None:
    station = make_station("WIL-01", reach_length_m=75)
    first, second = (
        layout(station, reach_length_m=100),
        layout(station, DAY.replace(year=2025), reach_length_m=120),
    )
    keep_version(second, by=None)
    keep_version(first, by=None)
    drop_version(first)
    assert reach() == 120
    drop_version(second)
    assert reach() == 75


def test_a_layout_that_says_no_length_leaves_that_of_the_one_before() -> None:
    station = make_station("WIL-01", reach_length_m=75)
    keep_version(layout(station, reach_length_m=100), by=None)
    moved = layout(station, DAY.replace(year=2025), latitude=39.0, longitude=-77.0)
    keep_version(moved, by=None)
    assert reach() == 100
    drop_version(moved)
    station.refresh_from_db()
    assert (station.reach_length_m, station.latitude) == (100, make_station("WIL-99").latitude)


def test_a_layout_whose_length_is_corrected_and_then_emptied_gives_the_own_length_back() -> None:
    station = make_station("WIL-01", reach_length_m=75)
    kept = layout(station, reach_length_m=100)
    keep_version(kept, by=None)
    for length in (110, None):
        kept.reach_length_m = length
        keep_version(kept, by=None)
    assert reach() == 75


def test_a_length_put_right_at_the_station_meanwhile_stands() -> None:
    station = make_station("WIL-01", reach_length_m=75)
    kept = layout(station, reach_length_m=100)
    keep_version(kept, by=None)
    Station.objects.filter(pk=station.pk).update(reach_length_m=80)
    drop_version(kept)
    assert reach() == 80


@pytest.mark.django_db(transaction=True)
def test_an_own_length_that_a_layout_once_said_too_is_the_stations_own() -> None:
    station = make_station("WIL-01", reach_length_m=75)
    first = layout(station, reach_length_m=100)
    keep_version(first, by=None)
    drop_version(first)
    Station.objects.filter(pk=station.pk).update(reach_length_m=100)
    second = layout(station, DAY.replace(year=2025), reach_length_m=120)
    keep_version(second, by=None)
    drop_version(second)
    assert reach() == 100


def test_another_field_changed_meanwhile_does_not_make_the_length_of_a_layout_its_own() -> None:
    station = make_station("WIL-01", reach_length_m=75)
    kept = layout(station, reach_length_m=100)
    keep_version(kept, by=None)
    Station.objects.filter(pk=station.pk).update(name="Below the weir")
    drop_version(kept)
    assert reach() == 75


# --- the administration pages ------------------------------------------------------------------------


def test_a_station_with_a_layout_of_a_closed_season_is_not_deleted_and_the_page_says_why(
    closed: Visit, signed_in: SignIn
) -> None:
    bare = make_station("WIL-07")
    reopen_season(2024, by=None, reason="a layout was forgotten")
    keep_version(layout(bare), by=None)
    close_season(2024, by=None)
    answer = signed_in("administrator").post(
        f"/admin/surveys/station/{bare.pk}/delete/", {"post": "yes"}, follow=True
    )
    assert "cannot be deleted: it was laid out anew in a closed season (2024)" in answer.content.decode()
    assert Station.objects.filter(pk=bare.pk).exists()


# --- the sheet at the desk -------------------------------------------------------------------------------


def draft_of(day: str = "2025-08-01") -> Visit:
    return make_visit(make_station("WIL-01"), day, status="draft")


def sheet_of(visit: Visit, **texts: str) -> dict[str, str]:
    return {
        "visit_date": str(visit.visit_date),
        "method": visit.method.code,
        "passes": "1",
        "revision": "1",
        **texts,
    }


def test_the_check_while_one_types_says_that_the_season_of_the_day_is_closed(
    closed: Visit, signed_in: SignIn
) -> None:
    client, draft = signed_in("biologist"), draft_of()
    address = f"/entry/{draft.pk}/check/"
    found = client.post(address, sheet_of(draft, visit_date="2024-08-01")).json()
    assert found["season"].startswith("The season 2024 is closed and locked.")
    assert "visit_date" in found["wrong"]
    assert "The season 2024 is closed" in found["look"]
    assert client.post(address, sheet_of(draft)).json()["season"] == ""


def test_a_sheet_that_is_opened_in_a_closed_season_says_so_at_the_top(
    closed: Visit, signed_in: SignIn
) -> None:
    draft = draft_of()
    # A season can only be signed once nothing of it is undecided; a close of a copy may still hold a draft.
    SeasonClose.objects.create(year=2025, version="2025")
    text = signed_in("biologist").get(f"/entry/{draft.pk}/").content.decode()
    assert text.index("The season 2025 is closed and locked.") < text.index("Before the current went on")
