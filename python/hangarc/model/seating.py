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

    Examples
    --------
    >>> import hangarc as ha
    >>> venue = ha.demo.study().venue
    >>> dict(zip([area.name for area in venue.areas], ha.model.seat_counts(venue), strict=True))
    {'Stalls': 867, 'Rear stalls': 794, 'Balcony': 736}
    """
    return _core.seat_counts(instance("venue", venue, Venue).handle)


@by_name
def seat_count(venue: Venue) -> int:
    """Count all seats of `venue`; see `seat_counts`.

    Examples
    --------
    >>> import hangarc as ha
    >>> ha.model.seat_count(ha.demo.study().venue)
    2397
    """
    return sum(seat_counts(venue))
