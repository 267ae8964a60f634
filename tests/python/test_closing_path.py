"""The way from free to closed: every contact, snap-through, work and balance."""

from __future__ import annotations

from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest
from closing_reference import GRAVITY, Reference, random_hang, rotated
from outside import Outside, ran
from scipy.optimize import minimize


def contacts(closing: ha.closing.Closing, joint: int) -> list[str]:
    return [event.contact for event in closing.events if event.joint == joint]


def turning(arm: np.ndarray, force: np.ndarray) -> float:
    """Moment of `force` at `arm` in the plane."""
    return float(arm[0] * force[1] - arm[1] * force[0])


def work_j(closing: ha.closing.Closing) -> float:
    """−∫ T dL over the rows, by the trapezoidal rule."""
    return -float(np.trapezoid(closing.path["force_n"], closing.path["chain_m"]))


def snapping_hang() -> tuple[ha.Hang, float]:
    """A heavy weight low behind the bottom: two joints trade angle and the hang snaps."""
    positions = [float(angle) for angle in range(21)]
    cabinets = [
        builders.cabinet(
            mass_kg=mass, cg_m=(x, 0.0), rear_height_m=0.24, splay_positions_deg=positions
        )
        for mass, x in ((36.0, -0.48), (10.0, -0.14), (68.0, -0.21), (26.0, -0.55))
    ]
    hang = builders.hang(
        [13.0, 12.0, 16.0],
        "compression",
        cabinets=cabinets,
        frame=builders.frame(chain_anchor_m=(-0.97, 0.05)),
        bottom=builders.bottom(mass_kg=293.0, cg_m=(-0.67, -0.89), chain_anchor_m=(-0.61, -0.05)),
        open_limit_deg=-11.0,
    )
    return hang, -8.0


def test_a_hang_aimed_up_leaves_its_stops_and_returns() -> None:
    closing = ha.close(builders.hang([2.0] * 15, "compression"), 10.0)
    assert closing.ended == "closed"
    assert closing.order[:3] == (1, 2, 3)
    for joint in (2, 3):
        assert contacts(closing, joint) == ["on stop when free", "leaves stop", "returns to stop"]
    assert contacts(closing, 1) == ["on stop when free"]
    last = closing.events[-1]
    assert last.contact == "returns to stop"
    assert last.force_n == pytest.approx(closing.closing_force_n, rel=1e-12)
    # A row of the path shows joint 3 off its stop with chain force, after resting there without.
    angle = closing.path["angle_deg"][:, 3]
    assert angle[0] == 2.0
    assert angle.min() < 1.9
    assert angle[-1] == 2.0


def test_snap_through_is_found_and_reported() -> None:
    hang, tilt = snapping_hang()
    closing = ha.close(hang, tilt)
    assert closing.ended == "closed"
    (snap,) = closing.snaps
    assert snap.greatest_turn_deg > 5.0
    assert snap.energy_j > 1.0
    assert snap.force_after_n < snap.force_before_n
    # Before and after are at rest at one chain length; between them the curve is unstable.
    reference = Reference(hang, tilt)
    at = np.flatnonzero(np.isclose(closing.path["chain_m"], snap.chain_m, rtol=0, atol=1e-9))
    before, after = at[0], at[-1]
    for row, force in ((before, snap.force_before_n), (after, snap.force_after_n)):
        theta = np.radians(closing.path["angle_deg"][row, 1:-1])
        assert reference.chain_m(theta) == pytest.approx(snap.chain_m, abs=1e-9)
        _, slope = reference.value(theta, force)
        free = (theta > reference.lower + 1e-12) & (theta < reference.upper - 1e-12)
        assert np.abs(slope[free]).max(initial=0.0) < 1e-9 * GRAVITY * 433.0
    fall = reference.value(np.radians(closing.path["angle_deg"][before, 1:-1]), 0.0)[0]
    fall -= reference.value(np.radians(closing.path["angle_deg"][after, 1:-1]), 0.0)[0]
    assert snap.energy_j == pytest.approx(fall, rel=1e-9)


