"""Results as tables of other libraries: columns through Arrow, levels as labelled arrays."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Literal, TypeVar, get_args

import numpy as np

from hangarc._display import UNITS, table_of
from hangarc._errors import InputError
from hangarc._keywords import by_name

if TYPE_CHECKING:
    import pyarrow as pa

V = TypeVar("V")

Library = Literal["pandas", "polars", "arrow"]

#: Forces with a part along each axis of the room, unlike forces per hoist or joint.
VECTORS = ("hinge_force", "anchor_force")

AXES = {2: ("x", "z"), 3: ("x", "y", "z")}


def columns_of(value: Any) -> dict[str, Any]:
    """Columns of a result's arrays, of records one per row, or of a mapping of arrays."""
    if isinstance(value, Mapping):
        return _of_arrays(value)
    if isinstance(value, list | tuple):
        return _of_records(value)
    if dataclasses.is_dataclass(value):
        return _of_arrays({f.name: getattr(value, f.name) for f in dataclasses.fields(value)})
    raise InputError("of", value, "records, arrays, or a mapping of arrays")


def _of_arrays(fields: Mapping[str, Any]) -> dict[str, Any]:
    """Arrays with as many rows as most have; those with an axis beside it give several columns."""
    arrays = {
        name: value
        for name, value in fields.items()
        if isinstance(value, np.ndarray) and value.ndim > 0
    }
    if not arrays:
        single = {
            name: [value]
            for name, value in fields.items()
            if isinstance(value, int | float | str | np.number)
        }
        if not single:
            raise InputError("of", sorted(fields), "something with figures for a table")
        return single
    (rows, _), *_ = Counter(len(array) for array in arrays.values()).most_common(1)
    found: dict[str, Any] = {}
    for name, array in arrays.items():
        if len(array) == rows:
            found.update(_columns(name, array))
    return found


def _columns(name: str, array: np.ndarray[Any, Any]) -> dict[str, Any]:
    if array.ndim == 1:
        return {name: array}
    has_axes = name.endswith("_m") or name.startswith(VECTORS)
    point = array.ndim == 2 and array.shape[1] in AXES and has_axes
    ends = AXES[array.shape[1]] if point else tuple(map(str, range(array.shape[1])))
    found: dict[str, Any] = {}
    for index, end in enumerate(ends):
        found.update(_columns(_named(name, end), array[:, index]))
    return found


def _named(name: str, part: str) -> str:
    """Put a part's name before the unit, where the name has one."""
    for unit in UNITS:
        if name.endswith(unit) and len(name) > len(unit):
            return f"{name.removesuffix(unit)}_{part}{unit}"
    return f"{name}_{part}"


def _of_records(records: Sequence[Any]) -> dict[str, Any]:
    first = next((record for record in records if record is not None), None)
    if not dataclasses.is_dataclass(first):
        raise InputError("of", list(records)[:3], "a list of records")
    found: dict[str, Any] = {}
    for field in dataclasses.fields(first):
        values = [None if record is None else getattr(record, field.name) for record in records]
        shapes = {np.shape(value) for value in values if isinstance(value, np.ndarray)}
        if len(shapes) == 1 and len(shape := shapes.pop()) == 1 and shape[0] > 0:
            blank = np.full(shape, np.nan)
            rows = np.array([blank if value is None else value for value in values])
            found.update(_columns(field.name, rows))
        elif all(value is None or isinstance(value, bool | int | float | str) for value in values):
            found[field.name] = values
    return found


def arrow_table(columns: Mapping[str, Any]) -> pa.Table:
    """Give columns as an Arrow table."""
    try:
        import pyarrow as pa
    except ModuleNotFoundError as error:
        raise ModuleNotFoundError("tables need pyarrow: pip install 'hangarc[tables]'") from error
    return pa.table({name: pa.array(column) for name, column in columns.items()})


def frame_of(columns: Mapping[str, Any], library: Library) -> Any:
    """Give columns as a table of a library, through the Arrow interface."""
    if library not in get_args(Library):
        raise InputError("library", library, ", ".join(map(repr, get_args(Library))))
    table = arrow_table(columns)
    if library == "arrow":
        return table
    try:
        if library == "pandas":
            return table.to_pandas()
        import polars

        return polars.from_arrow(table)
    except ModuleNotFoundError as error:
        raise ModuleNotFoundError(f"this table needs {library}: pip install {library}") from error


def place_columns(position_m: np.ndarray[Any, Any]) -> dict[str, Any]:
    """Columns of places (x, y, z)."""
    return {f"{axis}_m": position_m[:, index] for index, axis in enumerate(AXES[3])}


def band_columns(levels: Any) -> dict[str, Any]:
    """Columns of the levels at places, one a third octave: ``band_1000_hz_db``."""
    return {
        f"band_{hz:.0f}_hz_db": level.ravel()
        for hz, level in zip(levels.band_hz, levels.band_level_db, strict=True)
    }


class Rows(list[V]):
    """A list of results that is also a table."""

    @by_name
    def to_frame(self, *, library: Library = "pandas") -> Any:
        """Give the records as a table, one per row.

        Parameters
        ----------
        library : {"pandas", "polars", "arrow"}
            Whose table.

        Raises
        ------
        InputError
            No records, or another library.
        """
        return frame_of(_of_records(self), library)

    def _repr_html_(self) -> str | None:
        records = all(value is None or dataclasses.is_dataclass(value) for value in self)
        return table_of(self) if self and records else None


def dataset_of(
    levels: Any, where: tuple[str, ...], coordinates: Mapping[str, tuple[Any, Any]]
) -> Any:
    """Levels over bands and places as an xarray Dataset."""
    try:
        import xarray
    except ModuleNotFoundError as error:
        raise ModuleNotFoundError(
            "labelled arrays need xarray: pip install 'hangarc[tables]'"
        ) from error
    data = {
        "band_level_db": (("band_hz", *where), levels.band_level_db),
        "level_db": (where, levels.level_db),
    }
    greatest = getattr(levels, "greatest_level_db", None)
    if greatest is not None:
        data["greatest_level_db"] = (where, greatest)
    named = {"band_hz": ("band_hz", levels.band_hz), **coordinates}
    return xarray.Dataset(data, coords=named)
