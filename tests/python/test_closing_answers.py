"""What closing asks for and gives: sensitivities, spread, bypass chain, remedies, building up."""

from __future__ import annotations

import dataclasses
import itertools
import os
import re
import subprocess
import sys
from typing import Any

import builders
import hangarc as ha
import mpmath
import numpy as np
import pytest
from closing_reference import GRAVITY, Reference, random_hang
from outside import Outside, ran
from scipy.optimize import brentq

SPLAYS = [0.0, 1.0, 2.0, 3.0, 5.0, 7.0]
PICKS = (0.1, -0.7)


def hang(splays: list[float] = SPLAYS, **changes: Any) -> ha.Hang:
    return builders.hang(splays, "compression", **changes)


def changed(one: ha.Hang, tilt: float, name: str, by: float) -> tuple[ha.Hang, float]:
    """`one` with the input called `name` larger by `by`; splays get pins where they need them."""
    if name == "tilt_deg":
        return one, tilt + by
    data = one.to_dict()
    place: Any = data
    steps = name.replace("]", "").replace("[", ".").split(".")
    for step in steps[:-1]:
        place = place[int(step)] if step.isdigit() else place[step]
    last: Any = int(steps[-1]) if steps[-1].isdigit() else steps[-1]
    place[last] += by
    if steps[0] == "splays_deg":
        data["cabinets"][last]["splay_positions_deg"] = {
            "tension": [],
            "compression": [max(0.0, place[last])],
        }
        place[last] = max(0.0, place[last])
    return ha.Hang.from_dict(data), tilt


def test_sensitivities_are_the_slopes_of_finite_differences() -> None:
    rng = np.random.default_rng(2)
    for count, tilt in ((5, -4.0), (9, 3.0)):
        one, _ = random_hang(rng, count)
        one = dataclasses.replace(
            one,
            splays_deg=[2.0] * (count - 1),
        )
        found = ha.closing.closing_sensitivities(one, tilt, pick_x_m=PICKS)
        assert len(found.inputs) == 1 + (count - 1) + 3 * (count + 2) + 4
        for row, name in enumerate(found.inputs):
            step = 1e-4
            low, high = (changed(one, tilt, name, by) for by in (-step, step))
            force = [ha.close(h, t, steps=1).closing_force_n for h, t in (low, high)]
            slope = (force[1] - force[0]) / (2 * step)
            assert found.closing_force_n[row] == pytest.approx(slope, rel=1e-5, abs=1e-5), name
            loads = [ha.hoist_loads(h, t, list(PICKS)).load_n for h, t in (low, high)]
            slopes = (loads[1] - loads[0]) / (2 * step)
            np.testing.assert_allclose(
                found.hoist_load_n[row], slopes, rtol=1e-5, atol=1e-5, err_msg=name
            )


