"""Hoist lines that stretch, lead off plumb, are out of step or fail, and lifts off a cart.

Against a mechanism simulated in MuJoCo, an energy minimum by SciPy, and closed forms.
"""

from __future__ import annotations

from typing import Any

import builders
import hangarc as ha
import mujoco
import numpy as np
import pytest
from outside import Outside, ran
from scipy.optimize import minimize

G_M_S2 = 9.80665
PICKS = [0.2, -0.8]
SPLAYS = [1.0, 2.0, 5.0]


def hang(**changes: Any) -> ha.Hang:
    return builders.hang(SPLAYS, bottom=builders.bottom(), **changes)


def picks_m(one: ha.Hang, tilt_deg: float) -> np.ndarray:
    turn = np.radians(tilt_deg)
    axes = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    return np.array([axes @ (x, one.frame.pick_z_m) for x in PICKS])


class Planar:
    """A rigid body in MuJoCo that slides in x and z and turns, on tendons that only pull."""

    def __init__(
        self,
        mass_kg: float,
        arms_m: np.ndarray,
        roofs_m: np.ndarray,
        unloaded_m: np.ndarray,
        rate: float,
        edges_m: np.ndarray | None = None,
        floor_m: float = 0.0,
    ) -> None:
        sites = "".join(
            f'<site name="p{i}" pos="{x!r} 0 {z!r}"/>' for i, (x, z) in enumerate(arms_m.tolist())
        )
        roofs = "".join(
            f'<site name="r{i}" pos="{x!r} 0 {z!r}"/>' for i, (x, z) in enumerate(roofs_m.tolist())
        )
        tendons = "".join(
            f'<spatial stiffness="{rate!r}" springlength="0 {length!r}">'
            f'<site site="r{i}"/><site site="p{i}"/></spatial>'
            for i, length in enumerate(unloaded_m.tolist())
        )
        # Edges are points: spheres so small that they do not count; the floor is one plane.
        balls = ""
        if edges_m is not None:
            balls = "".join(
                f'<geom name="e{i}" type="sphere" size="1e-5" pos="{x!r} 0 {z + 1e-5!r}" mass="0"/>'
                for i, (x, z) in enumerate(edges_m.tolist())
            )
        # Near critical for the swing and for the stretch; at rest it does no work.
        swing, bounce = 3.0 * mass_kg, 40.0 * mass_kg
        step = 0.0001 if edges_m is not None else 0.0005
        self.model = mujoco.MjModel.from_xml_string(f"""<mujoco>
            <option timestep="{step}" integrator="implicitfast" solver="Newton" tolerance="1e-14"
                iterations="200" gravity="0 0 -{G_M_S2}" cone="elliptic"/>
            <default><geom solref="{6 * step} 1" solimp="0.9999 0.99999 1e-9" friction="1e-6"
                condim="1"/></default>
            <worldbody>{roofs}<geom type="plane" size="9 9 1" pos="0 0 {floor_m!r}"/>
            <body><joint type="slide" axis="1 0 0" damping="{swing}"/>
                <joint type="slide" axis="0 0 1" damping="{bounce}"/>
                <joint type="hinge" axis="0 1 0" damping="{swing}"/>
                <inertial pos="0 0 0" mass="{mass_kg!r}"
                    diaginertia="{mass_kg!r} {mass_kg!r} {mass_kg!r}"/>{sites}{balls}</body>
            </worldbody><tendon>{tendons}</tendon></mujoco>""")
        self.data = mujoco.MjData(self.model)
        self.unloaded_m, self.rate = unloaded_m, rate

    def settle(self, seconds: float = 60.0) -> None:
        for _ in range(int(seconds / self.model.opt.timestep / 100)):
            mujoco.mj_step(self.model, self.data, nstep=100)
            speed = np.abs(self.data.qvel).max()
            if speed < 1e-7 and np.abs(self.data.qacc).max() < 1e-5:
                return
            # A contact at rest still falls and is caught again within each step: g times the step.
            if (
                self.data.ncon
                and self.data.time > 20.0
                and speed < G_M_S2 * self.model.opt.timestep
            ):
                return
        raise AssertionError(np.abs(self.data.qvel).max())

    @property
    def line_n(self) -> np.ndarray:
        return self.rate * np.maximum(0.0, self.data.ten_length - self.unloaded_m)

    @property
    def turn_deg(self) -> float:
        return -float(np.degrees(self.data.qpos[2]))


