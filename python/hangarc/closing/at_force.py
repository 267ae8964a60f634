"""Where a compression hang comes to rest under a given chain force."""

from __future__ import annotations

import dataclasses

from hangarc import _core
from hangarc._ending import REST_ENDINGS, Ended, RestEnd
from hangarc._keywords import by_name
from hangarc._record import instance, real
from hangarc.closing.path import Array, TopJoint
from hangarc.model import Hang


@dataclasses.dataclass(frozen=True, eq=False)
class RestAtForce(Ended):
    """The hang at rest with a given chain force.

    Attributes
    ----------
    ended : {"at rest", "no step lowers the energy", "budget spent"}
        How the descent ended; only ``at rest`` is a rest.
    residual : float
        The greatest moment that is not balanced, over all loads at the hang's length; at rest
        below 1e-9.
    angle_deg : ndarray, shape (j,)
        Joint angles.
    chain_m : float
        Chain length.
    contact_moment_nm, stop_force_n : ndarray, shape (j,)
        As in `JointForces`.
    hinge_force_n : ndarray, shape (j, 2)
        As in `JointForces`.

    Examples
    --------
    >>> import hangarc as ha
    >>> rest = ha.closing.rest_at_force(ha.demo.hang(), 2.0, 500.0)
    >>> rest.ended, rest.angle_deg.round(1).tolist()
    ('at rest', [0.0, -2.0, -2.0, -2.0, 4.2, 5.1, 0.0])
    """

    _endings = REST_ENDINGS

    ended: RestEnd
    residual: float
    angle_deg: Array
    chain_m: float
    contact_moment_nm: Array
    stop_force_n: Array
    hinge_force_n: Array


@by_name
def rest_at_force(
    hang: Hang, tilt_deg: float, force_n: float, *, top_joint: TopJoint = "locked"
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

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.demo.hang()
    >>> for force_n in (0.0, 500.0, 2_000.0):
    ...     print(ha.closing.rest_at_force(hang, 2.0, force_n).angle_deg[1:-1].round(1).tolist())
    ...
    [-2.0, -2.0, -2.0, -2.0, -2.0]
    [-2.0, -2.0, -2.0, 4.2, 5.1]
    [2.0, 2.7, 3.4, 4.2, 5.1]
    """
    fields = _core.rest_at_force(
        instance("hang", hang, Hang).handle,
        real("tilt_deg", tilt_deg),
        real("force_n", force_n),
        instance("top_joint", top_joint, str),
    )
    return RestAtForce(**fields)
