"""Pull-back: an energy minimum by SciPy, a plane frame by PyNiteFEA, and two cabinets by hand."""

from __future__ import annotations

import dataclasses
from typing import Any

import builders
import frame_model
import hangarc as ha
import mujoco
import numpy as np
import pytest
from outside import Outside, ran
from scipy.optimize import minimize_scalar

G_M_S2 = 9.80665
SPLAYS = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0]


def hang(**changes: Any) -> ha.Hang:
    return builders.hang(SPLAYS, bottom=builders.bottom(), **changes)


def test_the_pulled_hang_rests_where_scipy_finds_least_energy(outside: Outside) -> None:
    """V(φ) = W z_G(φ) + F |A − B(φ)| about the pick, F held: least at the tilt asked for."""
    one, pick, to_m = hang(), -0.3, np.array([-6.0, 5.0])
    free = ha.hanging_tilt(one, pick).tilt_deg
    for down_deg in (2.0, 8.0, 15.0):
        tilt = free - down_deg
        found = ha.statics.pull_back(one, tilt, pick, to_m, top_m=10.0)
        assert found.ended == "held"
        assert found.free_tilt_deg == pytest.approx(free)
        placed = ha.pose(one, tilt, 10.0)
        turn = frame_model.turn(tilt)
        pick_m = np.array([0.0, 10.0]) + turn @ (pick, one.frame.pick_z_m)
        arms = [np.asarray(placed.cg_m) - pick_m, found.attach_m - pick_m]

        def energy(
            turned: float,
            arms: list[np.ndarray] = arms,
            pick_m: np.ndarray = pick_m,
            force: float = found.force_n,
            mass: float = placed.mass_kg,
        ) -> float:
            centre, fixed = (frame_model.turn(turned) @ arm for arm in arms)
            return mass * G_M_S2 * float(centre[1]) + force * float(
                np.linalg.norm(to_m - pick_m - fixed)
            )

        least = minimize_scalar(energy, bracket=(-1.0, 0.5), tol=1e-12)
        outside.check(
            "pull-back", "turn from the tilt asked for at which the pulled hang has least energy",
            ran("scipy", "Brent's minimum by SciPy"), theirs=least.x, ours=0.0, unit="°",
            within=1e-4, why="an energy's least place is known to the root of its rounding",
        )  # fmt: skip
        # The slope of the energy, by differences, vanishes beside its parts.
        slope = (energy(1e-3) - energy(-1e-3)) / np.radians(2e-3)
        assert abs(slope) < 1e-5 * placed.mass_kg * G_M_S2


@pytest.mark.parametrize("down_deg", [2.0, 8.0])
def test_a_simulated_hang_on_its_pick_comes_to_rest_at_the_tilt(
    down_deg: float, outside: Outside
) -> None:
    """MuJoCo: a hinge at the pick, a tendon pulled with the force found; from 3 degrees off."""
    one, pick, to_m = hang(), -0.3, (-6.0, 5.0)
    tilt = ha.hanging_tilt(one, pick).tilt_deg - down_deg
    found = ha.statics.pull_back(one, tilt, pick, to_m, top_m=10.0)
    placed = ha.pose(one, tilt, 10.0)
    turn = frame_model.turn(tilt)
    pick_m = np.array([0.0, 10.0]) + turn @ (pick, one.frame.pick_z_m)
    mass = placed.mass_kg

    def place(point: Any) -> str:
        x, z = np.asarray(point) - pick_m
        return f"{float(x)!r} 0 {float(z)!r}"

    model = mujoco.MjModel.from_xml_string(f"""<mujoco>
        <option timestep="0.001" integrator="implicitfast" gravity="0 0 -{G_M_S2}"/>
        <worldbody><site name="roof" pos="{place(to_m)}"/>
        <body><joint type="hinge" axis="0 1 0" damping="{4.0 * mass!r}"/>
            <inertial pos="{place(placed.cg_m)}" mass="{mass!r}"
                diaginertia="{mass!r} {mass!r} {mass!r}"/>
            <site name="bottom" pos="{place(found.attach_m)}"/></body></worldbody>
        <tendon><spatial name="rope"><site site="bottom"/><site site="roof"/></spatial></tendon>
        <actuator><motor tendon="rope"/></actuator></mujoco>""")
    data = mujoco.MjData(model)
    data.qpos[0] = np.radians(3.0)
    data.ctrl[0] = -found.force_n
    mujoco.mj_step(model, data, nstep=60_000)
    assert abs(data.qvel[0]) < 1e-9
    outside.check(
        "pull-back", "turn from the tilt asked for at which the pulled hang comes to rest",
        ran("mujoco", "a body on a hinge with a tendon, simulated by MuJoCo from 3° off"),
        theirs=data.qpos[0], ours=0.0, unit="rad", within=1e-4, why="the simulation's own rest",
    )  # fmt: skip