CASES: dict[str, dict[str, Any]] = {
    "out of step": {"longer_m": [0.05, 0.0]},
    "stretch": {"trimmed_loaded": False},
    "off plumb": {"roof_forward_m": [0.3, -0.2]},
    "one fails": {"failed": 0},
    "all": {"longer_m": [0.0, 0.04], "roof_forward_m": [0.5, 0.1], "trimmed_loaded": False},
}


@pytest.mark.parametrize("name", CASES)
def test_a_simulated_body_on_tendons_agrees(name: str, outside: Outside) -> None:
    """MuJoCo to 1e-4: tilt to 1e-4 of a radian, pulls to 1e-4 of the weight."""
    changes, one, tilt, rate = CASES[name], hang(), -2.0, 2e5
    lines = np.array([6.0, 7.0])
    found = ha.suspension.hang_on_lines(one, tilt, PICKS, lines, rate, **changes)
    assert found.ok
    placed = ha.pose(one, tilt)
    picks = picks_m(one, tilt)
    centre = np.asarray(placed.cg_m)
    planned = ha.hoist_loads(one, tilt, PICKS).load_n
    unloaded = lines + np.array(changes.get("longer_m", [0.0, 0.0]))
    if changes.get("trimmed_loaded", True):
        unloaded = unloaded - planned / rate
    roofs = picks + np.column_stack([changes.get("roof_forward_m", [0.0, 0.0]), lines]) - centre
    keep = [i for i in range(2) if i != changes.get("failed")]
    body = Planar(placed.mass_kg, (picks - centre)[keep], roofs[keep], unloaded[keep], rate)
    body.settle()
    weight = placed.mass_kg * G_M_S2
    outside.check(
        "lines that stretch",
        "a hang on two lines that stretch, out of step, off plumb, one failed: turn, pulls, way",
        ran("mujoco", "a body on tendons, simulated to rest by MuJoCo"),
        theirs=[np.radians(body.turn_deg), *body.line_n / weight, *body.data.qpos[:2]],
        ours=[np.radians(found.tilt_deg - tilt), *found.hoist_load_n[keep] / weight,
              *found.cg_moved_m],
        unit="rad, of the weight, m", within=1e-4, why="the simulation's own rest",
    )  # fmt: skip


def test_the_rest_on_random_lines_is_scipys_least_energy(outside: Outside) -> None:
    """Energy no higher than SciPy's, and every force and moment balanced to 1e-8 of the weight."""
    rng = np.random.default_rng(3)
    for _ in range(30):
        one, tilt = hang(), float(rng.uniform(-8, 5))
        lines, rates = rng.uniform(3, 12, 2), 10 ** rng.uniform(4.7, 6.5, 2)
        forward, longer = rng.uniform(-0.6, 0.6, 2), rng.uniform(-0.1, 0.1, 2)
        found = ha.suspension.hang_on_lines(
            one, tilt, PICKS, lines, rates, longer_m=longer, roof_forward_m=forward
        )
        assert found.ok
        placed = ha.pose(one, tilt)
        centre, weight = np.asarray(placed.cg_m), placed.mass_kg * G_M_S2
        picks = picks_m(one, tilt)
        roofs = picks + np.column_stack([forward, lines])
        unloaded = lines + longer - ha.hoist_loads(one, tilt, PICKS).load_n / rates

        def energy(
            q: np.ndarray,
            centre: np.ndarray = centre,
            weight: float = weight,
            arms: np.ndarray = picks - centre,
            roofs: np.ndarray = roofs,
            unloaded: np.ndarray = unloaded,
            rates: np.ndarray = rates,
        ) -> float:
            c, s = np.cos(q[2]), np.sin(q[2])
            at = centre + q[:2] + arms @ np.array([[c, s], [-s, c]])
            stretch = np.maximum(0.0, np.linalg.norm(at - roofs, axis=1) - unloaded)
            return float(q[1] + 0.5 * (rates * stretch**2).sum() / weight)

        ours = np.array([*found.cg_moved_m, np.radians(found.tilt_deg - tilt)])
        other = minimize(energy, ours + rng.normal(0, 1e-3, 3), method="BFGS", tol=1e-10)
        outside.check(
            "lines that stretch", "energy of 30 hangs on random lines at rest, over the weight",
            ran("scipy", "least energy by BFGS of SciPy"), theirs=other.fun, ours=energy(ours),
            unit="m", within=1e-10, why="where the minimiser stops",
        )  # fmt: skip
        c, s = np.cos(ours[2]), np.sin(ours[2])
        at = centre + ours[:2] + (picks - centre) @ np.array([[c, s], [-s, c]])
        way = (roofs - at) / np.linalg.norm(roofs - at, axis=1)[:, None]
        pulls = way * found.hoist_load_n[:, None]
        arms = at - centre - ours[:2]
        np.testing.assert_allclose(pulls.sum(axis=0), [0.0, weight], atol=1e-8 * weight)
        moment = (arms[:, 0] * pulls[:, 1] - arms[:, 1] * pulls[:, 0]).sum()
        assert abs(moment) < 1e-8 * weight
        lean = np.degrees(np.arctan2(way[:, 0], way[:, 1]))
        np.testing.assert_allclose(found.line_lean_deg, lean, atol=1e-8)


