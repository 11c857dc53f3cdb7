"""Records to JSON and back again, with every field.

`records.plain` is for people outside and leaves out what is not theirs (a reading's place in the text).
The store needs all of it back exactly as it was, so it keeps its own form.
"""

from __future__ import annotations

import json
import types
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from functools import cache
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

Record = TypeVar("Record")


def pack(record: Any) -> str:
    """`record` (a frozen dataclass of plain values, tuples and other such records) as JSON."""
    return json.dumps(_bare(record), ensure_ascii=False, separators=(",", ":"))


def unpack(kind: type[Record], text: str) -> Record:
    """The record of type `kind` that `pack` wrote. Fields added since take their default."""
    return _reader(kind)(json.loads(text))


def _bare(value: Any) -> Any:
    if is_dataclass(value):
        return {f.name: _bare(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, (tuple, list, frozenset)):
        return [_bare(item) for item in value]
    return value


@cache
def _reader(kind: Any) -> Callable[[Any], Any]:
    """The function that makes a value of type `kind` out of its JSON; worked out once per type."""
    origin, arguments = get_origin(kind), get_args(kind)
    if is_dataclass(kind):
        return _record_reader(kind)
    if origin in (Union, types.UnionType):
        inner = [each for each in arguments if each is not type(None)]
        if len(inner) == 1:
            read = _reader(inner[0])
            return lambda value: None if value is None else read(value)
        if any(is_dataclass(each) or get_origin(each) for each in inner):
            raise TypeError(f"{kind} cannot be told apart again once it is JSON.")
        return lambda value: value
    if origin in (tuple, frozenset):
        if len(arguments) == 2 and arguments[1] is Ellipsis or origin is frozenset:
            read = _reader(arguments[0])
            return lambda value: origin(read(item) for item in value)
        readers = [_reader(each) for each in arguments]
        return lambda value: tuple(read(item) for read, item in zip(readers, value, strict=True))
    return lambda value: value


def _record_reader(kind: type) -> Callable[[dict[str, Any]], Any]:
    hints = get_type_hints(kind)
    readers = {f.name: _reader(hints[f.name]) for f in fields(kind)}

    def read(value: dict[str, Any]) -> Any:
        return kind(**{name: readers[name](item) for name, item in value.items() if name in readers})

    return read