@dataclasses.dataclass
class Closed:
    """A closed hang of three cabinets in the precise numbers of mpmath, places as x + i z.

    Joint by joint at the pins, moments about the hinges, the chain straight between the `corners`
    that it touches: (body, place) of each, its ends left out.
    """

    data: dict[str, Any]
    corners: list[tuple[int, complex]]

    def bodies(self, tilt_deg: Any) -> list[tuple[Any, Any, Any, Any]]:
        """Frame, cabinets and bottom: mass, centre of gravity, upper hinge, turn."""
        data = self.data
        frame, bottom = data["frame"], data["bottom"]
        turn = mpmath.expjpi(mpmath.mpf(tilt_deg) / 180)
        found = [(frame["mass_kg"], mpmath.mpc(*frame["cg_m"]) * turn, mpmath.mpc(0), turn)]
        hinge = mpmath.mpc(0)
        angles = [data["frame_splay_deg"], *data["splays_deg"]]
        for cabinet, angle in zip(data["cabinets"], angles, strict=True):
            turn *= mpmath.expjpi(-mpmath.mpf(angle) / 180)
            middle = mpmath.mpc(-cabinet["hinge_x_m"], -mpmath.mpf(cabinet["height_m"]) / 2)
            cg = hinge + (middle + mpmath.mpc(*cabinet["cg_m"])) * turn
            found.append((cabinet["mass_kg"], cg, hinge, turn))
            hinge -= mpmath.mpc(0, cabinet["height_m"]) * turn
        turn *= mpmath.expjpi(-mpmath.mpf(bottom["fixed_splay_deg"]) / 180)
        found.append((bottom["mass_kg"], hinge + mpmath.mpc(*bottom["cg_m"]) * turn, hinge, turn))
        return found

    def figures(self, tilt_deg: Any) -> list[Any]:
        """Closing force, the greatest moment over lever; load of the front and the rear hoist."""
        bodies = self.bodies(tilt_deg)
        frame, bottom = self.data["frame"], self.data["bottom"]
        ends = [mpmath.mpc(*part["chain_anchor_m"]) for part in (frame, bottom)]
        chain = [(0, ends[0]), *self.corners, (len(bodies) - 1, ends[1])]
        way = [(body, bodies[body][2] + place * bodies[body][3]) for body, place in chain]
        forces = []
        for joint in range(1, len(bodies) - 2):
            hinge = bodies[joint + 1][2]
            moment = sum(m * (hinge - cg).real for m, cg, _, _ in bodies[joint + 1 :])
            above, below = next(
                (p, q) for (_, p), (body, q) in itertools.pairwise(way) if body > joint
            )
            span = below - above
            lever = ((below - hinge).conjugate() * span).imag / abs(span)
            forces.append(GRAVITY * moment / lever)
        front, rear = ((mpmath.mpc(pick, frame["pick_z_m"]) * bodies[0][3]).real for pick in PICKS)
        mass = sum(m for m, *_ in bodies)
        about_rear = sum(m * (cg.real - rear) for m, cg, _, _ in bodies)
        load = GRAVITY * about_rear / (front - rear)
        return [max(forces), load, GRAVITY * mass - load]

    def slopes(self, tilt_deg: float, name: str) -> list[float]:
        """Derivatives of the figures by an input."""
        place: Any = self.data
        *steps, last = [int(s) if s.isdigit() else s for s in re.findall(r"\w+", name)]
        for step in steps:
            place = place[step]

        def at(value: Any, figure: int) -> Any:
            if name == "tilt_deg":
                return self.figures(value)[figure]
            held, place[last] = place[last], value
            found = self.figures(tilt_deg)[figure]
            place[last] = held
            return found

        here = tilt_deg if name == "tilt_deg" else place[last]
        return [float(mpmath.diff(lambda v, k=k: at(v, k), here)) for k in range(3)]


@pytest.mark.parametrize(
    ("splays", "anchor_x_m", "tilt_deg"),
    [([1.0, 3.0], -0.75, -4.0), ([0.0, 2.0], -0.75, 3.0), ([3.0, 1.0], -0.4, 1.0)],
)
def test_sensitivities_are_mpmaths_derivatives_of_moments_over_levers(
    splays: list[float], anchor_x_m: float, tilt_deg: float, outside: Outside
) -> None:
    one = hang(
        splays,
        frame=builders.frame(chain_anchor_m=(anchor_x_m, 0.05)),
        bottom=builders.bottom(chain_anchor_m=(anchor_x_m, -0.05)),
    )
    found = ha.closing.closing_sensitivities(one, tilt_deg, pick_x_m=PICKS)
    # Which rear corners the chain goes round is SciPy's hull of them.
    reference = Reference(one, tilt_deg)
    _, points, hinges = reference.points(np.radians(splays))
    axes = reference.axes(np.radians(splays))
    corners = []
    for x, z, cabinet in points[reference.string(points)][1:-1]:
        body = int(cabinet)
        place = complex(x, z) - complex(*hinges[body])
        corners.append((body + 1, mpmath.mpc(place * np.exp(-1j * axes[body]))))
    assert bool(corners) == (anchor_x_m > -0.5)
    second = Closed(one.to_dict(), corners)
    force_n = float(second.figures(tilt_deg)[0])
    assert ha.close(one, tilt_deg).closing_force_n == pytest.approx(force_n, rel=1e-12)
    theirs = np.array([second.slopes(tilt_deg, name) for name in found.inputs])
    outside.check(
        "closing a hang", "change of closing force and hoist loads with each of 22 inputs",
        ran("mpmath", "derivatives by mpmath of moments over levers, written down a second time"),
        theirs=theirs, ours=np.column_stack([found.closing_force_n, found.hoist_load_n]),
        unit="N for each kg, m or °", within=1e-8, relative=1e-9, why="rounding",
    )  # fmt: skip


