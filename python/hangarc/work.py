"""The work of hanging, in its order, as figures: lifts, closing, trim, what to read on the way.

Cabinets and joints count from 1 at the top, as the crew counts them; joint 0 joins fly frame and
cabinet 1, joint j lies below cabinet j. Holes of the fly frame count from its front. Heights are
above the floor under the hang. Sideways places are forward of the plumb line of the front pick,
which stays where it is while the hang turns.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from hangarc._record import Result
from hangarc.closing import Closing, Shortening, close
from hangarc.closing_answers import BuildStage, BuildUp, Bypass, build_up, bypass
from hangarc.errors import InputError
from hangarc.job import Job, Suspension
from hangarc.kinematics import Pose, pose
from hangarc.model import Hang, Study
from hangarc.statics import HoistLoads, JointLoads, LimitRow
from hangarc.survey import AngleReading, LoadReading, compare_with_plan
from hangarc.suspension.bridles import bridle
from hangarc.words import state_words

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
    pick_m, hook_m : ndarray, shape (k,)
        Heights of the holes in use and of the hoists' hooks.
    """

    holes: tuple[int, ...]
    pick_x_m: Array
    hinge_m: float
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
    pick_m, hook_m : ndarray, shape (k,)
        Heights of the holes in use and of the hooks then.
    """

    number: int
    first: int
    last: int
    pins: tuple[Pin, ...]
    mass_kg: float
    tilt_deg: float
    hoist_load_n: Array
    lowest_m: float
    pick_m: Array
    hook_m: Array


@dataclasses.dataclass(frozen=True, eq=False)
class Contact(Result):
    """A joint meeting or leaving its stop while the chain is pulled.

    Attributes
    ----------
    joint : int
        Its number.
    contact : str
        As in `ContactEvent`.
    chain_m, hoist_m : float
        Length of the chain with its hoist, and of the hoist alone.
    force_n : float
        Force in the chain.
    """

    joint: int
    contact: str
    chain_m: float
    hoist_m: float
    force_n: float


@dataclasses.dataclass(frozen=True, eq=False)
class Jump(Result):
    """A sudden change of angles while the chain is pulled.

    Attributes
    ----------
    hoist_m : float
        Length of the lever hoist then.
    greatest_turn_deg, force_before_n, force_after_n : float
        As in `Snap`.
    """

    hoist_m: float
    greatest_turn_deg: float
    force_before_n: float
    force_after_n: float


@dataclasses.dataclass(frozen=True, eq=False)
class RearClosing(Result):
    """Closing the rear at working height.

    Attributes
    ----------
    link, slack_links : int
        Link of the chain that the shortening clutch takes, counted from the fly frame, and links
        left hanging.
    hoist_open_m, hoist_closed_m : float
        Length of the lever hoist between its hooks on the open and on the closed hang.
    pick_m, hook_m : ndarray, shape (k,)
        Heights of the holes in use and of the hooks with the rear open.
    tilt_open_deg, tilt_closed_deg : float
        Tilt of the fly frame with the rear open and closed.
    lowest_open_m, lowest_closed_m, lowest_on_way_m : float
        Height of the lowest point, and the least of it on the way.
    anchor_open_m, anchor_closed_m : ndarray, shape (2,)
        Lower end of the chain (x, z): forward of the front pick's plumb line, and height.
    swing_m, rise_m : float
        How far the lower end of the chain swings to the rear, and rises, from open to closed.
    behind_m, ahead_m : float
        How far behind and ahead of the front pick's plumb line any part of the hang comes while
        closing.
    contacts : tuple of Contact
        Contacts with the stops in the order they come.
    jumps : tuple of Jump
        Sudden changes on the way.
    closing_force_n : float
        Chain force at which the last stop is met.
    preload_n, pulled_n : float
        Force beyond it that brings every stop to the job's least force, and both together.
    least_stop_n : float
        Least force on a stop then.
    least_stop_joint : int
        The joint that carries it.
    hoist_load_open_n, hoist_load_closed_n, hoist_load_greatest_n : ndarray, shape (k,)
        What the hoists read with the rear open, closed, and the greatest on the way.
    bypass : Bypass
        The closed hang let off from the lever hoist onto whole links.
    bypass_opening_deg : float
        Greatest angle that a joint then comes off its stop.
    """

    link: int
    slack_links: int
    hoist_open_m: float
    hoist_closed_m: float
    pick_m: Array
    hook_m: Array
    tilt_open_deg: float
    tilt_closed_deg: float
    lowest_open_m: float
    lowest_closed_m: float
    lowest_on_way_m: float
    anchor_open_m: Array
    anchor_closed_m: Array
    swing_m: float
    rise_m: float
    behind_m: float
    ahead_m: float
    contacts: tuple[Contact, ...]
    jumps: tuple[Jump, ...]
    closing_force_n: float
    preload_n: float
    pulled_n: float
    least_stop_n: float
    least_stop_joint: int
    hoist_load_open_n: Array
    hoist_load_closed_n: Array
    hoist_load_greatest_n: Array
    bypass: Bypass
    bypass_opening_deg: float


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
    """

    kind: str
    number: int
    planned: float
    uncertainty: float
    may_differ: float


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
    """

    frame: FrameUp
    lifts: tuple[Lift, ...]
    closing: RearClosing | None
    trim: Trim
    bounds: tuple[ReadingBound, ...]
    hoists: tuple[HoistPoint, ...]
    hinge_n: Array
    gravity_m_s2: float


def close_on_picks(
    hang: Hang, tilt_deg: float, pick_x_m: Sequence[float], job: Job
) -> tuple[Closing, float]:
    """Close the hang as it hangs, and pull on until every stop carries the job's least force.

    Stop forces of the closed hang are linear in the chain force, so the preload follows from two
    of its states. Joints 0 and n are pinned both ways and have no stop to bring to a force.

    Parameters
    ----------
    hang : Hang
        A compression hang with bottom frame and both chain anchors.
    tilt_deg : float
        Tilt of the fly frame; on one pick it follows from the balance.
    pick_x_m : sequence of float
        One pick or two.
    job : Job
        States the least stop force.

    Returns
    -------
    (Closing, float)
        The closing and its preload; 0 where no preload brings every stop to that force.
    """

    def closed(preload_n: float) -> Closing:
        if len(pick_x_m) == 1:
            return close(hang, None, frame="one pick", pick_x_m=pick_x_m, preload_n=preload_n)
        return close(hang, tilt_deg, frame="two hoists", pick_x_m=pick_x_m, preload_n=preload_n)

    trial_n = 1000.0
    found = closed(trial_n)
    preload_n = _preload_n(found, trial_n, job.stop_force_n) or 0.0
    return closed(preload_n), preload_n


def _preload_n(closing: Closing, trial_n: float, wanted_n: float) -> float | None:
    """Force beyond the closing force that brings every stop to `wanted_n`; None where none does."""
    if closing.at_closing is None or closing.at_preload is None:
        return None
    at_closing = closing.at_closing.stop_force_n[1:-1]
    slope = (closing.at_preload.stop_force_n[1:-1] - at_closing) / trial_n
    short = wanted_n - at_closing
    asks = short > 0.0
    if not asks.any():
        return 0.0
    if (slope[asks] <= 0.0).any():
        return None
    return float((short[asks] / slope[asks]).max())


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
    rear = _rear(hang, job, pick_x_m, closing, preload_n, shortened)
    frame = _frame_up(hang, job, stages, pick_x_m)
    heights = Heights(hang, pick_x_m, job.steel_m)
    trim = _trim(study, job, placed, loads, rear, heights, tilt_deg)
    last_m = trim.lowest_m if rear is None else rear.lowest_open_m
    lifts = _lifts(hang, stages, heights, last_m)
    return Work(
        frame=frame,
        lifts=lifts,
        closing=rear,
        trim=trim,
        bounds=_bounds(hang, job, tilt_deg, pick_x_m, placed, loads),
        hoists=_hoists(study, job, heights, placed, loads, lifts, rear),
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
    own_n = {"roof_point": study.hoist_mass_kg * study.hang.gravity_m_s2 * factor}
    return [
        _more_loaded(row, work.hoists[row.number].building_n + own_n.get(row.part, 0.0), factor)
        if row.part in ("pick", "hoist", "roof_point") and row.number is not None
        else row
        for row in limits
    ]


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


@dataclasses.dataclass(frozen=True)
class Heights:
    """Heights of picks and hooks over the first pick, at a tilt."""

    hang: Hang
    pick_x_m: Sequence[float]
    steel_m: float

    def picks_m(self, tilt_deg: float, first_m: float) -> Array:
        """Heights of the picks when the first is at `first_m`."""
        over = (np.asarray(self.pick_x_m) - self.pick_x_m[0]) * np.sin(np.radians(tilt_deg))
        return np.asarray(first_m + over)

    def hole(self, pick_x_m: float) -> int:
        """Index of a hole of the frame."""
        return list(self.hang.frame.pick_x_m).index(pick_x_m)

    def hooks_m(self, picks_m: Array) -> Array:
        """Heights of the hooks above picks at these heights."""
        return picks_m + self.steel_m


def hole_numbers(hang: Hang, pick_x_m: Sequence[float]) -> tuple[int, ...]:
    """Which holes these are, counted from the front of the frame."""
    holes = np.asarray(hang.frame.pick_x_m)
    return tuple(1 + int((holes > x + 1e-9).sum()) for x in pick_x_m)


def _stack_m(hang: Hang, job: Job) -> float:
    return job.cart_m + sum(cabinet.height_m for cabinet in hang.cabinets[: job.stack])


def _frame_up(hang: Hang, job: Job, stages: BuildUp, pick_x_m: Sequence[float]) -> FrameUp:
    hinge_m = _stack_m(hang, job)
    tilt_deg = stages.stages[0].tilt_deg if len(pick_x_m) == 2 else 0.0
    turn = np.radians(tilt_deg)
    picks_m = hinge_m + np.asarray(pick_x_m) * np.sin(turn) + hang.frame.pick_z_m * np.cos(turn)
    return FrameUp(
        holes=hole_numbers(hang, pick_x_m),
        pick_x_m=np.asarray(pick_x_m, dtype=float),
        hinge_m=hinge_m,
        pick_m=picks_m,
        hook_m=picks_m + job.steel_m,
    )


def _lifts(hang: Hang, stages: BuildUp, heights: Heights, last_m: float) -> tuple[Lift, ...]:
    """One lift a stage; the last is raised to where the work goes on, at `last_m`."""
    lifts: list[Lift] = []
    joined = 0
    tension = hang.rigging == "tension"
    for stage in stages.stages:
        if stage.closed and not tension:
            break
        lowest_m = last_m if stage.lift_m is None else stage.lift_m
        picks_m = heights.picks_m(stage.tilt_deg, lowest_m - stage.lowest_m)
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
                pick_m=picks_m,
                hook_m=heights.hooks_m(picks_m),
            )
        )
        joined = stage.cabinets
    return tuple(lifts)


def _joints(joined: int, stage: BuildStage) -> range:
    return range(max(joined, 1), stage.cabinets)


def _pin(hang: Hang, joint: int) -> Pin:
    given = hang.cabinets[joint - 1].splay_positions_deg
    positions = given[hang.rigging] if isinstance(given, Mapping) else given
    splay_deg = hang.splays_deg[joint - 1]
    nearest = int(np.argmin(np.abs(np.subtract(positions, splay_deg))))
    return Pin(joint=joint, splay_deg=splay_deg, position=nearest + 1, positions=len(positions))


def _rear(
    hang: Hang,
    job: Job,
    pick_x_m: Sequence[float],
    closing: Closing | None,
    preload_n: float,
    shortened: Shortening | None,
) -> RearClosing | None:
    if (
        closing is None
        or closing.ended != "closed"
        or closing.closing_force_n is None
        or closing.at_preload is None
        or shortened is None
        or shortened.link is None
        or shortened.slack_links is None
        or hang.gear is None
    ):
        return None
    way = swept(hang, closing, pick_x_m)
    first_m = job.clear_m - way.lowest_m.min()
    heights = Heights(hang, pick_x_m, job.steel_m)
    picks_m = heights.picks_m(way.tilt_deg[0], first_m)
    link_m = shortened.link * hang.gear.pitch_m
    stops = closing.at_preload.stop_force_n[1:-1]
    let_off = bypass(hang, float(way.tilt_deg[-1]))
    loads = closing.path["hoist_load_n"]
    return RearClosing(
        link=shortened.link,
        slack_links=shortened.slack_links,
        hoist_open_m=closing.chain_free_m - link_m,
        hoist_closed_m=closing.chain_closed_m - link_m,
        pick_m=picks_m,
        hook_m=heights.hooks_m(picks_m),
        tilt_open_deg=float(way.tilt_deg[0]),
        tilt_closed_deg=float(way.tilt_deg[-1]),
        lowest_open_m=float(first_m + way.lowest_m[0]),
        lowest_closed_m=float(first_m + way.lowest_m[-1]),
        lowest_on_way_m=float(first_m + way.lowest_m.min()),
        anchor_open_m=way.anchor_m[0] + [0.0, first_m],
        anchor_closed_m=way.anchor_m[-1] + [0.0, first_m],
        swing_m=float(way.anchor_m[0, 0] - way.anchor_m[-1, 0]),
        rise_m=float(way.anchor_m[-1, 1] - way.anchor_m[0, 1]),
        behind_m=float(-way.rear_x_m.min()),
        ahead_m=float(way.front_x_m.max()),
        contacts=tuple(
            Contact(
                joint=event.joint,
                contact=event.contact,
                chain_m=event.chain_m,
                hoist_m=event.chain_m - link_m,
                force_n=event.force_n,
            )
            for event in closing.events
            if "stop" in event.contact
        ),
        jumps=tuple(
            Jump(
                hoist_m=snap.chain_m - link_m,
                greatest_turn_deg=snap.greatest_turn_deg,
                force_before_n=snap.force_before_n,
                force_after_n=snap.force_after_n,
            )
            for snap in closing.snaps
        ),
        closing_force_n=closing.closing_force_n,
        preload_n=preload_n,
        pulled_n=closing.closing_force_n + preload_n,
        least_stop_n=float(stops.min()),
        least_stop_joint=1 + int(stops.argmin()),
        hoist_load_open_n=loads[0],
        hoist_load_closed_n=loads[-1],
        hoist_load_greatest_n=loads.max(axis=0),
        bypass=let_off,
        bypass_opening_deg=float(let_off.opening_deg.max()),
    )


@dataclasses.dataclass(frozen=True, eq=False)
class Swept(Result):
    """The hang on its way to closed, row by row of the closing path, from the front pick.

    Attributes
    ----------
    tilt_deg, lowest_m, rear_x_m, front_x_m : ndarray, shape (rows,)
        Tilt; height of the lowest point; rearmost and foremost place.
    anchor_m : ndarray, shape (rows, 2)
        Lower end of the chain.
    """

    tilt_deg: Array
    lowest_m: Array
    rear_x_m: Array
    front_x_m: Array
    anchor_m: Array


def swept(hang: Hang, closing: Closing, pick_x_m: Sequence[float]) -> Swept:
    """Follow the hang through the rows of its closing path, seen from the front pick.

    Parameters
    ----------
    hang : Hang
        The hang.
    closing : Closing
        How it closes.
    pick_x_m : sequence of float
        Its picks, front first.

    Returns
    -------
    Swept
    """
    hole = list(hang.frame.pick_x_m).index(pick_x_m[0])
    tilts, angles = closing.path["tilt_deg"], closing.path["angle_deg"]
    lowest, rear, front, anchor = [], [], [], []
    for tilt_deg, angle_deg in zip(tilts, angles, strict=True):
        here = pose(hang, float(tilt_deg), 0.0, splays_deg=angle_deg[1:-1])
        pick = here.pick_m[hole]
        corners = here.corners_m - pick
        lower = here.corners_m[-1, 1] if here.chain_m is None else here.chain_m[1]
        anchor.append(lower - pick)
        lowest.append(here.trim_m - pick[1])
        rear.append(min(corners[..., 0].min(), anchor[-1][0]))
        front.append(max(corners[..., 0].max(), anchor[-1][0]))
    return Swept(
        tilt_deg=np.asarray(tilts),
        lowest_m=np.array(lowest),
        rear_x_m=np.array(rear),
        front_x_m=np.array(front),
        anchor_m=np.array(anchor),
    )


def _trim(
    study: Study,
    job: Job,
    placed: Pose,
    loads: HoistLoads,
    rear: RearClosing | None,
    heights: Heights,
    tilt_deg: float,
) -> Trim:
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


def _bounds(
    hang: Hang,
    job: Job,
    tilt_deg: float,
    pick_x_m: Sequence[float],
    placed: Pose,
    loads: HoistLoads,
) -> tuple[ReadingBound, ...]:
    last = len(hang.cabinets)
    angle_u = job.tilt_uncertainty_deg
    planned: list[tuple[str, int, float, float]] = [("frame tilt", 0, tilt_deg, angle_u)]
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


def reading(kind: str, number: int, value: float, uncertainty: float) -> AngleReading | LoadReading:
    """Give one reading of the sheet as `compare_with_plan` takes it."""
    if kind == "hoist load":
        return LoadReading(number - 1, value, uncertainty)
    return AngleReading(None if kind == "frame tilt" else number - 1, value, uncertainty)


def _may_differ(
    hang: Hang,
    tilt_deg: float,
    pick_x_m: Sequence[float],
    planned: Sequence[tuple[str, int, float, float]],
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


def _hoists(
    study: Study,
    job: Job,
    heights: Heights,
    placed: Pose,
    loads: HoistLoads,
    lifts: Sequence[Lift],
    rear: RearClosing | None,
) -> tuple[HoistPoint, ...]:
    factor, own_n = study.dynamic_factor, study.hoist_mass_kg * study.hang.gravity_m_s2
    suspensions: Sequence[Suspension | None] = job.suspensions or [None] * len(loads.load_n)
    # While the rear closes the hoists stand, so the factor is not in it.
    stages = [factor * loads.load_n, *(factor * lift.hoist_load_n for lift in lifts)]
    if rear is not None:
        stages.append(rear.hoist_load_greatest_n)
    turn = np.radians(job.pan_deg)
    holes = hole_numbers(heights.hang, heights.pick_x_m)
    points = []
    for index, load in enumerate(loads.load_n):
        load_n = float(load)
        x_m, z_m = placed.pick_m[heights.hole(heights.pick_x_m[index])]
        place_m = np.array(
            [
                job.position_m[0] + x_m * np.cos(turn),
                job.position_m[1] + x_m * np.sin(turn),
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
