"""The field against published theory of line sources and against general-purpose libraries.

Closed forms are computed here, each with its source beside it. The calculation includes the air's
absorption; where the theory has none, it is taken out again through `air_absorption_db_per_m`,
which for one distance common to all elements is exact and otherwise is said.
"""

from __future__ import annotations

from typing import Any

import builders
import hangarc as ha
import mpmath
import numpy as np
import pytest
import sfs
from outside import Kind, Outside, Source
from scipy.special import fresnel, hankel2

C_M_S = ha.acoustics.sound_speed_m_s()


def level_db(p: np.ndarray) -> np.ndarray:
    return 20.0 * np.log10(np.abs(p))


def lossless(p: np.ndarray, frequency_hz: Any, distance_m: Any) -> np.ndarray:
    """Take the air's absorption over `distance_m` (one for each receiver) out again."""
    decay_db = np.outer(ha.air_absorption_db_per_m(np.atleast_1d(frequency_hz)), distance_m)
    return p * 10.0 ** (decay_db / 20.0)


def faded(place: np.ndarray) -> np.ndarray:
    """Rise from 0 at 0 to 1 at 1 with all derivatives continuous."""
    x = np.clip(place, 2e-3, 1 - 2e-3)
    return 1 / (1 + np.exp(1 / x - 1 / (1 - x)))


def column(count: int, height_m: float, splay_deg: float = 0.0, fill: float = 1.0, **source: Any):
    """Cabinets of `height_m` whose lines fill the share `fill` of it, all splays alike."""
    element = ha.LineElement(height_m=height_m * fill)
    cabinet = builders.cabinet(
        height_m=height_m,
        rear_pin_inset_m=min(0.05, height_m / 4),
        splay_positions_deg=[splay_deg],
        source=ha.Source(elements=[element], **source),
    )
    return builders.hang([splay_deg] * (count - 1), cabinets=[cabinet] * count)


# --- Straight line -----------------------------------------------------------------------------


@pytest.mark.parametrize("distance_m", [2.0, 4.0, 8.0, 16.0, 32.0, 64.0])
def test_a_straight_line_has_the_fresnel_integral_near_and_far(distance_m: float) -> None:
    # Paraxial line of length L and strength m a metre on its perpendicular bisector:
    # |p| = (m/r) |∫ e^{−jkz²/2r} dz| = (m/r) √(λ r/2) · 2 |F(L/2 √(2/(λ r)))|, F = C + jS the
    # Fresnel integrals (Born & Wolf, Principles of Optics, 8.7; from memory).
    length_m, f = 4.0, 4000.0
    hang = column(10, length_m / 10)
    wavelength_m = C_M_S / f
    p = ha.pressure(hang, 0.0, 20.0, [[distance_m, 20.0 - length_m / 2]], [f])
    s, c = fresnel(length_m / 2 * np.sqrt(2.0 / (wavelength_m * distance_m)))
    # Sum over 10 elements of unit strength: 10/L per metre.
    per_m = 10 / length_m
    paraxial = per_m / distance_m * np.sqrt(wavelength_m * distance_m / 2.0) * 2 * np.hypot(c, s)
    # The exact integral without the paraxial step, for the tight comparison.
    z = (np.arange(200_000) + 0.5) / 200_000 * length_m - length_m / 2
    d = np.hypot(distance_m, z)
    k = 2 * np.pi * f / C_M_S
    alpha = ha.air_absorption_db_per_m(f)
    exact = per_m * length_m * np.mean(np.exp(-1j * k * d) / d * 10 ** (-alpha * d / 20))
    assert abs(level_db(p[0, 0]) - level_db(exact)) < 0.02
    # The paraxial form is good where r > L/2 by far; its own error is bounded by the exact one.
    own_error_db = abs(level_db(exact) + alpha * distance_m - level_db(paraxial))
    if distance_m >= 8.0:
        assert own_error_db < 0.15
        got_db = level_db(p[0, 0]) + alpha * distance_m
        assert abs(got_db - level_db(paraxial)) < 0.15