def test_lines_as_planned_leave_the_hang_as_planned() -> None:
    one = hang()
    found = ha.suspension.hang_on_lines(one, -3.0, PICKS, 8.0, 1e6)
    assert found.tilt_deg == pytest.approx(-3.0, abs=1e-9)
    np.testing.assert_allclose(
        found.hoist_load_n, ha.hoist_loads(one, -3.0, PICKS).load_n, rtol=1e-8
    )
    np.testing.assert_allclose(found.cg_moved_m, 0.0, atol=1e-9)


def test_on_one_line_the_hang_rests_below_its_pick() -> None:
    one = hang()
    found = ha.suspension.hang_on_lines(one, 0.0, PICKS[0], 8.0, 1e6)
    assert found.tilt_deg == pytest.approx(ha.hanging_tilt(one, PICKS[0]).tilt_deg, abs=1e-6)
    assert found.hoist_load_n == pytest.approx([ha.pose(one, 0.0).mass_kg * G_M_S2], rel=1e-9)
    np.testing.assert_allclose(found.cg_moved_m, 0.0, atol=1e-9)


def test_rows_name_the_case_they_belong_to() -> None:
    one = hang()
    for changes, case in (
        ({}, "on_lines"),
        ({"longer_m": [0.0, 0.01]}, "hoist_out_of_step"),
        ({"failed": 0}, "hoist_failed"),
    ):
        found = ha.suspension.hang_on_lines(one, -3.0, PICKS, 8.0, 1e6, **changes)
        assert {row.state for row in found.limits} == {case}


def test_a_failed_hoist_leaves_the_tilt_of_one_pick() -> None:
    one = hang()
    found = ha.suspension.hang_on_lines(one, -3.0, PICKS, 8.0, 1e6, failed=1)
    assert found.tilt_deg == pytest.approx(ha.hanging_tilt(one, PICKS[0]).tilt_deg, abs=1e-6)
    weight = ha.pose(one, 0.0).mass_kg * G_M_S2
    np.testing.assert_allclose(found.hoist_load_n, [weight, 0.0], rtol=1e-9)
    assert {row.state for row in found.limits} == {"hoist_failed"}


def test_stretch_tilts_by_the_difference_over_the_picks_distance() -> None:
    """Small stretch: tan of the turn is (F1 − F2)/(k s), to the square of the turn."""
    one = hang()
    found = ha.suspension.hang_on_lines(one, 0.0, PICKS, 50.0, 1e6, trimmed_loaded=False)
    front, rear = ha.hoist_loads(one, 0.0, PICKS).load_n
    turn = np.degrees((rear - front) / 1e6 / 1.0)
    assert found.tilt_deg == pytest.approx(turn, rel=1e-2)


