"""Measures of coverage against NumPy and against cases with a known answer."""

from __future__ import annotations

import dataclasses

import builders
import hangarc as ha
import numpy as np
import pytest


def levels() -> ha.acoustics.SeatLevels:
    venue = builders.venue(areas=[builders.area(places_across=3)])
    return ha.seat_levels(builders.hang([0.5, 1.0, 2.0]), 0.0, 8.0, venue)


def test_a_known_fall_is_found() -> None:
    found = levels()
    distance = np.linalg.norm(found.position_m - [0.0, 0.0, 8.0], axis=1)
    made_up = dataclasses.replace(found, level_db=3.0 - 4.5 * np.log2(distance))
    measure = ha.acoustics.coverage(made_up, origin_m=(0.0, 0.0, 8.0))
    assert measure.fall_per_doubling_db == pytest.approx(-4.5, rel=1e-12)


def test_the_fall_is_numpys_weighted_line() -> None:
    found = levels()
    distance = np.linalg.norm(found.position_m, axis=1)
    slope = np.polyfit(np.log2(distance), found.level_db, 1, w=np.sqrt(found.weight))[0]
    assert ha.acoustics.coverage(found).fall_per_doubling_db == pytest.approx(slope, rel=1e-9)


def test_equal_spectra_have_no_spread_and_holes_are_counted_by_weight() -> None:
    found = levels()
    tilt = np.linspace(0, -9, 10)[:, None]
    same = dataclasses.replace(found, band_level_db=found.level_db + tilt)
    assert ha.acoustics.coverage(same).spectral_spread_db == pytest.approx(0.0, abs=1e-12)
    level_db = np.zeros(len(found.level_db))
    level_db[:5] = -20.0
    holes = dataclasses.replace(found, level_db=level_db)
    expected = found.weight[:5].sum() / found.weight.sum()
    assert ha.acoustics.coverage(holes).share_of_holes == pytest.approx(expected, rel=1e-12)


def test_the_weighted_level_of_one_band_is_the_band_plus_its_weighting() -> None:
    hang = builders.hang([0.5])
    rig = ha.Rig(hangs=[ha.Placed(hang=hang, tilt_deg=0.0, top_m=8.0)])
    one = ha.acoustics.point_levels(rig, [[10.0, 0.0, 1.2]], lowest_hz=125.0, highest_hz=125.0)
    expected = one.level_db + ha.acoustics.weighting_db(one.band_hz, "A")
    np.testing.assert_allclose(ha.acoustics.weighted_level_db(one, "A"), expected, rtol=1e-12)
    np.testing.assert_allclose(ha.acoustics.weighted_level_db(one, "Z"), one.level_db, rtol=1e-12)