def test_the_border_distance_parts_3_db_from_6_db_a_doubling(outside: Outside) -> None:
    # The field of a line of length L falls by 3 dB a doubling well within the border distance
    # r_b ≈ L²/(2λ) (L² f / 2c) and by 6 dB well beyond it (Ureda, J. Audio Eng. Soc. 52(5), 2004;
    # from memory). Averaged over a decade of ripple by a fit.
    length_m, f = 4.0, 4000.0
    border_m = length_m**2 * f / (2 * C_M_S)
    hang = column(10, length_m / 10)

    def fall_db(from_m: float, to_m: float) -> tuple[float, float]:
        """Fall per doubling, and the level at 1 m that the nearest of 3 and 6 dB points back to."""
        r = np.geomspace(from_m, to_m, 400)
        points = np.column_stack([r, np.full(len(r), 20.0 - length_m / 2)])
        found_db = level_db(lossless(ha.pressure(hang, 0.0, 20.0, points, [f]), f, r)[0])
        fall = np.polyfit(np.log2(r), found_db, 1)[0]
        return fall, np.mean(found_db + 10 * round(-fall / 3) * np.log10(r))

    near_db, near_at_1_m_db = fall_db(border_m / 40, border_m / 10)
    far_db, far_at_1_m_db = fall_db(border_m * 4, border_m * 16)
    outside.check(
        "line sources",
        "a straight 4 m line at 4 kHz: fall per doubling, near and far",
        Source("Ureda, J. Audio Eng. Soc. 52(5), 2004; from memory", Kind.MEMORY),
        theirs=[-3.0, -6.0],
        ours=[near_db, far_db],
        unit="dB",
        within=np.array([0.35, 0.1]),
        why="ripple of the near field, which a fit over a decade does not wholly average",
    )
    # The asymptotes √(λ/r)/L and 1/r cross where √(λ r) = L, at L²/λ = 2 r_b.
    crossing_m = 10 ** ((far_at_1_m_db - near_at_1_m_db) / 10)
    assert crossing_m == pytest.approx(2 * border_m, rel=0.05)


def test_the_far_field_of_a_line_has_its_half_power_and_6_db_angles(outside: Outside) -> None:
    # D = sin x / x with x = (kL/2) sin a: half power and half pressure where mpmath finds them
    # (Beranek & Mellow, Acoustics: Sound Fields and Transducers, 2012, ch. 4 prints 1.39156 and
    # 1.89549; from memory).
    half = [
        float(mpmath.findroot(lambda x, share=share: mpmath.sinc(x) - share, 1.5))
        for share in (mpmath.sqrt(0.5), mpmath.mpf(0.5))
    ]
    assert np.abs(np.array(half) - [1.39156, 1.89549]).max() < 1e-5
    length_m, f, r = 1.2, 2000.0, 400.0
    hang = column(4, length_m / 4)
    half_k_l = np.pi * f / C_M_S * length_m
    middle = 50.0 - length_m / 2

    def at(angle_rad: float) -> np.ndarray:
        point = [[r * np.cos(angle_rad), middle + r * np.sin(angle_rad)]]
        return ha.pressure(hang, 0.0, 50.0, point, [f])[0, 0]

    angles = [sign * np.arcsin(x / half_k_l) for x in half for sign in (-1, 1)]
    outside.check(
        "directivity",
        "a uniform line: fall at its half-power and its −6 dB angles, up and down",
        Source("sin x / x, its roots by mpmath", Kind.DERIVED, f"mpmath {mpmath.__version__}"),
        theirs=20 * np.log10([2**0.5, 2**0.5, 2.0, 2.0]),
        ours=[level_db(at(0.0)) - level_db(at(angle)) for angle in angles],
        unit="dB",
        within=0.01,
        why="at 400 m the far field is reached to 0.01 dB",
    )


# --- Arc ---------------------------------------------------------------------------------------