def test_a_hang_that_gravity_closes_has_no_slope_and_one_nothing_closes_is_refused() -> None:
    light = hang([0.0, 0.0], cabinets=[builders.cabinet(cg_m=(0.2, 0.0))] * 3)
    light = dataclasses.replace(light, bottom=builders.bottom(cg_m=(0.1, -0.05)))
    assert ha.close(light, 5.0).closing_force_n == 0.0
    assert not ha.closing.closing_sensitivities(light, 5.0).closing_force_n.any()
    forward = hang(
        frame=builders.frame(chain_anchor_m=(-0.6, -0.7)),
        bottom=builders.bottom(chain_anchor_m=(1.0, -1.0)),
    )
    assert ha.close(forward, -2.0).ended == "the chain has no lever on a joint"
    with pytest.raises(ha.InputError) as caught:
        ha.closing.closing_sensitivities(forward, -2.0)
    assert str(caught.value) == (
        "hang = the chain has no lever on a joint: "
        "allowed is a hang that a chain force holds closed"
    )


@pytest.mark.parametrize("tilt_deg", [90.0, -90.0, 89.99, 84.1])
def test_picks_that_stand_over_one_another_are_said_not_divided_by(tilt_deg: float) -> None:
    """Moments over a spacing in plan of nothing gave 1.5e34 N."""
    for call in (
        lambda: ha.closing.closing_sensitivities(hang(), tilt_deg),
        lambda: ha.closing.closing_spread(hang(), tilt_deg, cases=10),
        lambda: ha.close(hang(), tilt_deg),
        lambda: ha.close(hang(), tilt_deg, frame="two hoists", pick_x_m=PICKS),
    ):
        with pytest.raises(ha.InputError) as caught:
            call()
        assert str(caught.value) == (
            f"tilt_deg = {tilt_deg}: allowed is within 84°, where two picks stand apart in plan"
        )


def test_a_spread_of_tilts_stays_where_the_picks_stand_apart() -> None:
    with pytest.raises(ha.InputError, match=r"tilt_deg = 80\.0: allowed is within 78"):
        ha.closing.closing_spread(hang(), 80.0, cases=10, tilt_spread_deg=1.0)
    with pytest.raises(ha.InputError, match=r"tilt_spread_deg = 11\.0: allowed is a number from 0"):
        ha.closing.closing_spread(hang(), 0.0, cases=10, tilt_spread_deg=11.0)


def test_a_small_spread_gives_the_sum_of_squares_of_the_sensitivities() -> None:
    one, tilt = hang(), -2.0
    slopes = ha.closing.closing_sensitivities(one, tilt, pick_x_m=PICKS)
    spreads = {"mass": 0.01, "cg": 0.002, "anchor": 0.003, "splay": 0.02, "tilt": 0.05}
    variance, load_variance = 0.0, np.zeros(2)
    masses = {"frame": one.frame.mass_kg, "bottom": one.bottom.mass_kg}
    masses |= {f"cabinets[{i}]": c.mass_kg for i, c in enumerate(one.cabinets)}
    for name, force, loads in zip(
        slopes.inputs, slopes.closing_force_n, slopes.hoist_load_n, strict=True
    ):
        if name.endswith("mass_kg"):
            sigma = spreads["mass"] * masses[name.split(".")[0]]
        else:
            kind = next(key for key in ("splay", "tilt", "cg", "anchor") if key in name)
            sigma = spreads[kind]
        variance += (force * sigma) ** 2
        load_variance += (loads * sigma) ** 2
    cases = ha.closing.closing_spread(
        one,
        tilt,
        cases=60_000,
        seed=4,
        mass_spread=spreads["mass"],
        cg_spread_m=spreads["cg"],
        anchor_spread_m=spreads["anchor"],
        splay_spread_deg=spreads["splay"],
        tilt_spread_deg=spreads["tilt"],
        pick_x_m=PICKS,
    )
    assert np.isfinite(cases.closing_force_n).all()
    # The spread of a sample of N normal values is known to 1/sqrt(2N); four of those.
    rel = 4 / np.sqrt(2 * len(cases.closing_force_n))
    assert cases.closing_force_n.std() == pytest.approx(np.sqrt(variance), rel=rel)
    np.testing.assert_allclose(cases.hoist_load_n.std(axis=0), np.sqrt(load_variance), rtol=rel)


