"""What the crew read, and whether what hangs is what was planned.

Examples
--------
>>> import hangarc as ha
>>> answer = ha.evaluate(ha.demo.study(cabinets=4))
>>> form = ha.survey.blank_readings(answer)
>>> form.to_csv().splitlines()[0]
'hang,kind,number,value,uncertainty'
"""

from __future__ import annotations

import csv
import dataclasses
import io
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar, Literal

import numpy as np

from hangarc import _document
from hangarc._answers import Answer
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import Record, Result, instance, real, whole
from hangarc._tables import columns_of
from hangarc.statics.built import (
    AngleReading,
    LoadReading,
    PlanComparison,
    compare_with_plan,
)
from hangarc.work.trim import ReadingBound, ReadingKind, reading

__all__ = [
    "AngleReading",
    "BuiltCheck",
    "LoadReading",
    "PlanComparison",
    "Reading",
    "ReadingCheck",
    "Readings",
    "blank_readings",
    "check_readings",
    "compare_with_plan",
]

READINGS_VERSION = 1
CSV_HEAD = ("hang", "kind", "number", "value", "uncertainty")
# What is read beside tilts and loads, and its field.
_BESIDES = {"trim": "trim_m", "chain force": "chain_force_n"}
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
        rows += [[name, 0, getattr(self, field), None] for name, field in _BESIDES.items()]
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
            if kind in _BESIDES:
                besides[_BESIDES[kind]] = read
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


@dataclasses.dataclass(frozen=True, eq=False)
class ReadingCheck(Result):
    """One reading against the plan.

    Attributes
    ----------
    kind, number
        As in `Reading`; ``trim`` and ``chain force`` besides.
    planned, read : float
        In degrees, newtons or metres.
    least, most : float or None
        What is accepted of this reading alone; None where nothing bounds it.

    Examples
    --------
    >>> import hangarc as ha
    >>> answer = ha.evaluate(ha.demo.study(cabinets=4))
    >>> tilt = ha.survey.Reading(kind="frame tilt", number=0, value=-3.9)
    >>> read = ha.survey.Readings(hang=answer.study.name, at_trim=[tilt])
    >>> row = ha.survey.check_readings(answer, read).readings[0]
    >>> row.kind, row.planned, row.read, row.within
    ('frame tilt', -4.0, -3.9, True)
    """

    kind: Literal["frame tilt", "cabinet tilt", "hoist load", "trim", "chain force"]
    number: int
    planned: float
    read: float
    least: float | None
    most: float | None

    @property
    def within(self) -> bool:
        """Whether it stays within its bounds."""
        low = self.least is None or self.read >= self.least
        return low and (self.most is None or self.read <= self.most)


@dataclasses.dataclass(frozen=True, eq=False)
class BuiltCheck(Result):
    """Whether what hangs is what was planned.

    Attributes
    ----------
    verdict : {"accept", "look", "stop"}
        Everything agrees; the joints below disagree with their pins; or it does not agree and no
        joint explains it.
    joints : tuple of int
        Joints to look at, counted as on the sheet: those that sit elsewhere in every hang the
        readings accept, else those that some such hang has elsewhere.
    readings : tuple of ReadingCheck
        Each reading against the plan.
    tilt_deg : float
        Tilt of the frame that the readings fit best.
    tilt_uncertainty_deg : float
        Its standard uncertainty, were every joint free to be off.
    comparison : PlanComparison
        The whole of `compare_with_plan`.

    Examples
    --------
    >>> import hangarc as ha
    >>> answer = ha.evaluate(ha.demo.study(cabinets=4))
    >>> read = ha.survey.Readings(
    ...     hang=answer.study.name,
    ...     at_trim=[ha.survey.Reading(kind="frame tilt", number=0, value=answer.search.tilt_deg)],
    ... )
    >>> ha.survey.check_readings(answer, read).verdict
    'accept'
    """

    verdict: Literal["accept", "look", "stop"]
    joints: tuple[int, ...]
    readings: tuple[ReadingCheck, ...]
    tilt_deg: float
    tilt_uncertainty_deg: float
    comparison: PlanComparison

    def _columns(self) -> dict[str, Any]:
        return columns_of(self.readings)

    def _picture(self) -> str:
        from hangarc import _pictures

        angles = [row for row in self.readings if row.kind.endswith("tilt")]
        off, least, most = (
            (
                np.array([_over(row, value) for row, value in zip(angles, values, strict=True)])
                for values in zip(*((r.read, r.least, r.most) for r in angles), strict=True)
            )
            if angles
            else (np.array([]),) * 3
        )
        return _pictures.checks(off, least, most, [f"{row.kind} {row.number}" for row in angles])


def _over(row: ReadingCheck, value: float | None) -> float:
    return float("nan") if value is None else value - row.planned


