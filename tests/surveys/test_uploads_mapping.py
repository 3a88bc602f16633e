"""Files of another layout: long and wide, several sheets, other headings. Pure code."""

import io
import zipfile
from typing import Any

import openpyxl
import pytest

from surveys.uploads.mapping import convert
from surveys.uploads.mapping_proposal import fits, propose
from surveys.uploads.mapping_spec import FileMapping, Role, SheetMapping, from_plain
from surveys.uploads.reader import RawSheet, read_sheets

TAXA = {"creek chub", "blacknose dace", "bluegill"}


def sheet(name: str, *rows: str) -> RawSheet:
    return RawSheet(name=name, rows=tuple(tuple(row.split(",")) for row in rows))


def read(*sheets: RawSheet, mapping: FileMapping | None = None, **more: Any) -> Any:
    spec = mapping or propose(sheets, TAXA)
    plain = spec.as_plain() | more
    return convert(sheets, from_plain(plain))


def brief(mapped: Any) -> list[tuple[str, ...]]:
    return [
        tuple(row.get(name, "") for name in ("station", "visit_date", "pass", "taxon", "count"))
        for row in mapped.rows
    ]


LONG = sheet(
    "Catches",
    "Site,Date,Run,Species,Number,Weight",
    "WIL-01,2024-07-16,1,Creek Chub,12,148.5",
    "WIL-01,2024-07-16,2,Creek Chub,5,",
)
CHUB = [
    ("WIL-01", "2024-07-16", "1", "Creek Chub", "12"),
    ("WIL-01", "2024-07-16", "2", "Creek Chub", "5"),
]


def test_a_long_table_with_other_headings_is_understood() -> None:
    mapped = read(LONG)
    assert brief(mapped) == CHUB
    assert mapped.rows[0]["biomass_g"] == "148.5"
    assert mapped.sources == (("Catches", 2), ("Catches", 3))
    assert mapped.findings == ()


def test_a_column_for_each_pass() -> None:
    wide = sheet(
        "2024",
        "Site,Date,Species,Pass 1,Pass 2,P1 weight",
        "WIL-01,2024-07-16,Creek Chub,12,5,148.5",
        "WIL-01,2024-07-16,Bluegill,1,0,",
    )
    mapped = read(wide)
    assert brief(mapped) == [*CHUB, ("WIL-01", "2024-07-16", "1", "Bluegill", "1")]
    assert mapped.rows[0]["biomass_g"] == "148.5"
    assert "biomass_g" not in mapped.rows[1]


def test_one_weight_for_both_passes_is_counted_with_neither() -> None:
    """148.5 g of one line are not 148.5 g in each pass, and 1200 s are not the effort of the first pass."""
    wide = sheet(
        "2024",
        "Site,Date,Species,Pass 1,Pass 2,Weight,Effort",
        "WIL-01,2024-07-16,Creek Chub,12,5,148.5,1200",
        "WIL-01,2024-07-16,Bluegill,1,,9,1200",
        "WIL-01,2024-07-16,Blacknose Dace,3,0,4,1200",
    )
    mapped = read(wide)
    assert [(row["taxon"], row["pass"], row.get("biomass_g")) for row in mapped.rows] == [
        ("Creek Chub", "1", None),
        ("Creek Chub", "2", None),
        ("Bluegill", "1", "9"),
        ("Blacknose Dace", "1", "4"),
    ]
    assert not any("effort_s" in row for row in mapped.rows)
    told = [(f.code, f.column, f.row) for f in mapped.findings]
    assert told == [("value_of_several", "biomass_g", 2), ("value_of_several", "effort_s", 2)]
    assert "on each of 3 lines" in mapped.findings[1].message


def test_what_the_gear_was_set_to_a_doubt_and_a_zero_hold_for_each_pass_of_a_line() -> None:
    """Nothing of them is counted twice, and left out they would be lost."""
    wide = sheet(
        "2024",
        "Site,Date,Species,Pass 1,Pass 2,Netters,Volts,Unsure,Anomalies",
        "WIL-01,2024-07-16,Creek Chub,12,5,2,300,1,0",
    )
    mapped = read(wide)
    names = ("netters", "volts_first", "unsure", "anomalies")
    assert [tuple(map(row.get, names)) for row in mapped.rows] == [("2", "300", "1", "0")] * 2
    assert mapped.findings == ()


