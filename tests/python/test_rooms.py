"""What blocks lines of sight, against shapely and exact arithmetic; what bends round edges, against
the exact solutions of the half plane by `scipy.special`."""

from __future__ import annotations

import dataclasses
from fractions import Fraction
from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest
import shapely
from outside import Kind, Outside, Source, ran
from scipy.integrate import quad
from scipy.special import fresnel, hankel2

C = ha.acoustics.sound_speed_m_s()
BALCONY = builders.area(name="balcony", profile_m=[(20.0, 5.0), (30.0, 7.0)])


def hall(*surfaces: ha.Surface, **changes: Any) -> ha.Venue:
    return builders.venue(surfaces=surfaces, **changes)


def wall(*profile_m: tuple[float, float], **changes: Any) -> ha.Surface:
    return ha.Surface(**{"name": "wall", "profile_m": profile_m, **changes})


def point_rig(place_m: tuple[float, float, float], **changes: Any) -> ha.Rig:
    """A round source at a place."""
    tiny = ha.Source(elements=[ha.LineElement(height_m=1e-4)])
    hang = builders.hang([], cabinets=[builders.cabinet(source=tiny)])
    x, y, z = place_m
    placed = ha.Placed(hang=hang, tilt_deg=0.0, top_m=z + 0.18, position_m=(x, y), **changes)
    return ha.Rig(hangs=[placed])


def taken(surfaces: Any, source: Any, points: Any, frequency_hz: Any) -> Any:
    """Pressure past surfaces over that of the free field."""
    venue = hall(*surfaces, areas=[builders.area(profile_m=[(500.0, -90.0), (510.0, -90.0)])])
    rig = point_rig(source)
    shaded = ha.acoustics.pressure(rig, receivers_m=points, frequency_hz=frequency_hz, venue=venue)
    return shaded / ha.acoustics.pressure(rig, receivers_m=points, frequency_hz=frequency_hz)


def test_lines_of_sight_in_the_section_are_those_of_a_geometry_library(outside: Outside) -> None:
    random = np.random.default_rng(1)
    source = ran("shapely", "crossings of line strings by shapely")
    compared = blocked = 0
    theirs, ours = [], []
    for _ in range(20):
        lines = [random.uniform(0, 40, (random.integers(2, 7), 2)) for _ in range(4)]
        surfaces = [wall(*map(tuple, line), name=str(n)) for n, line in enumerate(lines)]
        area = builders.area(profile_m=[(500.0, -90.0), (510.0, -90.0)])
        venue = hall(*surfaces, areas=[area])
        ends = random.uniform(-5, 45, (2, 500, 2))
        found = ha.acoustics.lines_of_sight(venue, *ends)
        paths = shapely.linestrings(np.stack(ends, axis=1))
        crossing = np.array([shapely.intersects(paths, shapely.LineString(li)) for li in lines])
        outside.check(
            "axes and lines of sight", "10 000 lines of sight in sections of four surfaces: clear?",
            source, theirs=~crossing.any(axis=0), ours=found.clear, unit="yes or no", within=0.5,
            why="none: half of yes or no",
        )  # fmt: skip
        for path in np.flatnonzero(~found.clear):
            met = [
                shapely.Point(ends[0, path]).distance(
                    shapely.LineString(line).intersection(paths[path])
                )
                for line in lines
            ]
            assert found.surface[path] == str(int(np.nanargmin(met)))
            reach = np.hypot(*(found.met_m[path, [0, 2]] - ends[0, path]))
            theirs.append(np.nanmin(met))
            ours.append(reach)
        compared += len(paths)
        blocked += int((~found.clear).sum())
    assert compared == 10_000
    assert 2000 < blocked < 9800
    outside.check(
        "axes and lines of sight", "the same: how far the blocked ones reach", source,
        theirs=theirs, ours=ours, unit="m", within=1e-9, relative=1e-9,
        why="rounding of the crossing",
    )  # fmt: skip


