"""From a file to stored visits: what is planned, what is written, what is refused, what is kept."""

from typing import Any

import pghistory.models
import pytest
from django.db import connection, transaction

from surveys.models import Catch, RemovalPass, Taxon, Upload, UploadStatus, Visit, VisitStatus, VisitStep
from surveys.queries import visit_records
from surveys.signals import visits_changed
from surveys.uploads.commit import NotTaken, Taken, check_upload, discard, new_upload, take
from surveys.uploads.plan import CHANGED, NEW, REFUSED, SAME, Plan, prepare
from tests.factories import make_method, make_station, make_taxon, make_user, make_visit, season_csv

pytestmark = pytest.mark.django_db

BASE = {"station": "WIL-01", "visit_date": "2024-07-16", "pass": 1, "taxon": "Creek Chub", "count": 12}
SEASON: list[dict[str, Any]] = [
    {"young_of_year": 3, "biomass_g": 148.5, "anomalies": 1, "effort_s": 640},
    {"taxon": "Mottled Sculpin", "count": 4, "effort_s": 640},
    {"pass": 2, "count": 5, "effort_s": 600},
    {"pass": 3, "taxon": "no fish", "count": 0, "effort_s": 590},
]


@pytest.fixture(autouse=True)
def _lists() -> None:
    make_station("WIL-01", reach_length_m=80, mean_width_m=3.5)
    for name in ("Creek Chub", "Mottled Sculpin"):
        make_taxon(name)


@pytest.fixture
def heard() -> Any:
    """Which stations were reported as changed."""
    stations: list[set[int]] = []

    def listen(sender: Any, station_ids: set[int], **kwargs: Any) -> None:
        stations.append(station_ids)

    visits_changed.connect(listen)
    yield stations
    visits_changed.disconnect(listen)


def season(*changes: dict[str, Any], **every: Any) -> bytes:
    rows = [dict(row) for row in SEASON]
    for row, change in zip(rows, changes, strict=False):
        row.update(change)
    return season_csv(*({**BASE, **row, **every} for row in rows))


def plan(content: bytes, **options: Any) -> Plan:
    return prepare("season.csv", content, **options)


def load(content: bytes, by: Any = None, **options: Any) -> Taken:
    return take(new_upload("season.csv", content, by=by), by=by, **options)


def everything() -> list[Any]:
    """All stored visits, passes and catches, to see that nothing moved."""
    return [
        list(model.objects.order_by("pk").values())
        for model in (Visit, RemovalPass, Catch, VisitStep, Taxon, Upload)
    ]


def test_a_new_visit_is_planned_with_its_numbers() -> None:
    planned = plan(season())
    assert not planned.findings
    (visit,) = planned.visits
    assert (visit.kind, visit.passes, visit.catches, visit.fish) == (NEW, 3, 3, 21)
    assert planned.counts()["visits_new"] == 1


def test_a_file_is_stored_as_it_says() -> None:
    uploader = make_user("biologist")
    load(season(stop_nets="both", water_temp_c=18.5, crew_lead="K. L."), by=uploader)
    visit = Visit.objects.get()
    assert (visit.status, visit.entered_by, visit.revision) == (VisitStatus.SUBMITTED, uploader, 1)
    assert (visit.stop_nets, visit.water_temp_c, visit.crew_lead) == ("both", 18.5, "K. L.")
    (record,) = visit_records(Visit.objects.all())
    assert [one.effort_s for one in record.passes] == [640, 600, 590]
    assert {t.common_name: c for t, c in record.counts_by_taxon().items()} == {
        "Creek Chub": [12, 5, 0],
        "Mottled Sculpin": [4, 0, 0],
    }
    chub = Catch.objects.get(count=12)
    assert (chub.young_of_year, chub.anomalies, chub.biomass_g) == (3, 1, 148.5)
    assert Catch.objects.get(count=4).young_of_year is None
    assert [(step.status, step.by) for step in visit.steps.all()] == [(VisitStatus.SUBMITTED, uploader)]


