"""What each hoist hangs from, and what the points of the roof carry."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from hangarc._pose import Pose
from hangarc._record import Result
from hangarc.model import Study
from hangarc.statics.balance import HoistLoads
from hangarc.suspension.bridles import bridle
from hangarc.work.heights import Heights, hole_numbers
from hangarc.work.job import Job, Suspension
from hangarc.work.lifts import Lift
from hangarc.work.rear import RearClosing

Array = NDArray[np.float64]


@dataclasses.dataclass(frozen=True, eq=False)
class Leg(Result):
    """What one point of the roof carries.

    Attributes
    ----------
    name : str
        Name of the point.
    place_m : ndarray, shape (3,)
        Its place in room axes.
    length_m : float or None
        Length of the bridle's leg; none where the hoist hangs from the point itself.
    force_n, vertical_n, horizontal_n : float
        Pull along the leg and its parts, at rest.
    horizontal_xy_n : ndarray, shape (2,)
        The sideways part on the point, room axes.

    Examples
    --------
    >>> import hangarc as ha
    >>> points = [
    ...     ha.work.Anchor(name="P8", place_m=(-1.05, -1.5, 16.0)),
    ...     ha.work.Anchor(name="P9", place_m=(-1.05, 1.5, 16.0)),
    ... ]
    >>> plumb = ha.work.Suspension(anchors=[ha.work.Anchor(name="P7", place_m=(0.15, 0.0, 16.0))])
    >>> split = ha.work.Suspension(anchors=points, apex_m=14.0)
    >>> job = ha.Job(suspensions=[plumb, split])
    >>> leg = ha.evaluate(ha.demo.study(cabinets=4), job=job).work.hoists[1].legs[0]
    >>> leg.name, round(leg.length_m, 2), round(leg.force_n)
    ('P8', 2.5, 1288)
    """

    name: str
    place_m: Array
    length_m: float | None
    force_n: float
    vertical_n: float
    horizontal_n: float
    horizontal_xy_n: Array


@dataclasses.dataclass(frozen=True, eq=False)
class HoistPoint(Result):
    """One hoist with what hangs on it and what it hangs from.

    Attributes
    ----------
    number : int
        From 1 at the front.
    hole : int
        Hole of the fly frame, counted from its front.
    place_m : ndarray, shape (3,)
        The hole in use in room axes, at trim.
    load_n : float
        Load on the hook at rest.
    mass_kg : float
        The mass that weighs as much.
    factored_load_n : float
        Load on the hook times the dynamic factor.
    building_n : float
        Greatest load on the hook in any stage, times the dynamic factor where the hoists run.
    roof_n, factored_roof_n : float
        Load on the roof at rest, hoist and what belongs to it included, and times the factor.
    off_plumb_m : float
        How far the roof point or the bridle's apex stands off the plumb line of the hole.
    legs : tuple of Leg
        The points of the roof, where the job states them.

    Examples
    --------
    >>> import hangarc as ha
    >>> point = ha.evaluate(ha.demo.study(cabinets=4)).work.hoists[0]
    >>> point.number, point.hole, round(point.load_n)
    (1, 2, 2117)
    """

    number: int
    hole: int
    place_m: Array
    load_n: float
    mass_kg: float
    factored_load_n: float
    building_n: float
    roof_n: float
    factored_roof_n: float
    off_plumb_m: float
    legs: tuple[Leg, ...]

    @property
    def roof_building_n(self) -> float:
        """Greatest load on the roof in any stage, as `building_n`; the hoist included."""
        return self.building_n + self.factored_roof_n - self.factored_load_n


def hoist_points(
    study: Study,
    job: Job,
    heights: Heights,
    placed: Pose,
    loads: HoistLoads,
    lifts: Sequence[Lift],
    rear: RearClosing | None,
) -> tuple[HoistPoint, ...]:
    """One point for each hoist, with the points of the roof that hold it."""
    factor, own_n = study.dynamic_factor, study.hoist_mass_kg * study.hang.gravity_m_s2
    suspensions: Sequence[Suspension | None] = job.suspensions or [None] * len(loads.load_n)
    # While the rear closes the hoists stand, so the factor is not in it.
    stages = [factor * loads.load_n, *(factor * lift.hoist_load_n for lift in lifts)]
    if rear is not None:
        stages.append(rear.hoist_load_greatest_n)
    at_m, turn = job.position_m or (0.0, 0.0), np.radians(job.pan_deg or 0.0)
    holes = hole_numbers(heights.hang, heights.pick_x_m)
    points = []
    for index, load in enumerate(loads.load_n):
        load_n = float(load)
        x_m, z_m = placed.pick_m[heights.hole(heights.pick_x_m[index])]
        place_m = np.array(
            [
                at_m[0] + x_m * np.cos(turn),
                at_m[1] + x_m * np.sin(turn),
                z_m,
            ]
        )
        roof_n = load_n + own_n
        building_n = max(float(stage[index]) for stage in stages)
        points.append(
            HoistPoint(
                number=index + 1,
                hole=holes[index],
                place_m=place_m,
                load_n=load_n,
                mass_kg=load_n / study.hang.gravity_m_s2,
                factored_load_n=load_n * factor,
                building_n=building_n,
                roof_n=roof_n,
                factored_roof_n=roof_n * factor,
                off_plumb_m=_off_plumb_m(suspensions[index], place_m),
                legs=_legs(suspensions[index], place_m, roof_n),
            )
        )
    return tuple(points)


def apex_over(suspension: Suspension, pick_m: Array) -> Array:
    """Apex above the pick; of two legs the nearest to that in their anchors' upright plane."""
    place = np.array(pick_m[:2], dtype=float)
    if len(suspension.anchors) == 2:
        first, second = (np.asarray(anchor.place_m[:2]) for anchor in suspension.anchors)
        along = (second - first) / np.hypot(*(second - first))
        place = first + along * ((place - first) @ along)
    return np.array([*place, suspension.apex_m])


def _off_plumb_m(suspension: Suspension | None, pick_m: Array) -> float:
    if suspension is None:
        return 0.0
    above = apex_over(suspension, pick_m)
    if len(suspension.anchors) == 1:
        above = np.asarray(suspension.anchors[0].place_m)
    return float(np.hypot(*(above[:2] - pick_m[:2])))


def _legs(suspension: Suspension | None, pick_m: Array, roof_n: float) -> tuple[Leg, ...]:
    """What each anchor carries."""
    if suspension is None:
        return ()
    anchors = [np.asarray(anchor.place_m, dtype=float) for anchor in suspension.anchors]
    names = [anchor.name for anchor in suspension.anchors]
    if len(anchors) == 1:
        return (Leg(names[0], anchors[0], None, roof_n, roof_n, 0.0, np.zeros(2)),)
    found = bridle(np.array(anchors), load_n=roof_n, apex_m=apex_over(suspension, pick_m))
    return tuple(
        Leg(
            name=name,
            place_m=anchor,
            length_m=float(found.length_m[leg]),
            force_n=float(found.force_n[leg]),
            vertical_n=float(-found.anchor_force_n[leg][2]),
            horizontal_n=float(found.horizontal_n[leg]),
            horizontal_xy_n=found.anchor_force_n[leg][:2],
        )
        for leg, (name, anchor) in enumerate(zip(names, anchors, strict=True))
    )
