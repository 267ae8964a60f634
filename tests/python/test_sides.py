"""Left and right of every joint: a space frame by PyNiteFEA, and moments by hand."""

from __future__ import annotations

from typing import Any

import builders
import hangarc as ha
import mujoco
import numpy as np
import pytest
from outside import Kind, Outside, Source, ran
from Pynite import FEModel3D

G_M_S2 = 9.80665
SPLAYS = [1.0, 2.0, 5.0]
# Stiffness of a hinge in the frame model; bodies are some 10,000 times as stiff.
HINGE_N_M = 1e5
LINKS = {"hinge_spacing_m": 1.1, "link_spacing_m": 0.9, "chain_spacing_m": 0.7}


def axes_of(angle_deg: float) -> np.ndarray:
    c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    return np.array([[c, -s], [s, c]])


def cut_by_frame_model(
    hang: ha.Hang,
    tilt_deg: float,
    joint: int,
    link_ratio: float,
    cg_y_m: np.ndarray,
    force_n: np.ndarray,
    chains_n: tuple[float, float] = (0.0, 0.0),
) -> tuple[np.ndarray, np.ndarray]:
    """What hangs below a joint as one stiff body on two hinge springs and two link bars.

    Frame axes of PyNiteFEA: X forward, Y up, Z to the right.
    """
    placed = ha.pose(hang, tilt_deg)
    model = FEModel3D()
    model.add_material("stiff", 5e9, 2e9, 0.3, 0.0)
    model.add_section("beam", 1.0, 1.0, 1.0, 1.0)
    hinge = placed.hinge_m[joint]
    model.add_node("o", *hinge, 0.0)

    def star(name: str, x: float, z: float, y: float) -> None:
        if np.hypot(x - hinge[0], z - hinge[1]) + abs(y) < 1e-9:
            return
        model.add_node(name, x, z, -y)
        model.add_member(f"m{name}", "o", name, "stiff", "beam")

    half = LINKS["hinge_spacing_m"] / 2
    for side, y in (("l", half), ("r", -half)):
        star(f"h{side}", *hinge, y)
        for way in ("DX", "DY"):
            model.def_support_spring(f"h{side}", way, HINGE_N_M)
    # The shear across is held once, at the middle.
    model.def_support("o", False, False, True, False, False, False)
    cabinet = hang.cabinets[joint]
    above = hang.cabinets[joint - 1]
    lower_axes = axes_of(placed.axis_deg[joint])
    upper_axes = axes_of(placed.axis_deg[joint - 1])
    pin = cabinet.height_m / 2 - cabinet.rear_pin_inset_m
    lower = placed.front_m[joint] + lower_axes @ (cabinet.rear_pin_x_m, pin)
    upper = placed.front_m[joint - 1] + upper_axes @ (above.rear_pin_x_m, -pin)
    length = float(np.linalg.norm(upper - lower))
    area = link_ratio * HINGE_N_M * length / 2e11
    model.add_material("steel", 2e11, 8e10, 0.3, 0.0)
    model.add_section("bar", area, 1e-9, 1e-9, 1e-13)
    for side, y in (("l", LINKS["link_spacing_m"] / 2), ("r", -LINKS["link_spacing_m"] / 2)):
        star(f"p{side}", *lower, y)
        model.add_node(f"u{side}", *upper, -y)
        model.def_support(f"u{side}", True, True, True, True, True, True)
        model.add_member(f"k{side}", f"p{side}", f"u{side}", "steel", "bar")
        model.def_releases(f"k{side}", Ryi=True, Rzi=True, Ryj=True, Rzj=True)
    for index in range(joint, len(hang.cabinets)):
        body = hang.cabinets[index]
        at = placed.front_m[index] + axes_of(placed.axis_deg[index]) @ body.cg_m
        star(f"g{index}", *at, float(cg_y_m[index]))
        model.add_node_load(f"g{index}", "FY", -G_M_S2 * body.mass_kg)
        middle = placed.corners_m[index].mean(axis=0)
        star(f"w{index}", *middle, 0.0)
        model.add_node_load(f"w{index}", "FX", float(force_n[index][0]))
        model.add_node_load(f"w{index}", "FZ", -float(force_n[index][1]))
    if hang.bottom is not None:
        at = placed.hinge_m[-1] + axes_of(placed.axis_deg[-1]) @ hang.bottom.cg_m
        star("tail", *at, 0.0)
        model.add_node_load("tail", "FY", -G_M_S2 * hang.bottom.mass_kg)
    if max(chains_n) > 0.0:
        top, end = np.asarray(placed.chain_m)
        up = (top - end) / np.linalg.norm(top - end)
        for side, y, pull in zip("lr", (0.35, -0.35), chains_n, strict=True):
            star(f"c{side}", *end, y)
            model.add_node_load(f"c{side}", "FX", pull * up[0])
            model.add_node_load(f"c{side}", "FY", pull * up[1])
    model.analyze()
    # A spring's force on the body is against its movement.
    hinges = np.array(
        [
            [-HINGE_N_M * model.nodes[f"h{side}"].DX["Combo 1"] for side in "lr"],
            [-HINGE_N_M * model.nodes[f"h{side}"].DY["Combo 1"] for side in "lr"],
        ]
    ).T
    # A bar's axial force is positive in compression.
    links = np.array([model.members[f"k{side}"].axial(0.0, "Combo 1") for side in "lr"])
    return links, hinges


