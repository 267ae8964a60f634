"""Hangs of two and three cabinets by hand: every number with moments and levers.

Straight and level, or with splays of 2° and 4°, so that each lever can be read off a drawing.
"""

from __future__ import annotations

import dataclasses
from math import asin, atan2, cos, degrees, hypot, isclose, radians, sin

import hangarc as ha

g = 9.80665
CABINET = ha.Cabinet(
    name="demo data",
    mass_kg=60.0,
    height_m=0.40,
    depth_m=0.60,
    width_m=1.0,
    cg_m=(-0.30, 0.0),
    rear_pin_x_m=-0.5,
    rear_pin_inset_m=0.05,
    splay_positions_deg=[0.0, 2.0, 4.0],
)
FRAME = ha.FlyFrame(
    mass_kg=70.0,
    height_m=0.2,
    cg_m=(-0.35, 0.1),
    pick_x_m=[0.1, -0.7],
    pick_z_m=0.2,
    chain_anchor_m=(-0.80, 0.0),
)
BOTTOM = ha.BottomFrame(mass_kg=20.0, cg_m=(-0.40, -0.10), chain_anchor_m=(-0.80, -0.05))
GEAR = ha.ClosingGear(pitch_m=0.03, links=30, hoist_min_m=0.3, hoist_max_m=1.2)


def straight(count, rigging="compression", **changes):
    return ha.Hang(
        **{
            "frame": FRAME,
            "cabinets": [CABINET] * count,
            "splays_deg": [0.0] * (count - 1),
            "rigging": rigging,
            "bottom": BOTTOM,
            "gear": GEAR,
            "open_limit_deg": -2.0,
            **changes,
        }
    )


def same(by_hand, library, digits=6):
    assert isclose(by_hand, library, rel_tol=10.0**-digits, abs_tol=10.0**-digits)


two, three = straight(2), straight(3)
# The chain is plumb, 0.80 m behind the hinges, and so is its lever.
moment = g * (60.0 * 0.30 + 20.0 * 0.40)
picks = [2.5, -3.5]  # so wide apart that no hoist goes slack
wind = ha.Wind(speed_m_s=15.0)
push = 1.3 * (0.5 * 1.25 * 15.0**2) * 1.0 * 0.40
tension = straight(3, "tension", bottom=None, gear=None)


def test_two_cabinets_close_with_moment_over_lever() -> None:
    same(moment / 0.80, ha.close(two, 0.0).closing_force_n)


def test_wind_on_the_closed_hang() -> None:
    """A locked chain takes (gravity + wind)/lever of the joint that asks for most.

    Wind from the front presses the stops and leaves the chain as it was.
    """
    for hang, count in ((two, 2), (three, 3)):
        blown = ha.wind.parts_in_wind(
            hang, 0.0, picks, wind, top_m=8.0, wind_from="rear", coefficient=1.3
        )
        asked = []
        for joint in range(1, count):
            below = count - joint
            opening = g * (below * 60.0 * 0.30 + 20.0 * 0.40)
            opening += sum(push * (0.40 * i + 0.20) for i in range(below))
            asked.append(opening / 0.80)
        same(max(asked), blown.chain_force_n)
        same(count * push, blown.total_force_n)
    calm = ha.wind.parts_in_wind(two, 0.0, picks, wind, top_m=8.0, coefficient=1.3)
    same(moment / 0.80, calm.chain_force_n)
    # The stop of joint 1 holds the wind alone: its line is plumb, 0.5 m behind the hinge.
    same(push * 0.20 / 0.5, calm.stop_force_n[1])


