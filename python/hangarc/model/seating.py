"""How many people sit where."""

from __future__ import annotations

from hangarc import _core
from hangarc._keywords import by_name
from hangarc._record import instance
from hangarc.model.room import Venue


@by_name
def seat_counts(venue: Venue) -> list[int]:
    """Count the seats of each area: row width over seat pitch, rounded down row by row.

    Parameters
    ----------
    venue : Venue
        The seats.

    Returns
    -------
    list of int
        One count for each area of `venue`, in its order.

    Raises
    ------
    InputError
        `venue` is not a `Venue`.
    """
    return _core.seat_counts(instance("venue", venue, Venue).handle)


@by_name
def seat_count(venue: Venue) -> int:
    """Count all seats of `venue`; see `seat_counts`."""
    return sum(seat_counts(venue))
