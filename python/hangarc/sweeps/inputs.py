"""Studies as they come: objects, mappings, Arrow tables, Parquet files."""

from __future__ import annotations

import dataclasses
import itertools
import os
from collections.abc import Iterable, Iterator, Mapping, Sized
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.dataset
import pyarrow.parquet

from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc.model import Study

STUDY_COLUMN = "study"
_ROWS_READ = 64
_ALLOWED = (
    "studies, mappings with a `study`, an Arrow table with a column `study` of JSON text, "
    "or the path of a Parquet file"
)


@dataclasses.dataclass(frozen=True)
class Case:
    """One study as JSON text, with its keys; or what is wrong with it."""

    keys: Mapping[str, Any]
    study_json: str = ""
    error: InputError | None = None


@dataclasses.dataclass(frozen=True)
class Input:
    """All cases of a sweep."""

    keys: tuple[pa.Field, ...]
    cases: Iterator[Case]
    count: int | None


def read(studies: Any) -> Input:
    """Recognise what kind of input `studies` is."""
    if isinstance(studies, str | os.PathLike):
        if not Path(studies).exists():
            raise InputError("studies", str(studies), "the path of an existing Parquet file")
        try:
            source = pyarrow.dataset.dataset(studies, format="parquet")
        except pa.ArrowInvalid:
            raise InputError("studies", str(studies), "the path of a Parquet file") from None
        batches = source.to_batches(batch_size=_ROWS_READ, batch_readahead=1, fragment_readahead=1)
        return _table(source.schema, batches, source.count_rows())
    if hasattr(studies, "__arrow_c_stream__"):
        # Before the stream is opened: some libraries run a query to know.
        count = len(studies) if hasattr(studies, "__len__") else None
        reader = pa.RecordBatchReader.from_stream(studies)
        return _table(reader.schema, reader, count)
    if isinstance(studies, Mapping | bytes) or not isinstance(studies, Iterable):
        raise InputError("studies", type(studies).__name__, _ALLOWED)
    count = len(studies) if isinstance(studies, Sized) else None
    items = iter(studies)
    first = list(itertools.islice(items, 1))
    keys = _keys(first[0]) if first else {}
    types = {name: pa.scalar(_plain(value)).type for name, value in keys.items()}
    fields = tuple(pa.field(name, type_) for name, type_ in types.items())
    return Input(fields, (_case(item, types) for item in itertools.chain(first, items)), count)


def _table(schema: pa.Schema, batches: Iterable[pa.RecordBatch], count: int | None) -> Input:
    if STUDY_COLUMN not in schema.names:
        given = f"a table with the columns {', '.join(schema.names)}"
        raise InputError("studies", given, f"a column {STUDY_COLUMN!r} of studies as JSON text")
    types = {field.name: _simple(field.type) for field in schema if field.name != STUDY_COLUMN}
    fields = tuple(pa.field(name, type_) for name, type_ in types.items())
    rows = (
        row
        for batch in batches
        for piece in range(0, len(batch), _ROWS_READ)
        for row in batch.slice(piece, _ROWS_READ).to_pylist()
    )
    return Input(fields, (_case(row, types) for row in rows), count)


def _simple(type_: pa.DataType) -> pa.DataType:
    """Give text one type, however a library lays it out."""
    if pa.types.is_dictionary(type_):
        type_ = type_.value_type
    if pa.types.is_large_string(type_) or pa.types.is_string_view(type_):
        return pa.string()
    return type_


def _keys(item: Any) -> dict[str, Any]:
    if isinstance(item, Mapping):
        return {name: value for name, value in item.items() if name != STUDY_COLUMN}
    return {}


def _plain(value: Any) -> Any:
    return value.item() if isinstance(value, np.generic) else value


def _case(item: Any, types: Mapping[str, pa.DataType]) -> Case:
    given = item.get(STUDY_COLUMN) if isinstance(item, Mapping) else item
    keys, error = {}, None
    for name, value in _keys(item).items():
        if name not in types:
            error = InputError(name, value, f"the keys of the first study: {', '.join(types)}")
            continue
        try:
            keys[name] = pa.scalar(_plain(value), type=types[name]).as_py()
        except (pa.ArrowException, TypeError, ValueError, OverflowError):
            error = InputError(name, value, f"{types[name]}, as in the first study")
    if error is None:
        try:
            return Case(keys, _json(given))
        except InputError as refused:
            error = refused
    return Case(keys, error=error)


def _json(given: Any) -> str:
    if isinstance(given, InputError):
        raise given
    if isinstance(given, Study):
        return given.to_json()
    if isinstance(given, str):
        return given
    if isinstance(given, Mapping):
        return Study.from_dict(given).to_json()
    raise InputError(STUDY_COLUMN, given, "a Study, its JSON text, or its fields")


@by_name
def write_studies(studies: Any, path: str | Path) -> int:
    """Write studies with their keys as a Parquet file that `sweep` and the command read.

    Parameters
    ----------
    studies
        As for `sweep`. They are written as they come, never all held in memory.
    path : path
        The file.

    Returns
    -------
    int
        Rows written.

    Raises
    ------
    InputError
        A study that is refused; a file keeps only studies that can be asked.

    Examples
    --------
    >>> import hangarc as ha
    >>> import pathlib
    >>> import tempfile
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "studies.parquet"
    >>> ha.sweeps.write_studies(ha.sweeps.grid([ha.demo.study(cabinets=4)], cabinets=[2, 3]), path)
    2
    """
    found = read(studies)
    schema = pa.schema([*found.keys, pa.field(STUDY_COLUMN, pa.string())])
    written = 0
    with pyarrow.parquet.ParquetWriter(path, schema, compression="zstd") as writer:
        while rows := list(itertools.islice(found.cases, _ROWS_READ)):
            for case in rows:
                if case.error is not None:
                    raise case.error
            texts = [{**case.keys, STUDY_COLUMN: case.study_json} for case in rows]
            writer.write_table(pa.Table.from_pylist(texts, schema=schema))
            written += len(rows)
    return written