def test_one_hoist_out_of_step_is_in_the_table() -> None:
    """sin φ' = sin φ ± δ/s, the loads those at that tilt."""
    one = hang(frame=builders.frame(limits={"pick_n": 9000.0}))
    step, tilt = 0.05, -2.0
    rows = ha.statics.part_loads(one, tilt, PICKS, out_of_step_m=step)
    calm = ha.statics.part_loads(one, tilt, PICKS)
    tilts = [np.degrees(np.arcsin(np.sin(np.radians(tilt)) + side * step)) for side in (1, -1)]
    loads = np.array([ha.hoist_loads(one, t, PICKS).load_n for t in tilts])
    links = np.array([ha.joint_loads(one, t).rear_link_n for t in tilts])
    by = {(row.part, row.number): row for row in rows}
    for row in calm:
        after = by[row.part, row.number]
        assert after.force_n >= row.force_n
        if row.part == "hoist":
            assert after.force_n == pytest.approx(max(row.force_n, loads[:, row.number].max()))
        if row.part == "rear_link" and row.number == 1:
            assert after.force_n == pytest.approx(max(row.force_n, links[:, 1].max()))
    changed = [row for row in rows if row.state == "hoist_out_of_step"]
    assert changed
    assert changed[0].case == "one hoist out of step"
    assert [
        row.to_dict() for row in ha.statics.part_loads(one, tilt, PICKS, out_of_step_m=0.0)
    ] == [row.to_dict() for row in calm]


def test_a_closed_hang_out_of_step_asks_for_its_closing_force_there() -> None:
    one = builders.hang(SPLAYS, "compression")
    rows = ha.statics.part_loads(one, -2.0, PICKS, out_of_step_m=0.1)
    chain = next(row for row in rows if row.part == "upper_anchor")
    assert chain.force_n >= ha.close(one, -2.0).closing_force_n


def standing(one: ha.Hang, count: int) -> tuple[ha.Hang, float, Any]:
    """The upper cabinets, their tilt with the lowest level, and their pose."""
    part = builders.hang(SPLAYS[: count - 1], frame=one.frame)
    tilt = sum(SPLAYS[: count - 1])
    return part, tilt, ha.pose(part, tilt)


def test_what_hoists_read_off_the_cart_is_what_a_simulated_contact_gives(outside: Outside) -> None:
    """MuJoCo's contacts, to 1e-4 of the weight, on an all but rigid floor."""
    one, rate, line = hang(), 1e5, 6.0
    raised = np.array([0.0, 0.005, 0.012, 0.018, 0.03])
    found = ha.suspension.lift_off(
        one,
        PICKS,
        raised,
        cabinets=3,
        line_m=line,
        stiffness_n_m=rate,
        floor_stiffness_n_m=1e9,
    )
    assert found.ok
    part, tilt, placed = standing(one, 3)
    centre, weight = np.asarray(placed.cg_m), placed.mass_kg * G_M_S2
    assert found.weight_n == pytest.approx(weight)
    picks = picks_m(part, tilt)
    edges = placed.corners_m[-1][1:3] - centre
    contacts = 0
    for index, take_up in enumerate(raised):
        body = Planar(
            placed.mass_kg,
            picks - centre,
            picks + np.array([0.0, line]) - centre,
            np.full(2, line - take_up),
            rate,
            edges,
            float(edges[0, 1]),
        )
        body.settle()
        outside.check(
            "lines that stretch", "what two hoists read while a hang lifts off its cart",
            ran("mujoco", "a body on tendons and contacts, simulated to rest by MuJoCo"),
            theirs=body.line_n / weight, ours=found.hoist_load_n[index] / weight,
            unit="of the weight", within=1e-4, why="the simulated floor gives a little",
        )  # fmt: skip
        np.testing.assert_allclose(
            found.hoist_load_n[index].sum() + found.floor_n[index].sum(), weight, rtol=1e-3
        )
        turned = np.radians(found.tilt_deg[index] - tilt)
        assert turned == pytest.approx(np.radians(body.turn_deg), abs=1e-4)
        contacts += int((found.floor_n[index] > 0).sum())
    # The floor gives a little, and the lines take that up.
    assert found.floor_n[0].sum() == pytest.approx(weight, rel=2e-4)
    assert found.floor_n[-1].sum() == 0.0
    assert 3 <= contacts <= 8