def test_a_pass_without_fish_is_a_pass_without_catches() -> None:
    load(season())
    assert RemovalPass.objects.get(pass_number=3).catches.count() == 0


def test_a_named_taxon_with_count_zero_is_not_stored() -> None:
    load(season({}, {"count": 0}))
    assert not Catch.objects.filter(taxon__common_name="Mottled Sculpin").exists()


def test_reach_width_and_method_fall_back_on_the_station() -> None:
    method = make_method("three-pass")
    make_station("WIL-02", reach_length_m=None, method=method)
    load(season() + season(station="WIL-02").split(b"\n", 1)[1])
    first, second = Visit.objects.order_by("station__code")
    assert (first.reach_length_m, first.mean_width_m, first.method.is_default) == (80, 3.5, True)
    assert (second.reach_length_m, second.mean_width_m, second.method) == (75, None, method)


def test_what_the_file_says_stands_before_the_station() -> None:
    make_method("summer")
    load(season(reach_length_m=90, mean_width_m=3, method="Summer"))
    visit = Visit.objects.get()
    assert (visit.reach_length_m, visit.mean_width_m, visit.method.code) == (90, 3, "summer")


def test_the_file_is_kept_with_what_was_found_in_it() -> None:
    content = season({}, {}, {"count": 50})
    taken = load(content)
    upload = Upload.objects.get()
    assert taken.upload == upload
    assert (bytes(upload.content), upload.status, upload.row_count) == (content, UploadStatus.TAKEN, 4)
    assert [finding.code for finding in upload.findings.all()] == ["later_pass_larger"]
    assert upload.summary["counts"]["visits_new"] == 1
    assert upload.summary["visits"][0]["warnings"]
    assert Visit.objects.get().upload == upload


def test_one_error_keeps_the_whole_file_out() -> None:
    before = everything()
    good = season(visit_date="2023-07-16").split(b"\n", 1)[1]
    with pytest.raises(NotTaken, match="1 error") as refusal:
        load(season({"count": -1}) + good)
    assert everything() == before
    assert [v.kind for v in refusal.value.plan.visits] == [REFUSED, NEW]


def test_accepting_passes_the_review_and_tells_the_listeners(heard: list[set[int]]) -> None:
    load(season(), accept=True)
    visit = Visit.objects.get()
    assert visit.status == VisitStatus.ACCEPTED
    assert [step.status for step in visit.steps.all()] == [VisitStatus.SUBMITTED, VisitStatus.ACCEPTED]
    assert heard == [{visit.station_id}]


def test_visits_that_wait_tell_nobody(heard: list[set[int]]) -> None:
    load(season())
    assert heard == []


def test_the_same_file_twice_changes_nothing_and_says_so(heard: list[set[int]]) -> None:
    load(season(), accept=True)
    before = everything()
    heard.clear()
    again = load(season(), accept=True, replace=True)
    assert everything() == before
    assert heard == []
    assert not again.changed
    assert again.plan.taken_before == again.upload == Upload.objects.get()


def test_the_same_rows_in_another_file_change_nothing() -> None:
    load(season())
    before = everything()
    assert not load(season() + b"\n").changed
    assert everything() == before


def test_a_later_change_at_the_station_does_not_make_the_same_file_differ() -> None:
    load(season())
    station = Visit.objects.get().station
    station.reach_length_m, station.mean_width_m = 100, 9
    station.save()
    assert plan(season()).nothing_to_do


def test_three_changed_counts_are_three_differences() -> None:
    load(season())
    planned = plan(season({"count": 13}, {"count": 6}, {"count": 2}))
    (visit,) = planned.visits
    assert visit.kind == CHANGED
    assert {(d.row, d.pass_number, d.taxon, d.column, d.old, d.new) for d in visit.differences} == {
        (2, 1, "Semotilus atromaculatus", "count", 12, 13),
        (3, 1, "Cottus bairdii", "count", 4, 6),
        (4, 2, "Semotilus atromaculatus", "count", 5, 2),
    }
    assert len(visit.differences) == 3


