"""One cell: what is read, what is refused, and that the published schema says the same."""

import csv
import datetime
import io
import json
import re
from typing import Any

import frictionless
import pytest

from surveys.models import (
    GEAR_LIMITS,
    REACH_LIMITS,
    WATER_LIMITS,
    Catch,
    Rank,
    RemovalPass,
    Tolerance,
    TrophicGuild,
    Visit,
)
from surveys.uploads.columns import (
    FIELD_COLUMNS,
    GUILDS,
    RANKS,
    SEASON_FILE,
    STATION_LIST,
    TAXON_LIST,
    TOLERANCES,
    Column,
)
from surveys.uploads.field_columns import SAFETY_CHECKS
from surveys.uploads.schema import SCHEMA_FILE, example_text, schema_text, season_schema
from surveys.uploads.values import CellError, fold

SEASON = {column.name: column for column in SEASON_FILE}


@pytest.mark.parametrize("column", [*SEASON_FILE, *STATION_LIST, *TAXON_LIST], ids=lambda c: c.name)
def test_every_column_reads_its_own_example(column: Column) -> None:
    if column.example:
        assert column.read(column.example) is not None


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("visit_date", "2024-02-29", datetime.date(2024, 2, 29)),
        ("count", "12", 12),
        ("count", "12.0", 12),
        ("count", "+3", 3),
        ("biomass_g", "1.5e2", 150.0),
        ("biomass_g", "0.", 0.0),
        ("biomass_g", ".5", 0.5),
        ("water_temp_c", "-0.5", -0.5),
        ("stop_nets", "Both", "both"),
        ("started_at", "9:40", datetime.time(9, 40)),
        ("ended_at", "14:05:30", datetime.time(14, 5, 30)),
        ("waveform", "PULSED dc", "pulsed DC"),
        ("conductivity_basis", "25 c", "25 C"),
        ("widths_m", "3.1; 3.4;", (3.1, 3.4)),
        ("checks_made", "trained; First Aid", ("trained", "first aid")),
        ("estimated", "yes", True),
    ],
)
def test_a_lawful_cell_is_read(name: str, text: str, value: Any) -> None:
    assert SEASON[name].read(text) == value


@pytest.mark.parametrize(
    ("name", "text", "code"),
    [
        ("visit_date", "2023-02-29", "bad_date"),
        ("visit_date", "2024-7-16", "bad_date"),
        ("visit_date", "20240716", "bad_date"),
        ("visit_date", "2024-07-16 10:00:00", "bad_date"),
        ("visit_date", "03/04/2024", "ambiguous_date"),
        ("visit_date", "3.4.2024", "ambiguous_date"),
        ("visit_date", "16/07/2024", "bad_date"),
        ("visit_date", "04/04/2024", "bad_date"),
        ("visit_date", "45489", "bad_date"),
        ("visit_date", "２０２４-07-16", "bad_date"),
        ("pass", "0", "out_of_range"),
        ("pass", "51", "out_of_range"),
        ("count", "-1", "negative"),
        ("count", "2.5", "not_a_whole_number"),
        ("count", "about 200", "not_a_whole_number"),
        ("count", "NA", "not_a_whole_number"),
        ("count", "1,200", "not_a_whole_number"),
        ("count", "١٢", "not_a_whole_number"),
        ("count", "12²", "not_a_whole_number"),
        ("count", "99999999999999999999", "out_of_range"),
        ("biomass_g", "12,5", "not_a_number"),
        ("biomass_g", "nan", "not_a_number"),
        ("biomass_g", "inf", "not_a_number"),
        ("biomass_g", "-3", "negative"),
        ("effort_s", "-1", "negative"),
        ("stop_nets", "left", "not_a_choice"),
        ("started_at", "24:00", "bad_time"),
        ("started_at", "9.40", "bad_time"),
        ("started_at", "9:40 pm", "bad_time"),
        ("widths_m", "3.1; wide", "not_a_number"),
        ("widths_m", "3.1, 3.4", "not_a_number"),
        ("widths_m", "3.1; 100.1", "out_of_range"),
        ("checks_made", "trained; lucky", "not_a_choice"),
        ("calibrated_on", "15/07/2024", "bad_date"),
        ("station", "a" * 61, "too_long"),
        ("notes", "a\x07b", "bad_text"),
        ("taxon", "#N/A", "bad_text"),
        ("biomass_g", "#div/0!", "bad_text"),
    ],
)
def test_an_unlawful_cell_is_refused_with_a_reason(name: str, text: str, code: str) -> None:
    with pytest.raises(CellError) as refusal:
        SEASON[name].read(text)
    assert refusal.value.code == code
    assert refusal.value.remedy


def test_a_limit_is_told_with_all_its_digits() -> None:
    with pytest.raises(CellError, match="0 to 1,000,000"):
        SEASON["count"].read("5000000")
    assert "at most 200,000" in SEASON["pass_biomass_g"].asks(5_000_000)


