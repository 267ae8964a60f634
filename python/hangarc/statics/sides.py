"""The left and the right side of every joint: a load off the middle, unlike chains, side wind."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import Result, besides, instance, real, real_array
from hangarc.model import Hang
from hangarc.statics.limits import LimitRow, limit_rows

if TYPE_CHECKING:
    from hangarc._fields import SidesCase

Array = NDArray[np.float64]


@dataclasses.dataclass(frozen=True, eq=False)
class Sides(Result):
    """Both sides of every joint, top to bottom, left first; left is y > 0.

    Attributes
    ----------
    chain_force_n : ndarray, shape (2,)
        Force of the left and the right closing chain.
    stop_n : ndarray, shape (j, 2)
        Force of each rear link or stop, compression positive.
    hinge_n : ndarray, shape (j, 2, 2)
        Force (x, z) of each front hinge on the body below, in the hang's own axes.
    shear_n : ndarray, shape (j,)
        Force across the hang that both hinges carry together; how they share it is not determined.
    roll_nm, pan_nm : ndarray, shape (j,)
        Moments about x and z, at the middle of the hinges, that the sides hold by differences.
    lifted : ndarray of bool, shape (j,)
        Whether the stop of one side has lifted off.
    limits : tuple of LimitRow
        Every part of each side against half the limit stated for both sides of a joint, every
        chain against that of the closing chain. A hinge is held against all the shear.

    Examples
    --------
    >>> import hangarc as ha
    >>> sides = ha.statics.forces_per_side(
    ...     ha.demo.hang(),
    ...     2.0,
    ...     cg_y_m=0.02,
    ...     hinge_spacing_m=1.0,
    ...     link_spacing_m=0.9,
    ...     chain_spacing_m=0.9,
    ... )
    >>> sides.hinge_n[1].round().tolist()  # joint 1, left and right
    [[-51.0, 1069.0], [-51.0, 942.0]]
    """

    chain_force_n: Array
    stop_n: Array
    hinge_n: Array
    shear_n: Array
    roll_nm: Array
    pan_nm: Array
    lifted: NDArray[np.bool_]
    limits: tuple[LimitRow, ...]


@by_name
def forces_per_side(
    hang: Hang,
    tilt_deg: float,
    *,
    cg_y_m: ArrayLike = 0.0,
    force_n: ArrayLike | None = None,
    lean_deg: float = 0.0,
    hinge_spacing_m: float | None = None,
    link_spacing_m: float | None = None,
    chain_spacing_m: float | None = None,
    chain_force_n: float | None = None,
    left_share: float = 0.5,
    link_over_hinge: float = 1.0,
) -> Sides:
    """What the left and the right hinge, rear link or stop of every joint carry.

    The sums over both sides are those of the hang's plane. The moments M_x and M_z of all below
    about the middle of the hinges are held by differences: left half the sum + h or s, right half
    the sum − h or s, with a h_z − b u_z s + M_x = 0 and −a h_x + b u_x s + M_z = 0, hinges a and
    links b apart, u along the links. How links and hinges share them follows from their stiffness
    with the bodies rigid. A stop that would pull lifts off, and the other side carries all.

    Parameters
    ----------
    hang : Hang
        The column: pinned, or closed by a chain on each side.
    tilt_deg : float
        Elevation of the fly frame's axis, held against roll and pan.
    cg_y_m : float or array_like, shape (n,)
        How far left of the middle each cabinet's centre of gravity lies; frames and what else
        hangs are in the middle.
    force_n : array_like, shape (n, 2), optional
        Forces along x and y at the middle of each cabinet, as `wind.oblique_forces` gives them.
    lean_deg : float
        Lean across the hang's plane, its lower end to the left positive, as `wind_loads` gives it.
    hinge_spacing_m, link_spacing_m, chain_spacing_m : float, optional
        Distance between the left and right of a pair; left out, the widest cabinet's width.
        `chain_spacing_m` 0 is one chain in the middle.
    chain_force_n : float, optional
        Force of both chains together; left out, what closes the hang.
    left_share : float
        The left chain's share of it, 0 to 1.
    link_over_hinge : float
        Stiffness of a rear link over that of a hinge: common practice takes them alike, no source.

    Returns
    -------
    Sides

    Raises
    ------
    InputError
        Lists of another length than cabinets, a value out of range, or a compression hang that the
        chain does not close.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.demo.hang((2.1, 2.8, 3.6), rigging="tension")
    >>> level = ha.statics.forces_per_side(hang, 2.0, hinge_spacing_m=1.0, link_spacing_m=0.9)
    >>> leaning = ha.statics.forces_per_side(
    ...     hang, 2.0, hinge_spacing_m=1.0, link_spacing_m=0.9, lean_deg=1.0
    ... )
    >>> level.hinge_n[0].round().tolist(), leaning.hinge_n[0].round().tolist()
    ([[25.0, 655.0], [25.0, 655.0]], [[39.0, 676.0], [12.0, 634.0]])
    """
    one = instance("hang", hang, Hang)
    count = len(one.cabinets)
    offsets = real_array("cg_y_m", cg_y_m, 1)
    if offsets.shape == (1,):
        offsets = np.repeat(offsets, count)
    forces = np.zeros((count, 2)) if force_n is None else real_array("force_n", force_n, 2)
    if forces.ndim != 2 or forces.shape[1] != 2:
        raise InputError("force_n", force_n, "rows of two forces, along x and y")
    width_m = max(cabinet.width_m for cabinet in one.cabinets)

    def spacing(field: str, value: float | None) -> float:
        return width_m if value is None else real(field, value)

    tilt = real("tilt_deg", tilt_deg)
    case: SidesCase = {
        "lean_deg": real("lean_deg", lean_deg),
        "cg_y_m": offsets.tolist(),
        "force_n": forces.tolist(),
        "hinge_spacing_m": spacing("hinge_spacing_m", hinge_spacing_m),
        "link_spacing_m": spacing("link_spacing_m", link_spacing_m),
        "chain_spacing_m": spacing("chain_spacing_m", chain_spacing_m),
        "chain_force_n": None if chain_force_n is None else real("chain_force_n", chain_force_n),
        "left_share": real("left_share", left_share),
        "link_over_hinge": real("link_over_hinge", link_over_hinge),
    }
    fields = _core.forces_per_side(one.handle, tilt, case)
    return Sides(**besides(fields, "limits"), limits=limit_rows(fields["limits"]))
