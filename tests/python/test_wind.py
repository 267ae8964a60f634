"""Wind pressure against the standard's figures, the hang at rest against a general minimiser."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any, Literal

import builders
import hangarc as ha
import numpy as np
import pytest
from outside import Kind, Outside, Source, ran
from scipy.optimize import brentq, minimize

VALIDATION = Path(__file__).parent / "validation"
STANDARD = json.loads((VALIDATION / "en1991_wind.json").read_text(encoding="utf-8"))
LIBRARY = json.loads((VALIDATION / "wind_by_library.json").read_text(encoding="utf-8"))
G = 9.80665


def test_the_exposure_at_ten_metres_is_that_of_the_standards_figure(outside: Outside) -> None:
    figure = STANDARD["exposure_at_10_m"]
    peaks = [ha.Wind(speed_m_s=26.0, terrain=name).at(10.0) for name in figure["terrain"]]
    outside.check(
        "wind",
        "exposure factor at 10 m in the five terrains",
        Source(figure["source"], Kind.MEMORY),
        theirs=figure["exposure"],
        ours=[peak.pressure_pa / (0.5 * 1.25 * 26.0**2) for peak in peaks],
        unit="of the basic pressure",
        within=figure["reading"],
        why="read off a figure to 0.05",
    )


def test_the_pressure_follows_the_standards_equations_step_by_step() -> None:
    """Terrain II, v_b = 24 m/s, z = 18 m: equations 4.3 to 4.8 by hand."""
    k_r = 0.19 * (0.05 / 0.05) ** 0.07
    v_m = k_r * np.log(18.0 / 0.05) * 24.0
    i_v = 1.0 / np.log(18.0 / 0.05)
    peak = ha.Wind(speed_m_s=24.0, terrain="II").at(18.0)
    assert peak.mean_speed_m_s == pytest.approx(v_m)
    assert peak.turbulence == pytest.approx(i_v)
    assert peak.pressure_pa == pytest.approx((1 + 7 * i_v) * 0.5 * 1.25 * v_m**2)
    low, least = (ha.Wind(speed_m_s=24.0, terrain="III").at(z) for z in (1.0, 5.0))
    assert low.pressure_pa == least.pressure_pa


def test_a_worked_example_of_a_building_gives_its_printed_digits(outside: Outside) -> None:
    """Half a unit of every last printed digit."""
    printed = STANDARD["worked_example"]
    peak = ha.Wind(speed_m_s=printed["basic_speed_m_s"], terrain=printed["terrain"]).at(
        printed["height_m"]
    )
    factor = peak.mean_speed_m_s / printed["basic_speed_m_s"]
    logarithm = np.log(printed["height_m"] / printed["roughness_m"])
    names = ["terrain_factor", "roughness_factor", "mean_speed_m_s", "turbulence", "pressure_kpa"]
    outside.check(
        "wind",
        "a building in terrain III: terrain and roughness factor, mean speed, turbulence, pressure",
        Source(printed["source"], Kind.MEMORY),
        theirs=[printed[name] for name in names],
        ours=[
            factor / logarithm,
            factor,
            peak.mean_speed_m_s,
            peak.turbulence,
            peak.pressure_pa / 1e3,
        ],
        unit="1, 1, m/s, 1, kPa",
        within=np.array([0.0005, 0.0005, 0.05, 0.005, 0.005]),
        why="half a unit of every last printed digit",
    )


def test_peak_pressures_are_those_of_another_library(outside: Outside) -> None:
    """eurocodepy, equations and terrain table; see `validation/wind_by_library.py`."""
    assert {case["terrain"] for case in LIBRARY["cases"]} == {"0", "I", "II", "III", "IV"}
    peaks = [
        ha.Wind(
            speed_m_s=case["basic_speed_m_s"],
            terrain=case["terrain"],
            orography=case["orography"],
        ).at(case["height_m"])
        for case in LIBRARY["cases"]
    ]
    for name, unit in (("mean_speed_m_s", "m/s"), ("turbulence", "1"), ("pressure_pa", "Pa")):
        outside.check(
            "wind",
            f"{name.rpartition('_')[0] or name} in five terrains, seven heights, two speeds",
            Source(
                "EN 1991-1-4:2005, 4.3 to 4.5 and table 4.1, by eurocodepy",
                Kind.PRINTED,
                "eurocodepy 2027.0.12",
            ),
            theirs=[case[name] for case in LIBRARY["cases"]],
            ours=[getattr(peak, name) for peak in peaks],
            unit=unit,
            relative=1e-13,
            why="the same equations; rounding",
        )


def test_a_square_section_has_the_figures_coefficient(outside: Outside) -> None:
    figure = STANDARD["square_section"]
    outside.check(
        "wind",
        "force coefficient of a square section",
        Source(figure["source"], Kind.MEMORY),
        theirs=figure["coefficient"],
        ours=ha.wind.section_coefficient(1.0, 1.0),
        unit="1",
        within=1e-12,
        why="a corner of the figure, taken as it stands",
    )


def test_a_section_between_two_of_the_figure_has_the_mean_of_theirs() -> None:
    """The figure is straight over the logarithm of d/b, its corners from memory."""
    corners = [
        (0.2, 2.0),
        (0.6, 2.35),
        (0.7, 2.4),
        (1.0, 2.1),
        (2.0, 1.65),
        (5.0, 1.0),
        (10.0, 0.9),
    ]
    for (low, start), (high, end) in pairwise(corners):
        assert ha.wind.section_coefficient(1.0, low) == pytest.approx(start)
        assert ha.wind.section_coefficient(1.0, high) == pytest.approx(end)
        between = ha.wind.section_coefficient(1.0, np.sqrt(low * high))
        assert between == pytest.approx((start + end) / 2)


def test_the_force_on_a_cabinet_is_coefficient_pressure_and_shadow() -> None:
    hang = builders.hang([0.0, 0.0])
    loads = ha.wind_loads(
        hang, 0.0, [0.0, -0.6], ha.Wind(speed_m_s=20.0), top_m=10.0, coefficient=1.3
    )
    np.testing.assert_allclose(loads.force_n, 1.3 * 0.5 * 1.25 * 400 * 1.15 * 0.36)
    weight = G * ha.pose(hang, 0.0).mass_kg
    assert loads.line_deg == pytest.approx(np.degrees(np.arctan2(loads.total_force_n, weight)))
    assert loads.hoist_load_n.sum() == pytest.approx(np.hypot(loads.total_force_n, weight))


def least_energy(
    hang: ha.Hang,
    tilt: float,
    pick: float,
    force_n: np.ndarray,
    direction: float,
    free: bool,
    others: Sequence[tuple[int, np.ndarray, float]] = (),
) -> np.ndarray:
    """Turns (frame, joints) of least Σ m g z − Σ F x, on a plumb line that stands in for any.

    `others` are forces on cabinets beside their own: which, where, how much.
    """
    still = ha.pose(hang, tilt)
    turn = np.radians(tilt)
    rotated = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    pivot = rotated @ (pick, hang.frame.pick_z_m)
    count = len(hang.cabinets)
    local = []  # per body: points and their forces, from its upper hinge
    for i in range(count):
        hinge = pivot if i == 0 else still.hinge_m[i]
        phi = np.radians(still.axis_deg[i])
        axes = np.array([[np.cos(phi), -np.sin(phi)], [np.sin(phi), np.cos(phi)]])
        cabinet = hang.cabinets[i]
        cg = still.front_m[i] + axes @ cabinet.cg_m
        parts = [(cg - hinge, (0.0, -G * cabinet.mass_kg))]
        parts.append((still.corners_m[i].mean(axis=0) - hinge, (direction * force_n[i], 0.0)))
        parts += [(at - hinge, (direction * n, 0.0)) for cabinet, at, n in others if cabinet == i]
        if i == 0:
            parts.append((rotated @ hang.frame.cg_m - pivot, (0.0, -G * hang.frame.mass_kg)))
        if i == count - 1 and hang.bottom is not None:
            at = still.hinge_m[-1] + axes @ hang.bottom.cg_m
            parts.append((at - hinge, (0.0, -G * hang.bottom.mass_kg)))
        local.append((parts, still.hinge_m[i + 1] - hinge))

    def energy(turns: np.ndarray) -> float:
        delta = turns[0] - np.concatenate([[0.0], np.cumsum(turns[1:])])
        at, total = np.zeros(2), 0.0
        for angle, (parts, down) in zip(delta, local, strict=True):
            axes = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
            total -= sum(np.dot(force, at + axes @ place) for place, force in parts)
            at = at + axes @ down
        return total / 1e4

    open_by = [np.radians(hang.open_limit_deg - s) if free else 0.0 for s in hang.splays_deg]
    bounds = [(-1.5, 1.5), *((low, 0.0) for low in open_by)]
    found = minimize(
        energy,
        np.zeros(count),
        bounds=bounds,
        method="L-BFGS-B",
        options={"ftol": 1e-15, "gtol": 1e-11, "maxiter": 5000, "maxfun": 200_000},
    )
    return found.x


def rests(
    outside: Outside, how: str, hang: ha.Hang, loads: ha.wind.WindLoads, turns: np.ndarray
) -> None:
    """A hang planned at -1 degree has turned by so much on its pick and at its joints."""
    outside.check(
        "wind", f"tilt and angles of a hang {how}",
        ran("scipy", "bounded least energy, L-BFGS-B of SciPy"),
        theirs=[-1.0 + np.degrees(turns[0]), *hang.splays_deg + np.degrees(turns[1:])],
        ours=[loads.tilt_deg, *loads.splay_deg], unit="°", within=1e-3,
        why="where the minimiser stops",
    )  # fmt: skip


@pytest.mark.parametrize("rigging", ["tension", "compression"])
@pytest.mark.parametrize("wind_from", ["front", "rear"])
def test_a_hang_in_the_wind_rests_at_least_energy(
    rigging: str, wind_from: str, outside: Outside
) -> None:
    hang = builders.hang([1.0, 2.0, 5.0], rigging)
    for speed, pick in [(0.0, -0.2), (15.0, -0.3), (30.0, 0.1), (45.0, -0.4)]:
        loads = ha.wind_loads(
            hang, -1.0, pick, ha.Wind(speed_m_s=speed), top_m=12.0, wind_from=wind_from
        )
        direction = -1.0 if wind_from == "front" else 1.0
        turns = least_energy(hang, -1.0, pick, loads.force_n, direction, rigging == "compression")
        rests(outside, "on one pick, 0 to 45 m/s from front and rear", hang, loads, turns)


@pytest.mark.parametrize("rigging", ["tension", "compression"])
def test_a_banner_on_a_cabinet_pushes_where_it_is(rigging: str, outside: Outside) -> None:
    hang = builders.hang([1.0, 2.0, 5.0], rigging)
    wind, pressure_pa = ha.Wind(speed_m_s=20.0), 250.0
    still, room = ha.pose(hang, -1.0), ha.pose(hang, -1.0, 12.0)
    beside = [(1, np.array([-0.7, -0.3])), (3, np.array([-0.5, -0.2]))]
    banners, others = [], []
    for cabinet, ahead_m in beside:
        x_m, z_m = room.hinge_m[cabinet] + ahead_m
        banners.append(ha.wind.WindShadow(x_m, z_m, 0.4, 1.5))
        others.append((cabinet, still.hinge_m[cabinet] + ahead_m, 0.4 * 1.5 * pressure_pa))
    loads = ha.wind_loads(hang, -1.0, -0.3, wind, top_m=12.0, shadows=banners)
    turns = least_energy(hang, -1.0, -0.3, loads.force_n, -1.0, rigging == "compression", others)
    rests(outside, "with two banners beside its cabinets, at 20 m/s", hang, loads, turns)


def test_a_closed_compression_hang_swings_as_one_piece() -> None:
    splays = [1.0, 2.0, 5.0]
    closed = ha.wind_loads(
        builders.hang(splays, "compression"),
        0.0,
        -0.3,
        ha.Wind(speed_m_s=25.0),
        top_m=12.0,
        closed=True,
    )
    np.testing.assert_allclose(closed.splay_deg, splays)


def test_a_hoist_that_goes_slack_leaves_the_other_with_everything() -> None:
    hang = builders.hang([0.0] * 9)
    loads = ha.wind_loads(hang, 0.0, [0.1, -0.6], ha.Wind(speed_m_s=38.0), top_m=15.0)
    assert loads.slack.tolist() == [True, False] or loads.slack.tolist() == [False, True]
    weight = G * ha.pose(hang, 0.0).mass_kg
    assert loads.hoist_load_n.max() == pytest.approx(np.hypot(weight, loads.total_force_n))
    assert abs(loads.tilt_deg) > 1.0


def test_the_pull_back_balances_wind_and_weight_about_the_pick() -> None:
    hang = builders.hang([0.0] * 3)
    placed = ha.pose(hang, 0.0)
    loads = ha.wind_loads(
        hang, 0.0, placed.cg_m[0], ha.Wind(speed_m_s=20.0), top_m=9.0, pull_at_m=(0.0, 8.0)
    )
    depth = hang.frame.pick_z_m - placed.corners_m.mean(axis=1)[:, 1]
    assert loads.hold_tilt_n == pytest.approx(loads.force_n @ depth / (hang.frame.pick_z_m + 1.0))
    assert loads.hold_plumb_n == loads.total_force_n


@pytest.mark.parametrize(("wind_from", "way"), [("front", -1.0), ("rear", 1.0)])
@pytest.mark.parametrize("ahead_m", [-0.15, 0.1])
def test_the_line_that_holds_the_tilt_counts_the_weight_beside_the_pick(
    ahead_m: float, wind_from: Literal["front", "rear"], way: float
) -> None:
    """Moments about the pick, by hand: wind blows the way it goes, the weight hangs aside of it."""
    hang = builders.hang([0.0] * 3)
    placed = ha.pose(hang, 0.0)
    pick_x_m = placed.cg_m[0] + ahead_m
    loads = ha.wind_loads(
        hang,
        0.0,
        pick_x_m,
        ha.Wind(speed_m_s=20.0),
        top_m=9.0,
        wind_from=wind_from,
        pull_at_m=(0.0, 8.0),
    )
    depth_m = hang.frame.pick_z_m - placed.corners_m.mean(axis=1)[:, 1]
    moment_nm = way * np.abs(loads.force_n) @ depth_m + G * placed.mass_kg * ahead_m
    assert loads.hold_tilt_n == pytest.approx(abs(moment_nm) / (hang.frame.pick_z_m + 1.0))


def test_wind_from_the_side_leans_the_hang_like_a_pendulum() -> None:
    hang = builders.hang([0.0] * 5)
    loads = ha.wind_loads(
        hang, 0.0, [0.0, -0.6], ha.Wind(speed_m_s=20.0), top_m=9.0, wind_from="side"
    )
    placed = ha.pose(hang, 0.0)
    depth = hang.frame.pick_z_m - placed.corners_m.mean(axis=1)[:, 1]
    lean = np.arctan2(
        loads.force_n @ depth, G * placed.mass_kg * (hang.frame.pick_z_m - placed.cg_m[1])
    )
    assert np.radians(loads.lean_deg) == pytest.approx(lean)
    coefficient = ha.wind.section_coefficient(0.58, 1.15)
    np.testing.assert_allclose(loads.force_n, coefficient * 250.0 * 0.58 * 0.36)


def test_wind_from_the_side_leaves_the_hoists_their_shares_of_what_pulls() -> None:
    """Level picks: the pull of weight and wind together is shared as the weight is."""
    hang, picks = builders.hang([0.0] * 5), (0.0, -0.6)
    loads = ha.wind_loads(hang, 0.0, picks, ha.Wind(speed_m_s=20.0), top_m=9.0, wind_from="side")
    placed = ha.pose(hang, 0.0)
    pull_n = np.hypot(G * placed.mass_kg, loads.total_force_n)
    share = (placed.cg_m[0] - picks[1]) / (picks[0] - picks[1])
    np.testing.assert_allclose(loads.hoist_load_n, [pull_n * share, pull_n * (1.0 - share)])


def test_wind_from_the_side_pans_a_hang_whose_middle_is_not_below_its_centre() -> None:
    hang = builders.hang([0.0] * 5)
    loads = ha.wind_loads(
        hang, 0.0, [0.0, -0.6], ha.Wind(speed_m_s=20.0), top_m=9.0, wind_from="side"
    )
    placed = ha.pose(hang, 0.0)
    middle = placed.corners_m.mean(axis=1)[:, 0]
    assert loads.pan_moment_nm == pytest.approx(loads.force_n @ (middle - placed.cg_m[0]))
    front = ha.wind_loads(hang, 0.0, [0.0, -0.6], ha.Wind(speed_m_s=20.0), top_m=9.0)
    assert front.pan_moment_nm == 0.0


def test_wind_from_the_side_on_a_hang_that_one_hoist_holds() -> None:
    """Both picks ahead of the centre of gravity: the stated tilt is not held in still air."""
    hang = builders.hang([1.0] * 5)
    loads = ha.wind_loads(
        hang, 0.0, [0.2, 0.0], ha.Wind(speed_m_s=15.0), top_m=9.0, wind_from="side"
    )
    assert loads.slack.tolist() == [True, False]
    assert loads.tilt_deg == pytest.approx(ha.hanging_tilt(hang, 0.0).tilt_deg, abs=1e-9)
    weight = G * ha.pose(hang, 0.0).mass_kg
    np.testing.assert_allclose(loads.hoist_load_n, [0.0, np.hypot(weight, loads.total_force_n)])


def test_the_speed_at_a_limit_gives_the_limit_back() -> None:
    hang = builders.hang([1.0] * 5)
    at = ha.wind.wind_speed_at_limits(
        hang, 0.0, [0.0, -0.6], top_m=12.0, line_limit_deg=5.0, hoist_limit_n=1e6
    )
    assert at["hoist_limit_n"] is None
    speed = at["line_limit_deg"]
    assert speed is not None
    loads = ha.wind_loads(hang, 0.0, [0.0, -0.6], ha.Wind(speed_m_s=speed), top_m=12.0)
    assert loads.line_deg == pytest.approx(5.0, abs=2e-3)


def pressed_n(hang: ha.Hang, tilt: float, speed_m_s: float) -> np.ndarray:
    """c q A of each cabinet at the stated tilt, by the standard's equations with NumPy."""
    corners_m = ha.pose(hang, tilt).corners_m
    shadow_m2 = np.array([c.width_m for c in hang.cabinets]) * np.ptp(corners_m[:, :, 1], axis=1)
    return 1.3 * 0.5 * 1.25 * speed_m_s**2 * shadow_m2


