"""The forces on a part of a hang that is cut free at a joint."""

from __future__ import annotations

import dataclasses

import numpy as np
from numpy.typing import NDArray

from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._pose import Pose, pose
from hangarc._record import Result, instance, real, whole
from hangarc._tables import Rows
from hangarc.closing import close
from hangarc.model import Hang
from hangarc.statics import joint_loads

Array = NDArray[np.float64]


@dataclasses.dataclass(frozen=True, eq=False)
class Force(Result):
    """One force on a body.

    Attributes
    ----------
    name : str
        What pulls or pushes.
    at_m : ndarray, shape (2,)
        Where it acts, (x, z) in room axes.
    force_n : ndarray, shape (2,)
        The force, (x, z).
    size_n : float
        Its size.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.lesson.small_hang(3, rigging="tension")
    >>> forces = ha.lesson.forces_below(hang, 0.0, 1)
    >>> [(force.name, round(force.size_n)) for force in forces]
    [('weight', 1177), ('rear link', 706), ('front hinge', 471)]
    """

    name: str
    at_m: Array
    force_n: Array
    size_n: float


@by_name
def forces_below(hang: Hang, tilt_deg: float, joint: int) -> Rows[Force]:
    """Give every force on what hangs below a joint between cabinets.

    A tension hang: its weight, the rear link, the front hinge. A compression hang closed by the
    least chain force that closes it: its weight, the chain, the stop, the front hinge. Their sum is
    zero, and so is that of their moments: that is what at rest means.

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg : float
        Tilt of the fly frame.
    joint : int
        1 to the number of cabinets less one; joint j lies below cabinet j.

    Returns
    -------
    list of Force

    Raises
    ------
    InputError
        No such joint, or a compression hang that no chain force closes.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.lesson.small_hang(3, rigging="tension")
    >>> [force.name for force in ha.lesson.forces_below(hang, 0.0, 1)]
    ['weight', 'rear link', 'front hinge']
    """
    count = len(instance("hang", hang, Hang).cabinets)
    if not 1 <= whole("joint", joint) < count:
        raise InputError("joint", joint, f"1 to {count - 1}")
    placed = pose(hang, real("tilt_deg", tilt_deg), 0.0)
    cg, mass_kg = centre_below(hang, placed, joint)
    weight = np.array([0.0, -mass_kg * hang.gravity_m_s2])
    upper_pin, lower_pin = rear_pins(hang, placed, joint)
    along = (upper_pin - lower_pin) / np.linalg.norm(upper_pin - lower_pin)
    found = [_force("weight", cg, weight)]
    if hang.rigging == "tension":
        loads = joint_loads(hang, tilt_deg)
        found.append(_force("rear link", lower_pin, loads.rear_link_n[joint] * along))
        hinge = loads.hinge_force_n[joint]
    else:
        closing = close(hang, tilt_deg)
        held = closing.at_closing
        if held is None or closing.closing_force_n is None or placed.chain_m is None:
            raise InputError("hang", hang, "a hang that a chain force closes")
        upper, lower = placed.chain_m
        pull = closing.closing_force_n * (upper - lower) / np.linalg.norm(upper - lower)
        found.append(_force("chain", lower, pull))
        found.append(_force("stop", lower_pin, -held.stop_force_n[joint] * along))
        hinge = held.hinge_force_n[joint]
    found.append(_force("front hinge", placed.hinge_m[joint], hinge))
    return Rows(found)


def _force(name: str, at_m: Array, force_n: Array) -> Force:
    return Force(name=name, at_m=at_m, force_n=force_n, size_n=float(np.hypot(*force_n)))


def turned(point: tuple[float, ...] | Array, elevation_deg: float) -> Array:
    """Turn a point of a body into room axes."""
    angle = np.radians(elevation_deg)
    x, z = point
    return np.array([x * np.cos(angle) - z * np.sin(angle), x * np.sin(angle) + z * np.cos(angle)])


def centre_below(hang: Hang, placed: Pose, joint: int) -> tuple[Array, float]:
    """Centre of gravity and mass of what hangs below a joint."""
    parts: list[tuple[float, Array]] = []
    for index in range(joint, len(hang.cabinets)):
        cabinet = hang.cabinets[index]
        at = placed.front_m[index] + turned(tuple(cabinet.cg_m), placed.axis_deg[index])
        parts.append((cabinet.mass_kg, at))
    if hang.bottom is not None:
        axis_deg = float(placed.axis_deg[-1]) - hang.bottom.fixed_splay_deg
        at = placed.hinge_m[-1] + turned(tuple(hang.bottom.cg_m), axis_deg)
        parts.append((hang.bottom.mass_kg, at))
    mass_kg = sum(mass for mass, _ in parts)
    moment = np.sum([mass * at for mass, at in parts], axis=0)
    return moment / mass_kg, mass_kg


def rear_pins(hang: Hang, placed: Pose, joint: int) -> tuple[Array, Array]:
    """Ends of the rear link or stop of a joint between cabinets: upper and lower pin."""
    above, below = hang.cabinets[joint - 1], hang.cabinets[joint]
    hinge = placed.hinge_m[joint]
    upper = turned((above.rear_pin_x_m, above.rear_pin_inset_m), placed.axis_deg[joint - 1])
    lower = turned((below.rear_pin_x_m, -below.rear_pin_inset_m), placed.axis_deg[joint])
    return hinge + upper, hinge + lower
