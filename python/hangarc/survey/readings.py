"""What the crew read: the form, filled in, as JSON and CSV."""

from __future__ import annotations

import csv
import dataclasses
import io
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from hangarc import _document
from hangarc._answers import Answer
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import Record, instance, real, whole
from hangarc.work.trim import ReadingKind

READINGS_VERSION = 1
CSV_HEAD = ("hang", "kind", "number", "value", "uncertainty")
# What is read beside tilts and loads, and its field.
BESIDES = {"trim": "trim_m", "chain force": "chain_force_n"}
KINDS = ("frame tilt", "cabinet tilt", "hoist load")


@dataclasses.dataclass(frozen=True, kw_only=True)
class Reading(Record):
    """One reading at trim.

    Parameters
    ----------
    kind : {"frame tilt", "cabinet tilt", "hoist load"}
        What was read.
    number : int
        Of the cabinet or hoist, from 1; 0 for the fly frame.
    value : float or None
        Degrees or newtons; None is a field left empty.
    uncertainty : float, optional
        Standard uncertainty; left out, that of the answer's job.

    Examples
    --------
    >>> import hangarc as ha
    >>> ha.survey.Reading(kind="hoist load", number=1, value=4_870.0).uncertainty is None
    True
    """

    _kind: ClassVar[str] = "reading"

    kind: ReadingKind
    number: int = 0
    value: float | None = None
    uncertainty: float | None = None

    def _check(self, data: dict[str, Any]) -> None:
        if self.kind not in KINDS:
            raise InputError("kind", self.kind, " or ".join(map(repr, KINDS)))
        whole("number", self.number)
        if self.value is not None:
            real("value", self.value)
        if self.uncertainty is not None and real("uncertainty", self.uncertainty) <= 0.0:
            raise InputError("uncertainty", self.uncertainty, "a number above 0")


