"""The shape of a method file, checked against ``method.schema.json``, with faults in plain words."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator
from jsonschema.exceptions import ValidationError

from surveys.said import said

SCHEMA = Path(__file__).with_name("method.schema.json")


def faults(raw: Any, *, part: str = "") -> Iterator[tuple[tuple[str | int, ...], str]]:
    """Yield each fault of a method, or of one part of it, with its place."""
    found = [_closest(fault) for fault in _validator(part).iter_errors(raw)]
    # a misspelt key comes first: it is the cause of the missing one
    for fault in sorted(found, key=lambda fault: fault.validator != "additionalProperties"):
        path = (*fault.absolute_path, *_extra(fault)[:1])
        names = "/".join(str(step) for step in fault.absolute_path)
        yield path, f"{names}: {_words(fault)}" if names else _words(fault)


@lru_cache(maxsize=8)
def _validator(part: str) -> Draft202012Validator:
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    if part:
        schema = {"$ref": f"#/$defs/{part}", "$defs": schema["$defs"]}
    return Draft202012Validator(schema)


def _closest(fault: ValidationError) -> ValidationError:
    """Where a thing may look several ways, return the fault of the way it was meant to look."""
    while fault.context:
        ways: dict[Any, list[ValidationError]] = {}
        for inner in fault.context:
            ways.setdefault(inner.schema_path[0], []).append(inner)
        meant = [
            found
            for found in ways.values()
            if not any(inner.validator == "const" and list(inner.path) == ["kind"] for inner in found)
        ]
        if not meant:
            return fault
        fault = max(meant[0], key=lambda inner: len(inner.absolute_path))
    return fault


def _words(fault: ValidationError) -> str:
    if fault.validator == "oneOf" and isinstance(fault.instance, Mapping) and "kind" in fault.instance:
        return said("there is no kind '{written}' here", written=fault.instance["kind"])
    if fault.validator == "additionalProperties":
        return said("'{written}' is not a word of the method files here", written=", ".join(_extra(fault)))
    # In the words of the library, which library_words holds for translation.
    return str(fault.message)


def _extra(fault: ValidationError) -> list[str]:
    """Return the keys of a mapping that the schema does not know."""
    if fault.validator != "additionalProperties" or not isinstance(fault.instance, Mapping):
        return []
    allowed = set(fault.schema.get("properties", {})) if isinstance(fault.schema, Mapping) else set()
    return sorted(str(key) for key in fault.instance if key not in allowed)
