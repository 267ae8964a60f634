"""Results as versioned JSON, and back."""

from __future__ import annotations

import dataclasses
import json
import math
import types
import typing
from collections.abc import Mapping
from typing import Any, TypeVar

import numpy as np

from hangarc._core import __version__
from hangarc._errors import InputError
from hangarc._keywords import refuse_unknown
from hangarc._record import Record, Result, instance

T = TypeVar("T")


def write(kind: str, version: int, value: Any, indent: int | None = None) -> str:
    """Write a document; numbers that are not finite stand as the words that `float` reads."""
    document = {"kind": kind, "version": version, "hangarc": __version__, "value": _finite(value)}
    return json.dumps(document, allow_nan=False, ensure_ascii=False, indent=indent) + "\n"


def read(text: str, kind: str, version: int) -> dict[str, Any]:
    """Read a document's value.

    Raises
    ------
    InputError
        Not JSON, or another kind or version.
    """
    instance("json", text, str)
    try:
        document = json.loads(text, object_pairs_hook=each_key_once)
    except ValueError as error:
        raise InputError("json", error, f"a hangarc document of kind {kind!r}") from None
    except RecursionError:
        raise InputError("json", "brackets nested too deeply", "fewer within each other") from None
    if not isinstance(document, dict):
        raise InputError("json", type(document).__name__, "an object with kind, version and value")
    for field, wanted in (("kind", kind), ("version", version)):
        if document.get(field) != wanted:
            raise InputError(field, document.get(field, "nothing"), str(wanted))
    value = document.get("value")
    if not isinstance(value, dict):
        raise InputError("value", type(value).__name__, "an object")
    return value


def kind_of(text: str) -> str | None:
    """Give the kind that a document says it is of; None where it says none."""
    try:
        document = json.loads(text)
    except (ValueError, RecursionError):
        return None
    kind = document.get("kind") if isinstance(document, dict) else None
    return kind if isinstance(kind, str) else None


def each_key_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Build an object of JSON; of a key that stands twice one value would be lost."""
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"{twice!r} stands twice")
    return found


def _finite(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_finite(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    return value


def build(kind: type[T], data: Any, field: str = "value") -> T:
    """Build a `Result` or `Record` from what its `to_dict` gave.

    Raises
    ------
    InputError
        A missing or unknown field, or a value of the wrong type.
    """
    if not isinstance(data, Mapping):
        raise InputError(field, data, f"the fields of {kind.__name__}")
    if issubclass(kind, Record):
        try:
            record: Any = kind.from_dict(data)
        except InputError as error:
            raise InputError(f"{field}.{error.field}", error.value, error.allowed) from None
        return record  # type: ignore[no-any-return]
    hints = typing.get_type_hints(kind)
    names = [f.name for f in dataclasses.fields(kind)]  # type: ignore[arg-type]
    try:
        refuse_unknown(data, names, "field")
    except InputError as error:
        raise InputError(f"{field}.{error.field}", error.value, error.allowed) from None
    for name in names:
        if name not in data:
            raise InputError(f"{field}.{name}", "nothing", "a value; the field is required")
    return kind(**{name: _typed(hints[name], data[name], f"{field}.{name}") for name in names})


def _typed(hint: Any, data: Any, field: str) -> Any:
    if hint is Any:
        return data
    origin, arguments = typing.get_origin(hint), typing.get_args(hint)
    if origin in (typing.Union, types.UnionType):
        rest = [kind for kind in arguments if kind is not type(None)]
        if data is None and len(rest) < len(arguments):
            return None
        return _typed(rest[0], data, field)
    if origin is typing.Literal:
        if data not in arguments:
            raise InputError(field, data, " or ".join(f'"{word}"' for word in arguments))
        return data
    # Of later NumPy, `NDArray` is an alias with a value of its own.
    if np.ndarray in (origin, typing.get_origin(getattr(origin, "__value__", None))):
        return _array(arguments, data, field)
    if origin in (list, tuple):
        return _sequence(origin, arguments, data, field)
    if origin is dict or origin is Mapping:
        return {key: _typed(arguments[1], item, f"{field}.{key}") for key, item in data.items()}
    if isinstance(hint, type) and issubclass(hint, Result | Record):
        return build(hint, data, field)
    if hint is float:
        return _number(data, field)
    if isinstance(hint, type) and hint is not object and not isinstance(data, hint):
        raise InputError(field, data, f"a value of type {hint.__name__}")
    return data


def _array(arguments: tuple[Any, ...], data: Any, field: str) -> Any:
    (kind,) = typing.get_args(arguments[-1]) or arguments[-1:]
    try:
        return np.array(data, dtype=kind)
    except (TypeError, ValueError):
        raise InputError(field, data, "an array of numbers") from None


def _sequence(origin: Any, arguments: tuple[Any, ...], data: Any, field: str) -> Any:
    if not isinstance(data, list):
        raise InputError(field, data, "a list")
    if origin is tuple and arguments[-1] is not Ellipsis:
        if len(data) != len(arguments):
            raise InputError(field, data, f"a list of {len(arguments)}")
        kinds = arguments
    else:
        kinds = (arguments[0],) * len(data)
    return origin(
        _typed(kind, item, f"{field}[{index}]")
        for index, (kind, item) in enumerate(zip(kinds, data, strict=True))
    )


def _number(data: Any, field: str) -> float:
    try:
        return float(data)
    except (TypeError, ValueError):
        raise InputError(field, data, "a number") from None
