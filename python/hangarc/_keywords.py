"""A keyword that a function or type does not know is refused by name, with the nearest it knows."""

from __future__ import annotations

import functools
from collections.abc import Callable, Collection, Iterable
from difflib import get_close_matches
from numbers import Real
from types import FunctionType
from typing import Any, ParamSpec, Self, TypeVar, cast

from hangarc._errors import InputError, given_at

P = ParamSpec("P")
R = TypeVar("R")


def refuse_unknown(given: Iterable[str], known: Collection[str], what: str) -> None:
    """Raise `InputError` for the first name that is not known; `what` is "field" or "argument"."""
    for name in given:
        if name not in known:
            nearest = get_close_matches(str(name), known, n=1, cutoff=0.0)
            allowed = (
                f"{nearest[0]}, the nearest of {', '.join(known)}" if nearest else f"no {what}"
            )
            raise InputError(str(name), f"an unknown {what}", allowed)


def by_name(function: Callable[P, R]) -> Callable[P, R]:
    """Make `function` raise `InputError` for keywords it does not know.

    Numbers that the core refuses are named as they were given.
    """
    known = _names(function)
    if known is None:
        return function

    @functools.wraps(function)
    def asked(*args: P.args, **kwargs: P.kwargs) -> R:
        if kwargs:
            refuse_unknown(kwargs, known, "argument")
        try:
            return function(*args, **kwargs)
        except InputError as error:
            if not isinstance(error.value, str):
                raise
            named = {**dict(zip(known, args, strict=False)), **kwargs}
            raise _as_given(error, named) from error.__cause__

    return asked


def _as_given(error: InputError, arguments: dict[str, Any]) -> InputError:
    """Give the same error with the number that was given, where the core names it as text."""
    try:
        given = given_at(arguments, error.field)
        same = isinstance(given, Real) and float(given) == float(error.value)
    except (LookupError, TypeError, ValueError, OverflowError):
        return error
    return InputError(error.field, given, error.allowed) if same else error


@functools.cache
def _names(function: Callable[..., Any]) -> tuple[str, ...] | None:
    """Names of the arguments; None where a function takes any keyword."""
    code = cast(FunctionType, function).__code__
    takes_any = 0x08  # inspect.CO_VARKEYWORDS
    if code.co_flags & takes_any:
        return None
    first, count = code.co_posonlyargcount, code.co_argcount + code.co_kwonlyargcount
    return tuple(name for name in code.co_varnames[first:count] if name not in ("self", "cls"))


class ByName:
    """Base of the public types: neither they nor their methods take unknown keywords."""

    def __new__(cls, *args: Any, **kwargs: Any) -> Self:
        if kwargs and (known := _names(cls.__init__)) is not None:
            refuse_unknown(kwargs, known, "argument")
        return super().__new__(cls)

    def __init_subclass__(cls, **options: Any) -> None:
        super().__init_subclass__(**options)
        for name, value in list(cls.__dict__.items()):
            if name.startswith("_"):
                continue
            if isinstance(value, FunctionType):
                setattr(cls, name, by_name(value))
            elif isinstance(value, classmethod):
                setattr(cls, name, classmethod(by_name(value.__func__)))