def test_the_snapped_state_is_the_least_energy_nearby_at_that_length(outside: Outside) -> None:
    hang, tilt = snapping_hang()
    closing = ha.close(hang, tilt)
    (snap,) = closing.snaps
    reference = Reference(hang, tilt)
    rows = np.flatnonzero(np.isclose(closing.path["chain_m"], snap.chain_m, rtol=0, atol=1e-9))
    before, after = (np.radians(closing.path["angle_deg"][rows[i], 1:-1]) for i in (0, -1))
    scale = GRAVITY * 433.0

    def energy(theta: np.ndarray) -> tuple[float, np.ndarray]:
        value, slope = reference.value(theta, 0.0)
        return value / scale, slope / scale

    def levers(theta: np.ndarray) -> np.ndarray:
        return reference.value(theta, 1.0)[1] - reference.value(theta, 0.0)[1]

    found = minimize(
        energy,
        before + 0.2 * (after - before),
        jac=True,
        method="SLSQP",
        bounds=list(zip(reference.lower, reference.upper, strict=True)),
        constraints={
            "type": "eq",
            "fun": lambda theta: reference.chain_m(theta) - snap.chain_m,
            "jac": levers,
        },
        options={"ftol": 1e-15, "maxiter": 500},
    )
    assert found.success
    outside.check(
        "closing a hang", "angles after the hang snaps through at one chain length",
        ran("scipy", "least energy at that length, SLSQP of SciPy"), theirs=found.x, ours=after,
        unit="rad", within=1e-6, why="where the minimiser stops",
    )  # fmt: skip


@pytest.mark.parametrize("tilt", [-10.0, 0.0, 10.0])
def test_work_of_the_chain_is_the_rise_of_gravity_energy(tilt: float) -> None:
    hang = builders.hang([2.0] * 15, "compression")
    closing = ha.close(hang, tilt, steps=40_000)
    assert closing.snaps == ()
    rise = closing.path["energy_j"][-1]
    assert work_j(closing) == pytest.approx(rise, rel=1e-8)
    free, closed = (
        Reference(hang, tilt).value(np.radians(angles[1:-1]), 0.0)[0]
        for angles in (closing.free_angle_deg, closing.path["angle_deg"][-1])
    )
    assert rise == pytest.approx(closed - free, rel=1e-9)


def test_work_of_the_chain_pays_for_what_snaps_set_free() -> None:
    hang, tilt = snapping_hang()
    closing = ha.close(hang, tilt, steps=40_000)
    rise = closing.path["energy_j"][-1]
    freed = sum(snap.energy_j for snap in closing.snaps)
    assert work_j(closing) == pytest.approx(rise + freed, rel=1e-8)


def test_a_one_sided_top_joint_needs_more_force_where_its_link_pulls() -> None:
    for splays, tilt in (([2.0] * 15, 0.0), ([1.0] * 23, -10.0), ([0.0, 1.0, 2.0], 0.0)):
        hang = builders.hang(splays, "compression")
        locked = ha.close(hang, tilt)
        stop = ha.close(hang, tilt, top_joint="stop")
        assert stop.ended == "closed"
        assert locked.top_link_n > 0.0
        assert locked.stop_force_n[0] == -locked.top_link_n
        assert 1.05 < stop.closing_force_n / locked.closing_force_n < 1.35
        assert stop.governing_joint == 0
        assert stop.stop_force_n[0] == pytest.approx(0.0, abs=1e-6)
        assert 0 in stop.order
    up = builders.hang([2.0] * 15, "compression")
    locked, stop = (ha.close(up, 10.0, top_joint=kind) for kind in ("locked", "stop"))
    assert locked.top_link_n < 0.0
    assert stop.closing_force_n == pytest.approx(locked.closing_force_n, rel=1e-12)


def test_forces_balance_on_every_cabinet_at_every_step() -> None:
    """Each cabinet alone: weight, both hinges, both links, and the chain where it bears on it.

    The chain's pull on what hangs below a joint is the part of it that crosses the joint, so on
    one cabinet it is the difference of two parts; moments are taken about the upper hinge.
    """
    rng = np.random.default_rng(3)
    hang, tilt = random_hang(rng, count=8)
    closing = ha.close(hang, tilt)
    reference = Reference(hang, tilt)
    weight = GRAVITY * ha.pose(hang, tilt).mass_kg
    path = closing.path
    for row in range(len(path["chain_m"])):
        theta = np.radians(path["angle_deg"][row, 1:-1])
        masses, chain, hinges = reference.points(theta)
        string = chain[reference.string(chain), :2]
        owners = chain[reference.string(chain), 2]
        for cabinet in range(1, len(hang.cabinets) - 1):
            upper_force = path["hinge_force_n"][row, cabinet]
            lower_force = path["hinge_force_n"][row, cabinet + 1]
            mass, point, _ = masses[cabinet]
            force = upper_force - lower_force + np.array([0.0, -mass * GRAVITY])
            moment = turning(point - hinges[cabinet], np.array([0.0, -mass * GRAVITY]))
            moment -= turning(hinges[cabinet + 1] - hinges[cabinet], lower_force)
            for spot in range(1, len(string) - 1):
                if owners[spot] == cabinet:
                    pull = sum(
                        (other - string[spot]) / np.linalg.norm(other - string[spot])
                        for other in (string[spot - 1], string[spot + 1])
                    )
                    force = force + path["force_n"][row] * pull
                    moment += path["force_n"][row] * turning(string[spot] - hinges[cabinet], pull)
            axis = reference.axes(theta)
            upper, lower = links(hang, cabinet, axis, hinges)
            for (place, toward), stop, sign in (
                (upper, path["stop_force_n"][row, cabinet], 1.0),
                (lower, path["stop_force_n"][row, cabinet + 1], -1.0),
            ):
                push = -sign * stop * toward
                force = force + push
                moment += turning(place - hinges[cabinet], push)
            assert np.abs(force).max() < 1e-9 * weight
            assert abs(moment) < 1e-9 * weight