def test_moments_by_hand_while_both_edges_stand() -> None:
    """One hoist, rigid floor: F1 + F2 = W − T and moments; the floor's dent is left out."""
    one = hang()
    found = ha.suspension.lift_off(
        one, -0.3, [0.004], cabinets=2, line_m=5.0, stiffness_n_m=1e5, floor_stiffness_n_m=1e10
    )
    _, _, placed = standing(one, 2)
    weight, centre = placed.mass_kg * G_M_S2, np.asarray(placed.cg_m)
    turn = np.radians(SPLAYS[0])
    pick = np.array(
        [
            -0.3 * np.cos(turn) - 0.22 * np.sin(turn),
            -0.3 * np.sin(turn) + 0.22 * np.cos(turn),
        ]
    )
    front, rear = placed.corners_m[-1][1], placed.corners_m[-1][2]
    pull = 1e5 * 0.004
    rest = weight - pull
    moment = weight * centre[0] - pull * pick[0]
    rear_n = (rest * front[0] - moment) / (front[0] - rear[0])
    assert found.hoist_load_n[0, 0] == pytest.approx(pull, rel=1e-4)
    np.testing.assert_allclose(found.floor_n[0], [rest - rear_n, rear_n], rtol=1e-3)


def test_lines_too_soft_for_the_weight_never_lift_it_off() -> None:
    """A line of 1 m takes up 0.9 m at most; two of 1 kN/m hold 1.8 kN then, not the weight."""
    one = hang()
    found = ha.suspension.lift_off(one, PICKS, [0.5], cabinets=2, line_m=1.0, stiffness_n_m=1e3)
    assert found.weight_n > 2 * 0.9 * 1e3
    assert found.free_at_m is None
    assert found.floor_n.sum() + found.hoist_load_n.sum() == pytest.approx(found.weight_n)


def test_it_comes_free_when_the_hoists_carry_everything() -> None:
    one = hang()
    found = ha.suspension.lift_off(
        one, PICKS, [0.0], cabinets=2, line_m=5.0, stiffness_n_m=2e5, floor_stiffness_n_m=1e8
    )
    assert found.free_at_m is not None
    assert found.free_hoist_n.sum() == pytest.approx(found.weight_n, rel=1e-5)
    again = ha.suspension.lift_off(
        one,
        PICKS,
        [found.free_at_m - 1e-3, found.free_at_m + 1e-5],
        cabinets=2,
        line_m=5.0,
        stiffness_n_m=2e5,
        floor_stiffness_n_m=1e8,
    )
    assert again.floor_n[0].sum() > 0.0
    assert again.floor_n[1].sum() == 0.0


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("pick_x_m", {"pick_x_m": [0.0, 0.1, 0.2]}),
        ("line_m[0]", {"line_m": 0.0}),
        ("line_m", {"line_m": [1.0, 2.0, 3.0]}),
        ("stiffness_n_m[1]", {"stiffness_n_m": [1e5, -1.0]}),
        ("failed", {"failed": 2}),
        ("failed", {"failed": 0, "pick_x_m": -0.3}),
        ("hoist_limit_n", {"hoist_limit_n": 0.0}),
        ("line_m[0]", {"line_m": 0.01, "longer_m": -0.5}),
    ],
)
def test_bad_lines_are_refused_by_name(field: str, changes: dict[str, Any]) -> None:
    good: dict[str, Any] = {
        "hang": hang(),
        "tilt_deg": 0.0,
        "pick_x_m": PICKS,
        "line_m": 6.0,
        "stiffness_n_m": 1e6,
    }
    with pytest.raises(ha.InputError) as refused:
        ha.suspension.hang_on_lines(**{**good, **changes})
    assert refused.value.field == field


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("cabinets", {"cabinets": 9}),
        ("raised_m[0]", {"raised_m": [-0.1]}),
        ("raised_m[0]", {"raised_m": [7.0]}),
        ("floor_stiffness_n_m", {"floor_stiffness_n_m": 0.0}),
        ("line_m", {"line_m": -1.0}),
    ],
)
def test_bad_lifts_are_refused_by_name(field: str, changes: dict[str, Any]) -> None:
    good: dict[str, Any] = {
        "hang": hang(),
        "pick_x_m": PICKS,
        "raised_m": [0.01],
        "line_m": 6.0,
        "stiffness_n_m": 1e6,
    }
    with pytest.raises(ha.InputError) as refused:
        ha.suspension.lift_off(**{**good, **changes})
    assert refused.value.field == field
