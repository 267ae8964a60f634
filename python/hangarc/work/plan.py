"""The work in its order."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from hangarc._errors import InputError
from hangarc._pose import Pose
from hangarc._record import Result
from hangarc._words import part_words, state_words
from hangarc.closing.links import Shortening
from hangarc.closing.path import Closing
from hangarc.model import Hang, Study
from hangarc.statics.balance import HoistLoads
from hangarc.statics.building import build_up
from hangarc.statics.joints import JointLoads
from hangarc.statics.limits import LimitRow
from hangarc.work.heights import Heights
from hangarc.work.job import Job
from hangarc.work.lifts import FrameUp, Lift, frame_up, lifts_of
from hangarc.work.rear import RearClosing, rear_closing
from hangarc.work.roof import HoistPoint, hoist_points
from hangarc.work.trim import ReadingBound, Trim, reading_bounds, trim_of

Array = NDArray[np.float64]


@dataclasses.dataclass(frozen=True, eq=False)
class Work(Result):
    """The work in its order.

    Attributes
    ----------
    frame : FrameUp
        The fly frame above the first cart.
    lifts : tuple of Lift
        One for each cart.
    closing : RearClosing or None
        Closing the rear; none of a tension hang, and of a hang that does not close.
    trim : Trim
        Where it stays.
    bounds : tuple of ReadingBound
        What to read at trim, and how far it may be off.
    hoists : tuple of HoistPoint
        What hangs from where.
    hinge_n : ndarray, shape (j,)
        Size of the force on every front hinge: of a tension hang at rest, of a compression hang
        closed and pulled on; of one that does not close, empty.
    gravity_m_s2 : float
        Acceleration of free fall that all weights are reckoned with.

    Examples
    --------
    >>> import hangarc as ha
    >>> work = ha.evaluate(ha.demo.study(cabinets=4)).work
    >>> len(work.lifts), work.closing.link, len(work.hoists)
    (1, 17, 2)
    """

    frame: FrameUp
    lifts: tuple[Lift, ...]
    closing: RearClosing | None
    trim: Trim
    bounds: tuple[ReadingBound, ...]
    hoists: tuple[HoistPoint, ...]
    hinge_n: Array
    gravity_m_s2: float

    def _picture(self) -> str:
        from hangarc import _pictures

        return _pictures.work(self)


def plan_work(
    study: Study,
    job: Job,
    hang: Hang,
    tilt_deg: float,
    pick_x_m: Sequence[float],
    placed: Pose,
    loads: HoistLoads,
    joints: JointLoads | None,
    closing: Closing | None,
    preload_n: float,
    shortened: Shortening | None,
) -> Work:
    """Put the work of an answered study in its order.

    Parameters
    ----------
    study, job
        What was asked.
    hang, tilt_deg, pick_x_m, placed, loads, joints, closing, preload_n, shortened
        What was found: as the fields of `Answer`.

    Returns
    -------
    Work

    Raises
    ------
    InputError
        A job that does not fit the study: masses above the hook that do not add up, or another
        number of suspensions than hoists.
    """
    _check_job(study, job, len(pick_x_m))
    one_pick = len(pick_x_m) == 1
    stages = build_up(
        hang,
        list(pick_x_m),
        stack=job.stack,
        cart_m=job.cart_m,
        tilt_deg=None if one_pick else tilt_deg,
    )
    rear = rear_closing(hang, job, pick_x_m, closing, preload_n, shortened)
    frame = frame_up(hang, job, stages, pick_x_m)
    heights = Heights(hang, pick_x_m, job.steel_m)
    trim = trim_of(study, job, placed, loads, rear, heights, tilt_deg)
    last_m = trim.lowest_m if rear is None else rear.lowest_open_m
    lifts = lifts_of(hang, stages, heights, last_m)
    return Work(
        frame=frame,
        lifts=lifts,
        closing=rear,
        trim=trim,
        bounds=reading_bounds(hang, job, tilt_deg, pick_x_m, placed, loads),
        hoists=hoist_points(study, job, heights, placed, loads, lifts, rear),
        hinge_n=_hinge_n(joints, closing),
        gravity_m_s2=hang.gravity_m_s2,
    )


def _hinge_n(joints: JointLoads | None, closing: Closing | None) -> Array:
    forces = joints if closing is None else closing.at_preload
    return np.zeros(0) if forces is None else np.hypot(*forces.hinge_force_n.T)


def with_building(study: Study, limits: Sequence[LimitRow], work: Work) -> list[LimitRow]:
    """Count the stages of building: an open rear loads the front hoist more than a closed one.

    Parameters
    ----------
    study : Study
        States the limits.
    limits : sequence of LimitRow
        What `part_loads` gave.
    work : Work
        The stages.

    Returns
    -------
    list of LimitRow
        The same rows, of picks, hoists and roof points the greater load.
    """
    factor = study.dynamic_factor
    greatest_n = {
        "pick": [hoist.building_n for hoist in work.hoists],
        "hoist": [hoist.building_n for hoist in work.hoists],
        "roof_point": [hoist.roof_building_n for hoist in work.hoists],
    }
    return [
        _more_loaded(row, greatest_n[row.part][row.number], factor)
        if row.part in greatest_n and row.number is not None
        else row
        for row in limits
    ]


def with_legs(study: Study, limits: Sequence[LimitRow], work: Work) -> list[LimitRow]:
    """Hold the pull along each leg of a bridle against the limit of its roof point.

    The flatter a leg, the more it pulls, beyond what hangs on both. A leg's pull is in proportion
    to the load, in each state as at rest.

    Parameters
    ----------
    study : Study
        States the limits.
    limits : sequence of LimitRow
        Of all states.
    work : Work
        The bridles.

    Returns
    -------
    list of LimitRow
        The same rows, and one more for each leg, numbered over all bridles.
    """
    greatest = {row.number: row for row in limits if row.part == "roof_point"}
    legs = [
        _of_leg(greatest[index], hoist, leg.force_n, study.roof_point_limit_n)
        for index, hoist in enumerate(work.hoists)
        for leg in hoist.legs
        if leg.length_m is not None
    ]
    numbered = [
        dataclasses.replace(row, number=number, item=part_words("bridle_leg", number))
        for number, row in enumerate(legs)
    ]
    return [*limits, *numbered]


def _of_leg(roof: LimitRow, hoist: HoistPoint, leg_n: float, limit_n: float | None) -> LimitRow:
    force_n = roof.force_n * leg_n / hoist.roof_n if hoist.roof_n > 0.0 else leg_n
    utilisation = None if limit_n is None else force_n / limit_n
    return dataclasses.replace(
        roof, part="bridle_leg", force_n=force_n, limit_n=limit_n, utilisation=utilisation
    )


def _more_loaded(row: LimitRow, force_n: float, factor: float) -> LimitRow:
    if force_n <= row.force_n * (1.0 + 1e-9):
        return row
    return dataclasses.replace(
        row,
        force_n=force_n,
        utilisation=None if row.limit_n is None else force_n / row.limit_n,
        case=state_words("building"),
        state="building",
        factor_use="applied",
        dynamic_factor=factor,
    )


def _check_job(study: Study, job: Job, hoists: int) -> None:
    if job.above_kg and not np.isclose(sum(job.above_kg.values()), study.hoist_mass_kg):
        raise InputError(
            "above_kg",
            f"{sum(job.above_kg.values()):g} kg",
            f"parts that add up to the study's hoist_mass_kg, {study.hoist_mass_kg:g} kg",
        )
    if job.suspensions and len(job.suspensions) != hoists:
        raise InputError(
            "suspensions", len(job.suspensions), f"one for each of {hoists} hoists, or none"
        )
