"""What the hoists carry, and the tilt that follows from the picks."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._many import over_tilts
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

    Examples
    --------
    >>> import hangarc as ha
    >>> loads = ha.hoist_loads(ha.demo.hang(), 2.0, [0.15, -1.05])
    >>> loads.load_n.round().tolist(), loads.slack.tolist()
    ([2974.0, 1958.0], [False, False])
    >>> [round(tilt_deg) for tilt_deg in loads.tilt_range_deg]  # where neither is slack
    [-33, 26]
    """

    load_n: NDArray[np.float64]
    slack: NDArray[np.bool_]
    unbalanced_moment_nm: float
    tilt_range_deg: tuple[float, float]

    def _picture(self) -> str:
        from hangarc import _pictures

        if np.ndim(self.load_n) != 1:
            return ""
        names = [f"hoist {hoist}" for hoist in range(1, len(self.load_n) + 1)]
        return _pictures.bars(self.load_n / 1e3, "load, kN", names)


@dataclasses.dataclass(frozen=True, eq=False)
class HangingTilt(Result):
    """The tilt at which a hang comes to rest on one pick.

    Attributes
    ----------
    tilt_deg : float
        Elevation of the fly frame's axis.

    Examples
    --------
    >>> import hangarc as ha
    >>> ha.hanging_tilt(ha.demo.hang(), -0.35)
    HangingTilt(tilt_deg=0.715567)
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

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.pick_for_tilt(ha.demo.hang(), 2.0)
    >>> round(found.pick_x_m, 3), found.hole, round(found.tilt_at_hole_deg, 2)
    (-0.326, 6, 0.72)
    """

    pick_x_m: float
    hole: int
    tilt_at_hole_deg: float
    tilt_range_deg: tuple[float, float]


@over_tilts
@by_name
def hoist_loads(
    hang: Hang, tilt_deg: float | ArrayLike, pick_x_m: float | Sequence[float]
) -> HoistLoads:
    """Loads of one or two plumb hoists that hold `hang` at a tilt.

    Moments about each pick: F₁ = W (x_G − x₂)/(x₁ − x₂), F₂ = W − F₁ with room x of picks and
    centre of gravity (equilibrium under parallel forces, any statics textbook). A hoist cannot
    push: where it would have to, its load is 0, it is `slack`, and the tilt is not held.

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg : float or array_like
        Elevation of the fly frame's axis; an array gives every attribute its shape before its own.
    pick_x_m : float or sequence of float
        One or two places along the frame's pick line.

    Returns
    -------
    HoistLoads

    Raises
    ------
    InputError
        More than two picks, picks that coincide, or an argument of the wrong type or range.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.demo.hang()
    >>> ha.hoist_loads(hang, 2.0, [0.15, -1.05]).load_n.round().tolist()
    [2974.0, 1958.0]
    >>> ha.hoist_loads(hang, [-2.0, 2.0], [0.15, -1.05]).load_n.round().tolist()
    [[2673.0, 2260.0], [2974.0, 1958.0]]
    """
    picks = np.atleast_1d(real_array("pick_x_m", pick_x_m, 1))
    fields = _core.hoist_loads(
        instance("hang", hang, Hang).handle, real("tilt_deg", tilt_deg), picks
    )
    return HoistLoads(**fields)


@by_name
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

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.demo.hang()
    >>> [round(ha.hanging_tilt(hang, x).tilt_deg, 1) for x in (-0.25, -0.35, -0.45)]
    [6.1, 0.7, -4.7]
    """
    tilt_deg = _core.hanging_tilt(instance("hang", hang, Hang).handle, real("pick_x_m", pick_x_m))
    return HangingTilt(tilt_deg)


@over_tilts
@by_name
def pick_for_tilt(hang: Hang, tilt_deg: float | ArrayLike) -> PickForTilt:
    """Pick, continuous and snapped to the frame's holes, that gives a tilt.

    x_P = x_G + (z_P − z_G) tan φ in the frame's own axes.

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg : float or array_like
        Wanted elevation of the fly frame's axis, −80 to 80°; an array gives every attribute its
        shape before its own.

    Returns
    -------
    PickForTilt

    Raises
    ------
    InputError
        An argument of the wrong type or range.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.demo.hang()
    >>> found = ha.pick_for_tilt(hang, 2.0)
    >>> round(ha.hanging_tilt(hang, found.pick_x_m).tilt_deg, 6)
    2.0
    """
    fields = _core.pick_for_tilt(instance("hang", hang, Hang).handle, real("tilt_deg", tilt_deg))
    return PickForTilt(**fields)


def picks(pick_x_m: Any) -> list[float] | None:
    """Accept one pick or several as numbers; None stays None."""
    if pick_x_m is None:
        return None
    given = np.atleast_1d(real_array("pick_x_m", pick_x_m, 1))
    if given.size == 0:
        raise InputError("pick_x_m", pick_x_m, "one pick or more, or None")
    return [float(pick) for pick in given]