@by_name
def check_readings(answer: Answer, readings: Readings) -> BuiltCheck:
    """Hold a crew's readings against the plan.

    Tilts and loads go together through `compare_with_plan`; the tilt that fits them best and the
    trim height are held against the job's tolerances, the chain force against the sheet's.

    Parameters
    ----------
    answer : Answer
        The plan.
    readings : Readings
        What was read; fields left empty are left out.

    Returns
    -------
    BuiltCheck

    Raises
    ------
    InputError
        Readings of another hang, no tilt or load among them, or a reading of something that is not
        there.

    Examples
    --------
    >>> import hangarc as ha
    >>> answer = ha.evaluate(ha.demo.study(cabinets=4))
    >>> tilt = ha.survey.Reading(kind="frame tilt", number=0, value=-1.0)
    >>> read = ha.survey.Readings(hang=answer.study.name, at_trim=[tilt])
    >>> found = ha.survey.check_readings(answer, read)
    >>> found.verdict, found.joints
    ('stop', ())
    """
    instance("answer", answer, Answer)
    if instance("readings", readings, Readings).hang != answer.study.name:
        raise InputError("hang", readings.hang, f"{answer.study.name!r}, the answer's study")
    taken = [row for row in readings.at_trim if row.value is not None]
    if not taken:
        raise InputError("at_trim", "no value", "at least one tilt or load that was read")
    picks = answer.search.pick_x_m.tolist()
    found = compare_with_plan(
        answer.hang,
        answer.search.tilt_deg,
        [_as_measured(answer, row, index) for index, row in enumerate(taken)],
        picks,
    )
    trim = answer.work.trim
    tilt_ok = abs(found.tilt_deg - trim.tilt_deg) <= trim.tilt_tolerance_deg
    besides = _besides(answer, readings)
    verdict, joints = _verdict(found, tilt_ok and all(row.within for row in besides))
    return BuiltCheck(
        verdict=verdict,
        joints=joints,
        readings=(*(_row(answer, row) for row in taken), *besides),
        tilt_deg=found.tilt_deg,
        tilt_uncertainty_deg=float(found.covariance_deg2[0, 0]) ** 0.5,
        comparison=found,
    )


def _verdict(
    found: PlanComparison, tolerances_ok: bool
) -> tuple[Literal["accept", "look", "stop"], tuple[int, ...]]:
    if found.plan_accepted:
        return ("accept", ()) if tolerances_ok else ("stop", ())
    # The comparison counts joints between cabinets from 0, the sheet from 1.
    certain = [j + 1 for j, told in enumerate(found.verdict) if told == "inconsistent"]
    fewest = min((len(pins) for pins, _ in found.other_hangs), default=0)
    possible = {
        joint + 1 for pins, _ in found.other_hangs if len(pins) == fewest for joint, _ in pins
    }
    joints = tuple(certain) or tuple(sorted(possible))
    return ("look", joints) if joints else ("stop", ())


def _bound(answer: Answer, row: Reading) -> ReadingBound | None:
    for bound in answer.work.bounds:
        if (bound.kind, bound.number) == (row.kind, row.number):
            return bound
    return None


def _planned(answer: Answer, row: Reading) -> float:
    if row.kind == "frame tilt":
        return answer.search.tilt_deg
    values = answer.hoists.load_n if row.kind == "hoist load" else answer.pose.axis_deg
    if not 1 <= row.number <= len(values):
        raise InputError("number", row.number, f"a whole number from 1 to {len(values)}")
    return float(values[row.number - 1])


def _as_measured(answer: Answer, row: Reading, index: int) -> Any:
    planned = _planned(answer, row)
    job = answer.job
    usual = (
        job.load_uncertainty * abs(planned)
        if row.kind == "hoist load"
        else job.tilt_uncertainty_deg
    )
    assert row.value is not None
    return reading(row.kind, row.number, float(row.value), row.uncertainty or usual)


def _row(answer: Answer, row: Reading) -> ReadingCheck:
    planned, bound = _planned(answer, row), _bound(answer, row)
    assert row.value is not None
    # A bound of the sheet holds for the sheet's instruments.
    apart = None if bound is None or row.uncertainty is not None else bound.may_differ
    return ReadingCheck(
        kind=row.kind,
        number=row.number,
        planned=planned,
        read=float(row.value),
        least=None if apart is None else planned - apart,
        most=None if apart is None else planned + apart,
    )


def _besides(answer: Answer, readings: Readings) -> list[ReadingCheck]:
    """Trim height and chain force, which the comparison of tilts and loads knows nothing of."""
    rows = []
    trim, rear, gear = answer.work.trim, answer.work.closing, answer.hang.gear
    if readings.trim_m is not None:
        low, high = (trim.lowest_m + sign * trim.height_tolerance_m for sign in (-1.0, 1.0))
        rows.append(ReadingCheck("trim", 0, trim.lowest_m, float(readings.trim_m), low, high))
    if readings.chain_force_n is not None and rear is not None:
        most_n = None if gear is None or gear.clutch_n is None else float(gear.clutch_n[1])
        read_n = float(readings.chain_force_n)
        rows.append(
            ReadingCheck("chain force", 0, rear.pulled_n, read_n, rear.closing_force_n, most_n)
        )
    return rows