@pytest.mark.parametrize("rigging", ["tension", "compression"])
@pytest.mark.parametrize("wind_from", ["front", "rear"])
def test_the_speed_at_each_limit_is_that_of_a_second_calculation(
    rigging: str, wind_from: Literal["front", "rear"], outside: Outside
) -> None:
    """Brent's method on the hang at SciPy's least energy; what the lines carry, in closed form."""
    hang, tilt, pick = builders.hang([1.0, 2.0, 5.0], rigging), -1.0, -0.3
    weight_n = G * ha.pose(hang, tilt).mass_kg
    way = -1.0 if wind_from == "front" else 1.0

    def turn_deg(speed_m_s: float) -> float:
        force_n = pressed_n(hang, tilt, speed_m_s)
        turns = least_energy(hang, tilt, pick, force_n, way, rigging == "compression")
        return float(np.degrees(turns[0]))

    def total_n(speed_m_s: float) -> float:
        return float(pressed_n(hang, tilt, speed_m_s).sum())

    still_deg = turn_deg(0.0)
    limits = {
        "line_limit_deg": 4.0,
        "turn_limit_deg": 1.5,
        "hoist_limit_n": 1.01 * weight_n,
        "total_limit_n": 900.0,
    }
    beyond: list[Callable[[float], float]] = [
        lambda v: np.degrees(np.arctan2(total_n(v), weight_n)) - limits["line_limit_deg"],
        lambda v: abs(turn_deg(v) - still_deg) - limits["turn_limit_deg"],
        lambda v: np.hypot(total_n(v), weight_n) - limits["hoist_limit_n"],
        lambda v: total_n(v) - limits["total_limit_n"],
    ]
    theirs = [brentq(function, 0.0, 60.0, xtol=1e-5) for function in beyond]
    ours = ha.wind.wind_speed_at_limits(
        hang, tilt, pick, top_m=12.0, wind_from=wind_from, coefficient=1.3, **limits
    )
    outside.check(
        "wind", "speed at which lean, turn, pull and force reach their limits",
        ran("scipy", "Brent's method on the least energy by L-BFGS-B, both of SciPy"),
        theirs=theirs, ours=[ours[name] for name in limits], unit="m/s", within=2e-3,
        why="found to a millimetre per second; where the minimiser stops",
    )  # fmt: skip


