"""A method file that somebody brings: every fault at once, each with its line, and the method if it has none."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import yaml

from surveys.said import marked, said
from trends.index import method_checks, schema_checks
from trends.index.errors import MethodError
from trends.index.method import Method, method_from_text
from trends.index.yaml_lines import line_of, read_with_lines, unreadable

LARGEST_FILE = 200_000  # characters; the longest shipped method has a tenth of that
MOST_REMARKS = 100
MOST_VALUES = 50_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """One fault of a method file; the line counts from 1, None where the fault is about no line."""

    line: int | None
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """What the check of a text found; ``method`` is None where there is any fault."""

    method: Method | None
    remarks: tuple[Remark, ...]


def check_text(text: str) -> Checked:
    """Check the text of a method file against the schema and the rules beyond it.

    Rules beyond the schema are looked at once the shape is right, since they read what it promises.
    """
    if len(text) > LARGEST_FILE:
        return _refused(
            Remark(
                line=None, reason=said("the file is longer than {most} characters", most=f"{LARGEST_FILE:,}")
            )
        )
    try:
        remarks = _in_order(_faults(text))
        if remarks:
            return Checked(method=None, remarks=remarks[:MOST_REMARKS])
        return Checked(method=method_from_text(text, ""), remarks=())
    except MethodError as error:
        return _refused(Remark(line=error.line, reason=error.reason))
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line = None if mark is None else mark.line + 1
        return _refused(Remark(line=line, reason=unreadable(error.problem or error.context)))
    except yaml.reader.ReaderError as error:
        return _refused(Remark(line=None, reason=unreadable(error.reason)))
    except RecursionError:
        return _refused(Remark(line=None, reason=marked("not readable as YAML: nested too deep")))


def _refused(remark: Remark) -> Checked:
    return Checked(method=None, remarks=(remark,))


def _in_order(remarks: Iterator[Remark]) -> tuple[Remark, ...]:
    return tuple(sorted(dict.fromkeys(remarks), key=lambda remark: remark.line or 0))


def _faults(text: str) -> Iterator[Remark]:
    node = yaml.compose(text, Loader=yaml.SafeLoader)
    if node is not None and _unfolded(node, {}, set()) > MOST_VALUES:
        yield Remark(
            line=None, reason=said("the file unfolds to more than {most} values", most=f"{MOST_VALUES:,}")
        )
        return
    raw, lines = read_with_lines(text, "")
    found = list(schema_checks.faults(raw)) or list(method_checks.faults(raw))
    for path, reason in found:
        yield Remark(line=line_of(path, lines), reason=reason)


def _unfolded(node: yaml.Node, known: dict[int, int], above: set[int]) -> int:
    """Return how many values a node holds once every reference in it is written out.

    A part that is referred to many times over, or that holds itself, could otherwise unfold without end.
    """
    if id(node) in above:
        return MOST_VALUES + 1
    if id(node) not in known:
        parts: list[yaml.Node] = []
        if isinstance(node, yaml.MappingNode):
            parts = [part for pair in node.value for part in pair]
        elif isinstance(node, yaml.SequenceNode):
            parts = list(node.value)
        below = {*above, id(node)}
        known[id(node)] = 1 + sum(_unfolded(part, known, below) for part in parts)
    return known[id(node)]
