"""The sweep itself: cases in, rows out, partition by partition."""

from __future__ import annotations

import contextlib
import dataclasses
import errno
import hashlib
import itertools
import json
import os
import sys
import time
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, get_args

import pyarrow as pa
import pyarrow.dataset
from tqdm import tqdm

from hangarc._core import __version__
from hangarc._ending import Ended, Ending
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import real, whole
from hangarc._threads import thread_count
from hangarc.sweeps.crews import Crew, Finished, Threads, Workers
from hangarc.sweeps.inputs import Case, read
from hangarc.sweeps.rows import SCHEMA_VERSION, Columns, columns, row_schema
from hangarc.sweeps.store import Store

if TYPE_CHECKING:
    from hangarc._fields import Asked

Mode = Literal["search", "law", "given"]
SweepEnd = Literal["done", "interrupted"]

SWEEP_ENDINGS: Mapping[str, Ending] = {
    "done": Ending(True, "Every study has its row; those that were refused say so."),
    "interrupted": Ending(
        False, "It was stopped; what was done until then is written.", "The same call: it goes on."
    ),
}

_NO_ROOM = (errno.ENOSPC, errno.EFBIG, errno.EDQUOT)


@dataclasses.dataclass(frozen=True, eq=False)
class SweepSummary(Ended):
    """What a sweep did.

    Attributes
    ----------
    output : str
        Folder of the data set.
    ended : {"done", "interrupted"}
        "done", or "interrupted": the same call goes on.
    rows : int
        Rows of this input that are written.
    computed, kept : int
        Rows answered by this call, and rows kept from an earlier one.
    errors : int
        Rows computed by this call that hold an error.
    seconds : float
        Time of this call.

    Examples
    --------
    >>> import hangarc as ha
    >>> import tempfile
    >>> study = ha.demo.study(cabinets=2)
    >>> done = ha.sweep([study], tempfile.mkdtemp(), budget_evaluations=20, quiet=True)
    >>> done.ended, done.rows, done.errors
    ('done', 1, 0)
    """

    _endings = SWEEP_ENDINGS

    output: str
    ended: SweepEnd
    rows: int
    computed: int
    kept: int
    errors: int
    seconds: float

    def table(self) -> pa.Table:
        """Read the whole data set.

        Examples
        --------
        >>> import hangarc as ha
        >>> import tempfile
        >>> study = ha.demo.study(cabinets=2)
        >>> done = ha.sweep([study], tempfile.mkdtemp(), budget_evaluations=20, quiet=True)
        >>> done.table().num_rows
        1
        """
        parts = [str(part) for part in sorted(Path(self.output).glob("part-*.parquet"))]
        return pyarrow.dataset.dataset(parts, format="parquet").to_table()


