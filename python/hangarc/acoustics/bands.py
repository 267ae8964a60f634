"""Third octaves, the lines calculated in them, and frequency weightings."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import instance, real, real_array, whole


@by_name
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

    Examples
    --------
    >>> import hangarc as ha
    >>> ha.acoustics.band_lines_hz(1000.0, 1000.0, lines_per_band=3).round(1).tolist()
    [925.9, 1000.0, 1080.1]
    """
    lines: NDArray[np.float64] = _core.band_lines_hz(
        band_numbers(lowest_hz, highest_hz), whole("lines_per_band", lines_per_band, 24)
    )
    return lines


@by_name
def weighting_db(
    frequency_hz: ArrayLike, weighting: Literal["A", "C", "Z"] = "A"
) -> NDArray[np.float64]:
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

    Examples
    --------
    >>> import hangarc as ha
    >>> ha.acoustics.weighting_db([63.0, 1000.0, 8000.0], "A").round(1).tolist()
    [-26.2, 0.0, -1.1]
    """
    frequencies = real_array("frequency_hz", frequency_hz, 1).ravel()
    for index, value in enumerate(frequencies):
        if value <= 0.0:
            raise InputError(f"frequency_hz[{index}]", value, "a number above 0")
    named = instance("weighting", weighting, str)
    values: NDArray[np.float64] = _core.weighting_db(frequencies, named)
    return values.reshape(np.shape(frequency_hz))


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
