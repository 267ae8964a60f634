"""How a compression hang closes: which joint when, with how much force, at which link."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from hangarc import _core
from hangarc._ending import Ended, Ending
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import Result, besides, instance, kilonewtons, real, whole
from hangarc._tables import columns_of
from hangarc.model import Hang
from hangarc.statics.balance import picks
from hangarc.statics.limits import LimitRow, limit_rows

Array = NDArray[np.float64]

ClosingEnd = Literal[
    "closed",
    "jammed",
    "overshot",
    "chain slips off an edge",
    "no rest found",
    "budget spent",
    "the chain has no lever on a joint",
    "the chain opens another joint",
    "both hoists go slack in turn",
]

TopJoint = Literal["locked", "stop"]

ContactKind = Literal[
    "on stop when free",
    "leaves open limit",
    "returns to open limit",
    "arrives at stop",
    "leaves stop",
    "returns to stop",
]

SlackHoist = Literal["none", "front", "rear", "front and rear in turn"]

ClutchState = Literal[
    "closes",
    "may slip before it closes",
    "slips before it closes",
    "no force closes the hang",
    "not stated",
]

_OTHER_TILT = "Another tilt, fewer cabinets at once or other chain anchors: see `closing_remedies`."

_OTHER_PICKS = "Picks farther apart, or a tilt nearer to the hanging one."

CLOSING_ENDINGS: Mapping[str, Ending] = {
    "closed": Ending(True, "Every joint is on its stop."),
    "the chain has no lever on a joint": Ending(
        False,
        "Nothing holds it closed: gravity opens a joint on which the chain has no lever.",
        _OTHER_TILT,
    ),
    "the chain opens another joint": Ending(
        False,
        "Nothing holds it closed: the force that one joint asks for opens another.",
        _OTHER_TILT,
    ),
    "both hoists go slack in turn": Ending(
        False, "Both hoists go slack in turn on the way.", _OTHER_PICKS
    ),
    "jammed": Ending(False, "Joints are open that no chain force moves further.", _OTHER_TILT),
    "overshot": Ending(
        False, "The chain is shorter than closed, and joints are still open.", _OTHER_TILT
    ),
    "chain slips off an edge": Ending(
        False, "The hang curls so far that the taut chain slips off a rear edge.", _OTHER_TILT
    ),
    "no rest found": Ending(
        False, "The hang loses its balance and no rest is found after it.", _OTHER_TILT
    ),
    "budget spent": Ending(
        False,
        "Joints meet and leave their bounds more often than the budget allows.",
        "More steps, and `hang.to_json()` for a report.",
    ),
}


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

    Examples
    --------
    >>> import hangarc as ha
    >>> forces = ha.close(ha.demo.hang(), 2.0).at_closing
    >>> forces.stop_force_n[2:].round().tolist()
    [386.0, 805.0, 1219.0, 1572.0, 1797.0]
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

    Examples
    --------
    >>> import hangarc as ha
    >>> event = ha.close(ha.demo.hang(), 2.0).events[-1]
    >>> event.joint, event.contact, round(event.force_n)
    (1, 'arrives at stop', 1391)
    """

    joint: int
    contact: ContactKind
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

    Examples
    --------
    >>> import hangarc as ha
    >>> import dataclasses
    >>> positions_deg = [float(angle) for angle in range(21)]
    >>> cabinets = [
    ...     ha.Cabinet(
    ...         name="demo data cabinet",
    ...         mass_kg=mass_kg,
    ...         height_m=0.36,
    ...         depth_m=0.58,
    ...         width_m=1.15,
    ...         cg_m=(x_m, 0.0),
    ...         rear_height_m=0.24,
    ...         splay_positions_deg=positions_deg,
    ...     )
    ...     for mass_kg, x_m in ((36.0, -0.48), (10.0, -0.14), (68.0, -0.21), (26.0, -0.55))
    ... ]
    >>> hang = ha.Hang(
    ...     frame=ha.FlyFrame(
    ...         mass_kg=75.0,
    ...         height_m=0.25,
    ...         cg_m=(-0.35, 0.12),
    ...         pick_x_m=[0.2, -0.8],
    ...         pick_z_m=0.22,
    ...         chain_anchor_m=(-0.97, 0.05),
    ...     ),
    ...     cabinets=cabinets,
    ...     splays_deg=[13.0, 12.0, 16.0],
    ...     rigging="compression",
    ...     bottom=ha.BottomFrame(
    ...         mass_kg=293.0, cg_m=(-0.67, -0.89), chain_anchor_m=(-0.61, -0.05)
    ...     ),
    ...     open_limit_deg=-11.0,
    ... )
    >>> (snap,) = ha.close(hang, -8.0).snaps
    >>> round(snap.force_before_n), round(snap.force_after_n), round(snap.greatest_turn_deg)
    (5403, 5385, 7)
    """

    chain_m: float
    force_before_n: float
    force_after_n: float
    greatest_turn_deg: float
    energy_j: float


@dataclasses.dataclass(frozen=True, eq=False)
class Closing(Ended):
    """How a hang closes, from free to every joint on its stop.

    Utilisations are of stated limits. An aid to qualified persons; manufacturers' manuals, local
    codes and licensed engineers prevail.

    Attributes
    ----------
    ended : str
        ``closed``; ``jammed``: joints are open that no chain force moves further; ``overshot``: the
        chain is shorter than the closed hang needs, and joints are open; ``chain slips off an
        edge``: the hang curls so far that the taut chain's length jumps; ``no rest found``: the
        hang loses its balance and the descent finds no rest; or ``budget spent``: more contacts
        than the budget allows. Where no force holds it closed: ``the chain has no lever on a
        joint`` that gravity opens, or ``the chain opens another joint``. ``both hoists go slack in
        turn``, which the path does not follow.
    residual : float
        The greatest moment that is not balanced in any row of the path, over all loads at the
        hang's length.
    slack_hoist : str
        Hoist that goes slack on the way when the frame hangs on two: ``none``, ``front``, ``rear``,
        or ``front and rear in turn``, where the path is not valid after the second.
    closing_force_n : float or None
        Smallest chain force with every joint on its stop and every stop force at least 0: 0 where
        gravity holds it closed, None where no force does.
    holding_force_n, pulling_force_n : float or None
        With friction in the hinges: the chain force below which the first joint opens, and that at
        which the last closes. None where no force closes the hang; the latter also where a hinge
        locks whatever the force. Without friction both are the closing force.
    pulling_joint : int or None
        The joint that asks for the pulling force.
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
        Parts with force, stated limit (None: not stated), utilisation and case, the greatest of all
        states: open, on the way, clutch slipping, closed, preloaded, clutch at its upper edge,
        and the last three lifted. The same whatever `steps`.

    Examples
    --------
    >>> import hangarc as ha
    >>> closing = ha.close(ha.demo.hang(), 2.0, preload_n=500.0)
    >>> closing.ok, closing.why
    (True, 'Every joint is on its stop.')
    >>> round(closing.closing_force_n), closing.governing_joint, list(closing.order)
    (1391, 1, [5, 4, 3, 2, 1])
    >>> closing.stop_force_n[2:].round().tolist()
    [386.0, 805.0, 1219.0, 1572.0, 1797.0]
    """

    _endings = CLOSING_ENDINGS

    ended: ClosingEnd
    residual: float
    slack_hoist: SlackHoist
    closing_force_n: float | None
    holding_force_n: float | None
    pulling_force_n: float | None
    pulling_joint: int | None
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
    clutch: ClutchState
    limits: tuple[LimitRow, ...]

    def _columns(self) -> dict[str, Any]:
        return columns_of(self.path)

    def _picture(self) -> str:
        from hangarc import _pictures

        return _pictures.closing(self)

    def _summary(self) -> list[tuple[str, Any]]:
        rows: list[tuple[str, Any]] = [
            ("ended", self.ended),
            ("closing force", kilonewtons(self.closing_force_n)),
            ("greatest force on the way", kilonewtons(self.peak_force_n)),
            ("governing joint", str(self.governing_joint)),
            ("joints close in the order", " ".join(map(str, self.order))),
            ("chain, free to closed", f"{self.chain_free_m:.3f} to {self.chain_closed_m:.3f} m"),
            ("slip clutch", self.clutch),
            ("sudden changes", str(len(self.snaps))),
        ]
        used = [row for row in self.limits if row.utilisation is not None]
        if used:
            most = max(used, key=lambda row: row.utilisation or 0.0)
            rows.append(("most used stated limit", f"{most.item}: {most.utilisation:.0%}"))
        rows += [("contacts on the way", self.events), ("limits", self.limits)]
        return rows


@by_name
def close(
    hang: Hang,
    tilt_deg: float | None,
    *,
    top_joint: TopJoint = "locked",
    preload_n: float = 0.0,
    steps: int = 200,
    frame: Literal["held", "one pick", "two hoists"] = "held",
    pick_x_m: float | Sequence[float] | None = None,
    dynamic_factor: float = 1.0,
    friction: float = 0.2,
    pin_radius_m: float = 0.0,
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
    dynamic_factor : float
        Factor on all weights while hoists start and stop, 1 to 5; in the limits only.
    friction : float
        Coefficient of friction at the front hinges' pins, 0 to 1. Left out, the slip factor of
        untreated steel on steel, EN 1993-1-8:2005, table 3.7, class D (from memory); grease makes
        it less, dirt and rust more.
    pin_radius_m : float
        Radius of those pins, 0 to 0.1; at 0, or with no friction, there is no band.

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
    Friction: ``T_j E_j = M_j ± μ r |H_j|`` with M_j the gravity moment, E_j the chain's lever and
    H_j the force of the hinge, which itself follows T_j, for a joint about to reach or leave its
    stop; joints on their stops do not turn. Closing force, path and order are without friction;
    chain, clutch and limits count the pulling force. Source: a dry journal turning slowly, e.g.
    Beer & Johnston, Vector Mechanics for Engineers: Statics (2016), 8.6.

    Source: principle of least potential energy with one-sided bounds (any text on structural
    stability); active-set Newton, Nocedal & Wright, Numerical Optimization, 2nd ed., ch. 16.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.demo.hang()
    >>> closing = ha.close(hang, 2.0)
    >>> round(closing.closing_force_n), round(closing.chain_closed_m, 3)
    (1391, 1.999)
    >>> [(event.joint, event.contact) for event in closing.events][:2]
    [(5, 'leaves open limit'), (5, 'arrives at stop')]
    """
    fields = _core.close(
        instance("hang", hang, Hang).handle,
        _tilt(tilt_deg, instance("frame", frame, str)),
        instance("top_joint", top_joint, str),
        real("preload_n", preload_n),
        whole("steps", steps),
        instance("frame", frame, str),
        picks(pick_x_m),
        real("dynamic_factor", dynamic_factor),
        real("friction", friction),
        real("pin_radius_m", pin_radius_m),
    )
    made = ("at_closing", "at_preload", "order", "events", "snaps", "path", "limits")
    at_closing, at_preload = fields["at_closing"], fields["at_preload"]
    return Closing(
        **besides(fields, *made),
        at_closing=None if at_closing is None else JointForces(**at_closing),
        at_preload=None if at_preload is None else JointForces(**at_preload),
        order=tuple(fields["order"]),
        events=tuple(ContactEvent(**event) for event in fields["events"]),
        snaps=tuple(Snap(**snap) for snap in fields["snaps"]),
        path=besides(fields["path"]),
        limits=limit_rows(fields["limits"]),
    )


def _tilt(tilt_deg: Any, frame: str) -> float:
    if frame != "one pick":
        return real("tilt_deg", tilt_deg)
    if tilt_deg is not None:
        raise InputError(
            "tilt_deg", tilt_deg, "None; on one pick the tilt follows from the balance"
        )
    return 0.0
