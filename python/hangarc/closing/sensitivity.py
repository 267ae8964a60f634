"""How the closing force answers to what is known only to within a spread."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from hangarc import _core
from hangarc._keywords import by_name
from hangarc._record import Result, besides, instance, real, whole
from hangarc.model import Hang
from hangarc.statics.balance import picks as given_picks

Array = NDArray[np.float64]


@dataclasses.dataclass(frozen=True, eq=False)
class ClosingSensitivities(Result):
    """Derivatives of the closed hang's forces.

    Attributes
    ----------
    inputs : tuple of str
        Path of each input: ``tilt_deg``, ``splays_deg[2]``, ``cabinets[3].cg_m[0]`` and so on.
    closing_force_n : ndarray, shape (k,)
        Change of the closing force per degree, kilogram or metre of each input.
    hoist_load_n : ndarray, shape (k, 2)
        Change of the hoists' loads, front first.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.closing.closing_sensitivities(ha.demo.hang(), 2.0)
    >>> found.inputs[0], found.closing_force_n.shape
    ('tilt_deg', (34,))
    """

    inputs: tuple[str, ...]
    closing_force_n: Array
    hoist_load_n: Array


@dataclasses.dataclass(frozen=True, eq=False)
class ClosingSpread(Result):
    """Cases of a hang known to within a spread.

    Attributes
    ----------
    closing_force_n : ndarray, shape (cases,)
        Closing force; NaN where none closes it.
    hoist_load_n : ndarray, shape (cases, 2)
        Loads of the closed hang's hoists, front first.

    Examples
    --------
    >>> import hangarc as ha
    >>> import numpy as np
    >>> found = ha.closing.closing_spread(ha.demo.hang(), 2.0, cases=200, mass_spread=0.02)
    >>> bool(np.isnan(found.closing_force_n).any()), round(float(found.closing_force_n.std()))
    (False, 11)
    """

    closing_force_n: Array
    hoist_load_n: Array


@by_name
def closing_sensitivities(
    hang: Hang, tilt_deg: float, *, pick_x_m: Sequence[float] | None = None
) -> ClosingSensitivities:
    """Derivatives of closing force and hoist loads by every mass, place, splay and the tilt.

    Closed, T = G/E of the governing joint, so dT = (dG − T dE)/E, exact along each input's rigid
    motion; hoist loads by moments about the picks. How the chain's mass, where stated, is shared
    between the ends of its straight parts is held.

    Parameters
    ----------
    hang : Hang
        A compression hang with bottom frame and both chain anchors.
    tilt_deg : float
        Elevation of the held frame's axis.
    pick_x_m : (float, float), optional
        Front and rear pick; left out, the frame's foremost and rearmost hole.

    Returns
    -------
    ClosingSensitivities

    Raises
    ------
    InputError
        No chain force holds the hang closed, or as `close`.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.closing.closing_sensitivities(ha.demo.hang(), 2.0)
    >>> steepest = abs(found.closing_force_n).argmax()
    >>> found.inputs[steepest]
    'frame.chain_anchor_m[0]'
    """
    fields = _core.closing_sensitivities(
        instance("hang", hang, Hang).handle, real("tilt_deg", tilt_deg), given_picks(pick_x_m)
    )
    return ClosingSensitivities(**besides(fields, "inputs"), inputs=tuple(fields["inputs"]))


@by_name
def closing_spread(
    hang: Hang,
    tilt_deg: float,
    *,
    cases: int = 10_000,
    seed: int = 0,
    mass_spread: float = 0.0,
    cg_spread_m: float = 0.0,
    anchor_spread_m: float = 0.0,
    splay_spread_deg: float = 0.0,
    tilt_spread_deg: float = 0.0,
    pick_x_m: Sequence[float] | None = None,
) -> ClosingSpread:
    """Closing force and hoist loads of a hang known to within a spread (Monte Carlo).

    Every case draws each mass m (1 + σ z), each coordinate of centres of gravity and anchors, each
    splay and the tilt shifted by σ z, z standard normal, and solves the closed pose. The same seed
    gives the same cases for any number of threads. Ctrl-C stops it.

    Parameters
    ----------
    hang, tilt_deg, pick_x_m
        As in `closing_sensitivities`.
    cases : int
        Number of cases, 1 to 2·10⁷.
    seed : int
        Seed of the draws.
    mass_spread : float
        Standard deviation of a mass over its mean.
    cg_spread_m, anchor_spread_m : float
        Standard deviation of each coordinate of a centre of gravity and of a chain anchor.
    splay_spread_deg, tilt_spread_deg : float
        Standard deviation of a splay and of the tilt.

    Returns
    -------
    ClosingSpread

    Raises
    ------
    InputError
        A spread out of range (mass 0 to 1, places 0 to 10 m, angles 0 to 90°), cases out of range,
        or as `close`.

    Examples
    --------
    >>> import hangarc as ha
    >>> import numpy as np
    >>> found = ha.closing.closing_spread(ha.demo.hang(), 2.0, cases=200, cg_spread_m=0.01, seed=1)
    >>> round(float(found.closing_force_n.mean())), round(float(found.closing_force_n.std()))
    (1391, 17)
    """
    fields = _core.closing_spread(
        instance("hang", hang, Hang).handle,
        real("tilt_deg", tilt_deg),
        given_picks(pick_x_m),
        [
            real("mass_spread", mass_spread),
            real("cg_spread_m", cg_spread_m),
            real("anchor_spread_m", anchor_spread_m),
            real("splay_spread_deg", splay_spread_deg),
            real("tilt_spread_deg", tilt_spread_deg),
        ],
        whole("cases", cases),
        whole("seed", seed),
    )
    return ClosingSpread(**fields)