def crosses_exactly(a: Any, b: Any, corners: Any) -> bool:
    """Whether a segment goes through a plane polygon, in rational arithmetic."""
    a, b, corners = ([Fraction(x) for x in p] for p in (a, b, np.ravel(corners)))
    corners = [corners[i : i + 3] for i in range(0, len(corners), 3)]

    def minus(p: Any, q: Any) -> Any:
        return [x - y for x, y in zip(p, q, strict=True)]

    def cross(p: Any, q: Any) -> Any:
        return [
            p[1] * q[2] - p[2] * q[1],
            p[2] * q[0] - p[0] * q[2],
            p[0] * q[1] - p[1] * q[0],
        ]

    normal = cross(minus(corners[1], corners[0]), minus(corners[2], corners[0]))

    def height(p: Any) -> Any:
        return sum(n * d for n, d in zip(normal, minus(p, corners[0]), strict=True))

    before, after = height(a), height(b)
    if before * after >= 0:
        return False
    share = before / (before - after)
    met = [x + share * (y - x) for x, y in zip(a, b, strict=True)]
    drop = max(range(3), key=lambda axis: abs(normal[axis]))
    u, v = (axis for axis in range(3) if axis != drop)
    inside = False
    for p, q in zip(corners, corners[1:] + corners[:1], strict=True):
        if (p[u] > met[u]) != (q[u] > met[u]):
            side = p[v] + (q[v] - p[v]) * (met[u] - p[u]) / (q[u] - p[u])
            inside ^= side > met[v]
    return inside


def test_lines_of_sight_in_space_are_those_of_exact_arithmetic(outside: Outside) -> None:
    random = np.random.default_rng(2)
    compared = blocked = 0
    for _ in range(50):
        surfaces = []
        polygons = []
        for number in range(3):
            # A star about a middle, its sides not crossing; three corners span the plane exactly.
            count = random.integers(3, 8)
            turn = 2 * np.pi * (np.arange(count) + random.uniform(0, 0.8, count)) / count
            flat = random.uniform(2, 9, count)[:, None] * np.stack([np.cos(turn), np.sin(turn)], 1)
            frame = random.normal(size=(2, 3))
            corners = random.uniform(-5, 5, 3) + np.round(flat * 64) / 64 @ (
                np.round(frame * 64) / 64
            )
            polygons.append(corners)
            surfaces.append(ha.Surface(name=str(number), polygon_m=corners.tolist()))
        area = builders.area(profile_m=[(500.0, -90.0), (510.0, -90.0)])
        venue = hall(*surfaces, areas=[area])
        ends = random.uniform(-12, 12, (2, 200, 3))
        found = ha.acoustics.lines_of_sight(venue, *ends)
        exact = [
            any(crosses_exactly(a, b, p) for p in polygons) for a, b in zip(*ends, strict=True)
        ]
        outside.check(
            "axes and lines of sight", "10 000 lines of sight past polygons in space: clear?",
            Source("crossing number, segment and polygon", Kind.DERIVED, "fractions of Python"),
            theirs=np.logical_not(exact), ours=found.clear, unit="yes or no", within=0.5,
            why="none: half of yes or no",
        )  # fmt: skip
        compared += len(exact)
        blocked += sum(exact)
    assert compared == 10_000
    assert 1500 < blocked < 9000


def test_floors_by_width_and_arc_block_what_their_rows_stand_on() -> None:
    fan = builders.area(
        profile_m=[(10.0, 1.0), (16.0, 2.0), (24.0, 5.0)], width_m=[9.0, 14.0, 21.0],
        row_centre_x_m=-4.0,
    )  # fmt: skip
    bent = builders.area(
        profile_m=[(10.0, 1.0), (14.0, 1.0), (14.0, 1.2), (24.0, 5.0)], width_m=[9, 9, 9, 21]
    )
    for area in (fan, bent):
        venue = hall(areas=[dataclasses.replace(area, places_across=7, row_pitch_m=0.5)])
        rig = point_rig((0.0, 0.0, 9.0))
        ears = ha.acoustics.seat_levels(rig, venue=venue).position_m
        above, below = np.array([0.0, 0.0, 0.1]), np.array([0.0, 0.0, 1.2])
        floor = ears - below
        assert ha.acoustics.lines_of_sight(venue, floor + above, ears).clear.all()
        through = ha.acoustics.lines_of_sight(venue, floor + above, floor - above)
        assert not through.clear.any()
        np.testing.assert_allclose(through.met_m, floor, atol=0.03)