def test_an_arc_is_6_db_down_at_its_ends_and_falls_6_db_a_doubling(outside: Outside) -> None:
    # High-frequency stationary phase: inside the opening the level is that of the local
    # curvature, at the edge half the stationary region is missing, −6 dB; and the level falls as
    # 1/√(r (1 + r/R)) (Ureda, J. Audio Eng. Soc. 52(5), 2004; from memory).
    count, height_m, splay_deg = 60, 0.08, 1.0
    radius_m = height_m / np.radians(splay_deg)
    hang = column(count, height_m, splay_deg)
    pose = ha.pose(hang, 30.0, 20.0)
    # Centre of the arc behind the middle cabinet.
    axis = np.radians(pose.axis_deg)
    ahead = np.column_stack([np.cos(axis), np.sin(axis)])
    centre = (pose.front_m - radius_m * ahead).mean(axis=0)
    middle_deg = pose.axis_deg.mean()
    f = np.geomspace(6000.0, 12000.0, 60)

    def mean_db(angle_deg: float, r: float) -> float:
        angle = np.radians(middle_deg + angle_deg)
        point = centre + (radius_m + r) * np.array([np.cos(angle), np.sin(angle)])
        p = ha.pressure(hang, 30.0, 20.0, [point], f)
        return 10 * np.log10(np.mean(np.abs(lossless(p, f, [r])) ** 2))

    inside = np.mean([mean_db(angle, 60.0) for angle in np.linspace(-18, 18, 13)])
    source = Source("Ureda, J. Audio Eng. Soc. 52(5), 2004; from memory", Kind.MEMORY)
    outside.check(
        "line sources",
        "an arc of 60°: level at its two ends over that inside",
        source,
        theirs=-6.0,
        ours=[mean_db(end * count * splay_deg / 2, 60.0) - inside for end in (-1, 1)],
        unit="dB",
        within=0.7,
        why="ripple between 6 and 12 kHz, which a mean over 60 lines leaves",
    )
    distance = np.array([4.0, 8.0, 16.0, 32.0])
    outside.check(
        "line sources",
        "the same: fall from 4, 8, 16 and 32 m to twice as far",
        source,
        theirs=10 * np.log10(2 * (1 + 2 * distance / radius_m) / (1 + distance / radius_m)),
        ours=[mean_db(0.0, r) - mean_db(0.0, 2 * r) for r in distance],
        unit="dB",
        within=0.4,
        why="the same ripple",
    )


# --- Progressive curve -------------------------------------------------------------------------


@pytest.mark.parametrize("beta", [0.0, 0.25, 0.5])
def test_a_progressive_curve_falls_as_designed_above_2_khz(beta: float) -> None:
    # Gölles & Zotter, Acta Acustica 7:52 (2023): on its own axis a line of curvature κ gives
    # |p| = m √(λ/(r (1 + κ r))), m its strength a metre; κ(r) = (g r^{2β} − r)/r² makes that
    # fall as r^{−β}. The law is that of the stationary point alone, on a continuous curve: steps
    # of 1.5 cm stand for the curve, and a smooth fade of the outer 2.5 m takes away the two end
    # points, whose own waves the law leaves out (with hard ends they ripple it by 1.7 dB at 2 kHz,
    # 0.7 dB at 10 kHz).
    count, height_m, fade_m = 600, 0.015, 2.5
    throw_m = np.geomspace(40.0, 8.0, count)
    gain = {0.0: 1.25 * throw_m[0], 0.25: 1.6 * throw_m[0] ** 0.5, 0.5: 1.35}[beta]
    kappa = (throw_m ** (2.0 * beta) * gain - throw_m) / throw_m**2
    assert np.all(kappa > 0)
    splay_deg = np.degrees(height_m * (kappa[1:] + kappa[:-1]) / 2)
    cabinet = builders.cabinet(
        height_m=height_m,
        rear_pin_inset_m=0.003,
        splay_positions_deg=sorted(set(splay_deg)),
        source=ha.Source(elements=[ha.LineElement(height_m=height_m)]),
    )
    hang = builders.hang(list(splay_deg), cabinets=[cabinet] * count)
    pose = ha.pose(hang, 5.0, 20.0)
    axis = np.radians(pose.axis_deg)
    ahead = np.column_stack([np.cos(axis), np.sin(axis)])
    points = pose.front_m + throw_m[:, None] * ahead
    along_m = height_m * (np.arange(count) + 0.5)
    to_end_m = np.minimum(along_m, count * height_m - along_m)
    rig = ha.Rig(
        hangs=[ha.Placed(hang=hang, tilt_deg=5.0, top_m=20.0, drive=faded(to_end_m / fade_m))]
    )
    # Where all of the first Fresnel zone at 2 kHz, ±√(λ r/(1 + κ r)/2), is at full strength.
    zone_m = np.sqrt(C_M_S / 2000.0 * throw_m / (1 + kappa * throw_m) / 2)
    heard = to_end_m > fade_m + zone_m
    assert heard.sum() > 100
    r, k = throw_m[heard], kappa[heard]
    f = np.geomspace(2000.0, 10_000.0, 80)
    p = lossless(ha.acoustics.pressure(rig, receivers_m=points[heard], frequency_hz=f), f, r)
    law = np.sqrt(C_M_S / f)[:, None] / height_m / np.sqrt(r * (1 + k * r))
    difference_db = np.abs(level_db(p / law))
    assert np.max(difference_db) < 0.5
    assert np.max(difference_db[f > 4000.0]) < 0.05
    slope = np.polyfit(np.log2(r), level_db(p[f > 4000.0]).mean(axis=0), 1)[0]
    assert slope == pytest.approx(-20 * np.log10(2) * beta, abs=0.03)


