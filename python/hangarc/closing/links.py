"""Which link of the chain the shortening clutch takes."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from hangarc import _core
from hangarc._ending import Ended, Ending
from hangarc._keywords import by_name
from hangarc._record import Result, besides, instance, real
from hangarc.model import Hang

if TYPE_CHECKING:
    from hangarc._fields import ShorteningFields

ShorteningEnd = Literal[
    "fits",
    "stroke too short",
    "chain too short",
    "hang too short for the hoist",
    "the free hang comes to no rest",
]

SHORTENING_ENDINGS: Mapping[str, Ending] = {
    "fits": Ending(True, "At least one link fits."),
    "stroke too short": Ending(
        False,
        "The way from free to closed is longer than the stroke, or falls between two links.",
        "A hoist of longer stroke, or closing in stages: `closing_stages`.",
    ),
    "chain too short": Ending(
        False, "All links and the hoist drawn out do not reach the free hang.", "A longer chain."
    ),
    "hang too short for the hoist": Ending(
        False, "The closed hang is shorter than the hoist with one link.", "A shorter hoist."
    ),
    "the free hang comes to no rest": Ending(
        False, "The free hang was not found at rest.", "A slightly different tilt."
    ),
}


@dataclasses.dataclass(frozen=True, eq=False)
class LinkChoice(Result):
    """The lever hoist with the shortening clutch in one link.

    Attributes
    ----------
    link : int
        Links in the load path.
    hoist_open_m, hoist_closed_m : float
        Hoist length on the free and on the closed hang.
    spare_open_m, spare_closed_m : float
        Stroke left at either end; below 0 it does not reach.
    slack_links : int
        Links that hang slack.

    Examples
    --------
    >>> import hangarc as ha
    >>> choice = ha.shortening(ha.demo.hang(), 2.0).neighbours[0]
    >>> choice.link, round(choice.hoist_open_m, 3), round(choice.spare_closed_m, 3)
    (40, 1.289, 0.579)
    """

    link: int
    hoist_open_m: float
    hoist_closed_m: float
    spare_open_m: float
    spare_closed_m: float
    slack_links: int


@dataclasses.dataclass(frozen=True, eq=False)
class Shortening(Ended):
    """Where to shorten the chain.

    Attributes
    ----------
    ended : str
        ``fits``, or why no link does: ``stroke too short``, ``chain too short``,
        ``hang too short for the hoist``, ``the free hang comes to no rest``.
    link : int or None
        The best link: it leaves most stroke at the shorter of both ends.
    links_feasible : ndarray of int
        Every link that fits.
    hoist_open_m, hoist_closed_m, spare_open_m, spare_closed_m, slack_links
        As in `LinkChoice`, for the best link.
    chain_free_m, chain_closed_m : float
        Chain length in the free and in the closed hang.
    neighbours : tuple of LinkChoice
        One link fewer and one more, where the chain has them, feasible or not.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.shortening(ha.demo.hang(), 2.0)
    >>> found.link, len(found.links_feasible)
    (41, 42)
    >>> round(found.hoist_open_m, 3), round(found.hoist_closed_m, 3)
    (1.262, 0.892)
    """

    _endings = SHORTENING_ENDINGS

    ended: ShorteningEnd
    link: int | None
    links_feasible: NDArray[np.uint32]
    hoist_open_m: float | None
    hoist_closed_m: float | None
    spare_open_m: float | None
    spare_closed_m: float | None
    slack_links: int | None
    chain_free_m: float
    chain_closed_m: float
    neighbours: tuple[LinkChoice, ...]


@by_name
def shortening(hang: Hang, tilt_deg: float) -> Shortening:
    """Which link of the closing chain the shortening clutch takes, frame held at a tilt.

    k whole links of pitch p in line with the lever hoist make up the chain length L, so the hoist
    is L − k p long. Feasible: L_closed − k p ≥ hoist_min and L_free − k p ≤ hoist_max.

    Parameters
    ----------
    hang : Hang
        A compression hang with closing gear, bottom frame and both chain anchors.
    tilt_deg : float
        Elevation of the fly frame's axis, −90 to 90°.

    Returns
    -------
    Shortening

    Raises
    ------
    InputError
        No closing gear, or as `close`.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.shortening(ha.demo.hang(), 2.0)
    >>> found.link, found.slack_links, found.ok
    (41, 99, True)
    """
    fields = _core.shortening(instance("hang", hang, Hang).handle, real("tilt_deg", tilt_deg))
    return shortening_of(fields)


def shortening_of(fields: ShorteningFields) -> Shortening:
    """The result with the core's fields."""
    neighbours = tuple(LinkChoice(**choice) for choice in fields["neighbours"])
    return Shortening(**besides(fields, "neighbours"), neighbours=neighbours)
