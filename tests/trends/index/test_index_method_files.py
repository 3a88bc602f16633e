"""Method files: what they hold, and how a wrong one is refused with its line."""

from __future__ import annotations

import textwrap

import pytest

from trends.index import MethodError, load_method
from trends.index.catalogue import all_methods, standing, usable_methods
from trends.index.method import METHODS, method_codes, method_from_text

CODES = (
    "karr_midwest_1986", "maryland_fish_2005", "mid_atlantic_highlands_2001", "new_jersey_north",
    "ohio_1987_wading_headwater", "ohio_modified_well_being", "wisconsin_coldwater_1996",
)  # fmt: skip

SMALL = textwrap.dedent("""\
    code: small
    title: A small index
    version: "1"
    summary: Two measures, invented for tests.
    region: nowhere
    complete: true
    usable: true
    missing: []
    sources:
      - {citation: Invented for tests, seen: in full}
    applies_to: {}
    traits: {list: none, standing: seen}
    counting: {}
    index:
      combine: mean
      formula: mean of the points
      decimals: 1
      provenance: {standing: seen, confidence: high}
    ratings:
      words:
        - {word: Good, at_least: 3}
        - {word: Poor, at_least: 1}
      provenance: {standing: seen, confidence: high}
    strata:
      - code: all
        name: All streams
        metrics:
          - id: tolerant
            name: Tolerant fish
            plain: Hardy fish.
            formula: tolerant fish / all fish x 100
            unit: "%"
            better: lower
            measure: {kind: share, select: {tolerance: tolerant}, scale: percent}
            scoring:
              kind: cut_points
              bands:
                - {points: 5, at_most: 20}
                - {points: 1, otherwise: true}
            as_printed: "<=20 | >20"
            provenance: {standing: seen, confidence: high}
    """)


def test_all_seven_methods_are_at_hand() -> None:
    assert method_codes() == CODES
    assert [method.code for method in all_methods()] and len(all_methods()) == 7
    assert {method.code for method in usable_methods()} == {
        "maryland_fish_2005", "wisconsin_coldwater_1996", "ohio_modified_well_being",
    }  # fmt: skip


@pytest.mark.parametrize("code", CODES)
def test_every_method_says_where_it_comes_from_in_plain_words(code: str) -> None:
    method = load_method(code)
    assert method.code == code and method.version and method.sources and method.summary and method.formula
    assert standing(method)
    for stratum in method.strata.values():
        for metric in stratum.metrics:
            assert metric.plain.endswith(".") and metric.formula and metric.as_printed
            assert metric.provenance.confidence in ("high", "medium", "low")
            assert metric.unit


@pytest.mark.parametrize("code", [code for code in CODES if code != "new_jersey_north"])
def test_figures_from_memory_are_marked_as_such(code: str) -> None:
    method = load_method(code)
    assert method.needs_check
    assert "must be checked" in method.check_note


def test_a_method_is_read_once() -> None:
    assert load_method("maryland_fish_2005") is load_method("maryland_fish_2005")


def test_an_unknown_code_is_refused_with_the_codes_there_are() -> None:
    with pytest.raises(MethodError, match="karr_midwest_1986"):
        load_method("../secrets")


def test_the_small_method_of_these_tests_is_right() -> None:
    assert method_from_text(SMALL, "small.yaml").usable


@pytest.mark.parametrize(("old", "new", "line_with", "words"), [
    ("combine: mean", "combine: median", "combine:", "median"),
    ("region: nowhere", "regoin: nowhere", "regoin:", "regoin"),
    ("kind: share", "kind: shares", "measure:", "shares"),
    ("tolerance: tolerant}", "tolerence: tolerant}", "measure:", "tolerence"),
    ("at_most: 20}", "at_most: twenty}", "at_most:", "twenty"),
    ("at_most: 20}", "at_least: 20}", "bands:", "lower is better"),
    ("points: 5", "points: 0", "bands:", "most points to fewest"),
    ("- {points: 1, otherwise: true}", "- {points: 1, at_most: 30}", "bands:", "otherwise"),
    ("at_least: 1}", "at_least: 4}", "word: Poor", "overlaps"),
    ("complete: true", "complete: false", "usable:", "cannot be usable"),
    ("select: {tolerance: tolerant}", "select: {group: dartres}", "measure:", "dartres"),
    ("plain: Hardy fish.", "plain: Hardy fish.\n        plain: Again.", "plain: Again", "twice"),
    ("formula: mean of the points", "formula: [mean", "decimals:", "YAML"),
    ("        unit: \"%\"\n", "", "id: tolerant", "unit"),
])  # fmt: skip
def test_a_wrong_file_is_refused_with_its_line(old: str, new: str, line_with: str, words: str) -> None:
    text = SMALL.replace(old, new, 1)
    assert text != SMALL
    with pytest.raises(MethodError, match=words) as caught:
        method_from_text(text, "small.yaml")
    lines = text.splitlines()
    assert caught.value.source == "small.yaml"
    assert caught.value.line is not None
    assert line_with in lines[caught.value.line - 1]
    assert f"line {caught.value.line}" in str(caught.value)


def test_an_empty_file_is_refused() -> None:
    with pytest.raises(MethodError, match="empty"):
        method_from_text("", "small.yaml")


def test_the_files_carry_the_code_they_are_named_after() -> None:
    for path in METHODS.glob("*.yaml"):
        assert method_from_text(path.read_text(encoding="utf-8"), path.name).code == path.stem