# --- Gaps --------------------------------------------------------------------------------------


@pytest.mark.parametrize("fill", [1.0, 0.8, 0.6])
def test_gaps_between_elements_raise_grating_lobes_of_known_angle_and_level(fill: float) -> None:
    # n equal lines of length b a pitch h apart: |D| = |sinc(k b sin a / 2) sin(nu)/(n sin u)|,
    # u = k h sin a / 2 (product theorem; Ureda, J. Audio Eng. Soc. 52(5), 2004; from memory).
    # Grating lobes at sin a = m λ/h with the level of the single line there, sin x / x with
    # x = π m b/h: −12.6 dB at 80 %, −5.9 dB at 60 %, none without gaps.
    count, height_m, f, r = 12, 0.25, 3000.0, 3000.0
    hang = column(count, height_m, fill=fill)
    middle = 5000.0 - count * height_m / 2
    sine = np.linspace(0.0, 0.9, 901)
    points = np.column_stack([r * np.sqrt(1 - sine**2), middle + r * sine])
    p = lossless(ha.pressure(hang, 0.0, 5000.0, points, [f]), f, np.full(len(sine), r))[0]
    u = np.pi * f / C_M_S * height_m * sine
    with np.errstate(invalid="ignore", divide="ignore"):
        array = np.where(sine == 0.0, 1.0, np.sin(count * u) / (count * np.sin(u)))
    expected = np.sinc(u * fill / np.pi) * array
    np.testing.assert_allclose(np.abs(p) * r / count, np.abs(expected), atol=2e-3)
    # At the lobe itself the elements add up in phase, each with its own sinc.
    lobe_sine = C_M_S / f / height_m
    point = [[r * np.sqrt(1 - lobe_sine**2), middle + r * lobe_sine]]
    lobe = lossless(ha.pressure(hang, 0.0, 5000.0, point, [f]), f, [r])[0, 0]
    if fill < 1.0:
        assert level_db(lobe * r / count) == pytest.approx(level_db(np.sinc(fill)), abs=0.02)
        near = np.abs(sine - lobe_sine) < 0.05
        assert sine[near][np.argmax(np.abs(p)[near])] == pytest.approx(lobe_sine, abs=0.01)
    else:
        assert level_db(lobe * r / count) < -60.0


# --- Reference library -------------------------------------------------------------------------


