"""The rules of the checks: each finding has one, and what the county sets of them holds for files and sheets."""

import ast
import re
from functools import cache
from pathlib import Path

import pytest

from surveys.rules import ALL, ASK, HARD, NOTE, RULES, Rules, key_of
from surveys.rules.rule import PROPOSAL, SECTIONS
from surveys.uploads.columns import SEASON_FILE, STATION_LIST

ROOT = Path(__file__).resolve().parents[2]
# Other findings than those of files and sheets: of index method files, which have checks of their own.
_OTHER = ("trends/index", "trends/stats")


def _modules() -> dict[Path, ast.Module]:
    paths = [*(ROOT / "surveys").rglob("*.py"), *(ROOT / "trends").rglob("*.py")]
    return {
        path: ast.parse(path.read_text(encoding="utf-8"))
        for path in paths
        if "migrations" not in path.parts and not str(path.relative_to(ROOT)).startswith(_OTHER)
    }


# What is made of a code, and at which place it stands where it has no name.
_MADE = {"Finding": None, "Remark": None, "CellError": 0}


def _texts(node: ast.expr) -> set[str]:
    """What an expression can be as a text: constants, and patterns for texts with a part filled in."""
    if isinstance(node, ast.Constant):
        return {re.escape(node.value)} if isinstance(node.value, str) else set()
    if isinstance(node, ast.IfExp):
        return _texts(node.body) | _texts(node.orelse)
    if isinstance(node, ast.JoinedStr):
        return {
            "".join(
                re.escape(part.value) if isinstance(part, ast.Constant) else "[a-z_]+" for part in node.values
            )
        }
    return set()


@cache
def _nodes(module: ast.Module) -> list[ast.AST]:
    return list(ast.walk(module))


@cache
def _calls(module: ast.Module) -> list[tuple[str, ast.Call]]:
    return [
        (node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", ""), node)
        for node in _nodes(module)
        if isinstance(node, ast.Call)
    ]


@cache
def _passing(module: ast.Module) -> dict[str, int]:
    """Functions that pass on their own argument ``code``, with the place of it."""
    passing = {}
    for node in _nodes(module):
        if isinstance(node, ast.FunctionDef):
            names = [one.arg for one in (*node.args.posonlyargs, *node.args.args)]
            if "code" not in names:
                continue
            inside = {name for name, _ in _calls(ast.Module(body=node.body, type_ignores=[]))}
            if inside & _MADE.keys():
                passing[node.name] = names.index("code")
    return passing


def _raised(module: ast.Module) -> set[str]:
    """Every code that a module gives to a finding, a remark or a cell that cannot be read.

    A code comes as an argument of those, through a function that passes on its own argument ``code``, here or in a
    module it is imported from, or from a name ``code`` that was set before.
    """
    passing = {**_MADE, **_passing(module)}
    for node in _nodes(module):
        if isinstance(node, ast.ImportFrom) and node.module:
            source = MODULES.get(ROOT / f"{node.module.replace('.', '/')}.py")
            theirs = _passing(source) if source else {}
            passing |= {one.name: theirs[one.name] for one in node.names if one.name in theirs}
    found: set[str] = set()
    for name, call in _calls(module):
        if name in passing:
            for keyword in call.keywords:
                if keyword.arg == "code":
                    found |= _texts(keyword.value)
            place = passing[name]
            if place is not None and len(call.args) > place:
                found |= _texts(call.args[place])
    if found:
        for node in _nodes(module):
            if isinstance(node, ast.Assign) and len(node.targets) == 1:
                target, value = node.targets[0], node.value
                if isinstance(target, ast.Name) and target.id == "code":
                    found |= _texts(value)
                elif isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
                    for one, text in zip(target.elts, value.elts, strict=True):
                        if isinstance(one, ast.Name) and one.id == "code":
                            found |= _texts(text)
    return found


MODULES = _modules()
CODES = {code for module in MODULES.values() for code in _raised(module)}


def test_the_walk_sees_codes_however_they_are_given() -> None:
    """One of each way: an argument, a function that passes it on, a filled-in part, a name set before."""
    assert {"pass_gap", "short_rest", "bad_time", "batches_below_pass", "negative", "no_pass"} <= CODES
    assert "[a-z_]+_value_differs" in CODES and "[a-z_]+_empty" in CODES


@pytest.mark.parametrize("code", sorted(CODES))
def test_every_code_of_a_finding_has_a_rule(code: str) -> None:
    known = {rule.code for rule in ALL}
    assert any(re.fullmatch(code, one) for one in known), f"no rule explains {code}"


def test_no_rule_is_left_over() -> None:
    unused = [rule.key for rule in ALL if not any(re.fullmatch(code, rule.code) for code in CODES)]
    assert unused == []


def test_each_rule_has_one_key_and_says_why_and_where_from() -> None:
    assert len(RULES) == len(ALL)
    for rule in ALL:
        assert rule.level in (HARD, ASK, NOTE)
        assert rule.about in SECTIONS
        assert rule.title and rule.source
        assert rule.explanation.endswith("."), rule.key
        assert all(limit.least <= limit.default <= limit.most for limit in rule.limits), rule.key


def test_every_column_that_asks_has_a_rule_with_its_limits() -> None:
    for column in (*SEASON_FILE, *STATION_LIST):
        if column.ask != (None, None) or column.ask_words:
            rule = RULES[f"unusual_value.{column.name}"]
            assert Rules().bounds(column.name) == column.ask
            assert rule.level == ASK


def test_a_finding_leads_to_the_rule_of_its_column_or_of_its_code() -> None:
    assert key_of("unusual_value", "ph") == "unusual_value.ph"
    assert key_of("out_of_range", "ph") == "out_of_range"


def test_limits_without_a_published_source_say_so() -> None:
    """The limits of this trade for readings are proposals, but for those with a source named beside them."""
    sourced = {rule.key for rule in ALL if rule.level == ASK and rule.limits and PROPOSAL not in rule.source}
    assert sourced == {
        "short_rest",
        "fast_pulses",
        "unusual_value.crew_size",
        "unusual_value.pulse_width_ms_first",
        "unusual_value.pulse_width_ms_last",
    }


def test_limits_are_held_within_what_makes_sense() -> None:
    day = RULES["unusual_day"]
    assert day.faults({"days": 20}) == {}
    assert set(day.faults({"days": 184})) == {"days"}
    assert set(day.faults({"days": 20.5})) == {"days"}
    assert set(day.faults({"weeks": 3})) == {"weeks"}
    assert set(RULES["unusual_value.ph"].faults({"least": 9.6})) == {"most"}
    assert set(RULES["unusual_value.ph"].faults({"most": 15})) == {"most"}


def test_the_county_may_ask_for_a_larger_crew_and_never_for_a_smaller_one() -> None:
    """Nobody fishes alone: University of Northern British Columbia, Policy for the Use of Backpack
    Electrofishing Units, section 2 (a)."""
    crew = RULES["unusual_value.crew_size"]
    assert crew.limit("least").default == 2
    assert crew.faults({"least": 3}) == {}
    assert set(crew.faults({"least": 1})) == {"least"}
    assert not crew.may_be_off