@by_name
def sweep(
    studies: Any,
    output: str | os.PathLike[str],
    executor: Any = None,
    resume: bool = True,
    *,
    mode: Mode = "search",
    seed: int = 0,
    budget_evaluations: int | None = None,
    schema: Columns | None = None,
    rows_per_partition: int = 500,
    checkpoint_s: float = 60.0,
    quiet: bool = False,
) -> SweepSummary:
    """Answer many studies and write a row for each to a partitioned Parquet data set.

    Every study has its row: one that is refused has `error_field` and `error_text` in it and stops
    nothing. The rows are the same, `seconds` left out, whatever answers them.

    Run the same call again after any kind of end and it goes on: a row is kept where the hash of
    its study, of how it was asked and of the library's version is the same; a changed study is
    answered again and its row replaced. A partition is written under another name, synced to the
    disk and renamed. A study's place in the input decides its partition.

    Parameters
    ----------
    studies
        An iterable of `Study` or of mappings with `study` (a `Study`, its JSON text, or its fields)
        and any keys; anything with the Arrow stream interface (pyarrow, pandas, polars, DuckDB) or
        the path of a Parquet file, with a column `study` of JSON text. All other columns are keys
        and stand in the rows.
    output : path
        Folder of the data set; ``output/*.parquet`` is what pandas, polars and DuckDB read.
    executor : concurrent.futures.Executor or dask.distributed.Client, optional
        Who answers; left out, the threads of the core, one study per thread, or all threads on one
        study where there are fewer studies than threads. See `thread_count`.
    resume : bool
        False takes away what is in `output` and begins anew.
    mode : {"search", "law", "given"}
        Search; or take the best of the closed-form curves that follow from the seats' geometry,
        snapped to the pins; or look at the pins as each study has them, as `evaluate` does.
    seed, budget_evaluations
        As in `optimise_splays`, for every study.
    schema : mapping, optional
        More columns: name to a function of the `Answer`, for numbers, or to an Arrow type and a
        function. For other processes than this one it must be picklable. Its name and type enter
        the hash, its code does not.
    rows_per_partition : int
        1 to 1,000,000; stays the same for a data set.
    checkpoint_s : float
        Partitions that are not complete are written as far as they are after so many seconds.
    quiet : bool
        No progress on standard error: rate, best objective and errors so far.

    Returns
    -------
    SweepSummary
        After Ctrl-C what is done is written and `ended` is "interrupted".

    Raises
    ------
    InputError
        An argument or a whole input that cannot be read; `output` in use by another sweep.
    OSError
        The disk refused; what was written before stays, and the same call goes on.
    concurrent.futures.BrokenExecutor
        The executor broke down; the same.

    Examples
    --------
    >>> import hangarc as ha
    >>> import tempfile
    >>> studies = ha.sweeps.grid([ha.demo.study(cabinets=3)], cabinets=[2, 3])
    >>> done = ha.sweep(studies, tempfile.mkdtemp(), budget_evaluations=20, quiet=True)
    >>> done.table().column("cabinets").to_pylist()
    [2, 3]
    """
    if mode not in get_args(Mode):
        raise InputError("mode", mode, " or ".join(get_args(Mode)))
    size = whole("rows_per_partition", rows_per_partition, 1_000_000)
    if size == 0:
        raise InputError("rows_per_partition", 0, "a whole number above 0")
    if budget_evaluations is not None:
        budget_evaluations = whole("budget_evaluations", budget_evaluations)
    asked: Asked = {
        "mode": mode,
        "seed": whole("seed", seed),
        "budget_evaluations": budget_evaluations,
    }
    added = columns(schema)
    given = read(studies)
    arrow_schema = row_schema(keys=given.keys, added=added, rows_per_partition=size)
    threads = thread_count()
    ahead = list(itertools.islice(given.cases, threads))
    cases = itertools.chain(ahead, given.cases)
    crew: Crew
    if executor is None:
        crew = Threads(asked, added, few=len(ahead) < threads)
    else:
        crew = Workers(executor, asked, added)
    how = json.dumps([asked, [(c.name, str(c.type)) for c in added], __version__, SCHEMA_VERSION])
    folder = Path(output)
    store = Store(folder, arrow_schema, size)
    bar = tqdm(total=given.count, unit=" studies", disable=quiet, mininterval=0.5, file=sys.stderr)
    with store.held(resume), bar:
        run = _Run(store, crew, size, how, bar, real("checkpoint_s", checkpoint_s))
        try:
            for place, case in enumerate(cases):
                run.take(place, case)
            run.finish()
            ended: SweepEnd = "done"
        except KeyboardInterrupt:
            crew.cancel()
            run.write_all()
            ended = "interrupted"
        except OSError as error:
            crew.cancel()
            with contextlib.suppress(OSError):
                run.write_all()
            room = "make room, and " if error.errno in _NO_ROOM else ""
            words = f"{error.strerror or error}: {run.written} rows are written to {folder}; "
            words += f"{room}the same call goes on from there"
            raise OSError(error.errno, words) from error
        except BaseException:
            crew.cancel()
            run.write_all()
            raise
    summary = run.summary(str(folder), ended)
    if ended == "interrupted" and not quiet:
        print(
            f"stopped by Ctrl-C: {summary.rows} rows are written to {folder}; "
            "run the same call again to go on",
            file=sys.stderr,
        )
    return summary


@dataclasses.dataclass
class _Partition:
    """A partition that is being worked on."""

    before: dict[int, str]
    kept: set[int] = dataclasses.field(default_factory=set)
    rows: dict[int, dict[str, Any]] = dataclasses.field(default_factory=dict)
    running: int = 0
    closed: bool = False
    unwritten: bool = False
    written: int = 0


