"""Worked examples of statics, rebuilt: cables, bridles, beams with hinges and clamped ends."""

from __future__ import annotations

import builders
import hangarc as ha
import numpy as np
import pytest
from outside import Kind, Outside, Source
from scipy.spatial.transform import Rotation

STANDARD_GRAVITY_M_S2 = 9.80665


def test_a_ring_on_three_cables_and_a_pull(outside: Outside) -> None:
    # 100 kg at the origin on cables to B, C, D, and 300 N towards E. Gravity and pull together are
    # one load; all is turned until it points down.
    anchors = np.array([(-4.5, 0.0, 6.0), (3.0, 4.0, 12.0), (2.0, -3.0, 6.0)])
    pull_n = 300.0 * np.array([6.0, 2.0, -3.0]) / 7.0
    load_n = pull_n - np.array([0.0, 0.0, 100.0 * STANDARD_GRAVITY_M_S2])
    size_n = np.linalg.norm(load_n)
    turned, _ = Rotation.align_vectors([[0.0, 0.0, -1.0]], [load_n / size_n])
    ring = ha.bridle(turned.apply(anchors), apex_m=(0.0, 0.0, 0.0), load_n=size_n)
    outside.check(
        "cables and bridles",
        "a 100 kg crate on a ring, three cables in space and a pull of 300 N",
        Source(
            "engmech verification problem V04, derived by hand there", Kind.PRINTED, "engmech 0.7.0"
        ),
        theirs=[701.6104119, 244.737693, 375.7091129],
        ours=ring.force_n,
        unit="N",
        relative=1e-8,
        why="printed to ten digits",
    )


@pytest.mark.parametrize(
    ("span_m", "rise_m", "length_m", "weight_n_m", "theirs", "relative", "why"),
    [
        (
            400.0,
            200.0,
            500.0,
            200.0,
            [43694.580989249596, 22365.599350216216, 77634.40064978378],
            1e-6,
            "MoorPy's stop at 10⁻⁴ m of length",
        ),
        (
            89.9,
            59.2,
            130.0,
            881.05,
            [31373.229006023103, 26650.341270116318, 87886.15872988368],
            1e-3,
            "MoorPy's line stretches by 8·10⁻⁵ under its load, ours does not",
        ),
    ],
)
def test_a_heavy_line_between_two_points(
    span_m: float,
    rise_m: float,
    length_m: float,
    weight_n_m: float,
    theirs: list[float],
    relative: float,
    why: str,
    outside: Outside,
) -> None:
    line = ha.suspension.heavy_leg(span_m, rise_m, weight_n_m=weight_n_m, length_m=length_m)
    outside.check(
        "cables and bridles",
        f"heavy line over {span_m:g} m, {rise_m:g} m up, {length_m:g} m long: pulls at its ends",
        Source("MoorPy tests, test_catenary.py, stated results", Kind.PRINTED, "MoorPy 1.3.0"),
        theirs=theirs,
        ours=[line.horizontal_n, *np.abs(line.vertical_n)],
        unit="N",
        relative=relative,
        why=why,
    )


def mirrored(length: float, supports: list[float], **rest: object) -> ha.suspension.Beam:
    """A beam clamped at 0, as half of one that is its own mirror image: its slope there is 0."""
    both = sorted({length + sign * x for x in supports for sign in (-1, 1)})
    return ha.beam(2 * length, both, **rest)  # type: ignore[arg-type]


def test_a_clamped_beam_propped_at_its_end(outside: Outside) -> None:
    # 6 m, clamped at 0, a roller at 6, 15 kN in the middle; E I = 200 GPa · 9.05e-6 m⁴.
    loads = [ha.suspension.PointLoad(x_m=x, force_n=15_000.0) for x in (3.0, 9.0)]
    beam = mirrored(6.0, [0.0, 6.0], loads=loads, ei_nm2=200e9 * 9.05e-6)
    source = Source(
        "IndeterminateBeam, example 1, stated results", Kind.PRINTED, "indeterminatebeam 2.4.0"
    )
    outside.check(
        "beams",
        "beam clamped at one end, propped at the other, a weight in the middle: reactions, moments",
        source,
        theirs=[4687.5, 10312.5, -16875.0, 14062.5],
        ours=[
            beam.reaction_n[2],
            beam.reaction_n[1] / 2,
            float(beam.moment_nm(6.0)),
            float(beam.moment_nm(9.0)),
        ],
        unit="N, N m",
        relative=1e-9,
        why="stated exactly",
    )
    outside.check(
        "beams",
        "the same: deflection under the weight and the greatest",
        source,
        theirs=[0.016, 0.017],
        ours=[
            float(beam.deflection_m(9.0)),
            float(np.max(beam.deflection_m(np.linspace(6.0, 12.0, 1201)))),
        ],
        unit="m",
        within=0.0005,
        why="half a unit of the printed digit",
    )


