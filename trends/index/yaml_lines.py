"""YAML read with the line of every value, so that a fault in a method file can be pointed at."""

from __future__ import annotations

from typing import Any

import yaml

from surveys.said import marked, said
from trends.index.errors import MethodError

Path = tuple[str | int, ...]


def read_with_lines(text: str, source: str) -> tuple[Any, dict[Path, int]]:
    """Return the data of a YAML text, and the line (from 1) of each value by its path.

    Raises
    ------
    MethodError : not YAML, or a key given twice in one mapping
    """
    loader = yaml.SafeLoader(text)
    try:
        node = loader.get_single_node()
        if node is None:
            raise MethodError(marked("the file is empty"), source=source, line=1)
        lines: dict[Path, int] = {}
        _walk(node, (), lines, source)
        return loader.construct_document(node), lines
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line = None if mark is None else mark.line + 1
        raise MethodError(unreadable(error.problem), source=source, line=line) from error
    finally:
        loader.dispose()


def unreadable(problem: str | None) -> str:
    """Why a text is no YAML, as the library that reads it says."""
    return said("not readable as YAML: {problem}", problem=problem)


def line_of(path: Path, lines: dict[Path, int]) -> int | None:
    """Return the line of a path, or of the nearest thing around it."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path)


def _walk(node: yaml.Node, path: Path, lines: dict[Path, int], source: str) -> None:
    lines.setdefault(path, node.start_mark.line + 1)
    if isinstance(node, yaml.MappingNode):
        seen: set[str] = set()
        for key, value in node.value:
            name = str(key.value)
            if name in seen:
                raise MethodError(
                    said("'{written}' is given twice", written=name),
                    source=source,
                    line=key.start_mark.line + 1,
                )
            seen.add(name)
            lines[(*path, name)] = key.start_mark.line + 1
            _walk(value, (*path, name), lines, source)
    elif isinstance(node, yaml.SequenceNode):
        for index, value in enumerate(node.value):
            lines[(*path, index)] = value.start_mark.line + 1
            _walk(value, (*path, index), lines, source)
