"""Chain, lever hoist, bypass, cables and steel in every mass; frames whose corners hold it off.

Moments by hand, and the closing problem of `closing_reference` with the masses written down again.
"""

from __future__ import annotations

import dataclasses
import itertools
from typing import Any

import builders
import closing_reference
import hangarc as ha
import numpy as np
import pytest
from closing_reference import rotated
from outside import Outside, ran

G_M_S2 = 9.80665
EIGHT = [1.0, 1.0, 2.0, 2.0, 3.0, 4.0, 5.0]


def hand_placed(hang: ha.Hang, tilt_deg: float) -> tuple[float, np.ndarray]:
    """Mass and centre of gravity of everything, summed one by one."""
    placed = ha.pose(hang, tilt_deg)
    bodies = [(hang.frame.mass_kg, rotated(np.radians(tilt_deg), hang.frame.cg_m))]
    turns = np.radians(placed.axis_deg)
    for front, turn, cabinet in zip(placed.front_m, turns, hang.cabinets, strict=True):
        bodies.append((cabinet.mass_kg, front + rotated(turn, cabinet.cg_m)))
    if hang.bottom is not None:
        at = placed.hinge_m[-1] + rotated(turns[-1], hang.bottom.cg_m)
        bodies.append((hang.bottom.mass_kg, at))
    for piece in hang.pieces:
        if piece.on == "frame":
            at = rotated(np.radians(tilt_deg), piece.at_m)
        elif piece.on == "bottom":
            at = placed.hinge_m[-1] + rotated(turns[-1], piece.at_m)
        else:
            at = placed.front_m[piece.cabinet] + rotated(turns[piece.cabinet], piece.at_m)
        bodies.append((piece.mass_kg, at))
    for run in hang.runs:
        last = len(hang.cabinets) if run.last is None else run.last + 1
        for i in range(run.first, last):
            at = placed.front_m[i] + rotated(turns[i], (run.x_m, 0.0))
            bodies.append((run.mass_kg_m * hang.cabinets[i].height_m, at))
    masses = np.array([mass for mass, _ in bodies])
    return masses.sum(), masses @ np.array([at for _, at in bodies]) / masses.sum()


def steel() -> dict[str, Any]:
    return {
        "pieces": [
            ha.model.Piece(name="beam clamp", mass_kg=9.0, at_m=(-0.4, 0.3)),
            ha.model.Piece(name="laser", mass_kg=1.2, at_m=(0.1, 0.1), on="cabinet", cabinet=1),
            ha.model.Piece(name="ballast", mass_kg=20.0, at_m=(-0.5, -0.1), on="bottom"),
        ],
        "runs": [
            ha.model.Run(name="signal", mass_kg_m=1.1, x_m=-0.62),
            ha.model.Run(name="power", mass_kg_m=2.3, x_m=-0.64, first=1, last=2),
        ],
    }


def test_mass_and_centre_of_gravity_are_those_summed_by_hand() -> None:
    hang = builders.hang([1.0, 2.0, 5.0], bottom=builders.bottom(), **steel())
    for tilt in (-7.0, 0.0, 4.0):
        mass, centre = hand_placed(hang, tilt)
        placed = ha.pose(hang, tilt)
        assert placed.mass_kg == pytest.approx(mass, rel=1e-14)
        np.testing.assert_allclose(placed.cg_m, centre, rtol=1e-13)
        loads = ha.hoist_loads(hang, tilt, [0.2, -0.8])
        picks = [rotated(np.radians(tilt), (x, hang.frame.pick_z_m))[0] for x in (0.2, -0.8)]
        rear = mass * G_M_S2 * (picks[0] - centre[0]) / (picks[0] - picks[1])
        np.testing.assert_allclose(loads.load_n, [mass * G_M_S2 - rear, rear], rtol=1e-12)


def test_joints_carry_the_pieces_below_them() -> None:
    hang = builders.hang([1.0, 2.0, 5.0], bottom=builders.bottom(), **steel())
    bare = dataclasses.replace(hang, pieces=(), runs=())
    more = ha.joint_loads(hang, 0.0).weight_n - ha.joint_loads(bare, 0.0).weight_n
    cable = 0.36 * np.array([1.1 * 4 + 2.3 * 2, 1.1 * 3 + 2.3 * 2, 1.1 * 2 + 2.3, 1.1, 0.0])
    below = np.array([21.2, 21.2, 20.0, 20.0, 20.0]) + cable
    np.testing.assert_allclose(more / G_M_S2, below, rtol=1e-12)


def gear(**changes: Any) -> ha.ClosingGear:
    return builders.gear(
        **{"chain_mass_kg_m": 1.5, "hoist_mass_kg": 6.0, "bypass_mass_kg": 1.8, **changes}
    )