def test_a_beam_with_a_weight_and_a_load_over_half_its_length(outside: Outside) -> None:
    loads = [
        ha.suspension.PointLoad(x_m=2.0, force_n=5_000.0),
        ha.suspension.DistributedLoad(from_m=4.0, to_m=8.0, start_n_m=10e3, end_n_m=10e3),
    ]
    beam = ha.beam(8.0, [0.0, 8.0], loads, ei_nm2=200e9 * 400e-6)
    outside.check(
        "beams",
        "8 m beam, 5 kN at 2 m, 10 kN/m over the far half: reactions",
        Source("SymPy tests, test_beam.py, test_beam_units", Kind.PRINTED, "sympy 1.14.0"),
        theirs=[13_750.0, 31_250.0],
        ours=beam.reaction_n,
        unit="N",
        relative=1e-9,
        why="stated exactly",
    )


def test_influence_on_a_beam_of_three_spans_clamped_at_its_end(outside: Outside) -> None:
    # Supports at 0, 5 and 10, clamped at 20: the moment at 5 of a unit weight at 12, and at 4.
    found = [
        mirrored(
            20.0,
            [0.0, 10.0, 15.0, 20.0],
            loads=[ha.suspension.PointLoad(x_m=x, force_n=1.0) for x in (place, 40.0 - place)],
            ei_nm2=1.0,
        ).moment_nm(5.0)
        for place in (12.0, 4.0)
    ]
    outside.check(
        "beams",
        "influence line of the moment over a support, two spans and a clamped third",
        Source(
            "SymPy tests, test_beam.py, test_solve_for_ild_moment",
            Kind.PRINTED,
            "sympy 1.14.0",
        ),
        theirs=[96 / 475, -36 / 95],
        ours=found,
        unit="m (there with the other sign)",
        relative=1e-9,
        why="stated as fractions",
    )


def test_a_beam_joined_by_a_hinge_has_its_closed_form(outside: Outside) -> None:
    # Clamped at 0, supports at l and 4 l, a hinge at 2 l, P down at 3 l; l = 2, P = 6, E I = 5.
    length, p, ei = 2.0, 6.0, 5.0
    loads = [ha.suspension.PointLoad(x_m=4 * length + s * 3 * length, force_n=p) for s in (-1, 1)]
    beam = mirrored(
        4 * length,
        [0.0, length, 4 * length],
        loads=loads,
        ei_nm2=ei,
        hinges_m=[2 * length, 6 * length],
    )
    outside.check(
        "beams",
        "beam clamped at one end, two supports and a hinge: reactions, sag at the hinge and load",
        Source("SymPy tests, test_beam.py, test_composite_beam", Kind.PRINTED, "sympy 1.14.0"),
        theirs=[
            -3 / 4 * p,
            5 / 4 * p,
            p / 2,
            7 * p * length**3 / (24 * ei),
            5 * p * length**3 / (16 * ei),
        ],
        ours=[
            beam.reaction_n[2] / 2,
            beam.reaction_n[3],
            beam.reaction_n[4],
            float(beam.deflection_m(6 * length)),
            float(beam.deflection_m(7 * length)),
        ],
        unit="of the unit load, m",
        relative=1e-9,
        why="stated as fractions",
    )


def test_a_beam_on_three_supports_with_a_weight_past_the_last(outside: Outside) -> None:
    loads = [ha.suspension.PointLoad(x_m=10.0, force_n=2.0)]
    beam = ha.beam(10.0, [0.0, 2.0, 6.0], loads, ei_nm2=29e6 * 125.0)
    outside.check(
        "beams",
        "beam on supports at 0, 2 and 6, a weight of 2 at 10: reactions",
        Source("FEMethods, README, example 2", Kind.PRINTED, "femethods 0.1.8"),
        theirs=[1.3333333333333346, -4.000000000000004, 4.666666666666671],
        ours=beam.reaction_n,
        unit="of the unit load",
        relative=1e-9,
        why="stated to sixteen digits",
    )


LOGAN = Source(
    "Logan, A First Course in the Finite Element Method, 2022, example {}, result in fem2d's tests",
    Kind.PRINTED,
    "fem2d 0.5.1",
)
#: A clamp as two supports so far apart turns a little: its beam between them bends.
CLAMP_M = 2e-3
CLAMPED = "a clamp is two supports 2 mm apart"


