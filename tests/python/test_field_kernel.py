"""What the kernel promises: the same bits for any thread count, little memory, sections."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import builders
import hangarc as ha
import numpy as np
import pytest

SAME_BITS = """
import hashlib, builders, hangarc as ha, numpy as np
rng = np.random.default_rng(5)
points = rng.uniform((5, -15, 0), (60, 15, 8), (3001, 3))
f = np.concatenate([rng.uniform(60, 9000, 7), ha.acoustics.band_lines_hz()])
p = ha.pressure(builders.hang([0.5, 1.0, 3.0, 7.0]), 1.0, 9.0, points, f)
levels = ha.seat_levels(builders.hang([0.5, 1.0]), 1.0, 9.0, builders.venue())
print(hashlib.sha256(p.tobytes() + levels.level_db.tobytes()).hexdigest())
"""

PEAK = """
import resource, builders, hangarc as ha, numpy as np
points = np.random.default_rng(0).uniform((20, -15, 0), (80, 15, 8), (20_000, 3))
hang = builders.hang([0.5] * 17)
f = np.geomspace(100.0, 8000.0, 40)
def peak(): return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
ha.pressure(hang, 2.0, 12.0, points[:64], f)
before = peak()
p = ha.pressure(hang, 2.0, 12.0, points, f)
print(peak() - before - p.nbytes / 2**20)
"""


def answer(script: str, **environment: str) -> str:
    """What a process of its own prints."""
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=Path(__file__).parent,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.strip()


def test_one_two_and_eight_threads_give_the_same_bits() -> None:
    hashes = {answer(SAME_BITS, RAYON_NUM_THREADS=threads) for threads in ("1", "2", "8")}
    assert len(hashes) == 1


def test_memory_above_input_and_output_is_bounded() -> None:
    # Elements of 0.34 m are cut into four or more: 72 sub-elements × 20,000 × 40.
    assert float(answer(PEAK)) < 64.0


def test_arrays_are_taken_as_they_are_and_given_as_numpys_own() -> None:
    points = np.array([[10.0, 0.0, 1.2], [18.0, -4.0, 1.2], [30.0, 6.0, 3.0]])
    hang, f = builders.hang([1.0, 2.0]), np.array([500.0, 2000.0])
    p = ha.pressure(hang, 1.0, 9.0, points, f)
    assert p.flags.c_contiguous
    assert p.flags.writeable
    np.testing.assert_array_equal(points[:, 0], [10.0, 18.0, 30.0])
    for other in (np.asfortranarray(points), points.astype(np.float32).tolist()):
        np.testing.assert_allclose(ha.pressure(hang, 1.0, 9.0, other, f), p, rtol=1e-4)


def test_sections_sound_in_their_bands_from_their_own_places() -> None:
    # Two sections: low, 0.1 m behind and 0.05 m under the middle, delayed and inverted; high, in
    # front. Far away each is a point source at its own place, here in three dimensions.
    low = ha.LineElement(
        height_m=1e-4, x_m=-0.1, z_m=-0.05, high_hz=800.0, delay_s=0.0004, inverted=True
    )
    high = ha.LineElement(height_m=1e-4, x_m=0.02, z_m=0.06, low_hz=800.0, gain_db=-3.0)
    cabinet = builders.cabinet(source=ha.Source(elements=[low, high]))
    hang = builders.hang([4.0], cabinets=[cabinet] * 2)
    pose = ha.pose(hang, -3.0, 9.0)
    points = np.array([[12.0, 3.0, 1.2], [25.0, -7.0, 4.0]])
    f = np.array([200.0, 800.0, 3000.0])
    p = ha.pressure(hang, -3.0, 9.0, points, f, pan_deg=12.0)
    k, alpha = 2 * np.pi * f / ha.acoustics.sound_speed_m_s(), ha.air_absorption_db_per_m(f)
    turn = np.radians(12.0)
    expected = np.zeros((3, 2), complex)
    for (x, z), axis in zip(pose.front_m, np.radians(pose.axis_deg), strict=True):
        for line, frequency in enumerate(f):
            element = low if frequency < 800.0 else high
            along = x + element.x_m * np.cos(axis) - element.z_m * np.sin(axis)
            up = z + element.x_m * np.sin(axis) + element.z_m * np.cos(axis)
            place = [along * np.cos(turn), along * np.sin(turn), up]
            d = np.linalg.norm(points - place, axis=1)
            weight = (-1) ** element.inverted * 10 ** (element.gain_db / 20)
            phase = np.exp(-1j * (k[line] * d + 2 * np.pi * frequency * element.delay_s))
            expected[line] += weight * phase / d * 10 ** (-alpha[line] * d / 20)
    np.testing.assert_allclose(p, expected, rtol=1e-5)


@pytest.mark.parametrize("curvature_deg", [5.0, 20.0, 60.0])
def test_a_curved_element_radiates_as_the_arc_whose_chord_it_is(curvature_deg: float) -> None:
    height_m, f = 0.3, np.array([1000.0, 4000.0, 9000.0])
    element = ha.LineElement(height_m=height_m, curvature_deg=curvature_deg)
    hang = builders.hang([], cabinets=[builders.cabinet(source=ha.Source(elements=[element]))])
    angles = np.radians([-25.0, 0.0, 10.0, 40.0])
    x, z = ha.pose(hang, 0.0, 9.0).front_m[0]
    points = np.column_stack([x + 15 * np.cos(angles), z + 15 * np.sin(angles)])
    rig = ha.Rig(hangs=[ha.Placed(hang=hang, tilt_deg=0.0, top_m=9.0)], far_field_tolerance=1e-6)
    p = ha.acoustics.pressure(rig, receivers_m=points, frequency_hz=f)
    opening = np.radians(curvature_deg)
    radius = height_m / 2 / np.sin(opening / 2)
    around = opening * ((np.arange(20_000) + 0.5) / 20_000 - 0.5)
    arc = np.column_stack([x + radius * (np.cos(around) - 1), z + radius * np.sin(around)])
    d = np.linalg.norm(points[:, None] - arc, axis=2)
    for line, frequency in enumerate(f):
        k = 2 * np.pi * frequency / ha.acoustics.sound_speed_m_s()
        decay = 10 ** (-ha.air_absorption_db_per_m(frequency) * d / 20)
        expected = np.mean(np.exp(-1j * k * d) / d * decay, axis=1)
        np.testing.assert_allclose(p[line], expected, rtol=1e-4, atol=1e-6)
