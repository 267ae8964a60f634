"""How a compression hang closes: which joint when, with how much force, at which link."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from hangarc import _core
from hangarc._record import Result, instance, real, real_array, whole
from hangarc.errors import InputError
from hangarc.model import Hang
from hangarc.statics import LimitRow

Array = NDArray[np.float64]


@dataclasses.dataclass(frozen=True, eq=False)
class JointForces(Result):
    """Forces at every joint, top to bottom, fixed joints included.

    Attributes
    ----------
    contact_moment_nm : ndarray, shape (j,)
        Moment by which the joint presses on its stop; negative pulls on its link or open limit.
    stop_force_n : ndarray, shape (j,)
        Force along the rear link or stop, compression positive.
    hinge_force_n : ndarray, shape (j, 2)
        Force (x, z) of the hinge on the body below.
    """

    contact_moment_nm: Array
    stop_force_n: Array
    hinge_force_n: Array


@dataclasses.dataclass(frozen=True, eq=False)
class ContactEvent(Result):
    """One joint meeting or leaving a bound on the way.

    Attributes
    ----------
    joint : int
        Its number; joint 0 joins fly frame and cabinet 0.
    contact : str
        ``on stop when free``, ``leaves open limit``, ``returns to open limit``,
        ``arrives at stop``, ``leaves stop`` or ``returns to stop``.
    chain_m, force_n : float
        Chain length and force then.
    in_snap : bool
        Whether it is part of a snap.
    """

    joint: int
    contact: str
    chain_m: float
    force_n: float
    in_snap: bool


@dataclasses.dataclass(frozen=True, eq=False)
class Snap(Result):
    """A sudden change of angles at one chain length.

    Attributes
    ----------
    chain_m : float
        Chain length.
    force_before_n, force_after_n : float
        Chain force before and after.
    greatest_turn_deg : float
        Greatest change of a joint's angle.
    energy_j : float
        Gravity energy set free.
    """

    chain_m: float
    force_before_n: float
    force_after_n: float
    greatest_turn_deg: float
    energy_j: float


@dataclasses.dataclass(frozen=True, eq=False)
class Closing(Result):
    """How a hang closes, from free to every joint on its stop.

    Utilisations are of stated limits. An aid to qualified persons; manufacturers' manuals, local
    codes and licensed engineers prevail.

    Attributes
    ----------
    ended : str
        ``closed``; ``jammed``: joints are open that no chain force moves further; or
        ``budget spent``.
    slack_hoist : str
        Hoist that goes slack on the way when the frame hangs on two: ``none``, ``front``, ``rear``,
        or ``front and rear in turn``, where the path is not valid after the second.
    closed_state : str
        ``held closed by the chain``, ``held closed by gravity``, or why no force holds it closed:
        ``the chain has no lever on a joint``, ``the chain opens another joint``.
    closing_force_n : float or None
        Smallest chain force with every joint on its stop and every stop force at least 0.
    most_force_n : float or None
        Chain force that opens a joint again, where there is one.
    peak_force_n : float
        Greatest chain force on the way.
    straight_line_force_n : ndarray, shape (j,)
        Gravity moment over lever of the straight line between the anchors, closed pose; infinite
        where the line passes in front of a hinge that gravity opens.
    governing_joint : int or None
        The joint that asks for the closing force.
    order : tuple of int
        Joints by first contact with their stops; joints on their stops when free come first.
    chain_free_m, chain_straight_m, chain_closed_m : float
        Chain length in the free hang, with all splays 0, and closed.
    free_angle_deg : ndarray, shape (j,)
        Joint angles of the free hang.
    stop_force_n : ndarray, shape (j,), or None
        Rear stops when closed at the closing force, compression positive.
    top_link_n : float or None
        Rear link of joint 0 then, tension positive.
    at_closing, at_preload : JointForces or None
        Closed, at the closing force, and with the preload added.
    events : tuple of ContactEvent
        Every contact on the way.
    snaps : tuple of Snap
        Sudden changes on the way.
    path : dict of ndarray
        Row by row: ``chain_m``, ``force_n``, ``energy_j`` (rise of gravity energy), ``tilt_deg`` of
        shape (rows,); ``angle_deg``, ``contact_moment_nm``, ``stop_force_n`` of shape (rows, j);
        ``hinge_force_n`` (rows, j, 2); ``hoist_load_n`` (rows, hoists), front first, below 0 where
        a hoist would have to push to hold the frame.
    clutch : str
        ``closes``, ``may slip before it closes``, ``slips before it closes``,
        ``no force closes the hang`` or ``not stated``.
    limits : tuple of LimitRow
        Parts with force, stated limit (None: not stated), utilisation and case; on the way, and
        with the clutch at its upper edge.
    """

    ended: str
    slack_hoist: str
    closed_state: str
    closing_force_n: float | None
    most_force_n: float | None
    peak_force_n: float
    straight_line_force_n: Array
    governing_joint: int | None
    order: tuple[int, ...]
    chain_free_m: float
    chain_straight_m: float
    chain_closed_m: float
    free_angle_deg: Array
    stop_force_n: Array | None
    top_link_n: float | None
    at_closing: JointForces | None
    at_preload: JointForces | None
    events: tuple[ContactEvent, ...]
    snaps: tuple[Snap, ...]
    path: dict[str, Array]
    clutch: str
    limits: tuple[LimitRow, ...]


@dataclasses.dataclass(frozen=True, eq=False)
class RestAtForce(Result):
    """The hang at rest with a given chain force.

    Attributes
    ----------
    ended : str
        ``rested`` or ``budget spent``.
    angle_deg : ndarray, shape (j,)
        Joint angles.
    chain_m : float
        Chain length.
    contact_moment_nm, stop_force_n : ndarray, shape (j,)
        As in `JointForces`.
    hinge_force_n : ndarray, shape (j, 2)
        As in `JointForces`.
    """

    ended: str
    angle_deg: Array
    chain_m: float
    contact_moment_nm: Array
    stop_force_n: Array
    hinge_force_n: Array


@dataclasses.dataclass(frozen=True, eq=False)
class LinkChoice(Result):
    """The lever hoist with the shortening clutch in one link.

    Attributes
    ----------
    link : int
        Links in the load path.
    hoist_open_m, hoist_closed_m : float
        Hoist length on the free and on the closed hang.
    spare_open_m, spare_closed_m : float
        Stroke left at either end; below 0 it does not reach.
    slack_links : int
        Links that hang slack.
    """

    link: int
    hoist_open_m: float
    hoist_closed_m: float
    spare_open_m: float
    spare_closed_m: float
    slack_links: int


@dataclasses.dataclass(frozen=True, eq=False)
class Shortening(Result):
    """Where to shorten the chain.

    Attributes
    ----------
    ended : str
        ``fits``, or why no link does: ``stroke too short``, ``chain too short``,
        ``hang too short for the hoist``.
    link : int or None
        The best link: it leaves most stroke at the shorter of both ends.
    links_feasible : ndarray of int
        Every link that fits.
    hoist_open_m, hoist_closed_m, spare_open_m, spare_closed_m, slack_links
        As in `LinkChoice`, for the best link.
    chain_free_m, chain_closed_m : float
        Chain length in the free and in the closed hang.
    neighbours : tuple of LinkChoice
        One link fewer and one more, where the chain has them, feasible or not.
    """

    ended: str
    link: int | None
    links_feasible: NDArray[np.uint32]
    hoist_open_m: float | None
    hoist_closed_m: float | None
    spare_open_m: float | None
    spare_closed_m: float | None
    slack_links: int | None
    chain_free_m: float
    chain_closed_m: float
    neighbours: tuple[LinkChoice, ...]


@dataclasses.dataclass(frozen=True, eq=False)
class Bypass(Result):
    """The closed hang let off from the lever hoist onto a bypass chain.

    Attributes
    ----------
    ended : str
        ``carries``; ``stays slack``: the hang opens all the way; ``chain too short``: all links are
        shorter than the closed hang; ``not closed``.
    link : int
        Links in the load path: the first that reach.
    slack_m : float
        Length the chain has over while the hang is closed.
    force_n, chain_m : float
        Chain force and length once let off.
    angle_deg, opening_deg : ndarray, shape (j,)
        Joint angles once let off, and how far each has come off its stop.
    """

    ended: str
    link: int
    slack_m: float
    force_n: float
    chain_m: float
    angle_deg: Array
    opening_deg: Array


@dataclasses.dataclass(frozen=True, eq=False)
class ClosingRemedies(Result):
    """States in which a given chain force closes the hang.

    Attributes
    ----------
    available_n : float
        Force available.
    closing_force_n : float or None
        Closing force as the hang is.
    tilt : dict or None
        Least change of tilt within 30°: ``tilt_deg``, ``closing_force_n``, and
        ``front_pick_up_m``, how far the frame's front hole goes up against its rear hole.
    stages : tuple of dict
        The first 2, 3, … cabinets with the bottom frame under them: ``cabinets``,
        ``closing_force_n``, ``chain_closed_m``.
    most_cabinets : int or None
        The most cabinets that close at once.
    landing : dict or None
        Least landing of the bottom frame: ``landed_n``, its share ``landed_share`` of the weight
        below the fly frame, ``closing_force_n``.
    """

    available_n: float
    closing_force_n: float | None
    tilt: dict[str, float] | None
    stages: tuple[dict[str, Any], ...]
    most_cabinets: int | None
    landing: dict[str, float] | None


@dataclasses.dataclass(frozen=True, eq=False)
class ClosingSensitivities(Result):
    """Derivatives of the closed hang's forces.

    Attributes
    ----------
    inputs : tuple of str
        Path of each input: ``tilt_deg``, ``splays_deg[2]``, ``cabinets[3].cg_m[0]`` and so on.
    closing_force_n : ndarray, shape (k,)
        Change of the closing force per degree, kilogram or metre of each input.
    hoist_load_n : ndarray, shape (k, 2)
        Change of the hoists' loads, front first.
    """

    inputs: tuple[str, ...]
    closing_force_n: Array
    hoist_load_n: Array


@dataclasses.dataclass(frozen=True, eq=False)
class ClosingSpread(Result):
    """Cases of a hang known to within a spread.

    Attributes
    ----------
    closes : ndarray of bool, shape (cases,)
        Whether a chain force holds the hang closed.
    closing_force_n : ndarray, shape (cases,)
        Closing force; 0 where none closes it.
    hoist_load_n : ndarray, shape (cases, 2)
        Loads of the closed hang's hoists, front first.
    """

    closes: NDArray[np.bool_]
    closing_force_n: Array
    hoist_load_n: Array


@dataclasses.dataclass(frozen=True, eq=False)
class BuildStage(Result):
    """One stage of building a hang.

    Attributes
    ----------
    cabinets : int
        Cabinets hung.
    closed : bool
        Whether the joints are at their pins, or open.
    mass_kg : float
        Everything hung.
    tilt_deg : float
        Elevation of the fly frame's axis.
    hoist_load_n : ndarray
        Load of each hoist, front first; below 0 it would have to push, so the tilt is not held.
    angle_deg : ndarray
        Angles between the cabinets hung.
    lowest_m : float
        Height of the lowest point against the first pick; below it is negative.
    lift_m : float or None
        Height at which the lowest point has to stand before the next stack goes under.
    """

    cabinets: int
    closed: bool
    mass_kg: float
    tilt_deg: float
    hoist_load_n: Array
    angle_deg: Array
    lowest_m: float
    lift_m: float | None


@dataclasses.dataclass(frozen=True, eq=False)
class BuildUp(Result):
    """All stages of building a hang; taking down goes the same way back.

    Attributes
    ----------
    stages : tuple of BuildStage
        In order; a compression hang closes in the last.
    worst_load_n : float
        Greatest load of one hoist in any stage.
    worst_stage : int
        The stage that has it.
    """

    stages: tuple[BuildStage, ...]
    worst_load_n: float
    worst_stage: int


def close(
    hang: Hang,
    tilt_deg: float | None,
    *,
    top_joint: str = "locked",
    preload_n: float = 0.0,
    steps: int = 200,
    frame: str = "held",
    pick_x_m: float | Sequence[float] | None = None,
) -> Closing:
    """Close a compression hang, from the free hang to every joint on its stop.

    At chain force T the joint angles θ minimise V = Σ m g z + T L within open limit and splay, L
    the length of the chain as a taut string that may touch rear edges. The path shortens the
    chain in equal steps and holds every contact event; where a state is not stable at held length
    the hang snaps. Closed, every ∂V/∂θ_j ≤ 0, so T = max_j (∂U/∂θ_j)/(−∂L/∂θ_j).

    Parameters
    ----------
    hang : Hang
        A compression hang with bottom frame and both chain anchors.
    tilt_deg : float or None
        Elevation of the fly frame's axis, −90 to 90°; None with ``frame="one pick"``, where it
        follows from the balance.
    top_joint : {"locked", "stop"}
        Whether joint 0's rear link carries both signs, or compression only.
    preload_n : float
        Chain force beyond the closing force.
    steps : int
        Equal changes of chain length, 1 to 10⁶; rows at contact events come on top.
    frame : {"held", "one pick", "two hoists"}
        Whether the frame keeps its tilt, turns on one pick, or hangs on two hoists of which one may
        go slack, so that the tilt changes as the hang closes.
    pick_x_m : float or (float, float), optional
        The pick, or front and rear pick; left out, the frame's foremost and rearmost hole.

    Returns
    -------
    Closing

    Raises
    ------
    InputError
        Not a compression hang, a missing bottom frame or chain anchor, or an argument of the
        wrong type or out of range.

    Notes
    -----
    Source: principle of least potential energy with one-sided bounds (any text on structural
    stability); active-set Newton, Nocedal & Wright, Numerical Optimization, 2nd ed., ch. 16.
    """
    fields: dict[str, Any] = _core.close(
        instance("hang", hang, Hang).handle,
        _tilt(tilt_deg, frame),
        instance("top_joint", top_joint, str),
        real("preload_n", preload_n),
        whole("steps", steps),
        instance("frame", frame, str),
        _picks(pick_x_m),
    )
    for name in ("at_closing", "at_preload"):
        if fields[name] is not None:
            fields[name] = JointForces(**fields[name])
    fields["order"] = tuple(fields["order"])
    fields["events"] = tuple(ContactEvent(**event) for event in fields["events"])
    fields["snaps"] = tuple(Snap(**snap) for snap in fields["snaps"])
    fields["limits"] = tuple(LimitRow(**row) for row in fields["limits"])
    return Closing(**fields)


def rest_at_force(
    hang: Hang, tilt_deg: float, force_n: float, *, top_joint: str = "locked"
) -> RestAtForce:
    """Rest that a compression hang comes to with a given force in its closing chain.

    A least value of V = Σ m g z + T L within open limits and stops, reached by descent from
    straight joints. Where the hang snaps under force there are several.

    Parameters
    ----------
    hang, tilt_deg, top_joint
        As in `close`.
    force_n : float
        Chain force, at least 0.

    Returns
    -------
    RestAtForce

    Raises
    ------
    InputError
        As `close`.
    """
    fields: dict[str, Any] = _core.rest_at_force(
        instance("hang", hang, Hang).handle,
        real("tilt_deg", tilt_deg),
        real("force_n", force_n),
        instance("top_joint", top_joint, str),
    )
    return RestAtForce(**fields)


def shortening(hang: Hang, tilt_deg: float) -> Shortening:
    """Which link of the closing chain the shortening clutch takes, frame held at a tilt.

    k whole links of pitch p in line with the lever hoist make up the chain length L, so the hoist
    is L − k p long. Feasible: L_closed − k p ≥ hoist_min and L_free − k p ≤ hoist_max.

    Parameters
    ----------
    hang : Hang
        A compression hang with closing gear, bottom frame and both chain anchors.
    tilt_deg : float
        Elevation of the fly frame's axis, −90 to 90°.

    Returns
    -------
    Shortening

    Raises
    ------
    InputError
        No closing gear, or as `close`.
    """
    fields: dict[str, Any] = _core.shortening(
        instance("hang", hang, Hang).handle, real("tilt_deg", tilt_deg)
    )
    fields["neighbours"] = tuple(LinkChoice(**choice) for choice in fields["neighbours"])
    return Shortening(**fields)


def bypass(
    hang: Hang, tilt_deg: float, *, take_up_m: float = 0.0, stiffness_n_m: float | None = None
) -> Bypass:
    """Let the closed hang off from the lever hoist onto a chain of whole links.

    The chain takes the first link k with k p ≥ L_closed; let off, the hang opens until
    L(θ) = k p + take-up + T/stiffness, T and L those of the closing path.

    Parameters
    ----------
    hang : Hang
        A compression hang with closing gear; its pitch and links are the bypass chain's.
    tilt_deg : float
        Elevation of the held frame's axis.
    take_up_m : float
        Play of hooks and links before the chain is taut.
    stiffness_n_m : float, optional
        Force per length of stretch; left out, the chain does not stretch.

    Returns
    -------
    Bypass

    Raises
    ------
    InputError
        No closing gear, a take-up below 0, a stiffness not above 0, or as `close`.
    """
    fields: dict[str, Any] = _core.bypass(
        instance("hang", hang, Hang).handle,
        real("tilt_deg", tilt_deg),
        real("take_up_m", take_up_m),
        None if stiffness_n_m is None else real("stiffness_n_m", stiffness_n_m),
    )
    return Bypass(**fields)


def closing_remedies(
    hang: Hang, tilt_deg: float, available_n: float | None = None
) -> ClosingRemedies:
    """What would close a hang that the available chain force does not.

    Each answer is a computed state: another tilt, fewer cabinets at a time, or part of the weight
    landed. Landed with P under the bottom frame's centre of gravity at x_P, joint j asks for
    T_j = (G_j − P (x_j − x_P))/E_j, with G_j its gravity moment and E_j the chain's lever.

    Parameters
    ----------
    hang : Hang
        A compression hang with bottom frame and both chain anchors.
    tilt_deg : float
        Elevation of the held frame's axis, −60 to 60°.
    available_n : float, optional
        Chain force; left out, the lower edge of the slip clutch's band.

    Returns
    -------
    ClosingRemedies

    Raises
    ------
    InputError
        No force given and no clutch band stated, or as `close`.
    """
    fields: dict[str, Any] = _core.closing_remedies(
        instance("hang", hang, Hang).handle,
        real("tilt_deg", tilt_deg),
        None if available_n is None else real("available_n", available_n),
    )
    fields["stages"] = tuple(fields["stages"])
    return ClosingRemedies(**fields)


def closing_sensitivities(
    hang: Hang, tilt_deg: float, *, pick_x_m: Sequence[float] | None = None
) -> ClosingSensitivities:
    """Derivatives of closing force and hoist loads by every mass, place, splay and the tilt.

    Closed, T = G/E of the governing joint, so dT = (dG − T dE)/E, exact along each input's rigid
    motion; hoist loads by moments about the picks.

    Parameters
    ----------
    hang : Hang
        A compression hang with bottom frame and both chain anchors.
    tilt_deg : float
        Elevation of the held frame's axis.
    pick_x_m : (float, float), optional
        Front and rear pick; left out, the frame's foremost and rearmost hole.

    Returns
    -------
    ClosingSensitivities

    Raises
    ------
    InputError
        No chain force holds the hang closed, or as `close`.
    """
    fields: dict[str, Any] = _core.closing_sensitivities(
        instance("hang", hang, Hang).handle, real("tilt_deg", tilt_deg), _picks(pick_x_m)
    )
    fields["inputs"] = tuple(fields["inputs"])
    return ClosingSensitivities(**fields)


def closing_spread(
    hang: Hang,
    tilt_deg: float,
    *,
    cases: int = 10_000,
    seed: int = 0,
    mass_spread: float = 0.0,
    cg_spread_m: float = 0.0,
    anchor_spread_m: float = 0.0,
    splay_spread_deg: float = 0.0,
    tilt_spread_deg: float = 0.0,
    pick_x_m: Sequence[float] | None = None,
) -> ClosingSpread:
    """Closing force and hoist loads of a hang known to within a spread (Monte Carlo).

    Every case draws each mass m (1 + σ z), each coordinate of centres of gravity and anchors, each
    splay and the tilt shifted by σ z, z standard normal, and solves the closed pose. The same seed
    gives the same cases for any number of threads. Ctrl-C stops it.

    Parameters
    ----------
    hang, tilt_deg, pick_x_m
        As in `closing_sensitivities`.
    cases : int
        Number of cases, 1 to 2·10⁷.
    seed : int
        Seed of the draws.
    mass_spread : float
        Standard deviation of a mass over its mean.
    cg_spread_m, anchor_spread_m : float
        Standard deviation of each coordinate of a centre of gravity and of a chain anchor.
    splay_spread_deg, tilt_spread_deg : float
        Standard deviation of a splay and of the tilt.

    Returns
    -------
    ClosingSpread

    Raises
    ------
    InputError
        A spread below 0, cases out of range, or as `close`.
    """
    fields: dict[str, Any] = _core.closing_spread(
        instance("hang", hang, Hang).handle,
        real("tilt_deg", tilt_deg),
        _picks(pick_x_m),
        [
            real("mass_spread", mass_spread),
            real("cg_spread_m", cg_spread_m),
            real("anchor_spread_m", anchor_spread_m),
            real("splay_spread_deg", splay_spread_deg),
            real("tilt_spread_deg", tilt_spread_deg),
        ],
        whole("cases", cases),
        whole("seed", seed),
    )
    return ClosingSpread(**fields)


def build_up(
    hang: Hang,
    pick_x_m: float | Sequence[float],
    *,
    stack: int = 4,
    cart_m: float = 0.0,
    tilt_deg: float | None = None,
) -> BuildUp:
    """Stages of building a hang from stacks of cabinets.

    Each stage is a hang of its own: the fly frame with the cabinets hung so far, joints pinned
    (tension) or open to where gravity takes them (compression, no chain), on one pick where it
    turns plumb, or on two at a held tilt. The last stage has the bottom frame; a compression hang
    has one more, closed. Stacks of four a cart are common practice, no source.

    Parameters
    ----------
    hang : Hang
        The whole hang.
    pick_x_m : float or (float, float)
        The pick, or front and rear pick.
    stack : int
        Cabinets a stack; the last has what is left.
    cart_m : float
        Height of the cart's deck.
    tilt_deg : float, optional
        Tilt at which two hoists hold the frame; left out with one pick.

    Returns
    -------
    BuildUp

    Raises
    ------
    InputError
        No cabinets a stack, a cart below the floor, picks that are not one or two, or a tilt
        that is missing with two picks or given with one.
    """
    picks = _picks(pick_x_m)
    fields: dict[str, Any] = _core.build_up(
        instance("hang", hang, Hang).handle,
        whole("stack", stack),
        real("cart_m", cart_m),
        [] if picks is None else picks,
        None if tilt_deg is None else real("tilt_deg", tilt_deg),
    )
    fields["stages"] = tuple(BuildStage(**stage) for stage in fields["stages"])
    return BuildUp(**fields)


def _tilt(tilt_deg: Any, frame: str) -> float:
    if frame != "one pick":
        return real("tilt_deg", tilt_deg)
    if tilt_deg is not None:
        raise InputError(
            "tilt_deg", tilt_deg, "None; on one pick the tilt follows from the balance"
        )
    return 0.0


def _picks(pick_x_m: Any) -> list[float] | None:
    if pick_x_m is None:
        return None
    return [float(pick) for pick in np.atleast_1d(real_array("pick_x_m", pick_x_m, 1))]