def test_a_chain_that_stretches_lets_the_stop_lift_off() -> None:
    """The chain carries T₀ + k (L − L₀) and balances gravity and wind: one equation."""
    k = 1e5
    blown = ha.wind.parts_in_wind(
        two, 0.0, picks, wind, top_m=8.0, wind_from="rear", coefficient=1.3, chain_stiffness_n_m=k
    )

    def turned(x, z, alpha):
        return x * cos(alpha) - z * sin(alpha), x * sin(alpha) + z * cos(alpha)

    def chain_at(alpha):
        x, z = turned(-0.80, -0.45, alpha)
        length = hypot(x + 0.80, z - 0.40)
        lever = (x * (z - 0.40) - z * (x + 0.80)) / length
        return moment / 0.80 + k * (length - 0.85), lever

    def unbalanced(alpha):
        force, lever = chain_at(alpha)
        weights = [(60.0, turned(-0.30, -0.20, alpha)), (20.0, turned(-0.40, -0.50, alpha))]
        opening = sum(-g * m * x for m, (x, _) in weights)
        opening -= push * turned(-0.30, -0.20, alpha)[1]
        return opening - force * lever

    low, high = 0.0, radians(2.0)
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if unbalanced(middle) > 0 else (low, middle)
    same(degrees(low), blown.opening_deg[1])
    same(chain_at(low)[0], blown.chain_force_n)
    assert list(blown.lifted) == [False, True, False]


def test_the_mass_of_chain_lever_hoist_and_steel() -> None:
    """The plumb chain gives half its mass to each anchor; the rest hangs with the lever hoist."""
    heavy = dataclasses.replace(GEAR, chain_mass_kg_m=2.0, hoist_mass_kg=5.0)
    lower_kg = 2.0 * 0.85 / 2 + 2.0 * (0.90 - 0.85) + 5.0
    fitted = dataclasses.replace(two, gear=heavy)
    same((moment + g * lower_kg * 0.80) / 0.80, ha.close(fitted, 0.0).closing_force_n)
    same(70.0 + 120.0 + 20.0 + 2.0 * 0.90 + 5.0, ha.pose(fitted, 0.0).mass_kg)
    run = ha.model.Run(name="cable", mass_kg_m=1.5, x_m=-0.65)
    clamp = ha.model.Piece(name="clamp", mass_kg=4.0, at_m=(-0.2, 0.0), on="cabinet", cabinet=1)
    dressed = dataclasses.replace(two, runs=[run], pieces=[clamp])
    extra = g * (1.5 * 0.40 * 0.65 + 4.0 * 0.20)
    same((moment + extra) / 0.80, ha.close(dressed, 0.0).closing_force_n)


def test_a_corner_of_the_frame_holds_the_chain_off() -> None:
    """The chain runs from a corner of the frame behind the hinges to the lower anchor."""
    cornered = dataclasses.replace(
        two, frame=dataclasses.replace(FRAME, rear_outline_m=[(-1.0, -0.1)])
    )
    closing = ha.close(cornered, 0.0)
    x, z = -0.80, -0.85
    dx, dz = x + 1.0, z + 0.1
    length = hypot(dx, dz)
    lever = (x * dz - (z + 0.40) * dx) / length
    same(length + hypot(0.2, 0.1), closing.chain_closed_m)
    same(moment / lever, closing.closing_force_n)


def test_a_rope_forward_holds_the_tension_hang_level() -> None:
    """About the pick: weight times how far the centre lies from it, over the rope's lever."""
    weight = g * (70.0 + 180.0)
    centre = (70.0 * -0.35 + 180.0 * -0.30) / 250.0
    pick = -0.35
    pulled = ha.statics.pull_back(tension, 0.0, pick, (9.4, -1.2), attach_m=(-0.6, -0.20))
    rope = weight * (centre - pick) / 1.4
    same(rope, pulled.force_n)
    same(hypot(weight, rope), pulled.hoist_load_n[0])
    # Joint 1: two cabinets below, the rope 0.8 m below the hinge, the plumb link 0.5 m behind.
    same((g * 120.0 * 0.30 + rope * 0.8) / 0.5, pulled.rear_link_n[1])