def test_fifteen_kilograms_of_closing_gear_on_eight_cabinets() -> None:
    """The issue: closing force + 4 to 9 %, the rear hoist + 5 %, the tilt on one pick + 0.4°."""
    hang = builders.hang([0.0] * 7, "compression")
    fitted = dataclasses.replace(hang, gear=gear())
    assert ha.pose(fitted, 0.0).mass_kg - ha.pose(hang, 0.0).mass_kg == pytest.approx(15.0)
    before, after = (ha.close(one, -2.0).closing_force_n for one in (hang, fitted))
    assert 1.04 < after / before < 1.09
    rear = [ha.hoist_loads(one, 0.0, [0.2, -0.8]).load_n[1] for one in (hang, fitted)]
    assert 1.03 < rear[1] / rear[0] < 1.07
    tilts = [ha.hanging_tilt(one, -0.3).tilt_deg for one in (hang, fitted)]
    assert tilts[1] - tilts[0] == pytest.approx(0.40, abs=0.02)


def lumps(hang: ha.Hang, reference: closing_reference.Reference) -> list[tuple[float, Any, int]]:
    """The chain's masses as the docstring says, from the reference's own convex hull."""
    closed = reference.upper
    _, chain, hinges = reference.points(closed)
    way = reference.string(chain)
    axes = reference.axes(closed)
    fitted = hang.gear
    parts = [
        (a, b, np.linalg.norm(chain[b, :2] - chain[a, :2])) for a, b in itertools.pairwise(way)
    ]
    line = sum(length for _, _, length in parts)
    whole = fitted.pitch_m * fitted.links
    spread = fitted.chain_mass_kg_m * min(whole, line) + fitted.bypass_mass_kg
    over = fitted.chain_mass_kg_m * max(0.0, whole - line) + fitted.hoist_mass_kg
    found = [(point, spread * length / line / 2) for a, b, length in parts for point in (a, b)]
    found.append((way[0] if fitted.hoist_end == "upper" else way[-1], over))
    hung = []
    for point, mass in found:
        cabinet = int(chain[point, 2])
        if cabinet >= 0:
            place = rotated(-axes[cabinet], chain[point, :2] - hinges[cabinet])
            hung.append((mass, place, cabinet))
    return hung


def closing_force(reference: closing_reference.Reference) -> float:
    closed = reference.upper
    gravity = reference.value(closed, 0.0)[1]
    lever = -(reference.value(closed, 1.0)[1] - gravity)
    return float(max(0.0, (gravity / lever).max()))


def test_closing_with_the_masses_is_that_of_the_second_statement(outside: Outside) -> None:
    """Closed force, and the rest on the way by SciPy, to 1e-8."""
    rng = np.random.default_rng(11)
    for case in range(25):
        hang, tilt = closing_reference.random_hang(rng, int(rng.integers(3, 15)))
        hoist_end = ("lower", "upper")[case % 2]
        outlines = {}
        if case % 3 == 0:
            anchor, low = hang.frame.chain_anchor_m, hang.bottom.chain_anchor_m
            outlines = {
                "frame": dataclasses.replace(
                    hang.frame, rear_outline_m=[(anchor[0] - 0.1, anchor[1] - 0.05)]
                ),
                "bottom": dataclasses.replace(
                    hang.bottom,
                    rear_outline_m=[(low[0] - 0.05, low[1] + 0.04), (low[0] - 0.08, low[1] + 0.01)],
                ),
            }
        hang = dataclasses.replace(hang, gear=gear(hoist_end=hoist_end), **outlines)
        bare = closing_reference.Reference(hang, tilt)
        reference = closing_reference.Reference(hang, tilt, lumps(hang, bare))
        closing = ha.close(hang, tilt)
        if closing.closing_force_n is None or closing.ended != "closed":
            continue
        assert closing.chain_closed_m == pytest.approx(
            reference.chain_m(reference.upper), rel=1e-12
        )
        outside.check(
            "closing a hang", "closing force with chain, lever hoist, cables and steel weighed in",
            ran("scipy", "moments summed a second time, the chain as SciPy's convex hull"),
            theirs=closing_force(reference), ours=closing.closing_force_n, unit="N",
            relative=1e-8, why="masses ride on a chain that is solved for to that",
        )  # fmt: skip
        force = 0.7 * closing.closing_force_n
        ours = ha.closing.rest_at_force(hang, tilt, force)
        theta = np.radians(ours.angle_deg[1:-1])
        scale = G_M_S2 * ha.pose(hang, tilt).mass_kg
        energy, slope = reference.value(theta, force)
        free = (theta > reference.lower + 1e-9) & (theta < reference.upper - 1e-9)
        assert np.abs(slope[free]).max(initial=0.0) < 1e-8 * scale
        other = reference.rest(force, theta)
        assert energy - reference.value(other, force)[0] < 1e-8 * scale


