"""Where every body of a hang is."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._many import over_tilts
from hangarc._record import Result, instance, real, real_array
from hangarc._tables import Rows
from hangarc.model import Hang, Venue


@dataclasses.dataclass(frozen=True, eq=False)
class Pose(Result):
    """The hang in its vertical plane.

    Positions are room axes (x, z) with the origin on the floor under cabinet 0's upper front
    hinge.

    Attributes
    ----------
    axis_deg : ndarray, shape (n,)
        Elevation of each cabinet's axis, positive aiming up.
    hinge_m : ndarray, shape (n+1, 2)
        Front hinges, from cabinet 0's upper to the last cabinet's lower.
    front_m : ndarray, shape (n, 2)
        Middle of each cabinet's front face.
    corners_m : ndarray, shape (n, 4, 2)
        Upper front, lower front, lower rear, upper rear.
    pick_m : ndarray, shape (holes, 2)
        The fly frame's holes.
    chain_m : ndarray, shape (2, 2), or None
        Upper and lower end of the closing chain, where both frames have one.
    cg_m : ndarray, shape (2,)
        Centre of gravity of everything hung, fly frame included.
    mass_kg : float
        Mass of everything hung, fly frame included.
    trim_m : float
        Height of the lowest point: cabinets' corners and the bottom frame's chain anchor.

    Examples
    --------
    >>> import hangarc as ha
    >>> placed = ha.pose(ha.demo.hang(), 2.0, 11.0)
    >>> placed.axis_deg.round(1).tolist()
    [2.0, 0.0, -2.7, -6.1, -10.3, -15.4]
    >>> round(placed.mass_kg, 1), placed.cg_m.round(3).tolist(), round(placed.trim_m, 2)
    (503.0, [-0.332, 10.107], 8.86)
    """

    axis_deg: NDArray[np.float64]
    hinge_m: NDArray[np.float64]
    front_m: NDArray[np.float64]
    corners_m: NDArray[np.float64]
    pick_m: NDArray[np.float64]
    chain_m: NDArray[np.float64] | None
    cg_m: NDArray[np.float64]
    mass_kg: float
    trim_m: float

    def _picture(self) -> str:
        from hangarc import _pictures

        return _pictures.column(self)


@over_tilts
@by_name
def pose(
    hang: Hang,
    tilt_deg: float | ArrayLike,
    top_m: float = 0.0,
    *,
    splays_deg: ArrayLike | None = None,
) -> Pose:
    """Place every body of `hang` at its pinned angles, or at others it passes through.

    The axis of cabinet i+1 lies `splays_deg[i]` below that of cabinet i; each body hangs by its
    upper front hinge from its upper neighbour's lower front hinge.

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg : float or array_like
        Elevation of the fly frame's axis, −90 to 90°; an array gives every attribute its shape
        before its own.
    top_m : float
        Height of cabinet 0's upper front hinge.
    splays_deg : array_like, shape (n-1,), optional
        Angles between cabinets, within ±90°, of a hang that is open or on its way to closed; left
        out, the hang's pins.

    Returns
    -------
    Pose

    Raises
    ------
    InputError
        An argument of the wrong type, not finite, or out of range.

    Examples
    --------
    >>> import hangarc as ha
    >>> placed = ha.pose(ha.demo.hang((2.0, 4.2)), 2.0, 9.0)
    >>> placed.axis_deg.round(1).tolist()
    [2.0, 0.0, -4.2]
    >>> placed.hinge_m.round(2).tolist()
    [[0.0, 9.0], [0.01, 8.64], [0.01, 8.28], [-0.01, 7.92]]
    """
    fields = _core.pose(
        instance("hang", hang, Hang).handle,
        real("tilt_deg", tilt_deg),
        real("top_m", top_m),
        None if splays_deg is None else real_array("splays_deg", splays_deg, 1).tolist(),
    )
    return Pose(**fields)


@dataclasses.dataclass(frozen=True, eq=False)
class Throw(Result):
    """Where a cabinet's axis ends: on seats, or on what blocks it before.

    Attributes
    ----------
    point_m : ndarray, shape (2,)
        The point in the hang's plane: how far ahead of the hang, and z.
    place_m : ndarray, shape (3,)
        The same point in room axes (x, y, z).
    length_m : float
        Distance from the middle of the cabinet's front face.
    area : int or None
        Index of the seat area whose ears it meets; None where it ends on a surface.
    surface : str or None
        Name of the floor or surface on which it ends; None where it meets seats.

    Examples
    --------
    >>> import hangarc as ha
    >>> first = ha.throws(ha.demo.hang(), 2.0, 11.0, ha.demo.study().venue)[0]
    >>> first.area, round(first.length_m, 1)
    (2, 42.3)
    """

    point_m: NDArray[np.float64]
    place_m: NDArray[np.float64]
    length_m: float
    area: int | None
    surface: str | None


@by_name
def throws(
    hang: Hang,
    tilt_deg: float,
    top_m: float,
    venue: Venue,
    *,
    position_m: Sequence[float] = (0.0, 0.0),
    pan_deg: float = 0.0,
) -> Rows[Throw | None]:
    """Follow each cabinet's axis to the first ears, floor or surface that it meets.

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg : float
        Elevation of the fly frame's axis, −90 to 90°.
    top_m : float
        Height of cabinet 0's upper front hinge.
    venue : Venue
        The seats and what blocks.
    position_m : (float, float)
        Where the hang's plane stands on the floor plan, (x, y).
    pan_deg : float
        Turn of the hang's plane about z, positive to the left.

    Returns
    -------
    list of Throw or None
        One entry per cabinet, top to bottom; None where the axis meets nothing.

    Raises
    ------
    InputError
        An argument of the wrong type, not finite, or out of range.

    Examples
    --------
    >>> import hangarc as ha
    >>> throws = ha.throws(ha.demo.hang(), 2.0, 11.0, ha.demo.study().venue)
    >>> [throw and throw.area for throw in throws]
    [2, 2, 2, None, 1, 1]
    """
    found = _core.throws(
        instance("hang", hang, Hang).handle,
        real("tilt_deg", tilt_deg),
        real("top_m", top_m),
        instance("venue", venue, Venue).handle,
        plan_place(position_m),
        real("pan_deg", pan_deg),
    )
    return Rows(None if fields is None else Throw(**fields) for fields in found)


def plan_place(position_m: Sequence[float]) -> tuple[float, float]:
    """Accept a place on the floor plan, or raise `InputError`."""
    try:
        x_m, y_m = position_m
    except (TypeError, ValueError):
        raise InputError("position_m", position_m, "two numbers, (x, y)") from None
    return real("position_m[0]", x_m), real("position_m[1]", y_m)
