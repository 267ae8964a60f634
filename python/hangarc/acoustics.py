"""What the seats hear: the direct sound of a hang, past floors and surfaces.

p(f, r) = Σ_s w_s D_v D_h e^{−jkd}/d · 10^{−α d/20}, summed over straight sub-elements s of the
cabinets' line elements: D_v = sin x / x with x = (k h_s/2) sin a (exact for a uniform line, far
field), D_h from the coverage angle, α the absorption of the air. Line elements are cut so short
that the far field of each piece leaves out at most 1 % of its pressure at the nearest receiver.
An element at 0 dB gain gives |p|·d = 1 far away on its axis: 0 dB is that element's level at 1 m.

At seats each cabinet's pressure is multiplied by F(ν) of the edge that shades it most
(`hangarc.edge_factor`). Reflections, wind and gradients of temperature are left out.
"""

from __future__ import annotations

import dataclasses
import math
import types
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._record import Result, instance, real, real_array, whole
from hangarc.errors import InputError
from hangarc.model import Air, Hang, Venue
from hangarc.rig import alone

_ROOM = Air()


def air_absorption_db_per_m(
    frequency_hz: ArrayLike,
    temperature_c: float = 20.0,
    humidity_percent: float = 50.0,
    pressure_kpa: float = 101.325,
) -> NDArray[np.float64]:
    """Attenuation of pure tones by the air, ISO 9613-1:1993, equations (3) to (5).

    Parameters
    ----------
    frequency_hz : float or array_like, shape (F,)
        Frequencies, above 0 and at most 10 Hz/Pa times the pressure. The standard states ±10 %
        from 4·10⁻⁴ Hz/Pa (40 Hz at sea level), for 0.05 to 5 % of water vapour by volume.
    temperature_c, humidity_percent, pressure_kpa : float
        As in `Air`.

    Returns
    -------
    ndarray
        Attenuation in dB/m, shaped as `frequency_hz`.

    Raises
    ------
    InputError
        An argument not finite or out of range.
    """
    air = Air(
        temperature_c=temperature_c,
        humidity_percent=humidity_percent,
        pressure_kpa=pressure_kpa,
    )
    frequencies = real_array("frequency_hz", frequency_hz, 1)
    values: NDArray[np.float64] = _core.air_absorption_db_per_m(frequencies.ravel(), air.handle)
    return values.reshape(np.shape(frequency_hz))


def sound_speed_m_s(air: Air | None = None) -> float:
    """Speed of sound in moist air, c = √(γ R T / M).

    With h the mole fraction of water vapour (ISO 9613-1:1993, annex B): γ = (7 + h)/(5 + h) and M
    mixed of dry air and water (D. A. Bohn, J. Audio Eng. Soc. 36(4), 1988).

    Parameters
    ----------
    air : Air, optional
        Left out, 20 °C, 50 %, 101.325 kPa.
    """
    speed: float = _core.sound_speed_m_s(air_or_room(air).handle)
    return speed


def pressure(
    hang: Hang,
    tilt_deg: float,
    top_m: float,
    receivers_m: ArrayLike,
    frequency_hz: ArrayLike,
    air: Air | None = None,
    position_m: Sequence[float] = (0.0, 0.0),
    pan_deg: float = 0.0,
    far_field_tolerance: float = _core.FAR_FIELD_TOLERANCE,
) -> NDArray[np.complex128]:
    """Complex direct-sound pressure of a hang at points in space.

    p(f, r) = Σ_s w_s D_v D_h e^{−jkd}/d · 10^{−α d/20}; time factor e^{+jωt}; an element at 0 dB
    gain gives |p|·d = 1 far away on its axis. Frequencies that are exact octaves of each other are
    worked out together, several times faster than others.

    Parameters
    ----------
    hang : Hang
        Every cabinet needs a `source`.
    tilt_deg : float
        Elevation of the fly frame's axis, −90 to 90°.
    top_m : float
        Height of cabinet 0's upper front hinge.
    receivers_m : array_like, shape (R, 3) or (R, 2)
        Points (x, y, z), or (x, z) in the plane y = 0, at least 0.05 m from every line element.
    frequency_hz : float or array_like, shape (F,)
        Frequencies above 0.
    air : Air, optional
        Left out, 20 °C, 50 %, 101.325 kPa.
    position_m : (float, float)
        Where the hang's plane stands on the floor plan, (x, y).
    pan_deg : float
        Turn of the hang's plane about z, positive to the left.
    far_field_tolerance : float
        Share of its pressure that a sub-element's far field may leave out at the nearest receiver,
        10⁻⁸ to 0.1.

    Returns
    -------
    ndarray of complex128, shape (F, R)

    Raises
    ------
    InputError
        An argument of the wrong type, not finite or out of range; a cabinet without a source; a
        receiver on top of a source.
    """
    frequencies = real_array("frequency_hz", frequency_hz, 1).ravel()
    rig = alone(hang, tilt_deg, top_m, position_m, pan_deg, far_field_tolerance)
    return pressure_of(rig, receivers_m, frequencies, air)