def test_frames_with_corners_in_front_of_the_chain_change_nothing() -> None:
    hang = builders.hang(EIGHT, "compression")
    shaped = dataclasses.replace(
        hang,
        frame=builders.frame(rear_outline_m=[(-0.6, 0.2), (-0.6, 0.0)]),
        bottom=builders.bottom(rear_outline_m=[(-0.5, 0.0), (-0.5, -0.1)]),
    )
    one, other = ha.close(hang, -2.0), ha.close(shaped, -2.0)
    assert one.closing_force_n == other.closing_force_n
    np.testing.assert_array_equal(one.path["force_n"], other.path["force_n"])


def test_a_corner_behind_the_chain_holds_it_off() -> None:
    """Two straight parts by hand: anchor to corner, corner to anchor; the lever is the corner's."""
    corner = (-1.0, -0.1)
    frame = builders.frame(chain_anchor_m=(-0.75, 0.05), rear_outline_m=[corner])
    tail = builders.bottom(chain_anchor_m=(-0.9, -0.05))
    hang = builders.hang([0.0], "compression", frame=frame, bottom=tail)
    closing = ha.close(hang, 0.0)
    lower = np.array([-0.9, -0.77])
    first, second = np.array(corner) - (-0.75, 0.05), lower - corner
    length = np.linalg.norm(first) + np.linalg.norm(second)
    assert closing.chain_closed_m == pytest.approx(length, rel=1e-14)
    arm, down = lower - (0.0, -0.36), second / np.linalg.norm(second)
    lever = arm[0] * down[1] - arm[1] * down[0]
    moment = G_M_S2 * (64.0 * 0.27 + 22.0 * 0.35)
    assert closing.closing_force_n == pytest.approx(moment / lever, rel=1e-12)
    plain = builders.hang(
        [0.0], "compression", frame=builders.frame(chain_anchor_m=(-0.75, 0.05)), bottom=tail
    )
    assert ha.close(plain, 0.0).closing_force_n > closing.closing_force_n


def test_the_lowest_point_counts_the_bottom_frames_corners() -> None:
    tail = builders.bottom(rear_outline_m=[(-0.6, -0.4)])
    hang = builders.hang([0.0], bottom=tail)
    assert ha.pose(hang, 0.0, 5.0).trim_m == pytest.approx(5.0 - 0.72 - 0.4)


def test_masses_of_nothing_leave_every_figure_as_it_was() -> None:
    hang = builders.hang(EIGHT, "compression")
    none = dataclasses.replace(
        hang,
        gear=gear(chain_mass_kg_m=0.0, hoist_mass_kg=0.0, bypass_mass_kg=0.0),
        pieces=[ha.model.Piece(name="nothing", mass_kg=0.0, at_m=(3.0, 0.0))],
        runs=[ha.model.Run(name="nothing", mass_kg_m=0.0, x_m=-2.0)],
    )
    one, other = ha.close(hang, -2.0), ha.close(none, -2.0)
    assert one.closing_force_n == other.closing_force_n
    np.testing.assert_array_equal(one.path["hoist_load_n"], other.path["hoist_load_n"])
    np.testing.assert_array_equal(ha.pose(hang, 1.0).cg_m, ha.pose(none, 1.0).cg_m)