def example(source: Source, number: str) -> Source:
    return Source(source.text.format(number), source.kind, source.package)


def test_a_clamped_beam_that_ends_on_a_spring(outside: Outside) -> None:
    # Clamped at 0, on a support at 3 and on 200 kN/m at 6, where 50 kN pull down.
    spring = [200e3, None, None, None, 200e3]
    loads = [ha.suspension.PointLoad(x_m=x, force_n=50e3) for x in (0.0, 12.0)]
    beam = mirrored(6.0, [0.0, 3.0, 6.0], loads=loads, ei_nm2=210e9 * 2e-4, stiffness_n_m=spring)
    outside.check(
        "beams", "beam clamped, on a support, on a spring under 50 kN: sag, moment at the support",
        example(LOGAN, "4.3"), theirs=[17.441860465116272, -139.53488372093017],
        ours=[1e3 * float(beam.deflection_m(12.0)), float(beam.moment_nm(9.0)) / 1e3],
        unit="mm, kN m", relative=1e-9, why="stated to sixteen digits",
    )  # fmt: skip


def test_a_beam_clamped_at_both_ends_with_a_hinge_within(outside: Outside) -> None:
    # Clamped at 0 and 4, on a support at 2, a hinge at 3, 10 kN/m upward from 3 to 4.
    ends = [0.0, CLAMP_M, 2.0 + CLAMP_M, 4.0 + CLAMP_M, 4.0 + 2 * CLAMP_M]
    load = ha.suspension.DistributedLoad(
        from_m=3.0 + CLAMP_M, to_m=4.0 + CLAMP_M, start_n_m=10e3, end_n_m=10e3
    )
    beam = ha.beam(4.0 + 2 * CLAMP_M, ends, [load], 210e9 * 2e-4, hinges_m=[3.0 + CLAMP_M])
    outside.check(
        "beams", "beam clamped at both ends, a support and a hinge within: moment at the far clamp",
        example(LOGAN, "4.11"), theirs=-3.928571428571429,
        ours=float(beam.moment_nm(4.0 + CLAMP_M)) / 1e3, unit="kN m", relative=2e-3,
        why=f"{CLAMPED}; there the load is upward",
    )  # fmt: skip


def test_a_beam_of_three_spans_clamped_at_both_ends(outside: Outside) -> None:
    # Clamped at 0 and 11, on supports at 4 and 7; 150 kN at 2, 37.5 kN/m from 7 to 11.
    ends = [0.0, CLAMP_M, 4.0 + CLAMP_M, 7.0 + CLAMP_M, 11.0 + CLAMP_M, 11.0 + 2 * CLAMP_M]
    loads = [
        ha.suspension.PointLoad(x_m=2.0 + CLAMP_M, force_n=150e3),
        ha.suspension.DistributedLoad(
            from_m=7.0 + CLAMP_M, to_m=11.0 + CLAMP_M, start_n_m=37.5e3, end_n_m=37.5e3
        ),
    ]
    beam = ha.beam(11.0 + 2 * CLAMP_M, ends, loads, 200e9 * 108e-6)
    around = 4.0 + CLAMP_M + 1e-3 * np.array([-1.0, 1.0])
    outside.check(
        "beams", "beam of three spans clamped at both ends: shear in the middle, turn at a support",
        Source("Kassimali, Matrix Analysis of Structures, 2022, example 5.6, result in fem2d's "
               "tests", Kind.PRINTED, "fem2d 0.5.1"),
        theirs=[5.555555555555557, 1.9290123456790125],
        ours=[abs(float(beam.shear_n(5.5))) / 1e3,
              -1e3 * float(np.diff(beam.deflection_m(around))[0]) / 2e-3],
        unit="kN, mrad", relative=2e-3, why=f"{CLAMPED}; the turn is a difference over 2 mm",
    )  # fmt: skip


