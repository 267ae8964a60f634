"""Building a hang from stacks of cabinets, stage by stage."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from hangarc import _core
from hangarc._ending import REST_ENDINGS, Ended, RestEnd
from hangarc._keywords import by_name
from hangarc._record import Result, besides, instance, real, whole
from hangarc.model import Hang
from hangarc.statics.balance import picks as given_picks

Array = NDArray[np.float64]


@dataclasses.dataclass(frozen=True, eq=False)
class BuildStage(Ended):
    """One stage of building a hang.

    Attributes
    ----------
    cabinets : int
        Cabinets hung.
    ended : {"at rest", "no step lowers the energy", "budget spent"}
        How the search for its rest ended.
    closed : bool
        Whether the joints are at their pins, or open.
    mass_kg : float
        Everything hung.
    tilt_deg : float
        Elevation of the fly frame's axis.
    hoist_load_n : ndarray
        Load of each hoist, front first; below 0 it would have to push, so the tilt is not held.
    angle_deg : ndarray
        Angles between the cabinets hung.
    lowest_m : float
        Height of the lowest point against the first pick; below it is negative.
    lift_m : float or None
        Height at which the lowest point has to stand before the next stack goes under.

    Examples
    --------
    >>> import hangarc as ha
    >>> built = ha.statics.build_up(ha.demo.hang(), [0.15, -1.05], stack=3, tilt_deg=2.0)
    >>> for stage in built.stages:
    ...     print(stage.cabinets, round(stage.mass_kg, 1), stage.hoist_load_n.round().tolist())
    ...
    3 285.5 [1781.0, 1019.0]
    6 503.0 [3493.0, 1440.0]
    6 503.0 [2974.0, 1958.0]
    """

    _endings = REST_ENDINGS

    cabinets: int
    ended: RestEnd
    closed: bool
    mass_kg: float
    tilt_deg: float
    hoist_load_n: Array
    angle_deg: Array
    lowest_m: float
    lift_m: float | None


@dataclasses.dataclass(frozen=True, eq=False)
class BuildUp(Result):
    """All stages of building a hang; taking down goes the same way back.

    Attributes
    ----------
    stages : tuple of BuildStage
        In order; a compression hang closes in the last.
    worst_load_n : float
        Greatest load of one hoist in any stage.
    worst_stage : int
        The stage that has it.

    Examples
    --------
    >>> import hangarc as ha
    >>> built = ha.statics.build_up(ha.demo.hang(), [0.15, -1.05], stack=3, tilt_deg=2.0)
    >>> len(built.stages), round(built.worst_load_n)
    (3, 3493)
    """

    stages: tuple[BuildStage, ...]
    worst_load_n: float
    worst_stage: int

    def _picture(self) -> str:
        from hangarc import _pictures

        return _pictures.build_up(self)


@by_name
def build_up(
    hang: Hang,
    pick_x_m: float | Sequence[float],
    *,
    stack: int = 4,
    cart_m: float = 0.0,
    tilt_deg: float | None = None,
) -> BuildUp:
    """Stages of building a hang from stacks of cabinets.

    Each stage is a hang of its own: the fly frame with the cabinets hung so far, joints pinned
    (tension) or open to where gravity takes them (compression, no chain), on one pick where it
    turns plumb, or on two at a held tilt. The last stage has the bottom frame; a compression hang
    has one more, closed. Stacks of four a cart are common practice, no source.

    Parameters
    ----------
    hang : Hang
        The whole hang.
    pick_x_m : float or (float, float)
        The pick, or front and rear pick.
    stack : int
        Cabinets a stack; the last has what is left.
    cart_m : float
        Height of the cart's deck.
    tilt_deg : float, optional
        Tilt at which two hoists hold the frame; left out with one pick.

    Returns
    -------
    BuildUp

    Raises
    ------
    InputError
        No cabinets per stack, a cart below the floor, picks that are not one or two, or a tilt
        that is missing with two picks or given with one.

    Examples
    --------
    >>> import hangarc as ha
    >>> built = ha.statics.build_up(ha.demo.hang(), [0.15, -1.05], stack=3, tilt_deg=2.0)
    >>> [stage.cabinets for stage in built.stages]
    [3, 6, 6]
    """
    picks = given_picks(pick_x_m)
    fields = _core.build_up(
        instance("hang", hang, Hang).handle,
        whole("stack", stack),
        real("cart_m", cart_m),
        [] if picks is None else picks,
        None if tilt_deg is None else real("tilt_deg", tilt_deg),
    )
    stages = tuple(BuildStage(**stage) for stage in fields["stages"])
    return BuildUp(**besides(fields, "stages"), stages=stages)
