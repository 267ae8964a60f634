"""A rigged hang in the wind: least energy by SciPy, a simulated mechanism, and moments by hand."""

from __future__ import annotations

from typing import Any

import builders
import closing_reference
import hangarc as ha
import numpy as np
import pytest
from closing_simulation import Mechanism
from outside import Outside, ran
from scipy.optimize import minimize, root

G_M_S2 = 9.80665
# Picks so wide apart that no hoist goes slack: the frame keeps its tilt.
WIDE = [2.5, -3.5]
WIND = ha.Wind(speed_m_s=15.0)


def wind_n(hang: ha.Hang, tilt_deg: float, wind: ha.Wind, wind_from: str) -> np.ndarray:
    loads = ha.wind_loads(hang, tilt_deg, WIDE, wind, top_m=12.0, wind_from=wind_from, closed=True)
    return loads.force_n * (1.0 if wind_from == "rear" else -1.0)


class InWind(closing_reference.Reference):
    """V(θ) = U − Σ F x + ½ k max(0, L − slack)², the frame held."""

    def energy(
        self, theta: np.ndarray, wind: np.ndarray, rate: float, slack_m: float
    ) -> tuple[float, np.ndarray]:
        stretch = max(0.0, self.chain_m(theta) - slack_m)
        # The chain's share of the slope is that of a constant force as large as the spring's.
        energy, slope = self.value(theta, rate * stretch)
        energy += 0.5 * rate * stretch**2 - rate * stretch * self.chain_m(theta)
        axes, (_, _, hinges) = self.axes(theta), self.points(theta)
        for i, cabinet in enumerate(self.hang.cabinets):
            middle = (-cabinet.depth_m / 2 - cabinet.hinge_x_m, -cabinet.height_m / 2)
            at = hinges[i] + closing_reference.rotated(axes[i], middle)
            energy -= wind[i] * at[0]
            slope = slope - wind[i] * self.moved(at, i, hinges)[:, 0]
        return energy, slope

    def rest_on_spring(self, wind: np.ndarray, rate: float, slack_m: float) -> np.ndarray:
        """By L-BFGS-B, then the free joints' balance by `scipy.optimize.root`."""
        scale = G_M_S2 * sum(cabinet.mass_kg for cabinet in self.hang.cabinets)
        found = minimize(
            lambda theta: tuple(part / scale for part in self.energy(theta, wind, rate, slack_m)),
            self.upper,
            jac=True,
            method="L-BFGS-B",
            bounds=list(zip(self.lower, self.upper, strict=True)),
            options={"ftol": 1e-16, "gtol": 1e-13, "maxiter": 20_000, "maxcor": 50},
        )
        theta = np.asarray(found.x)
        free = (theta > self.lower + 1e-9) & (theta < self.upper - 1e-9)
        if not free.any():
            return theta

        def unbalanced(angles: np.ndarray) -> np.ndarray:
            theta[free] = angles
            return self.energy(theta, wind, rate, slack_m)[1][free] / scale

        theta[free] = root(unbalanced, theta[free], tol=1e-15).x
        return theta


