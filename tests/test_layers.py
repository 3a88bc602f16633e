"""The layers of the house, read from the import statements: who may not import whom."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

# Folder or file -> what its modules must not import.
RULES = [
    ("trends/stats", ("django", "surveys", "config", "trends.models", "trends.views", "psycopg")),
    ("trends/index", ("django", "surveys", "config", "trends.models", "trends.views", "psycopg")),
    ("surveys/uploads/columns.py", ("django", "trends", "surveys.models", "psycopg")),
    ("surveys/uploads/reader.py", ("django", "trends", "surveys.models", "psycopg")),
    ("surveys/uploads/checks.py", ("django", "trends", "surveys.models", "psycopg")),
    ("surveys", ("trends",)),
    ("trends/charts.py", ("django", "surveys", "trends.models")),
    ("trends/wording.py", ("django", "surveys", "trends.models")),
    ("trends/verdicts.py", ("django", "surveys", "trends.models")),
    ("trends/footnotes.py", ("django", "surveys", "trends.models")),
    ("trends/record_limits.py", ("django", "surveys", "trends.models")),
    ("surveys/said.py", ("django", "surveys", "trends")),
    ("trends/outcomes.py", ("django", "surveys")),
    ("trends/measures.py", ("django", "surveys")),
    (
        "trends/assessments.py",
        ("django.http", "django.forms", "django.template", "trends.views", "trends.forms"),
    ),
    (
        "trends/recompute.py",
        ("django.http", "django.forms", "django.template", "trends.views", "trends.forms"),
    ),
    ("trends/exports", ("django.http", "django.forms", "trends.views")),
    ("surveys/uploads", ("django.http", "django.forms", "surveys.views", "surveys.forms")),
    ("surveys/review.py", ("django.http", "django.forms", "surveys.views", "surveys.forms")),
    ("config/database.py", ("django", "surveys", "trends")),
]

# The words that people read are marked in every layer, and said in the reader's language by those that show them.
EVERYBODY_MAY = ("surveys.said", "surveys.language")


def imports_of(path: Path) -> list[tuple[int, str]]:
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found += [(node.lineno, f"{node.module}.{alias.name}") for alias in node.names]
    return found


@pytest.mark.parametrize(("place", "forbidden"), RULES, ids=[place for place, _ in RULES])
def test_a_layer_imports_only_what_lies_below_it(place: str, forbidden: tuple[str, ...]) -> None:
    target = ROOT / place
    files = [target] if target.suffix == ".py" else sorted(target.rglob("*.py"))
    assert files, f"{place} holds no modules"
    breaches = [
        f"{path.relative_to(ROOT)}:{line} imports {name}"
        for path in files
        for line, name in imports_of(path)
        for bad in forbidden
        if (name == bad or name.startswith(f"{bad}.")) and not name.startswith(EVERYBODY_MAY)
    ]
    assert breaches == []


def test_views_of_one_app_use_no_private_names_of_another_module() -> None:
    breaches = [
        f"{path.relative_to(ROOT)}:{line} imports {name}"
        for folder in ("trends/views", "surveys/views")
        for path in sorted((ROOT / folder).rglob("*.py"))
        for line, name in imports_of(path)
        if name.rsplit(".", 1)[-1].startswith("_") and name.split(".")[0] in ("trends", "surveys", "config")
    ]
    assert breaches == []
