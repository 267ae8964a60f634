"""Why a cabinet's axis meets no seat.

Seen from the middle of its front face at f, a block of seats covers the elevations
atan2(z − f_z, x − f_x) of its ear line; over a straight piece they run from corner to corner. An
axis that meets no ear line lies between those of two blocks, above all or below all.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from hangarc._keywords import by_name
from hangarc._pose import Throw, pose, throws
from hangarc._record import Result
from hangarc._tables import Rows
from hangarc.model import Hang, SeatArea, Venue


@dataclasses.dataclass(frozen=True, eq=False)
class EdgeOfSeats(Result):
    """The edge of a block that an axis passes by.

    Attributes
    ----------
    area : int
        Index of the block.
    row : {"first", "last"}
        Whether the edge is the end nearer to the hang or the farther one.
    off_deg : float
        Angle between the axis and the line from the cabinet's front to the ears there.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang, venue = ha.demo.hang(), ha.demo.study().venue
    >>> first = ha.acoustics.axes_off_seats(hang, 12.0, 11.0, venue)[0]
    >>> round(first.over.off_deg, 1), first.over.row, first.under
    (9.9, 'last', None)
    """

    area: int
    row: Literal["first", "last"]
    off_deg: float


@dataclasses.dataclass(frozen=True, eq=False)
class OffSeatsAxis(Result):
    """An axis that meets no seat, with the seats it passes by.

    Attributes
    ----------
    over : EdgeOfSeats or None
        The seats next below the axis; None where it runs below all seats.
    under : EdgeOfSeats or None
        The seats next above the axis; None where it runs above all seats.
    surface : str or None
        What the axis ends on, where something stops it.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang, venue = ha.demo.hang(), ha.demo.study().venue
    >>> first = ha.acoustics.axes_off_seats(hang, 12.0, 11.0, venue)[0]
    >>> first.reason(venue)
    'over the last row of Balcony'
    """

    over: EdgeOfSeats | None
    under: EdgeOfSeats | None
    surface: str | None

    def reason(self, venue: Venue) -> str:
        """Say it in words: "over the last row of Balcony", "short of the first row of Stalls".

        Examples
        --------
        >>> import hangarc as ha
        >>> hang, venue = ha.demo.hang(), ha.demo.study().venue
        >>> ha.acoustics.axes_off_seats(hang, 12.0, 11.0, venue)[0].reason(venue)
        'over the last row of Balcony'
        """

        def row(edge: EdgeOfSeats) -> str:
            return f"the {edge.row} row of {venue.areas[edge.area].name}"

        if self.over and self.under:
            passes = f"between {row(self.over)} and {row(self.under)}"
        elif self.over:
            passes = f"over {row(self.over)}"
        elif self.under:
            passes = f"{'short of' if self.under.row == 'first' else 'below'} {row(self.under)}"
        else:
            passes = "towards seats"
        return passes if self.surface is None else f"{passes}, ends on {self.surface}"


@by_name
def axes_off_seats(
    hang: Hang,
    tilt_deg: float,
    top_m: float,
    venue: Venue,
    *,
    position_m: Sequence[float] = (0.0, 0.0),
    pan_deg: float = 0.0,
) -> Rows[OffSeatsAxis | None]:
    """Say of each cabinet whose axis meets no seat where that axis goes.

    Parameters
    ----------
    hang, tilt_deg, top_m, venue, position_m, pan_deg
        As in `throws`, which says where the other axes meet the seats.

    Returns
    -------
    list of OffSeatsAxis or None
        One entry per cabinet, top to bottom; None where the axis meets seats.

    Raises
    ------
    InputError
        As `throws`.

    Examples
    --------
    >>> import hangarc as ha
    >>> venue = ha.demo.study().venue
    >>> found = ha.acoustics.axes_off_seats(ha.demo.hang(), 12.0, 11.0, venue)
    >>> [axis is None for axis in found]  # None meets seats
    [False, False, False, False, True, False]
    >>> found[0].reason(venue)
    'over the last row of Balcony'
    """
    placed = pose(hang, tilt_deg, top_m)
    met = throws(hang, tilt_deg, top_m, venue, position_m=position_m, pan_deg=pan_deg)
    fronts_m = placed.front_m * [math.cos(math.radians(pan_deg)), 1.0] + [position_m[0], 0.0]
    return Rows(
        None if meets_seats(throw) else _passes(front_m, axis_deg, throw, venue)
        for front_m, axis_deg, throw in zip(fronts_m, placed.axis_deg, met, strict=True)
    )


def meets_seats(throw: Throw | None) -> bool:
    """Whether an axis ends on seats, and not on nothing or on what stops it before them."""
    return throw is not None and throw.area is not None


def _passes(
    front_m: NDArray[np.float64], axis_deg: float, throw: Throw | None, venue: Venue
) -> OffSeatsAxis:
    below: list[EdgeOfSeats] = []
    above: list[EdgeOfSeats] = []
    for index, area in enumerate(venue.areas):
        distance_m, elevation_deg = _seen(front_m, area)
        low, high = int(elevation_deg.argmin()), int(elevation_deg.argmax())
        far_m = distance_m.mean()
        if elevation_deg[high] < axis_deg:
            row: Literal["first", "last"] = "last" if distance_m[high] > far_m else "first"
            below.append(EdgeOfSeats(index, row, float(axis_deg - elevation_deg[high])))
        elif elevation_deg[low] > axis_deg:
            row = "last" if distance_m[low] > far_m else "first"
            above.append(EdgeOfSeats(index, row, float(elevation_deg[low] - axis_deg)))
    return OffSeatsAxis(
        over=min(below, key=lambda edge: edge.off_deg, default=None),
        under=min(above, key=lambda edge: edge.off_deg, default=None),
        surface=None if throw is None else getattr(throw, "surface", None),
    )


def _seen(
    front_m: NDArray[np.float64], area: SeatArea
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """How far from the hang each corner of the ear line is, and its elevation without a jump."""
    away_m = np.asarray(area.profile_m) + np.array([0.0, area.ear_height_m]) - front_m
    elevation_rad = np.unwrap(np.arctan2(away_m[:, 1], away_m[:, 0]))
    return np.abs(away_m[:, 0]), np.degrees(elevation_rad)