def links(
    hang: ha.Hang, cabinet: int, axis: np.ndarray, hinges: np.ndarray
) -> list[tuple[np.ndarray, np.ndarray]]:
    """Pin on the cabinet, and the direction from the lower to the upper pin, of both links."""

    def pin(index: int, side: float) -> np.ndarray:
        body = hang.cabinets[index]
        half = body.height_m / 2
        local = (body.rear_pin_x_m - body.hinge_x_m, side * (half - body.rear_pin_inset_m) - half)
        return np.asarray(hinges[index] + rotated(axis[index], local))

    result = []
    for joint, own in ((cabinet, pin(cabinet, 1.0)), (cabinet + 1, pin(cabinet, -1.0))):
        way = pin(joint - 1, -1.0) - pin(joint, 1.0)
        result.append((own, way / np.linalg.norm(way)))
    return result


def test_hoist_loads_on_the_way_carry_the_weight_about_its_centre() -> None:
    hang = builders.hang([1.0, 2.0, 4.0], "compression")
    closing = ha.close(hang, -3.0, pick_x_m=(0.1, -0.6))
    closed = ha.hoist_loads(hang, -3.0, [0.1, -0.6])
    np.testing.assert_allclose(closing.path["hoist_load_n"][-1], closed.load_n, rtol=1e-12)
    weight = GRAVITY * ha.pose(hang, -3.0).mass_kg
    np.testing.assert_allclose(closing.path["hoist_load_n"].sum(axis=1), weight, rtol=1e-12)
    assert np.ptp(closing.path["hoist_load_n"][:, 0]) > 0.01 * weight


def wild_hang(rng: np.random.Generator) -> tuple[ha.Hang, float]:
    """Cabinets, splays and anchors that nobody would fly: the hang may curl up (demo data)."""
    count = int(rng.integers(2, 13))
    positions = [float(angle) for angle in range(21)]
    cabinets = [
        builders.cabinet(
            mass_kg=float(rng.uniform(5, 110)),
            cg_m=(float(rng.uniform(-0.56, 0.05)), float(rng.uniform(-0.1, 0.1))),
            rear_height_m=float(rng.uniform(0.2, 0.36)),
            splay_positions_deg=positions,
        )
        for _ in range(count)
    ]
    hang = builders.hang(
        [float(angle) for angle in rng.integers(0, 21, count - 1)],
        "compression",
        cabinets=cabinets,
        frame=builders.frame(chain_anchor_m=(float(rng.uniform(-1.1, 0.4)), 0.05)),
        bottom=builders.bottom(
            mass_kg=float(rng.uniform(1, 300)),
            cg_m=(float(rng.uniform(-0.9, 0.3)), float(rng.uniform(-0.9, 0.0))),
            chain_anchor_m=(float(rng.uniform(-1.1, 0.4)), -0.05),
        ),
        open_limit_deg=float(rng.uniform(-12, 0)),
    )
    return hang, float(rng.uniform(-30, 30))


def assert_contacts_follow(hang: ha.Hang, closing: ha.closing.Closing) -> None:
    """Every joint leaves the bound it rests on and meets one that it does not rest on."""
    first = closing.path["angle_deg"][0]
    for joint in range(1, len(hang.cabinets)):
        rests = ""
        if first[joint] <= hang.open_limit_deg + 1e-12:
            rests = "open limit"
        for contact in contacts(closing, joint):
            bound = "open limit" if contact.endswith("open limit") else "stop"
            if contact.startswith("leaves"):
                assert rests == bound, (joint, contact)
                rests = ""
            else:
                assert rests != bound, (joint, contact)
                rests = bound
        if closing.ended == "closed":
            assert rests == "stop"


