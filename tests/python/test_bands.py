"""Third octaves and weightings against the standards' tables and a reference library."""

from __future__ import annotations

import hangarc as ha
import numpy as np
import pyfar
import pytest
from outside import Outside, ran


def test_mid_bands_and_edges_are_those_of_iec_61260_1_base_ten() -> None:
    # IEC 61260-1:2014, 5.2 to 5.6: f_m = 1000 · G^{x/3}, G = 10^{3/10}; edges f_m · G^{±1/6}.
    levels = ha.acoustics.point_levels(
        ha.Rig(hangs=[]), np.empty((0, 3)), lowest_hz=20.0, highest_hz=20_000.0
    )
    g = 10**0.3
    np.testing.assert_allclose(levels.band_hz, 1000 * g ** (np.arange(-17, 14) / 3), rtol=1e-14)
    for lines in (1, 5, 8, 9, 24):
        f = ha.acoustics.band_lines_hz(20.0, 20_000.0, lines).reshape(-1, lines)
        assert np.all(f >= (levels.band_hz * g ** (-1 / 6))[:, None])
        assert np.all(f < (levels.band_hz * g ** (1 / 6))[:, None])
        if lines <= 8:
            np.testing.assert_array_equal(f[3:], 2 * f[:-3])
        else:
            # Each line stands for an equal part of the whole band.
            step = g ** (1 / (3 * lines))
            np.testing.assert_allclose(f[:, 1:] / f[:, :-1], step, rtol=1e-12)
            np.testing.assert_allclose(f[:, 0], levels.band_hz * g ** (-1 / 6) * step**0.5)


def test_nominal_bands_are_pyfars(outside: Outside) -> None:
    _, exact = pyfar.dsp.filter.fractional_octave_frequencies(3, (20, 20_000))
    levels = ha.acoustics.point_levels(
        ha.Rig(hangs=[]), np.empty((0, 3)), lowest_hz=20.0, highest_hz=20_000.0
    )
    # pyfar leaves out the band at 20 Hz, whose lower edge lies below the range.
    outside.check(
        "bands", "middles of the third octaves, 25 Hz to 20 kHz",
        ran("pyfar", "fractional octaves by pyfar"), theirs=exact, ours=levels.band_hz[1:],
        unit="Hz", relative=1e-9, why="rounding",
    )  # fmt: skip


def test_weightings_are_derived_as_the_standard_derives_them() -> None:
    # IEC 61672-1:2013, annex E, equations (E.1) to (E.8).
    low, high, mid, d = 10**1.5, 10**3.9, 1000.0, np.sqrt(0.5)
    b = (mid**2 + low**2 * high**2 / mid**2 - d * (low**2 + high**2)) / (1 - d)
    c = low**2 * high**2
    f1, f4 = (np.sqrt((-b + sign * np.sqrt(b**2 - 4 * c)) / 2) for sign in (-1, 1))
    f2, f3 = ((3 + sign * np.sqrt(5)) / 2 * 10**2.45 for sign in (-1, 1))
    f = np.geomspace(10.0, 20_000.0, 60)

    def c_gain(f: np.ndarray) -> np.ndarray:
        return f4**2 * f**2 / ((f**2 + f1**2) * (f**2 + f4**2))

    def a_gain(f: np.ndarray) -> np.ndarray:
        return c_gain(f) * f**2 / np.sqrt((f**2 + f2**2) * (f**2 + f3**2))

    poles = np.sort([f1, f4])
    assert poles == pytest.approx([20.6, 12194.0], rel=1e-3)
    f1, f4 = poles
    for gain, name in ((a_gain, "A"), (c_gain, "C")):
        expected = 20 * np.log10(gain(f) / gain(np.array(1000.0)))
        np.testing.assert_allclose(ha.acoustics.weighting_db(f, name), expected, atol=1e-5)
    np.testing.assert_array_equal(ha.acoustics.weighting_db([20.0, 5000.0], "Z"), 0.0)


@pytest.mark.parametrize(("field", "value"), [("frequency_hz", -1.0), ("weighting", "B")])
def test_bad_weightings_are_refused(field: str, value: object) -> None:
    with pytest.raises(ha.InputError, match=field):
        ha.acoustics.weighting_db(**{"frequency_hz": 1000.0, field: value})
