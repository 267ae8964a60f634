"""Levels at the seats of a venue, place by place and area by area."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._keywords import by_name
from hangarc._many import over_tilts
from hangarc._record import Result, instance, whole
from hangarc._tables import Rows, band_columns, dataset_of, place_columns
from hangarc.acoustics.air import air_or_room
from hangarc.acoustics.bands import band_numbers
from hangarc.acoustics.rig import Placed, Rig, rig_handle
from hangarc.model import Air, Hang, Venue


@dataclasses.dataclass(frozen=True, eq=False)
class SeatLevels(Result):
    """Direct-sound levels at the seats of a venue.

    Attributes
    ----------
    position_m : ndarray, shape (n, 3)
        Ears.
    weight : ndarray, shape (n,)
        Floor area each place stands for, times its block's weight; 0 where the venue leaves hidden
        seats out and this is one.
    area : ndarray of int, shape (n,)
        Index of the place's block.
    band_hz : ndarray, shape (b,)
        Mid-band frequencies, IEC 61260-1:2014, base ten.
    band_level_db : ndarray, shape (b, n)
        Energy mean over the lines of each third octave; 0 dB is one element on its axis at 1 m.
    level_db : ndarray, shape (n,)
        Energy mean over the bands.
    evenness_db : float
        Weighted standard deviation of `level_db`.
    greatest_level_db : ndarray, shape (n,), or None
        `level_db` with everything driven until the first cabinet reaches its `max_level_db`, in dB
        re 20 µPa, for a signal of equal energy in these bands; None is *not stated*.
    cabinets_seen : ndarray of int, shape (n,), or None
        How many cabinets see each place past the floors and surfaces; a place that none sees is
        hidden, and hears only what bends round edges.

    Examples
    --------
    >>> import hangarc as ha
    >>> heard = ha.seat_levels(ha.demo.hang(), 2.0, 11.0, ha.demo.study().venue)
    >>> heard.position_m.shape, heard.band_hz.astype(int).tolist()[:3]
    ((132, 3), [1000, 1258, 1584])
    >>> round(heard.evenness_db, 1)
    4.2
    """

    position_m: NDArray[np.float64]
    weight: NDArray[np.float64]
    area: NDArray[np.int64]
    band_hz: NDArray[np.float64]
    band_level_db: NDArray[np.float64]
    level_db: NDArray[np.float64]
    evenness_db: float
    greatest_level_db: NDArray[np.float64] | None = None
    cabinets_seen: NDArray[np.int64] | None = None

    def to_xarray(self) -> Any:
        """Give the levels as an xarray Dataset over band and seat.

        ``band_level_db`` over (``band_hz``, ``seat``) and ``level_db`` over ``seat``, with the
        seats' places, weights and blocks as coordinates.

        Returns
        -------
        xarray.Dataset

        Raises
        ------
        ModuleNotFoundError
            xarray is not installed.

        Examples
        --------
        >>> import hangarc as ha
        >>> heard = ha.seat_levels(ha.demo.hang(), 2.0, 11.0, ha.demo.study().venue)
        >>> dict(heard.to_xarray().sizes)
        {'band_hz': 10, 'seat': 132}
        """
        seats = {**place_columns(self.position_m), "weight": self.weight, "area": self.area}
        return dataset_of(self, ("seat",), {name: ("seat", at) for name, at in seats.items()})

    def _columns(self) -> dict[str, Any]:
        seats = {**place_columns(self.position_m), "weight": self.weight, "area": self.area}
        more = {"level_db": self.level_db, "greatest_level_db": self.greatest_level_db}
        return {**seats, **{k: v for k, v in more.items() if v is not None}, **band_columns(self)}

    def _picture(self) -> str:
        from hangarc import _pictures

        return _pictures.seat_levels(self.position_m[:, 0], self.level_db, "level, dB")


@by_name
def seat_levels(
    hang: Hang | Placed | Rig,
    tilt_deg: float | ArrayLike | None = None,
    top_m: float | None = None,
    venue: Venue | None = None,
    air: Air | None = None,
    *,
    position_m: Sequence[float] = (0.0, 0.0),
    pan_deg: float = 0.0,
    lines_per_band: int = 5,
    lowest_hz: float = 1000.0,
    highest_hz: float = 8000.0,
) -> SeatLevels:
    """Levels at the seats of a venue, by default in the third octaves from 1 to 8 kHz.

    L_r = 10 lg of the mean over the bands of their energies, each the mean over its lines; air
    absorption included.

    Parameters
    ----------
    hang, tilt_deg, top_m, air, position_m, pan_deg
        As in `pressure`.
    venue : Venue
        The seats.
    lines_per_band : int
        Frequencies in each third octave, 1 to 24.
    lowest_hz, highest_hz : float
        First and last third octave, by any frequency in it; 20 Hz to 20 kHz.

    Returns
    -------
    SeatLevels

    Raises
    ------
    InputError
        As `pressure`; no venue; a seat that no sound reaches in these bands.

    Examples
    --------
    >>> import hangarc as ha
    >>> heard = ha.seat_levels(ha.demo.hang(), 2.0, 11.0, ha.demo.study().venue)
    >>> heard.band_level_db.shape  # third octaves, seats calculated
    (10, 132)
    >>> round(float(heard.level_db.max() - heard.level_db.min()), 1)
    16.6
    """
    bands = band_numbers(lowest_hz, highest_hz)
    count = whole("lines_per_band", lines_per_band, 24)
    lines_hz = _core.band_lines_hz(bands, count)
    fields = _core.seat_levels(
        rig_handle(lines_hz, hang, tilt_deg, top_m, position_m, pan_deg),
        instance("venue", venue, Venue).handle,
        air_or_room(air).handle,
        bands,
        count,
    )
    return SeatLevels(**fields)


@dataclasses.dataclass(frozen=True, eq=False)
class AreaLevels(Result):
    """Levels over the places of one seat area.

    Attributes
    ----------
    mean_db, least_db, greatest_db : float
        Weighted mean, quietest and loudest place; 0 dB is one element on its axis at 1 m.
    evenness_db : float
        Weighted standard deviation within the area.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang, venue = ha.demo.hang(), ha.demo.study().venue
    >>> blocks = ha.acoustics.area_levels(ha.seat_levels(hang, 2.0, 11.0, venue))
    >>> stalls = blocks[0]
    >>> round(stalls.least_db, 1), round(stalls.mean_db, 1), round(stalls.greatest_db, 1)
    (-38.1, -32.5, -27.0)
    """

    mean_db: float
    least_db: float
    greatest_db: float
    evenness_db: float


@by_name
def area_levels(levels: SeatLevels) -> Rows[AreaLevels]:
    """Sum up the levels at the seats area by area.

    Mean Σ w L / Σ w and standard deviation √(Σ w (L − L̄)² / Σ w) over the places of an area;
    within an area of no weight all places count alike.

    Parameters
    ----------
    levels : SeatLevels
        What `seat_levels` gave.

    Returns
    -------
    list of AreaLevels
        One for each area of the venue, in its order.

    Raises
    ------
    InputError
        `levels` is not a `SeatLevels`.

    Examples
    --------
    >>> import hangarc as ha
    >>> venue = ha.demo.study().venue
    >>> for area, block in zip(
    ...     venue.areas,
    ...     ha.acoustics.area_levels(ha.seat_levels(ha.demo.hang(), 2.0, 11.0, venue)),
    ...     strict=True,
    ... ):
    ...     print(area.name, round(block.mean_db, 1), round(block.evenness_db, 1))
    ...
    Stalls -32.5 2.9
    Rear stalls -25.1 0.8
    Balcony -24.6 1.9
    """
    instance("levels", levels, SeatLevels)
    found = _core.area_levels(levels.level_db, levels.weight, levels.area.tolist())
    return Rows(AreaLevels(**fields) for fields in found)


@over_tilts
@by_name
def evenness_db(
    hang: Hang | Placed | Rig,
    tilt_deg: float | ArrayLike | None = None,
    top_m: float | None = None,
    venue: Venue | None = None,
    air: Air | None = None,
    *,
    position_m: Sequence[float] = (0.0, 0.0),
    pan_deg: float = 0.0,
    lines_per_band: int = 5,
) -> float:
    """Evenness over the seats of levels summed over 1 to 8 kHz: √(Σ w (L_r − L̄)² / Σ w), in dB.

    Holes that move with frequency vanish in the sum; `unevenness` takes the spread band by band.

    Parameters
    ----------
    hang, tilt_deg, top_m, venue, air, position_m, pan_deg, lines_per_band
        As in `seat_levels`, which gives the levels L_r and the weights w; of an array of tilts,
        the evenness at each.

    Raises
    ------
    InputError
        As `pressure`.

    Examples
    --------
    >>> import hangarc as ha
    >>> round(ha.evenness_db(ha.demo.hang(), 2.0, 11.0, ha.demo.study().venue), 1)
    4.2
    """
    return seat_levels(
        hang,
        tilt_deg,
        top_m,
        venue,
        air,
        position_m=position_m,
        pan_deg=pan_deg,
        lines_per_band=lines_per_band,
    ).evenness_db