def test_spread_is_the_same_for_any_number_of_threads() -> None:
    script = (
        "import sys; sys.path.insert(0, 'tests/python'); import builders, hangarc as ha;"
        "h = builders.hang([0.0, 1.0, 2.0], 'compression');"
        "spread = ha.closing.closing_spread;"
        "c = spread(h, 0.0, cases=2000, seed=9, mass_spread=0.02, cg_spread_m=0.01);"
        "print(c.closing_force_n.tobytes().hex())"
    )
    root = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
    printed = {
        subprocess.run(
            [sys.executable, "-c", script],
            env={**os.environ, "RAYON_NUM_THREADS": str(threads)},
            cwd=root,
            capture_output=True,
            check=True,
        ).stdout
        for threads in (1, 2, 5)
    }
    assert len(printed) == 1
    assert len(next(iter(printed))) > 2000


def test_the_bypass_chain_carries_where_the_path_has_its_length(outside: Outside) -> None:
    one, tilt = hang(), -3.0
    closed = ha.close(one, tilt)
    found = ha.closing.bypass(one, tilt)
    pitch = one.gear.pitch_m
    assert found.ended == "carries"
    assert found.link == np.ceil(closed.chain_closed_m / pitch)
    assert found.slack_m == pytest.approx(found.link * pitch - closed.chain_closed_m)
    assert found.chain_m == pytest.approx(found.link * pitch, abs=1e-9)
    assert 0.0 < found.force_n < closed.closing_force_n
    assert found.opening_deg.max() > 0.0
    reference = Reference(one, tilt)
    theta = np.radians(found.angle_deg[1:-1])
    outside.check(
        "closing a hang", "chain let off onto whole links: its length at the angles found",
        ran("scipy", "the taut chain as SciPy's convex hull"), theirs=reference.chain_m(theta),
        ours=found.chain_m, unit="m", within=1e-9, why="the length is solved for to that",
    )  # fmt: skip
    _, slope = reference.value(theta, found.force_n)
    free = (theta > reference.lower + 1e-12) & (theta < reference.upper - 1e-12)
    assert free.any()
    assert np.abs(slope[free]).max() < 1e-9 * GRAVITY * ha.pose(one, tilt).mass_kg
    softer = ha.closing.bypass(one, tilt, take_up_m=0.002, stiffness_n_m=2e6)
    assert softer.chain_m == pytest.approx(
        found.link * pitch + 0.002 + softer.force_n / 2e6, abs=1e-9
    )
    assert softer.opening_deg.max() > found.opening_deg.max()


def test_a_soft_bypass_chain_that_leaves_the_joints_on_their_open_limits_is_a_spring() -> None:
    """Too short by d for a free hang that needs more than k d to leave its limits: force k d."""
    one = builders.hang([2.0] * 5, "compression", open_limit_deg=-2.0)
    free = ha.close(one, 0.0).path
    np.testing.assert_array_equal(free["angle_deg"][0, 1:-1], -2.0)
    assert (free["chain_m"][1], free["force_n"][0]) == (free["chain_m"][0], 0.0)
    short_m, stiffness_n_m = 0.01, 1e4
    assert short_m * stiffness_n_m < 0.5 * free["force_n"][1]
    stiff = ha.closing.bypass(one, 0.0)
    take_up_m = free["chain_m"][0] - short_m - stiff.link * builders.gear().pitch_m
    found = ha.closing.bypass(one, 0.0, take_up_m=take_up_m, stiffness_n_m=stiffness_n_m)
    assert found.ended == "carries"
    assert found.force_n == pytest.approx(short_m * stiffness_n_m, rel=1e-9)
    assert found.chain_m == pytest.approx(free["chain_m"][0], rel=1e-12)
    np.testing.assert_allclose(found.angle_deg[1:-1], -2.0, atol=1e-9)


