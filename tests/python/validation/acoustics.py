"""Published acoustic values (truth from outside, copied as printed).

Values marked `from memory` have not been compared with the printed page.
"""

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

# IEC 61672-1:2013, table 3; from memory.
WEIGHTING_HZ = [31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 16000]
A_WEIGHTING_DB = [-39.4, -26.2, -16.1, -8.6, -3.2, 0.0, 1.2, 1.0, -1.1, -6.6]
