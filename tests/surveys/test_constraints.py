"""The database itself refuses nonsense: straight SQL, past every form and every check in Python."""

import uuid
from typing import Any

import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction

from surveys.models import (
    GEAR_LIMITS,
    Catch,
    RemovalPass,
    Station,
    StationVersion,
    Taxon,
    Upload,
    Visit,
    Voucher,
)
from tests.factories import make_station, make_taxon, make_visit

pytestmark = pytest.mark.django_db


def change(record: Any, field: str, value: Any) -> None:
    """Write one column of one stored row in SQL."""
    meta = record._meta
    column = meta.get_field(field).column
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f'UPDATE "{meta.db_table}" SET "{column}" = %s WHERE id = %s', [value, record.pk])


def copy_row(record: Any, **changes: Any) -> None:
    """Insert a second row like a stored one, with some columns changed."""
    meta = record._meta
    fields = [f for f in meta.concrete_fields if not f.primary_key]
    names = ", ".join(f'"{f.column}"' for f in fields)
    values = [changes.get(f.name, getattr(record, f.attname)) for f in fields]
    marks = ", ".join(["%s"] * len(fields))
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f'INSERT INTO "{meta.db_table}" ({names}) VALUES ({marks})', values)


@pytest.fixture
def visit() -> Visit:
    return make_visit(passes=[{"Creek Chub": 5, "Mottled Sculpin": 2}, {"Creek Chub": 1}])


@pytest.fixture
def catch(visit: Visit) -> Catch:
    return Catch.objects.get(removal_pass__visit=visit, count=5)


@pytest.mark.parametrize(
    ("field", "refused", "kept"),
    [
        ("count", -1, 5),
        ("count", 0, 5),
        ("young_of_year", -1, 0),
        ("young_of_year", 6, 5),
        ("anomalies", -1, 0),
        ("anomalies", 6, 5),
        ("biomass_g", -0.1, 0),
        ("biomass_g", float("nan"), 12.5),
        ("biomass_g", float("inf"), 12.5),
        ("weighed", 0, 1),
        ("weighed", 6, 5),
    ],
)
def test_a_catch_refuses(catch: Catch, field: str, refused: float, kept: float) -> None:
    change(catch, field, kept)
    with pytest.raises(IntegrityError):
        change(catch, field, refused)


def test_the_count_cannot_be_lowered_under_its_parts(catch: Catch) -> None:
    change(catch, "young_of_year", 4)
    with pytest.raises(IntegrityError, match="catch_young_of_year_within_count"):
        change(catch, "count", 3)


FATES, CONTAINERS = ("released", "died", "kept"), ("in_main", "in_eel_well", "in_other")


def set_all(record: Any, names: tuple[str, ...], values: tuple[Any, ...]) -> None:
    """Write several columns of one stored row in one statement."""
    meta = record._meta
    given = ", ".join(f'"{name}" = %s' for name in names)
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f'UPDATE "{meta.db_table}" SET {given} WHERE id = %s', [*values, record.pk])


@pytest.mark.parametrize(("names", "name"), [(FATES, "catch_fates"), (CONTAINERS, "catch_containers")])
def test_the_parts_of_a_catch_make_up_its_count_or_are_all_unknown(
    catch: Catch, names: tuple[str, ...], name: str
) -> None:
    for kept in [(5, 0, 0), (3, 1, 1), (None, None, None)]:
        set_all(catch, names, kept)
    for refused in [(4, 0, 0), (5, 1, 0), (5, None, None), (None, None, 5), (6, -1, 0)]:
        with pytest.raises(IntegrityError, match=name if min(n or 0 for n in refused) >= 0 else "check"):
            set_all(catch, names, refused)


def test_a_weight_with_its_container_is_whole_and_not_below_zero(catch: Catch) -> None:
    names = ("gross_g", "tare_g")
    for kept in [(None, None), (250, 250), (398.5, 250), (10, 0)]:
        set_all(catch, names, kept)
    for refused in [(249.9, 250), (398.5, None), (None, 250), (10, -1), (float("nan"), 1), (1e9, 0)]:
        with pytest.raises(IntegrityError, match="catch_gross_and_tare_together"):
            set_all(catch, names, refused)


