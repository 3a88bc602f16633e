"""Land-use notes and land cover from files: whole or not at all, every fault with its place and remedy."""

import datetime
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from surveys.models import Station, Watershed
from trends.import_columns import parse_written_date
from trends.imports import load_land_cover, load_notes
from trends.models import LandCover, LandUseNote, StaleStation

pytestmark = pytest.mark.django_db
HEADINGS = "watershed,station,category,starts_on,ends_on,title,text,source,public\n"


@pytest.fixture(autouse=True)
def places() -> None:
    for name, slug in (("Wend Creek", "wend-creek"), ("Other Run", "other-run")):
        place = Watershed.objects.create(name=name, slug=slug)
        Station.objects.create(code=f"{slug[:4].upper()}-01", watershed=place, stream=name)


def notes(*rows: str) -> bytes:
    return (HEADINGS + "\n".join(rows) + "\n").encode()


@pytest.mark.parametrize(
    ("written", "first", "last", "precision"),
    [
        ("2014-06-20", "2014-06-20", "2014-06-20", "day"),
        ("2016-02", "2016-02-01", "2016-02-29", "month"),
        ("2014", "2014-01-01", "2014-12-31", "year"),
        ("1970s", "1970-01-01", "1979-12-31", "decade"),
    ],
)
def test_a_date_is_kept_as_exactly_as_it_is_written(
    written: str, first: str, last: str, precision: str
) -> None:
    day = datetime.date.fromisoformat
    assert parse_written_date(written) == (day(first), day(last), precision)


def test_notes_are_inserted_and_then_updated_in_place() -> None:
    first = load_notes(
        "n.csv", notes("Wend Creek,WEND-01,road,2014-05,2014-08,Bridge,New span,Road office,1")
    )
    assert (first.created, first.updated, first.same) == (1, 0, 0)
    again = load_notes("n.csv", notes("wend-creek,WEND-01,road or crossing,2014-05,2015,Bridge,New span,,0"))
    assert (again.created, again.updated, again.same) == (0, 1, 0)
    note = LandUseNote.objects.get()
    assert (note.category, note.ends_on, note.date_precision) == ("road", datetime.date(2015, 12, 31), "year")
    assert (note.source, note.public) == ("", False)
    same = load_notes("n.csv", notes("wend-creek,WEND-01,road,2014-05,2015,Bridge,New span,,0"))
    assert (same.created, same.updated, same.same) == (0, 0, 1)


def test_one_bad_row_keeps_every_row_out() -> None:
    result = load_notes(
        "n.csv",
        notes(
            "Wend Creek,,road,2014,,Good,,,1",
            "Wendd Creek,,bridge,2014-13,,Bad,,,1",
            "Wend Creek,OTHE-01,road,2014,2013,Elsewhere,,,1",
            "Wend Creek,,road,2014,,Good,,,1",
            "Wend Creek,,road,2014,,,,,maybe",
        ),
    )
    found = {(f.row, f.column, f.code) for f in result.findings if f.level == "error"}
    assert found == {
        (3, "watershed", "unknown_watershed"),
        (3, "category", "not_a_choice"),
        (3, "starts_on", "bad_date"),
        (4, "station", "station_elsewhere"),
        (4, "ends_on", "ends_before_it_starts"),
        (5, "title", "duplicate_row"),
        (6, "title", "required_blank"),
        (6, "public", "not_a_choice"),
    }
    assert all(f.remedy for f in result.findings if f.level == "error")
    assert not LandUseNote.objects.exists()


def test_a_withdrawn_note_does_not_come_back_by_itself() -> None:
    content = notes("Wend Creek,,road,2014,,Bridge,,,1")
    load_notes("n.csv", content)
    LandUseNote.objects.update(withdrawn_at=timezone.now(), withdrawn_why="wrong creek")
    result = load_notes("n.csv", content)
    assert result.created == 0
    assert [f.code for f in result.findings] == ["was_withdrawn"]
    assert not LandUseNote.objects.current().exists()


def test_only_the_watershed_of_a_changed_note_is_marked() -> None:
    content = notes("Wend Creek,,survey,2020-03,2020-12,No season,,,1")
    load_notes("n.csv", content, dry_run=True)
    assert not StaleStation.objects.exists()
    load_notes("n.csv", content)
    assert list(StaleStation.objects.values_list("station__code", flat=True)) == ["WEND-01"]
    StaleStation.objects.all().delete()
    load_notes("n.csv", content)
    assert not StaleStation.objects.exists()


def test_land_cover_is_inserted_and_updated() -> None:
    head = "watershed,year,impervious_pct,forest_pct\n"
    assert (
        load_land_cover("c.csv", (head + "Wend Creek,2016,12.5,40\nOther Run,2016,,\n").encode()).created == 2
    )
    changed = load_land_cover("c.csv", (head + "Wend Creek,2016,13,40\n").encode())
    assert (changed.created, changed.updated) == (0, 1)
    assert LandCover.objects.get(watershed__slug="wend-creek").impervious_pct == 13
    assert LandCover.objects.get(watershed__slug="other-run").impervious_pct is None


def test_shares_beyond_the_possible_are_refused_whole() -> None:
    head = "watershed,year,impervious_pct,forest_pct\n"
    rows = "Wend Creek,2016,70,40\nWend Creek,2017,101,\nNo Creek,2016,1,1\nOther Run,2016,5,5\n"
    result = load_land_cover("c.csv", (head + rows).encode())
    assert [(f.row, f.code) for f in result.findings] == [
        (2, "above_100"),
        (3, "out_of_range"),
        (4, "unknown_watershed"),
    ]
    assert not LandCover.objects.exists()


def test_shares_are_added_up_with_what_is_stored_where_a_column_is_left_out() -> None:
    load_land_cover("c.csv", b"watershed,year,impervious_pct,forest_pct\nWend Creek,2016,10,60\n")
    result = load_land_cover("c.csv", b"watershed,year,impervious_pct\nWend Creek,2016,50\n")
    assert [f.code for f in result.findings] == ["above_100"]
    assert LandCover.objects.get().impervious_pct == 10


def test_the_commands_report_and_refuse_in_one_line(tmp_path: Path) -> None:
    good, bad = tmp_path / "good.csv", tmp_path / "bad.csv"
    good.write_bytes(notes("Wend Creek,,road,2014,,Bridge,,,1"))
    bad.write_bytes(notes("Wend Creek,,road,never,,Bridge,,,1"))
    out = StringIO()
    call_command("load_notes", str(good), "--dry-run", stdout=out)
    assert "1 note would be added" in out.getvalue()
    assert not LandUseNote.objects.exists()
    with pytest.raises(CommandError, match=r"Nothing was stored: 1 error in bad\.csv"):
        call_command("load_notes", str(bad), stdout=StringIO(), stderr=StringIO())
    with pytest.raises(CommandError, match="There is no file"):
        call_command("load_land_cover", str(tmp_path / "none.csv"))


def test_recompute_says_what_it_would_do_and_does_it() -> None:
    out = StringIO()
    call_command("recompute", "--watershed", "wend-creek", "--all", "--dry-run", stdout=out)
    assert "1 station would be computed: WEND-01" in out.getvalue()
    assert not StaleStation.objects.exists()
    call_command("recompute", "--watershed", "wend-creek", "--all", stdout=out)
    assert "1 watershed computed" in out.getvalue()
    with pytest.raises(CommandError, match=r"no watershed nowhere\. Known: other-run, wend-creek"):
        call_command("recompute", "--watershed", "nowhere")