def test_hoists_out_of_step_failed_and_off_the_cart() -> None:
    """sin φ = δ/s out of step; plumb under the other pick when one fails; moments off the cart."""
    weight = g * (70.0 + 180.0)
    centre = (70.0 * -0.35 + 180.0 * -0.30) / 250.0
    step, spacing = 0.04, 0.8
    lines = ha.suspension.hang_on_lines(tension, 0.0, [0.1, -0.7], 50.0, 1e9, longer_m=[0.0, step])
    assert isclose(
        lines.tilt_deg, degrees(asin(step / spacing)), rel_tol=2e-3
    )  # lines lean a little
    failed = ha.suspension.hang_on_lines(tension, 0.0, [0.1, -0.7], 50.0, 1e9, failed=1)
    cg_z = (70.0 * 0.1 + 180.0 * -0.60) / 250.0
    same(degrees(atan2(0.1 - centre, 0.2 - cg_z)), failed.tilt_deg)
    same(weight, failed.hoist_load_n[0])
    lift = ha.suspension.lift_off(
        tension, [0.1, -0.7], [0.002], line_m=6.0, stiffness_n_m=2e5, floor_stiffness_n_m=1e12
    )
    pull = 2e5 * 0.002
    rest = weight - 2 * pull
    rear = -(weight * centre - pull * (0.1 - 0.7)) / 0.6
    same(pull, lift.hoist_load_n[0, 0], 4)
    same(rest - rear, lift.floor_n[0, 0], 4)
    same(rear, lift.floor_n[0, 1], 4)


def test_left_and_right_hinges_and_links_share_the_roll() -> None:
    """Hinges and links hold the roll W y by their levers, each as stiff as the other."""
    a, b, weight_n = 0.9, 0.8, g * 60.0
    sides = ha.statics.forces_per_side(
        tension, 0.0, cg_y_m=[0.0, 0.0, 0.1], hinge_spacing_m=a, link_spacing_m=b
    )
    roll = -weight_n * 0.1
    link = -weight_n * 0.30 / 0.5  # compression positive
    half = b * roll / (a * a + b * b)
    same(link / 2 + half, sides.stop_n[2, 0])
    same(link / 2 - half, sides.stop_n[2, 1])
    hinge = weight_n + link
    same(hinge / 2 - a * roll / (a * a + b * b), sides.hinge_n[2, 0, 1])
    # Both sides together hold the roll: a (left − right hinge)/2 and b (left − right link)/2.
    held = a * (sides.hinge_n[2, 0, 1] - sides.hinge_n[2, 1, 1]) / 2
    held -= b * (sides.stop_n[2, 0] - sides.stop_n[2, 1]) / 2
    same(-roll, held)


def same_digits(by_hand, library, digits=6):
    assert f"{by_hand:.{digits}f}" == f"{library:.{digits}f}"


