"""Examples in the docstrings run, refusals keep their code, and the study can be run."""

from __future__ import annotations

import doctest
import importlib
import pickle
import pkgutil
from pathlib import Path

import pytest

import trends.stats
from trends.stats import simulation
from trends.stats.errors import InsufficientData

MODULES = sorted(module.name for module in pkgutil.iter_modules(trends.stats.__path__))
README = Path(trends.stats.__file__).parent / "README.md"


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_the_docstrings_run(name: str) -> None:
    module = importlib.import_module(f"trends.stats.{name}")
    outcome = doctest.testmod(module)
    assert outcome.failed == 0


@pytest.mark.parametrize("name", [m for m in MODULES if not m.startswith("_") and m not in ("errors",)])
def test_every_module_is_in_the_readme(name: str) -> None:
    assert f"| `{name}` |" in README.read_text(encoding="utf-8")


def test_a_refusal_keeps_its_code_across_processes() -> None:
    refusal = pickle.loads(pickle.dumps(InsufficientData("too_few_years", "2 years")))
    assert (refusal.code, str(refusal)) == ("too_few_years", "2 years")


def test_the_study_in_the_readme_is_the_one_the_module_makes() -> None:
    # The removal part is the quickest; its rows stand in the README as written.
    rows = [line for line in simulation.removal_study().splitlines() if line.startswith("| ")]
    page = README.read_text(encoding="utf-8")
    assert len(rows) == 20
    assert all(row in page for row in rows)


def test_the_study_writes_between_its_markers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for part in ("trend_study", "correction_study", "removal_study"):
        monkeypatch.setattr(simulation, part, lambda part=part: f"table of {part}")
    page = tmp_path / "page.md"
    page.write_text(f"before\n{simulation.START}\nold\n{simulation.END}\nafter\n", encoding="utf-8")
    assert simulation.main(["--into", str(page)]) == 0
    text = page.read_text(encoding="utf-8")
    assert "table of removal_study" in text and "old" not in text
    assert text.startswith("before\n") and text.endswith("after\n")


def test_a_page_without_markers_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = tmp_path / "page.md"
    page.write_text("nothing", encoding="utf-8")
    with pytest.raises(SystemExit):
        simulation.main(["--into", str(page)])
    assert "does not hold the markers" in capsys.readouterr().err


def test_small_studies_give_the_rates_expected() -> None:
    lines = simulation.trend_study(series=50, lengths=(5,)).splitlines()
    assert sum(line.startswith("| continuous") for line in lines) == 2
    assert "Hamed-Rao" in simulation.correction_study(series=5, lengths=(15,))
