"""The data set on disk: partitions that are whole or not there at all."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq

from hangarc._errors import InputError
from hangarc.sweeps.rows import table

_PARTITION = "part-{:08d}.parquet"
_HALF_WRITTEN = ".part-*.tmp"


class Store:
    """A folder of partitions; partition i holds the studies at i·n … i·n + n − 1 of the input."""

    def __init__(self, folder: Path, schema: pa.Schema, rows_per_partition: int) -> None:
        self._folder = folder
        self._schema = schema
        self._size = rows_per_partition

    @contextlib.contextmanager
    def held(self, resume: bool) -> Iterator[None]:
        """Keep other sweeps off the folder; take away what was half written."""
        self._folder.mkdir(parents=True, exist_ok=True)
        with open(self._folder / "_lock", "a", encoding="utf-8") as lock:
            _take(lock, self._folder)
            for left in self._folder.glob(_HALF_WRITTEN):
                left.unlink()
            if not resume:
                for part in self._parts():
                    part.unlink()
            self._check_size()
            yield

    def _parts(self) -> list[Path]:
        return sorted(self._folder.glob("part-*.parquet"))

    def _check_size(self) -> None:
        """Studies must not move to other partitions between runs."""
        for part in self._parts():
            with contextlib.suppress(pa.ArrowException, OSError):
                written = (pq.read_schema(part).metadata or {}).get(b"hangarc.rows_per_partition")
                if written is not None and int(written) != self._size:
                    allowed = f"{int(written)}, as {self._folder} was begun with"
                    raise InputError("rows_per_partition", self._size, allowed)
                return

    def hashes(self, index: int) -> dict[int, str]:
        """Which studies a partition answers: place and hash, without those whose worker failed."""
        columns = ["place", "study_hash", "ended"]
        try:
            if not pq.read_schema(self._path(index)).equals(self._schema):
                return {}
            found = pq.read_table(self._path(index), columns=columns).to_pylist()
        except (pa.ArrowException, OSError):
            return {}
        places = range(index * self._size, (index + 1) * self._size)
        return {
            row["place"]: row["study_hash"]
            for row in found
            if row["place"] in places and row["ended"] != "failed"
        }

    def write(self, index: int, kept: set[int], rows: Sequence[Mapping[str, Any]]) -> None:
        """Replace a partition by the rows of it that are kept and the new ones.

        Written under another name, synced to the disk, then renamed: at any moment the partition
        is the old one or the new one.
        """
        whole = table(rows, self._schema)
        if kept:
            old = pq.read_table(self._path(index), schema=self._schema)
            old = old.filter(pa.array([place.as_py() in kept for place in old["place"]]))
            whole = pa.concat_tables([old, whole])
        whole = whole.sort_by("place").replace_schema_metadata(self._schema.metadata)
        final = self._path(index)
        half = self._folder / f".{final.name}.{os.getpid()}.tmp"
        try:
            with open(half, "wb") as file:
                pq.write_table(whole, file, compression="zstd")
                file.flush()
                os.fsync(file.fileno())
            os.replace(half, final)
            self._sync_folder()
        except BaseException:
            with contextlib.suppress(OSError):
                half.unlink()
            raise

    def end_after(self, partitions: int) -> None:
        """Take away partitions of an earlier, longer input."""
        for part in self._parts():
            with contextlib.suppress(ValueError):
                if int(part.stem.removeprefix("part-")) >= partitions:
                    part.unlink()

    def _path(self, index: int) -> Path:
        return self._folder / _PARTITION.format(index)

    def _sync_folder(self) -> None:
        if os.name == "posix":
            folder = os.open(self._folder, os.O_RDONLY)
            try:
                os.fsync(folder)
            finally:
                os.close(folder)


def _take(lock: Any, folder: Path) -> None:
    """Hold a lock that ends with the process, however it ends."""
    try:
        import fcntl
    except ImportError:  # where there is none, two sweeps into one folder are the caller's care
        return
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        raise InputError("output", str(folder), "a folder no other sweep writes to") from None