NU = np.linspace(-3.0, 3.0, 121)


def test_the_factor_is_the_fresnel_integral(outside: Outside) -> None:
    s, c = fresnel(NU)
    exact = (1 + 1j) / 2 * ((0.5 - c) - 1j * (0.5 - s))
    factor = ha.acoustics.edge_factor(np.sign(NU) * NU**2 / 4)
    outside.check(
        "shade", "factor of an edge from deep shade to full light: off the Fresnel integrals",
        ran("scipy", "Fresnel integrals by SciPy"), theirs=0.0, ours=np.abs(factor - exact),
        unit="of the pressure without the edge", within=5e-5,
        why="the library's fit of the integrals",
    )  # fmt: skip
    assert 20 * np.log10(abs(ha.acoustics.edge_factor(0.0))) == pytest.approx(-6.0206, abs=1e-4)


def half_plane(nu: Any, kr: float, incidence_rad: float) -> tuple[Any, Any]:
    """Sommerfeld's exact field of a plane wave, soft and hard half plane, at shadow-side ν.

    M. Born, E. Wolf, Principles of Optics, 7th ed., 11.5 (from memory), time factor e^{−jωt}.
    """

    def g(a: Any) -> Any:
        s, c = fresnel(np.sqrt(2 / np.pi) * a)
        return np.sqrt(np.pi / 2) * ((0.5 - c) + 1j * (0.5 - s))

    # ν² = 4 δ/λ and kδ = 2 kr cos²((φ − φ₀)/2), negative cosine in the light.
    half = -np.arcsin(nu * np.sqrt(np.pi / 4 / kr)) + np.pi / 2
    phi = incidence_rad + 2 * (np.pi - half)
    incident, mirrored = (
        np.exp(-1j * kr * np.cos(phi + sign * incidence_rad))
        * g(-np.sqrt(2 * kr) * np.cos((phi + sign * incidence_rad) / 2))
        for sign in (-1, 1)
    )
    scale = np.exp(-1j * np.pi / 4) / np.sqrt(np.pi)
    return scale * (incident - mirrored), scale * (incident + mirrored)


def test_the_factor_is_sommerfelds_in_its_far_range(outside: Outside) -> None:
    ours = 20 * np.log10(np.abs(ha.acoustics.edge_factor(np.sign(NU) * NU**2 / 4)))
    for kr in (300.0, 3e4):
        for incidence in (np.pi / 3, np.pi / 2, 2.0):
            soft, hard = half_plane(NU, kr, incidence)
            mean = 20 * np.log10(np.abs((soft + hard) / 2))
            outside.check(
                "shade", "plane wave past a half plane, mean of soft and hard, kr 300 and 30 000",
                ran("scipy", "Sommerfeld's solution (Born & Wolf, 7th ed., 11.5, its formula from "
                    "memory), integrals by SciPy"),
                theirs=mean, ours=ours, unit="dB", within=2e-3,
                why="the way round stands for the angle, true far from the edge",
            )  # fmt: skip
            if kr > 1e4:
                for of_one in (soft, hard):
                    np.testing.assert_allclose(ours, 20 * np.log10(np.abs(of_one)), atol=0.2)


