"""The fly frame, and the cabinets joined and raised cart by cart."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from hangarc._pose import pose
from hangarc._record import Result
from hangarc.model import Hang
from hangarc.statics.building import BuildStage, BuildUp
from hangarc.work.heights import Heights, hole_numbers
from hangarc.work.job import Job

Array = NDArray[np.float64]


@dataclasses.dataclass(frozen=True, eq=False)
class Pin(Result):
    """One joint between cabinets.

    Attributes
    ----------
    joint : int
        Its number.
    splay_deg : float
        The angle it is pinned at.
    position, positions : int
        Which position that is, counted from the smallest angle, of how many.

    Examples
    --------
    >>> import hangarc as ha
    >>> pin = ha.evaluate(ha.demo.study(cabinets=4)).work.lifts[0].pins[0]
    >>> pin.joint, pin.splay_deg, pin.position, pin.positions
    (1, 0.0, 1, 13)
    """

    joint: int
    splay_deg: float
    position: int
    positions: int


@dataclasses.dataclass(frozen=True, eq=False)
class FrameUp(Result):
    """The fly frame alone, above the first cart.

    Attributes
    ----------
    holes : tuple of int
        Holes in use, front pick first.
    pick_x_m : ndarray, shape (k,)
        Where they lie on the frame.
    hinge_m : float
        Height of the frame's lower front hinge: as high as the first cart's stack.
    alone_deg : float or None
        Tilt at which the frame by itself hangs on one pick, tan φ = v_x / v_z with v from the pick
        to its centre of gravity; None on two picks, and where that is not below the pick.
    pick_m, hook_m : ndarray, shape (k,)
        Heights of the holes in use and of the hoists' hooks, on one pick of a level frame.

    Examples
    --------
    >>> import hangarc as ha
    >>> frame = ha.evaluate(ha.demo.study(cabinets=4)).work.frame
    >>> list(frame.holes)
    [2, 14]
    """

    holes: tuple[int, ...]
    pick_x_m: Array
    hinge_m: float
    alone_deg: float | None
    pick_m: Array
    hook_m: Array


@dataclasses.dataclass(frozen=True, eq=False)
class Lift(Result):
    """One cart of cabinets joined and raised.

    Attributes
    ----------
    number : int
        Of the cart, from 1.
    first, last : int
        Cabinets that join the hang.
    pins : tuple of Pin
        Joints pinned now.
    mass_kg : float
        Everything hung, fly frame included, hoists not.
    tilt_deg : float
        Tilt of the fly frame.
    hoist_load_n : ndarray, shape (k,)
        What each hoist reads.
    lowest_m : float
        Height of the lowest point once raised.
    behind_m, ahead_m : float
        How far behind and ahead of the front pick's plumb line it then reaches.
    pick_m, hook_m : ndarray, shape (k,)
        Heights of the holes in use and of the hooks then.

    Examples
    --------
    >>> import hangarc as ha
    >>> lift = ha.evaluate(ha.demo.study(cabinets=4)).work.lifts[0]
    >>> lift.first, lift.last, round(lift.mass_kg, 1), lift.hoist_load_n.round().tolist()
    (1, 4, 374.0, [2179.0, 1489.0])
    """

    number: int
    first: int
    last: int
    pins: tuple[Pin, ...]
    mass_kg: float
    tilt_deg: float
    hoist_load_n: Array
    lowest_m: float
    behind_m: float
    ahead_m: float
    pick_m: Array
    hook_m: Array


def _stack_m(hang: Hang, job: Job) -> float:
    return job.cart_m + sum(cabinet.height_m for cabinet in hang.cabinets[: job.stack])


def frame_up(hang: Hang, job: Job, stages: BuildUp, pick_x_m: Sequence[float]) -> FrameUp:
    """The fly frame above the first cart."""
    hinge_m = _stack_m(hang, job)
    tilt_deg = stages.stages[0].tilt_deg if len(pick_x_m) == 2 else 0.0
    turn = np.radians(tilt_deg)
    picks_m = hinge_m + np.asarray(pick_x_m) * np.sin(turn) + hang.frame.pick_z_m * np.cos(turn)
    return FrameUp(
        holes=hole_numbers(hang, pick_x_m),
        pick_x_m=np.asarray(pick_x_m, dtype=float),
        hinge_m=hinge_m,
        alone_deg=_alone_deg(hang, pick_x_m),
        pick_m=picks_m,
        hook_m=picks_m + job.steel_m,
    )


def lifts_of(hang: Hang, stages: BuildUp, heights: Heights, last_m: float) -> tuple[Lift, ...]:
    """One lift a stage; the last is raised to where the work goes on, at `last_m`."""
    lifts: list[Lift] = []
    joined = 0
    tension = hang.rigging == "tension"
    for stage in stages.stages:
        if stage.closed and not tension:
            break
        lowest_m = last_m if stage.lift_m is None else stage.lift_m
        picks_m = heights.picks_m(stage.tilt_deg, lowest_m - stage.lowest_m)
        rear_x_m, front_x_m = _reach_m(hang, stage, heights)
        lifts.append(
            Lift(
                number=len(lifts) + 1,
                first=joined + 1,
                last=stage.cabinets,
                pins=tuple(_pin(hang, joint) for joint in _joints(joined, stage)),
                mass_kg=stage.mass_kg,
                tilt_deg=stage.tilt_deg,
                hoist_load_n=stage.hoist_load_n,
                lowest_m=lowest_m,
                behind_m=-rear_x_m,
                ahead_m=front_x_m,
                pick_m=picks_m,
                hook_m=heights.hooks_m(picks_m),
            )
        )
        joined = stage.cabinets
    return tuple(lifts)


def _alone_deg(hang: Hang, pick_x_m: Sequence[float]) -> float | None:
    along_m = hang.frame.cg_m[0] - pick_x_m[0]
    down_m = hang.frame.cg_m[1] - hang.frame.pick_z_m
    if len(pick_x_m) != 1 or down_m >= 0.0:
        return None
    return float(np.degrees(np.arctan(along_m / down_m)))


def _reach_m(hang: Hang, stage: BuildStage, heights: Heights) -> tuple[float, float]:
    """Rearmost and foremost place of what hangs in a stage, from the front pick."""
    whole = stage.cabinets == len(hang.cabinets)
    part = dataclasses.replace(
        hang,
        cabinets=hang.cabinets[: stage.cabinets],
        splays_deg=hang.splays_deg[: stage.cabinets - 1],
        bottom=hang.bottom if whole else None,
    )
    here = pose(part, stage.tilt_deg, 0.0, splays_deg=stage.angle_deg)
    pick_x_m = here.pick_m[heights.hole(heights.pick_x_m[0]), 0]
    places = [here.corners_m[..., 0].ravel(), here.pick_m[:, 0]]
    if whole and here.chain_m is not None:
        places.append(here.chain_m[:, 0])
    x_m = np.concatenate(places) - pick_x_m
    return float(x_m.min()), float(x_m.max())


def _joints(joined: int, stage: BuildStage) -> range:
    return range(max(joined, 1), stage.cabinets)


def _pin(hang: Hang, joint: int) -> Pin:
    given = hang.cabinets[joint - 1].splay_positions_deg
    positions = given[hang.rigging] if isinstance(given, Mapping) else given
    splay_deg = hang.splays_deg[joint - 1]
    nearest = int(np.argmin(np.abs(np.subtract(positions, splay_deg))))
    return Pin(joint=joint, splay_deg=splay_deg, position=nearest + 1, positions=len(positions))