class _Run:
    """Rows of one call, on their way from the crew to the store."""

    def __init__(
        self, store: Store, crew: Crew, size: int, how: str, bar: Any, checkpoint_s: float
    ) -> None:
        self._store, self._crew, self._size, self._bar = store, crew, size, bar
        self._how = how.encode()
        self._checkpoint_s = checkpoint_s
        self._open: dict[int, _Partition] = {}
        self._waiting: dict[int, dict[str, Any]] = {}
        self._begun = self._saved = time.monotonic()
        self._count = 0
        self._kept = self._computed = self._errors = 0
        self._best: float | None = None
        self.written = 0

    def take(self, place: int, case: Case) -> None:
        """Keep the row of a case that is answered already, or start it."""
        index = place // self._size
        if place % self._size == 0:
            if index:
                self._close(index - 1)
            self._open[index] = _Partition(self._store.hashes(index))
        partition = self._open[index]
        self._count = place + 1
        row = {**case.keys, "place": place, "study_hash": self._hash(case)}
        if partition.before.get(place) == row["study_hash"]:
            partition.kept.add(place)
            self._kept += 1
            self.written += 1
            self._bar.update()
            return
        if case.error is not None:
            error = case.error
            told = {"ended": "refused", "error_field": error.field, "error_text": str(error)}
            self._done(place, {**row, **told, "seconds": 0.0})
            return
        while len(self._waiting) >= self._crew.places:
            self._collect()
        self._waiting[place] = row
        partition.running += 1
        self._crew.submit(place, case.study_json)

    def finish(self) -> None:
        """Wait for all that is running, write it, and take away what is beyond the input."""
        partitions = -(-self._count // self._size)
        if partitions:
            self._close(partitions - 1)
        while self._waiting:
            self._collect()
        self._store.end_after(partitions)

    def write_all(self) -> None:
        """Write every open partition as far as it is."""
        for index in list(self._open):
            self._write(index)
        self._saved = time.monotonic()

    def summary(self, output: str, ended: SweepEnd) -> SweepSummary:
        """Say what was done."""
        return SweepSummary(
            output=output,
            ended=ended,
            rows=self.written,
            computed=self._computed,
            kept=self._kept,
            errors=self._errors,
            seconds=time.monotonic() - self._begun,
        )

    def _hash(self, case: Case) -> str:
        told = case.study_json if case.error is None else f"refused: {case.error}"
        keys = json.dumps(dict(case.keys), default=str)
        hashed = hashlib.sha256(self._how)
        for part in (keys, told):
            hashed.update(b"\0")
            hashed.update(part.encode())
        return hashed.hexdigest()

    def _collect(self) -> None:
        for finished in self._crew.finished():
            self._answered(finished)
        if time.monotonic() - self._saved > self._checkpoint_s:
            self.write_all()

    def _answered(self, finished: Finished) -> None:
        place, answered = finished
        row = {**self._waiting.pop(place), **answered}
        self._open[place // self._size].running -= 1
        self._done(place, row)

    def _done(self, place: int, row: Mapping[str, Any]) -> None:
        index = place // self._size
        partition = self._open[index]
        partition.rows[place] = dict(row)
        partition.unwritten = True
        self._computed += 1
        self._errors += "error_field" in row
        objective_db = row.get("objective_db")
        if objective_db is not None and row["ended"] != "infeasible":
            best = self._best
            self._best = objective_db if best is None else min(best, objective_db)
        best_text = "–" if self._best is None else f"{self._best:.2f} dB"
        self._bar.set_postfix_str(f"best {best_text}, errors {self._errors}", refresh=False)
        self._bar.update()
        self._end_if_complete(index)

    def _close(self, index: int) -> None:
        self._open[index].closed = True
        self._end_if_complete(index)

    def _end_if_complete(self, index: int) -> None:
        partition = self._open[index]
        if partition.closed and not partition.running:
            self._write(index)
            del self._open[index]

    def _write(self, index: int) -> None:
        partition = self._open[index]
        whole_again = partition.closed and not partition.running
        shorter = whole_again and len(partition.kept) < len(partition.before)
        if not (partition.unwritten or shorter):
            return
        rows = [partition.rows[place] for place in sorted(partition.rows)]
        # Of a partition that is not complete, what has not been looked at yet stays as it was.
        kept = partition.kept if whole_again else partition.before.keys() - partition.rows.keys()
        self._store.write(index, set(kept), rows)
        self.written += len(rows) - partition.written
        partition.unwritten, partition.written = False, len(rows)