def test_a_bypass_chain_says_why_it_does_not_carry() -> None:
    short = ha.closing.bypass(hang(gear=builders.gear(links=20)), 0.0)
    assert short.ended == "chain too short"
    assert ha.closing.bypass(hang(), 0.0, take_up_m=0.5).ended == "stays slack"


def test_each_remedy_is_a_hang_that_the_available_force_just_closes(outside: Outside) -> None:
    one, tilt, available = hang([2.0] * 15), -6.0, 6_000.0
    found = ha.closing.closing_remedies(one, tilt, available_n=available)
    as_it_is = ha.close(one, tilt).closing_force_n
    assert found.closing_force_n == as_it_is
    assert as_it_is > available
    # Another tilt: solved for independently by a root finder over the full calculation.
    wanted = brentq(lambda t: ha.close(one, t, steps=1).closing_force_n - available, tilt, 20.0)
    outside.check(
        "closing a hang", "tilt at which the force at hand just closes 16 cabinets",
        ran("scipy", "root of the whole calculation by Brent's method of SciPy"), theirs=wanted,
        ours=found.tilt["tilt_deg"], unit="°", within=1e-6, why="where the two searches stop",
    )  # fmt: skip
    holes = one.frame.pick_x_m
    heights = [
        (max(holes) - min(holes)) * np.sin(np.radians(t)) for t in (tilt, found.tilt["tilt_deg"])
    ]
    assert found.tilt["front_pick_up_m"] == pytest.approx(heights[1] - heights[0])
    # Fewer cabinets: the shorter hang as a hang of its own, and one more does not close.
    for stage in found.stages:
        count = stage["cabinets"]
        part = hang([2.0] * (count - 1))
        assert stage["closing_force_n"] == pytest.approx(ha.close(part, tilt).closing_force_n)
        assert (stage["closing_force_n"] <= available) == (count <= found.most_cabinets)
    # Landed: take the landed weight off the bottom frame as negative mass cannot be, so by moments.
    landing = found.landing
    assert landing["closing_force_n"] == pytest.approx(available, rel=1e-9)
    pose = ha.pose(one, tilt)
    moments = ha.joint_loads(one, tilt).moment_nm[1:-1]
    turn = np.radians(pose.axis_deg[-1])
    cg = one.bottom.cg_m
    landed_x = pose.hinge_m[-1][0] + cg[0] * np.cos(turn) - cg[1] * np.sin(turn)
    upper, lower = pose.chain_m
    down = (lower - upper) / np.linalg.norm(lower - upper)
    levers = np.array(
        [(lower[0] - h[0]) * down[1] - (lower[1] - h[1]) * down[0] for h in pose.hinge_m[1:-1]]
    )
    eased = moments - landing["landed_n"] * (pose.hinge_m[1:-1, 0] - landed_x)
    assert (eased / levers).max() == pytest.approx(available, rel=1e-9)
    assert 0.0 < landing["landed_share"] < 1.0


def test_a_force_that_closes_needs_no_remedy() -> None:
    found = ha.closing.closing_remedies(hang(), 0.0)
    assert found.available_n == 12_000.0
    assert found.tilt["tilt_deg"] == 0.0
    assert found.landing["landed_n"] == 0.0
    assert found.most_cabinets == 7
    with pytest.raises(ha.InputError, match="clutch_n"):
        ha.closing.closing_remedies(hang(gear=builders.gear(clutch_n=None)), 0.0)


