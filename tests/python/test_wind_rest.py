"""An open compression hang in the wind comes to rest where its energy is least, and says so.

`make campaign` runs it on a thousand hangs.
"""

from __future__ import annotations

import os

import hangarc as ha
import numpy as np
from outside import Outside, ran
from wind_reference import Reference

CAMPAIGN = bool(os.environ.get("HANGARC_CAMPAIGN"))
HANGS, COMPARED = (1000, 200) if CAMPAIGN else (150, 12)
POSITIONS_DEG = [0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0]


def random_hang(rng: np.random.Generator) -> ha.Hang:
    """Of 6 to 24 cabinets with any pins (demo data)."""
    count = int(rng.integers(6, 25))
    height, depth = rng.uniform(0.25, 0.45), rng.uniform(0.45, 0.75)
    rear_pin = -depth * rng.uniform(0.8, 0.95)
    cabinets = [
        ha.Cabinet(
            name="demo data",
            mass_kg=rng.uniform(20.0, 80.0),
            height_m=height,
            depth_m=depth,
            width_m=1.1,
            cg_m=(-depth * rng.uniform(0.35, 0.5), rng.uniform(-0.01, 0.01)),
            rear_pin_x_m=rear_pin,
            rear_pin_inset_m=0.15 * height,
            splay_positions_deg=POSITIONS_DEG,
        )
        for _ in range(count)
    ]
    return ha.Hang(
        frame=ha.FlyFrame(
            mass_kg=rng.uniform(30.0, 90.0),
            height_m=0.25,
            cg_m=(rear_pin * rng.uniform(0.5, 0.8), 0.1),
            pick_x_m=[0.1, -0.6],
            pick_z_m=rng.uniform(0.15, 0.3),
            chain_anchor_m=(rear_pin - 0.2, 0.05),
        ),
        cabinets=cabinets,
        splays_deg=rng.choice(POSITIONS_DEG, size=count - 1).tolist(),
        rigging="compression",
        bottom=ha.BottomFrame(
            mass_kg=rng.uniform(0.0, 30.0), cg_m=(-0.3, -0.08), chain_anchor_m=(rear_pin, -0.05)
        ),
        open_limit_deg=-rng.uniform(0.5, 3.0),
    )


def test_random_open_hangs_come_to_rest_at_least_energy(outside: Outside) -> None:
    rng = np.random.default_rng(20)
    unrest, above = [], []
    free_joints = 0
    for case in range(HANGS):
        hang = random_hang(rng)
        tilt_deg = rng.uniform(-8.0, 6.0)
        picks = [[0.1, -0.6], [-0.3], [0.0]][int(rng.integers(3))]
        wind_from = ("front", "rear")[int(rng.integers(2))]
        loads = ha.wind_loads(
            hang,
            tilt_deg,
            picks,
            ha.Wind(speed_m_s=rng.uniform(0.0, 40.0)),
            top_m=25.0,
            wind_from=wind_from,
            coefficient=1.3,
        )
        assert loads.ended == "at rest", case
        assert loads.residual < 1e-9, case
        pulling = [x for x, slack in zip(picks, loads.slack, strict=True) if not slack]
        wind_n = loads.force_n * (1.0 if wind_from == "rear" else -1.0)
        pick = pulling[0] if len(pulling) == 1 else None
        reference = Reference(hang, tilt_deg, pick, wind_n)
        q = np.radians([loads.tilt_deg, *loads.splay_deg])
        unrest.append(reference.unrest(q))
        free_joints += sum(
            low + 1e-9 < a < high - 1e-9
            for a, (low, high) in zip(q[1:], reference.bounds, strict=True)
        )
        slopes = reference.slopes_nm(q)[1:]
        scale = reference.weight_n * reference.length_m
        np.testing.assert_allclose(loads.joint_moment_nm, slopes, atol=1e-11 * scale)
        if case < COMPARED:
            other = reference.energy_j(reference.least_energy())
            above.append((reference.energy_j(q) - other) / scale)
    # The angles cross the face in degrees, which costs the last digit of each: a share of 1e-15.
    assert max(unrest) < 1e-9, max(unrest)
    assert free_joints > HANGS / 10, free_joints
    # scipy stops above the least, and only where ours is above does ours miss anything.
    outside.check(
        "wind", "random open hangs in the wind: energy above the least that was found",
        ran("scipy", "bounded least energy by SciPy"), theirs=0.0, ours=np.maximum(above, 0.0),
        unit="of weight times length", within=1e-14,
        why="an energy is known to a rounding of its greatest term",
    )  # fmt: skip
