"""Starting, stopping, and combining loads by factors that the user gives."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import Result, real, real_array
from hangarc.model.hardware import STANDARD_GRAVITY_M_S2


@dataclasses.dataclass(frozen=True, eq=False)
class CombinedLoads(Result):
    """Forces combined by every set of factors.

    Attributes
    ----------
    force_n : ndarray, shape (sets, points)
        Force at each point.
    greatest_n : ndarray, shape (points,)
        Greatest force at each point.
    sets : list of str
        Names of the sets, the rows of `force_n`.
    governing : list of str
        Name of the set that gives the greatest force at each point.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.suspension.combine_loads(
    ...     {"weight": [4_000.0, 3_000.0], "wind": [500.0, -500.0]},
    ...     {
    ...         "still": {"weight": 1.35, "wind": 0.0},
    ...         "storm": {"weight": 1.35, "wind": 1.5},
    ...     },
    ... )
    >>> found.greatest_n.round().tolist(), list(found.governing)
    ([6150.0, 4050.0], ['storm', 'still'])
    """

    force_n: NDArray[np.float64]
    greatest_n: NDArray[np.float64]
    sets: list[str]
    governing: list[str]


@by_name
def start_stop_factor(
    speed_m_s: float, *, hoisting_class: Literal["HC1", "HC2", "HC3", "HC4"] = "HC2"
) -> float:
    """Factor on a load for starting and stopping its hoist.

    φ₂ = φ₂,min + β₂ v_h (EN 13001-2:2014, table 2; numbers from memory: φ₂,min 1.05, 1.10, 1.15,
    1.20 and β₂ 0.17, 0.34, 0.51, 0.68 s/m for HC1 … HC4). The default class HC2 is an assumption
    of this library, not of the standard; a factor stated by the hoist's manufacturer prevails.

    Parameters
    ----------
    speed_m_s : float
        Steady hoisting speed, at least 0.
    hoisting_class : {"HC1", "HC2", "HC3", "HC4"}
        Stiffness class.

    Returns
    -------
    float

    Raises
    ------
    InputError
        Another class, or a speed below zero.

    Examples
    --------
    >>> import hangarc as ha
    >>> round(ha.suspension.start_stop_factor(0.13, hoisting_class="HC2"), 3)
    1.144
    """
    factor: float = _core.start_stop_factor(str(hoisting_class), real("speed_m_s", speed_m_s))
    return factor


@by_name
def emergency_stop_force_n(
    weight_n: float,
    speed_m_s: float,
    stiffness_n_m: float,
    *,
    gravity_m_s2: float = STANDARD_GRAVITY_M_S2,
) -> float:
    """Greatest force when a sinking weight is stopped dead by its elastic suspension.

    W + v √(k W/g), from ½ m v² = ½ k x² (energy balance, any mechanics textbook). Damping and a
    brake that slips make it less.

    Parameters
    ----------
    weight_n : float
        Weight, above 0.
    speed_m_s : float
        Speed of sinking, at least 0.
    stiffness_n_m : float
        Spring rate of chain, hoist and roof together, above 0.
    gravity_m_s2 : float
        Acceleration of free fall, 9.7 to 9.9.

    Returns
    -------
    float

    Raises
    ------
    InputError
        An argument out of bounds.

    Examples
    --------
    >>> import hangarc as ha
    >>> round(ha.suspension.emergency_stop_force_n(5_000.0, 0.13, 8.0e5))
    7626
    """
    force: float = _core.emergency_stop_force_n(
        real("weight_n", weight_n),
        real("speed_m_s", speed_m_s),
        real("stiffness_n_m", stiffness_n_m),
        real("gravity_m_s2", gravity_m_s2),
    )
    return force


@by_name
def combine_loads(
    actions: Mapping[str, ArrayLike], sets: Mapping[str, Mapping[str, float]]
) -> CombinedLoads:
    """Combine actions at points by sets of factors, Σ factor · action.

    No set is built in and none is applied by itself: give those of the code that binds you, e.g.
    EN 1990. A set names every action, with 0 where it leaves one out.

    Parameters
    ----------
    actions : mapping of str to array_like, shape (points,)
        Force of each action at each point, e.g. weight, start and stop, wind.
    sets : mapping of str to mapping of str to float
        Factor of each action in each set.

    Returns
    -------
    CombinedLoads

    Raises
    ------
    InputError
        No action or set, actions with different numbers of points, or a set that leaves an action
        out or names one that is not there.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.suspension.combine_loads(
    ...     {"weight": 4_000.0, "wind": 500.0},
    ...     {
    ...         "still": {"weight": 1.35, "wind": 0.0},
    ...         "storm": {"weight": 1.35, "wind": 1.5},
    ...     },
    ... )
    >>> found.sets, found.force_n.round().tolist()
    (['still', 'storm'], [[5400.0], [6150.0]])
    """
    for field, given in (("actions", actions), ("sets", sets)):
        if not isinstance(given, Mapping):
            raise InputError(field, given, "a mapping of names")
    forces = [
        (name, np.atleast_1d(real_array(f"actions[{name!r}]", force, 1)).tolist())
        for name, force in actions.items()
    ]
    factors = [
        (name, [(action, real(f"sets[{name!r}]", factor)) for action, factor in given.items()])
        for name, given in sets.items()
    ]
    return CombinedLoads(**_core.combine_loads(forces, factors))
