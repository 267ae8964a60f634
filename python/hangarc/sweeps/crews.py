"""Who answers the studies: threads of the core, or any executor's workers."""

from __future__ import annotations

import concurrent.futures
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, Protocol

import pyarrow as pa

from hangarc import _core
from hangarc._errors import InputError
from hangarc._threads import thread_count
from hangarc._words import constraint_words, part_words
from hangarc.sweeps.rows import Column

if TYPE_CHECKING:
    from hangarc._fields import AnswerRow, Asked, RefusedRow

Finished = tuple[int, dict[str, Any]]

#: Seconds between two looks for Ctrl-C.
_PULSE_S = 0.05


class Crew(Protocol):
    """Takes studies as JSON text, gives rows back in the order they are done."""

    places: int

    def submit(self, place: int, study_json: str) -> None:
        """Start a study."""

    def finished(self) -> Iterator[Finished]:
        """Wait for the next rows a little while; perhaps there are none."""

    def cancel(self) -> None:
        """Stop what is running."""


class Threads:
    """The core's own threads, one study per thread; a few studies share all threads."""

    def __init__(self, asked: Asked, columns: Sequence[Column], few: bool) -> None:
        self._columns = columns
        self._alone = not few
        self.places = 1 if few else 2 * thread_count()
        self._queue = _core.SweepQueue(asked, bool(columns))
        self._texts: dict[int, str] = {}

    def submit(self, place: int, study_json: str) -> None:
        """Start a study."""
        if self._columns:
            self._texts[place] = study_json
        self._queue.submit(place, study_json, self._alone)

    def finished(self) -> Iterator[Finished]:
        """Wait for the next rows a little while; perhaps there are none."""
        wait_s = _PULSE_S
        while (taken := self._queue.take(wait_s)) is not None:
            place, row = taken
            # What a cancelled search has so far is no answer.
            if row["ended"] != "interrupted":
                yield place, finished_row(row, self._texts.pop(place, ""), self._columns)
            wait_s = 0.0

    def cancel(self) -> None:
        """Stop what is running, or what has not begun."""
        self._queue.cancel()


class Workers:
    """The workers of an executor; each answers its studies one by one, on a thread alone."""

    def __init__(self, executor: Any, asked: Asked, columns: Sequence[Column]) -> None:
        self._asked, self._columns = asked, tuple(columns)
        if hasattr(executor, "get_executor"):  # a Dask client
            self.places = max(8, 3 * sum(executor.nthreads().values()))
            executor = executor.get_executor(pure=False)
        else:
            self.places = max(8, 3 * int(getattr(executor, "_max_workers", 64)))
        if not callable(getattr(executor, "submit", None)):
            allowed = "a concurrent.futures executor, a Dask client, or None"
            raise InputError("executor", executor, allowed)
        self._executor = executor
        self._running: dict[Any, int] = {}

    def submit(self, place: int, study_json: str) -> None:
        """Start a study."""
        future = self._executor.submit(answer_study, study_json, self._asked, self._columns)
        self._running[future] = place

    def finished(self) -> Iterator[Finished]:
        """Wait for the next rows a little while; perhaps there are none."""
        if not self._running:
            return
        first = concurrent.futures.FIRST_COMPLETED
        done, _ = concurrent.futures.wait(self._running, _PULSE_S * 4, first)
        for future in done:
            place = self._running.pop(future)
            try:
                row = future.result()
            except (concurrent.futures.BrokenExecutor, concurrent.futures.CancelledError):
                raise
            except Exception as error:  # the worker of this study broke down, not the sweep
                row = {"ended": "failed", "error_field": "worker", "error_text": repr(error)}
            yield place, row

    def cancel(self) -> None:
        """Stop what is running, or what has not begun."""
        for future in self._running:
            future.cancel()


def answer_study(study_json: str, asked: Asked, columns: Sequence[Column]) -> dict[str, Any]:
    """Answer one study on this thread alone, as a worker does."""
    row = _core.sweep_study(study_json, asked, bool(columns))
    return finished_row(row, study_json, columns)


def finished_row(
    fields: RefusedRow | AnswerRow, study_json: str, columns: Sequence[Column]
) -> dict[str, Any]:
    """Name parts and constraints, and add the caller's columns, functions of the whole answer."""
    row: dict[str, Any] = {**fields}
    if "error_field" in row:
        return row
    greatest = row.pop("greatest_part")
    row["greatest_utilisation_part"] = None if greatest is None else part_words(*greatest)
    row["missed"] = [constraint_words(**missed) for missed in row["missed"]]
    if not columns:
        return row
    from hangarc._answers import answer_of
    from hangarc.model import Study
    from hangarc.search.result import result_of

    name = ""
    try:
        answer = answer_of(Study.from_json(study_json), result_of(row.pop("search")))
        values = {}
        for column in columns:
            name = f"schema[{column.name!r}]"
            values[column.name] = pa.scalar(column.function(answer), type=column.type).as_py()
    except Exception as error:  # a caller's function must not stop the sweep
        return {
            "ended": "refused",
            "error_field": name or "study",
            "error_text": f"{type(error).__name__}: {error}",
            "seconds": row["seconds"],
        }
    return {**row, **values}
