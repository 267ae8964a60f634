"""Closing against an independent simulated mechanism (MuJoCo)."""

from __future__ import annotations

from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest
from closing_simulation import Mechanism
from outside import Kind, Outside, Source


def progressive(count: int) -> list[float]:
    return [float(min(10, round(10 * (k / count) ** 2))) for k in range(count - 1)]


def heavy_bottom(count: int, heavy: int) -> list[ha.Cabinet]:
    light, tail = builders.cabinet(), builders.cabinet(mass_kg=98.0, height_m=0.42)
    return [light] * (count - heavy) + [tail] * heavy


HANGS: dict[str, tuple[list[float], float, dict[str, Any]]] = {
    "4 even, level": ([2.0] * 3, 0.0, {}),
    "6 heavy bottom, up 6": ([1.0, 1.0, 2.0, 3.0, 5.0], 6.0, {"cabinets": heavy_bottom(6, 2)}),
    "8 progressive, up 6": ([0.0, 0.5, 1.0, 2.0, 3.0, 5.0, 8.0], 6.0, {}),
    "12 even, down 12": ([1.5] * 11, -12.0, {}),
    "16 progressive, level": (progressive(16), 0.0, {}),
    "16 heavy bottom, down 4": ([1.0] * 8 + [3.0] * 7, -4.0, {"cabinets": heavy_bottom(16, 4)}),
    "24 even, down 12": ([1.0] * 23, -12.0, {}),
    "24 progressive, up 6": (progressive(24), 6.0, {}),
}


@pytest.fixture(params=HANGS, ids=list(HANGS))
def case(request: pytest.FixtureRequest) -> tuple[ha.Hang, float]:
    splays, tilt, changes = HANGS[request.param]
    return builders.hang(splays, "compression", **changes), tilt


def test_closed_moments_and_closing_force_agree(
    case: tuple[ha.Hang, float], outside: Outside
) -> None:
    hang, tilt = case
    closing = ha.close(hang, tilt)
    assert closing.ended == "closed"
    mechanism = Mechanism(hang, tilt)
    forces = np.array([1.1, 1.3]) * closing.closing_force_n
    moments = []
    for force in forces:
        mechanism.settle(float(force), np.radians(hang.splays_deg))
        ours = ha.closing.rest_at_force(hang, tilt, float(force))
        moments.append(mechanism.stop_moment_nm)
        np.testing.assert_allclose(moments[-1], ours.contact_moment_nm[1:-1], rtol=1e-4)
    # Closed, the moments grow with the force in straight lines; the last zero is the closing force.
    slopes = (moments[1] - moments[0]) / (forces[1] - forces[0])
    zeros = forces[0] - moments[0] / slopes
    outside.check(
        "closing a hang",
        f"closing force of {len(hang.cabinets)} cabinets at a tilt of {tilt:g}°",
        Source("hinges, stops and a tendon as a simulated mechanism", Kind.LIBRARY, "MuJoCo 3"),
        theirs=zeros.max(),
        ours=closing.closing_force_n,
        unit="N",
        relative=1e-4,
        why="the simulated stops give a little",
    )
    assert closing.governing_joint == 1 + zeros.argmax()
    assert closing.chain_closed_m == pytest.approx(mechanism.chain_m, rel=1e-5)


def test_free_angles_agree(case: tuple[ha.Hang, float], outside: Outside) -> None:
    hang, tilt = case
    closing = ha.close(hang, tilt)
    mechanism = Mechanism(hang, tilt)
    mechanism.settle(0.0, np.zeros(len(hang.splays_deg)))
    outside.check(
        "closing a hang", "angles at which the open hang rests",
        Source("hinges, stops and a tendon as a simulated mechanism", Kind.LIBRARY, "MuJoCo 3"),
        theirs=np.degrees(mechanism.angle_rad), ours=closing.free_angle_deg[1:-1], unit="°",
        within=0.01, why="the simulated stops give a little",
    )  # fmt: skip


def test_angles_on_the_way_agree_while_the_chain_is_clear_of_the_cabinets() -> None:
    frame = builders.frame(chain_anchor_m=(-1.4, 0.05))
    tail = builders.bottom(chain_anchor_m=(-1.3, -0.05))
    partly = 0
    for splays, tilt in (([3.0, 5.0, 8.0], -4.0), ([2.0, 2.0, 4.0, 6.0, 8.0], 8.0)):
        hang = builders.hang(splays, "compression", frame=frame, bottom=tail)
        closing = ha.close(hang, tilt)
        mechanism = Mechanism(hang, tilt)
        for share in (0.3, 0.5, 0.7, 0.9):
            force = share * closing.closing_force_n
            ours = ha.closing.rest_at_force(hang, tilt, force)
            mechanism.settle(force, np.zeros(len(splays)))
            gap_deg = np.degrees(mechanism.angle_rad) - ours.angle_deg[1:-1]
            assert np.abs(gap_deg).max() < 0.01
            assert mechanism.chain_m == pytest.approx(ours.chain_m, rel=1e-6)
            closed = ours.angle_deg[1:-1] == np.array(splays)
            partly += 0 < closed.sum() < len(splays)
    assert partly >= 4
