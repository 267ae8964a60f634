"""Bridles, beams, hoists, wind and the check of what hangs, from engineering handbooks.

Each example with the formula worked by hand and the library's figure; sources from memory.
"""

from __future__ import annotations

import hangarc as ha
import numpy as np
import pytest
from hangarc.io import roof_plot

G = 9.80665
EI, w, span = 5e6, 800.0, 6.0
square = np.array([[0, 0], [2, 0], [2, 2], [0, 2]])
k, h, weight = 4e5, 0.006, 12_000.0


def agree(by_hand, by_library, digits=1e-9):
    difference = np.abs(np.asarray(by_library) - by_hand).max()
    assert difference <= digits * np.abs(by_hand).max()


def bridle_of_stock() -> ha.suspension.MadeBridle:
    return ha.suspension.bridle_from_stock(
        [(0.0, 14.0), (4.0, 14.5)],
        (1.5, 11.0),
        load_n=9000,
        steels_m=[0.5, 1.0, 1.5, 2.0, 3.0],
        pitch_m=0.075,
        most_links=12,
        fittings_m=0.15,
    )


def test_two_ropes_at_a_point() -> None:
    """Beer & Johnston, *Vector Mechanics for Engineers: Statics*, a crate of 75 kg."""
    weight = 75 * 9.81
    angles = np.radians([50, 30])
    by_hand = weight * np.sin(np.radians([60, 40])) / np.sin(np.radians(80))
    anchors = [(-np.cos(angles[0]), np.sin(angles[0])), (np.cos(angles[1]), np.sin(angles[1]))]
    bridle = ha.bridle(anchors, apex_m=(0, 0), load_n=weight)
    agree(by_hand, bridle.force_n)
    assert np.abs(bridle.force_n - [647, 480]).max() < 0.6


def test_a_bridle_of_equal_legs() -> None:
    """F = W / (2 cos(a/2)) for included angle a."""
    for included in (30, 60, 90, 120, 150):
        half = np.radians(included / 2)
        bridle = ha.bridle([(-np.sin(half), 0), (np.sin(half), 0)], lengths_m=[1, 1], load_n=1000)
        agree(1000 / (2 * np.cos(half)), bridle.force_n[0])


def test_three_legs_in_space() -> None:
    """Hibbeler, *Engineering Mechanics: Statics*, example 3.7."""
    cable = 40 / 2 * np.sqrt(89) / 8
    by_hand = np.array([cable, cable, 2 * cable * 3 / np.sqrt(89)])
    bridle = ha.bridle([(-3, -4, 8), (-3, 4, 8), (5, 0, 0)], apex_m=(0, 0, 0), load_n=40)
    agree(by_hand, bridle.force_n)
    assert np.abs(by_hand - [23.6, 23.6, 15.0]).max() < 0.06


def test_a_bridle_of_steels_and_chain() -> None:
    """Whole pieces miss the mark by the least possible."""
    made = bridle_of_stock()
    assert made.miss_m < 0.05
    by_hand = [0.15 + sum(s) + 0.075 * n for s, n in zip(made.steels_m, made.links, strict=True)]
    agree(by_hand, made.bridle.length_m)


def test_a_heavy_leg_sags() -> None:
    """Catenary: Irvine, *Cable Structures*, ch. 1."""
    pull, chain, span = 2500.0, 38.0, 9.0
    a = pull / chain
    leg = ha.suspension.heavy_leg(span, 0.0, horizontal_n=pull, weight_n_m=chain)
    agree(a * (np.cosh(span / (2 * a)) - 1), leg.sag_m)
    assert abs(leg.sag_m / (chain * span**2 / (8 * pull)) - 1) < 0.01


def test_a_beam_over_three_equal_spans() -> None:
    """AISC *Steel Construction Manual*, table 3-23."""
    beam = ha.beam(3 * span, [0, span, 2 * span, 3 * span], [(0, 3 * span, w)], ei_nm2=EI)
    agree(w * span * np.array([0.4, 1.1, 1.1, 0.4]), beam.reaction_n)
    agree(-0.1 * w * span**2, beam.moment_nm(span))
    agree(0.08 * w * span**2, beam.moment_range_nm[1][0])


def test_one_hoist_20_mm_high() -> None:
    """The middle hoist gains 6EIh/ℓ³, each outer one loses half of that."""
    high = 0.020
    level = ha.beam(2 * span, [0, span, 2 * span], [(0, 2 * span, w)], ei_nm2=EI)
    odd = ha.beam(
        2 * span, [0, span, 2 * span], [(0, 2 * span, w)], ei_nm2=EI, settlement_m=[0, -high, 0]
    )
    gain = 6 * EI * high / span**3
    agree([-gain / 2, gain, -gain / 2], odd.reaction_n - level.reaction_n)


def test_hoists_let_go_and_a_beam_that_tips_is_refused() -> None:
    """Hoists only pull."""
    high = 0.5
    lifted = ha.beam(
        2 * span,
        [0, span, 2 * span],
        [(0, 2 * span, w)],
        ei_nm2=EI,
        settlement_m=[0, -high, 0],
        only_pull=True,
    )
    agree(2 * span * w, lifted.reaction_n.sum())
    held = ha.beam(
        2 * span, [0, span, 2 * span], [(0, 2 * span, w)], ei_nm2=EI, settlement_m=[0, -high, 0]
    )
    assert (
        held.reaction_n[[0, 2]] < 0
    ).all()  # supports that hold both ways would have to push down
    with pytest.raises(ha.InputError):
        ha.beam(2 * span, [0, span], [(2 * span, w)], ei_nm2=EI, only_pull=True)


