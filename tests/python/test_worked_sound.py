"""Printed tables and worked figures on air, bands, weightings, shade and directivity, rebuilt."""

from __future__ import annotations

from collections.abc import Callable

import builders
import hangarc as ha
import numpy as np
import pytest
from outside import Kind, Outside, Source, three_digits
from validation import acoustics as published

ACOUSTICS = "acoustics 0.2.6"


def exact_hz(nominal_hz: np.ndarray) -> np.ndarray:
    """Base-ten mid-band frequencies, at which the standards calculate."""
    return 1000.0 * 10.0 ** (np.round(10.0 * np.log10(nominal_hz / 1000.0)) / 10.0)


@pytest.mark.parametrize(("air", "row"), published.AIR_THIRDS_DB_PER_KM.items())
def test_a_row_of_the_standards_table_of_absorption(
    air: tuple[float, float], row: list[float], outside: Outside
) -> None:
    temperature_c, humidity_percent = air
    found = ha.air_absorption_db_per_m(
        exact_hz(published.AIR_THIRDS_HZ), temperature_c, humidity_percent
    )
    outside.check(
        "air",
        f"absorption at {temperature_c:g} °C and {humidity_percent:g} %, 50 Hz to 10 kHz",
        Source("ISO 9613-1:1993, table 1", Kind.PRINTED, ACOUSTICS),
        theirs=row,
        ours=1000.0 * found,
        unit="dB/km",
        within=three_digits(row),
        relative=1e-9,
        why="half a unit of the third printed digit",
    )


def test_single_values_of_the_standards_table_of_absorption(outside: Outside) -> None:
    temperature_c, frequency_hz, humidity_percent, printed = np.array(published.AIR_POINTS).T
    found = [
        1000.0 * ha.air_absorption_db_per_m(float(exact_hz(f)), t, h).item()
        for t, f, h in zip(temperature_c, frequency_hz, humidity_percent, strict=True)
    ]
    outside.check(
        "air",
        "absorption in seven airs from −20 to 50 °C and 10 to 80 %",
        Source("ISO 9613-1:1993, table 1", Kind.PRINTED, "pyfar 0.8.1"),
        theirs=printed,
        ours=found,
        unit="dB/km",
        within=three_digits(printed),
        relative=1e-9,
        why="half a unit of the third printed digit",
    )


def test_the_speed_of_sound_at_twenty_degrees(outside: Outside) -> None:
    dry = ha.Air(temperature_c=20.0, humidity_percent=0.01)
    outside.check(
        "air",
        "speed of sound in dry air at 20 °C",
        Source("ISO 9613-1:1993, reference speed", Kind.PRINTED, ACOUSTICS),
        theirs=343.2,
        ours=ha.acoustics.sound_speed_m_s(dry),
        unit="m/s",
        within=0.05,
        why="half a unit of the printed digit",
    )


@pytest.mark.parametrize(
    ("weighting", "printed"),
    [("A", published.A_WEIGHTING_DB), ("C", published.C_WEIGHTING_DB)],
)
def test_a_weighting_is_the_standards_table(
    weighting: str, printed: np.ndarray, outside: Outside
) -> None:
    outside.check(
        "weightings",
        f"weighting {weighting}, 10 Hz to 20 kHz",
        Source("IEC 61672-1:2013, table 3", Kind.PRINTED, ACOUSTICS),
        theirs=printed,
        ours=ha.acoustics.weighting_db(exact_hz(published.WEIGHTING_HZ), weighting),
        unit="dB",
        within=0.05 + 1e-9,
        why="half a unit of the printed digit",
    )


def test_the_middles_of_third_octaves_round_to_the_nominal_ones(outside: Outside) -> None:
    audible = published.WEIGHTING_HZ[published.WEIGHTING_HZ >= 20.0]
    nothing = ha.acoustics.point_levels(
        ha.Rig(hangs=[]), np.empty((0, 3)), lowest_hz=20.0, highest_hz=20_000.0
    )
    outside.check(
        "bands",
        "middles of the third octaves against their nominal frequencies, 20 Hz to 20 kHz",
        Source("IEC 61260-1:2014, nominal mid-band frequencies", Kind.PRINTED, ACOUSTICS),
        theirs=audible,
        ours=nothing.band_hz,
        unit="Hz",
        relative=0.0095,
        why="nominal frequencies are rounded, 160 Hz the most, from 158.5 by 0.94 %",
    )


def test_an_edge_shades_by_the_fresnel_integrals(outside: Outside) -> None:
    # C(1) and S(1); at a Fresnel argument of 1 the way round is a quarter of a wave longer.
    c, s = 0.7798934003768228, 0.4382591473903548
    theirs = abs((1 + 1j) / 2 * ((0.5 - c) - 1j * (0.5 - s)))
    outside.check(
        "shade",
        "pressure behind an edge, the way round a quarter of a wave longer",
        Source("C(1) and S(1), Abramowitz & Stegun, table 7.7; from memory", Kind.MEMORY),
        theirs=theirs,
        ours=abs(ha.acoustics.edge_factor(0.25)).item(),
        unit="of the pressure without the edge",
        within=5e-5,
        why="the library's fit of the integrals, good to 5·10⁻⁵",
    )


