"""What levels come to: weighted sums, what is left to a wanted level, how much is covered."""

from __future__ import annotations

import dataclasses
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import Result, instance, real, real_array
from hangarc.acoustics.bands import weighting_db
from hangarc.acoustics.places import PointLevels
from hangarc.acoustics.seats import SeatLevels


def _levels(levels: Any) -> PointLevels | SeatLevels:
    if isinstance(levels, SeatLevels | PointLevels):
        return levels
    raise InputError("levels", levels, "a PointLevels or SeatLevels")


@by_name
def weighted_level_db(
    levels: PointLevels | SeatLevels, weighting: Literal["A", "C", "Z"] = "A"
) -> NDArray[np.float64]:
    """Broadband levels weighted as a sound level meter does.

    L = 10 lg of the mean over the bands of 10^{(L_band + W)/10}, for a signal of equal energy in
    each band; W at the mid-band frequency.

    Parameters
    ----------
    levels : PointLevels or SeatLevels
        Band levels.
    weighting : {"A", "C", "Z"}
        As in `weighting_db`.

    Returns
    -------
    ndarray, shape (n,)

    Examples
    --------
    >>> import hangarc as ha
    >>> heard = ha.seat_levels(
    ...     ha.demo.hang(), 2.0, 11.0, ha.demo.study().venue, lowest_hz=50.0, highest_hz=16_000.0
    ... )
    >>> z, a = (ha.acoustics.weighted_level_db(heard, weighting) for weighting in ("Z", "A"))
    >>> round(float((a - z).mean()), 1)
    -8.5
    """
    levels = _levels(levels)
    weight = weighting_db(levels.band_hz, weighting)[:, None]
    mean: NDArray[np.float64] = np.mean(10.0 ** ((levels.band_level_db + weight) / 10.0), axis=0)
    return 10.0 * np.log10(mean)


@by_name
def headroom_db(levels: PointLevels | SeatLevels, wanted_db: ArrayLike) -> NDArray[np.float64]:
    """How far the greatest reachable level lies above a wanted one, negative where it falls short.

    Parameters
    ----------
    levels : PointLevels or SeatLevels
        With `greatest_level_db`.
    wanted_db : float or array_like, shape (n,)
        Wanted level in dB re 20 µPa.

    Raises
    ------
    InputError
        The greatest level is not stated: a cabinet has no `max_level_db`; or as many wanted levels
        as there are no places.

    Examples
    --------
    >>> import hangarc as ha
    >>> heard = ha.seat_levels(ha.demo.hang(), 2.0, 11.0, ha.demo.study().venue)
    >>> round(float(ha.acoustics.headroom_db(heard, 100.0).min()), 1)
    -0.1
    """
    greatest_db = _levels(levels).greatest_level_db
    if greatest_db is None:
        raise InputError("greatest_level_db", "not stated", "a max_level_db for every cabinet")
    wanted = real_array("wanted_db", wanted_db, 1)
    if wanted.size not in (1, greatest_db.size):
        raise InputError("wanted_db", wanted_db, f"one number or {greatest_db.size}")
    return greatest_db - wanted


@dataclasses.dataclass(frozen=True, eq=False)
class Coverage(Result):
    """How a venue is covered, beside the spread of its levels.

    Attributes
    ----------
    fall_per_doubling_db : float or None
        Slope of a weighted straight line through level over log₂ distance; None where all
        distances are the same.
    spectral_spread_db : float
        How seats differ in colour, √(Σ_r w mean_b s_rb² / Σ w): s_rb is the band level less the
        seat's mean over bands, less the mean of that over the seats. The search's goal weighs it.
    share_of_holes : float
        Share of the weight that lies more than the hole depth below the weighted mean.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang, venue = ha.demo.hang(), ha.demo.study().venue
    >>> found = ha.acoustics.coverage(ha.seat_levels(hang, 2.0, 11.0, venue))
    >>> round(found.fall_per_doubling_db, 1), round(found.share_of_holes, 2)
    (6.0, 0.11)
    """

    fall_per_doubling_db: float | None
    spectral_spread_db: float
    share_of_holes: float


@by_name
def coverage(
    levels: SeatLevels, *, origin_m: ArrayLike = (0.0, 0.0, 0.0), hole_depth_db: float = 6.0
) -> Coverage:
    """Sum up how levels fall with distance, how spectra differ, and where there are holes.

    Parameters
    ----------
    levels : SeatLevels
        Levels at seats.
    origin_m : array_like, shape (3,)
        Where distances are taken from, such as the middle of the hang.
    hole_depth_db : float
        A place this far below the mean is a hole.

    Examples
    --------
    >>> import hangarc as ha
    >>> heard = ha.seat_levels(ha.demo.hang(), 2.0, 11.0, ha.demo.study().venue)
    >>> round(ha.acoustics.coverage(heard, origin_m=(0.0, 0.0, 11.0)).fall_per_doubling_db, 1)
    7.8
    """
    instance("levels", levels, SeatLevels)
    origin = real_array("origin_m", origin_m, 1)
    if origin.shape != (3,):
        raise InputError("origin_m", origin_m, "three numbers, (x, y, z)")
    fields = _core.coverage(
        levels.band_level_db.tolist(),
        levels.level_db.tolist(),
        np.linalg.norm(levels.position_m - origin, axis=1).tolist(),
        levels.weight.tolist(),
        real("hole_depth_db", hole_depth_db),
    )
    return Coverage(**fields)