def behind_a_half_plane(source: Any, point: Any, shadow: bool, k: float, edge_z: float) -> complex:
    """The incident part of the exact field of a point source, over the free field.

    H. M. Macdonald's integral of H₁ over s from ±√(k(R₁ − R)) to infinity, R₁ the way over the edge
    (J. J. Bowman et al., Electromagnetic and Acoustic Scattering by Simple Shapes, 8.3; from
    memory), along the line on which e^{−js²} falls off.
    """
    a, b = np.hypot(source[0], source[2] - edge_z), np.hypot(point[0], point[2] - edge_z)
    r = np.linalg.norm(np.subtract(source, point))
    over = np.hypot(a + b, source[1] - point[1])
    start = np.sqrt(k * (over - r)) * (1 if shadow else -1)

    def tail(low: float) -> complex:
        def integrand(t: float) -> complex:
            s = low + t * np.exp(-1j * np.pi / 4)
            value = hankel2(1, s * s + k * r) / np.sqrt(s * s + 2 * k * r)
            return complex(value * np.exp(-1j * np.pi / 4))

        parts = (lambda t: integrand(t).real, lambda t: integrand(t).imag)
        real, imaginary = (quad(part, 0, 12, limit=400)[0] for part in parts)
        return complex(real, imaginary)

    # The integrand is even: all of it is twice the half from 0.
    return tail(start) / (2 * tail(0.0)) if start >= 0 else 1 - tail(-start) / (2 * tail(0.0))


@pytest.mark.parametrize("frequency_hz", [250.0, 1000.0, 4000.0])
def test_a_point_source_behind_a_wall_is_heard_as_macdonald_says(
    frequency_hz: float, outside: Outside
) -> None:
    source = (-15.0, 0.0, 6.0)
    points = [(10.0, y, z) for z in (3.6, 4.5, 5.4, 5.9, 6.1, 6.4, 6.8) for y in (0.0, 7.0)]
    got = taken([wall((0.0, -200.0), (0.0, 6.0))], source, points, [frequency_hz])[0]
    k = 2 * np.pi * frequency_hz / C
    theirs_db, ours_db = [], []
    for point, ratio in zip(points, got, strict=True):
        shadow = point[2] < 6.0
        exact = behind_a_half_plane(source, point, shadow, k, 6.0)
        waves = (np.hypot(15.0 + np.hypot(10.0, point[2] - 6.0), point[1])
                 - np.linalg.norm(np.subtract(source, point))) * frequency_hz / C  # fmt: skip
        if shadow or waves < 9 / 4:
            theirs_db.append(20 * np.log10(abs(exact)))
            ours_db.append(20 * np.log10(abs(ratio)))
            assert abs(np.angle(ratio / exact)) < np.radians(2.0)
    outside.check(
        "shade", "point source behind a wall, at 14 places about its shadow's edge, three octaves",
        ran("scipy", "Macdonald's integral (Bowman et al., 8.3, its formula from memory), by "
            "SciPy's quadrature"),
        theirs=theirs_db, ours=ours_db, unit="dB over the free field", within=0.2,
        why="the edge's factor is that of its far range",
    )  # fmt: skip


def test_source_and_receiver_may_change_places() -> None:
    random = np.random.default_rng(5)
    surfaces = [
        wall((0.0, 0.0), (0.0, 5.0)),
        wall((4.0, 3.0), (9.0, 6.0), (9.0, 8.0), across_m=(-4.0, 3.0)),
        ha.Surface(name="fin", polygon_m=[(2, -3, 0), (6, -2, 0), (6, -2, 9), (2, -3, 9)]),
    ]
    changed = 0
    for _ in range(40):
        a, b = random.uniform((-9, -5, 1), (-1, 5, 9)), random.uniform((10, -5, 1), (19, 5, 9))
        there = taken(surfaces, tuple(a), [b], [300.0, 2000.0])
        back = taken(surfaces, tuple(b), [a], [300.0, 2000.0])
        np.testing.assert_allclose(there, back, rtol=1e-5)
        changed += bool(np.any(np.abs(there) != 1.0))
    assert changed > 20