def test_the_spring_held_hang_rests_where_scipy_finds_least_energy(outside: Outside) -> None:
    """Random hangs, chain stiffness 2e5 to 5e6 N/m, either wind: chain force to 1e-8 of the weight.

    SciPy's root stops at 1e-15 of the weight at a metre and the stiff chain multiplies it.
    """
    rng = np.random.default_rng(7)
    lifted = 0
    for _ in range(40):
        hang, tilt = closing_reference.random_hang(rng, int(rng.integers(2, 13)))
        if ha.closing.close(hang, tilt).closing_force_n is None:
            continue
        rate = float(10 ** rng.uniform(5.3, 6.7))
        wind_from = ("front", "rear")[int(rng.integers(2))]
        wind = ha.Wind(speed_m_s=float(rng.uniform(5.0, 25.0)))
        preload = float(rng.uniform(0.0, 500.0))
        found = ha.wind.parts_in_wind(
            hang,
            tilt,
            WIDE,
            wind,
            top_m=15.0,
            wind_from=wind_from,
            preload_n=preload,
            chain_stiffness_n_m=rate,
        )
        assert found.ended == "at rest"
        assert found.hoist_load_n.min() > 0.0
        reference = InWind(hang, tilt)
        slack = reference.chain_m(reference.upper) - found.still_chain_force_n / rate
        forces = wind_n(hang, tilt, wind, wind_from)
        theta = reference.rest_on_spring(forces, rate, slack)
        ours = reference.upper - np.radians(found.opening_deg[1:-1])
        weight = G_M_S2 * ha.pose(hang, tilt).mass_kg
        chain_n = rate * max(0.0, reference.chain_m(theta) - slack)
        outside.check(
            "wind", "chain force of closed hangs in the wind, the chain a stiff spring",
            ran("scipy", "bounded least energy by SciPy"), theirs=chain_n / weight,
            ours=found.chain_force_n / weight, unit="of the weight", within=1e-8,
            why="where its root finder stops, times the stiffness",
        )  # fmt: skip
        np.testing.assert_allclose(ours, theta, atol=1e-8)
        slope = reference.energy(theta, forces, rate, slack)[1]
        np.testing.assert_allclose(
            found.contact_moment_nm[1:-1], -slope, rtol=1e-8, atol=1e-7 * weight
        )
        lifted += int(found.lifted.any())
    assert lifted > 5


@pytest.mark.parametrize("wind_from", ["front", "rear"])
@pytest.mark.parametrize("pick_x_m", [None, -0.3])
def test_a_simulated_mechanism_agrees(
    wind_from: str, pick_x_m: float | None, outside: Outside
) -> None:
    """MuJoCo: tendon spring, joint limits as contacts, wind on every cabinet; to 1e-4."""
    frame = builders.frame(chain_anchor_m=(-1.4, 0.05))
    tail = builders.bottom(chain_anchor_m=(-1.3, -0.05))
    splays = [1.0, 2.0, 3.0, 4.0, 5.0]
    hang = builders.hang(splays, "compression", frame=frame, bottom=tail)
    rate, wind = 2e5, ha.Wind(speed_m_s=20.0)
    found = ha.wind.parts_in_wind(
        hang,
        0.0,
        WIDE if pick_x_m is None else pick_x_m,
        wind,
        top_m=12.0,
        wind_from=wind_from,
        preload_n=100.0,
        chain_stiffness_n_m=rate,
    )
    assert found.ended == "at rest"
    closed_m = ha.close(hang, 0.0).chain_closed_m
    forces = wind_n(hang, 0.0, wind, wind_from)
    spring = (rate, closed_m - found.still_chain_force_n / rate)
    mechanism = Mechanism(hang, 0.0, forces, spring, pick_x_m)
    hooks = 0 if pick_x_m is None else 1
    mechanism.settle(0.0, np.array([0.0] * hooks + list(np.radians(splays))))
    outside.check(
        "wind", "chain force of six cabinets in a wind of 20 m/s",
        ran("mujoco", "hinges, stops and a tendon, simulated to rest by MuJoCo"),
        theirs=mechanism.spring_n, ours=found.chain_force_n, unit="N", relative=1e-4,
        why="the simulated stops give a little",
    )  # fmt: skip
    angles = mechanism.angle_rad
    opening = np.array(splays) - np.degrees(angles[hooks:])
    np.testing.assert_allclose(opening, found.opening_deg[1:-1], atol=1e-4)
    if hooks:
        # MuJoCo's hinge turns about +y, which tilts down.
        assert found.tilt_deg == pytest.approx(-np.degrees(angles[0]), abs=1e-3)
    pressed = ~found.lifted[1:-1]
    moments = mechanism.stop_moment_nm[hooks:]
    np.testing.assert_allclose(
        moments[pressed], found.contact_moment_nm[1:-1][pressed], rtol=1e-4, atol=0.05
    )
    if not hooks:
        assert found.lifted[1:-1].any() == (wind_from == "rear")


