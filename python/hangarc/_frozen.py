"""Frozen means frozen: lists, mappings and arrays inside a frozen object refuse edits."""

from __future__ import annotations

from typing import Any, NoReturn, TypeVar

import numpy as np

from hangarc._tables import Rows

# What most fields hold, and needs no freezing.
PLAIN = frozenset({float, int, str, bool, type(None)})

K = TypeVar("K")
V = TypeVar("V")


def _refuse(self: Any, *args: object, **kwargs: object) -> NoReturn:
    raise TypeError("this is part of a frozen object; make a copy to edit")


class FrozenDict(dict[K, V]):
    """A dict that refuses edits, so that it has a hash where its values have one."""

    __setitem__ = __delitem__ = __ior__ = _refuse
    clear = pop = popitem = setdefault = update = _refuse

    def __hash__(self) -> int:  # type: ignore[override]
        return hash(frozenset(self.items()))

    def __reduce__(self) -> tuple[Any, ...]:
        return (type(self), (dict(self),))


class FrozenList(Rows[V]):
    """A list that refuses edits."""

    __setitem__ = __delitem__ = __iadd__ = __imul__ = _refuse
    append = clear = extend = insert = pop = remove = reverse = sort = _refuse

    def __hash__(self) -> int:  # type: ignore[override]
        return hash(tuple(self))

    def __reduce__(self) -> tuple[Any, ...]:
        return (type(self), (list(self),))


def frozen(value: Any) -> Any:
    """Give `value` with every list, dict and array in it frozen; arrays share their memory."""
    if type(value) in PLAIN:
        return value
    if isinstance(value, np.ndarray):
        view = value.view()
        view.flags.writeable = False
        return view
    if isinstance(value, dict):
        return FrozenDict({key: frozen(item) for key, item in value.items()})
    if isinstance(value, list):
        return FrozenList(frozen(item) for item in value)
    if type(value) is tuple:
        return tuple(frozen(item) for item in value)
    return value