def test_four_hoists_on_a_rigid_frame() -> None:
    """Springs k resist only the warping mode: each hoist changes by ±kh/4."""
    hung = ha.rigid_hang(square, (1, 1), weight, k, high_m=[h, 0, 0, 0])
    agree(weight / 4 + k * h / 4 * np.array([1, -1, 1, -1]), hung.load_n)
    slack = ha.rigid_hang(square, (1, 1), weight, k, high_m=[0.04, 0, 0.04, 0])
    agree([weight / 2, 0, weight / 2, 0], slack.load_n)
    assert slack.slack.tolist() == [False, True, False, True]
    spread = ha.suspension.hoist_scatter(
        square,
        np.full(24, 50.0),
        np.tile((1.0, 1.0), (24, 1)),
        stiffness_n_m=k,
        mass_spread=0.02,
        cg_spread_m=0.01,
        high_spread_m=0.003,
        stiffness_spread=0.15,
        cases=20_000,
    )
    sigma = k * 0.003 / 2
    assert abs(spread.load_n.std(axis=0).mean() / sigma - 1) < 0.1
    factor = ha.suspension.start_stop_factor(8 / 60, hoisting_class="HC2")
    agree(1.10 + 0.34 * 8 / 60, factor)
    agree(
        9000 + 8 / 60 * np.sqrt(k * 9000 / G), ha.suspension.emergency_stop_force_n(9000, 8 / 60, k)
    )
    combined = ha.suspension.combine_loads(
        {"weight": hung.load_n, "start and stop": hung.load_n * (factor - 1)},
        {
            "at rest": {"weight": 1.35, "start and stop": 0.0},
            "moving": {"weight": 1.0, "start and stop": 1.5},
        },
    )
    agree(1.35 * hung.load_n, combined.force_n[0])


def test_panned_on_two_lines() -> None:
    """Bifilar pendulum."""
    half, line = 1.0, 6.0
    height = np.sqrt(line**2 - 2 * half**2 * (1 - np.cos(np.radians(30))))
    pan = ha.suspension.pan_hold(2.0, 2.0, line, weight_n=9000, pan_deg=30)
    agree(9000 * half**2 * np.sin(np.radians(30)) / height, pan.torque_nm)
    agree(line - height, pan.lift_m)


def test_peak_pressure_of_the_wind() -> None:
    """EN 1991-1-4:2005, terrain II at 10 m, figure 4.2."""
    profile = np.log(10 / 0.05)
    exposure = (1 + 7 / profile) * (0.19 * profile) ** 2
    peak = ha.Wind(speed_m_s=25, terrain="II").at(10)
    agree(exposure * 0.5 * 1.25 * 25**2, peak.pressure_pa)
    assert abs(exposure - 2.35) < 0.01


def test_lines_lean_in_the_wind() -> None:
    """tan α = F/W, and the lines pull with √(W² + F²)."""
    hang = ha.demo.study().hang
    wind = ha.Wind(speed_m_s=18)
    picks = [hang.frame.pick_x_m[0], hang.frame.pick_x_m[-1]]
    rest = ha.wind_loads(hang, -2.0, picks, wind, top_m=12, closed=True)
    weight = ha.pose(hang, -2.0).mass_kg * G
    agree(np.degrees(np.arctan2(rest.force_n.sum(), weight)), rest.line_deg)
    agree(np.hypot(weight, rest.force_n.sum()), rest.hoist_load_n.sum())
    speeds = ha.wind.wind_speed_at_limits(
        hang, -2.0, picks, top_m=12, closed=True, line_limit_deg=5.0
    )
    at_limit = ha.wind_loads(
        hang, -2.0, picks, ha.Wind(speed_m_s=speeds["line_limit_deg"]), top_m=12, closed=True
    )
    agree(5.0, at_limit.line_deg, digits=1e-3)


def test_a_pin_in_the_wrong_hole_is_found() -> None:
    """Every cabinet measured to 0.1°."""
    hang = ha.demo.study().hang
    plan = hang
    joint = 4
    positions = plan.cabinets[joint].splay_positions_deg[plan.rigging]
    wrong = next(p for p in positions if abs(p - plan.splays_deg[joint]) > 0.9)
    splays = list(plan.splays_deg)
    splays[joint] = wrong
    built = ha.Hang.from_dict({**plan.to_dict(), "splays_deg": splays})
    rng = np.random.default_rng(4)
    measured = ha.pose(built, -2.1).axis_deg + 0.1 * rng.standard_normal(len(plan.cabinets))
    readings = [ha.survey.AngleReading(i, angle, 0.1) for i, angle in enumerate(measured)]
    found = ha.survey.compare_with_plan(plan, -2.0, readings)
    best = found.other_pins[0]
    assert not found.ok
    assert found.verdict[joint] == "inconsistent"
    agree(wrong, best[1])


def test_loads_for_the_roof_engineer() -> None:
    """Points at rest, moving, and their horizontal parts."""
    made = bridle_of_stock()
    factor = ha.suspension.start_stop_factor(8 / 60, hoisting_class="HC2")
    anchors = [(0.0, 14.0), (4.0, 14.5)]
    points = roof_plot.bridle_points(made.bridle, anchors, ["R1", "R2"], dynamic_factor=factor)
    assert len(roof_plot.roof_table(points)) == 2
    agree(9000, sum(point.vertical_n for point in points))
    assert abs(sum(point.horizontal_x_n for point in points)) < 1e-9 * 9000