def test_wild_hangs_end_in_a_way_that_says_what_happened() -> None:
    rng = np.random.default_rng(2)
    ends: dict[str, int] = {}
    for _ in range(1000):
        hang, tilt = wild_hang(rng)
        top_joint = str(rng.choice(["locked", "stop"]))
        closing = ha.close(hang, tilt, steps=50, top_joint=top_joint)
        ends[closing.ended] = ends.get(closing.ended, 0) + 1
        assert all(snap.energy_j > 0.0 for snap in closing.snaps)
        assert_contacts_follow(hang, closing)
        if closing.ended == "closed":
            closed_deg = closing.path["angle_deg"][-1, 1:-1]
            np.testing.assert_allclose(closed_deg, hang.splays_deg, rtol=0, atol=1e-12)
    assert ends["closed"] > 900
    assert set(ends) == {"closed", "jammed", "overshot"}


def test_no_row_passes_a_bound_when_several_joints_meet_theirs_in_one_stride() -> None:
    rng = np.random.default_rng(2)
    for _ in range(300):
        hang, tilt = wild_hang(rng)
        angle_deg = ha.close(hang, tilt, steps=2).path["angle_deg"][:, 1:-1]
        assert (angle_deg - hang.splays_deg).max() < 1e-9
        assert (hang.open_limit_deg - angle_deg).max() < 1e-9


def test_a_hang_that_curls_past_its_chain_ends_where_the_chain_jumps() -> None:
    """170° of splay: the last rear edges come round beyond the lower end of the chain."""
    cabinet = builders.cabinet(
        rear_height_m=0.30, splay_positions_deg=[float(angle) for angle in range(21)]
    )
    hang = builders.hang(
        [20.0] * 9,
        "compression",
        cabinets=[cabinet] * 10,
        frame=builders.frame(chain_anchor_m=(-0.9, 0.0)),
        bottom=builders.bottom(chain_anchor_m=(-0.9, -0.05), cg_m=(-0.5, -0.4)),
        open_limit_deg=-7.0,
    )
    for tilt in (-15.0, 0.0):
        closing = ha.close(hang, tilt)
        assert closing.ended == "chain slips off an edge"
        # A small turn on along the path makes the chain jump, by the second statement of it.
        angles = np.radians(closing.path["angle_deg"])[:, 1:-1]
        reference = Reference(hang, tilt)
        row = np.flatnonzero(np.abs(angles - angles[-1]).max(axis=1) > 1e-6)[-1]
        turn = (angles[-1] - angles[row]) / np.abs(angles[-1] - angles[row]).max()
        lengths = [reference.chain_m(angles[-1] + size * turn) for size in (-2e-6, 2e-6)]
        assert abs(lengths[1] - lengths[0]) > 1e-3


def rests_in_every_row(hang: ha.Hang, tilt: float, closing: ha.closing.Closing) -> bool:
    reference = Reference(hang, tilt)
    weight = GRAVITY * ha.pose(hang, tilt).mass_kg
    path = closing.path
    for angles, force in zip(path["angle_deg"], path["force_n"], strict=True):
        theta = np.radians(angles[1:-1])
        _, slope = reference.value(theta, force)
        free = (theta > reference.lower + 1e-12) & (theta < reference.upper - 1e-12)
        if np.abs(slope[free]).max(initial=0.0) > 1e-9 * weight:
            return False
    return True


def test_wild_hangs_that_snap_are_at_rest_before_and_after() -> None:
    rng = np.random.default_rng(23)
    snapped = 0
    for _ in range(1000):
        hang, tilt = wild_hang(rng)
        closing = ha.close(hang, tilt, steps=50)
        if closing.snaps:
            snapped += 1
            assert rests_in_every_row(hang, tilt, closing)
    assert snapped > 3