def test_a_lit_seat_far_from_any_edge_hears_the_free_field() -> None:
    rig = ha.Rig(hangs=[ha.Placed(hang=builders.hang([1.0, 2.0]), tilt_deg=0.0, top_m=9.0)])
    flat = builders.area(profile_m=[(8.0, 0.0), (30.0, 0.0)])
    venue = builders.venue(areas=[flat, BALCONY])
    free = ha.acoustics.seat_levels(
        rig, venue=dataclasses.replace(venue, floors_block=False), air=None, lowest_hz=250.0
    )
    past = ha.acoustics.seat_levels(rig, venue=venue, air=None, lowest_hz=250.0)
    change = np.abs(past.band_level_db - free.band_level_db)
    near = (past.area == 0) & (past.position_m[:, 0] > 16)
    assert change[:, ~near].max() < 0.01
    assert change[:, near].max() > 1.0
    # Others in the same tile are summed cabinet by cabinet: the last digits may differ.
    np.testing.assert_allclose(past.level_db[~near], free.level_db[~near], rtol=1e-12)


def test_levels_go_smoothly_from_light_to_shadow() -> None:
    # A hang is lowered in steps of 5 mm; seats behind the balcony's edge go dark row by row.
    venue = builders.venue(areas=[builders.area(profile_m=[(20.0, 0.0), (30.0, 1.0)]), BALCONY])
    hang = builders.hang([1.0])
    levels = []
    for top_m in np.arange(5.0, 11.0, 0.005):
        rig = ha.Rig(hangs=[ha.Placed(hang=hang, tilt_deg=-3.0, top_m=top_m)])
        levels.append(
            ha.acoustics.seat_levels(
                rig, venue=venue, air=None, lowest_hz=250.0, highest_hz=4000.0, lines_per_band=2
            ).band_level_db
        )
    steps = np.abs(np.diff(levels, axis=0))
    free = dataclasses.replace(venue, floors_block=False)
    unshaded = []
    for top_m in np.arange(5.0, 11.0, 0.005):
        rig = ha.Rig(hangs=[ha.Placed(hang=hang, tilt_deg=-3.0, top_m=top_m)])
        unshaded.append(
            ha.acoustics.seat_levels(
                rig, venue=free, air=None, lowest_hz=250.0, highest_hz=4000.0, lines_per_band=2
            ).band_level_db
        )
    own = np.abs(np.diff(unshaded, axis=0))
    print(steps.max(), own.max(), np.ptp(levels, axis=0).max())
    assert np.ptp(levels, axis=0).max() > 10.0
    assert np.percentile(steps - own, 99.9) < 0.15
    assert steps.max() < own.max() + 0.35


def test_the_demo_balcony_stops_the_axes_below_it() -> None:
    study = ha.demo.study()
    ended = set()
    for tilt_deg in np.arange(-4.0, 4.1, 0.5):
        pose = ha.pose(study.hang, tilt_deg, 11.0)
        for front, throw in zip(
            pose.front_m, ha.throws(study.hang, tilt_deg, 11.0, study.venue), strict=True
        ):
            if throw is None:
                continue
            ended.add(throw.surface)
            x, z = throw.point_m
            balcony = study.venue.areas[2].profile_m
            line = shapely.LineString([front, front + (throw.point_m - front) * (1.0 + 1e-9)])
            met = line.intersection(shapely.LineString(balcony))
            if throw.surface == "floor of Balcony":
                assert throw.area is None
                assert met.distance(shapely.Point(x, z)) < 1e-6
            else:
                assert met.is_empty
    assert ended == {None, "floor of Balcony"}