def test_a_locked_chain_takes_the_closing_force_in_the_wind() -> None:
    """T = max over joints of (gravity and wind moment)/(lever), both from the pose by hand.

    At 15 m/s 8 cabinets go from 2.4 to 4.2 kN and 16 from 6.5 to 15 kN.
    """
    for count, splay, still, blown in ((8, 2.0, 2.4e3, 4.2e3), (16, 1.0, 6.5e3, 15.0e3)):
        hang = builders.hang([splay] * (count - 1), "compression")
        found = ha.wind.parts_in_wind(hang, 0.0, WIDE, WIND, top_m=12.0, wind_from="rear")
        assert found.still_chain_force_n == pytest.approx(still, abs=50.0)
        assert found.chain_force_n == pytest.approx(blown, abs=50.0)
        assert not found.lifted.any()
        placed = ha.pose(hang, 0.0)
        upper, lower = np.asarray(placed.chain_m)
        down = (lower - upper) / np.linalg.norm(lower - upper)
        forces = wind_n(hang, 0.0, WIND, "rear")
        middles = placed.corners_m.mean(axis=1)
        masses = np.array([c.mass_kg for c in hang.cabinets])
        turn = np.radians(placed.axis_deg)
        axes = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        centres = placed.front_m + np.array(
            [axes[:, :, i] @ hang.cabinets[i].cg_m for i in range(count)]
        )
        tail = placed.hinge_m[-1] + axes[:, :, -1] @ hang.bottom.cg_m
        asked = []
        for j in range(1, count):
            hinge = placed.hinge_m[j]
            opening = G_M_S2 * (masses[j:] @ (hinge[0] - centres[j:, 0]))
            opening += G_M_S2 * hang.bottom.mass_kg * (hinge[0] - tail[0])
            opening += forces[j:] @ (hinge[1] - middles[j:, 1])
            arm = lower - hinge
            asked.append(opening / (arm[0] * down[1] - arm[1] * down[0]))
        assert found.chain_force_n == pytest.approx(max(asked), rel=1e-12)


def test_wind_from_the_front_presses_the_stops_and_leaves_a_locked_chain() -> None:
    hang = builders.hang([2.0] * 7, "compression")
    calm = ha.wind.parts_in_wind(hang, 0.0, WIDE, ha.Wind(speed_m_s=0.0), top_m=12.0)
    found = ha.wind.parts_in_wind(hang, 0.0, WIDE, WIND, top_m=12.0)
    assert found.chain_force_n == found.still_chain_force_n == calm.chain_force_n
    assert (found.contact_moment_nm[1:-1] > calm.contact_moment_nm[1:-1]).all()


def test_still_air_gives_the_figures_of_the_closed_hang() -> None:
    hang = builders.hang([1.0, 2.0, 3.0, 5.0], "compression")
    closing = ha.close(hang, -2.0, preload_n=300.0)
    calm = ha.wind.parts_in_wind(
        hang, -2.0, [0.2, -0.8], ha.Wind(speed_m_s=0.0), top_m=9.0, preload_n=300.0
    )
    assert calm.chain_force_n == pytest.approx(closing.closing_force_n + 300.0, rel=1e-14)
    assert calm.chain_m == closing.chain_closed_m
    np.testing.assert_allclose(calm.stop_force_n, closing.at_preload.stop_force_n, rtol=1e-12)
    loads = ha.hoist_loads(hang, -2.0, [0.2, -0.8]).load_n
    np.testing.assert_allclose(calm.hoist_load_n, loads, rtol=1e-12)


