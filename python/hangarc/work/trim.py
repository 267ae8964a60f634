"""The hang where it stays, and what to read there."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from hangarc._pose import Pose
from hangarc._record import Result
from hangarc.model import Hang, Study
from hangarc.statics.balance import HoistLoads
from hangarc.statics.built import AngleReading, LoadReading, compare_with_plan
from hangarc.work.heights import Heights
from hangarc.work.job import Job
from hangarc.work.rear import RearClosing

Array = NDArray[np.float64]

ReadingKind = Literal["frame tilt", "cabinet tilt", "hoist load"]


@dataclasses.dataclass(frozen=True, eq=False)
class Trim(Result):
    """The hang where it stays.

    Attributes
    ----------
    move_m : float
        How far the hoists run from the stage before, up positive.
    pick_m, hook_m : ndarray, shape (k,)
        Heights of the holes in use and of the hooks.
    top_m, lowest_m : float
        Height of cabinet 1's upper front hinge and of the lowest point.
    tilt_deg, last_axis_deg : float
        Tilt of the fly frame, and elevation of the last cabinet's axis.
    hoist_load_n : ndarray, shape (k,)
        What each hoist reads.
    tilt_tolerance_deg, height_tolerance_m : float
        How far tilt and height may be off.

    Examples
    --------
    >>> import hangarc as ha
    >>> trim = ha.evaluate(ha.demo.study(cabinets=4)).work.trim
    >>> round(trim.lowest_m, 2), trim.tilt_deg, trim.hoist_load_n.round().tolist()
    (8.56, -4.0, [2117.0, 1550.0])
    """

    move_m: float
    pick_m: Array
    hook_m: Array
    top_m: float
    lowest_m: float
    tilt_deg: float
    last_axis_deg: float
    hoist_load_n: Array
    tilt_tolerance_deg: float
    height_tolerance_m: float


@dataclasses.dataclass(frozen=True, eq=False)
class ReadingBound(Result):
    """A reading at trim, and how far it alone may be off before the plan is refused.

    Attributes
    ----------
    kind : str
        ``frame tilt``, ``cabinet tilt`` or ``hoist load``.
    number : int
        Of the cabinet or hoist, from 1; 0 is the fly frame.
    planned : float
        What the plan gives: degrees or newtons.
    uncertainty : float
        Standard uncertainty of the reading.
    may_differ : float
        Difference at which `compare_with_plan` refuses the plan, all other readings as planned.

    Examples
    --------
    >>> import hangarc as ha
    >>> for bound in ha.evaluate(ha.demo.study(cabinets=4)).work.bounds[:2]:
    ...     print(bound.kind, bound.number, round(bound.planned, 1), round(bound.may_differ, 2))
    ...
    frame tilt 0 -4.0 0.38
    cabinet tilt 1 -4.0 0.38
    """

    kind: ReadingKind
    number: int
    planned: float
    uncertainty: float
    may_differ: float


def trim_of(
    study: Study,
    job: Job,
    placed: Pose,
    loads: HoistLoads,
    rear: RearClosing | None,
    heights: Heights,
    tilt_deg: float,
) -> Trim:
    """The hang where it stays."""
    picks_m = placed.pick_m[[heights.hole(x) for x in heights.pick_x_m], 1]
    return Trim(
        move_m=0.0 if rear is None else float(picks_m[0] - rear.pick_m[0]),
        pick_m=picks_m,
        hook_m=heights.hooks_m(picks_m),
        top_m=float(placed.hinge_m[0, 1]),
        lowest_m=placed.trim_m,
        tilt_deg=tilt_deg,
        last_axis_deg=float(placed.axis_deg[-1]),
        hoist_load_n=loads.load_n,
        tilt_tolerance_deg=job.tilt_tolerance_deg or study.tilt_step_deg / 2.0,
        height_tolerance_m=job.height_tolerance_m or study.top_step_m / 2.0,
    )


def reading_bounds(
    hang: Hang,
    job: Job,
    tilt_deg: float,
    pick_x_m: Sequence[float],
    placed: Pose,
    loads: HoistLoads,
) -> tuple[ReadingBound, ...]:
    """Readings at trim, each with how far it alone may be off."""
    last = len(hang.cabinets)
    angle_u = job.tilt_uncertainty_deg
    planned: list[tuple[ReadingKind, int, float, float]] = [("frame tilt", 0, tilt_deg, angle_u)]
    for cabinet in sorted({1, (last + 1) // 2, last}):
        planned.append(("cabinet tilt", cabinet, float(placed.axis_deg[cabinet - 1]), angle_u))
    if len(pick_x_m) > 1:
        planned += [
            ("hoist load", number, float(load_n), job.load_uncertainty * float(load_n))
            for number, load_n in enumerate(loads.load_n, start=1)
            if load_n > 0.0
        ]
    return tuple(
        ReadingBound(*row, may_differ=_may_differ(hang, tilt_deg, pick_x_m, planned, index))
        for index, row in enumerate(planned)
    )


def reading(
    kind: ReadingKind, number: int, value: float, uncertainty: float
) -> AngleReading | LoadReading:
    """Give one reading of the sheet as `compare_with_plan` takes it."""
    if kind == "hoist load":
        return LoadReading(number - 1, value, uncertainty)
    return AngleReading(None if kind == "frame tilt" else number - 1, value, uncertainty)


def _may_differ(
    hang: Hang,
    tilt_deg: float,
    pick_x_m: Sequence[float],
    planned: Sequence[tuple[ReadingKind, int, float, float]],
    index: int,
) -> float:
    """Difference of one reading at which the plan is refused, the others as planned.

    χ² grows with the square of the difference, all but exactly; one trial and one correction.
    """

    def chi_square(difference: float) -> tuple[float, float]:
        readings = [
            reading(kind, number, value + (difference if place == index else 0.0), uncertainty)
            for place, (kind, number, value, uncertainty) in enumerate(planned)
        ]
        found = compare_with_plan(hang, tilt_deg, readings, list(pick_x_m), most_wrong_pins=1)
        return found.chi_square, found.chi_square_limit

    difference = 2.0 * planned[index][3]
    for _ in range(2):
        found, limit = chi_square(difference)
        difference *= float(np.sqrt(limit / found))
    return difference