POINTS, PITCH_M, FAR_M = 512, 4.0, 3e7
HALF_A_WAVE_HZ = ha.acoustics.sound_speed_m_s() / (2.0 * PITCH_M)


def tapered(weights: np.ndarray, sine: np.ndarray) -> np.ndarray:
    """Far field of a plumb row of points half a wave apart, each with its weight.

    Pressure over angle off the level is the Fourier transform of the weights, a bin λ/L of the
    sine. At 30 000 km its phase is reached to 10⁻²; the air is taken out for the middle.
    """
    cabinet = builders.cabinet(
        height_m=PITCH_M,
        rear_pin_inset_m=0.25,
        splay_positions_deg=[0.0],
        source=ha.Source(elements=[ha.LineElement(height_m=1e-3)]),
    )
    hang = builders.hang([0.0] * (POINTS - 1), cabinets=[cabinet] * POINTS)
    placed = ha.Placed(hang=hang, tilt_deg=0.0, top_m=POINTS * PITCH_M / 2, drive=weights)
    places = FAR_M * np.column_stack([np.sqrt(1 - sine**2), sine])
    (pressure,) = ha.acoustics.pressure(
        ha.Rig(hangs=[placed]), receivers_m=places, frequency_hz=[HALF_A_WAVE_HZ]
    )
    air_db = FAR_M * ha.air_absorption_db_per_m(HALF_A_WAVE_HZ).item()
    return np.abs(pressure) * FAR_M * 10 ** (air_db / 20)


def bandwidth(weights: np.ndarray) -> float:
    """Mean over the sine of the square, over its value ahead, in bins: N Σw² / (Σw)²."""
    # Midpoints integrate a polynomial of that many harmonics exactly.
    sine = (np.arange(4 * POINTS) + 0.5) / (2 * POINTS) - 1.0
    (ahead,) = tapered(weights, np.zeros(1))
    return float(POINTS * np.mean(tapered(weights, sine) ** 2) / ahead**2)


HEINZEL = Source(
    "Heinzel, Rüdiger & Schilling, Spectrum and spectral density estimation, 2002, list of windows",
    Kind.PRINTED,
    "speckit 1.0.3",
)


def cosine_taper(coefficients: list[float]) -> np.ndarray:
    turns = 2 * np.pi * np.arange(POINTS) / POINTS
    signs = (-1.0) ** np.arange(len(coefficients))
    weights = np.cos(np.outer(turns, np.arange(len(coefficients)))) @ (signs * coefficients)
    return np.asarray(weights / np.abs(weights).max())


@pytest.mark.parametrize(
    ("coefficients", "lobe_db", "bins"),
    published.COSINE_TAPERS.values(),
    ids=list(published.COSINE_TAPERS),
)
def test_a_tapered_line_has_the_side_lobes_that_are_printed(
    coefficients: list[float], lobe_db: float, bins: float, outside: Outside
) -> None:
    weights = cosine_taper(coefficients)
    # A sum of n cosines has its first zero at n bins, a bin λ/L = 2/N of the sine.
    sine = np.linspace(len(coefficients) * 2 / POINTS, 1.0, 6000)
    (ahead,) = tapered(weights, np.zeros(1))
    found_db = 20 * np.log10(tapered(weights, sine).max() / ahead)
    outside.check(
        "directivity", "greatest side lobe of a line, eight tapers of −32 to −70 dB", HEINZEL,
        theirs=lobe_db, ours=found_db, unit="dB over ahead", within=0.051,
        why="half a unit of the printed digit",
    )  # fmt: skip
    outside.check(
        "directivity", "the same: how wide it radiates, mean square over all sines", HEINZEL,
        theirs=bins, ours=bandwidth(weights), unit="λ/L", within=0.0001,
        why="one unit of the last printed digit: coefficients are rounded too",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("taper", "bins", "within"),
    published.TAPER_BANDWIDTH.values(),
    ids=list(published.TAPER_BANDWIDTH),
)
def test_a_tapered_line_is_as_wide_as_the_table_of_windows_says(
    taper: Callable[[np.ndarray], np.ndarray], bins: float, within: float, outside: Outside
) -> None:
    x = (2 * np.arange(POINTS) + 1) / POINTS - 1
    outside.check(
        "directivity", "how wide a line with seven common tapers radiates, mean square over sines",
        Source("Harris, Proc. IEEE 66:51, 1978, table 1", Kind.PRINTED, "spectrum 0.10.0"),
        theirs=bins, ours=bandwidth(taper(x)), unit="λ/L", within=within * (1 + 1e-9),
        why="half a unit of the last digit carried",
    )  # fmt: skip
