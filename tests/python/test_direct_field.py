"""The direct field against published theory, figure by figure.

The straight line, the arc, the progressive curve, gaps between elements, the air, a fan-shaped hall
on two evenings. Hardware and hall are invented (demo data).
"""

from __future__ import annotations

import dataclasses

import hangarc as ha
import numpy as np
from outside import Kind, Outside, Source, ran
from scipy.special import fresnel

C_M_S = ha.acoustics.sound_speed_m_s()


def column(count, height_m, splays_deg=None, fill=1.0):
    """Omnidirectional line elements of `height_m` × `fill`, one a cabinet (demo data)."""
    splays_deg = np.zeros(count - 1) if splays_deg is None else np.asarray(splays_deg)
    cabinet = ha.Cabinet(
        name="demo data",
        mass_kg=5.0,
        height_m=height_m,
        depth_m=0.4,
        width_m=0.8,
        cg_m=(-0.2, 0.0),
        rear_pin_x_m=-0.3,
        rear_pin_inset_m=height_m / 5,
        splay_positions_deg=sorted({0.0, *splays_deg.tolist()}),
        source=ha.Source(elements=[ha.LineElement(height_m=height_m * fill)]),
    )
    frame = ha.FlyFrame(
        mass_kg=20.0, height_m=0.2, cg_m=(-0.2, 0.1), pick_x_m=[0.0, -0.3], pick_z_m=0.2
    )
    return ha.Hang(
        frame=frame, cabinets=[cabinet] * count, splays_deg=splays_deg.tolist(), rigging="tension"
    )


def db(p):
    return 20 * np.log10(np.abs(p))


def without_air(p, frequency_hz, distance_m):
    """Take the air's absorption over `distance_m` out again: the theories know none."""
    alpha = ha.air_absorption_db_per_m(np.atleast_1d(frequency_hz))
    return p * 10 ** (np.outer(alpha, distance_m) / 20)


def test_the_speed_of_sound_is_that_of_dry_air_and_a_little() -> None:
    """331.3 m/s √(1 + t/273.15 °C) for dry air (textbook value, from memory)."""
    # c = 331.3 m/s √(1 + t/273.15 °C) for dry air (textbook value); moisture adds a little.
    dry_m_s = 331.3 * np.sqrt(1 + 20 / 273.15)
    assert 0.0 < C_M_S - dry_m_s < 1.5


def test_a_straight_line_near_and_far(outside: Outside) -> None:
    """Fresnel integrals (Born & Wolf, 8.7; paraxial), and the integral ∫ e^{−jkd}/d dz itself."""
    length_m = 4.0
    line = column(10, 0.4)
    r = np.geomspace(1.0, 400.0, 500)
    z = (np.arange(20_000) + 0.5) / 20_000 * length_m - length_m / 2
    for f in (1000.0, 4000.0):
        points = np.column_stack([r, np.full(len(r), 300.0 - length_m / 2)])
        got_db = db(without_air(ha.pressure(line, 0.0, 300.0, points, [f]), f, r)[0] / 10)
        wavelength_m = C_M_S / f
        s, c = fresnel(length_m / 2 * np.sqrt(2 / (wavelength_m * r)))
        theory_db = db(np.sqrt(wavelength_m * r / 2) * 2 * np.hypot(s, c) / length_m / r)
        d = np.hypot(r[:, None], z)
        alpha_db = ha.air_absorption_db_per_m(f) * (d - r[:, None])
        integral = np.mean(
            np.exp(-2j * np.pi / wavelength_m * d) / d * 10 ** (-alpha_db / 20), axis=1
        )
        far = r > 4 * length_m
        outside.check(
            "line sources", "a straight 4 m line at 1 and 4 kHz, on its axis from 16 to 400 m",
            ran("scipy", "paraxial line (Born & Wolf, 8.7, from memory), integrals by SciPy"),
            theirs=theory_db[far], ours=got_db[far], unit="dB", within=0.1,
            why="the paraxial step of the theory",
        )  # fmt: skip
        outside.check(
            "line sources", "the same from 1 to 400 m",
            ran("numpy", "∫ e^{−jkd}/d dz by the midpoint rule, 20 000 steps"),
            theirs=db(integral), ours=got_db, unit="dB", within=20 * np.log10(1.01),
            why="what the far field of a sub-element may leave out: 1 % of its pressure",
        )  # fmt: skip