def test_a_weight_of_the_pass_is_left_and_the_one_of_the_line_is_not() -> None:
    wide = sheet(
        "2024",
        "Site,Date,Species,Pass 1,Pass 2,P1 weight,Weight",
        "WIL-01,2024-07-16,Creek Chub,12,5,100,148.5",
    )
    assert [row.get("biomass_g") for row in read(wide).rows] == ["100", None]


def test_one_weight_for_all_species_is_counted_with_none_of_them() -> None:
    wide = sheet(
        "2024",
        "Site,Date,Run,Creek Chub,Bluegill,Weight,Effort",
        "WIL-01,2024-07-16,1,12,1,905,640",
        "WIL-01,2024-07-16,2,5,0,205,610",
    )
    mapped = read(wide)
    assert [(row["pass"], row["taxon"], row.get("biomass_g"), row["effort_s"]) for row in mapped.rows] == [
        ("1", "Creek Chub", None, "640"),
        ("1", "Bluegill", None, "640"),
        ("2", "Creek Chub", "205", "610"),
    ]
    assert [(f.code, f.column, f.row) for f in mapped.findings] == [("value_of_several", "biomass_g", 2)]


def test_a_column_for_each_species() -> None:
    wide = sheet(
        "2024",
        "Site,Date,Run,Creek Chub,Bluegill,Effort",
        "WIL-01,2024-07-16,1,12,1,640",
        "WIL-01,2024-07-16,2,5,,610",
    )
    mapped = read(wide)
    assert sorted(brief(mapped)) == sorted([*CHUB, ("WIL-01", "2024-07-16", "1", "Bluegill", "1")])
    assert {row["pass"]: row["effort_s"] for row in mapped.rows} == {"1": "640", "2": "610"}


def test_a_pass_with_zeros_only_is_no_fish_and_an_empty_one_is_not() -> None:
    wide = sheet(
        "2024",
        "Site,Date,Run,Creek Chub,Bluegill",
        "WIL-01,2024-07-16,1,12,0",
        "WIL-01,2024-07-16,2,0,0",
        "WIL-02,2024-07-17,1,,",
    )
    mapped = read(wide)
    assert brief(mapped) == [CHUB[0], ("WIL-01", "2024-07-16", "2", "no fish", "0")]
    assert "WIL-02 on 2024-07-17 has no catch" in mapped.findings[0].message


def test_sheets_of_visits_passes_and_catches_are_joined() -> None:
    visits = sheet("Visits", "Site,Date,Water temp,Leader", "WIL-01,2024-07-16,18.5,K. L.")
    passes = sheet("Passes", "Site,Date,Run,Effort", "WIL-01,2024-07-16,1,640", "WIL-01,2024-07-16,2,610")
    mapped = read(visits, passes, LONG)
    assert brief(mapped) == CHUB
    assert [row["effort_s"] for row in mapped.rows] == ["640", "610"]
    assert {(row["water_temp_c"], row["crew_lead"]) for row in mapped.rows} == {("18.5", "K. L.")}


def test_a_key_ties_the_sheets_of_a_workbook() -> None:
    visits = sheet("Visits", "Visit ID,Site,Date", "7,WIL-01,2024-07-16")
    catches = sheet("Catches", "Visit ID,Run,Species,Number", "7,1,Creek Chub,12", "9,1,Creek Chub,3")
    mapped = read(visits, catches)
    assert brief(mapped) == CHUB[:1]
    assert [(f.code, f.row) for f in mapped.findings] == [("no_visit_for_line", 3)]


def test_sheets_that_disagree_are_an_error() -> None:
    visits = sheet("Visits", "Site,Date,pH", "WIL-01,2024-07-16,7.1", "WIL-01,2024-07-16,7.4")
    assert [f.code for f in read(visits, LONG).findings] == ["sheets_disagree"]


def test_a_pass_on_record_without_a_catch_is_told_and_not_made_up() -> None:
    passes = sheet("Passes", "Site,Date,Run,Effort", "WIL-01,2024-07-16,3,600")
    mapped = read(passes, LONG)
    assert brief(mapped) == CHUB
    assert [f.code for f in mapped.findings] == ["no_catch_on_record"]


