"""Wind from any side at once, and gusts that set a hang swinging."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from hangarc import _core
from hangarc._keywords import by_name
from hangarc._record import instance, real
from hangarc.model import Hang
from hangarc.wind.swing import Wind, case_of


@by_name
def oblique_forces(
    hang: Hang,
    tilt_deg: float,
    pick_x_m: float | Sequence[float],
    wind: Wind,
    *,
    top_m: float,
    from_deg: float,
    coefficient: float | None = None,
    structural_factor: float = 1.0,
) -> NDArray[np.float64]:
    """Force on each cabinet of a wind from any side.

    The components of the wind press as winds of their own: ``F_x = −F_front cos β |cos β|``,
    ``F_y = F_side sin β |sin β|``, with F of `wind_loads` square on. That is the cross-flow
    principle of slender members, e.g. DNV-RP-C205 (from memory); EN 1991-1-4 has no
    figure for a rectangular section turned in the wind, and a corner-on wind can press harder.

    Parameters
    ----------
    hang, tilt_deg, pick_x_m, wind, top_m, coefficient, structural_factor
        As in `wind_loads`.
    from_deg : float
        Where the wind comes from: 0 the front, 90 the right side, 180 the rear.

    Returns
    -------
    ndarray, shape (n, 2)
        Force along x and y, for `statics.forces_per_side`.

    Raises
    ------
    InputError
        As `wind_loads`, or an angle beyond ±360°.

    Examples
    --------
    >>> import hangarc as ha
    >>> force_n = ha.wind.oblique_forces(
    ...     ha.demo.hang(), 2.0, [0.15, -1.05], ha.Wind(speed_m_s=10.0), top_m=11.0, from_deg=45.0
    ... )
    >>> force_n.sum(axis=0).round().tolist()  # forward and sideways
    [-202.0, 57.0]
    """
    case = case_of(
        tilt_deg, pick_x_m, wind, top_m, "front", coefficient, structural_factor, (), True
    )
    handle = instance("hang", hang, Hang).handle
    return _core.oblique_forces(handle, case, real("from_deg", from_deg))


@by_name
def gust_factor(gust_s: float, period_s: float) -> float:
    """How far a gust swings a hang, over its rest in a steady wind of the same pressure.

    2 sin(π t/T) for a gust of t below half the period T of the undamped pendulum, and 2 beyond:
    rectangular pulse on one degree of freedom, Clough & Penzien, Dynamics of Structures, 2nd ed.,
    5-3 (from memory). Give it as `structural_factor`.

    Parameters
    ----------
    gust_s : float
        How long the gust lasts; it starts and ends at once.
    period_s : float
        Period of the swing.

    Returns
    -------
    float

    Raises
    ------
    InputError
        A duration below 0 or a period not above.

    Examples
    --------
    >>> import hangarc as ha
    >>> round(ha.wind.gust_factor(3.0, 2.0), 2)
    2.0
    """
    factor: float = _core.gust_factor(real("gust_s", gust_s), real("period_s", period_s))
    return factor
