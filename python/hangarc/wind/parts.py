"""Every part of a rigged hang in the wind: hoists, joints, stops and the closing chain."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from hangarc import _core
from hangarc._ending import Ended, Ending
from hangarc._keywords import by_name
from hangarc._record import besides, instance, real
from hangarc.model import Hang
from hangarc.statics.limits import LimitRow, limit_rows
from hangarc.wind.swing import Wind, WindShadow, case_of

Array = NDArray[np.float64]

PartsEnd = Literal["at rest", "not closed", "no rest found"]

PARTS_ENDINGS: Mapping[str, Ending] = {
    "at rest": Ending(True, "Every joint is in balance or presses on its bound."),
    "not closed": Ending(
        False, "No chain force closes the hang in still air.", "See `closing.remedies`."
    ),
    "no rest found": Ending(
        False,
        "The hang was not found at rest; figures of no rest are not given, they are NaN.",
        "Another stiffness, tilt or wind speed.",
        figures=False,
    ),
}


@dataclasses.dataclass(frozen=True, eq=False)
class PartsInWind(Ended):
    """A rigged hang at rest in the wind, its joints top to bottom, fixed ones included.

    Attributes
    ----------
    ended : {"at rest", "not closed", "no rest found"}
        ``not closed``: no chain force closes it in still air.
    residual : float
        The greatest moment that is not balanced, over all loads at the hang's length.
    total_force_n : float
        Wind on everything.
    tilt_deg : float
        Tilt of the frame in the wind.
    hoist_load_n : ndarray, shape (k,)
        Pull of each hoist along its line; 0 where slack.
    still_chain_force_n, chain_force_n : float
        Force of the closing chain in still air and in the wind; 0 in a tension hang.
    chain_m : float
        Its length in the wind; 0 in a tension hang.
    opening_deg : ndarray, shape (j,)
        By how much each joint has come off its stop.
    lifted : ndarray of bool, shape (j,)
        Stops that have lifted off.
    contact_moment_nm : ndarray, shape (j,)
        Moment by which each joint presses on its stop; negative pulls on a two-sided link.
    stop_force_n : ndarray, shape (j,)
        Force of each stop or rear link, compression positive.
    hinge_force_n : ndarray, shape (j, 2)
        Force (x, z) of each hinge on the body below.
    limits : tuple of LimitRow
        Every part against its stated limit.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.wind.parts_in_wind(
    ...     ha.demo.hang(), 2.0, [0.15, -1.05], ha.Wind(speed_m_s=10.0), top_m=11.0, preload_n=500.0
    ... )
    >>> found.ended, round(found.chain_force_n)
    ('at rest', 1891)
    """

    _endings = PARTS_ENDINGS

    ended: PartsEnd
    residual: float
    total_force_n: float
    tilt_deg: float
    hoist_load_n: Array
    still_chain_force_n: float
    chain_force_n: float
    chain_m: float
    opening_deg: Array
    lifted: NDArray[np.bool_]
    contact_moment_nm: Array
    stop_force_n: Array
    hinge_force_n: Array
    limits: tuple[LimitRow, ...]


@by_name
def parts_in_wind(
    hang: Hang,
    tilt_deg: float,
    pick_x_m: float | Sequence[float],
    wind: Wind,
    *,
    top_m: float,
    wind_from: Literal["front", "rear"] = "front",
    preload_n: float = 0.0,
    chain_stiffness_n_m: float | None = None,
    coefficient: float | None = None,
    structural_factor: float = 1.0,
    shadows: Iterable[WindShadow] = (),
    hoist_limit_n: float | None = None,
    roof_point_limit_n: float | None = None,
    hoist_mass_kg: float = 0.0,
) -> PartsInWind:
    """Forces of every part of a tension hang, or of a closed compression hang, in a steady wind.

    The wind of `wind_loads` on a hang whose joints are pinned or closed by the chain. In still air
    the chain carries T₀, closing force and preload, at the closed length L₀. With a stiffness k it
    carries T₀ + k (L − L₀) in the wind, at the least of U(θ) + ½ k (L − L₀ + T₀/k)², L > L₀ − T₀/k,
    with every joint within its bounds: a stop that would have to pull lifts off. A chain locked at
    its length keeps T₀ while that holds every stop and else carries the closing force in the wind.
    The wind is steady: gusts that rock the hang are not covered but by `structural_factor`.

    Parameters
    ----------
    hang, tilt_deg, pick_x_m, wind, top_m, coefficient, structural_factor, shadows
        As in `wind_loads`.
    wind_from : {"front", "rear"}
        Onto the front faces or the rear faces.
    preload_n : float
        Chain force in still air beyond the closing force.
    chain_stiffness_n_m : float, optional
        Force of the chain with its hoist over their stretch; left out, the chain is locked.
    hoist_limit_n, roof_point_limit_n : float, optional
        Stated limit of each hoist and of each roof point.
    hoist_mass_kg : float
        Mass of each hoist with its chain, on the roof point.

    Returns
    -------
    PartsInWind

    Raises
    ------
    InputError
        Wind from the side, no bottom frame or chain anchor in a compression hang, an argument out
        of bounds, or as `wind_loads`.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.wind.parts_in_wind(
    ...     ha.demo.hang(),
    ...     2.0,
    ...     [0.15, -1.05],
    ...     ha.Wind(speed_m_s=10.0),
    ...     top_m=11.0,
    ...     wind_from="rear",
    ...     preload_n=500.0,
    ... )
    >>> found.ended, any(found.lifted)
    ('at rest', False)
    """
    case = case_of(
        tilt_deg, pick_x_m, wind, top_m, wind_from, coefficient, structural_factor, shadows, True
    )
    lifting = (
        None if hoist_limit_n is None else real("hoist_limit_n", hoist_limit_n),
        None if roof_point_limit_n is None else real("roof_point_limit_n", roof_point_limit_n),
        real("hoist_mass_kg", hoist_mass_kg),
        1.0,
    )
    fields = _core.parts_in_wind(
        instance("hang", hang, Hang).handle,
        case,
        real("preload_n", preload_n),
        None if chain_stiffness_n_m is None else real("chain_stiffness_n_m", chain_stiffness_n_m),
        lifting,
    )
    return PartsInWind(**besides(fields, "limits"), limits=limit_rows(fields["limits"]))
