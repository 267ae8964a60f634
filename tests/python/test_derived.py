"""Named results of mechanics and acoustics, worked out in fractions, symbols or many digits.

Nothing here comes from the library but the hardware that is given to it: geometry and equations
are written down a second time, so that a figure is known to more digits than a float has.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from typing import Any

import builders
import hangarc as ha
import mpmath
import numpy as np
import sympy
from outside import Kind, Outside, Source

G_M_S2 = Fraction("9.80665")
Vector = tuple[Any, Any]


def derived(result: str, by: str) -> Source:
    return Source(result, Kind.DERIVED, by)


FRACTIONS = "fractions of Python"
SYMPY = f"SymPy {sympy.__version__}"
MPMATH = f"mpmath {mpmath.__version__}"


def turned(cos_sin: Vector, point: Vector) -> Vector:
    (c, s), (x, z) = cos_sin, point
    return c * x - s * z, s * x + c * z


def plus(a: Vector, b: Vector) -> Vector:
    return a[0] + b[0], a[1] + b[1]


def minus(a: Vector, b: Vector) -> Vector:
    return a[0] - b[0], a[1] - b[1]


def cross(a: Vector, b: Vector) -> Any:
    return a[0] * b[1] - a[1] * b[0]


# A turn of 2 atan t has the rational cosine (1 − t²)/(1 + t²) and sine 2t/(1 + t²).
TILT = Fraction(-1, 40)
SPLAYS = [Fraction(1, 60), Fraction(1, 30), Fraction(2, 45)]
DEGREES = [float(2 * sympy.atan(sympy.Rational(t)) * 180 / sympy.pi) for t in SPLAYS]
TILT_DEG = float(2 * sympy.atan(sympy.Rational(TILT)) * 180 / sympy.pi)
HEIGHT, CG, PIN = Fraction("0.36"), (Fraction("-0.27"), Fraction(0)), Fraction("-0.5")
INSET, MASS = Fraction("0.05"), Fraction(64)
TAIL_CG, TAIL_MASS = (Fraction("-0.35"), Fraction("-0.08")), Fraction(22)


def after(turn: Vector, t: Fraction) -> Vector:
    """A turn, less one of 2 atan t."""
    (c, s), (d, e) = turn, ((1 - t * t) / (1 + t * t), 2 * t / (1 + t * t))
    return c * d + s * e, s * d - c * e


def exact_joints() -> list[dict[str, Any]]:
    """Weight, moment, link and hinge of joints 1 to 3, cut free one by one."""
    turns = [((1 - TILT**2) / (1 + TILT**2), 2 * TILT / (1 + TILT**2))]
    for t in SPLAYS:
        turns.append(after(turns[-1], t))
    hinges: list[Vector] = [(Fraction(0), Fraction(0))]
    for turn in turns:
        hinges.append(plus(hinges[-1], turned(turn, (Fraction(0), -HEIGHT))))
    half = HEIGHT / 2
    masses = [
        (MASS, plus(hinge, turned(turn, (CG[0], CG[1] - half))))
        for hinge, turn in zip(hinges, turns, strict=False)
    ]
    masses.append((TAIL_MASS, plus(hinges[-1], turned(turns[-1], TAIL_CG))))
    joints = []
    for joint in (1, 2, 3):
        hinge = hinges[joint]
        weight = sum(mass for mass, _ in masses[joint:]) * G_M_S2
        moment = sum(mass * (hinge[0] - at[0]) for mass, at in masses[joint:]) * G_M_S2
        own = plus(hinge, turned(turns[joint], (PIN, -INSET)))
        other = plus(hinge, turned(turns[joint - 1], (PIN, INSET)))
        way = minus(other, own)
        long = sympy.sqrt(sympy.Rational(way[0] ** 2 + way[1] ** 2))
        # Moments about the hinge: the link's pull along `way` holds the weight.
        link = sympy.Rational(-moment / cross(minus(own, hinge), way)) * long
        along = [sympy.Rational(part) / long for part in way]
        joints.append(
            {
                "weight": weight,
                "moment": moment,
                "link": link,
                "hinge": [-link * along[0], sympy.Rational(weight) - link * along[1]],
            }
        )
    return joints


def test_a_hinged_chain_is_that_of_exact_arithmetic(outside: Outside) -> None:
    """Four cabinets and a bottom frame on hinges and links, at angles with rational sines."""
    cabinet = builders.cabinet(splay_positions_deg=DEGREES)
    hang = builders.hang(DEGREES, cabinets=[cabinet] * 4, bottom=builders.bottom())
    found = ha.joint_loads(hang, TILT_DEG)
    exact = exact_joints()
    theirs = [
        float(sympy.N(figure, 30))
        for joint in exact
        for figure in (joint["weight"], joint["moment"], joint["link"], *joint["hinge"])
    ]
    ours = [
        figure
        for joint in (1, 2, 3)
        for figure in (
            found.weight_n[joint], found.moment_nm[joint], found.rear_link_n[joint],
            *found.hinge_force_n[joint],
        )
    ]  # fmt: skip
    outside.check(
        "balance and joints", "hinged chain of four: weight, moment, link and hinge of each joint",
        derived("moments about each hinge of what hangs below, cut free", FRACTIONS),
        theirs=theirs, ours=ours, unit="N, N m", within=1e-9, relative=1e-12, why="rounding",
    )  # fmt: skip


def test_hoists_of_a_held_frame_are_those_of_exact_arithmetic(outside: Outside) -> None:
    """A frame alone under one cabinet, held at its tilt by two plumb hoists."""
    hang = builders.hang([])
    found = ha.hoist_loads(hang, TILT_DEG, [0.2, -0.8])
    turn = ((1 - TILT**2) / (1 + TILT**2), 2 * TILT / (1 + TILT**2))
    frame = hang.frame
    masses = [
        (Fraction(75), turned(turn, (Fraction("-0.35"), Fraction("0.12")))),
        (MASS, turned(turn, (CG[0], CG[1] - HEIGHT / 2))),
    ]
    front, rear = (
        turned(turn, (x, Fraction("0.22")))[0] for x in (Fraction("0.2"), Fraction("-0.8"))
    )
    assert (frame.mass_kg, frame.pick_z_m) == (75.0, 0.22)
    weight = sum(mass for mass, _ in masses) * G_M_S2
    on_rear = sum(mass * (front - at[0]) for mass, at in masses) * G_M_S2 / (front - rear)
    outside.check(
        "balance and joints", "two plumb hoists that hold a frame and a cabinet at a tilt",
        derived("moments about each pick", FRACTIONS),
        theirs=[float(weight - on_rear), float(on_rear)], ours=found.load_n, unit="N",
        relative=1e-13, why="rounding",
    )  # fmt: skip


def test_closing_forces_are_those_of_virtual_work_in_symbols(outside: Outside) -> None:
    """T = −(∂V/∂θ)/(∂L/∂θ) of each joint, V the potential of gravity and L the chain's length."""
    splays = [1.0, 3.0, 6.0]
    hang = builders.hang(splays, "compression")
    closing = ha.close(hang, -3.0)
    angles = sympy.symbols("a1:4")

    def rational(point: Any) -> Any:
        return sympy.Matrix([sympy.Rational(str(part)) for part in point])

    def turn(angle: Any) -> Any:
        c, s = sympy.cos(angle), sympy.sin(angle)
        return sympy.Matrix([[c, -s], [s, c]])

    tilt = sympy.rad(sympy.Rational(-3))
    axis, hinge, energy = tilt, sympy.zeros(2, 1), sympy.Integer(0)
    for index, cabinet in enumerate(hang.cabinets):
        axis = axis if index == 0 else axis - angles[index - 1]
        half = sympy.Rational(str(cabinet.height_m)) / 2
        centre = hinge + turn(axis) * (rational(cabinet.cg_m) - sympy.Matrix([0, half]))
        energy += sympy.Rational(str(cabinet.mass_kg)) * centre[1]
        hinge = hinge + turn(axis) * sympy.Matrix([0, -2 * half])
    tail = hang.bottom
    assert tail is not None
    assert tail.chain_anchor_m is not None
    energy += sympy.Rational(str(tail.mass_kg)) * (hinge + turn(axis) * rational(tail.cg_m))[1]
    upper = turn(tilt) * rational(hang.frame.chain_anchor_m)
    lower = hinge + turn(axis) * rational(tail.chain_anchor_m)
    length = sympy.sqrt((lower - upper).dot(lower - upper))
    gravity = sympy.Rational("9.80665")
    closed = {
        angle: sympy.rad(sympy.Rational(str(splay)))
        for angle, splay in zip(angles, splays, strict=True)
    }
    forces = [
        float(sympy.N((-gravity * energy.diff(a) / length.diff(a)).subs(closed), 30))
        for a in angles
    ]
    source = derived("principle of virtual work, derivatives in symbols, 30 digits", SYMPY)
    outside.check(
        "closing a hang", "chain force that each of three joints asks for, chain straight", source,
        theirs=forces, ours=closing.straight_line_force_n[1:-1], unit="N", relative=1e-12,
        why="rounding",
    )  # fmt: skip
    outside.check(
        "closing a hang", "the same: closing force, the greatest of them", source,
        theirs=max(forces), ours=closing.closing_force_n, unit="N", relative=1e-12, why="rounding",
    )  # fmt: skip