def test_the_far_pattern_of_the_line_is_sin_x_over_x() -> None:
    """x = (kL/2) sin a; half power at 1.39156, half pressure at 1.89549
    (Beranek & Mellow, Acoustics, 2012, ch. 4; from memory).
    """
    length_m = 4.0
    line = column(10, 0.4)
    f, far_m = 2000.0, 20_000.0
    sine = np.linspace(-0.35, 0.35, 1401)
    points = np.column_stack([far_m * np.sqrt(1 - sine**2), 50_000.0 - length_m / 2 + far_m * sine])
    got = without_air(ha.pressure(line, 0.0, 50_000.0, points, [f]), f, np.full(len(sine), far_m))[
        0
    ]
    got_db = db(got * far_m / 10)
    x = np.pi * f / C_M_S * length_m * sine
    theory = np.sinc(x / np.pi)
    difference = np.abs(np.abs(got * far_m / 10) - np.abs(theory)).max()
    for x_of, drop_db in ((1.39156, 3.0103), (1.89549, 6.0206)):
        assert abs(np.interp(x_of, x, got_db) + drop_db) < 0.02
    assert difference < 2e-3


def test_the_arc_spreads_as_stationary_phase_says() -> None:
    """−6 dB at the ends, 1/√(r(1 + r/R)) on the axis (Ureda, J. Audio Eng. Soc. 52(5), 2004;
    from memory).
    """
    height_m, splay_deg, count = 0.08, 1.0, 60
    arc = column(count, height_m, splays_deg=np.full(count - 1, splay_deg))
    radius_m = height_m / np.radians(splay_deg)
    placed = ha.pose(arc, 30.0, 100.0)
    axis = np.radians(placed.axis_deg)
    ahead = np.column_stack([np.cos(axis), np.sin(axis)])
    centre_m = (placed.front_m - radius_m * ahead).mean(axis=0)
    band = np.geomspace(6000.0, 12_000.0, 60)

    def on_arc_db(angle_deg, r):
        """Band mean at angles off the middle, r from the arc."""
        angle, r = np.broadcast_arrays(np.radians(np.mean(placed.axis_deg) + angle_deg), r)
        points = centre_m + (radius_m + r)[:, None] * np.column_stack(
            [np.cos(angle), np.sin(angle)]
        )
        p = without_air(ha.pressure(arc, 30.0, 100.0, points, band), band, r)
        return 10 * np.log10(np.mean(np.abs(p) ** 2, axis=0))

    angles_deg = np.linspace(-50.0, 50.0, 401)
    around_db = on_arc_db(angles_deg, np.full(401, 60.0))
    inside_db = around_db[np.abs(angles_deg) < 18].mean()
    r = np.geomspace(2.0, 80.0, 60)
    fall_db = on_arc_db(np.zeros(60), r)
    law_db = -10 * np.log10(r * (1 + r / radius_m))
    law_db += np.mean(fall_db - law_db)

    for end_deg in (-count * splay_deg / 2, count * splay_deg / 2):
        assert abs(np.interp(end_deg, angles_deg, around_db) - inside_db + 6.02) < 0.7
    assert np.abs(fall_db - law_db).max() < 0.4


