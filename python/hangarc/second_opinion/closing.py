"""How does a compression hang close? From the energy V = Σ m g z + T L and its differences."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from hangarc.model import Hang
from hangarc.second_opinion.bodies import Placed, place
from hangarc.second_opinion.forces import chain_length_m

# Step of one-sided differences, in degrees.
STEP_DEG = 1e-3
# Changes of angle below this, in radians, end the search for the free hang.
AT_REST_RAD = 1e-13
MOST_ROUNDS = 20_000


def energy_j(placed: Placed) -> float:
    """Gravity energy."""
    return placed.gravity_m_s2 * math.fsum(body.mass_kg * body.cg.imag for body in placed.bodies)


def closing_force_n(hang: Hang, closed_deg: Sequence[float], tilt_deg: float) -> float:
    """Least chain force under which opening any joint costs energy.

    Joint by joint the energy and chain length at the stop and one, two and three steps open give
    their slopes; T = max_j (dU/dθ_j)/(−dL/dθ_j).
    """

    def slope(values: list[float]) -> float:
        # One-sided, third order: the chain may lie in a corner on the other side.
        a, b, c, d = values
        return (11.0 * a - 18.0 * b + 9.0 * c - 2.0 * d) / (6.0 * STEP_DEG)

    force_n = 0.0
    for joint in range(1, len(hang.cabinets)):
        energies, lengths = [], []
        for steps in range(4):
            angles = list(closed_deg)
            angles[joint] -= steps * STEP_DEG
            placed = place(hang, angles, tilt_deg)
            energies.append(energy_j(placed))
            lengths.append(chain_length_m(placed))
        shortens = -slope(lengths)
        if shortens > 0.0:
            force_n = max(force_n, slope(energies) / shortens)
    return force_n


def free_angles_deg(hang: Hang, closed_deg: Sequence[float], tilt_deg: float) -> list[float]:
    """Rest without chain force, from the open limits: the energy made least joint by joint.

    As one joint turns, what hangs below it swings as one: its height is a sine of the angle, least
    where its centre of gravity is plumb under the hinge, or at the bound before that.
    """
    joints = range(1, len(hang.cabinets))
    open_rad = math.radians(hang.open_limit_deg)
    stop_rad = [math.radians(angle) for angle in closed_deg]
    angles = list(closed_deg)
    for joint in joints:
        angles[joint] = min(hang.open_limit_deg, closed_deg[joint])
    placed = place(hang, angles, tilt_deg)
    mass_kg = np.array([body.mass_kg for body in placed.bodies])
    cg = np.array([body.cg for body in placed.bodies])
    hinge = np.array([body.hinge for body in placed.bodies])
    rad = [math.radians(angle) for angle in angles]
    for _ in range(MOST_ROUNDS):
        most = 0.0
        for joint in reversed(joints):
            below = slice(joint + 1, None)
            arm = mass_kg[below] @ (cg[below] - hinge[joint + 1])
            # A larger splay turns what hangs below by −Δ: its height is |arm| sin(arg − Δ).
            wanted = math.remainder(np.angle(arm) + math.pi / 2.0, 2.0 * math.pi)
            low = min(open_rad, stop_rad[joint]) - rad[joint]
            change = min(max(wanted, low), stop_rad[joint] - rad[joint])
            if change != 0.0:
                turn = np.exp(-1j * change)
                about = hinge[joint + 1]
                cg[below] = about + (cg[below] - about) * turn
                hinge[below] = about + (hinge[below] - about) * turn
                rad[joint] += change
                most = max(most, abs(change))
        if most < AT_REST_RAD:
            break
    return [math.degrees(angle) for angle in rad]
