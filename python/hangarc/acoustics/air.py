"""What the air does to sound: its absorption and the speed of sound."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._keywords import by_name
from hangarc._record import instance, real_array
from hangarc.model import Air

_ROOM = Air()


@by_name
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

    Examples
    --------
    >>> import hangarc as ha
    >>> per_m = ha.air_absorption_db_per_m([1000.0, 8000.0], humidity_percent=50.0)
    >>> (1000.0 * per_m).round(1).tolist()  # dB per kilometre
    [4.7, 105.3]
    """
    air = Air(
        temperature_c=temperature_c,
        humidity_percent=humidity_percent,
        pressure_kpa=pressure_kpa,
    )
    frequencies = real_array("frequency_hz", frequency_hz, 1)
    values: NDArray[np.float64] = _core.air_absorption_db_per_m(frequencies.ravel(), air.handle)
    return values.reshape(np.shape(frequency_hz))


@by_name
def sound_speed_m_s(air: Air | None = None) -> float:
    """Speed of sound in moist air, c = √(γ R T / M).

    With h the mole fraction of water vapour (ISO 9613-1:1993, annex B): γ = (7 + h)/(5 + h) and M
    mixed of dry air and water (D. A. Bohn, J. Audio Eng. Soc. 36(4), 1988).

    Parameters
    ----------
    air : Air, optional
        Left out, 20 °C, 50 %, 101.325 kPa.

    Examples
    --------
    >>> import hangarc as ha
    >>> round(ha.acoustics.sound_speed_m_s(ha.Air(temperature_c=20.0)), 1)
    343.9
    """
    speed: float = _core.sound_speed_m_s(air_or_room(air).handle)
    return speed


def air_or_room(air: Air | None) -> Air:
    """Give the air, or that of a room where none is given."""
    return _ROOM if air is None else instance("air", air, Air)