def test_the_progressive_curve_falls_as_its_law(outside: Outside) -> None:
    """κ(r) = (g r^{2β} − r)/r² (Gölles & Zotter, Acta Acustica 7:52, 2023)."""
    count, height_m, fade_m = 600, 0.015, 2.5
    throw_m = np.geomspace(40.0, 8.0, count)
    along_m = height_m * (np.arange(count) + 0.5)
    to_end_m = np.minimum(along_m, count * height_m - along_m)
    x = np.clip(to_end_m / fade_m, 2e-3, 1 - 2e-3)
    fade = 1 / (1 + np.exp(1 / x - 1 / (1 - x)))
    f = np.geomspace(2000.0, 10_000.0, 80)

    for beta, g in ((0.0, 50.0), (0.25, 10.1), (0.5, 1.35)):
        kappa = (g * throw_m ** (2 * beta) - throw_m) / throw_m**2
        curve = column(
            count, height_m, splays_deg=np.degrees(height_m * (kappa[1:] + kappa[:-1]) / 2)
        )
        placed = ha.pose(curve, 5.0, 20.0)
        axis = np.radians(placed.axis_deg)
        points = placed.front_m + throw_m[:, None] * np.column_stack([np.cos(axis), np.sin(axis)])
        placed_curve = ha.Placed(hang=curve, tilt_deg=5.0, top_m=20.0, drive=fade)
        p = ha.acoustics.pressure(ha.Rig(hangs=[placed_curve]), receivers_m=points, frequency_hz=f)
        faded = without_air(p, f, throw_m)
        law = np.sqrt(C_M_S / f)[:, None] / height_m / np.sqrt(throw_m * (1 + kappa * throw_m))
        zone_m = np.sqrt(C_M_S / 2000 * throw_m / (1 + kappa * throw_m) / 2)
        heard = to_end_m > fade_m + zone_m
        difference_db = np.abs(db(faded / law)[:, heard])
        slope = np.polyfit(np.log2(throw_m[heard]), db(faded[f > 4000][:, heard]).mean(axis=0), 1)[
            0
        ]
        outside.check(
            "line sources", "a progressive curve, 2 to 10 kHz: off the law of its curvature",
            Source("Gölles & Zotter, Acta Acustica 7:52, 2023, p = √(λ/(r(1 + κr)))",
                   Kind.DERIVED, "NumPy"),
            theirs=0.0, ours=difference_db, unit="dB",
            within=np.broadcast_to(np.where(f > 4000, 0.05, 0.5)[:, None], difference_db.shape),
            why="the law is that of high frequencies",
        )  # fmt: skip
        assert abs(slope + 20 * np.log10(2) * beta) < 0.03


def test_gaps_bring_grating_lobes_by_the_product_theorem(outside: Outside) -> None:
    """Single line, sin x / x, times the pattern of twelve points."""
    count, height_m, f, far_m = 12, 0.25, 3000.0, 3000.0
    sine = np.linspace(0.0, 0.9, 1801)
    u = np.pi * f / C_M_S * height_m * sine
    with np.errstate(invalid="ignore", divide="ignore"):
        points_pattern = np.where(sine == 0.0, 1.0, np.sin(count * u) / (count * np.sin(u)))
    lobe = C_M_S / f / height_m
    for fill in (1.0, 0.8, 0.6):
        gapped = column(count, height_m, fill=fill)
        points = np.column_stack(
            [far_m * np.sqrt(1 - sine**2), 5000.0 - count * height_m / 2 + far_m * sine]
        )
        p = without_air(ha.pressure(gapped, 0.0, 5000.0, points, [f]), f, np.full(len(sine), far_m))
        got = np.abs(p[0]) * far_m / count
        theory = np.abs(np.sinc(u * fill / np.pi) * points_pattern)
        at_lobe_db = db(np.interp(lobe, sine, got) + 1e-9)
        outside.check(
            "directivity", "twelve lines with and without gaps: pressure over angle",
            Source("product theorem: sin x / x times the pattern of points", Kind.DERIVED, "NumPy"),
            theirs=theory, ours=got, unit="of the pressure ahead", within=2e-3,
            why="at 3 km the far field is reached to that",
        )  # fmt: skip
        if fill < 1.0:
            assert abs(at_lobe_db - db(np.sinc(fill))) < 0.05
    assert np.sinc(1.0) < 1e-15


def test_the_absorption_of_the_air_is_as_printed() -> None:
    """ISO 9613-2:1996, table 2 (from memory)."""
    octaves_hz = 1000 * 10 ** (0.3 * np.arange(-4, 4))
    printed = {
        (10, 70): [0.1, 0.4, 1.0, 1.9, 3.7, 9.7, 32.8, 117],
        (20, 70): [0.1, 0.3, 1.1, 2.8, 5.0, 9.0, 22.9, 76.6],
        (30, 70): [0.1, 0.3, 1.0, 3.1, 7.4, 12.7, 23.1, 59.3],
        (15, 20): [0.3, 0.6, 1.2, 2.7, 8.2, 28.2, 88.8, 202],
        (15, 50): [0.1, 0.5, 1.2, 2.2, 4.2, 10.8, 36.2, 129],
        (15, 80): [0.1, 0.3, 1.1, 2.4, 4.1, 8.3, 23.7, 82.8],
    }
    for (temperature, humidity), values in printed.items():
        air = {"temperature_c": temperature, "humidity_percent": humidity}
        got = 1000 * ha.air_absorption_db_per_m(octaves_hz, **air)
        # ISO 9613-1 prints three digits, from which this table is rounded: 4.151, 4.15, 4.1.
        three_digits = np.array([float(f"{value:.3g}") for value in got])
        half_digit = np.where(np.array(values) >= 100, 0.5, 0.05)
        assert np.all(np.abs(three_digits - values) <= half_digit * (1 + 1e-9))


