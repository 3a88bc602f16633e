"""Bytes to rows. The text layout is RFC 4180 (commas, CRLF, doubled quotation marks)."""

import csv
import datetime
import io
import zipfile

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from surveys.uploads import workbook
from surveys.uploads.reader import Table, read_table
from surveys.uploads.stored_results import StoredResults


def codes(table: Table) -> list[str]:
    return [finding.code for finding in table.findings]


def xlsx(*rows: list[object]) -> bytes:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"], ids=["lf", "crlf", "cr"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"], ids=["plain", "with mark"])
def test_utf8_text_is_read_with_any_line_end(end: bytes, mark: bytes) -> None:
    table = read_table("s.csv", mark + end.join([b"station,count", "Bäch-1,2".encode(), b""]))
    assert table.headings == ("station", "count")
    assert table.columns == (["Bäch-1"], ["2"])
    assert table.findings == ()


@pytest.mark.parametrize(("sign", "word"), [(";", "semicolon"), ("\t", "tab")])
def test_other_separators_are_accepted_and_reported(sign: str, word: str) -> None:
    table = read_table("s.csv", f"station{sign}count\nA{sign}2\n".encode())
    assert table.columns == (["A"], ["2"])
    assert codes(table) == ["separator"]
    assert word in table.findings[0].message


def test_a_separator_line_is_not_a_heading() -> None:
    table = read_table("s.csv", b"sep=;\r\nstation;count\r\nA;2\r\n")
    assert table.headings == ("station", "count")
    assert table.row_numbers == (3,)


def test_a_comma_in_the_text_of_a_semicolon_file_stays_text() -> None:
    table = read_table("s.csv", b"station;notes;count\nA;high, muddy;2\n")
    assert table.columns[1] == ["high, muddy"]


def test_line_numbers_are_those_of_the_spreadsheet() -> None:
    text = 'station,notes\nA,"two\nlines"\n\nB,one\n'
    table = read_table("s.csv", text.encode())
    assert table.row_numbers == (2, 4)
    assert table.columns[1] == ["two\nlines", "one"]


def test_latin_1_is_refused_and_the_line_is_named() -> None:
    table = read_table("s.csv", "station,count\nA,1\nBäch,2\n".encode("latin-1"))
    assert codes(table) == ["encoding"]
    assert table.findings[0].row == 3
    assert "UTF-8" in table.findings[0].remedy


def test_every_line_of_the_wrong_encoding_is_named() -> None:
    table = read_table("s.csv", "ä\nb\nü\n".encode("latin-1"))
    assert [finding.row for finding in table.findings] == [1, 3]


def test_utf_16_is_refused_with_the_way_out() -> None:
    table = read_table("s.csv", "station,count\nA,1\n".encode("utf-16"))
    assert codes(table) == ["encoding"]


@pytest.mark.parametrize("content", [b"", b"\n\n", b"\xef\xbb\xbf", b" \r\n"])
def test_an_empty_file_is_refused(content: bytes) -> None:
    assert codes(read_table("s.csv", content)) == ["empty_file"]


def test_headings_alone_are_refused() -> None:
    assert codes(read_table("s.csv", b"station,count\n")) == ["only_headings"]


def test_cells_of_commas_alone_are_an_empty_file() -> None:
    assert codes(read_table("s.csv", b",,\n,,\n")) == ["empty_file"]


def test_rows_of_another_length_are_named_all_at_once() -> None:
    table = read_table("s.csv", b"a,b\n1\n1,2\n1,2,3\n1,2,\n")
    assert [(f.code, f.row) for f in table.findings] == [("ragged_row", 2), ("ragged_row", 4)]
    assert table.row_numbers == (3, 5)


TITLED = [
    ["Quillomby County, season of 2023"],
    ["station", "visit_date", "pass", "taxon", "count"],
    ["A", 1, 1, "x", 2],
]


def test_a_title_over_the_table_is_told_as_such_and_no_row_is_blamed() -> None:
    """People merge a line of cells for a heading; every row below would else be "too long"."""
    table = read_table("season.xlsx", xlsx(*TITLED))
    assert codes(table) == ["title_above"]
    (said,) = table.findings
    assert said.row == 1 and said.value == "Quillomby County, season of 2023"
    assert "fills 1 of the 5 columns that line 2 fills" in said.message
    assert "Delete the lines above the headings" in said.remedy


@pytest.mark.parametrize("title", ["County,,,,", "County\r\n", "\r\nCounty,2023,,,"])
def test_a_title_is_seen_in_text_too(title: str) -> None:
    text = f"{title}\r\nstation,visit_date,pass,taxon,count\r\nA,2023-07-16,1,x,2\r\n"
    assert codes(read_table("season.csv", text.encode())) == ["title_above"]


def test_a_short_list_of_headings_is_no_title() -> None:
    """A list needs three columns at least; one row too long among them is a row too long."""
    assert codes(read_table("s.csv", b"station,watershed,stream\nA,B,C\nA,B,C,D,E,F\n")) == ["ragged_row"]