def test_three_curved_cabinets_close_as_worked_out_by_hand() -> None:
    """Places, moments, levers, the free hang, which joint leaves first, the stop: to all digits."""
    cabinet = dataclasses.replace(CABINET, rear_height_m=0.36)
    bottom = dataclasses.replace(BOTTOM, chain_anchor_m=(-0.75, -0.05))
    hang = ha.Hang(
        frame=FRAME,
        cabinets=[cabinet] * 3,
        splays_deg=[2.0, 4.0],
        rigging="compression",
        bottom=bottom,
        open_limit_deg=-2.0,
    )
    tilt_deg = 0.0
    closing = ha.close(hang, tilt_deg)

    def turned(x, z, phi_deg):
        phi = radians(phi_deg)
        return x * cos(phi) - z * sin(phi), x * sin(phi) + z * cos(phi)

    def plus(p, q):
        return p[0] + q[0], p[1] + q[1]

    hinge1 = plus((0.0, 0.0), turned(0.0, -0.40, 0.0))
    hinge2 = plus(hinge1, turned(0.0, -0.40, -2.0))
    hinge3 = plus(hinge2, turned(0.0, -0.40, -6.0))
    cg1 = plus(hinge1, turned(-0.30, -0.20, -2.0))
    cg2 = plus(hinge2, turned(-0.30, -0.20, -6.0))
    cg3 = plus(hinge3, turned(-0.40, -0.10, -6.0))
    upper = (-0.80, 0.0)
    lower = plus(hinge3, turned(-0.75, -0.05, -6.0))
    pose = ha.pose(hang, tilt_deg)
    for by_hand, library in (
        (hinge1, pose.hinge_m[1]),
        (hinge2, pose.hinge_m[2]),
        (lower, pose.chain_m[1]),
    ):
        for a, b in zip(by_hand, library, strict=True):
            same_digits(a, b)

    moment2 = g * (60.0 * (hinge2[0] - cg2[0]) + 20.0 * (hinge2[0] - cg3[0]))
    moment1 = g * (
        60.0 * (hinge1[0] - cg1[0]) + 60.0 * (hinge1[0] - cg2[0]) + 20.0 * (hinge1[0] - cg3[0])
    )
    loads = ha.joint_loads(hang, tilt_deg)
    same_digits(moment1, loads.moment_nm[1])
    same_digits(moment2, loads.moment_nm[2])

    dx, dz = lower[0] - upper[0], lower[1] - upper[1]
    length = hypot(dx, dz)
    lever1 = ((lower[0] - hinge1[0]) * dz - (lower[1] - hinge1[1]) * dx) / length
    lever2 = ((lower[0] - hinge2[0]) * dz - (lower[1] - hinge2[1]) * dx) / length
    force1, force2 = moment1 / lever1, moment2 / lever2
    same_digits(length, closing.chain_closed_m)
    same_digits(force1, closing.straight_line_force_n[1])
    same_digits(force2, closing.straight_line_force_n[2])
    same_digits(max(force1, force2), closing.closing_force_n)
    assert closing.governing_joint == 1

    h1 = (0.0, -0.40)
    h2 = plus(h1, turned(0.0, -0.40, 2.0))
    h3 = plus(h2, turned(0.0, -0.40, 4.0))
    below2 = [
        (60.0, plus(h2, turned(-0.30, -0.20, 4.0))),
        (20.0, plus(h3, turned(-0.40, -0.10, 4.0))),
    ]
    below1 = [(60.0, plus(h1, turned(-0.30, -0.20, 2.0))), *below2]
    open1 = g * sum(m * (h1[0] - p[0]) for m, p in below1)
    open2 = g * sum(m * (h2[0] - p[0]) for m, p in below2)
    assert min(open1, open2) > 0
    assert list(closing.free_angle_deg[1:3]) == [-2.0, -2.0]
    end = plus(h3, turned(-0.75, -0.05, 4.0))
    # The rear edges stay in front of the straight chain, so it is straight.
    edges = [
        plus(h, turned(-0.60, z, p))
        for h, p in (((0.0, 0.0), 0.0), (h1, 2.0), (h2, 4.0))
        for z in (-0.02, -0.38)
    ]
    for x, z in edges:
        line = upper[0] + (end[0] - upper[0]) * (z - upper[1]) / (end[1] - upper[1])
        assert x > line
    free_length = hypot(end[0] - upper[0], end[1] - upper[1])
    same_digits(free_length, closing.chain_free_m)

    ex, ez = end[0] - upper[0], end[1] - upper[1]
    leave = []
    for opening, h in ((open1, h1), (open2, h2)):
        lever = ((end[0] - h[0]) * ez - (end[1] - h[1]) * ex) / free_length
        leave.append(opening / lever)
    first = closing.events[0]
    assert (first.joint, first.contact) == (2, "leaves open limit")
    same_digits(min(leave), first.force_n)
    assert closing.order == (2, 1)

    upper_pin = plus(hinge2, turned(-0.5, 0.05, -2.0))
    lower_pin = plus(hinge2, turned(-0.5, -0.05, -6.0))
    px, pz = upper_pin[0] - lower_pin[0], upper_pin[1] - lower_pin[1]
    pin_lever = abs((lower_pin[0] - hinge2[0]) * pz - (lower_pin[1] - hinge2[1]) * px) / hypot(
        px, pz
    )
    stop2 = (closing.closing_force_n * lever2 - moment2) / pin_lever
    same_digits(stop2, closing.stop_force_n[2])
    same_digits(0.0, abs(round(closing.stop_force_n[1], 9)))
