"""Published acoustic values (truth from outside, copied as printed).

Values marked `from memory` have not been compared with the printed page; the others stand in the
package that is named.
"""

import numpy as np

# ISO 9613-2:1996, table 2, computed there by ISO 9613-1:1993, rounded to the printed digits;
# from memory. Attenuation in dB/km at octave mid-bands, kept as text to keep the printed digits.
AIR_OCTAVE_HZ = [63, 125, 250, 500, 1000, 2000, 4000, 8000]
AIR_DB_PER_KM = {
    # (temperature_c, humidity_percent)
    (10, 70): "0.1 0.4 1.0 1.9 3.7 9.7 32.8 117",
    (20, 70): "0.1 0.3 1.1 2.8 5.0 9.0 22.9 76.6",
    (30, 70): "0.1 0.3 1.0 3.1 7.4 12.7 23.1 59.3",
    (15, 20): "0.3 0.6 1.2 2.7 8.2 28.2 88.8 202",
    (15, 50): "0.1 0.5 1.2 2.2 4.2 10.8 36.2 129",
    (15, 80): "0.1 0.3 1.1 2.4 4.1 8.3 23.7 82.8",
}

# IEC 61672-1:2013, table 3, at the nominal frequencies, as `data/iec_61672_1_2013.csv` of the PyPI
# package acoustics 0.2.6 (BSD-3-Clause) carries it.
WEIGHTING_HZ = np.array(
    [
        10.0,
        12.5,
        16.0,
        20.0,
        25.0,
        31.5,
        40.0,
        50.0,
        63.0,
        80.0,
        100.0,
        125.0,
        160.0,
        200.0,
        250.0,
        315.0,
        400.0,
        500.0,
        630.0,
        800.0,
        1000.0,
        1250.0,
        1600.0,
        2000.0,
        2500.0,
        3150.0,
        4000.0,
        5000.0,
        6300.0,
        8000.0,
        10000.0,
        12500.0,
        16000.0,
        20000.0,
    ]
)
A_WEIGHTING_DB = np.array(
    [
        -70.4,
        -63.4,
        -56.7,
        -50.5,
        -44.7,
        -39.4,
        -34.6,
        -30.2,
        -26.2,
        -22.5,
        -19.1,
        -16.1,
        -13.4,
        -10.9,
        -8.6,
        -6.6,
        -4.8,
        -3.2,
        -1.9,
        -0.8,
        0.0,
        0.6,
        1.0,
        1.2,
        1.3,
        1.2,
        1.0,
        0.5,
        -0.1,
        -1.1,
        -2.5,
        -4.3,
        -6.6,
        -9.3,
    ]
)
C_WEIGHTING_DB = np.array(
    [
        -14.3,
        -11.2,
        -8.5,
        -6.2,
        -4.4,
        -3.0,
        -2.0,
        -1.3,
        -0.8,
        -0.5,
        -0.3,
        -0.2,
        -0.1,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
        -0.1,
        -0.2,
        -0.3,
        -0.5,
        -0.8,
        -1.3,
        -2.0,
        -3.0,
        -4.4,
        -6.2,
        -8.5,
        -11.2,
    ]
)

# ISO 9613-1:1993, table 1, rows at one atmosphere in dB/km, printed to three digits, as
# `tests/data/absorption_coefficient.csv` of the same package carries them.
# The bands from 50 Hz to 10 kHz.
AIR_THIRDS_HZ = WEIGHTING_HZ[7:31]
AIR_THIRDS_DB_PER_KM = {
    # (temperature_c, humidity_percent)
    (-20.0, 10.0): [
        0.589,
        0.756,
        0.924,
        1.08,
        1.2,
        1.3,
        1.37,
        1.43,
        1.46,
        1.49,
        1.52,
        1.55,
        1.59,
        1.65,
        1.74,
        1.88,
        2.1,
        2.44,
        2.99,
        3.86,
        5.24,
        7.42,
        10.9,
        16.4,
    ],
    (-15.0, 30.0): [
        0.212,
        0.305,
        0.446,
        0.66,
        0.979,
        1.45,
        2.1,
        2.97,
        4.05,
        5.27,
        6.52,
        7.67,
        8.65,
        9.44,
        10.1,
        10.6,
        11,
        11.5,
        12.2,
        13.1,
        14.6,
        16.8,
        20.3,
        25.9,
    ],
    (25.0, 80.0): [
        0.0426,
        0.0673,
        0.106,
        0.167,
        0.262,
        0.409,
        0.631,
        0.963,
        1.44,
        2.1,
        2.95,
        3.97,
        5.12,
        6.35,
        7.62,
        9.01,
        10.7,
        12.9,
        16.2,
        21.1,
        28.8,
        40.8,
        59.8,
        89.6,
    ],
}

