"""What each hoist and each joint of a hang at rest carries."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from hangarc import _core
from hangarc._record import Result, instance, real, real_array
from hangarc.model import Hang
from hangarc.words import factor_words, part_words, state_words


@dataclasses.dataclass(frozen=True, eq=False)
class HoistLoads(Result):
    """What each hoist carries at a held tilt.

    Attributes
    ----------
    load_n : ndarray, shape (k,)
        Load of each hoist, upward on the frame; 0 where slack.
    slack : ndarray of bool, shape (k,)
        Whether the hoist would have to push to hold the tilt.
    unbalanced_moment_nm : float
        Moment about y that the hoists leave unbalanced; not 0 when the tilt is not held.
    tilt_range_deg : (float, float)
        Tilts at which every hoist carries load; on one pick the hanging tilt, twice.
    """

    load_n: NDArray[np.float64]
    slack: NDArray[np.bool_]
    unbalanced_moment_nm: float
    tilt_range_deg: tuple[float, float]


@dataclasses.dataclass(frozen=True, eq=False)
class HangingTilt(Result):
    """The tilt at which a hang comes to rest on one pick.

    Attributes
    ----------
    tilt_deg : float
        Elevation of the fly frame's axis.
    """

    tilt_deg: float


@dataclasses.dataclass(frozen=True, eq=False)
class PickForTilt(Result):
    """The pick that gives a wanted tilt.

    Attributes
    ----------
    pick_x_m : float
        Where along the pick line the pick would have to be.
    hole : int
        Index of the frame's hole whose tilt comes nearest.
    tilt_at_hole_deg : float
        Tilt on that hole.
    tilt_range_deg : (float, float)
        Lowest and highest tilt on any of the holes.
    """

    pick_x_m: float
    hole: int
    tilt_at_hole_deg: float
    tilt_range_deg: tuple[float, float]


@dataclasses.dataclass(frozen=True, eq=False)
class JointLoads(Result):
    """Forces at every joint, top to bottom, fixed joints included.

    Attributes
    ----------
    weight_n : ndarray, shape (j,)
        Weight hung below the joint.
    moment_nm : ndarray, shape (j,)
        Its moment about the front hinge; positive opens the rear.
    rear_link_n : ndarray, shape (j,)
        Force of the rear link, tension positive.
    hinge_force_n : ndarray, shape (j, 2)
        Force (x, z) of the hinge on the body below.
    """

    weight_n: NDArray[np.float64]
    moment_nm: NDArray[np.float64]
    rear_link_n: NDArray[np.float64]
    hinge_force_n: NDArray[np.float64]


@dataclasses.dataclass(frozen=True, eq=False)
class LimitUse(Result):
    """One quantity, in any unit, against the limit stated for it.

    Attributes
    ----------
    item : str
        What is held against the limit.
    unit : str
        Unit of value and limit.
    value : float
        Greatest size of the quantity.
    limit : float or None
        The stated limit; None is *not stated* and never a pass.
    utilisation : float or None
        Value over limit, where a limit is stated.
    """

    item: str
    unit: str
    value: float
    limit: float | None
    utilisation: float | None


@dataclasses.dataclass(frozen=True, eq=False)
class LimitRow(Result):
    """One part, the greatest force on it, and the limit stated for it.

    Attributes
    ----------
    item : str
        The part and the kind of force.
    force_n : float
        The greatest force over all states.
    limit_n : float or None
        The stated limit; None when nobody stated one.
    utilisation : float or None
        Force over limit; None when no limit is stated, which is never a pass.
    case : str
        The state that gives the greatest force.
    part : str
        The part as data: ``fly_frame``, ``pick``, ``hoist``, ``roof_point``, ``closing_chain``,
        ``lever_hoist``, ``upper_anchor``, ``lower_anchor``, ``hinge``, ``rear_link`` or ``stop``.
    number : int or None
        Which one of its kind, from 0; for hinge, rear link and stop the joint.
    state : str
        The state as data: ``hanging``, ``building``, ``open``, ``closing``, ``clutch_slips``,
        ``closed``, ``preloaded``, ``clutch_at_upper_edge``, and the last three with ``_lifted``.
    factor_use : str
        ``applied``: the dynamic factor is in the force; else why not: ``hoists_stand`` (the chain
        is pulled while the hoists stand still) or ``chain_locked`` (the closed chain is locked at
        its length; while every stop presses, more weight takes pressure off the stops and leaves
        the chain's force as it was).
    dynamic_factor : float
        The factor contained in the force.
    """

    item: str
    force_n: float
    limit_n: float | None
    utilisation: float | None
    case: str
    part: str
    number: int | None
    state: str
    factor_use: str
    dynamic_factor: float

    @property
    def unit(self) -> str:
        """Unit of value and limit, as in `LimitUse`."""
        return "N"

    @property
    def value(self) -> float:
        """The force, as in `LimitUse`."""
        return self.force_n

    @property
    def limit(self) -> float | None:
        """The stated limit, as in `LimitUse`."""
        return self.limit_n

    @property
    def factor_note(self) -> str:
        """Whether the dynamic factor is in the force, and if not, why."""
        return factor_words(self.factor_use, self.dynamic_factor)


def limit_row(fields: dict[str, Any]) -> LimitRow:
    """Put the core's row into words."""
    return LimitRow(
        item=part_words(fields["part"], fields["number"]),
        force_n=fields["demand"],
        limit_n=fields["limit"],
        utilisation=fields["utilisation"],
        case=state_words(fields["state"]),
        part=fields["part"],
        number=fields["number"],
        state=fields["state"],
        factor_use=fields["factor_use"],
        dynamic_factor=fields["dynamic_factor"],
    )


def limit_use(fields: dict[str, Any]) -> LimitUse:
    """Put the core's row of any unit into words."""
    return LimitUse(
        item=part_words(fields["part"], fields["number"]),
        unit=fields["unit"],
        value=fields["demand"],
        limit=fields["limit"],
        utilisation=fields["utilisation"],
    )


def hoist_loads(hang: Hang, tilt_deg: float, pick_x_m: float | Sequence[float]) -> HoistLoads:
    """Loads of one or two plumb hoists that hold `hang` at a tilt.

    Moments about each pick: F₁ = W (x_G − x₂)/(x₁ − x₂), F₂ = W − F₁ with room x of picks and
    centre of gravity (equilibrium under parallel forces, any statics textbook). A hoist cannot
    push: where it would have to, its load is 0, it is `slack`, and the tilt is not held.

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg : float
        Elevation of the fly frame's axis.
    pick_x_m : float or sequence of float
        One or two places along the frame's pick line.

    Returns
    -------
    HoistLoads

    Raises
    ------
    InputError
        More than two picks, picks that coincide, or an argument of the wrong type or range.
    """
    picks = np.atleast_1d(real_array("pick_x_m", pick_x_m, 1))
    fields: dict[str, Any] = _core.hoist_loads(
        instance("hang", hang, Hang).handle, real("tilt_deg", tilt_deg), picks
    )
    return HoistLoads(**fields)


def hanging_tilt(hang: Hang, pick_x_m: float) -> HangingTilt:
    """Tilt at which `hang` comes to rest on one pick.

    The centre of gravity G turns plumb under the pick P: tan φ = (P_x − G_x)/(P_z − G_z) in the
    frame's own axes; no small-angle approximation.

    Parameters
    ----------
    hang : Hang
        The column.
    pick_x_m : float
        Place along the frame's pick line.

    Returns
    -------
    HangingTilt

    Raises
    ------
    InputError
        An argument of the wrong type or range.
    """
    tilt_deg = _core.hanging_tilt(instance("hang", hang, Hang).handle, real("pick_x_m", pick_x_m))
    return HangingTilt(tilt_deg)


def pick_for_tilt(hang: Hang, tilt_deg: float) -> PickForTilt:
    """Pick, continuous and snapped to the frame's holes, that gives a tilt.

    x_P = x_G + (z_P − z_G) tan φ in the frame's own axes.

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg : float
        Wanted elevation of the fly frame's axis, −80 to 80°.

    Returns
    -------
    PickForTilt

    Raises
    ------
    InputError
        An argument of the wrong type or range.
    """
    fields: dict[str, Any] = _core.pick_for_tilt(
        instance("hang", hang, Hang).handle, real("tilt_deg", tilt_deg)
    )
    return PickForTilt(**fields)


def joint_loads(hang: Hang, tilt_deg: float) -> JointLoads:
    """Link and hinge forces of `hang` at a held tilt, with two-sided links and no closing chain.

    At each joint the weight below at lever a behind the hinge is held by the pin-ended rear link,
    N = W a / lever, along the line of its pins; the hinge carries the rest as a vector (method of
    sections, any statics textbook).

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg : float
        Elevation of the fly frame's axis.

    Returns
    -------
    JointLoads

    Raises
    ------
    InputError
        An argument of the wrong type or range, or a rear link in line with its hinge.
    """
    fields: dict[str, Any] = _core.joint_loads(
        instance("hang", hang, Hang).handle, real("tilt_deg", tilt_deg)
    )
    return JointLoads(**fields)


def part_loads(
    hang: Hang,
    tilt_deg: float,
    pick_x_m: float | Sequence[float],
    *,
    hoist_limit_n: float | None = None,
    roof_point_limit_n: float | None = None,
    hoist_mass_kg: float = 0.0,
    dynamic_factor: float = 1.0,
    preload_n: float = 0.0,
) -> list[LimitRow]:
    """Hold every part of `hang` against its stated limit, the greatest force of all its states.

    A tension hang hangs on its hoists. A compression hang hangs open, closes, may make the slip
    clutch slip on the way, is closed, preloaded, or pulled until the clutch slips, and is lifted
    so; a state beyond the clutch's upper edge is not reached and not counted. While
    hoists start and stop, all weights count `dynamic_factor` times: whatever balance alone asks of
    a part grows with it. The chain of a closed hang is locked at its length, its
    stops taken as stiff beside it: its force stays while every stop presses, and is the factor
    times the closing force where that is more. Each row says whether the factor is in it.

    An aid to qualified persons; manufacturers' manuals, local codes and licensed engineers prevail.

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg : float
        Elevation of the fly frame's axis, −80 to 80°; on one pick, a hang closes at the tilt that
        follows from its balance.
    pick_x_m : float or sequence of float
        One or two picks.
    hoist_limit_n, roof_point_limit_n : float, optional
        Stated limit of each hoist and of each roof point.
    hoist_mass_kg : float
        Mass of each hoist with its chain, on the roof point.
    dynamic_factor : float
        Factor for starting and stopping, 1 to 5.
    preload_n : float
        Chain force beyond the closing force.

    Returns
    -------
    list of LimitRow
        One row a part.

    Raises
    ------
    InputError
        As `hoist_loads`, `joint_loads` and `close`, or an argument out of range.
    """
    rows = _core.part_loads(
        instance("hang", hang, Hang).handle,
        real("tilt_deg", tilt_deg),
        np.atleast_1d(real_array("pick_x_m", pick_x_m, 1)),
        (
            None if hoist_limit_n is None else real("hoist_limit_n", hoist_limit_n),
            None if roof_point_limit_n is None else real("roof_point_limit_n", roof_point_limit_n),
            real("hoist_mass_kg", hoist_mass_kg),
            real("dynamic_factor", dynamic_factor),
        ),
        real("preload_n", preload_n),
    )
    return [limit_row(row) for row in rows]
