"""What a row of a sweep holds: the fixed schema, and rows as Arrow tables."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

import pyarrow as pa

from hangarc._core import __version__
from hangarc._errors import InputError
from hangarc._keywords import by_name

SCHEMA_VERSION = 2

_NUMBERS = pa.list_(pa.float64())

#: Every column that a sweep writes beside the inputs' keys and the columns a caller adds.
FIELDS: dict[str, tuple[pa.DataType, str]] = {
    "place": (pa.int64(), "place of the study in the input, from 0"),
    "study_hash": (pa.string(), "SHA-256 of the study, how it was asked, and the library version"),
    "ended": (pa.string(), "how the search ended; `refused` or `failed` where there is an error"),
    "cabinets": (pa.int32(), "cabinets hung"),
    "splays_deg": (_NUMBERS, "pins, top to bottom"),
    "tilt_deg": (pa.float64(), "tilt of the fly frame"),
    "top_m": (pa.float64(), "height of cabinet 0's upper front hinge"),
    "trim_m": (pa.float64(), "height of the lowest point"),
    "pick_x_m": (_NUMBERS, "the frame's holes in use"),
    "gains_db": (_NUMBERS, "gain of each cabinet"),
    "objective_db": (pa.float64(), "what the search makes least"),
    "straight_objective_db": (pa.float64(), "the same of the best straight hang"),
    "unevenness_db": (pa.float64(), "spread over seats and bands"),
    "evenness_db": (pa.float64(), "spread over the seats of the level summed over 1 to 8 kHz"),
    "mean_db": (pa.float64(), "mean level of the seats and bands, over one cabinet at 1 m"),
    "spectral_spread_db": (pa.float64(), "how seats differ in colour"),
    "roughness_deg": (pa.float64(), "roughness of the pins"),
    "off_seats_db": (pa.float64(), "level off the seats over that on them"),
    "share_3_db_below": (pa.float64(), "share of seats and bands 3 dB under their band's mean"),
    "share_6_db_below": (pa.float64(), "the same for 6 dB"),
    "band_hz": (_NUMBERS, "middle of each third octave of the goal"),
    "band_spread_db": (_NUMBERS, "spread over the seats in each"),
    "band_mean_db": (_NUMBERS, "mean level of the seats in each"),
    "mass_kg": (pa.float64(), "everything hung, fly frame included"),
    "hoist_load_n": (_NUMBERS, "load of each hoist at rest, in the order of `pick_x_m`"),
    "closing_force_n": (pa.float64(), "closing force of a hang that a chain closes"),
    "greatest_utilisation": (
        pa.float64(),
        "greatest utilisation of a stated limit, hanging or closing with the frame held; null "
        "where no limit is stated",
    ),
    "greatest_utilisation_part": (pa.string(), "its part"),
    "limits_not_stated": (pa.int32(), "parts that carry something and have no stated limit"),
    "missed": (pa.list_(pa.string()), "constraints that the nearest hang misses"),
    "evaluations": (pa.int64(), "fields that the search computed"),
    "error_field": (pa.string(), "field that was refused"),
    "error_text": (pa.string(), "what is wrong with it"),
    "seconds": (pa.float64(), "time the study took; differs from run to run"),
}

Columns = Mapping[str, Callable[[Any], Any] | tuple[pa.DataType, Callable[[Any], Any]]]


@dataclasses.dataclass(frozen=True)
class Column:
    """A column that the caller adds."""

    name: str
    type: pa.DataType
    function: Callable[[Any], Any]


def columns(schema: Columns | None) -> tuple[Column, ...]:
    """Read the caller's `schema`; a function alone gives numbers."""
    if schema is None:
        return ()
    if not isinstance(schema, Mapping):
        raise InputError("schema", schema, "a mapping of column names to functions of an answer")
    added = []
    for name, given in schema.items():
        type_, function = given if isinstance(given, tuple) else (pa.float64(), given)
        if not callable(function) or not isinstance(type_, pa.DataType):
            raise InputError(f"schema[{name!r}]", given, "a function, or (Arrow type, function)")
        added.append(Column(str(name), type_, function))
    return tuple(added)


@by_name
def row_schema(
    *, keys: Iterable[pa.Field] = (), added: Sequence[Column] = (), rows_per_partition: int = 0
) -> pa.Schema:
    """Give the schema of a sweep's data set: keys, the fixed columns, the caller's columns.

    Examples
    --------
    >>> import hangarc as ha
    >>> ha.sweeps.row_schema().names[:4]
    ['place', 'study_hash', 'ended', 'cabinets']
    """
    fields = [pa.field(key.name, key.type) for key in keys]
    taken = {field.name for field in fields}
    fixed = [
        pa.field(name, type_, metadata={"description": words})
        for name, (type_, words) in FIELDS.items()
    ]
    for field in [*fixed, *(pa.field(column.name, column.type) for column in added)]:
        if field.name in taken:
            raise InputError("studies", f"a column {field.name!r}", "a name no other column has")
        taken.add(field.name)
        fields.append(field)
    return pa.schema(
        fields,
        metadata={
            "hangarc.sweep_version": str(SCHEMA_VERSION),
            "hangarc.version": __version__,
            "hangarc.rows_per_partition": str(rows_per_partition),
        },
    )


def table(rows: Sequence[Mapping[str, Any]], schema: pa.Schema) -> pa.Table:
    """Lay rows out as an Arrow table."""
    return pa.Table.from_pylist(list(rows), schema=schema)