def test_small_sources_are_the_point_sources_of_sfs(outside: Outside) -> None:
    # sfs: G = e^{−jkr}/(4πr), time factor e^{jωt}. An element of 0.1 mm is a point: (kh/2)²/6 is
    # 4·10⁻⁸ at 500 Hz.
    rng = np.random.default_rng(3)
    f = np.array([63.0, 125.0, 250.0, 500.0])
    element = ha.LineElement(height_m=1e-4)
    cabinet = builders.cabinet(source=ha.Source(elements=[element]))
    hang = builders.hang([1.0, 2.0, 5.0], cabinets=[cabinet] * 4)
    pose = ha.pose(hang, 3.0, 9.0)
    points = rng.uniform((3, -8, 0), (40, 8, 6), (50, 3))
    p = ha.pressure(hang, 3.0, 9.0, points, f, position_m=(1.0, -2.0), pan_deg=20.0)
    turn = np.radians(20.0)
    sums = []
    for frequency in f:
        expected = np.zeros(len(points), complex)
        for x, z in pose.front_m:
            source = [1.0 + x * np.cos(turn), -2.0 + x * np.sin(turn), z]
            d = np.linalg.norm(points - source, axis=1)
            green = sfs.fd.source.point(2 * np.pi * frequency, source, points.T, c=C_M_S)
            alpha = ha.air_absorption_db_per_m(frequency)
            expected += 4 * np.pi * green * 10 ** (-alpha * d / 20)
        sums.append(expected)
    outside.check(
        "line sources",
        "four point sources of a hang at 50 places: distance from the sum over its size",
        Source("fields of point sources by sfs", Kind.LIBRARY, "sfs 0.6"),
        theirs=0.0,
        ours=np.abs(p - np.array(sums)) / np.abs(sums),
        unit="of the pressure",
        within=1e-6,
        why="an element of 0.1 mm is a point to 4·10⁻⁸ at 500 Hz",
    )


def test_a_long_line_with_soft_ends_is_the_line_source_of_sfs(outside: Outside) -> None:
    # sfs: line source −j/4 H₀²(kr) along z, of unit strength a metre where a point source is
    # e^{−jkr}/(4πr). A finite line has the same field when its strength fades smoothly: its ends
    # then radiate nothing. The air is that of a complex wavenumber k − jα.
    step_m, flat_m, fade_m, f = 0.1, 20.0, 45.0, 500.0
    count = round((flat_m + 2 * fade_m) / step_m)
    z = (np.arange(count) + 0.5) * step_m - count * step_m / 2
    strength = faded(1 - (np.abs(z) - flat_m / 2) / fade_m)
    cabinet = builders.cabinet(
        height_m=step_m,
        rear_pin_inset_m=0.02,
        splay_positions_deg=[0.0],
        source=ha.Source(elements=[ha.LineElement(height_m=step_m)]),
    )
    hang = builders.hang([0.0] * (count - 1), cabinets=[cabinet] * count)
    rig = ha.Rig(
        hangs=[ha.Placed(hang=hang, tilt_deg=0.0, top_m=count * step_m / 2, drive=strength)],
        far_field_tolerance=2e-7,
    )
    r = np.array([2.0, 3.0, 5.0])
    p = (
        ha.acoustics.pressure(rig, receivers_m=np.column_stack([r, 0 * r]), frequency_hz=[f])[0]
        * step_m
    )
    omega = 2 * np.pi * f
    alpha_np_m = ha.air_absorption_db_per_m(f) * np.log(10) / 20
    green = sfs.fd.source.line(omega, [0, 0, 0], [r, 0 * r, 0 * r], c=C_M_S)
    # sfs takes real speeds only; the air turns H₀²(kr) into H₀²((k − jα)r).
    k = omega / C_M_S
    air = hankel2(0, (k - 1j * alpha_np_m) * r) / hankel2(0, k * r)
    expected = 4 * np.pi * green * air
    outside.check(
        "line sources",
        "a long line with soft ends at 2, 3 and 5 m: distance from the field over its size",
        Source("field of an endless line by sfs", Kind.LIBRARY, "sfs 0.6"),
        theirs=0.0,
        ours=np.abs(p - expected) / np.abs(expected),
        unit="of the pressure",
        within=1e-6,
        why="the tolerance asked for its far field is 2·10⁻⁷",
    )
