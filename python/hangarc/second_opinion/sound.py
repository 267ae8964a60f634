"""What do the seats hear? A plain complex sum over points of every line element.

p = Σ gain/N Σ_i D_h e^{−jkd_i} e^{−jωτ} 10^{−α d_i/20}/d_i over N Gauss points of each line: no
far field, no cutting, no directivity of pieces.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from hangarc.model import Air, Hang
from hangarc.second_opinion.bodies import Placed

# Numbers of a block of the sum: receivers × points × lines.
BLOCK = 2_000_000


def air_speed_and_absorption(air: Air, frequency_hz: np.ndarray) -> tuple[float, np.ndarray]:
    """Speed of sound, and absorption in dB/m: ISO 9613-1:1993, equations (3) to (5), annex B."""
    kelvin = air.temperature_c + 273.15
    pressure = air.pressure_kpa / 101.325
    warm = kelvin / 293.15
    saturation = 10.0 ** (-6.8346 * (273.16 / kelvin) ** 1.261 + 4.6151)
    percent = min(air.humidity_percent * saturation / pressure, 100.0)
    oxygen = pressure * (24.0 + 4.04e4 * percent * (0.02 + percent) / (0.391 + percent))
    nitrogen = (
        pressure
        / math.sqrt(warm)
        * (9.0 + 280.0 * percent * math.exp(-4.17 * (warm ** (-1.0 / 3.0) - 1.0)))
    )
    f2 = frequency_hz**2
    absorption = (
        8.686
        * f2
        * (
            1.84e-11 * math.sqrt(warm) / pressure
            + warm**-2.5
            * (
                0.01275 * math.exp(-2239.1 / kelvin) / (oxygen + f2 / oxygen)
                + 0.1068 * math.exp(-3352.0 / kelvin) / (nitrogen + f2 / nitrogen)
            )
        )
    )
    share = percent / 100.0
    mass_kg_mol = 0.0289644 * (1.0 - share) + 0.0180153 * share
    heat_ratio = (7.0 + share) / (5.0 + share)
    speed = math.sqrt(heat_ratio * 8.31446261815324 * kelvin / mass_kg_mol)
    return speed, absorption


def pressure(
    hang: Hang, placed: Placed, receivers_m: np.ndarray, frequency_hz: np.ndarray, air: Air
) -> np.ndarray:
    """Complex pressure, shape (F, R); the hang's plane is y = 0."""
    speed, absorption = air_speed_and_absorption(air, frequency_hz)
    wave = 2.0 * math.pi * frequency_hz / speed
    decay = absorption * math.log(10.0) / 20.0
    total = np.zeros((len(frequency_hz), len(receivers_m)), dtype=complex)
    for cabinet, body, front in zip(hang.cabinets, placed.bodies[1:], placed.fronts, strict=False):
        for element in cabinet.source.elements if cabinet.source else ():
            # Enough for the phase along the whole line at the highest frequency, end on.
            count = 8 + math.ceil(0.75 * float(wave.max()) * element.height_m)
            places, shares = np.polynomial.legendre.leggauss(count)
            local = _line(element, places / 2.0)
            at = front + local * body.turn
            gain = 10.0 ** (element.gain_db / 20.0) * (-1.0 if element.inverted else 1.0)
            plays = frequency_hz >= (element.low_hz or 0.0)
            plays &= frequency_hz < (math.inf if element.high_hz is None else element.high_hz)
            if not plays.any():
                continue
            weight = gain * shares / 2.0
            late = np.zeros(len(frequency_hz), dtype=complex)
            late[plays] = np.exp(-2j * math.pi * frequency_hz[plays] * element.delay_s)
            for coverage_deg, covered in _coverages(cabinet.source, frequency_hz):
                heard = plays & covered
                if not heard.any():
                    continue
                for rows in _blocks(len(receivers_m), count * int(heard.sum())):
                    part = _sum(
                        coverage_deg,
                        body.turn,
                        at,
                        weight,
                        receivers_m[rows],
                        wave[heard],
                        decay[heard],
                    )
                    all_rows = np.arange(len(receivers_m))[rows]
                    total[np.ix_(heard, all_rows)] += late[heard, None] * part
        if cabinet.source and cabinet.source.balloon is not None:
            total += _measured(
                cabinet.source.balloon, body.turn, front, receivers_m, frequency_hz, wave, decay
            )
    return total


