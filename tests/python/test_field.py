"""The direct field against closed forms, plain sums and its own promises."""

from __future__ import annotations

import builders
import hangarc as ha
import numpy as np
import pytest

AIR = ha.Air()


def test_one_cabinet_gives_unit_pressure_times_distance_on_its_axis() -> None:
    hang = builders.hang([])
    middle_m = 10.0 - 0.18
    for distance_m in (30.0, 80.0):
        p = ha.pressure(hang, 0.0, 10.0, [[distance_m, 0.0, middle_m]], [500.0])
        alpha = ha.air_absorption_db_per_m(500.0)
        expected = 10 ** (-alpha * distance_m / 20) / distance_m
        k = 2 * np.pi * 500.0 / ha.acoustics.sound_speed_m_s()
        np.testing.assert_allclose(p[0, 0], expected * np.exp(-1j * k * distance_m), rtol=2e-3)


def test_shapes_and_the_plane_of_the_hang() -> None:
    hang = builders.hang([1.0, 2.0])
    flat = ha.pressure(hang, 1.0, 9.0, [[10.0, 1.2], [20.0, 1.2]], [250.0, 1000.0, 4000.0])
    full = ha.pressure(hang, 1.0, 9.0, [[10, 0, 1.2], [20, 0, 1.2]], [250.0, 1000.0, 4000.0])
    assert flat.shape == (3, 2)
    assert flat.dtype == np.complex128
    np.testing.assert_array_equal(flat, full)


def test_moving_and_panning_the_hang_is_moving_the_listener() -> None:
    hang = builders.hang([1.0, 2.0])
    points = np.array([[12.0, 1.0, 1.2], [20.0, -5.0, 2.0]])
    turn = np.radians(25.0)
    turned = points.copy()
    turned[:, 0] = 3.0 + points[:, 0] * np.cos(turn) - points[:, 1] * np.sin(turn)
    turned[:, 1] = -2.0 + points[:, 0] * np.sin(turn) + points[:, 1] * np.cos(turn)
    f = [300.0, 3000.0]
    here = ha.pressure(hang, 1.0, 9.0, points, f)
    there = ha.pressure(hang, 1.0, 9.0, turned, f, position_m=(3.0, -2.0), pan_deg=25.0)
    np.testing.assert_allclose(there, here, rtol=1e-9)


def test_a_quarter_to_the_side_of_the_coverage_is_6_db_down() -> None:
    hang = builders.hang([])
    f = [1000.0]
    ahead = ha.pressure(hang, 0.0, 0.18, [[20.0, 0.0, 0.0]], f)
    angle = np.radians(45.0)
    side = ha.pressure(hang, 0.0, 0.18, [[20 * np.cos(angle), 20 * np.sin(angle), 0.0]], f)
    np.testing.assert_allclose(side / ahead, 0.5, rtol=1e-9)


def test_a_cabinet_without_a_source_is_named() -> None:
    hang = builders.hang([0.0], cabinets=[builders.cabinet(), builders.cabinet(source=None)])
    with pytest.raises(ha.InputError) as caught:
        ha.pressure(hang, 0.0, 9.0, [[10.0, 0.0, 1.2]], [1000.0])
    assert caught.value.field == "cabinets[1].source"


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("receivers_m", [[1.0]]),
        ("receivers_m", [1.0, 2.0, 3.0]),
        ("receivers_m", [[10.0, 0.0, float("nan")]]),
        ("receivers_m", [[10.0, 0.0, 1.2], [0.0, 0.0, 8.8]]),
        ("receivers_m", "here"),
        ("frequency_hz", [1000.0, -5.0]),
        ("frequency_hz", [[1000.0]]),
        ("tilt_deg", 91.0),
        ("top_m", float("inf")),
        ("position_m", (1.0,)),
        ("pan_deg", float("nan")),
        ("air", 20.0),
        ("hang", None),
    ],
)
def test_bad_arguments_are_refused_by_name(field: str, value: object) -> None:
    good = {
        "hang": builders.hang([]),
        "tilt_deg": 0.0,
        "top_m": 9.0,
        "receivers_m": [[10.0, 0.0, 1.2]],
        "frequency_hz": [1000.0],
    }
    with pytest.raises(ha.InputError) as caught:
        ha.pressure(**{**good, field: value})
    assert caught.value.field.startswith(field)


def test_no_receivers_and_no_frequencies_give_empty_arrays() -> None:
    hang = builders.hang([])
    assert ha.pressure(hang, 0.0, 9.0, np.empty((0, 3)), [1000.0]).shape == (1, 0)
    assert ha.pressure(hang, 0.0, 9.0, [[10.0, 0.0, 1.2]], []).shape == (0, 1)


def test_seat_levels_are_the_energy_means_of_the_pressures_at_the_seats() -> None:
    hang = builders.hang([0.5, 1.0, 2.0])
    venue = builders.venue()
    levels = ha.seat_levels(hang, 0.0, 8.0, venue)
    assert levels.level_db.shape == levels.weight.shape == levels.area.shape
    assert levels.band_level_db.shape == (10, len(levels.level_db))
    np.testing.assert_allclose(levels.band_hz, 1000 * 10 ** (np.arange(10) / 10))
    # The lines of the first band: 1000·2^s, s within a third octave, five of them.
    lines_hz = 1000 * 2 ** (np.linspace(-1, 1, 5) * 4 / 30)
    p = ha.pressure(hang, 0.0, 8.0, levels.position_m, lines_hz)
    expected = 10 * np.log10(np.mean(np.abs(p) ** 2, axis=0))
    # Up to 8 kHz the elements are cut finer than up to 1 kHz: within the far-field tolerance.
    np.testing.assert_allclose(levels.band_level_db[0], expected, atol=0.05)
    total = 10 * np.log10(np.mean(10 ** (levels.band_level_db / 10), axis=0))
    np.testing.assert_allclose(levels.level_db, total, rtol=1e-12)


def test_evenness_is_the_weighted_deviation_of_the_seat_levels() -> None:
    hang = builders.hang([0.5, 1.0, 2.0])
    venue = builders.venue(
        areas=[builders.area(), builders.area(name="circle", profile_m=[(25, 5), (35, 9)])]
    )
    levels = ha.seat_levels(hang, 0.0, 8.0, venue)
    mean = np.average(levels.level_db, weights=levels.weight)
    expected = np.sqrt(np.average((levels.level_db - mean) ** 2, weights=levels.weight))
    assert ha.evenness_db(hang, 0.0, 8.0, venue) == pytest.approx(expected, rel=1e-12)
    assert set(levels.area) == {0, 1}