def test_an_open_quotation_mark_is_refused_with_its_row() -> None:
    table = read_table("s.csv", b'a,b\n1,2\n3,"4\n')
    assert codes(table) == ["bad_quotes"]
    assert table.findings[0].row == 3


def test_the_size_limit_is_named() -> None:
    table = read_table("s.csv", b"a,b\n" + b"1,2\n" * 600_000, limit_bytes=2 * 1024 * 1024)
    assert codes(table) == ["too_large"]
    assert "the limit is 2 MB" in table.findings[0].message


def test_the_row_limit_holds_at_its_edge() -> None:
    assert read_table("s.csv", b"a,b\n" + b"1,2\n" * 5, limit_rows=5).row_count == 5
    assert codes(read_table("s.csv", b"a,b\n" + b"1,2\n" * 6, limit_rows=5)) == ["too_many_rows"]


@pytest.mark.parametrize("name", ["s.pdf", "s", "s.xls", "s.xlsm", "s.ods"])
def test_other_endings_are_refused(name: str) -> None:
    assert codes(read_table(name, b"a,b\n1,2\n")) == ["wrong_ending"]


def test_a_picture_is_not_a_table() -> None:
    assert codes(read_table("s.csv", b"\x89PNG\r\n\x1a\n\x00\x00")) == ["not_a_table"]


def test_name_and_content_have_to_agree() -> None:
    assert codes(read_table("s.csv", xlsx(["a"], [1]))) == ["ending_disagrees"]
    assert codes(read_table("s.xlsx", b"a,b\n1,2\n")) == ["ending_disagrees"]


def test_a_column_without_heading_is_reported() -> None:
    table = read_table("s.csv", b"a,,b\n1,9,2\n")
    assert codes(table) == ["no_heading"]


def test_a_workbook_gives_the_text_a_person_would_type() -> None:
    day = datetime.date(2024, 7, 16)
    table = read_table("s.xlsx", xlsx(["d", "n", "x", "t", "e"], [day, 3.0, 2.5, " Bäch ", None]))
    assert [column[0] for column in table.columns] == ["2024-07-16", "3", "2.5", " Bäch ", ""]


def workbook_of(**sheets: list[list[object]]) -> openpyxl.Workbook:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    return book


def saved(book: openpyxl.Workbook) -> bytes:
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_a_formula_that_failed_is_no_empty_cell() -> None:
    """A spreadsheet stores the kind of the error in the cell (ECMA-376 part 1, 18.18.11, from memory)."""
    book = workbook_of(A=[["station", "biomass_g", "notes"], ["A", None, "x"], ["B", 2, None]])
    for place, error in (("B2", "#DIV/0!"), ("C3", "#N/A")):
        book["A"][place] = error
        book["A"][place].data_type = "e"
    table = read_table("s.xlsx", saved(book))
    assert table.columns == (["A", "B"], ["#DIV/0!", "2"], ["x", "#N/A"])


def test_an_error_without_a_text_takes_none_from_the_cell_beside_it() -> None:
    stored = StoredResults()
    stored.look_at(b'<c r="A2" t="e"/><c r="B2"><v>5</v></c><c r="C2" t="e"><v>#N/A</v></c>')
    assert stored.errors == {(1, 2): "#N/A"}


@pytest.mark.parametrize(("failed", "rows"), [("B", 1), ("AB", 3)], ids=["ahead of the data", "a whole row"])
def test_formulas_filled_down_below_the_data_make_no_rows(failed: str, rows: int) -> None:
    """A column that looks something up stands ready for rows to come; a row that failed whole is not passed over."""
    book = workbook_of(A=[["station", "lookup"], ["A", None]])
    for place in ("B2", *(f"{column}{row}" for row in (3, 4) for column in failed)):
        book["A"][place] = "#N/A"
        book["A"][place].data_type = "e"
    table = read_table("s.xlsx", saved(book))
    assert table.row_count == rows
    assert table.row(0) == ["A", "#N/A"]


def test_a_mark_of_a_workbook_is_a_word_and_no_number() -> None:
    assert read_table("s.xlsx", xlsx(["hybrid", "count"], [True, False])).row(0) == ["TRUE", "FALSE"]


def test_a_hidden_sheet_is_passed_over_and_the_one_that_was_read_is_named() -> None:
    """What a person sees first on opening the workbook is what is read."""
    book = workbook_of(Lists=[["taxon"], ["old"]], Season=[["station"], ["A"]])
    book["Lists"].sheet_state = "hidden"
    table = read_table("s.xlsx", saved(book))
    assert table.headings == ("station",)
    assert codes(table) == ["other_sheets"]
    assert "only the first that is not hidden, “Season”, was read" in table.findings[0].message


def test_a_formula_on_a_sheet_that_is_not_read_refuses_nothing() -> None:
    formula = [["x"], ["=1+1"]]
    first = workbook_of(Season=[["station"], ["A"]], Sums=formula)
    assert codes(read_table("s.xlsx", saved(first))) == ["other_sheets"]
    # The parts of the archive are numbered in another order than the sheets stand in.
    first.move_sheet("Sums", -1)
    assert "formula_without_value" in codes(read_table("s.xlsx", saved(first)))