def test_hidden_seats_are_listed_counted_and_kept_or_left_out() -> None:
    low = builders.area(name="rear", profile_m=[(20.0, 0.0), (30.0, 1.0)])
    venue = builders.venue(areas=[builders.area(profile_m=[(8.0, 0.0), (19.0, 0.0)]), low])
    front = wall((19.5, -1.0), (19.5, 4.0))
    roof = wall((19.5, 4.0), (31.0, 4.5), name="soffit")
    shut = dataclasses.replace(venue, surfaces=[front, roof])
    rig = ha.Rig(hangs=[ha.Placed(hang=builders.hang([1.0, 2.0]), tilt_deg=0.0, top_m=9.0)])
    sight = ha.sees(rig, shut)
    assert sight.seen.shape == (len(sight.hidden), 3)
    np.testing.assert_array_equal(sight.hidden, sight.area == 1)
    levels = ha.acoustics.seat_levels(rig, venue=shut)
    np.testing.assert_array_equal(levels.cabinets_seen, sight.seen.sum(axis=1))
    kept, left = (
        levels,
        ha.acoustics.seat_levels(rig, venue=dataclasses.replace(shut, hidden_seats="leave out")),
    )
    assert kept.weight[sight.hidden].min() > 0.0
    assert left.weight[sight.hidden].max() == 0.0
    np.testing.assert_array_equal(left.level_db, kept.level_db)
    heard = ~sight.hidden
    mean = np.average(left.level_db[heard], weights=kept.weight[heard])
    square = np.average((left.level_db[heard] - mean) ** 2, weights=kept.weight[heard])
    assert left.evenness_db == pytest.approx(np.sqrt(square), rel=1e-9)
    assert kept.evenness_db > left.evenness_db + 2.0
    shaded = kept.level_db - ha.acoustics.seat_levels(rig, venue=venue).level_db
    assert shaded[sight.hidden].max() < -10.0
    assert ha.sees(ha.demo.study()).hidden.sum() == 0


def test_a_studys_hang_sees_from_its_site() -> None:
    study = ha.demo.study()
    wall = ha.Surface(name="wall", profile_m=[(5.0, 0.0), (5.0, 12.0)], across_m=(-2.0, 2.0))
    venue = dataclasses.replace(study.venue, surfaces=[wall])
    site = ha.model.Site(position_m=(6.0, 7.0), pan_deg=-15.0)
    study = dataclasses.replace(study, venue=venue, site=site)
    placed = ha.Placed(
        hang=study.hang, tilt_deg=0.0, top_m=11.0, position_m=(6.0, 7.0), pan_deg=-15.0
    )
    np.testing.assert_array_equal(ha.sees(study).seen, ha.sees(placed, venue).seen)
    behind = dataclasses.replace(study, site=ha.model.Site())
    assert ha.sees(study).seen.sum() > ha.sees(behind).seen.sum()


def test_a_rig_of_one_hang_in_a_room_gives_the_bits_of_the_hang_alone() -> None:
    hang = builders.hang([1.0, 2.0, 3.0])
    venue = builders.venue(areas=[builders.area(), BALCONY])
    rig = ha.Rig(hangs=[ha.Placed(hang=hang, tilt_deg=0.0, top_m=7.0)])
    alone = ha.seat_levels(hang, 0.0, 7.0, venue)
    np.testing.assert_array_equal(
        ha.acoustics.seat_levels(rig, venue=venue).level_db, alone.level_db
    )
    points = ha.acoustics.point_levels(rig, alone.position_m, venue=venue)
    np.testing.assert_array_equal(points.band_level_db, alone.band_level_db)


def test_a_balloon_is_shaded_as_a_line_element_is() -> None:
    grid = {
        "azimuth_deg": np.arange(-180.0, 180.0, 10.0),
        "elevation_deg": np.arange(-90, 91, 10.0),
    }
    omni = ha.acoustics.Balloon([100.0, 9000.0], **grid, response=np.ones((2, 19, 36)))
    venue = hall(wall((10.0, -5.0), (10.0, 6.0)))
    points, f = [(20.0, 0.0, 1.2), (20.0, 3.0, 5.0), (15.0, 1.0, 12.0)], [200.0, 1000.0]
    rigs = [point_rig((0.0, 0.0, 8.0)), point_rig((0.0, 0.0, 8.0), balloon=omni)]
    one, other = (
        ha.acoustics.pressure(rig, receivers_m=points, frequency_hz=f, venue=venue) for rig in rigs
    )
    np.testing.assert_allclose(one, other, rtol=1e-5)
    assert (
        np.abs(one[1, 0] / ha.acoustics.pressure(rigs[0], receivers_m=points, frequency_hz=f)[1, 0])
        < 0.2
    )


