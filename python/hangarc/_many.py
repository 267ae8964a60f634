"""A calculation for many values of one argument: its results side by side, in arrays."""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Sequence
from typing import Any, ParamSpec, TypeVar, cast

import numpy as np

from hangarc._errors import InputError
from hangarc._record import Result, real_array

P = ParamSpec("P")
R = TypeVar("R")


def over_tilts(function: Callable[P, R]) -> Callable[P, R]:
    """Let `function`, whose second argument is `tilt_deg`, take an array of tilts.

    Every array and number of the result then has the shape of `tilt_deg` before its own.
    """

    @functools.wraps(function)
    def many(*args: P.args, **kwargs: P.kwargs) -> R:
        before, after = args[:1], args[2:]
        tilts = args[1] if len(args) > 1 else kwargs.get("tilt_deg")
        if not isinstance(tilts, list | tuple | np.ndarray) or getattr(tilts, "ndim", 1) == 0:
            return function(*args, **kwargs)
        array = real_array("tilt_deg", tilts, 2)
        if array.size == 0:
            raise InputError("tilt_deg", tilts, "at least one tilt")
        call: Callable[..., R] = function
        rest = {name: value for name, value in kwargs.items() if name != "tilt_deg"}
        results = []
        for index, tilt_deg in zip(np.ndindex(array.shape), array.flat, strict=True):
            given = (*before, float(tilt_deg), *after) if before else ()
            named = rest if before else {**rest, "tilt_deg": float(tilt_deg)}
            try:
                results.append(call(*given, **named))
            except InputError as error:
                if error.field != "tilt_deg":
                    raise
                place = "".join(f"[{i}]" for i in index)
                raise InputError(f"tilt_deg{place}", error.value, error.allowed) from None
        return cast(R, _side_by_side(results, array.shape))

    return many


def _side_by_side(results: Sequence[Any], shape: tuple[int, ...]) -> Any:
    first = results[0]
    if isinstance(first, Result):
        names = [field.name for field in dataclasses.fields(first)]
        rows = {name: [getattr(result, name) for result in results] for name in names}
        return type(first)(**{name: _side_by_side(row, shape) for name, row in rows.items()})
    if first is None:
        return None
    return np.array(results).reshape(*shape, *np.shape(first))