@pytest.mark.parametrize("ratio", [0.3, 1.0, 4.0])
def test_a_space_frame_carries_the_same(ratio: float, outside: Outside) -> None:
    """PyNiteFEA at every joint between cabinets of a tension hang, to 1e-4 of the weight."""
    hang = builders.hang(SPLAYS, bottom=builders.bottom())
    off = np.array([0.05, 0.02, -0.04, 0.08])
    forces = np.array([[100.0, 250.0], [80.0, 240.0], [60.0, 230.0], [50.0, 220.0]])
    found = ha.statics.forces_per_side(
        hang, -3.0, cg_y_m=off, force_n=forces, link_over_hinge=ratio, **LINKS
    )
    weight = G_M_S2 * ha.pose(hang, 0.0).mass_kg
    for joint in (1, 2, 3):
        links, hinges = cut_by_frame_model(hang, -3.0, joint, ratio, off, forces)
        outside.check(
            "balance and joints",
            f"left and right link and hinge of joint {joint}, links {ratio:g} times as stiff",
            Source("matrix statics of a space frame by PyNite", Kind.LIBRARY, "PyNiteFEA"),
            theirs=[*links, *hinges.ravel()],
            ours=[*found.stop_n[joint], *found.hinge_n[joint].ravel()],
            unit="N",
            within=1e-4 * weight,
            why="springs of the frame give a little",
        )
    assert np.abs(found.stop_n[1, 0] - found.stop_n[1, 1]) > 0.02 * weight