def _coverages(source: Any, frequency_hz: np.ndarray) -> list[tuple[float | None, np.ndarray]]:
    """Coverage angles, each with the lines it is for."""
    pairs = source.coverage_hz_deg
    if not pairs:
        return [(source.coverage_deg, np.ones(len(frequency_hz), dtype=bool))]
    hz, angle = np.log(np.array(pairs)).T
    bands = np.floor(10.0 * np.log10(frequency_hz / 1000.0) + 0.5)
    middles = np.log(1000.0 * 10.0 ** (bands / 10.0))
    angles = np.exp(np.interp(middles, hz, angle))
    return [(float(one), angles == one) for one in np.unique(angles)]


def _measured(
    balloon: Any,
    ahead: complex,
    front: complex,
    receivers_m: np.ndarray,
    frequency_hz: np.ndarray,
    wave: np.ndarray,
    decay: np.ndarray,
) -> np.ndarray:
    """Pressure of a measured cabinet; its balloon is the core's own, between its points too."""
    dx, dz = receivers_m[:, 0] - front.real, receivers_m[:, 2] - front.imag
    dy = receivers_m[:, 1]
    along, above = dx * ahead.real + dz * ahead.imag, dz * ahead.real - dx * ahead.imag
    d = np.sqrt(dx**2 + dy**2 + dz**2)
    azimuth_deg = np.degrees(np.arctan2(dy, along))
    elevation_deg = np.degrees(np.arcsin(np.clip(above / d, -1.0, 1.0)))
    response: np.ndarray = balloon.towards(azimuth_deg, elevation_deg, frequency_hz).T
    heard: np.ndarray = response * np.exp(-(1j * wave + decay)[:, None] * d) / d
    return heard


def _line(element: Any, share: np.ndarray) -> np.ndarray:
    """Points of the element's line or arc in the cabinet, at `share` of its height from mid."""
    opening = math.radians(element.curvature_deg)
    if opening == 0.0:
        arc = 1j * element.height_m * share
    else:
        radius = element.height_m / (2.0 * math.sin(opening / 2.0))
        arc = radius * (np.exp(1j * opening * share) - 1.0)
    points: np.ndarray = complex(element.x_m, element.z_m) + arc
    return points


def _blocks(receivers: int, each: int) -> list[slice]:
    step = max(1, BLOCK // max(1, each))
    return [slice(start, start + step) for start in range(0, receivers, step)]


def _sum(
    coverage_deg: float | None,
    ahead: complex,
    at: np.ndarray,
    weight: np.ndarray,
    receivers_m: np.ndarray,
    wave: np.ndarray,
    decay: np.ndarray,
) -> np.ndarray:
    dx = receivers_m[:, 0, None] - at.real
    dy = np.broadcast_to(receivers_m[:, 1, None], dx.shape)
    dz = receivers_m[:, 2, None] - at.imag
    d = np.sqrt(dx**2 + dy**2 + dz**2)
    strength = weight / d
    if coverage_deg is not None:
        azimuth = np.arctan2(dy, dx * ahead.real + dz * ahead.imag)
        narrow = math.tan(math.radians(coverage_deg) / 4.0)
        strength = strength / (1.0 + (np.tan(azimuth / 2.0) / narrow) ** 2)
    out = np.empty((len(wave), len(receivers_m)), dtype=complex)
    for line, (k, alpha) in enumerate(zip(wave, decay, strict=True)):
        out[line] = (strength * np.exp(-(1j * k + alpha) * d)).sum(axis=1)
    return out
