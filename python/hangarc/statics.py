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
        The greatest force over all cases.
    limit_n : float or None
        The stated limit; None when nobody stated one.
    utilisation : float or None
        Force over limit; None when no limit is stated, which is never a pass.
    case : str
        The case that gives the greatest force.
    """

    item: str
    force_n: float
    limit_n: float | None
    utilisation: float | None
    case: str

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