def test_an_ambiguous_date_is_asked_about_with_both_readings() -> None:
    with pytest.raises(CellError) as refusal:
        SEASON["visit_date"].read("03/04/2024")
    assert "2024-03-04" in refusal.value.remedy
    assert "2024-04-03" in refusal.value.remedy


@pytest.mark.parametrize("text", ["16/07/2024", "2024/7/16", "2024-7-16", "2024-07-16 10:00:00"])
def test_a_day_that_can_be_read_in_one_way_is_proposed(text: str) -> None:
    with pytest.raises(CellError, match=text) as refusal:
        SEASON["visit_date"].read(text)
    assert "2024-07-16" in refusal.value.remedy


def test_the_spreadsheet_day_number_is_translated_as_a_proposal() -> None:
    # 45489 is 2024-07-16 in the 1900 date system of spreadsheets (common practice, no source).
    with pytest.raises(CellError, match="2024-07-16"):
        SEASON["visit_date"].read("45489")


LIMITED = [c for c in SEASON_FILE if c.kind in ("integer", "number")]


@pytest.mark.parametrize("column", LIMITED, ids=lambda c: c.name)
def test_hard_limits_hold_at_their_edges(column: Column) -> None:
    step = 1 if column.kind == "integer" else 0.01
    for limit, outside in zip(column.hard, (-step, step), strict=True):
        assert limit is not None
        assert column.read(f"{limit:.10g}") == limit
        with pytest.raises(CellError):
            column.read(f"{limit + outside:.12g}")


@pytest.mark.parametrize("column", [c for c in LIMITED if c.ask != (None, None)], ids=lambda c: c.name)
def test_limits_that_ask_hold_at_their_edges(column: Column) -> None:
    for limit, outside in zip(column.ask, (-1, 1), strict=True):
        if limit is not None:
            assert column.asks(limit) == ""
            assert column.asks(limit + outside)


LIMITS = WATER_LIMITS | REACH_LIMITS | GEAR_LIMITS


@pytest.mark.parametrize("name", LIMITS)
def test_the_file_refuses_what_the_record_refuses(name: str) -> None:
    low, high, _ = LIMITS[name]
    assert SEASON[name].hard == (low, high)


MODELS = {"row": Catch, "pass": RemovalPass, "visit": Visit}


@pytest.mark.parametrize("column", FIELD_COLUMNS, ids=lambda c: c.name)
def test_each_column_of_the_field_sheet_fits_its_place_in_the_record(column: Column) -> None:
    """The same words, the same length, and the same value where nothing is given."""
    stored = MODELS[column.scope]._meta.get_field(column.stored_as)
    choices = getattr(stored, "base_field", stored).choices or ()
    if words := column.words or (SAFETY_CHECKS if column.name == "checks_made" else ()):
        assert {word for word, _ in choices} - {"", None} == set(words)
    elif stored.max_length:
        assert column.read("a" * stored.max_length)
        with pytest.raises(CellError):
            column.read("a" * (stored.max_length + 1))
    default = stored.get_default()
    assert (tuple(default) if isinstance(default, list) else default) in (column.blank, None)
    assert column.title


def test_the_columns_of_before_stand_first_and_unchanged() -> None:
    assert SEASON_FILE[-len(FIELD_COLUMNS) :] == FIELD_COLUMNS
    assert not any(column.required for column in FIELD_COLUMNS)


def test_the_words_of_the_taxon_list_are_those_of_the_record() -> None:
    assert set(TOLERANCES) == set(Tolerance.values) - {None}
    assert set(GUILDS) == set(TrophicGuild.values) - {None}
    assert set(RANKS) == set(Rank.values)


def test_names_are_compared_without_case_and_spaces() -> None:
    assert fold("  Creek \u00a0 CHUB ") == "creek chub"


def test_the_published_schema_is_in_step_with_the_columns() -> None:
    assert SCHEMA_FILE.read_text(encoding="utf-8") == schema_text()


def test_the_schema_is_a_lawful_table_schema() -> None:
    """Checked by the reference library of the Table Schema standard (specs.frictionlessdata.io)."""
    assert frictionless.Schema.metadata_validate(season_schema()) is not None
    schema = frictionless.Schema.from_descriptor(season_schema())
    assert schema.field_names == [column.name for column in SEASON_FILE]


def test_the_example_file_fits_the_schema() -> None:
    rows = list(csv.reader(io.StringIO(example_text())))
    descriptor = season_schema()
    descriptor["fields"] = [f for f in descriptor["fields"] if f["name"] in rows[0]]
    descriptor["fields"].sort(key=lambda f: rows[0].index(f["name"]))
    schema = frictionless.Schema.from_descriptor(descriptor)
    report = frictionless.validate(frictionless.Resource(data=rows, schema=schema))
    assert report.valid, report.flatten()


def test_schema_and_example_hold_no_odd_signs() -> None:
    assert json.loads(schema_text())["fields"]
    assert re.fullmatch(r"[\x20-\x7e\r\n]+", example_text())
