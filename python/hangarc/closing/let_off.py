"""A closed hang let off from the lever hoist onto whole links."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from hangarc import _core
from hangarc._ending import Ended, Ending
from hangarc._keywords import by_name
from hangarc._record import instance, real
from hangarc.model import Hang

Array = NDArray[np.float64]

BypassEnd = Literal["carries", "stays slack", "chain too short", "not closed", "no rest found"]

BYPASS_ENDINGS: Mapping[str, Ending] = {
    "carries": Ending(True, "The bypass chain carries the hang."),
    "stays slack": Ending(
        False, "The hang opens all the way and the chain stays slack.", "Less take-up."
    ),
    "chain too short": Ending(
        False, "All links are shorter than the closed hang.", "A longer bypass chain."
    ),
    "not closed": Ending(
        False, "The hang does not close, so there is nothing to let off.", "See `close`."
    ),
    "no rest found": Ending(
        False, "The hang let off was not found at rest.", "Another stiffness or take-up."
    ),
}


@dataclasses.dataclass(frozen=True, eq=False)
class Bypass(Ended):
    """The closed hang let off from the lever hoist onto a bypass chain.

    Attributes
    ----------
    ended : str
        ``carries``; ``stays slack``: the hang opens all the way; ``chain too short``: all links are
        shorter than the closed hang; ``not closed``; ``no rest found``.
    link : int
        Links in the load path: the first that reach.
    slack_m : float
        Length the chain has over while the hang is closed.
    force_n, chain_m : float
        Chain force and length once let off.
    angle_deg, opening_deg : ndarray, shape (j,)
        Joint angles once let off, and how far each has come off its stop.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.demo.hang()
    >>> let_off = ha.closing.bypass(hang, 2.0)
    >>> let_off.ended, round(let_off.force_n)
    ('carries', 1280)
    """

    _endings = BYPASS_ENDINGS

    ended: BypassEnd
    link: int
    slack_m: float
    force_n: float
    chain_m: float
    angle_deg: Array
    opening_deg: Array


@by_name
def bypass(
    hang: Hang, tilt_deg: float, *, take_up_m: float = 0.0, stiffness_n_m: float | None = None
) -> Bypass:
    """Let the closed hang off from the lever hoist onto a chain of whole links.

    The chain takes the first link k with k p ≥ L_closed; let off, the hang opens until
    L(θ) = k p + take-up + T/stiffness, T and L those of the closing path.

    Parameters
    ----------
    hang : Hang
        A compression hang with closing gear; its pitch and links are the bypass chain's.
    tilt_deg : float
        Elevation of the held frame's axis.
    take_up_m : float
        Play of hooks and links before the chain is taut.
    stiffness_n_m : float, optional
        Force per length of stretch; left out, the chain does not stretch.

    Returns
    -------
    Bypass

    Raises
    ------
    InputError
        No closing gear, a take-up below 0, a stiffness not above 0, or as `close`.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.demo.hang()
    >>> let_off = ha.closing.bypass(hang, 2.0)
    >>> let_off.link, round(let_off.force_n), round(let_off.slack_m, 3)
    (75, 1280, 0.026)
    """
    fields = _core.bypass(
        instance("hang", hang, Hang).handle,
        real("tilt_deg", tilt_deg),
        real("take_up_m", take_up_m),
        None if stiffness_n_m is None else real("stiffness_n_m", stiffness_n_m),
    )
    return Bypass(**fields)