def pressure_of(
    rig: types.SimpleNamespace,
    receivers_m: ArrayLike,
    frequency_hz: NDArray[np.float64],
    air: Air | None,
    venue: Venue | None = None,
) -> NDArray[np.complex128]:
    """Complex pressure of a rig given as the core takes it."""
    out: NDArray[np.complex128] = _core.pressure(
        rig,
        points("receivers_m", receivers_m),
        frequency_hz,
        air_or_room(air).handle,
        "",
        None if venue is None else instance("venue", venue, Venue).handle,
    )
    return out


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


def seat_levels(
    hang: Hang,
    tilt_deg: float,
    top_m: float,
    venue: Venue,
    air: Air | None = None,
    position_m: Sequence[float] = (0.0, 0.0),
    pan_deg: float = 0.0,
    lines_per_band: int = 5,
) -> SeatLevels:
    """Levels at the seats in the third octaves from 1 to 8 kHz, flat drive.

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

    Returns
    -------
    SeatLevels

    Raises
    ------
    InputError
        As `pressure`; a seat that no sound reaches in these bands.
    """
    fields: dict[str, Any] = _core.seat_levels(
        alone(hang, tilt_deg, top_m, position_m, pan_deg),
        instance("venue", venue, Venue).handle,
        air_or_room(air).handle,
        _core.EVENNESS_BANDS,
        whole("lines_per_band", lines_per_band, 24),
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
    """

    mean_db: float
    least_db: float
    greatest_db: float
    evenness_db: float


def area_levels(levels: SeatLevels) -> list[AreaLevels]:
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
    """
    instance("levels", levels, SeatLevels)
    found = _core.area_levels(levels.level_db, levels.weight, levels.area.tolist())
    return [AreaLevels(**fields) for fields in found]


def evenness_db(
    hang: Hang,
    tilt_deg: float,
    top_m: float,
    venue: Venue,
    air: Air | None = None,
    position_m: Sequence[float] = (0.0, 0.0),
    pan_deg: float = 0.0,
    lines_per_band: int = 5,
) -> float:
    """Evenness over the seats of levels summed over 1 to 8 kHz: √(Σ w (L_r − L̄)² / Σ w), in dB.

    Holes that move with frequency vanish in the sum; `unevenness` takes the spread band by band.

    Parameters
    ----------
    hang, tilt_deg, top_m, venue, air, position_m, pan_deg, lines_per_band
        As in `seat_levels`, which gives the levels L_r and the weights w.

    Raises
    ------
    InputError
        As `pressure`.
    """
    return seat_levels(
        hang, tilt_deg, top_m, venue, air, position_m, pan_deg, lines_per_band
    ).evenness_db


def air_or_room(air: Air | None) -> Air:
    """Give the air, or that of a room where none is given."""
    return _ROOM if air is None else instance("air", air, Air)


def points(field: str, points_m: ArrayLike) -> NDArray[np.float64]:
    """Points as contiguous (R, 3); points of two coordinates lie in the plane y = 0."""
    array = real_array(field, points_m, 2)
    if array.ndim != 2 or array.shape[1] not in (2, 3):
        raise InputError(field, points_m, "an array of shape (R, 3) or (R, 2)")
    if array.shape[1] == 2:
        array = np.column_stack([array[:, 0], np.zeros(len(array)), array[:, 1]])
    return array


def band_numbers(lowest_hz: float, highest_hz: float) -> list[int]:
    """Numbers of the third octaves from one frequency to another, 0 at 1 kHz."""
    numbers = []
    for field, value in (("lowest_hz", lowest_hz), ("highest_hz", highest_hz)):
        if not 17.8 <= real(field, value) <= 22_387.0:
            raise InputError(field, value, "a frequency within the bands from 20 Hz to 20 kHz")
        numbers.append(round(10.0 * math.log10(value / 1000.0)))
    if numbers[1] < numbers[0]:
        raise InputError("highest_hz", highest_hz, f"at least lowest_hz, {lowest_hz}")
    return list(range(numbers[0], numbers[1] + 1))