def test_empty_rows_of_a_workbook_count_as_lines() -> None:
    table = read_table("s.xlsx", xlsx(["a"], [1], [], [2]))
    assert table.row_numbers == (2, 4)


def test_an_encrypted_or_old_workbook_is_refused() -> None:
    assert codes(read_table("s.xlsx", b"\xd0\xcf\x11\xe0" + b"\x00" * 600)) == ["locked_workbook"]


def _zip(entries: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in entries.items():
            archive.writestr(name, content)
    return out.getvalue()


def test_macros_are_refused() -> None:
    content = _zip({"xl/workbook.xml": b"<a/>", "xl/vbaProject.bin": b"x"})
    assert codes(read_table("s.xlsx", content)) == ["macros"]


@pytest.mark.parametrize("part", ["xl/workbook.xml", "xl/sharedStrings.xml", "xl/worksheets/sheet1.xml"])
def test_a_part_that_declares_entities_is_refused_unread(part: str) -> None:
    """Entities unfold without end or fetch other files (OWASP ASVS 5.0, 1.5.1); no spreadsheet writes any."""
    doubling = b'<!DOCTYPE a [<!ENTITY b "ha"><!ENTITY c "&b;&b;">]><a>&c;</a>'
    content = _zip({"xl/workbook.xml": b"<a/>"} | {part: b'<?xml version="1.0"?>' + doubling})
    (said,) = read_table("s.xlsx", content).findings
    assert said.code == "declarations" and part.rpartition("/")[2] in said.message


def test_a_workbook_that_unpacks_too_large_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workbook, "MOST_UNPACKED_BYTES", 1_000_000)
    content = _zip({"xl/workbook.xml": b"<a/>", "xl/media/x.bin": b"0" * 1_000_001})
    assert len(content) < 10_000
    assert codes(read_table("s.xlsx", content)) == ["workbook_too_large"]


def test_a_workbook_with_too_many_parts_is_refused() -> None:
    content = _zip({f"xl/part{i}.xml": b"" for i in range(workbook.MOST_ENTRIES + 1)})
    assert codes(read_table("s.xlsx", content)) == ["workbook_too_large"]


def test_an_archive_that_lies_about_its_size_is_refused() -> None:
    content = _zip({"xl/workbook.xml": b"<a/>", "xl/media/x.bin": b"0" * 50_000})
    lie = content.replace((50_000).to_bytes(4, "little"), (10).to_bytes(4, "little"))
    assert lie != content
    assert codes(read_table("s.xlsx", lie)) == ["not_a_workbook"]


@pytest.mark.parametrize("corner", ["XFD1048576", "AAA1", "A1048576"])
def test_a_cell_in_the_far_corner_is_refused_before_the_grid_is_built(corner: str) -> None:
    book = openpyxl.Workbook()
    book.active["A1"] = "station"
    book.active[corner] = 1
    out = io.BytesIO()
    book.save(out)
    assert codes(read_table("s.xlsx", out.getvalue())) == ["workbook_too_large"]


@pytest.mark.parametrize("row", [b'<row r="1048576" ht="12.8"/>', b'<row r="1048576" ht="12.8"></row>'])
def test_a_last_row_without_a_cell_is_no_far_corner(row: bytes) -> None:
    """Some programs write it where a whole column was formatted (common practice, no source)."""

    def with_row(cells: bytes) -> bytes:
        made = io.BytesIO()
        with zipfile.ZipFile(io.BytesIO(xlsx(["station"], ["A"]))) as read, zipfile.ZipFile(made, "w") as out:
            for name in read.namelist():
                out.writestr(name, read.read(name).replace(b"</sheetData>", cells + b"</sheetData>"))
        return made.getvalue()

    assert read_table("s.xlsx", with_row(row)).columns == (["A"],)
    far = b'<row r="1048576"><c r="A1048576"><v>1</v></c></row>'
    assert codes(read_table("s.xlsx", with_row(far))) == ["workbook_too_large"]
    hidden = b'<row a="/>" r="1048576"><c r="A1048576"><v>1</v></c></row>'
    assert codes(read_table("s.xlsx", with_row(hidden))) == ["workbook_too_large"]


def test_a_damaged_workbook_is_refused() -> None:
    assert codes(read_table("s.xlsx", b"PK\x03\x04" + b"\x01" * 100)) == ["not_a_workbook"]


_cell = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=12)
_row = st.lists(_cell, min_size=3, max_size=3).filter(lambda row: any(cell.strip() for cell in row))


@given(st.lists(_row, min_size=1, max_size=6), st.sampled_from([",", ";", "\t"]))
def test_what_a_csv_writer_wrote_is_read_back(rows: list[list[str]], separator: str) -> None:
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=separator)
    writer.writerow(["station", "taxon", "notes"])
    writer.writerows(rows)
    table = read_table("s.csv", out.getvalue().encode())
    assert [list(row) for row in zip(*table.columns, strict=True)] == rows
