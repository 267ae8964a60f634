"""Hoist loads, hanging tilt and joint forces against a frame program and closed forms."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import builders
import frame_model
import hangarc as ha
import numpy as np
import pytest
from outside import Kind, Outside, Source

GRAVITY_M_S2 = 9.80665

HANGS = [
    (builders.hang([2.0]), -3.0),
    (builders.hang([0.0, 0.5, 1.0, 3.0, 8.0]), 2.0),
    (builders.hang([1.0] * 11, "compression"), -8.0),
    (
        builders.hang(
            [0.5, 4.0, 9.0],
            cabinets=[
                builders.cabinet(hinge_x_m=-0.03, cg_m=(-0.2, 0.03)),
                builders.cabinet(mass_kg=40.0, height_m=0.28, cg_m=(-0.3, -0.02)),
                builders.cabinet(rear_pin_x_m=-0.45, rear_pin_inset_m=0.03),
                builders.cabinet(mass_kg=110.0, height_m=0.5, depth_m=0.7),
            ],
            frame_splay_deg=1.5,
        ),
        4.0,
    ),
]


@pytest.mark.parametrize(("hang", "tilt_deg"), HANGS)
def test_forces_equal_those_of_a_frame_program(
    hang: ha.Hang, tilt_deg: float, outside: Outside
) -> None:
    """Reference: PyNiteFEA, linear analysis of a statically determinate plane frame."""
    front, rear = 0, 10
    reference = frame_model.solve(hang, tilt_deg, (front, rear))
    picks = [hang.frame.pick_x_m[front], hang.frame.pick_x_m[rear]]
    hoists = ha.hoist_loads(hang, tilt_deg, picks)
    joints = ha.joint_loads(hang, tilt_deg)
    assert not hoists.slack.any()
    scale = np.abs(reference.rear_link_n).max()
    for what, theirs, ours in (
        ("hoists", reference.hoist_n, hoists.load_n),
        ("rear links", reference.rear_link_n, joints.rear_link_n),
        ("front hinges", reference.hinge_force_n, joints.hinge_force_n),
    ):
        outside.check(
            "balance and joints",
            f"{what} of {len(hang.cabinets)} cabinets at a tilt of {tilt_deg:g}°",
            Source("matrix statics of a plane frame by PyNite", Kind.LIBRARY, "PyNiteFEA"),
            theirs=theirs,
            ours=ours,
            unit="N",
            within=1e-9 * scale,
            relative=1e-6,
            why="its bars stretch and bend by about 10⁻⁶",
        )


def test_hoist_loads_add_up_to_the_weight() -> None:
    hang = builders.hang([0.5, 1.0, 2.0, 4.0], "compression")
    weight_n = ha.pose(hang, 0.0).mass_kg * GRAVITY_M_S2
    for tilt_deg in np.linspace(-12.0, 6.0, 13):
        loads = ha.hoist_loads(hang, tilt_deg, [0.2, -0.8])
        assert loads.load_n.sum() == pytest.approx(weight_n, rel=1e-12)


def test_the_lowest_joint_carries_the_bottom_body_alone() -> None:
    hang = builders.hang([0.5, 1.0, 2.0], "compression")
    joints = ha.joint_loads(hang, -4.0)
    assert hang.bottom is not None
    weight_n = hang.bottom.mass_kg * GRAVITY_M_S2
    assert joints.weight_n[-1] == pytest.approx(weight_n, rel=1e-14)
    angle = np.radians(-4.0 - 3.5)
    x, z = hang.bottom.cg_m
    lever_m = -(np.cos(angle) * x - np.sin(angle) * z)
    assert joints.moment_nm[-1] == pytest.approx(weight_n * lever_m, rel=1e-12)


def test_on_one_pick_the_centre_of_gravity_hangs_plumb_below() -> None:
    hang = builders.hang([0.5, 1.0, 2.0, 6.0])
    for pick_x_m in hang.frame.pick_x_m:
        tilt_deg = ha.hanging_tilt(hang, pick_x_m).tilt_deg
        pick = frame_model.turn(tilt_deg) @ (pick_x_m, hang.frame.pick_z_m)
        assert ha.pose(hang, tilt_deg).cg_m[0] == pytest.approx(pick[0], abs=1e-12)
        loads = ha.hoist_loads(hang, tilt_deg, pick_x_m)
        assert loads.unbalanced_moment_nm == pytest.approx(0.0, abs=1e-8)


def test_a_pick_behind_the_centre_of_gravity_tilts_the_hang_down() -> None:
    hang = builders.hang([1.0, 1.0])
    cg_x_m = ha.pose(hang, 0.0).cg_m[0]
    assert (
        ha.hanging_tilt(hang, cg_x_m - 0.05).tilt_deg
        < 0.0
        < (ha.hanging_tilt(hang, cg_x_m + 0.05).tilt_deg)
    )


def test_the_pick_for_a_tilt_gives_that_tilt() -> None:
    hang = builders.hang([0.5, 1.0, 2.0, 6.0])
    for tilt_deg in (-9.0, -2.5, 0.0, 3.7):
        pick = ha.pick_for_tilt(hang, tilt_deg)
        assert ha.hanging_tilt(hang, pick.pick_x_m).tilt_deg == pytest.approx(tilt_deg, abs=1e-10)
        tilts = [ha.hanging_tilt(hang, x).tilt_deg for x in hang.frame.pick_x_m]
        assert pick.hole == int(np.argmin(np.abs(np.array(tilts) - tilt_deg)))
        assert pick.tilt_at_hole_deg == tilts[pick.hole]
        assert pick.tilt_range_deg == (min(tilts), max(tilts))


def test_a_hoist_that_would_have_to_push_is_slack() -> None:
    hang = builders.hang([1.0, 1.0])
    low, high = ha.hoist_loads(hang, 0.0, [0.2, -0.8]).tilt_range_deg
    for tilt_deg, slack in ((low - 1.0, 0), (high + 1.0, 1)):
        loads = ha.hoist_loads(hang, tilt_deg, [0.2, -0.8])
        assert list(loads.slack) == [slack == 0, slack == 1]
        assert loads.load_n[slack] == 0.0
        assert abs(loads.unbalanced_moment_nm) > 1.0
    assert not ha.hoist_loads(hang, (low + high) / 2, [0.2, -0.8]).slack.any()


def test_a_link_almost_in_line_with_its_hinge_is_given_while_it_is_a_lever() -> None:
    """By hand: plumb at a distance d behind the hinge it pulls W a/d; beyond 10⁴ W: no answer."""

    def held(behind_m: float) -> ha.Hang:
        cabinet = builders.cabinet(rear_pin_x_m=-behind_m)
        return builders.hang([0.0], cabinets=[cabinet] * 2)

    loads = ha.joint_loads(held(1e-4), 0.0)
    np.testing.assert_allclose(loads.rear_link_n, loads.moment_nm / 1e-4, rtol=1e-9)
    assert 2e3 < loads.rear_link_n[1] / loads.weight_n[1] < 1e4
    with pytest.raises(ha.InputError, match="a rear link that passes the hinge at a distance"):
        ha.joint_loads(held(1e-5), 0.0)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda h: ha.hoist_loads(h, float("nan"), [0.0, -0.5]), "tilt_deg"),
        (lambda h: ha.hoist_loads(h, 0.0, [0.0, float("inf")]), "pick_x_m"),
        (lambda h: ha.hoist_loads(h, 0.0, []), "pick_x_m"),
        (lambda h: ha.hoist_loads(h, 0.0, [0.1, 0.1]), "pick_x_m"),
        (lambda h: ha.hoist_loads(h, 0.0, [0.1, 0.0, -0.1]), "pick_x_m"),
        (lambda h: ha.hoist_loads(h, 0.0, "front"), "pick_x_m"),
        (lambda h: ha.hoist_loads("hang", 0.0, [0.0]), "hang"),
        (lambda h: ha.hanging_tilt(h, "front"), "pick_x_m"),
        (lambda h: ha.pick_for_tilt(h, 85.0), "tilt_deg"),
        (lambda h: ha.joint_loads(h, 1e9), "tilt_deg"),
        (lambda h: ha.pose(h, 0.0, float("nan")), "top_m"),
    ],
)
def test_a_bad_argument_is_named(call, field: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ha.InputError) as caught:
        call(builders.hang([1.0]))
    assert caught.value.field.startswith(field)
    assert caught.value.allowed


def test_every_force_follows_gravity_and_no_place_does():
    splays = [1.0, 2.0, 3.0, 4.0]
    at = [builders.hang(splays, "compression", gravity_m_s2=g) for g in (9.764, 9.80665)]
    ratio = 9.764 / 9.80665
    picks = [0.2, -0.8]
    wind = ha.Wind(speed_m_s=15.0)
    forces = [
        [
            ha.hoist_loads(hang, -3.0, picks).load_n,
            ha.joint_loads(hang, -3.0).rear_link_n,
            ha.joint_loads(hang, -3.0).hinge_force_n,
            closing.closing_force_n,
            closing.stop_force_n,
            closing.path["force_n"],
            closing.path["hoist_load_n"],
            closing.path["energy_j"],
            ha.statics.pull_back(hang, -5.0, 0.2, (-4.0, 3.0), top_m=8.0).force_n,
        ]
        for hang in at
        for closing in [ha.close(hang, -3.0)]
    ]
    for light, standard in zip(*forces, strict=True):
        np.testing.assert_allclose(light, np.multiply(standard, ratio), rtol=1e-9, atol=1e-9)
    # Wind does not: the hang swings further where it weighs less.
    leans = [
        ha.wind_loads(hang, -3.0, picks, wind, top_m=8.0, wind_from="rear").line_deg for hang in at
    ]
    tangents = np.tan(np.radians(leans))
    assert tangents[0] * ratio == pytest.approx(tangents[1], rel=1e-9)
    closings = [ha.close(hang, -3.0) for hang in at]
    np.testing.assert_allclose(
        closings[0].path["angle_deg"], closings[1].path["angle_deg"], rtol=0, atol=1e-9
    )
    # By hand: the same mass hangs from the hoists.
    mass_kg = 75.0 + 5 * 64.0 + 22.0
    assert ha.hoist_loads(at[0], -3.0, picks).load_n.sum() == pytest.approx(
        9.764 * mass_kg, rel=1e-12
    )


def test_gravity_of_other_units_is_refused():
    with pytest.raises(ha.InputError) as caught:
        builders.hang([1.0], gravity_m_s2=32.17)
    assert caught.value.field == "gravity_m_s2"


def test_an_array_of_tilts_gives_the_results_side_by_side() -> None:
    hang = builders.hang([1.0, 2.0])
    tilts = np.array([[-3.0, 0.0], [2.5, 4.0]])
    calls: list[Callable[[Any], Any]] = [
        lambda tilt_deg: ha.pose(hang, tilt_deg, 8.0),
        lambda tilt_deg: ha.pose(hang=hang, tilt_deg=tilt_deg, splays_deg=[0.0, 1.5]),
        lambda tilt_deg: ha.hoist_loads(hang, tilt_deg, [0.2, -0.8]),
        lambda tilt_deg: ha.pick_for_tilt(hang, tilt_deg),
        lambda tilt_deg: ha.joint_loads(hang, tilt_deg),
    ]
    for call in calls:
        many = call(tilts)
        for index in np.ndindex(tilts.shape):
            one = call(tilts[index])
            for field in dataclasses.fields(one):
                single, among = getattr(one, field.name), getattr(many, field.name)
                if single is not None:
                    assert np.shape(among) == tilts.shape + np.shape(single)
                    np.testing.assert_array_equal(among[index], single)
    points, f = [(20.0, 0.0, 1.2), (30.0, 1.0, 1.2)], [500.0, 1000.0, 2000.0]
    p = ha.pressure(hang, [0.0, 1.0], 8.0, points, f)
    assert p.shape == (2, 3, 2)
    np.testing.assert_array_equal(p[1], ha.pressure(hang, 1.0, 8.0, points, f))
    evenness = ha.evenness_db(hang, [0.0, 1.0], 8.0, builders.venue())
    assert evenness[1] == ha.evenness_db(hang, 1.0, 8.0, builders.venue())
    with pytest.raises(ha.InputError, match="at least one tilt"):
        ha.pose(hang, [])
    with pytest.raises(ha.InputError) as caught:
        ha.pose(hang, [0.0, 91.0])
    assert caught.value.field == "tilt_deg[1]"
    with pytest.raises(ha.InputError, match="tilt_deg"):
        ha.close(builders.hang([1.0], "compression"), [0.0, 1.0])
