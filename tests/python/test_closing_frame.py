"""Closing with the frame free: on one pick, and on two hoists of which one goes slack."""

from __future__ import annotations

import builders
import hangarc as ha
import numpy as np
import pytest
from closing_reference import GRAVITY, Reference, rotated
from outside import Outside, ran

SPLAYS = [1.0, 1.0, 2.0, 3.0, 5.0, 7.0]


def centre_x_m(hang: ha.Hang, tilt_deg: float, angle_deg: np.ndarray) -> float:
    """x of the centre of gravity of everything, from cabinet 0's upper hinge."""
    reference = Reference(hang, tilt_deg)
    masses = [(mass, point) for mass, point, _ in reference.points(np.radians(angle_deg[1:-1]))[0]]
    frame = hang.frame
    masses.append((frame.mass_kg, rotated(np.radians(tilt_deg), frame.cg_m)))
    return sum(m * p[0] for m, p in masses) / sum(m for m, _ in masses)


def pick_point_x_m(hang: ha.Hang, tilt_deg: float, pick_x_m: float) -> float:
    return float(rotated(np.radians(tilt_deg), (pick_x_m, hang.frame.pick_z_m))[0])


def assert_at_rest(hang: ha.Hang, closing: ha.closing.Closing) -> None:
    weight = GRAVITY * ha.pose(hang, 0.0).mass_kg
    path = closing.path
    for tilt, angles, force in zip(
        path["tilt_deg"], path["angle_deg"], path["force_n"], strict=True
    ):
        reference = Reference(hang, tilt)
        theta = np.radians(angles[1:-1])
        _, slope = reference.value(theta, force)
        free = (theta > reference.lower + 1e-12) & (theta < reference.upper - 1e-12)
        assert np.abs(slope[free]).max(initial=0.0) < 1e-9 * weight
        assert slope[theta >= reference.upper - 1e-12].max(initial=0.0) < 1e-9 * weight


@pytest.mark.parametrize("pick", [-0.6, -0.4, -0.2])
def test_on_one_pick_the_hang_is_plumb_at_every_row(pick: float, outside: Outside) -> None:
    hang = builders.hang(SPLAYS, "compression")
    closing = ha.close(hang, None, frame="one pick", pick_x_m=pick)
    assert closing.ended == "closed"
    assert_at_rest(hang, closing)
    path = closing.path
    rows = list(zip(path["tilt_deg"], path["angle_deg"], strict=True))
    outside.check(
        "closing a hang", "on one pick: centre of gravity plumb under it at every step",
        ran("numpy", "every mass placed and summed a second time, with NumPy"),
        theirs=[centre_x_m(hang, tilt, angles) for tilt, angles in rows],
        ours=[pick_point_x_m(hang, tilt, pick) for tilt, _ in rows], unit="m", within=1e-9,
        why="the rest is solved for to that",
    )  # fmt: skip
    assert np.ptp(path["tilt_deg"]) > 0.1
    final = ha.hanging_tilt(hang, pick).tilt_deg
    assert path["tilt_deg"][-1] == pytest.approx(final, abs=1e-9)
    held = ha.close(hang, final)
    assert closing.closing_force_n == pytest.approx(held.closing_force_n, rel=1e-9)
    assert closing.chain_closed_m == pytest.approx(held.chain_closed_m, rel=1e-12)


def test_on_one_pick_the_chain_goes_round_the_frames_rear_corner() -> None:
    """At rest by the reference in every row, and closed as where the frame is held at that tilt."""
    frame = builders.frame(rear_outline_m=[(-0.95, -0.05)])
    hang = builders.hang(SPLAYS, "compression", frame=frame)
    closing = ha.close(hang, None, frame="one pick", pick_x_m=-0.4)
    assert closing.ended == "closed"
    assert_at_rest(hang, closing)
    tilt = closing.path["tilt_deg"][-1]
    held = ha.close(hang, tilt)
    assert closing.chain_closed_m == pytest.approx(held.chain_closed_m, rel=1e-12)
    plain = ha.close(builders.hang(SPLAYS, "compression"), tilt)
    assert held.chain_closed_m > plain.chain_closed_m + 0.01