def test_an_open_chain_hangs_each_part_plumb_under_its_hinge(outside: Outside) -> None:
    """Free hinges: what a body weighs, and what it carries at its lower hinge, lie plumb below."""
    light = builders.cabinet(cg_m=(-0.03, 0.0))
    hang = builders.hang(
        [10.0] * 4, "compression", cabinets=[light] * 5, open_limit_deg=-14.0,
        bottom=builders.bottom(cg_m=(-0.05, -0.08)),
    )  # fmt: skip
    found = ha.closing.rest_at_force(hang, 2.0, 0.0)
    assert found.ended == "at rest"
    with mpmath.workdps(40):
        carried, axes = mpmath.mpf(0), []
        for index in range(4, 0, -1):
            across, down = mpmath.mpf("-0.03") * 64, mpmath.mpf("-0.18") * 64
            if index == 4:  # The bottom frame turns with the last cabinet.
                across += mpmath.mpf("-0.05") * 22
                down += (mpmath.mpf("-0.36") + mpmath.mpf("-0.08")) * 22
            axes.append(mpmath.degrees(mpmath.atan(across / (down - mpmath.mpf("0.36") * carried))))
            carried += 64 if index < 4 else 64 + 22
        axes = [mpmath.mpf(2), *axes[::-1]]
        joints = [float(a - b) for a, b in pairwise(axes)]
    outside.check(
        "closing a hang", "angles of four free joints, no chain force",
        derived("each part's weight and load lie plumb under its hinge, 40 digits", MPMATH),
        theirs=joints, ours=found.angle_deg[1:-1], unit="°", within=1e-10,
        why="the rest is solved for to 10⁻¹² of the weight",
    )  # fmt: skip


