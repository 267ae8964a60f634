"""The call contract's statics on the demo hang and 200 random ones: sameness, not truth.

`statics_answers.npz` beside this file holds the answers of the commit that it was made at; run this
file to write it anew, which is right only where an answer was wrong. A hang's answers are one row
of numbers, in the order in which `answers` yields them.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import hangarc as ha
import numpy as np
from numpy.typing import NDArray

STORE = Path(__file__).with_suffix(".npz")
HANGS = 200
POSITIONS_DEG = [0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0]

Numbers = NDArray[np.float64]


def random_hang(seed: int) -> ha.Hang:
    """A hang of 2 to 24 cabinets, tension and compression in turn (demo data)."""
    draw = random.Random(seed).random  # the one method whose stream Python promises to keep

    def between(low: float, high: float) -> float:
        return low + (high - low) * draw()

    count = 2 + int(23 * draw())
    height, depth = between(0.25, 0.45), between(0.45, 0.75)
    taper = between(0.8, 1.0)
    rear_pin = -depth * between(0.8, 0.95)
    cabinet: dict[str, Any] = {
        "name": "demo data",
        "height_m": height,
        "depth_m": depth,
        "width_m": between(0.8, 1.3),
        "rear_height_m": height * taper,
        "cg_m": (-depth * between(0.35, 0.5), between(-0.01, 0.01)),
        "rear_pin_x_m": rear_pin,
        "rear_pin_inset_m": 0.15 * height,
        "splay_positions_deg": POSITIONS_DEG,
    }
    limit_deg = between(1.0, 10.0)
    pins = [position for position in POSITIONS_DEG if position <= limit_deg]
    parts: dict[str, Any] = {}
    rigging = "compression" if seed % 2 else "tension"
    if rigging == "compression":
        parts = {
            "bottom": ha.BottomFrame(
                mass_kg=between(0.0, 30.0),
                cg_m=(-0.3, -0.08),
                chain_anchor_m=(rear_pin - between(0.05, 0.25), -0.05),
            ),
            "gear": ha.ClosingGear(
                pitch_m=0.03, links=400, hoist_min_m=0.35, hoist_max_m=2.4, clutch_n=(9e3, 12e3)
            ),
        }
    return ha.Hang(
        frame=ha.FlyFrame(
            mass_kg=between(30.0, 90.0),
            height_m=0.25,
            cg_m=(rear_pin * between(0.5, 0.8), 0.1),
            pick_x_m=[0.1, 0.0, -0.1, -0.2, -0.3, -0.4, -0.5, -0.6],
            pick_z_m=between(0.15, 0.3),
            chain_anchor_m=(rear_pin - between(0.1, 0.3), 0.05),
        ),
        cabinets=[ha.Cabinet(mass_kg=between(20.0, 80.0), **cabinet) for _ in range(count)],
        splays_deg=[pins[int(len(pins) * draw())] for _ in range(count - 1)],
        rigging=rigging,
        open_limit_deg=-between(1.0, 3.0),
        **parts,
    )


def hangs() -> Iterator[tuple[str, ha.Hang, float]]:
    """Every hang with its name and tilt."""
    yield "demo", ha.demo.study().hang, 1.5
    for seed in range(HANGS):
        yield f"hang {seed}", random_hang(seed), 16.0 * random.Random(1000 + seed).random() - 10.0


def answers(hang: ha.Hang, tilt_deg: float) -> Iterator[tuple[str, Numbers]]:
    """Every answer of the contract, flat, with the call that gives it."""

    def flat(*values: Any) -> Numbers:
        # None, where a result has no number, is a number that no result has.
        known = [-12345.0 if value is None else value for value in values]
        return np.concatenate([np.ravel(np.asarray(value, dtype=np.float64)) for value in known])

    placed = ha.pose(hang, tilt_deg, 12.0)
    yield "pose", flat(placed.axis_deg, placed.hinge_m, placed.corners_m[-1], placed.cg_m)
    yield "pose totals", flat(placed.mass_kg, placed.trim_m)
    for picks in ([-0.2], [0.1, -0.6]):
        loads = ha.hoist_loads(hang, tilt_deg, picks)
        yield f"hoist_loads {picks}", flat(loads.load_n, loads.slack)
    yield "hanging_tilt", flat([ha.hanging_tilt(hang, x).tilt_deg for x in (0.0, -0.3)])
    pick = ha.pick_for_tilt(hang, tilt_deg)
    yield "pick_for_tilt", flat(pick.pick_x_m, pick.hole, pick.tilt_at_hole_deg)
    joints = ha.joint_loads(hang, tilt_deg)
    yield "joint_loads weights", flat(joints.weight_n, joints.moment_nm)
    yield "joint_loads forces", flat(joints.rear_link_n, joints.hinge_force_n)
    for wind_from in ("front", "rear"):
        for picks, speed in (([-0.2], 12.0), ([0.1, -0.6], 25.0)):
            loads_in_wind = ha.wind_loads(
                hang,
                tilt_deg,
                picks,
                ha.Wind(speed_m_s=speed),
                top_m=12.0,
                wind_from=wind_from,
                coefficient=1.3,
            )
            call = f"wind_loads {wind_from} {picks}"
            yield f"{call} rest", flat(loads_in_wind.tilt_deg, loads_in_wind.splay_deg)
            yield f"{call} forces", flat(loads_in_wind.hoist_n, loads_in_wind.total_force_n)
            yield f"{call} moments", flat(loads_in_wind.joint_moment_nm)
    if hang.rigging == "compression":
        closing = ha.close(hang, tilt_deg, steps=60)
        lengths = (closing.chain_free_m, closing.chain_straight_m, closing.chain_closed_m)
        yield "close lengths", flat(*lengths)
        yield "close force", flat(closing.closing_force_n, closing.governing_joint)
        yield "close order", flat(closing.order)
        yield "close stops", flat(closing.stop_force_n)
        path = closing.path
        rows = np.linspace(0, len(path["chain_m"]) - 1, 5).astype(int)
        yield "close path rows", flat(len(path["chain_m"]))
        for column in ("chain_m", "force_n", "angle_deg"):
            yield f"close path {column}", flat(path[column][rows])
        if hang.gear is not None:
            link = ha.shortening(hang, tilt_deg)
            yield "shortening links", flat(link.link, len(link.links_feasible), link.slack_links)
            yield "shortening hoist", flat(link.hoist_open_m, link.hoist_closed_m)


def row(hang: ha.Hang, tilt_deg: float) -> Numbers:
    """All answers of one hang."""
    return np.concatenate([numbers for _, numbers in answers(hang, tilt_deg)])


if __name__ == "__main__":
    np.savez_compressed(STORE, **{name: row(hang, tilt) for name, hang, tilt in hangs()})