def test_two_hoists_that_both_carry_hold_the_frame() -> None:
    hang = builders.hang(SPLAYS, "compression")
    picks = (0.2, -0.8)
    held = ha.close(hang, -2.0, pick_x_m=picks)
    hung = ha.close(hang, -2.0, frame="two hoists", pick_x_m=picks)
    assert hung.slack_hoist == "none"
    np.testing.assert_array_equal(hung.path["force_n"], held.path["force_n"])


def test_a_slack_hoist_lets_the_frame_turn_on_the_other_pick() -> None:
    hang = builders.hang(SPLAYS, "compression")
    free, closed = (
        centre_x_m(hang, 0.0, angles) for angles in ha.close(hang, 0.0).path["angle_deg"][[0, -1]]
    )
    assert closed < free
    # The rear pick stands between the two centres, so the front hoist carries free and not closed.
    rear = (free + closed) / 2
    hung = ha.close(hang, 0.0, frame="two hoists", pick_x_m=(0.2, rear))
    held = ha.close(hang, 0.0, pick_x_m=(0.2, rear))
    assert hung.ended == "closed"
    assert held.path["hoist_load_n"].min() < 0.0
    assert hung.slack_hoist == "front"
    assert hung.path["hoist_load_n"].min() > -1e-9 * GRAVITY * ha.pose(hang, 0.0).mass_kg
    assert_at_rest(hang, hung)
    assert hung.path["tilt_deg"][0] == pytest.approx(0.0, abs=1e-12)
    assert hung.path["tilt_deg"][-1] > 0.01
    for tilt, angles in zip(hung.path["tilt_deg"], hung.path["angle_deg"], strict=True):
        if tilt > 1e-9:
            assert centre_x_m(hang, tilt, angles) == pytest.approx(
                pick_point_x_m(hang, tilt, rear), abs=1e-9
            )


def test_a_slack_rear_hoist_lets_the_frame_turn_on_the_front_pick() -> None:
    """The front pick between the centre of the closed and of the open hang: open, it is behind."""
    hang = builders.hang(SPLAYS, "compression")
    free, closed = (
        centre_x_m(hang, 0.0, angles) for angles in ha.close(hang, 0.0).path["angle_deg"][[0, -1]]
    )
    front = (free + closed) / 2
    hung = ha.close(hang, 0.0, frame="two hoists", pick_x_m=(front, -0.8))
    held = ha.close(hang, 0.0, pick_x_m=(front, -0.8))
    assert held.path["hoist_load_n"][:, 1].min() < 0.0
    assert (hung.ended, hung.slack_hoist) == ("closed", "rear")
    assert hung.path["hoist_load_n"].min() > -1e-9 * GRAVITY * ha.pose(hang, 0.0).mass_kg
    assert hung.path["tilt_deg"].min() < -0.01
    assert_at_rest(hang, hung)
    for tilt, angles in zip(hung.path["tilt_deg"], hung.path["angle_deg"], strict=True):
        if tilt < -1e-9:
            assert centre_x_m(hang, tilt, angles) == pytest.approx(
                pick_point_x_m(hang, tilt, front), abs=1e-9
            )


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ({"tilt_deg": None}, "tilt_deg"),
        ({"tilt_deg": 0.0, "frame": "one pick", "pick_x_m": -0.3}, "tilt_deg"),
        ({"tilt_deg": None, "frame": "one pick"}, "pick_x_m"),
        ({"tilt_deg": 0.0, "frame": "two hoists", "pick_x_m": -0.3}, "pick_x_m"),
        ({"tilt_deg": 0.0, "frame": "glued"}, "frame"),
    ],
)
def test_a_frame_that_does_not_fit_its_picks_is_refused_by_name(
    arguments: dict[str, object], field: str
) -> None:
    with pytest.raises(ha.InputError) as caught:
        ha.close(builders.hang(SPLAYS, "compression"), **arguments)
    assert caught.value.field == field