def test_one_pass_has_one_catch_of_a_taxon(catch: Catch) -> None:
    with pytest.raises(IntegrityError, match="catch_one_per_pass_and_taxon"):
        copy_row(catch)
    copy_row(catch, taxon=make_taxon("Bluegill").pk)


def test_a_station_has_one_visit_on_a_day(visit: Visit) -> None:
    with pytest.raises(IntegrityError, match="visit_one_per_station_and_date"):
        copy_row(visit)
    copy_row(visit, visit_date="2023-07-16")


@pytest.mark.parametrize(
    ("field", "refused"),
    [
        ("pass_number", 0),
        ("pass_number", -1),
        ("effort_s", -1),
        ("biomass_g", -1),
        ("biomass_g", float("nan")),
    ],
)
def test_a_pass_refuses(visit: Visit, field: str, refused: float) -> None:
    one = RemovalPass.objects.get(visit=visit, pass_number=1)
    with pytest.raises(IntegrityError):
        change(one, field, refused)


@pytest.mark.parametrize("field", GEAR_LIMITS)
def test_gear_outside_what_a_unit_can_do_is_refused(visit: Visit, field: str) -> None:
    one = RemovalPass.objects.get(visit=visit, pass_number=1)
    low, high, _ = GEAR_LIMITS[field]
    for kept in (low, high, None):
        change(one, field, kept)
    for refused in (low - 1, high + 1):
        with pytest.raises(DatabaseError):
            change(one, field, refused)


def test_a_pass_ends_after_it_starts(visit: Visit) -> None:
    one = RemovalPass.objects.get(visit=visit, pass_number=1)
    names = ("started_at", "ended_at")
    for kept in [("09:00", "09:00:01"), ("09:00", None), (None, "08:00"), (None, None)]:
        set_all(one, names, kept)
    for refused in [("09:00", "09:00"), ("09:00", "08:59")]:
        with pytest.raises(IntegrityError, match="removal_pass_ends_after_it_starts"):
            set_all(one, names, refused)


def test_a_current_has_a_known_form(visit: Visit) -> None:
    one = RemovalPass.objects.get(visit=visit, pass_number=1)
    for kept in ("DC", "pulsed DC", "AC", ""):
        change(one, "waveform", kept)
    with pytest.raises(IntegrityError, match="removal_pass_waveform_known_word"):
        change(one, "waveform", "sparks")


def test_a_visit_has_each_pass_once(visit: Visit) -> None:
    second = RemovalPass.objects.get(visit=visit, pass_number=2)
    with pytest.raises(IntegrityError, match="removal_pass_number_once"):
        change(second, "pass_number", 1)


@pytest.mark.parametrize(
    ("field", "refused", "kept"),
    [
        ("latitude", 90.1, 90),
        ("latitude", -90.1, -90),
        ("longitude", 180.1, 180),
        ("longitude", -180.1, -180),
        ("latitude", float("nan"), 0),
        ("latitude", None, 1),
        ("reach_length_m", 0, 75),
        ("mean_width_m", -1, 3),
        ("catchment_km2", 0, 2.5),
        ("catchment_km2", float("inf"), 2.5),
        ("position_uncertainty_m", 0, 0.5),
        ("position_uncertainty_m", float("nan"), 30),
    ],
)
def test_a_station_refuses(field: str, refused: float | None, kept: float) -> None:
    station = make_station(latitude=39.1, longitude=-77.2)
    change(station, field, kept)
    with pytest.raises(IntegrityError):
        change(station, field, refused)


@pytest.mark.parametrize("refused", [0, float("inf")])
def test_a_layout_refuses_an_uncertainty_that_is_none(refused: float) -> None:
    layout = StationVersion.objects.create(
        station=make_station(), valid_from="2020-05-01", reason="moved", latitude=39.1, longitude=-77.2
    )
    change(layout, "position_uncertainty_m", 30)
    with pytest.raises(IntegrityError, match="station_version_position_uncertainty_m_positive"):
        change(layout, "position_uncertainty_m", refused)


