"""Where is every body of a hang? Points of the vertical plane are complex numbers x + jz.

A body at elevation φ whose upper front hinge is at h holds its point p at h + p e^{jφ}.
"""

from __future__ import annotations

import cmath
import dataclasses
import math
from collections.abc import Sequence

import numpy as np

from hangarc.model import Hang


@dataclasses.dataclass
class Body:
    """One rigid body in the room.

    Attributes
    ----------
    mass_kg : float
        Its mass.
    hinge : complex
        Its upper front hinge; the fly frame's is its lower one.
    turn : complex
        e^{jφ}.
    cg, lower_hinge : complex
        In the room.
    upper_pin, lower_pin : complex
        Rear link pins in the room.
    edges : tuple of complex
        Rear edges that a chain may touch, upper and lower.
    """

    mass_kg: float
    hinge: complex
    turn: complex
    cg: complex
    lower_hinge: complex
    upper_pin: complex
    lower_pin: complex
    edges: tuple[complex, ...] = ()


@dataclasses.dataclass
class Placed:
    """A hang in the room: fly frame, cabinets, bottom frame where there is one."""

    bodies: list[Body]
    fronts: list[complex]
    corners: list[complex]
    anchors: list[complex]
    gravity_m_s2: float

    @property
    def mass_kg(self) -> float:
        """Everything hung."""
        return math.fsum(body.mass_kg for body in self.bodies)

    @property
    def weight_n(self) -> float:
        """Of everything hung."""
        return self.mass_kg * self.gravity_m_s2

    @property
    def cg(self) -> complex:
        """Centre of gravity of everything hung."""
        x = math.fsum(body.mass_kg * body.cg.real for body in self.bodies)
        z = math.fsum(body.mass_kg * body.cg.imag for body in self.bodies)
        return complex(x, z) / self.mass_kg


def place(hang: Hang, angles_deg: Sequence[float], tilt_deg: float, top_m: float = 0.0) -> Placed:
    """Place `hang` with `angles_deg` at its joints, top to bottom, a bottom frame's the last."""

    def turned(angle_deg: float) -> complex:
        return cmath.exp(1j * math.radians(angle_deg))

    frame, first, last = hang.frame, hang.cabinets[0], hang.cabinets[-1]
    hinge, turn = complex(0.0, top_m), turned(tilt_deg)
    pin = frame.rear_pin_m or (first.rear_pin_x_m - first.hinge_x_m, first.rear_pin_inset_m)
    pin_at = hinge + complex(*pin) * turn
    at = hinge + complex(*frame.cg_m) * turn
    bodies = [Body(frame.mass_kg, hinge, turn, at, hinge, pin_at, pin_at)]
    anchors = []
    if frame.chain_anchor_m is not None:
        anchors.append(hinge + complex(*frame.chain_anchor_m) * turn)
    fronts, corners = [], []
    axis_deg = tilt_deg
    for cabinet, angle_deg in zip(hang.cabinets, angles_deg, strict=False):
        axis_deg -= angle_deg
        turn = turned(axis_deg)
        half = cabinet.height_m / 2.0
        front = hinge - complex(cabinet.hinge_x_m, half) * turn

        def at_point(x: float, z: float, front: complex = front, turn: complex = turn) -> complex:
            return front + complex(x, z) * turn

        rear = (cabinet.rear_height_m or cabinet.height_m) / 2.0
        pin_z = half - cabinet.rear_pin_inset_m
        edges = (at_point(-cabinet.depth_m, rear), at_point(-cabinet.depth_m, -rear))
        lower = at_point(cabinet.hinge_x_m, -half)
        bodies.append(
            Body(
                cabinet.mass_kg,
                hinge,
                turn,
                at_point(*cabinet.cg_m),
                lower,
                at_point(cabinet.rear_pin_x_m, pin_z),
                at_point(cabinet.rear_pin_x_m, -pin_z),
                edges,
            )
        )
        fronts.append(front)
        corners += [at_point(0.0, half), at_point(0.0, -half), *edges]
        hinge = lower
    tail = hang.bottom
    if tail is not None:
        turn = turned(axis_deg - angles_deg[len(hang.cabinets)])
        pin = tail.rear_pin_m or (last.rear_pin_x_m - last.hinge_x_m, -last.rear_pin_inset_m)
        pin_at = hinge + complex(*pin) * turn
        at = hinge + complex(*tail.cg_m) * turn
        bodies.append(Body(tail.mass_kg, hinge, turn, at, hinge, pin_at, pin_at))
        if tail.chain_anchor_m is not None:
            anchors.append(hinge + complex(*tail.chain_anchor_m) * turn)
    return Placed(bodies, fronts, corners, anchors, hang.gravity_m_s2)


def joint_angles_deg(hang: Hang, splays_deg: Sequence[float]) -> list[float]:
    """Angles at all joints: fly frame, splays, bottom frame."""
    angles = [hang.frame_splay_deg, *(float(splay) for splay in splays_deg)]
    return angles + ([] if hang.bottom is None else [hang.bottom.fixed_splay_deg])


def as_points(numbers: Sequence[complex]) -> np.ndarray:
    """Complex numbers as an (n, 2) array."""
    array = np.asarray(numbers, dtype=complex)
    return np.column_stack([array.real, array.imag])
