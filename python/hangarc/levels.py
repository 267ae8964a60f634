"""Levels of a whole rig: at seats, at points, by distance and on maps; weightings and measures."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._record import Result, instance, real, real_array, whole
from hangarc.acoustics import SeatLevels, air_or_room, band_numbers, points, pressure_of
from hangarc.errors import InputError
from hangarc.model import Air, Venue
from hangarc.rig import Rig


@dataclasses.dataclass(frozen=True, eq=False)
class PointLevels(Result):
    """Direct-sound levels at points in space; 0 dB is one element on its axis at 1 m.

    Attributes
    ----------
    position_m : ndarray, shape (n, 3)
        The points.
    band_hz : ndarray, shape (b,)
        Mid-band frequencies, IEC 61260-1:2014, base ten.
    band_level_db : ndarray, shape (b, n)
        Energy mean over the lines of each third octave.
    level_db : ndarray, shape (n,)
        Energy mean over the bands.
    greatest_level_db : ndarray, shape (n,), or None
        `level_db` with the rig driven until its first cabinet reaches its `max_level_db`, in dB re
        20 µPa, for a signal of equal energy in these bands; None is *not stated*: a cabinet
        states no such level.
    """

    position_m: NDArray[np.float64]
    band_hz: NDArray[np.float64]
    band_level_db: NDArray[np.float64]
    level_db: NDArray[np.float64]
    greatest_level_db: NDArray[np.float64] | None


def rig_pressure(
    rig: Rig,
    receivers_m: ArrayLike,
    frequency_hz: ArrayLike,
    air: Air | None = None,
    venue: Venue | None = None,
) -> NDArray[np.complex128]:
    """Complex direct-sound pressure of several hangs; the sum of `hangarc.pressure` over them.

    Parameters
    ----------
    rig : Rig
        The hangs, each with place and signal, and the floor.
    receivers_m, frequency_hz, air
        As in `hangarc.pressure`.
    venue : Venue, optional
        Its floors and surfaces shade the receivers; left out, nothing does. Mirror images in a
        reflecting floor are not shaded.

    Returns
    -------
    ndarray of complex128, shape (F, R)

    Raises
    ------
    InputError
        As `hangarc.pressure`; with a reflecting floor also a receiver or source below it.
    """
    frequencies = real_array("frequency_hz", frequency_hz, 1).ravel()
    return pressure_of(
        instance("rig", rig, Rig).fields_for(frequencies), receivers_m, frequencies, air, venue
    )


def band_lines_hz(
    lowest_hz: float = 1000.0, highest_hz: float = 8000.0, lines_per_band: int = 5
) -> NDArray[np.float64]:
    """Frequencies calculated in each third octave, band after band.

    1000·2^{b/3 + s} Hz for band number b and the same offsets s in every band, all inside the
    band edges of IEC 61260-1:2014 (base ten); lines three bands apart are exact octaves.

    Parameters
    ----------
    lowest_hz, highest_hz : float
        First and last band, by any frequency within it; 20 Hz to 20 kHz.
    lines_per_band : int
        1 to 24.

    Returns
    -------
    ndarray, shape (b · lines_per_band,)
    """
    lines: NDArray[np.float64] = _core.band_lines_hz(
        band_numbers(lowest_hz, highest_hz), whole("lines_per_band", lines_per_band, 24)
    )
    return lines


def rig_seat_levels(
    rig: Rig,
    venue: Venue,
    air: Air | None = None,
    lowest_hz: float = 1000.0,
    highest_hz: float = 8000.0,
    lines_per_band: int = 5,
) -> SeatLevels:
    """Levels of several hangs at the seats of a venue.

    Parameters
    ----------
    rig : Rig
        The hangs.
    venue : Venue
        The seats.
    air : Air, optional
        Left out, 20 °C, 50 %, 101.325 kPa.
    lowest_hz, highest_hz, lines_per_band
        As in `band_lines_hz`.

    Raises
    ------
    InputError
        As `rig_pressure`.
    """
    bands = band_numbers(lowest_hz, highest_hz)
    count = whole("lines_per_band", lines_per_band, 24)
    fields: dict[str, Any] = _core.seat_levels(
        instance("rig", rig, Rig).fields_for(_core.band_lines_hz(bands, count)),
        instance("venue", venue, Venue).handle,
        air_or_room(air).handle,
        bands,
        count,
    )
    return SeatLevels(**fields)


def rig_levels(
    rig: Rig,
    points_m: ArrayLike,
    air: Air | None = None,
    lowest_hz: float = 1000.0,
    highest_hz: float = 8000.0,
    lines_per_band: int = 5,
    venue: Venue | None = None,
) -> PointLevels:
    """Levels of several hangs at points in space.

    Parameters
    ----------
    rig : Rig
        The hangs.
    points_m : array_like, shape (n, 3) or (n, 2)
        Points (x, y, z), or (x, z) in the plane y = 0.
    air, lowest_hz, highest_hz, lines_per_band
        As in `rig_seat_levels`.
    venue : Venue, optional
        As in `rig_pressure`.

    Raises
    ------
    InputError
        As `rig_pressure`.
    """
    position_m = points("points_m", points_m)
    bands = band_numbers(lowest_hz, highest_hz)
    count = whole("lines_per_band", lines_per_band, 24)
    fields: dict[str, Any] = _core.point_levels(
        instance("rig", rig, Rig).fields_for(_core.band_lines_hz(bands, count)),
        position_m,
        air_or_room(air).handle,
        bands,
        count,
        None if venue is None else instance("venue", venue, Venue).handle,
    )
    return PointLevels(position_m=position_m, **fields)


def rig_level_by_distance(
    rig: Rig,
    distance_m: ArrayLike,
    height_m: float = 1.2,
    azimuth_deg: float = 0.0,
    **options: Any,
) -> PointLevels:
    """Levels along a level line that leaves the origin of the floor plan.

    Parameters
    ----------
    rig : Rig
        The hangs.
    distance_m : array_like, shape (n,)
        Distances from the origin.
    height_m : float
        Height above z = 0; the default is a seated ear's.
    azimuth_deg : float
        Direction of the line, positive to the left.
    **options
        As in `rig_levels`: `air`, `lowest_hz`, `highest_hz`, `lines_per_band`, `venue`.
    """
    distance = real_array("distance_m", distance_m, 1).ravel()
    azimuth = math.radians(real("azimuth_deg", azimuth_deg))
    height = np.full(len(distance), real("height_m", height_m))
    line = np.column_stack([distance * math.cos(azimuth), distance * math.sin(azimuth), height])
    return rig_levels(rig, line, **options)


@dataclasses.dataclass(frozen=True, eq=False)
class LevelMap(Result):
    """Levels on a plane of points, ready for a contour plot.

    Attributes
    ----------
    x_m : ndarray, shape (nx,)
        Columns.
    across_m : ndarray, shape (na,)
        Rows: y of a plan, z of a section.
    band_hz : ndarray, shape (b,)
        Mid-band frequencies.
    band_level_db : ndarray, shape (b, na, nx)
        Energy mean over the lines of each third octave.
    level_db : ndarray, shape (na, nx)
        Energy mean over the bands.
    """

    x_m: NDArray[np.float64]
    across_m: NDArray[np.float64]
    band_hz: NDArray[np.float64]
    band_level_db: NDArray[np.float64]
    level_db: NDArray[np.float64]


def rig_level_map(
    rig: Rig,
    x_m: ArrayLike,
    y_m: ArrayLike = 0.0,
    z_m: ArrayLike = 1.2,
    **options: Any,
) -> LevelMap:
    """Levels over a plan at one height, or over a vertical section at one y.

    Parameters
    ----------
    rig : Rig
        The hangs.
    x_m : array_like, shape (nx,)
        Columns of the map.
    y_m, z_m : float or array_like, shape (na,)
        One of them gives the rows, the other is a number.
    **options
        As in `rig_levels`: `air`, `lowest_hz`, `highest_hz`, `lines_per_band`, `venue`.

    Raises
    ------
    InputError
        Both or neither of `y_m` and `z_m` are arrays; else as `rig_pressure`.
    """
    columns = real_array("x_m", x_m, 1).ravel()
    if (np.ndim(y_m) == 1) == (np.ndim(z_m) == 1):
        raise InputError("z_m", z_m, "a number where y_m is an array, and an array where it is not")
    plan = np.ndim(y_m) == 1
    rows = real_array("y_m", y_m, 1) if plan else real_array("z_m", z_m, 1)
    still = real("z_m", z_m) if plan else real("y_m", y_m)
    across, along = np.meshgrid(rows, columns, indexing="ij")
    flat = np.full(across.size, still)
    order = (across.ravel(), flat) if plan else (flat, across.ravel())
    levels = rig_levels(rig, np.column_stack([along.ravel(), *order]), **options)
    return LevelMap(
        x_m=columns,
        across_m=rows,
        band_hz=levels.band_hz,
        band_level_db=levels.band_level_db.reshape(-1, *across.shape),
        level_db=levels.level_db.reshape(across.shape),
    )


def weighting_db(frequency_hz: ArrayLike, weighting: str = "A") -> NDArray[np.float64]:
    """Frequency weighting, IEC 61672-1:2013, annex E.

    Parameters
    ----------
    frequency_hz : float or array_like, shape (F,)
        Frequencies above 0.
    weighting : {"A", "C", "Z"}
        Which one; Z is none.

    Returns
    -------
    ndarray
        Weighting in dB, 0 at 1 kHz, shaped as `frequency_hz`.
    """
    frequencies = real_array("frequency_hz", frequency_hz, 1).ravel()
    for index, value in enumerate(frequencies):
        if value <= 0.0:
            raise InputError(f"frequency_hz[{index}]", value, "a number above 0")
    named = instance("weighting", weighting, str)
    values: NDArray[np.float64] = _core.weighting_db(frequencies, named)
    return values.reshape(np.shape(frequency_hz))


def weighted_level_db(
    levels: PointLevels | SeatLevels, weighting: str = "A"
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
    """
    weight = weighting_db(levels.band_hz, weighting)[:, None]
    mean: NDArray[np.float64] = np.mean(10.0 ** ((levels.band_level_db + weight) / 10.0), axis=0)
    return 10.0 * np.log10(mean)


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
        The greatest level is not stated: a cabinet has no `max_level_db`.
    """
    if levels.greatest_level_db is None:
        raise InputError("greatest_level_db", "not stated", "a max_level_db for every cabinet")
    return levels.greatest_level_db - real_array("wanted_db", wanted_db, 1)


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
    """

    fall_per_doubling_db: float | None
    spectral_spread_db: float
    share_of_holes: float


def coverage(
    levels: SeatLevels, origin_m: ArrayLike = (0.0, 0.0, 0.0), hole_depth_db: float = 6.0
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
    """
    instance("levels", levels, SeatLevels)
    origin = real_array("origin_m", origin_m, 1)
    if origin.shape != (3,):
        raise InputError("origin_m", origin_m, "three numbers, (x, y, z)")
    fields: dict[str, Any] = _core.coverage(
        levels.band_level_db.tolist(),
        levels.level_db.tolist(),
        np.linalg.norm(levels.position_m - origin, axis=1).tolist(),
        levels.weight.tolist(),
        real("hole_depth_db", hole_depth_db),
    )
    return Coverage(**fields)
