"""The script that keeps every installed version written down in pyproject.toml."""

from __future__ import annotations

import importlib.util
import tomllib
from pathlib import Path

import pytest

PATH = Path(__file__).resolve().parents[2] / "scripts" / "pins.py"
spec = importlib.util.spec_from_file_location("pins", PATH)
pins = importlib.util.module_from_spec(spec)
spec.loader.exec_module(pins)

PROJECT = """[project]
name = "x"
dependencies = ["django==5.2.19", "psycopg[binary,pool]==3.3.9"]

[dependency-groups]
dev = [{ include-group = "test" }]
test = ["pytest==9.2.0"]

[tool.uv]
package = false

[tool.other]
package = true
"""


def test_only_what_is_brought_along_is_listed_and_markers_are_kept():
    everything = [
        "Django==5.2.19",
        "psycopg==3.3.9",
        "pytest==9.2.0",
        "colorama==0.4.6 ; sys_platform == 'win32'",
    ]
    assert pins.brought_along(everything, pins.direct_requirements(PROJECT)) == [everything[3]]


def test_writing_twice_changes_nothing_more_and_touches_no_other_table():
    entries = ["asgiref==3.13.0", "colorama==0.4.6 ; sys_platform == 'win32'"]
    once = pins.with_section(PROJECT, entries)
    assert pins.with_section(once, entries) == once
    tables = tomllib.loads(once)
    assert tables["tool"]["uv"] == {"package": False, "constraint-dependencies": entries}
    assert tables["tool"]["other"] == {"package": True}
    assert tomllib.loads(pins.with_section(once, []))["tool"]["uv"]["constraint-dependencies"] == []


@pytest.mark.parametrize(
    "loose", ["django", "django>=5.2", "django==5.2.*", "django~=5.2.1", "django==5.2,!=5.3"]
)
@pytest.mark.parametrize("place", ["django==5.2.19", "pytest==9.2.0"])
def test_a_dependency_that_is_not_pinned_is_refused_in_every_list(loose, place):
    with pytest.raises(pins.PinsOutOfOrder, match="not pinned"):
        pins.direct_requirements(PROJECT.replace(place, loose))


def test_every_dependency_of_this_project_is_pinned():
    text = PATH.parents[1].joinpath("pyproject.toml").read_text(encoding="utf-8")
    assert len(pins.direct_requirements(text)) > 0