def test_a_layout_without_a_position_has_no_uncertainty_of_it() -> None:
    layout = StationVersion.objects.create(station=make_station(), valid_from="2020-05-01", reason="longer")
    with pytest.raises(IntegrityError, match="station_version_position_uncertainty_m_positive"):
        change(layout, "position_uncertainty_m", 30)


def test_a_station_cannot_be_its_own_control() -> None:
    station = make_station()
    with pytest.raises(IntegrityError, match="station_is_not_its_own_control"):
        change(station, "control_for", station.pk)


def test_a_station_code_is_never_used_twice() -> None:
    with pytest.raises(IntegrityError):
        copy_row(make_station("WIL-90"))
    assert Station.objects.filter(code="WIL-90").count() == 1


@pytest.mark.parametrize(
    ("field", "refused", "kept"),
    [
        ("water_temp_c", 40.5, 40),
        ("ph", 14.1, 14),
        ("dissolved_oxygen_mg_l", -0.1, 0),
        ("conductivity_us_cm", 0, 1),
        ("turbidity_ntu", 4001, 4000),
        ("discharge_m3_s", -1, 0),
        ("reach_length_m", 9, 10),
        ("mean_width_m", 51, 50),
        ("stop_nets", "left", "both"),
        ("air_temp_c", -40.1, -40),
        ("air_temp_c", 55.1, 55),
        ("conductivity_basis", "20 C", "25 C"),
        ("bottom_visible", "maybe", "partly"),
        ("checks_made", ["trained", "lucky"], ["trained", "first aid"]),
        ("status", "done", "draft"),
    ],
)
def test_a_visit_refuses(visit: Visit, field: str, refused: Any, kept: Any) -> None:
    change(visit, field, kept)
    with pytest.raises(IntegrityError):
        change(visit, field, refused)


@pytest.mark.parametrize(
    ("field", "refused"), [("tolerance", "sturdy"), ("trophic_guild", "picky"), ("scientific_name", None)]
)
def test_a_taxon_refuses(field: str, refused: Any) -> None:
    with pytest.raises(IntegrityError):
        change(make_taxon("Creek Chub"), field, refused)


def test_a_taxon_name_is_unique_in_any_case() -> None:
    taxon = make_taxon("Creek Chub")
    with pytest.raises(IntegrityError):
        copy_row(taxon, scientific_name=taxon.scientific_name.upper(), slug="another")
    assert Taxon.objects.count() == 1


def test_a_taxon_that_was_caught_cannot_be_deleted(catch: Catch) -> None:
    with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("DELETE FROM surveys_taxon WHERE id = %s", [catch.taxon_id])
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")


def test_a_voucher_has_a_known_kind_and_somebody_who_confirmed_it(visit: Visit, catch: Catch) -> None:
    voucher = Voucher.objects.create(visit=visit, taxon=catch.taxon)
    change(voucher, "kind", "preserved")
    with pytest.raises(IntegrityError, match="voucher_kind_known_word"):
        change(voucher, "kind", "hearsay")
    with pytest.raises(IntegrityError, match="voucher_confirmed_by_somebody"):
        change(voucher, "confirmed_as", catch.taxon_id)
    set_all(voucher, ("confirmed_as_id", "confirmed_by"), (catch.taxon_id, "K. L."))


def test_a_picture_that_is_sent_twice_is_kept_once(visit: Visit, catch: Catch) -> None:
    key = uuid.uuid4()
    Voucher.objects.create(visit=visit, taxon=catch.taxon, device_key=key)
    with pytest.raises(IntegrityError, match="device_key"), transaction.atomic():
        Voucher.objects.create(visit=visit, taxon=catch.taxon, device_key=key)


def test_an_upload_has_a_known_state() -> None:
    upload = Upload.objects.create(file_name="a.csv", sha256="0" * 64, size_bytes=1, content=b"a")
    with pytest.raises(IntegrityError):
        change(upload, "status", "lost")


def test_a_note_cannot_end_before_it_starts() -> None:
    from trends.models import LandUseNote

    station = make_station()
    note = LandUseNote.objects.create(
        watershed=station.watershed,
        category="road",
        starts_on="2020-05-01",
        ends_on="2020-05-01",
        title="Culvert",
    )
    with pytest.raises(IntegrityError):
        change(note, "ends_on", "2020-04-30")