def test_a_limit_that_no_gale_reaches_has_no_speed() -> None:
    hang = builders.hang([1.0, 2.0, 5.0])
    assert pressed_n(hang, -1.0, 80.0).sum() < 1e6
    at = ha.wind.wind_speed_at_limits(
        hang, -1.0, -0.3, top_m=12.0, coefficient=1.3, total_limit_n=1e6
    )
    assert at == {"total_limit_n": None}


def test_other_bodies_take_wind_too() -> None:
    hang = builders.hang([0.0] * 2)
    wind = ha.Wind(speed_m_s=20.0)
    bare = ha.wind_loads(hang, 0.0, -0.3, wind, top_m=9.0)
    more = ha.wind_loads(
        hang, 0.0, -0.3, wind, top_m=9.0, shadows=[ha.wind.WindShadow(-0.3, 9.1, 0.2, 1.5)]
    )
    assert more.total_force_n - bare.total_force_n == pytest.approx(0.3 * 250.0)


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("top_m", {"top_m": 0.5}),
        ("pick_x_m", {"pick_x_m": [0.0, 0.1, 0.2]}),
        ("pick_x_m", {"pick_x_m": [0.1, 0.1]}),
        ("wind_from", {"wind_from": "below"}),
        ("coefficient", {"coefficient": 0.0}),
        ("structural_factor", {"structural_factor": float("nan")}),
        ("tilt_deg", {"tilt_deg": 95.0}),
        ("pull_at_m", {"pull_at_m": (0.0, 20.0)}),
        ("wind", {"wind": 20.0}),
    ],
)
def test_bad_wind_is_refused_by_name(field: str, changes: dict[str, Any]) -> None:
    good: dict[str, Any] = {
        "hang": builders.hang([1.0]),
        "tilt_deg": 0.0,
        "pick_x_m": -0.3,
        "wind": ha.Wind(speed_m_s=10.0),
        "top_m": 8.0,
    }
    with pytest.raises(ha.InputError) as refused:
        ha.wind_loads(**{**good, **changes})
    assert refused.value.field == field


@pytest.mark.parametrize(
    ("field", "given"),
    [
        ("speed_m_s", {"speed_m_s": -1.0}),
        ("density_kg_m3", {"speed_m_s": 20.0, "density_kg_m3": 0.0}),
        ("basic_speed_m_s", {"basic_speed_m_s": -1.0, "terrain": "II"}),
    ],
)
def test_a_wind_that_cannot_blow_is_refused_by_name(field: str, given: dict[str, Any]) -> None:
    with pytest.raises(ha.InputError) as caught:
        ha.Wind(**given)
    assert caught.value.field == field


def test_a_terrain_that_is_not_in_the_table_is_refused() -> None:
    with pytest.raises(ha.InputError, match="0, I, II, III or IV"):
        ha.Wind(speed_m_s=20.0, terrain="V")
    with pytest.raises(ha.InputError, match="height_m"):
        ha.Wind(speed_m_s=20.0).at(-1.0)