def test_every_body_of_a_tension_hang_is_at_rest_under_what_it_carries() -> None:
    """Cut at each joint: hinge, link, weight and wind below add up to nothing."""
    hang = builders.hang([1.0, 2.0, 5.0])
    found = ha.wind.parts_in_wind(hang, 0.0, [0.2, -0.8], WIND, top_m=9.0, wind_from="rear")
    calm = ha.joint_loads(hang, 0.0)
    placed = ha.pose(hang, 0.0)
    forces = wind_n(hang, 0.0, WIND, "rear")
    assert found.chain_force_n == 0.0
    assert not found.lifted.any()
    middles = placed.corners_m.mean(axis=1)
    for j in range(4):
        # The link carries the wind's moment too, at the lever it has in still air.
        lever = calm.moment_nm[j] / calm.rear_link_n[j]
        extra = forces[j:] @ (placed.hinge_m[j][1] - middles[j:, 1]) / lever
        assert -found.stop_force_n[j] == pytest.approx(calm.rear_link_n[j] + extra, rel=1e-12)
        link = (calm.hinge_force_n[j] - (0.0, calm.weight_n[j])) / -calm.rear_link_n[j]
        np.testing.assert_allclose(
            found.hinge_force_n[j],
            np.array([-forces[j:].sum(), calm.weight_n[j]]) + link * found.stop_force_n[j],
            rtol=1e-10,
            atol=1e-9,
        )


def test_every_part_in_the_wind_has_its_row() -> None:
    limits = ha.model.ClosingGearLimits(chain_n=20_000.0, hoist_n=15_000.0)
    hang = builders.hang([2.0] * 7, "compression", gear=builders.gear(limits=limits))
    found = ha.wind.parts_in_wind(
        hang,
        0.0,
        [0.2, -0.8],
        WIND,
        top_m=12.0,
        wind_from="rear",
        hoist_limit_n=10_000.0,
        hoist_mass_kg=40.0,
    )
    rows = {(row.part, row.number): row for row in found.limits}
    assert {row.state for row in found.limits} == {"in_wind"}
    assert rows["closing_chain", None].utilisation == pytest.approx(found.chain_force_n / 20_000.0)
    assert rows["lever_hoist", None].utilisation == pytest.approx(found.chain_force_n / 15_000.0)
    assert rows["hoist", 1].utilisation == pytest.approx(found.hoist_load_n[1] / 10_000.0)
    weight = G_M_S2 * ha.pose(hang, 0.0).mass_kg
    alone = G_M_S2 * 40.0
    lean = np.arctan2(found.total_force_n, weight)
    pull = found.hoist_load_n[1]
    roof = np.hypot(pull * np.sin(lean), pull * np.cos(lean) + alone)
    assert rows["roof_point", 1].force_n == pytest.approx(roof)
    assert rows["roof_point", 1].utilisation is None
    assert ("stop", 3) in rows
    assert rows["fly_frame", None].force_n == pytest.approx(np.hypot(weight, found.total_force_n))


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("wind_from", {"wind_from": "side"}),
        ("preload_n", {"preload_n": -1.0}),
        ("chain_stiffness_n_m", {"chain_stiffness_n_m": 0.0}),
        ("hoist_limit_n", {"hoist_limit_n": -5.0}),
        ("hoist_mass_kg", {"hoist_mass_kg": -5.0}),
        ("bottom", {"hang": builders.hang([1.0], "compression", bottom=None)}),
        ("top_m", {"top_m": 0.1}),
    ],
)
def test_bad_parts_in_wind_are_refused_by_name(field: str, changes: dict[str, Any]) -> None:
    good: dict[str, Any] = {
        "hang": builders.hang([1.0], "compression"),
        "tilt_deg": 0.0,
        "pick_x_m": [0.2, -0.8],
        "wind": WIND,
        "top_m": 8.0,
    }
    with pytest.raises(ha.InputError) as refused:
        ha.wind.parts_in_wind(**{**good, **changes})
    assert refused.value.field == field


def test_a_hang_that_no_chain_closes_says_so() -> None:
    behind = builders.cabinet(hinge_x_m=-0.6, rear_pin_x_m=-0.7, cg_m=(-0.9, 0.0))
    frame = builders.frame(chain_anchor_m=(0.9, 0.0))
    tail = builders.bottom(chain_anchor_m=(0.9, 0.0))
    hang = builders.hang([1.0, 2.0], "compression", frame=frame, bottom=tail, cabinets=[behind] * 3)
    found = ha.wind.parts_in_wind(hang, 0.0, WIDE, WIND, top_m=9.0)
    assert (found.ended, found.ok) == ("not closed", False)
