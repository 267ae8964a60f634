"""What each joint of a hang at rest carries."""

from __future__ import annotations

import dataclasses

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._keywords import by_name
from hangarc._many import over_tilts
from hangarc._record import Result, instance, real
from hangarc.model import Hang


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

    Examples
    --------
    >>> import hangarc as ha
    >>> joints = ha.joint_loads(ha.demo.hang((2.1, 2.8, 3.6), rigging="tension"), 2.0)
    >>> joints.weight_n.round().tolist()
    [2765.0, 2133.0, 1500.0, 868.0, 235.0]
    >>> joints.rear_link_n.round().tolist()
    [1456.0, 1197.0, 878.0, 521.0, 165.0]
    """

    weight_n: NDArray[np.float64]
    moment_nm: NDArray[np.float64]
    rear_link_n: NDArray[np.float64]
    hinge_force_n: NDArray[np.float64]

    def _picture(self) -> str:
        from hangarc import _pictures

        if self.rear_link_n.ndim != 1:
            return ""
        names = [f"joint {joint}" for joint in range(len(self.rear_link_n))]
        return _pictures.bars(self.rear_link_n / 1e3, "rear link, kN, tension positive", names)


@over_tilts
@by_name
def joint_loads(hang: Hang, tilt_deg: float | ArrayLike) -> JointLoads:
    """Link and hinge forces of `hang` at a held tilt, with two-sided links and no closing chain.

    At each joint the weight below at lever a behind the hinge is held by the pin-ended rear link,
    N = W a / lever, along the line of its pins; the hinge carries the rest as a vector (method of
    sections, any statics textbook).

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg : float or array_like
        Elevation of the fly frame's axis; an array gives every attribute its shape before its own.

    Returns
    -------
    JointLoads

    Raises
    ------
    InputError
        An argument of the wrong type or range, or a rear link in line with its hinge.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.demo.hang((2.1, 2.8, 3.6), rigging="tension")
    >>> joints = ha.joint_loads(hang, 2.0)
    >>> joints.moment_nm.round().tolist()
    [757.0, 623.0, 458.0, 272.0, 86.0]
    >>> joints.hinge_force_n.round().tolist()  # (x, z) on the lower body
    [[51.0, 1311.0], [20.0, 936.0], [-23.0, 622.0], [-43.0, 348.0], [-19.0, 71.0]]
    """
    fields = _core.joint_loads(instance("hang", hang, Hang).handle, real("tilt_deg", tilt_deg))
    return JointLoads(**fields)