SQUARE = [(5, -2, 0), (5, 2, 0), (5, 2, 4), (5, -2, 4)]


@pytest.mark.parametrize(
    ("field", "build"),
    [
        ("polygon_m", lambda: ha.Surface(name="x", polygon_m=[SQUARE[i] for i in (0, 2, 1, 3)])),
        ("polygon_m", lambda: ha.Surface(name="x", polygon_m=[*SQUARE[:3], (6, -2, 4)])),
        ("polygon_m", lambda: ha.Surface(name="x", polygon_m=SQUARE[:2])),
        ("polygon_m", lambda: ha.Surface(name="x", polygon_m=[(0, 0, 0), (1, 1, 1), (2, 2, 2)])),
        (
            "polygon_m[1][0]",
            lambda: ha.Surface(name="x", polygon_m=[*SQUARE[:1], (np.nan, 1, 1)] * 2),
        ),
        ("profile_m", lambda: ha.Surface(name="x")),
        ("profile_m", lambda: wall((1, 1))),
        ("profile_m", lambda: wall((1, 1), (1, 1))),
        ("profile_m", lambda: wall((1, 1), (2, 1), polygon_m=SQUARE)),
        ("across_m", lambda: ha.Surface(name="x", polygon_m=SQUARE, across_m=(-1, 1))),
        ("across_m[1]", lambda: wall((1, 1), (2, 1), across_m=(1, -1))),
        (
            "profile_m",
            lambda: ha.Venue.from_dict(
                {**hall().to_dict(), "surfaces": [wall((40, 1), (41, 1)).to_dict(), {"name": "x"}]}
            ),
        ),
        ("surfaces[0]", lambda: hall(wall((5.0, 1.0), (40.0, 1.0)))),
        ("hidden_seats", lambda: hall(hidden_seats="lose")),
        (
            "outline_m",
            lambda: hall(
                areas=[
                    ha.SeatArea(
                        name="x",
                        profile_m=[(0, 0), (9, 0)],
                        outline_m=[(1, -3), (8, 3), (8, -2), (1, 3)],
                    )
                ]
            ),
        ),
        ("to_m", lambda: ha.acoustics.lines_of_sight(hall(), [(0, 0, 0)], [(0, 0, 0), (1, 1, 1)])),
        ("of", lambda: ha.sees(3)),  # type: ignore[arg-type]
        ("venue", lambda: ha.sees(point_rig((0, 0, 8)))),
        (
            "cabinets[0]",
            lambda: ha.acoustics.seat_levels(
                point_rig((0, 0, 8)), venue=hall(wall((-0.3, 0), (-0.3, 9)))
            ),
        ),
        (
            "venue.hidden_seats",
            lambda: ha.acoustics.seat_levels(
                point_rig((0, 0, 8)),
                venue=hall(wall((5.0, -9.0), (5.0, 19.0)), hidden_seats="leave out"),
            ),
        ),
        (
            "hangs[1].cabinets[1]",
            lambda: ha.acoustics.point_levels(
                ha.Rig(
                    hangs=[
                        ha.Placed(hang=builders.hang([1.0]), tilt_deg=0.0, top_m=9.0),
                        ha.Placed(
                            hang=builders.hang([1.0]),
                            tilt_deg=0.0,
                            top_m=9.6,
                            position_m=(0.2, 0.9),
                            pan_deg=20.0,
                        ),
                    ]
                ),
                [(20.0, 0.0, 1.0)],
            ),
        ),
    ],
)
def test_bad_rooms_are_refused_by_name(field: str, build: Any) -> None:
    with pytest.raises(ha.InputError) as caught:
        build()
    assert caught.value.field == field, str(caught.value)