def test_a_heavy_leg_is_the_catenary_to_forty_digits(outside: Outside) -> None:
    """√(L² − v²) = 2 a sinh(h/2a), a = H/w; the ends pull w √(a² + s²)."""
    theirs, ours = [], []
    for span, rise, length in (("10", "0", "10.2"), ("6", "-5", "8.2"), ("3", "4", "5.01"),
                               ("9", "2", "25"), ("40", "12", "41.9")):  # fmt: skip
        leg = ha.suspension.heavy_leg(
            float(span), float(rise), weight_n_m=30.0, length_m=float(length)
        )
        with mpmath.workdps(40):
            h, v, long = (mpmath.mpf(x) for x in (span, rise, length))
            chord = mpmath.sqrt(long**2 - v**2)

            def missing(a: Any, h: Any = h, chord: Any = chord) -> Any:
                return 2 * a * mpmath.sinh(h / (2 * a)) - chord

            a = mpmath.findroot(missing, leg.horizontal_n / 30.0)
            # The upper end carries s₂, the lower s₁ of the length from the vertex.
            middle = v / 2 * mpmath.coth(h / (2 * a))
            ends = [middle + sign * long / 2 for sign in (-1, 1)]
            pulls = [30 * mpmath.sqrt(a**2 + s**2) for s in ends]
            theirs += [float(30 * a), *map(float, pulls)]
        ours += [leg.horizontal_n, *leg.force_n]
    outside.check(
        "cables and bridles", "five heavy legs: level pull, pulls at start and end",
        derived("the catenary (Irvine, Cable Structures, 1981, ch. 1, from memory), 40 digits",
                MPMATH),
        theirs=theirs, ours=ours, unit="N", relative=1e-9,
        why="a leg's length is reached to 10⁻⁹ of it",
    )  # fmt: skip