@dataclasses.dataclass(frozen=True, kw_only=True)
class Readings(Record):
    """The readings of a sheet.

    Parameters
    ----------
    hang : str
        Name of the study, so that the readings are held against their own sheet.
    at_trim : sequence of Reading
        Tilts and loads of the hang at trim.
    trim_m : float, optional
        Height of its lowest point above the floor.
    chain_force_n : float, optional
        Force in the closing chain once pulled on.

    Examples
    --------
    >>> import hangarc as ha
    >>> read = ha.survey.Readings(
    ...     hang="Main left",
    ...     at_trim=[ha.survey.Reading(kind="frame tilt", number=0, value=3.9)],
    ...     trim_m=7.6,
    ... )
    >>> ha.survey.Readings.from_csv(read.to_csv()).trim_m
    7.6
    """

    _kind: ClassVar[str] = "readings"
    _parts: ClassVar[Mapping[str, type[Record]]] = {"at_trim": Reading}

    hang: str
    at_trim: Sequence[Reading] = ()
    trim_m: float | None = None
    chain_force_n: float | None = None

    def _check(self, data: dict[str, Any]) -> None:
        instance("hang", self.hang, str)
        for field in ("trim_m", "chain_force_n"):
            if data[field] is not None:
                real(field, data[field])

    def to_json(self) -> str:
        """Write as versioned JSON; `from_json` gives the same back.

        Examples
        --------
        >>> import hangarc as ha
        >>> text = ha.survey.Readings(hang="Main left", trim_m=7.6).to_json()
        >>> [line.strip() for line in text.splitlines()[1:3]]
        ['"kind": "readings",', '"version": 1,']
        """
        return _document.write("readings", READINGS_VERSION, self.to_dict(), indent=1)

    @classmethod
    def from_json(cls, text: str) -> Readings:
        """Read what `to_json` wrote.

        Raises
        ------
        InputError
            Not JSON, another kind or version, an unknown field, or a value out of bounds.

        Examples
        --------
        >>> import hangarc as ha
        >>> text = ha.survey.Readings(hang="Main left", trim_m=7.6).to_json()
        >>> ha.survey.Readings.from_json(text).trim_m
        7.6
        """
        return cls.from_dict(_document.read(text, "readings", READINGS_VERSION))

    def to_csv(self) -> str:
        """Write as CSV, one reading a line; `from_csv` gives the same back.

        Examples
        --------
        >>> import hangarc as ha
        >>> text = ha.survey.Readings(hang="Main left", trim_m=7.6).to_csv()
        >>> text.splitlines()
        ['hang,kind,number,value,uncertainty', 'Main left,trim,0,7.6,', 'Main left,chain force,0,,']
        """
        rows: list[list[Any]] = [
            [row.kind, row.number, row.value, row.uncertainty] for row in self.at_trim
        ]
        rows += [[name, 0, getattr(self, field), None] for name, field in BESIDES.items()]
        file = io.StringIO()
        write = csv.writer(file, lineterminator="\n")
        write.writerow(CSV_HEAD)
        for row in rows:
            write.writerow([self.hang, *("" if cell is None else cell for cell in row)])
        return file.getvalue()

    @classmethod
    def from_csv(cls, text: str) -> Readings:
        """Read what `to_csv` wrote, as filled in; an empty value is a field left empty.

        Raises
        ------
        InputError
            Another head, readings of several hangs or of none, a number that is none, or as
            `Reading`.

        Examples
        --------
        >>> import hangarc as ha
        >>> text = ha.survey.Readings(hang="Main left", trim_m=7.6).to_csv()
        >>> ha.survey.Readings.from_csv(text).hang
        'Main left'
        """
        lines = [line for line in csv.reader(io.StringIO(text.lstrip("\ufeff"))) if any(line)]
        if not lines or tuple(lines[0]) != CSV_HEAD:
            head = ",".join(lines[0]) if lines else "nothing"
            raise InputError("csv", head, ",".join(CSV_HEAD))
        hangs = {line[0] for line in lines[1:]}
        if len(hangs) != 1:
            raise InputError("hang", sorted(hangs), "readings of one hang")
        at_trim: list[Reading] = []
        besides: dict[str, float | None] = {}
        for number, line in enumerate(lines[1:], start=2):
            if len(line) != len(CSV_HEAD):
                allowed = f"{len(CSV_HEAD)} cells"
                raise InputError(f"csv line {number}", ",".join(line), allowed)
            _, kind, counted, value, uncertainty = line
            read = _cell(number, "value", value)
            if kind in BESIDES:
                besides[BESIDES[kind]] = read
                continue
            fields: dict[str, Any] = {"kind": kind, "value": read}
            fields["number"] = _count(number, counted)
            fields["uncertainty"] = _cell(number, "uncertainty", uncertainty)
            at_trim.append(Reading(**fields))
        return cls(hang=hangs.pop(), at_trim=at_trim, **besides)


def _cell(line: int, field: str, text: str) -> float | None:
    """A number of a CSV cell; None where it is empty."""
    if not text.strip():
        return None
    try:
        return float(text)
    except ValueError:
        raise InputError(f"csv line {line}, {field}", text, "a number with a point") from None


def _count(line: int, text: str) -> int:
    """A whole number of a CSV cell; 0 where it is empty."""
    if not text.strip():
        return 0
    try:
        return int(text)
    except ValueError:
        raise InputError(f"csv line {line}, number", text, "a whole number") from None


@by_name
def blank_readings(answer: Answer) -> Readings:
    """Give the form to fill in: every reading of the sheet at trim, without its value.

    Parameters
    ----------
    answer : Answer
        What `hangarc.answer` gave.

    Returns
    -------
    Readings

    Examples
    --------
    >>> import hangarc as ha
    >>> form = ha.survey.blank_readings(ha.evaluate(ha.demo.study(cabinets=4)))
    >>> [(reading.kind, reading.number) for reading in form.at_trim][:3]
    [('frame tilt', 0), ('cabinet tilt', 1), ('cabinet tilt', 2)]
    """
    instance("answer", answer, Answer)
    rows = [Reading(kind=bound.kind, number=bound.number) for bound in answer.work.bounds]
    return Readings(hang=answer.study.name, at_trim=rows)