def test_joints_and_hoists_are_those_of_a_plane_frame(outside: Outside) -> None:
    """A plumb line up from the bottom is a weight taken off there: PyNiteFEA, two plumb hoists."""
    one, tilt, force = hang(), -4.0, 600.0
    placed = ha.pose(one, tilt)
    attach = placed.chain_m[1]
    to_m = (float(attach[0]), float(attach[1]) + 8.0)
    found = ha.statics.pull_back(one, tilt, [0.2, -0.8], to_m, force_n=force)
    # The frame's bottom body with its weight and the pull put into one force at their common line.
    weight = one.bottom.mass_kg * G_M_S2 if one.bottom else 0.0
    body = frame_model.bodies(one, tilt)[-1]
    x = (weight * body["cg"][0] - force * attach[0]) / (weight - force)
    solved = frame_model.solve_with(one, tilt, (0, 10), (weight - force) / G_M_S2, x)
    outside.check(
        "pull-back", "hoists, rear links and hinges of eight cabinets pulled plumb at the bottom",
        ran("PyNiteFEA", "matrix statics of a plane frame by PyNite"),
        theirs=[*solved.hoist_n, *solved.rear_link_n, *np.ravel(solved.hinge_force_n)],
        ours=[*found.hoist_load_n, *found.rear_link_n, *found.hinge_force_n.ravel()],
        unit="N", within=1e-3, relative=1e-6, why="stiff members of the frame give a little",
    )  # fmt: skip
    assert found.hoist_lean_deg == pytest.approx(0.0, abs=1e-12)


def test_two_cabinets_by_hand() -> None:
    """Straight and level, a level line back from the last cabinet's lower rear: moments by hand."""
    one = builders.hang([0.0])
    pull = 200.0
    at = (-0.58, -0.18)
    found = ha.statics.pull_back(one, 0.0, [0.2, -0.8], (-5.58, -0.72), attach_m=at, force_n=pull)
    weight = 64.0 * G_M_S2
    # Joint 1: hinge at (0, -0.36), link plumb at x = -0.5; the pull lies 0.36 below the hinge.
    link = weight * 0.27 / 0.5 - pull * 0.36 / 0.5
    np.testing.assert_allclose(found.rear_link_n[1], link, rtol=1e-12)
    np.testing.assert_allclose(found.hinge_force_n[1], [pull, weight - link], rtol=1e-12)
    assert found.rear_link_change_n[1] == pytest.approx(-pull * 0.36 / 0.5)
    # The hoists take the pull's level part by leaning forward, all weight besides.
    total = np.hypot(2 * weight + 75.0 * G_M_S2, pull)
    assert found.hoist_load_n.sum() == pytest.approx(total, rel=1e-12)
    lean = np.degrees(np.arctan2(pull, 2 * weight + 75.0 * G_M_S2))
    assert found.hoist_lean_deg == pytest.approx(lean, rel=1e-12)


def test_pulling_further_down_eases_the_upper_links() -> None:
    one, pick = hang(), -0.3
    free = ha.hanging_tilt(one, pick).tilt_deg
    found = ha.statics.pull_back(one, free - 8.0, pick, (-3.0, 12.0), top_m=10.0, limit_n=1000.0)
    assert 200.0 < found.force_n < 1000.0
    assert found.rear_link_change_n[1] < -500.0
    line = next(row for row in found.limits if row.part == "pull_back_line")
    assert (line.item, line.case) == ("pull-back line", "bottom pulled back")
    assert line.utilisation == pytest.approx(found.force_n / 1000.0)


