"""A line on the bottom that turns a hang further: its pull, and what it does to the joints."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._ending import Ended, Ending
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import besides, instance, real, real_array
from hangarc.model import Hang
from hangarc.statics.limits import LimitRow, limit_rows

Array = NDArray[np.float64]

PullBackEnd = Literal["held", "a hoist is slack", "the line is slack"]

PULL_BACK_ENDINGS: Mapping[str, Ending] = {
    "held": Ending(True, "Hoists and line pull, and the tilt is held."),
    "a hoist is slack": Ending(
        False,
        "A hoist would have to push, so the tilt is not held.",
        "A tilt nearer to the hanging one, picks farther apart, or less force in the line.",
    ),
    "the line is slack": Ending(
        False,
        "The line would have to push, so the hang turns to its free tilt.",
        "A tilt beyond the hanging one, or a point on the other side to pull to.",
    ),
}


@dataclasses.dataclass(frozen=True, eq=False)
class PullBack(Ended):
    """A hang whose bottom is pulled back.

    Utilisations are of stated limits. An aid to qualified persons; manufacturers' manuals, local
    codes and licensed engineers prevail.

    Attributes
    ----------
    ended : str
        ``held``; ``a hoist is slack``: it would have to push, so the tilt is not held; or ``the
        line is slack``: it would have to push, so the hang turns to its free tilt.
    force_n : float
        Pull of the line; 0 where it is slack.
    attach_m : ndarray, shape (2,)
        Where it is fixed to the bottom, room axes.
    line_m : float
        Its length.
    free_tilt_deg : float or None
        Tilt without the line on one pick; None on two.
    hoist_load_n : ndarray, shape (k,)
        Load of each hoist along its line; 0 where slack.
    hoist_lean_deg : float
        Lean of the hoists' lines from plumb, positive with their upper ends forward.
    rear_link_n : ndarray, shape (j,)
        Force of each rear link, tension positive, links carrying both signs.
    rear_link_change_n : ndarray, shape (j,)
        By how much the line changes it.
    hinge_force_n : ndarray, shape (j, 2)
        Force (x, z) of each hinge on the body below.
    limits : tuple of LimitRow
        Line, picks and joints against their stated limits.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.demo.hang((2.1, 2.8, 3.6), rigging="tension")
    >>> pulled = ha.statics.pull_back(hang, -6.0, -0.35, (-6.0, 0.0), top_m=9.0)
    >>> pulled.ended, round(pulled.force_n), round(pulled.free_tilt_deg, 1)
    ('held', 764, -1.6)
    """

    _endings = PULL_BACK_ENDINGS

    ended: PullBackEnd
    force_n: float
    attach_m: Array
    line_m: float
    free_tilt_deg: float | None
    hoist_load_n: Array
    hoist_lean_deg: float
    rear_link_n: Array
    rear_link_change_n: Array
    hinge_force_n: Array
    limits: tuple[LimitRow, ...]


@by_name
def pull_back(
    hang: Hang,
    tilt_deg: float,
    pick_x_m: float | Sequence[float],
    to_m: ArrayLike,
    *,
    top_m: float = 0.0,
    attach_m: ArrayLike | None = None,
    force_n: float | None = None,
    limit_n: float | None = None,
) -> PullBack:
    """Hold `hang` at a tilt by a rope or rear hoist from its bottom to a point above or behind.

    On one pick P the line pulls with F = W (x_G − x_P)/((B − P) × d), B where it is fixed and d its
    direction. On two picks the pull is given. The hoists carry (0, W) − F d between them and lean
    with it, all alike. At each joint the weight below and the pull are held by the rear link and
    the hinge (method of sections, any statics textbook). At rest: no dynamic factor.

    Parameters
    ----------
    hang : Hang
        The column, links carrying tension and compression alike, no closing chain.
    tilt_deg : float
        Elevation of the fly frame's axis that the line is to hold.
    pick_x_m : float or sequence of float
        One or two picks.
    to_m : (float, float)
        Where the line leads, (x, z) in the hang's plane with the floor at z = 0.
    top_m : float
        Height of cabinet 0's upper front hinge.
    attach_m : (float, float), optional
        Where it is fixed, in the axes of the bottom frame, or of the last cabinet where there is
        none; left out, the bottom frame's chain anchor.
    force_n : float, optional
        Pull of the line, on two picks only.
    limit_n : float, optional
        Stated limit of the line; left out, not stated.

    Returns
    -------
    PullBack

    Raises
    ------
    InputError
        No place to fix the line, a line of no length or through the pick, `force_n` left out on two
        picks or given on one, or an argument of the wrong type or range.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.demo.hang((2.1, 2.8, 3.6), rigging="tension")
    >>> pulled = ha.statics.pull_back(hang, -6.0, -0.35, (-6.0, 0.0), top_m=9.0, limit_n=5_000.0)
    >>> round(pulled.force_n), pulled.hoist_load_n.round().tolist()
    (764, [4328.0])
    """
    fields = _core.pull_back(
        instance("hang", hang, Hang).handle,
        real("tilt_deg", tilt_deg),
        real("top_m", top_m),
        np.atleast_1d(real_array("pick_x_m", pick_x_m, 1)),
        _point("to_m", to_m),
        None if attach_m is None else _point("attach_m", attach_m),
        None if force_n is None else real("force_n", force_n),
        None if limit_n is None else real("limit_n", limit_n),
    )
    return PullBack(**besides(fields, "limits"), limits=limit_rows(fields["limits"]))


def _point(field: str, value: ArrayLike) -> list[float]:
    point = real_array(field, value, 1)
    if point.shape != (2,):
        raise InputError(field, value, "two numbers, x and z")
    return [float(place) for place in point]