C_M_S = ha.acoustics.sound_speed_m_s()


def without_air(pressure: np.ndarray, frequency_hz: float, distance_m: float) -> np.ndarray:
    air_db = ha.air_absorption_db_per_m(frequency_hz).item() * distance_m
    return np.asarray(pressure * 10 ** (air_db / 20))


def test_a_line_radiates_as_much_as_the_sine_integral_says(outside: Outside) -> None:
    """Mean over all directions of sin² x/x²: (Si(2x) − sin² x/x)/x with x = kL/2."""
    height, far = 0.3, 5000.0
    cabinet = builders.cabinet(
        height_m=height, rear_pin_inset_m=0.03, splay_positions_deg=[0.0],
        source=ha.Source(elements=[ha.LineElement(height_m=height)]),
    )  # fmt: skip
    hang = builders.hang([0.0] * 3, cabinets=[cabinet] * 4)
    sine, weight = np.polynomial.legendre.leggauss(200)
    places = np.column_stack([far * np.sqrt(1 - sine**2), 2 * height + far * sine])
    theirs, ours = [], []
    for frequency in (250.0, 500.0, 1000.0, 2000.0):
        x = mpmath.pi * frequency * 4 * height / C_M_S
        theirs.append(float((mpmath.si(2 * x) - mpmath.sin(x) ** 2 / x) / x))
        (p,) = ha.pressure(hang, 0.0, 4 * height, places, [frequency])
        ours.append(weight @ np.abs(without_air(p, frequency, far) * far / 4) ** 2 / 2)
    outside.check(
        "directivity", "a uniform line: its mean square over all directions, over that ahead",
        derived("the integral of sin² x/x², by the sine integral", MPMATH),
        theirs=theirs, ours=ours, unit="1", relative=1e-6,
        why="air is taken out for the middle of the line",
    )  # fmt: skip


def test_an_arc_closed_to_a_ring_has_the_bessel_function_in_its_plane(outside: Outside) -> None:
    """n points on a circle: p = n J₀(kR), by Jacobi and Anger, to Jₙ(kR), which is nothing."""
    count, height, far = 36, 0.3, 20_000.0
    cabinet = builders.cabinet(
        height_m=height, rear_pin_inset_m=0.03, splay_positions_deg=[10.0], depth_m=0.3,
        rear_height_m=0.2, cg_m=(-0.1, 0.0), rear_pin_x_m=-0.25,
        source=ha.Source(elements=[ha.LineElement(height_m=1e-3)]),
    )  # fmt: skip
    hang = builders.hang([10.0] * (count - 1), cabinets=[cabinet] * count)
    placed = ha.pose(hang, 0.0)
    centre = placed.front_m.mean(axis=0)
    radius = float(np.linalg.norm(placed.front_m - centre, axis=1).mean())
    assert abs(radius - height / 2 / np.tan(np.radians(5.0))) < 1e-9
    directions = np.radians([-60.0, -35.0, 0.0, 20.0, 75.0])
    points = centre + far * np.column_stack([np.cos(directions), np.sin(directions)])
    theirs, ours = [], []
    for kr in (0.5, 1.5, 2.404825557695773, 3.5, 5.5, 7.0):
        frequency = kr * C_M_S / (2 * np.pi * radius)
        (p,) = ha.pressure(hang, 0.0, 0.0, points, [frequency])
        turned_back = p * np.exp(2j * np.pi * frequency / C_M_S * far)
        ours.append(without_air(turned_back, frequency, far).real * far / count)
        theirs.append(np.full(len(points), float(mpmath.besselj(0, kr))))
    outside.check(
        "line sources", "an arc closed to a ring of 36 points: far field in its plane",
        derived("J₀(kR), by the expansion of Jacobi and Anger", MPMATH),
        theirs=theirs, ours=ours, unit="of the sum of all points", within=1e-6,
        why="air over 3.4 m, and what 20 km leave of the near field",
    )  # fmt: skip