def test_differences_name_passes_weights_and_readings() -> None:
    load(season(water_temp_c=18))
    shorter = season_csv(*({**BASE, **row, "water_temp_c": 19} for row in SEASON[:3]))
    (visit,) = plan(shorter).visits
    assert {(d.column, d.pass_number, d.old, d.new) for d in visit.differences} == {
        ("water_temp_c", None, 18, 19),
        ("pass", 3, 3, None),
        ("effort_s", 3, 590, None),
    }


def test_a_held_visit_is_replaced_only_on_the_explicit_word() -> None:
    load(season())
    before = everything()
    with pytest.raises(NotTaken, match="already held with other values"):
        load(season({"count": 13}))
    assert everything() == before


def test_replacing_writes_the_new_values_and_keeps_the_old_in_the_history() -> None:
    load(season())
    visit = Visit.objects.get()
    changed = season({"count": 13}, {"taxon": "Bluegill"}, {"effort_s": 610})
    make_taxon("Bluegill")
    load(changed, replace=True)
    visit.refresh_from_db()
    assert visit.revision == 2
    assert plan(changed).nothing_to_do
    events = pghistory.models.Events.objects
    old = {e.pgh_label: e for e in events.references(*Catch.objects.all())}
    assert old["before_update"].pgh_data["count"] == 12
    gone = Catch.pgh_event_model.objects.get(pgh_label="before_delete")  # type: ignore[attr-defined]
    assert (gone.count, gone.taxon.common_name) == (4, "Mottled Sculpin")
    assert gone.pgh_context.metadata["file"] == "season.csv"


def test_only_rows_that_differ_are_touched() -> None:
    load(season())
    kept = Catch.objects.get(count=5).pk
    load(season({"count": 13}), replace=True)
    assert Catch.objects.get(count=5).pk == kept
    assert Catch.pgh_event_model.objects.count() == 1  # type: ignore[attr-defined]


def test_a_replaced_accepted_visit_goes_back_to_the_reviewer(heard: list[set[int]]) -> None:
    load(season(), accept=True)
    heard.clear()
    planned = plan(season({"count": 13}))
    assert planned.visits[0].goes_back
    assert "go back to the reviewer" in next(f.message for f in planned.findings if f.code == "visit_held")
    load(season({"count": 13}), replace=True)
    visit = Visit.objects.get()
    assert visit.status == VisitStatus.SUBMITTED
    assert heard == [{visit.station_id}]


def test_a_withdrawn_visit_is_not_overwritten() -> None:
    load(season())
    Visit.objects.update(status=VisitStatus.WITHDRAWN)
    assert plan(season()).nothing_to_do
    planned = plan(season({"count": 13}))
    assert [f.code for f in planned.findings if f.level == "error"] == ["visit_withdrawn"]
    assert planned.visits[0].kind == REFUSED


def test_a_file_may_mix_new_same_and_changed_visits() -> None:
    load(season())
    rest = b"".join(season(visit_date=day).split(b"\n", 1)[1] for day in ("2023-07-16", "2022-07-16"))
    load(season(visit_date="2023-07-16"))
    planned = plan(season({"count": 13}) + rest)
    assert [visit.kind for visit in planned.visits] == [CHANGED, SAME, NEW]


def test_unknown_taxa_are_added_on_request_and_reported() -> None:
    content = season({}, {"taxon": "Lepomis sp."})
    assert plan(content).has_errors
    taken = load(content, create_taxa=True)
    taxon = Taxon.objects.get(scientific_name="Lepomis sp.")
    assert (taxon.rank, taxon.tolerance, taxon.native) == ("genus", "", None)
    assert [f.value for f in taken.plan.findings if f.code == "taxon_created"] == ["Lepomis sp."]
    assert Catch.objects.get(taxon=taxon).count == 4