def test_a_beam_clamped_at_both_ends_turns_at_its_hinge(outside: Outside) -> None:
    # Clamped at 0 and 6, a hinge at 4 with 20 kN on it; the closed form of the book.
    a, b, force, ei = 4.0, 2.0, 20.0, 30 * 600e7 * 1e-6
    ends = [0.0, CLAMP_M, 6.0 + CLAMP_M, 6.0 + 2 * CLAMP_M]
    beam = ha.beam(6.0 + 2 * CLAMP_M, ends, [(a + CLAMP_M, force)], ei, hinges_m=[a + CLAMP_M])
    at = a + CLAMP_M
    left, middle, right = beam.deflection_m(np.array([at - 1e-4, at, at + 1e-4]))
    scale = force / (2 * (b**3 + a**3) * ei)
    outside.check(
        "beams", "beam clamped at both ends, a load on a hinge within: turn left and right of it",
        Source("Logan, A First Course in the Finite Element Method, example 4.10, closed form in "
               "PyCBA's tests", Kind.PRINTED, "pycba 1.0.2"),
        theirs=[-(a**2) * b**3 * scale, a**3 * b**2 * scale],
        ours=[-(middle - left) / 1e-4, -(right - middle) / 1e-4], unit="rad", relative=2e-3,
        why=f"{CLAMPED}; turns are differences over 0.1 mm",
    )  # fmt: skip


def engmech(example: str) -> Source:
    text = f"engmech, {example}, derived by hand there"
    return Source(text, Kind.PRINTED, "engmech 0.7.0")


def test_a_beam_under_a_weight_a_triangle_a_uniform_load_and_a_couple(outside: Outside) -> None:
    # 8 m; 20 kN at 2, 0 to 6 kN/m over 3 m, 5 kN/m over the far half, 10 kN m at 6.
    loads = [
        ha.suspension.PointLoad(x_m=2.0, force_n=20e3),
        ha.suspension.DistributedLoad(from_m=0.0, to_m=3.0, start_n_m=0.0, end_n_m=6e3),
        ha.suspension.DistributedLoad(from_m=4.0, to_m=8.0, start_n_m=5e3, end_n_m=5e3),
        ha.suspension.PointLoad(x_m=5.5, force_n=10e3),
        ha.suspension.PointLoad(x_m=6.5, force_n=-10e3),
    ]
    outside.check(
        "beams", "8 m beam under a weight, a triangle, a uniform load and a couple: reactions",
        engmech("example beam"), theirs=[28e3, 21e3],
        ours=ha.beam(8.0, [0.0, 8.0], loads, ei_nm2=1e6).reaction_n, unit="N", relative=1e-9,
        why="stated exactly",
    )  # fmt: skip


def test_a_boom_on_two_cables_in_space(outside: Outside) -> None:
    # The boom pushes; a bridle of three legs with one that pushes is the same point in balance.
    anchors = [(0.0, 3.0, 2.0), (0.0, -2.0, 3.0), (0.0, 0.0, 0.0)]
    forces = ha.suspension.bridle_forces_along(anchors, [(4.0, 0.0, 0.0)], load_n=5e3)
    outside.check(
        "cables and bridles", "a boom on two cables in space under 5 kN: cables and boom",
        engmech("example boom"), theirs=[4142.434, 6213.651, -7692.308], ours=forces[0], unit="N",
        within=0.001, why="one unit of the last digit, which is cut off there",
    )  # fmt: skip


def test_a_boom_on_a_pin_held_level_by_a_cable(outside: Outside) -> None:
    # 12 ft long, its cable from the tip to 9 ft above the pin; 1080 lbf in all, with a moment of
    # 10 780 lbf ft about the pin. Here the pin is a pick and the boom a frame with one cabinet,
    # at a twentieth of the size; forces do not ask for size.
    foot, pound = 0.3048 / 20.0, 0.45359237
    lever, weight = 10_780.0 / 1080.0 * foot, 1080.0 * pound
    cabinet = builders.cabinet(mass_kg=1.0)
    frame_mass = weight - 1.0
    # The cabinet's own centre lies at (−0.27, −0.18) of the frame's axes, the pick at (0, 0.22).
    centre = ((-lever * weight + 0.27) / frame_mass, (0.22 * weight + 0.18) / frame_mass)
    frame = builders.frame(mass_kg=frame_mass, cg_m=centre)
    hang = builders.hang([], frame=frame, cabinets=[cabinet])
    tip = (-12.0 * foot, 0.22)
    found = ha.statics.pull_back(
        hang, 0.0, 0.0, (0.0, 0.22 + 9.0 * foot), attach_m=(tip[0], tip[1] + 0.18), top_m=0.0
    )
    pounds = np.array([found.force_n, found.hoist_load_n[0]]) / (pound * STANDARD_GRAVITY_M_S2)
    outside.check(
        "pull-back", "a level boom on a pin and a cable: pull of the cable, force on the pin",
        engmech("verification problem V05"),
        theirs=[1497.222222, np.hypot(1197.777778, 181.6666667)], ours=pounds, unit="lbf",
        relative=1e-9, why="printed to ten digits",
    )  # fmt: skip
