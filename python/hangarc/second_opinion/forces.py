"""What do hoists and joints carry? By virtual work, and by one matrix over all bodies."""

from __future__ import annotations

import cmath
import itertools
import math
from collections.abc import Sequence

import numpy as np

from hangarc.second_opinion.bodies import Placed, chain_points

# A turn this small, in radians, is a virtual one.
TURN = 1e-6


def hoist_loads_n(placed: Placed, picks: Sequence[complex]) -> list[float]:
    """Plumb pulls of one or two hoists, below 0 where one would have to push.

    Virtual work: turned by ±δ about the first pick, everything hung gains the energy W Δz, which
    the second hoist gives as R Δz₂.
    """
    weight_n = placed.weight_n
    if len(picks) == 1:
        return [weight_n]

    def rise(point: complex) -> float:
        way = point - picks[0]
        return (way * (cmath.exp(1j * TURN) - cmath.exp(-1j * TURN))).imag

    second_n = weight_n * rise(placed.cg) / rise(picks[1])
    return [weight_n - second_n, second_n]


def hanging_turn_deg(placed: Placed, pick: complex) -> float:
    """Turn about one pick that brings the centre of gravity lowest, by ternary search."""

    def height(turn_rad: float) -> float:
        return ((placed.cg - pick) * cmath.exp(1j * turn_rad)).imag

    coarse = min((height(math.radians(degree)), degree) for degree in range(-180, 180))[1]
    low, high = math.radians(coarse - 1.5), math.radians(coarse + 1.5)
    for _ in range(90):
        third = (high - low) / 3.0
        if height(low + third) < height(high - third):
            high -= third
        else:
            low += third
    return math.degrees((low + high) / 2.0)


def joint_forces(
    placed: Placed, pulls: Sequence[tuple[int, complex, complex]] = ()
) -> tuple[np.ndarray, np.ndarray]:
    """Rear link force, tension positive, and hinge force on the lower body, at every joint.

    Three equations of equilibrium a body below the fly frame, moments about its centre of gravity,
    in one matrix; the unknowns are two of each hinge and one of each pin-ended link.

    Parameters
    ----------
    placed : Placed
        The hang.
    pulls : sequence of (body, place, force)
        Forces besides the weights.
    """
    bodies = placed.bodies
    count = len(bodies) - 1
    matrix = np.zeros((3 * count, 3 * count))
    side = np.zeros(3 * count)

    def add(body: int, unknown: int, place: complex, force: complex) -> None:
        if body == 0:
            return
        row = 3 * (body - 1)
        arm = place - bodies[body].cg
        matrix[row, unknown] += force.real
        matrix[row + 1, unknown] += force.imag
        matrix[row + 2, unknown] += arm.real * force.imag - arm.imag * force.real

    for joint in range(count):
        above, below = bodies[joint], bodies[joint + 1]
        for part, force in ((0, 1.0 + 0j), (1, 1j)):
            add(joint + 1, 3 * joint + part, below.hinge, force)
            add(joint, 3 * joint + part, below.hinge, -force)
        way = above.lower_pin - below.upper_pin
        way /= abs(way)
        add(joint + 1, 3 * joint + 2, below.upper_pin, way)
        add(joint, 3 * joint + 2, above.lower_pin, -way)
    for index, body in enumerate(bodies[1:]):
        side[3 * index + 1] += body.mass_kg * placed.gravity_m_s2
    for index, at, force in pulls:
        if index > 0:
            arm = at - bodies[index].cg
            side[3 * (index - 1)] -= force.real
            side[3 * (index - 1) + 1] -= force.imag
            side[3 * (index - 1) + 2] -= arm.real * force.imag - arm.imag * force.real
    solved = np.linalg.solve(matrix, side).reshape(count, 3)
    return solved[:, 2], solved[:, :2]


def chain_length_m(placed: Placed) -> float:
    """Length of the taut chain."""
    return sum(abs(b - a) for (_, a), (_, b) in itertools.pairwise(chain_points(placed)))


def chain_pulls(placed: Placed, force_n: float) -> list[tuple[int, complex, complex]]:
    """Forces of the taut chain on the bodies it ends at or turns round."""
    taut = chain_points(placed)
    pulls = []
    for (index, a), (other, b) in itertools.pairwise(taut):
        force = force_n * (b - a) / abs(b - a)
        pulls += [(index, a, force), (other, b, -force)]
    return pulls