def test_a_line_cannot_push() -> None:
    one, pick = hang(), -0.3
    free = ha.hanging_tilt(one, pick).tilt_deg
    found = ha.statics.pull_back(one, free + 3.0, pick, (-6.0, 5.0), top_m=10.0)
    assert (found.ended, found.force_n) == ("the line is slack", 0.0)
    hard = ha.statics.pull_back(one, 0.0, [0.2, -0.8], (-6.0, 5.0), top_m=10.0, force_n=50_000.0)
    assert hard.ended == "a hoist is slack"


def test_without_a_pull_joints_and_hoists_are_as_before() -> None:
    one = hang()
    found = ha.statics.pull_back(one, -2.0, [0.2, -0.8], (-6.0, 5.0), top_m=10.0, force_n=0.0)
    loads, joints = ha.hoist_loads(one, -2.0, [0.2, -0.8]), ha.joint_loads(one, -2.0)
    np.testing.assert_allclose(found.hoist_load_n, loads.load_n, rtol=1e-12)
    np.testing.assert_allclose(found.rear_link_n, joints.rear_link_n, rtol=1e-12)
    np.testing.assert_allclose(found.hinge_force_n, joints.hinge_force_n, rtol=1e-12, atol=1e-9)


def test_a_joint_is_held_by_its_link_or_by_its_stop() -> None:
    """A strong pull leaves the upper joint to its stop; each has the row of the part that works."""
    one = hang()
    found = ha.statics.pull_back(one, -2.0, [0.2, -0.8], (-6.0, 2.0), top_m=10.0, force_n=4000.0)
    rows = {(row.part, row.number): row.force_n for row in found.limits}
    assert (found.rear_link_n > 0.0).any()
    assert (found.rear_link_n < 0.0).any()
    for joint, link_n in enumerate(found.rear_link_n):
        works, idle = ("rear_link", "stop") if link_n > 0.0 else ("stop", "rear_link")
        assert rows[works, joint] == pytest.approx(abs(link_n))
        assert (idle, joint) not in rows


def test_a_line_on_a_bottom_frame_is_fixed_where_its_chain_is() -> None:
    """The frame turned against the last cabinet: pose has the anchor from the whole mechanism."""
    closed = builders.hang([1.0] * 3, "compression")
    assert closed.bottom is not None
    turned = dataclasses.replace(closed.bottom, fixed_splay_deg=10.0)
    closed = dataclasses.replace(closed, bottom=turned)
    picks = [0.2, -0.8]
    found = ha.statics.pull_back(closed, -2.0, picks, (-6.0, 5.0), top_m=10.0, force_n=100.0)
    chain_m = ha.pose(closed, -2.0, 10.0).chain_m
    assert chain_m is not None
    np.testing.assert_allclose(found.attach_m, chain_m[1], atol=1e-12)


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("force_n", {"pick_x_m": [0.2, -0.8]}),
        ("force_n", {"force_n": 100.0}),
        ("attach_m", {"hang": builders.hang([0.0])}),
        ("to_m", {"to_m": (1.0, 2.0, 3.0)}),
        ("pick_x_m", {"pick_x_m": [0.0, 0.1, 0.2]}),
        ("hang", {"hang": None}),
        ("limit_n", {"limit_n": 0.0}),
        ("limit_n", {"limit_n": -1.0}),
    ],
)
def test_a_bad_pull_is_refused_by_name(field: str, changes: dict[str, Any]) -> None:
    good: dict[str, Any] = {"hang": hang(), "tilt_deg": -3.0, "pick_x_m": -0.3, "to_m": (-6.0, 5.0)}
    with pytest.raises(ha.InputError) as refused:
        ha.statics.pull_back(**{**good, **changes})
    assert refused.value.field == field


def test_a_line_to_where_it_is_fixed_has_no_direction() -> None:
    one = hang()
    attach = ha.pose(one, -3.0).chain_m[1]
    with pytest.raises(ha.InputError, match="to_m"):
        ha.statics.pull_back(dataclasses.replace(one), -3.0, -0.3, attach)
