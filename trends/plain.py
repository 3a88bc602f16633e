"""Frozen results to JSON-ready data and back, by readers and writers made once for each class.

``dataclasses.asdict`` copies every leaf and ``typing.get_type_hints`` reads every annotation anew;
both are far too slow for the many small rows of a record. No Django, no database.
"""

import dataclasses
import types
import typing
from collections.abc import Callable
from typing import Any, TypeVar

T = TypeVar("T")
Read = Callable[[Any], Any]
_LEAVES = frozenset({str, int, float, bool, type(None)})


# Made once for each class and kept.
_NAMES: dict[type, tuple[str, ...]] = {}
_READERS: dict[type, Read] = {}


def _field_names(kind: type) -> tuple[str, ...]:
    names = _NAMES.get(kind)
    if names is None:
        names = tuple(f.name for f in dataclasses.fields(kind)) if dataclasses.is_dataclass(kind) else ()
        _NAMES[kind] = names
    return names


def to_plain(value: Any) -> Any:
    """Dataclasses as dictionaries, tuples as lists; other values as they are."""
    kind = type(value)
    if kind in _LEAVES:
        return value
    if kind is tuple or kind is list:
        return [one if type(one) in _LEAVES else to_plain(one) for one in value]
    if isinstance(value, dict):
        return {key: one if type(one) in _LEAVES else to_plain(one) for key, one in value.items()}
    names = _field_names(kind)
    if not names:
        return value
    made = {}
    for name in names:
        one = getattr(value, name)
        made[name] = one if type(one) in _LEAVES else to_plain(one)
    return made


def from_plain(kind: type[T], data: Any) -> T:
    """The reverse of ``to_plain``; fields that later versions added take their defaults."""
    return typing.cast(T, _reader(kind)(data))


def _reader(kind: type) -> Read:
    if kind not in _READERS:
        _READERS[kind] = _make_reader(kind)
    return _READERS[kind]


def _make_reader(kind: type) -> Read:
    hints = typing.get_type_hints(kind)
    fields = {f.name: _reader_of(hints[f.name]) for f in dataclasses.fields(kind)}  # type: ignore[arg-type]
    deep = tuple((name, read) for name, read in fields.items() if read is not None)

    def read_one(data: Any) -> Any:
        # A row written by this version holds just these fields; anything else is sifted first.
        given = dict(data) if data.keys() == fields.keys() else {k: v for k, v in data.items() if k in fields}
        for name, read in deep:
            value = given.get(name)
            if value is not None:
                given[name] = read(value)
        return kind(**given)

    return read_one


def _reader_of(hint: Any) -> Read | None:
    """How a value of this type is read; None where it is taken as it is."""
    origin = typing.get_origin(hint)
    if origin is tuple:
        inner = typing.get_args(hint)
        if len(inner) == 2 and inner[1] is Ellipsis:
            each = _reader_of(inner[0])
            return tuple if each is None else _reader_of_rows(each)
        parts = tuple(_reader_of(one) for one in inner)
        return lambda value: tuple(
            one if read is None or one is None else read(one) for read, one in zip(parts, value, strict=True)
        )
    if origin in (typing.Union, types.UnionType):
        return _reader_of(next(one for one in typing.get_args(hint) if one is not type(None)))
    if dataclasses.is_dataclass(hint):
        return lambda value: _reader(typing.cast(type, hint))(value) if isinstance(value, dict) else value
    return None


def _reader_of_rows(each: Read) -> Read:
    return lambda value: tuple([None if one is None else each(one) for one in value])
