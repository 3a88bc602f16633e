"""CSV that leaves the building: RFC 4180, safe in a spreadsheet, numbers untouched."""

import csv
import datetime
import io

import pandas as pd
import pytest

from surveys.uploads.values import guarded, unguarded
from trends.exports.tables import Column, cell, write_csv

COLUMNS = (
    Column(key="name", kind="string", text="Name"),
    Column(key="longitude", kind="number", text="Longitude", unit="degree"),
)


def written(*rows: dict[str, object]) -> str:
    text = io.StringIO(newline="")
    write_csv(text, COLUMNS, rows)
    return text.getvalue()


# The starts that OWASP ASVS 5.0, item 1.2.10, names, and carriage return, common practice.
@pytest.mark.parametrize("text", ["=1+1", "+1", "-2+3", "@x", "\t=1", "\r=1", "\0x", "'=1"])
def test_text_that_could_run_gets_an_apostrophe(text: str) -> None:
    assert guarded(text) == f"'{text}"
    assert unguarded(guarded(text)) == text


@pytest.mark.parametrize("text", ["Mill Creek", "'quoted'", "a=b", "", "é☃"])
def test_other_text_stays_as_it_is(text: str) -> None:
    assert guarded(text) == text
    assert unguarded(text) == text


def test_numbers_keep_their_sign() -> None:
    text = written({"name": "-77.1", "longitude": -77.1})
    assert text == "name,longitude\r\n'-77.1,-77.1\r\n"


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (None, ""),
        (0, "0"),
        (0.0, "0.0"),
        (0.1 + 0.2, "0.30000000000000004"),
        (True, "true"),
        (datetime.date(2024, 2, 29), "2024-02-29"),
        (float("nan"), ""),
        (float("inf"), ""),
    ],
)
def test_missing_is_empty_and_zero_is_zero(value: object, expected: str) -> None:
    assert cell(value) == expected


def test_nasty_text_comes_back_whole() -> None:
    """Read back with the csv module and with pandas, both independent of the writer's rules."""
    names = ['a,"b"', "line\r\nbreak", "007", "é☃", "  spaced  ", "semi;colon"]
    text = written(*({"name": name, "longitude": -1.5} for name in names))
    assert [row["name"] for row in csv.DictReader(io.StringIO(text, newline=""))] == names
    frame = pd.read_csv(io.BytesIO(text.encode()), dtype=str, keep_default_na=False)
    assert [n.replace("\r\n", "\n") for n in frame["name"]] == [n.replace("\r\n", "\n") for n in names]


def test_every_line_ends_in_crlf() -> None:
    lines = written({"name": "a", "longitude": 1.0}, {"name": "b"}).encode().split(b"\n")
    assert lines[-1] == b""
    assert all(line.endswith(b"\r") for line in lines[:-1])