@pytest.mark.parametrize(
    ("name", "rank"),
    [
        ("Cottus girardi", "species"),
        ("Cottus bairdii kumlieni", "subspecies"),
        ("Cottus", "genus"),
        ("Cottus sp.", "genus"),
        ("Lepomis cyanellus x Lepomis macrochirus", "hybrid"),
        ("Salmo trutta × Salvelinus fontinalis", "hybrid"),
    ],
)
def test_the_form_of_a_name_tells_its_rank(name: str, rank: str) -> None:
    load(season({}, {"taxon": name}), create_taxa=True)
    assert Taxon.objects.get(scientific_name=name).rank == rank


def test_a_plan_that_no_longer_fits_is_refused() -> None:
    seen = plan(season()).mark()
    make_visit(make_station("WIL-01"), "2024-07-16")
    with pytest.raises(NotTaken, match="changed since this page was shown"):
        load(season(), seen=seen, replace=True)
    assert not Upload.objects.exists()


def test_a_failure_half_way_leaves_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    before = everything()

    def fail(*args: Any) -> None:
        raise RuntimeError("power cut")

    monkeypatch.setattr("surveys.uploads.commit.insert_catches", fail)
    with pytest.raises(RuntimeError, match="power cut"):
        load(season({}, {"taxon": "Lepomis sp."}), create_taxa=True)
    assert everything() == before


def test_a_visit_stored_by_somebody_else_meanwhile_is_a_clear_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    from surveys.uploads import commit

    insert = commit._insert_new

    def late(*args: Any, **kwargs: Any) -> Any:
        make_visit(make_station("WIL-01"), "2024-07-16")
        return insert(*args, **kwargs)

    monkeypatch.setattr(commit, "_insert_new", late)
    with pytest.raises(NotTaken, match="visit_one_per_station_and_date"), transaction.atomic():
        load(season())


def test_a_checked_upload_is_kept_once_while_it_waits() -> None:
    uploader = make_user("biologist")
    first, there = check_upload("season.csv", season(), by=uploader)
    assert not there
    assert not Visit.objects.exists()
    assert check_upload("again.csv", season(), by=uploader) == (first, True)
    taken = take(first, by=uploader)
    assert taken.changed
    assert check_upload("season.csv", season(), by=uploader) == (taken.upload, True)


def test_a_discarded_upload_cannot_be_taken() -> None:
    upload, _ = check_upload("season.csv", season(), by=None)
    discard(upload)
    with pytest.raises(NotTaken, match="discarded"):
        take(upload, by=None)
    assert not Visit.objects.exists()


def test_after_many_rows_the_database_knows_how_large_its_tables_are(monkeypatch: pytest.MonkeyPatch) -> None:
    """Else what is read next gets the plans of an empty table, minutes long for a county's seasons."""

    def rows() -> float:
        with connection.cursor() as cursor:
            cursor.execute("SELECT reltuples FROM pg_class WHERE relname = 'surveys_catch'")
            return cursor.fetchone()[0]

    with connection.cursor() as cursor:
        cursor.execute("ANALYZE surveys_catch")
    assert rows() == Catch.objects.count() == 0
    take(new_upload("few.csv", season_csv(*SEASON, **BASE), by=None), by=None)
    assert rows() == 0
    monkeypatch.setattr("surveys.uploads.commit.MANY_ROWS", 4)
    later = BASE | {"visit_date": "2025-07-16"}
    take(new_upload("many.csv", season_csv(*SEASON, **later), by=None), by=None)
    assert rows() == Catch.objects.count() > 0


def test_the_key_of_another_sheet_is_not_taken_for_a_column_misspelt() -> None:
    """The sheets of a workbook hang together by keys; to rename one would put numbers where days belong."""
    file = b"visit_id,pass,taxon,count\n17,1,Creek Chub,4\n"
    found = [
        f for f in prepare("catches.csv", file).findings if f.code in ("missing_column", "unknown_column")
    ]
    assert {f.column for f in found} == {"station", "visit_date", "visit_id"}
    assert not [f.remedy for f in found if "ename" in f.remedy]