def cut_by_simulation(
    hang: ha.Hang, tilt_deg: float, joint: int, cg_y_m: np.ndarray, force_n: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """What hangs below a joint as a free body in MuJoCo: springs for hinges, links and shear.

    A spring so stiff that the body moves by hundredths of a millimetre, and ten metres long, so
    that it keeps its direction.
    """
    placed = ha.pose(hang, tilt_deg)
    hinge = placed.hinge_m[joint]
    rate, far = 1e8, 10.0
    sites, roofs, tendons, parts = "", "", "", ""

    def spring(name: str, at: Any, to: Any) -> None:
        nonlocal sites, roofs, tendons
        length = float(np.linalg.norm(np.subtract(to, at)))
        a, b = (" ".join(repr(float(c)) for c in place) for place in (at, to))
        sites += f'<site name="b{name}" pos="{a}"/>'
        roofs += f'<site name="r{name}" pos="{b}"/>'
        tendons += (
            f'<spatial name="{name}" stiffness="{rate!r}" damping="1e5" springlength="{length!r}">'
            f'<site site="r{name}"/><site site="b{name}"/></spatial>'
        )

    for side, way in (("l", 1.0), ("r", -1.0)):
        y = way * LINKS["hinge_spacing_m"] / 2
        spring(f"x{side}", (0.0, y, 0.0), (far, y, 0.0))
        spring(f"z{side}", (0.0, y, 0.0), (0.0, y, far))
        y = way * LINKS["link_spacing_m"] / 2
        pin = hang.cabinets[joint].height_m / 2 - hang.cabinets[joint].rear_pin_inset_m
        lower = placed.front_m[joint] + axes_of(placed.axis_deg[joint]) @ (-0.5, pin) - hinge
        above = joint - 1
        upper = placed.front_m[above] + axes_of(placed.axis_deg[above]) @ (-0.5, -pin) - hinge
        spring(f"k{side}", (lower[0], y, lower[1]), (upper[0], y, upper[1]))
    spring("y", (0.0, 0.0, 0.0), (0.0, far, 0.0))
    wind = []
    for index in range(joint, len(hang.cabinets)):
        cabinet = hang.cabinets[index]
        turn = axes_of(placed.axis_deg[index])
        x, z = placed.front_m[index] + turn @ cabinet.cg_m - hinge
        parts += f"""<body pos="{float(x)!r} {float(cg_y_m[index])!r} {float(z)!r}">
            <inertial pos="0 0 0" mass="{cabinet.mass_kg!r}" diaginertia="5 5 5"/></body>"""
        x, z = placed.corners_m[index].mean(axis=0) - hinge
        parts += f"""<body name="w{index}" pos="{float(x)!r} 0 {float(z)!r}">
            <inertial pos="0 0 0" mass="1e-6" diaginertia="1e-9 1e-9 1e-9"/></body>"""
        wind.append((f"w{index}", force_n[index]))
    model = mujoco.MjModel.from_xml_string(f"""<mujoco>
        <option timestep="0.0001" integrator="implicitfast" gravity="0 0 -{G_M_S2}"/>
        <worldbody>{roofs}<body><freejoint/>
            <inertial pos="0 0 0" mass="1e-3" diaginertia="1e-3 1e-3 1e-3"/>{sites}{parts}</body>
        </worldbody><tendon>{tendons}</tendon></mujoco>""")
    data = mujoco.MjData(model)
    for name, force in wind:
        data.xfrc_applied[model.body(name).id, :2] = force
    mujoco.mj_step(model, data, nstep=20_000)
    assert np.abs(data.qvel).max() < 1e-6

    def pull(name: str) -> float:
        stretch = (
            data.ten_length[model.tendon(name).id]
            - model.tendon_lengthspring[model.tendon(name).id, 0]
        )
        return float(rate * stretch)

    links = np.array([-pull("kl"), -pull("kr")])
    return links, np.array([[pull(f"x{side}"), pull(f"z{side}")] for side in "lr"])


def test_a_simulated_body_on_springs_carries_the_same(outside: Outside) -> None:
    """MuJoCo at every joint between cabinets, without a bottom frame, to 1e-4 of the weight."""
    hang = builders.hang(SPLAYS)
    off = np.array([0.05, 0.02, -0.04, 0.08])
    forces = np.array([[100.0, 250.0], [80.0, 240.0], [60.0, 230.0], [50.0, 220.0]])
    found = ha.statics.forces_per_side(hang, -3.0, cg_y_m=off, force_n=forces, **LINKS)
    weight = G_M_S2 * ha.pose(hang, 0.0).mass_kg
    for joint in (1, 2, 3):
        links, hinges = cut_by_simulation(hang, -3.0, joint, off, forces)
        outside.check(
            "balance and joints", "left and right links and hinges, weights off the middle, wind",
            ran("mujoco", "a free body on springs, simulated to rest by MuJoCo"),
            theirs=[*links, *hinges.ravel()], ours=[*found.stop_n[joint],
            *found.hinge_n[joint].ravel()], unit="N", within=1e-4 * weight,
            why="the springs give a little",
        )  # fmt: skip


def test_two_unlike_chains_of_a_closed_hang_in_a_space_frame(outside: Outside) -> None:
    frame = builders.frame(chain_anchor_m=(-1.4, 0.05))
    tail = builders.bottom(chain_anchor_m=(-1.3, -0.05))
    hang = builders.hang(SPLAYS, "compression", frame=frame, bottom=tail)
    pull = ha.close(hang, -3.0).closing_force_n + 2500.0
    found = ha.statics.forces_per_side(hang, -3.0, chain_force_n=pull, left_share=0.55, **LINKS)
    assert not found.lifted.any()
    np.testing.assert_allclose(found.chain_force_n, [0.55 * pull, 0.45 * pull])
    still = np.zeros((4, 2))
    weight = G_M_S2 * ha.pose(hang, 0.0).mass_kg
    for joint in (1, 2, 3):
        links, hinges = cut_by_frame_model(
            hang, -3.0, joint, 1.0, np.zeros(4), still, (0.55 * pull, 0.45 * pull)
        )
        outside.check(
            "balance and joints", "left and right stops and hinges of a hang closed by two chains",
            ran("PyNiteFEA", "matrix statics of a space frame by PyNite"),
            theirs=[*links, *hinges.ravel()], ours=[*found.stop_n[joint],
            *found.hinge_n[joint].ravel()], unit="N", within=1e-4 * weight,
            why="springs of the frame give a little",
        )  # fmt: skip


def test_sides_alike_share_in_halves_what_the_plane_carries() -> None:
    hang = builders.hang(SPLAYS)
    found, plane = ha.statics.forces_per_side(hang, -3.0), ha.joint_loads(hang, -3.0)
    halves = -plane.rear_link_n[:, None] / 2
    np.testing.assert_allclose(found.stop_n, np.repeat(halves, 2, axis=1), rtol=1e-12)
    np.testing.assert_allclose(
        found.hinge_n.sum(axis=1), plane.hinge_force_n, rtol=1e-12, atol=1e-9
    )
    np.testing.assert_array_equal(found.shear_n, 0.0)
    closed = builders.hang(SPLAYS, "compression")
    closing = ha.close(closed, -3.0)
    twice = ha.statics.forces_per_side(closed, -3.0)
    np.testing.assert_allclose(
        twice.stop_n.sum(axis=1), closing.stop_force_n, rtol=1e-12, atol=1e-9
    )


def test_each_cut_is_in_balance_in_space_also_where_it_leans() -> None:
    """Forces and moments of both sides, weights and side forces vanish, in the leaning axes."""
    hang = builders.hang(SPLAYS)
    lean = 6.0
    off = np.array([0.05, -0.03, 0.02, 0.06])
    side = np.array([300.0, 280.0, 260.0, 240.0])
    forces = np.column_stack([np.zeros(4), side])
    found = ha.statics.forces_per_side(
        hang, -3.0, cg_y_m=off, force_n=forces, lean_deg=lean, **LINKS
    )
    placed = ha.pose(hang, -3.0)
    s, c = np.sin(np.radians(lean)), np.cos(np.radians(lean))
    for joint in (1, 2, 3):
        hinge = placed.hinge_m[joint]
        force, moment = np.zeros(3), np.zeros(3)

        def add(
            x: float,
            y: float,
            z: float,
            pull: tuple[float, float, float],
            hinge: np.ndarray = hinge,
            force: np.ndarray = force,
            moment: np.ndarray = moment,
        ) -> None:
            force += pull
            moment += np.cross([x - hinge[0], y, z - hinge[1]], pull)

        for index in range(joint, 4):
            cabinet = hang.cabinets[index]
            at = placed.front_m[index] + axes_of(placed.axis_deg[index]) @ cabinet.cg_m
            weight = G_M_S2 * cabinet.mass_kg
            add(at[0], off[index], at[1], (0.0, -weight * s, -weight * c))
            middle = placed.corners_m[index].mean(axis=0)
            add(middle[0], 0.0, middle[1], (0.0, side[index] * c, -side[index] * s))
        pin = 0.36 / 2 - 0.05
        lower = placed.front_m[joint] + axes_of(placed.axis_deg[joint]) @ (-0.5, pin)
        upper = placed.front_m[joint - 1] + axes_of(placed.axis_deg[joint - 1]) @ (-0.5, -pin)
        along = (upper - lower) / np.linalg.norm(upper - lower)
        for k, way in enumerate((1.0, -1.0)):
            stop = found.stop_n[joint, k]
            y = way * LINKS["link_spacing_m"] / 2
            add(lower[0], y, lower[1], (-stop * along[0], 0.0, -stop * along[1]))
            at_hinge = found.hinge_n[joint, k]
            y = way * LINKS["hinge_spacing_m"] / 2
            add(hinge[0], y, hinge[1], (at_hinge[0], 0.0, at_hinge[1]))
        add(hinge[0], 0.0, hinge[1], (0.0, found.shear_n[joint], 0.0))
        np.testing.assert_allclose(force, 0.0, atol=1e-8)
        np.testing.assert_allclose(moment, 0.0, atol=1e-8)


def test_a_stop_that_would_pull_lifts_off_and_the_other_side_carries_all() -> None:
    hang = builders.hang(SPLAYS, "compression")
    found = ha.statics.forces_per_side(hang, -3.0, cg_y_m=0.1, **LINKS)
    # At the closing force the governing stop carries nothing, so any roll lifts one side.
    assert found.lifted[1:-1].any()
    for joint in np.flatnonzero(found.lifted):
        assert found.stop_n[joint].min() == pytest.approx(0.0, abs=1e-9)
        assert found.stop_n[joint].max() >= 0.0
        # Roll by hand: hinges hold what the one stop does not.
        h = (found.hinge_n[joint, 0] - found.hinge_n[joint, 1]) / 2
        assert LINKS["hinge_spacing_m"] * abs(h[1]) > 0.0


def test_every_side_is_held_against_half_the_limit_of_both() -> None:
    limits = {"hinge_n": 8000.0, "rear_link_n": 6000.0, "stop_n": 4000.0}
    hang = builders.hang(SPLAYS, cabinets=[builders.cabinet(limits=limits)] * 4)
    found = ha.statics.forces_per_side(hang, -3.0, cg_y_m=0.05, **LINKS)
    rows = {(row.part, row.number): row for row in found.limits}
    row = rows["left_rear_link", 2]
    assert row.limit_n == 3000.0
    assert row.force_n == pytest.approx(-found.stop_n[2, 0])
    assert row.item == "joint 2, left rear link in tension"
    assert row.case == "left and right unlike"
    assert rows["right_hinge", 1].limit_n == 4000.0
    assert rows["right_hinge", 0].utilisation is None


def test_oblique_wind_is_front_rear_and_side_square_on() -> None:
    hang, wind = builders.hang(SPLAYS), ha.Wind(speed_m_s=15.0)
    front = ha.wind_loads(hang, 0.0, -0.3, wind, top_m=9.0).force_n
    side = ha.wind_loads(hang, 0.0, -0.3, wind, top_m=9.0, wind_from="side").force_n
    for degrees, x, y in ((0, -1, 0), (90, 0, 1), (180, 1, 0), (270, 0, -1), (45, -0.5, 0.5)):
        found = ha.wind.oblique_forces(hang, 0.0, -0.3, wind, top_m=9.0, from_deg=degrees)
        np.testing.assert_allclose(found, np.column_stack([x * front, y * side]), atol=1e-9)


def test_a_gust_swings_a_pendulum_as_its_equation_of_motion_does() -> None:
    """ẍ + ω² x = ω² for t, then 0, integrated by SciPy."""
    from scipy.integrate import solve_ivp

    for gust, period in ((0.3, 4.0), (1.5, 4.0), (2.0, 4.0), (9.0, 4.0)):
        omega = 2 * np.pi / period

        def swing(time: float, state: Any, gust: float = gust, omega: float = omega) -> list[float]:
            return [state[1], omega**2 * ((time < gust) - state[0])]

        times = np.linspace(0.0, gust + 2 * period, 8001)
        path = solve_ivp(
            swing, (0.0, times[-1]), [0.0, 0.0], t_eval=times, max_step=0.005, rtol=1e-9
        )
        assert ha.wind.gust_factor(gust, period) == pytest.approx(path.y[0].max(), rel=1e-3)


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("cg_y_m", {"cg_y_m": [0.1, 0.2]}),
        ("force_n", {"force_n": [[1.0, 2.0]]}),
        ("force_n", {"force_n": [1.0, 2.0, 3.0, 4.0]}),
        ("hinge_spacing_m", {"hinge_spacing_m": 0.0}),
        ("left_share", {"left_share": 1.2}),
        ("link_over_hinge", {"link_over_hinge": -1.0}),
        ("lean_deg", {"lean_deg": 60.0}),
        ("chain_force_n", {"hang": builders.hang(SPLAYS, "compression"), "chain_force_n": 10.0}),
    ],
)
def test_bad_sides_are_refused_by_name(field: str, changes: dict[str, Any]) -> None:
    good: dict[str, Any] = {"hang": builders.hang(SPLAYS), "tilt_deg": 0.0}
    with pytest.raises(ha.InputError) as refused:
        ha.statics.forces_per_side(**{**good, **changes})
    assert refused.value.field == field