def test_sensitivities_are_differences_with_the_masses_too() -> None:
    """A straight chain of given mass: how its parts share it does not change with the inputs."""
    fitted = gear(chain_mass_kg_m=0.0, bypass_mass_kg=9.0)
    frame = builders.frame(chain_anchor_m=(-1.4, 0.05))
    tail = builders.bottom(chain_anchor_m=(-1.3, -0.05))
    hang = builders.hang(
        EIGHT, "compression", gear=fitted, frame=frame, **{**steel(), "bottom": tail}
    )
    ours = ha.closing.closing_sensitivities(hang, -2.0)
    rows = {name: index for index, name in enumerate(ours.inputs)}

    def changed(name: str, step: float) -> ha.Hang:
        if name == "cabinets[5].mass_kg":
            five = dataclasses.replace(hang.cabinets[5], mass_kg=64.0 + step)
            return dataclasses.replace(
                hang, cabinets=[*hang.cabinets[:5], five, *hang.cabinets[6:]]
            )
        if name == "bottom.cg_m[0]":
            return dataclasses.replace(
                hang, bottom=dataclasses.replace(tail, cg_m=(-0.35 + step, -0.08))
            )
        if name == "bottom.chain_anchor_m[0]":
            moved = dataclasses.replace(tail, chain_anchor_m=(-1.3 + step, -0.05))
            return dataclasses.replace(hang, bottom=moved)
        moved_frame = dataclasses.replace(frame, chain_anchor_m=(-1.4 + step, 0.05))
        return dataclasses.replace(hang, frame=moved_frame)

    for name, step in [
        ("cabinets[5].mass_kg", 1e-2),
        ("bottom.cg_m[0]", 1e-5),
        ("bottom.chain_anchor_m[0]", 1e-5),
        ("frame.chain_anchor_m[0]", 1e-5),
    ]:
        up, down = (ha.close(changed(name, way * step), -2.0) for way in (1.0, -1.0))
        slope = (up.closing_force_n - down.closing_force_n) / (2 * step)
        assert ours.closing_force_n[rows[name]] == pytest.approx(slope, rel=1e-5), name
        picks = [max(hang.frame.pick_x_m), min(hang.frame.pick_x_m)]
        loads = [ha.hoist_loads(changed(name, w * step), -2.0, picks).load_n for w in (1.0, -1.0)]
        np.testing.assert_allclose(
            ours.hoist_load_n[rows[name]], (loads[0] - loads[1]) / (2 * step), rtol=1e-5, atol=1e-3
        )


def test_a_hang_still_being_built_carries_only_what_hangs() -> None:
    hang = builders.hang([1.0, 2.0, 5.0], "compression", gear=gear(), **steel())
    stages = ha.statics.build_up(hang, -0.3, stack=2).stages
    bare = 75.0 + 2 * 64.0
    cable = 0.36 * (2 * 1.1 + 2.3)
    assert stages[0].mass_kg == pytest.approx(bare + 9.0 + 1.2 + cable)
    assert stages[-1].mass_kg == pytest.approx(ha.pose(hang, 0.0).mass_kg)


def test_a_hang_with_its_steel_survives_a_file() -> None:
    hang = builders.hang([1.0, 2.0, 5.0], "compression", gear=gear(), **steel())
    assert ha.Hang.from_json(hang.to_json()) == hang
    text = builders.hang([1.0], "compression").to_json()
    assert "pieces" not in text


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("pieces[0].cabinet", {"on": "cabinet", "cabinet": 7}),
        ("pieces[0].on", {"on": "bottom"}),
        ("cabinet", {"on": "cabinet"}),
        ("cabinet", {"cabinet": 1}),
        ("on", {"on": "roof"}),
    ],
)
def test_a_piece_on_nothing_is_refused(field: str, changes: dict[str, Any]) -> None:
    fields = {"name": "clamp", "mass_kg": 2.0, "at_m": (0.0, 0.0), **changes}
    with pytest.raises(ha.InputError) as refused:
        builders.hang([1.0], pieces=[ha.model.Piece(**fields)])
    assert refused.value.field == field


def test_a_run_beyond_the_cabinets_is_refused() -> None:
    with pytest.raises(ha.InputError, match=r"runs\[0\].last"):
        builders.hang([1.0], runs=[ha.model.Run(name="cable", mass_kg_m=1.0, x_m=-0.6, last=5)])


def test_corners_out_of_order_are_refused() -> None:
    with pytest.raises(ha.InputError, match=r"rear_outline_m\[1\]"):
        builders.frame(rear_outline_m=[(-0.8, 0.0), (-0.8, 0.1)])


def test_another_route_agrees_with_the_masses() -> None:
    study = builders.study(
        hang=builders.hang([1.0, 1.0, 2.0], "compression", gear=gear(), **steel()),
        tilt_range_deg=(-2.0, -2.0),
    )
    rows = ha.verify(ha.evaluate(study))
    assert rows
    for row in rows:
        assert row.difference <= row.allowed, row


@pytest.mark.parametrize("corner", [(-0.8, 0.0), (-0.8, 0.02), (-0.8, -0.01)])
def test_corners_level_with_the_cabinets_edges_close_as_the_second_statement_does(
    corner: tuple[float, float],
) -> None:
    """A corner as high as the last cabinet's lower edge: rounding must not decide about it."""
    frame = builders.frame(rear_outline_m=[(-0.85, 0.0)])
    tail = builders.bottom(rear_outline_m=[corner])
    hang = builders.hang([1.0] * 23, "compression", frame=frame, bottom=tail)
    for tilt in (-6.0, 0.0, 3.0, 6.0):
        closing = ha.close(hang, tilt)
        assert closing.ended == "closed", tilt
        assert closing.residual < 1e-9
        reference = closing_reference.Reference(hang, tilt)
        assert closing.closing_force_n == pytest.approx(closing_force(reference), rel=1e-8)
