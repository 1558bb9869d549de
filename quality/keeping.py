"""Dataclasses of the engine kept as JSON, and read back as they were.

A record keeps everything its verdict was computed from, so that the verdict can be computed again
years later. Only what the engine's dataclasses are made of is known here: numbers, words, days,
named choices, tuples and dataclasses within dataclasses.
"""

import math
import types
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

import numpy as np

T = TypeVar("T")


class NotKept(TypeError):
    """Something that JSON cannot keep, or that was not kept by this module."""

    def __init__(self, what: object, wanted: object) -> None:
        super().__init__(f"{what!r} cannot be kept or read back as {wanted}")


def kept(value: Any) -> Any:
    """A value as JSON keeps it: not-a-number becomes None, an open end the word "inf"."""
    if value is None or isinstance(value, bool | int | str):
        return value.value if isinstance(value, Enum) else value
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, float | np.floating):
        if math.isinf(value):
            return "inf" if value > 0 else "-inf"
        return None if math.isnan(value) else float(value)
    if isinstance(value, np.ndarray):
        return [kept(each) for each in value.tolist()]
    if isinstance(value, date):
        return value.isoformat()
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: kept(getattr(value, f.name)) for f in fields(value) if f.init}
    if isinstance(value, Mapping):
        return {str(key): kept(each) for key, each in value.items()}
    if isinstance(value, Sequence):
        return [kept(each) for each in value]
    raise NotKept(value, "JSON")


def restored(cls: type[T], data: Mapping[str, Any]) -> T:
    """The dataclass that `kept` wrote; fields it did not have then take their defaults."""
    hints = get_type_hints(cls)
    names = {f.name for f in fields(cls) if f.init}  # type: ignore[arg-type]
    return cls(**{key: _value(hints[key], each) for key, each in data.items() if key in names})


def _value(hint: Any, value: Any) -> Any:
    origin, inner = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return _of_union(inner, value)
    if value is None:
        raise NotKept(value, hint)
    if origin is tuple:
        each = inner[0] if len(inner) == 2 and inner[1] is Ellipsis else None
        parts = inner if each is None else [each] * len(value)
        return tuple(_value(part, item) for part, item in zip(parts, value, strict=True))
    if origin is not None and issubclass(origin, Mapping):
        return {key: _value(inner[1], item) for key, item in value.items()}
    if isinstance(hint, type):
        return _of_type(hint, value)
    raise NotKept(value, hint)


def _of_union(inner: Sequence[Any], value: Any) -> Any:
    if value is None:
        return None
    (only,) = [each for each in inner if each is not type(None)]
    return _value(only, value)


def _of_type(hint: type, value: Any) -> Any:
    if is_dataclass(hint):
        return restored(hint, value)
    if issubclass(hint, Enum):
        return hint(value)
    if issubclass(hint, date):
        return hint.fromisoformat(value)
    if hint is float:
        return float(value)
    return value
