"""Figures as a sheet prints them, with their units."""

from __future__ import annotations

import math
from collections.abc import Iterable

NONE = "none"


def kilo(force_n: float | None, sign: bool = False) -> str:
    """Give a force in kilonewtons."""
    if force_n is None:
        return NONE
    rounded = round(force_n / 1e3, 2) + 0.0
    return f"{rounded:+.2f} kN" if sign and rounded else f"{rounded:.2f} kN"


def length(length_m: float | None) -> str:
    """Give a length in metres, to the centimetre."""
    return NONE if length_m is None else f"{length_m:.2f} m"


def angle(angle_deg: float, sign: bool = False) -> str:
    """Give an angle in degrees, without needless zeros."""
    rounded = round(float(angle_deg), 2) + 0.0
    return f"{rounded:+g}°" if sign and rounded else f"{rounded:g}°"


def level(level_db: float) -> str:
    """Give a level or a difference of levels."""
    return f"{level_db:.1f} dB"


def percent(share: float | None) -> str:
    """Give a share in whole percent, rounded up so that it never flatters."""
    return NONE if share is None else f"{math.ceil(round(100.0 * share, 6))} %"


def ranges(numbers: Iterable[int]) -> str:
    """Give whole numbers as 1-3, 5."""
    runs: list[list[int]] = []
    for number in sorted({int(number) for number in numbers}):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ", ".join(str(a) if a == b else f"{a}-{b}" for a, b in runs)