# Single values of the same table, as `tests/test_constants_air_attenuation.py` of pyfar 0.8.1 (MIT)
# carries them: temperature_c, frequency_hz, humidity_percent, dB/km.
AIR_POINTS = [
    (10.0, 1000.0, 10.0, 21.6),
    (10.0, 100.0, 10.0, 0.585),
    (-20.0, 800.0, 30.0, 4.92),
    (35.0, 4000.0, 60.0, 25.8),
    (20.0, 5000.0, 10.0, 133.0),
    (20.0, 5000.0, 80.0, 30.6),
    (50.0, 1000.0, 70.0, 8.03),
]

# Tapers w(z) = a0 − a1 cos 2z + a2 cos 4z − …, z from 0 to π along the line: coefficients, greatest
# side lobe in dB, bandwidth in bins. G. Heinzel, A. Rüdiger, R. Schilling, "Spectrum and spectral
# density estimation by the Discrete Fourier transform", 2002, as `flattop.py` of the PyPI package
# speckit 1.0.3 (BSD-3-Clause) carries them.
COSINE_TAPERS = {
    "SFT3F": ([0.26526, 0.5, 0.23474], -31.7, 3.1681),
    "SFT4F": ([0.21706, 0.42103, 0.28294, 0.07897], -44.7, 3.7970),
    "SFT5F": ([0.1881, 0.36923, 0.28702, 0.13077, 0.02488], -57.3, 4.3412),
    "SFT3M": ([0.28235, 0.52105, 0.19659], -44.2, 2.9452),
    "SFT4M": ([0.241906, 0.460841, 0.255381, 0.041872], -66.5, 3.3868),
    "FTNI": ([0.2810639, 0.5208972, 0.1980399], -44.4, 2.9656),
    "FTHP": ([1.0, 1.912510941, 1.079173272, 0.1832630879], -70.4, 3.4279),
    "HFT70": ([1.0, 1.90796, 1.07349, 0.18199], -70.4, 3.4129),
}

# Bandwidth in bins of other tapers, x from −1 to 1 along the line: F. J. Harris, "On the use of
# windows for harmonic analysis with the discrete Fourier transform", Proc. IEEE 66:51, 1978,
# table 1, as the documentation of `enbw` in the PyPI package spectrum 0.10.0 (BSD-3-Clause)
# carries its digits.
TAPER_BANDWIDTH = {
    "rectangular": (lambda x: np.ones_like(x), 1.0, 0.005),
    "triangle": (lambda x: 1.0 - np.abs(x), 1.33, 0.005),
    "Hann": (lambda x: np.cos(np.pi * x / 2) ** 2, 1.5, 0.005),
    "Hamming": (lambda x: 0.54 + 0.46 * np.cos(np.pi * x), 1.36, 0.005),
    "Riesz": (lambda x: 1.0 - x**2, 1.2, 0.005),
    "Bohman": (
        lambda x: (1 - np.abs(x)) * np.cos(np.pi * x) + np.sin(np.pi * np.abs(x)) / np.pi,
        1.79,
        0.005,
    ),
    "Poisson 2": (lambda x: np.exp(-2.0 * np.abs(x)), 1.3, 0.05),
}