@pytest.mark.parametrize(
    ("text", "order", "day"),
    [
        ("16.07.2024", "dmy", "2024-07-16"),
        ("7/6/2024", "mdy", "2024-07-06"),
        ("7/6/2024", "dmy", "2024-06-07"),
        ("7/6/2024", "", "7/6/2024"),
        ("2024-7-6", "", "2024-07-06"),
        ("2024-07-06 00:00:00", "", "2024-07-06"),
        ("7/6/24", "mdy", "7/6/24"),
    ],
)
def test_days_are_read_in_the_order_that_was_said_and_never_guessed(text: str, order: str, day: str) -> None:
    table = sheet("2024", "Site,Date,Run,Species,Number", f"WIL-01,{text},1,Creek Chub,12")
    assert brief(read(table, date_order=order))[0][1] == day


def test_what_a_file_leaves_out_is_said_once() -> None:
    table = sheet("2024", "Site,Date,Species,Number", "Lower bridge,2024-07-16,Creek Chub,12")
    mapped = read(table, constants={"pass": "1", "method": "one-pass"}, stations={"lower bridge": "WIL-01"})
    assert brief(mapped) == CHUB[:1]
    assert mapped.rows[0]["method"] == "one-pass"


def test_decimal_commas_are_read_where_that_was_said() -> None:
    table = RawSheet(
        name="x",
        rows=(("Site", "Date", "Run", "Species", "Number", "Weight"),
              ("WIL-01", "2024-07-16", "1", "Creek Chub", "12", "148,5")),
    )  # fmt: skip
    assert read(table, decimal_comma=True).rows[0]["biomass_g"] == "148.5"
    assert read(table).rows[0]["biomass_g"] == "148,5"


def test_headings_below_a_title_are_found() -> None:
    table = sheet("2024", "Summer survey", "", *(",".join(row) for row in LONG.rows))
    mapping = propose([table], TAXA)
    assert mapping.sheets[0].heading_line == 3
    assert brief(convert([table], mapping)) == CHUB


def test_a_kept_mapping_fits_a_file_with_the_same_headings_only() -> None:
    mapping = from_plain(propose([LONG], TAXA).as_plain())
    assert fits(mapping, [sheet("Catches", "Remarks,Weight,Number,Species,Run,Date,Site", "x")])
    assert not fits(mapping, [sheet("Catches", "Weight,Number,Species,Run,Date,Place", "x")])
    assert not fits(mapping, [sheet("A", "Site"), sheet("B", "Site")])


@pytest.mark.parametrize(
    ("name", "code"), [("Catches", "heading_missing"), ("Gone", "sheet_missing")], ids=["heading", "sheet"]
)
def test_a_missing_sheet_or_heading_is_an_error(name: str, code: str) -> None:
    roles = {"Nowhere": Role(role="station")}
    mapping = FileMapping(sheets=(SheetMapping(sheet=name, heading_line=1, roles=roles),))
    assert code in {f.code for f in convert([LONG, sheet("Visits", "Site")], mapping).findings}


def workbook(**sheets: list[list[Any]]) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        made = book.create_sheet(name)
        for row in rows:
            made.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_every_sheet_of_a_workbook_is_read() -> None:
    content = workbook(Visits=[["Site", "Date"], ["WIL-01", 3]], Empty=[], Catches=[["Site"], ["WIL-02"]])
    sheets, findings = read_sheets("old.xlsx", content)
    assert [one.name for one in sheets] == ["Visits", "Catches"]
    assert findings == ()
    assert sheets[0].rows[1] == ("WIL-01", "3")