def test_a_fan_on_two_evenings() -> None:
    """Symmetric in plan; at equal wavelengths absorption over the way is all of the difference."""
    hall = ha.Venue(
        name="demo data fan",
        areas=[
            ha.SeatArea(
                name="stalls",
                profile_m=[(9.0, 0.0), (20.0, 0.0), (36.0, 2.5)],
                width_m=[18.0, 26.0, 38.0],
                row_centre_x_m=-8.0,
                places_across=24,
            ),
            *(
                ha.SeatArea(
                    name=f"side, {name}",
                    profile_m=[(6.0, 0.8), (40.0, 4.0)],
                    outline_m=[(8, side * 12), (30, side * 21), (27, side * 29), (9, side * 19)],
                    row_centre_x_m=-8.0,
                    places_across=8,
                )
                for name, side in (("left", 1), ("right", -1))
            ),
            ha.SeatArea(
                name="balcony",
                profile_m=[(38.0, 7.0), (48.0, 12.0)],
                width_m=[44.0, 52.0],
                row_centre_x_m=-8.0,
                places_across=24,
            ),
        ],
    )
    hang = dataclasses.replace(
        ha.demo.study().hang, splays_deg=[0.0, 0.4, 0.4, 0.9, 0.9, 1.4, 2.0, 2.7, 3.4, 4.2, 5.1]
    )
    sides = [
        ha.Rig(
            hangs=[
                ha.Placed(
                    hang=hang, tilt_deg=2.0, top_m=11.0, position_m=(0, side * 6), pan_deg=side * 12
                )
            ]
        )
        for side in (1, -1)
    ]
    evenings = {
        "dry and cold": ha.Air(temperature_c=8.0, humidity_percent=25.0),
        "humid and warm": ha.Air(temperature_c=28.0, humidity_percent=75.0),
    }
    levels = ha.acoustics.seat_levels(
        sides[0], venue=hall, lowest_hz=1000.0, highest_hz=1000.0, lines_per_band=1
    )
    at, area = levels.position_m, levels.area
    radius_m = np.hypot(at[:, 0] + 8.0, at[:, 1])
    stalls = area == 0
    assert np.ptp(radius_m[stalls].reshape(-1, 24), axis=1).max() < 1e-9
    # The mirror image of the left half is the right half.
    mirrored = at[area == 1] * [1, -1, 1]
    gap_m = np.linalg.norm(mirrored[:, None] - at[area == 2][None], axis=2).min(axis=1)
    assert gap_m.max() < 1e-9
    # Absorption changed and, with the speed of sound, the wavelengths. At frequencies in the ratio
    # of the speeds the wavelengths are the same, and absorption over the way is all of it.
    cold, warm = evenings.values()
    speeds = [ha.acoustics.sound_speed_m_s(air) for air in (cold, warm)]
    lines_hz = ha.acoustics.band_lines_hz(8000.0, 8000.0, 8)
    same_waves_hz = lines_hz * speeds[1] / speeds[0]
    alpha = [
        ha.air_absorption_db_per_m(f, **dataclasses.asdict(air))
        for f, air in ((lines_hz, cold), (same_waves_hz, warm))
    ]
    one_side = at[:, 1] > 0
    way_m = np.linalg.norm(at[one_side] - [0, 6, 9.2], axis=1)
    quieter_db = db(
        ha.acoustics.pressure(
            sides[0], receivers_m=at[one_side], frequency_hz=same_waves_hz, air=warm
        )
    )
    quieter_db -= db(
        ha.acoustics.pressure(sides[0], receivers_m=at[one_side], frequency_hz=lines_hz, air=cold)
    )
    left_over_db = np.abs(quieter_db - np.outer(alpha[0] - alpha[1], way_m))
    # The cabinets' own ways differ from that of the middle by up to 2 m.
    assert np.median(left_over_db) < 0.05
    assert np.quantile(left_over_db, 0.99) < 2 * np.max(alpha[0] - alpha[1])
    # Ideal gas, c ~ √T, but for the moisture.
    ratio = np.sqrt((28.0 + 273.15) / (8.0 + 273.15))
    assert abs(speeds[1] / speeds[0] / ratio - 1) < 0.006
