"""Whether what hangs is what was planned."""

from __future__ import annotations

import dataclasses
from typing import Any, Literal

import numpy as np

from hangarc._answers import Answer
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import Result, instance
from hangarc._tables import columns_of
from hangarc.statics.built import (
    PlanComparison,
    compare_with_plan,
)
from hangarc.survey.readings import Reading, Readings
from hangarc.work.trim import ReadingBound, reading


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
    # A single tilt tests no pin; it still is the tilt to hold against the tolerance.
    if found.ended in ("accepted", "nothing tested"):
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