def with_stored(content: bytes, result: bytes) -> bytes:
    """The workbook as a spreadsheet program saves it: with the result beside each formula."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as read, zipfile.ZipFile(out, "w") as made:
        for name in read.namelist():
            part = read.read(name)
            part = part.replace(b"</f><v></v>", b"</f><v>" + result + b"</v>")
            made.writestr(name, part.replace(b"</f><v />", b"</f><v>" + result + b"</v>"))
    return out.getvalue()


def test_a_formula_without_a_stored_result_is_refused_and_never_an_empty_cell() -> None:
    content = workbook(A=[["Site", "Number"], ["WIL-01", "=5+7"]])
    (refused,) = read_sheets("old.xlsx", content)[1]
    assert (refused.code, "B2" in refused.message) == ("formula_without_value", True)


def test_the_stored_result_of_a_formula_is_read_and_the_person_is_told() -> None:
    # 999 is not 5 + 7: what is stored is read, nothing is worked out.
    content = with_stored(workbook(A=[["Site", "Number"], ["WIL-01", "=5+7"]]), b"999")
    sheets, (told,) = read_sheets("old.xlsx", content)
    assert sheets[0].rows[1] == ("WIL-01", "999")
    assert told.code == "formulas"


def test_a_workbook_of_hundreds_of_sheets_and_one_that_is_too_wide_are_refused() -> None:
    many = workbook(**{f"S{number}": [["a"]] for number in range(300)})
    assert [f.code for f in read_sheets("old.xlsx", many)[1]] == ["too_many_sheets"]
    wide = workbook(A=[[f"x{number}" for number in range(5_000)]])
    (refused,) = read_sheets("old.xlsx", wide)[1]
    assert "beyond column ZZ" in refused.message


def test_headings_merged_over_two_columns_are_read_with_the_line_below() -> None:
    merged = sheet(
        "1998",
        "County survey,,,,,,",
        "Site,Date,Species,Pass 1,,Pass 2,",
        ",,,Number,Weight,Number,Weight",
        "WIL-01,2024-07-16,Creek Chub,12,148.5,5,60",
    )
    mapped = read(merged)
    assert brief(mapped) == CHUB
    assert [row["biomass_g"] for row in mapped.rows] == ["148.5", "60"]
    assert mapped.sources[0] == ("1998", 4)


def test_a_row_of_data_below_a_gap_in_the_headings_is_no_heading() -> None:
    table = sheet("1998", "Site,Date,,Run,Species,Number", "WIL-01,2024-07-16,dry,1,Creek Chub,12")
    assert brief(read(table)) == CHUB[:1]


def test_a_column_right_of_the_last_heading_is_passed_over() -> None:
    table = sheet("1998", "Site,Date,Run,Species,Number", "WIL-01,2024-07-16,1,Creek Chub,12,seen twice")
    mapped = read(table)
    assert brief(mapped) == CHUB[:1]
    assert mapped.findings == ()


def test_day_numbers_of_a_spreadsheet_are_read_where_that_was_said() -> None:
    # 45489 is 2024-07-16 in the 1900 date system, counted from 1899-12-30; common practice, no source.
    table = sheet("2024", "Site,Date,Run,Species,Number", "WIL-01,45489,1,Creek Chub,12")
    assert brief(read(table, date_order="serial"))[0][1] == "2024-07-16"
    assert brief(read(table))[0][1] == "45489"  # not guessed


@pytest.mark.parametrize(
    ("name", "content", "code"),
    [
        ("old.xls", b"x", "wrong_ending"),
        ("old.xlsx", b"PK\x03\x04broken", "not_a_workbook"),
        ("old.csv", b"", "empty_file"),
        ("old.csv", b"a,b\n\xff\xfe\n", "encoding"),
        ("old.csv", b"a\n1\n2\n3\n4\n", "too_many_rows"),
        ("old.xlsx", workbook(A=[["a"]] * 3, B=[["a"]] * 3), "too_many_rows"),
    ],
    ids=["old kind", "broken", "empty", "not UTF-8", "long text", "long workbook"],
)
def test_the_limits_of_the_reader_hold(name: str, content: bytes, code: str) -> None:
    sheets, findings = read_sheets(name, content, limit_rows=4)
    assert sheets == ()
    assert [f.code for f in findings][:1] == [code]


def test_what_a_field_sheet_says_beyond_the_catch_is_understood_too() -> None:
    """Columns of the pass and of the visit go to every row, days and decimal commas are read as elsewhere."""
    visits = sheet(
        "Visits",
        "Visit,Site,Date,Air temp,Calibrated,Widths,Run,Start time,No anodes",
        "1,WIL-01,16.07.2024,24.5,15.07.2024,3.1; 3.4,1,09:00,2",
    )
    fish = sheet("Fish", "Visit,Run,Species,Number,Dead,Released", "1,1,Creek Chub,12,1,11")
    (row,) = read(visits, fish, date_order="dmy").rows
    told = ("air_temp_c", "calibrated_on", "widths_m", "started_at", "anodes", "died", "released")
    assert [row[name] for name in told] == ["24.5", "2024-07-15", "3.1; 3.4", "09:00", "2", "1", "11"]


def test_fates_of_each_pass_have_a_column_of_their_own() -> None:
    wide = sheet("2024", "Site,Date,Species,Pass 1,P1 dead,Pass 2", "WIL-01,2024-07-16,Creek Chub,12,1,5")
    assert [row.get("died") for row in read(wide).rows] == ["1", None]
