"""Absorption and sound speed against printed tables and a reference library."""

from __future__ import annotations

import math

import hangarc as ha
import numpy as np
import pyfar
import pytest
from outside import Kind, Outside, Source
from validation import acoustics as published


def half_a_digit(printed: str) -> float:
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])


def test_absorption_is_the_printed_one_within_its_digits(outside: Outside) -> None:
    # The table is computed at the exact base-ten mid-band frequencies (ISO 9613-1, 6.3). It is
    # taken to be rounded from the three digits of ISO 9613-1, table 1: 15 °C, 80 %, 1 kHz gives
    # 4.151, there 4.15, here 4.1.
    printed, three_digits = [], []
    for (temperature_c, humidity_percent), row in published.AIR_DB_PER_KM.items():
        printed += row.split()
        for nominal_hz in published.AIR_OCTAVE_HZ:
            exact_hz = 1000.0 * 10.0 ** (0.3 * round(math.log2(nominal_hz / 1000.0)))
            found = ha.air_absorption_db_per_m(exact_hz, temperature_c, humidity_percent)
            three_digits.append(float(f"{1000.0 * found:.3g}"))
    outside.check(
        "air",
        "absorption in six airs, 63 Hz to 8 kHz",
        Source("ISO 9613-2:1996, table 2; from memory", Kind.MEMORY),
        theirs=[float(digits) for digits in printed],
        ours=three_digits,
        unit="dB/km",
        within=np.array([half_a_digit(digits) for digits in printed]) * (1 + 1e-9),
        why="half a unit of the last printed digit, from three digits",
    )


def test_absorption_agrees_with_pyfar_over_its_range(outside: Outside) -> None:
    # pyfar 0.8 multiplies the water fraction by p_a/p_r where ISO 9613-1, equation (B.1), divides
    # by it (a mole fraction is a partial pressure over the whole); giving it the humidity times
    # (p_r/p_a)² undoes that, so that pressures other than p_r can be compared too.
    rng = np.random.default_rng(1)
    frequency_hz = np.geomspace(50.0, 10_000.0, 40)
    pairs = []
    for _ in range(50):
        temperature_c = rng.uniform(-20.0, 50.0)
        humidity_percent = rng.uniform(10.0, 60.0)
        pressure_kpa = rng.uniform(80.0, 110.0)
        ours = ha.air_absorption_db_per_m(
            frequency_hz, temperature_c, humidity_percent, pressure_kpa
        )
        humidity = humidity_percent / 100 * (101.325 / pressure_kpa) ** 2
        db_per_m, _, _ = pyfar.constants.air_attenuation(
            temperature_c, frequency_hz, humidity, pressure_kpa * 1000
        )
        pairs.append((np.squeeze(db_per_m), ours))
    theirs, found = np.transpose(pairs, (1, 0, 2))
    outside.check(
        "air",
        "absorption in 50 airs of −20 to 50 °C, 10 to 60 %, 80 to 110 kPa, 50 Hz to 10 kHz",
        Source("the equations of ISO 9613-1:1993 by pyfar", Kind.LIBRARY, "pyfar 0.8"),
        theirs=theirs,
        ours=found,
        unit="dB/m",
        relative=1e-9,
        why="the same equations; rounding",
    )


def test_sound_speed_agrees_with_cramer_through_pyfar() -> None:
    # O. Cramer, J. Acoust. Soc. Am. 93, 2510 (1993), for 0 to 30 °C and 75 to 102 kPa. Measured
    # air is a little faster than the ideal gas with a heat ratio of 7/5: 331.45 to 331.32 m/s dry
    # at 0 °C, 4·10⁻⁴, as much as 0.2 K does.
    rng = np.random.default_rng(2)
    ratios = []
    for _ in range(200):
        temperature_c = rng.uniform(0.0, 30.0)
        humidity_percent = rng.uniform(5.0, 95.0)
        pressure_kpa = rng.uniform(76.0, 102.0)
        air = ha.Air(
            temperature_c=temperature_c,
            humidity_percent=humidity_percent,
            pressure_kpa=pressure_kpa,
        )
        reference = pyfar.constants.speed_of_sound_cramer(
            temperature_c, humidity_percent / 100, atmospheric_pressure=pressure_kpa * 1000
        )
        ratios.append(ha.acoustics.sound_speed_m_s(air) / reference - 1.0)
    assert np.max(np.abs(ratios)) < 5e-4


def test_absorption_keeps_the_shape_it_is_given() -> None:
    assert ha.air_absorption_db_per_m(1000.0).shape == ()
    assert ha.air_absorption_db_per_m([1000.0, 2000.0]).shape == (2,)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("temperature_c", -21.0),
        ("temperature_c", float("nan")),
        ("humidity_percent", 0.0),
        ("humidity_percent", 101.0),
        ("pressure_kpa", 0.0),
        ("frequency_hz", -1.0),
        ("frequency_hz", 0.0),
        ("frequency_hz", 2e6),
        ("frequency_hz", float("inf")),
        ("frequency_hz", "low"),
    ],
)
def test_bad_air_is_refused_by_name(field: str, value: object) -> None:
    with pytest.raises(ha.InputError) as caught:
        ha.air_absorption_db_per_m(**{"frequency_hz": 1000.0, field: value})
    assert caught.value.field.startswith(field)