def test_the_hang_snaps_where_the_chain_comes_off_an_edge_that_kept_it_stable() -> None:
    masses = (89, 13, 33, 92, 37, 7, 15, 53, 36, 71, 44)
    cgs_m = (-0.44, -0.07, 0.01, -0.02, -0.33, -0.39, -0.02, -0.28, -0.36, -0.27, -0.48)
    heights_m = (0.10, -0.01, 0.07, -0.04, -0.04, 0.02, 0.07, -0.09, -0.10, 0.04, 0.02)
    rears_m = (0.21, 0.33, 0.22, 0.24, 0.31, 0.30, 0.21, 0.22, 0.20, 0.24, 0.21)
    cabinets = [
        builders.cabinet(
            mass_kg=float(mass),
            cg_m=(x, z),
            rear_height_m=rear,
            splay_positions_deg=[float(angle) for angle in range(21)],
        )
        for mass, x, z, rear in zip(masses, cgs_m, heights_m, rears_m, strict=True)
    ]
    hang = builders.hang(
        [11.0, 8.0, 14.0, 19.0, 5.0, 18.0, 2.0, 17.0, 4.0, 19.0],
        "compression",
        cabinets=cabinets,
        frame=builders.frame(chain_anchor_m=(-0.25, -0.04)),
        bottom=builders.bottom(mass_kg=281.0, cg_m=(-0.83, -0.55), chain_anchor_m=(-0.23, -0.03)),
        open_limit_deg=-11.1,
    )
    tilt = 21.0
    closing = ha.close(hang, tilt)
    assert closing.ended == "closed"
    assert rests_in_every_row(hang, tilt, closing)
    reference = Reference(hang, tilt)
    lost = []
    angles = np.radians(closing.path["angle_deg"])[:, 1:-1]
    for snap in closing.snaps:
        row = np.flatnonzero(np.abs(closing.path["chain_m"] - snap.chain_m) < 1e-9)[0]
        far = np.abs(angles[:row] - angles[row]).max(axis=1) > 1e-6
        turn = angles[row] - angles[np.flatnonzero(far)[-1]]
        turn /= np.abs(turn).max()
        before, after = (
            len(reference.string(reference.points(angles[row] + size * turn)[1]))
            for size in (-1e-6, 1e-6)
        )
        lost.append(before - after)
    assert max(lost) == 1


def uneven_hang(
    parts: list[tuple[float, tuple[float, float], float]], splays: list[float], **others: Any
) -> ha.Hang:
    """Of cabinets of these masses, centres of gravity and rear heights (demo data)."""
    positions = [float(angle) for angle in range(21)]
    cabinets = [
        builders.cabinet(mass_kg=mass, cg_m=cg, rear_height_m=rear, splay_positions_deg=positions)
        for mass, cg, rear in parts
    ]
    return builders.hang(splays, "compression", cabinets=cabinets, open_limit_deg=-7.67, **others)


def test_a_joint_that_comes_straight_back_to_the_bound_it_left_does_not_hold_up_the_path() -> None:
    """It would leave and come back for ever; the hang snaps on to its next rest instead."""
    hang = uneven_hang(
        [
            (86.47, (-0.09, -0.03), 0.21),
            (39.97, (-0.47, 0.08), 0.16),
            (9.69, (-0.16, -0.01), 0.19),
            (33.5, (-0.16, -0.02), 0.31),
            (15.66, (-0.19, 0.0), 0.14),
            (49.0, (-0.04, -0.08), 0.21),
            (61.54, (-0.55, -0.1), 0.11),
        ],
        [16.0, 6.0, 2.0, 9.0, 0.0, 4.0],
        frame=builders.frame(chain_anchor_m=(-0.92, 0.02)),
        bottom=builders.bottom(mass_kg=180.34, cg_m=(-0.67, -0.22), chain_anchor_m=(-0.81, -0.05)),
    )
    for steps in (1, 2, 4):
        closing = ha.close(hang, -15.52, steps=steps)
        assert closing.ended == "closed"
        assert_contacts_follow(hang, closing)
        assert rests_in_every_row(hang, -15.52, closing)


def test_one_stride_over_the_whole_path_meets_the_contacts_of_a_thousand() -> None:
    """A long step of Newton's may end on another branch of rests, past a contact and its end."""
    hang = uneven_hang(
        [
            (83.99, (-0.18, -0.03), 0.14),
            (11.27, (-0.51, 0.09), 0.22),
            (70.1, (-0.25, 0.02), 0.13),
            (81.71, (-0.44, 0.03), 0.27),
            (90.56, (-0.48, 0.09), 0.17),
            (72.27, (-0.05, -0.03), 0.22),
        ],
        [10.0, 16.0, 5.0, 18.0, 3.0],
        frame=builders.frame(chain_anchor_m=(-0.98, 0.06)),
        bottom=builders.bottom(mass_kg=222.91, cg_m=(-0.48, -0.59), chain_anchor_m=(-0.85, -0.05)),
    )
    coarse, fine = (ha.close(hang, 29.63, steps=steps, top_joint="stop") for steps in (1, 1000))
    met = [[(event.joint, event.contact) for event in found.events] for found in (coarse, fine)]
    assert met[0] == met[1]
    np.testing.assert_allclose(
        [event.chain_m for event in coarse.events],
        [event.chain_m for event in fine.events],
        rtol=0,
        atol=1e-8,
    )
