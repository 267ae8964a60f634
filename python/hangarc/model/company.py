"""Where a hang hangs on the floor plan, what is fed to it, and what hangs beside it."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import ClassVar

from hangarc._record import Record
from hangarc.model.hardware import Hang


@dataclasses.dataclass(frozen=True, kw_only=True)
class Site(Record):
    """A place on the floor plan, and the signal there.

    Parameters
    ----------
    position_m : (float, float)
        Where the hang's plane stands, (x, y).
    pan_deg : float
        Turn of the hang's plane about z, positive to the left.
    feed : str
        Name of the signal. Pressures of hangs of one feed add; of hangs of unlike feeds, whose
        signals are not correlated, the energies do. Being of one feed is transitive: two hangs that
        are each alike a third are alike each other. A centre that plays the sum of left and right
        is half like each, which no name says; as a feed of its own its energy adds to both.
    delay_s, gain_db : float
        Delay and gain of the whole hang.

    Examples
    --------
    >>> import hangarc as ha
    >>> left = ha.model.Site(position_m=(0.0, 8.0), pan_deg=-4.0, feed="left")
    >>> left.mirrored("right").position_m
    (0.0, -8.0)
    """

    _kind: ClassVar[str] = "site"

    position_m: Sequence[float] = (0.0, 0.0)
    pan_deg: float = 0.0
    feed: str = "programme"
    delay_s: float = 0.0
    gain_db: float = 0.0

    def mirrored(self, feed: str | None = None) -> Site:
        """Give the site that mirrors this one in the plane y = 0.

        Parameters
        ----------
        feed : str, optional
            Its feed; left out, the same.

        Examples
        --------
        >>> import hangarc as ha
        >>> ha.model.Site(position_m=(0.0, 8.0), pan_deg=-4.0).mirrored("right").pan_deg
        4.0
        """
        x_m, y_m = self.position_m
        return dataclasses.replace(
            self, position_m=(x_m, -y_m), pan_deg=-self.pan_deg, feed=feed or self.feed
        )


@dataclasses.dataclass(frozen=True, kw_only=True)
class Neighbour(Record):
    """A hang as it hangs: pins, tilt, height, site.

    Parameters
    ----------
    name : str
        Name printed on sheets.
    hang : Hang
        The hang with its pins.
    tilt_deg, top_m : float
        As in `hangarc.pressure`.
    site : Site
        Where it hangs, and its signal.

    Examples
    --------
    >>> import hangarc as ha
    >>> beside = ha.model.Neighbour(
    ...     name="outfill",
    ...     hang=ha.demo.hang((2.0, 2.7)),
    ...     tilt_deg=-3.0,
    ...     top_m=8.0,
    ...     site=ha.model.Site(position_m=(0.0, 9.0), pan_deg=30.0, feed="right"),
    ... )
    >>> beside.site.pan_deg
    30.0
    """

    _kind: ClassVar[str] = "neighbour"
    _parts: ClassVar[Mapping[str, type[Record]]] = {"hang": Hang, "site": Site}

    name: str
    hang: Hang
    tilt_deg: float
    top_m: float
    site: Site = dataclasses.field(default_factory=Site)