@pytest.mark.parametrize("rigging", ["tension", "compression"])
def test_every_stage_is_a_hang_of_its_own(rigging: str) -> None:
    splays = [1.0, 1.0, 2.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0]
    whole = builders.hang(splays, rigging)
    built = ha.statics.build_up(whole, -0.3, stack=4, cart_m=0.2)
    counts = [stage.cabinets for stage in built.stages]
    assert counts == ([4, 8, 10] if rigging == "tension" else [4, 8, 10, 10])
    for stage in built.stages:
        weight = stage.mass_kg * GRAVITY
        assert stage.hoist_load_n == pytest.approx([weight])
        count = stage.cabinets
        part = dataclasses.replace(
            whole,
            cabinets=whole.cabinets[:count],
            splays_deg=whole.splays_deg[: count - 1],
            bottom=whole.bottom if count == 10 else None,
        )
        if rigging == "tension" or stage.closed:
            assert stage.tilt_deg == pytest.approx(ha.hanging_tilt(part, -0.3).tilt_deg, abs=1e-9)
            np.testing.assert_allclose(stage.angle_deg, part.splays_deg)
            pose = ha.pose(part, stage.tilt_deg)
            phi = np.radians(stage.tilt_deg)
            pick_z = -0.3 * np.sin(phi) + whole.frame.pick_z_m * np.cos(phi)
            assert stage.lowest_m == pytest.approx(pose.trim_m - pick_z, abs=1e-9)
        else:
            assert (stage.angle_deg < part.splays_deg).any()
    assert [stage.lift_m for stage in built.stages[:3]] == pytest.approx(
        [0.2 + 4 * 0.36, 0.2 + 2 * 0.36, None]
    )
    assert built.worst_load_n == max(stage.hoist_load_n.max() for stage in built.stages)
    if rigging == "compression":
        free = ha.close(whole, None, frame="one pick", pick_x_m=-0.3)
        np.testing.assert_allclose(built.stages[2].angle_deg, free.free_angle_deg[1:-1], atol=1e-9)
        assert built.stages[2].tilt_deg == pytest.approx(free.path["tilt_deg"][0], abs=1e-9)


def test_two_hoists_hold_every_stage_at_the_tilt() -> None:
    built = ha.statics.build_up(hang(), PICKS, stack=3, tilt_deg=-2.0)
    for stage in built.stages:
        assert stage.tilt_deg == pytest.approx(-2.0)
        assert stage.hoist_load_n.sum() == pytest.approx(stage.mass_kg * GRAVITY)
    loads = ha.hoist_loads(hang(), -2.0, list(PICKS)).load_n
    np.testing.assert_allclose(built.stages[-1].hoist_load_n, loads, rtol=1e-12)


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ({"pick_x_m": PICKS}, "tilt_deg"),
        ({"pick_x_m": -0.3, "tilt_deg": 1.0}, "tilt_deg"),
        ({"pick_x_m": -0.3, "stack": 0}, "stack"),
        ({"pick_x_m": -0.3, "cart_m": -1.0}, "cart_m"),
        ({"pick_x_m": [0.1, 0.0, -0.3], "tilt_deg": 0.0}, "pick_x_m"),
    ],
)
def test_a_bad_build_up_is_refused_by_name(arguments: dict[str, Any], field: str) -> None:
    with pytest.raises(ha.InputError) as caught:
        ha.statics.build_up(hang(), **arguments)
    assert caught.value.field == field


def test_a_case_that_no_chain_closes_has_no_closing_force() -> None:
    cases = ha.closing.closing_spread(hang(), 0.0, cases=2000, seed=3, anchor_spread_m=0.5)
    assert 0 < np.isfinite(cases.closing_force_n).sum() < 2000
    assert not np.isinf(cases.closing_force_n).any()
    assert np.isfinite(cases.hoist_load_n).all()


@pytest.mark.parametrize("name", ["mass_spread", "cg_spread_m", "splay_spread_deg"])
def test_a_spread_beyond_all_sense_is_refused_rather_than_answered_with_zeros(name: str) -> None:
    with pytest.raises(ha.InputError, match=name):
        ha.closing.closing_spread(hang(), 0.0, cases=10, **{name: 1e14})
