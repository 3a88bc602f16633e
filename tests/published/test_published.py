"""Every published, recalled or worked-out value of the statistics, held against the package.

The TOML files in ``statistics/`` name their source, and for each value whether it was seen
in the source, recalled from memory, or worked out because no printed value was found. The
tolerance is half a unit of the last printed digit, or less where the file asks for less.
Where it is wider, the file says why.
"""

from __future__ import annotations

import math
import tomllib
from pathlib import Path
from typing import Any

import pytest
from published_calculations import CALCULATIONS

FOLDER = Path(__file__).parent / "statistics"
FILES = sorted(FOLDER.glob("*.toml"))
EVIDENCE = ("seen", "from memory", "computed", "definition", "not found")


def half_a_unit(printed: str) -> float:
    """Half a unit of the last printed digit: 0.005 for 0.41, 0.5 for 54, 5e-11 for 2.3e-9."""
    digits, _, exponent = printed.lower().partition("e")
    decimals = len(digits.partition(".")[2])
    return 0.5 * 10.0 ** (int(exponent or 0) - decimals)


def tolerance_of(check: dict[str, Any]) -> float:
    stated = float(check["tolerance"])
    if "wider_because" in check:
        return stated
    return min(stated, half_a_unit(check["printed"]))


def load() -> list[Any]:
    found = []
    for file in FILES:
        for case in tomllib.loads(file.read_text(encoding="utf-8"))["case"]:
            for i, check in enumerate(case["check"]):
                name = check.get("statistic", "not run")
                found.append(pytest.param(case, check, id=f"{file.stem}-{case['id']}-{i}-{name}"))
    return found


def runnable() -> list[Any]:
    return [p for p in load() if "not_run" not in p.values[1]]


@pytest.mark.parametrize(("case", "check"), runnable())
def test_the_package_gives_the_published_value(case: dict[str, Any], check: dict[str, Any]) -> None:
    got = CALCULATIONS[check["statistic"]](case["data"], **check.get("options", {}))
    printed = check["printed"]
    if isinstance(got, str):
        assert got == printed
    elif printed == "undefined":
        assert math.isnan(got)
    elif printed == "inf":
        assert got == math.inf
    else:
        expected = float(printed)
        # The second term is the last bit of the arithmetic, not a wider tolerance.
        assert abs(got - expected) <= tolerance_of(check) + 1e-12 * abs(expected)


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.stem)
def test_every_file_names_its_source_and_every_value_its_evidence(file: Path) -> None:
    content = tomllib.loads(file.read_text(encoding="utf-8"))
    assert len(content["citation"]) > 30
    for case in content["case"]:
        for check in case["check"]:
            assert check["evidence"].startswith(EVIDENCE), case["id"]
            assert check["evidence"] == "seen" or check["origin"], case["id"]
            assert "not_run" in check or check["statistic"] in CALCULATIONS, case["id"]


def test_values_that_cannot_be_run_say_why() -> None:
    left = [p.values[1] for p in load() if "not_run" in p.values[1]]
    assert len(left) == 6
    assert all(len(check["not_run"]) > 15 for check in left)


def test_no_value_was_lost() -> None:
    # 377 rows of the collected check values; two of them hold 6 and 3 numbers.
    assert len(load()) == 377 + 5 + 2


def test_renumbering_the_years_would_give_another_slope() -> None:
    cases = {p.values[0]["id"]: p.values[0]["data"] for p in load()}
    real, renumbered = cases["ed09-real-years"], cases["ed09-renumbered"]
    assert real["x"] == renumbered["x"]
    assert CALCULATIONS["slope"](real) != CALCULATIONS["slope"](renumbered)


def test_half_a_unit_follows_the_printed_digits() -> None:
    assert half_a_unit("0.41") == pytest.approx(0.005)
    assert half_a_unit("54") == pytest.approx(0.5)
    assert half_a_unit("2.160712e-07") == pytest.approx(5e-14)


def test_a_wider_tolerance_is_rare_and_has_a_reason() -> None:
    wider = [p.values[1] for p in load() if "wider_because" in p.values[1]]
    assert len(wider) == 8
    assert all(len(check["wider_because"]) > 40 for check in wider)
