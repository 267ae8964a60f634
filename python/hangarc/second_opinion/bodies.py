"""Where is every body of a hang? Points of the vertical plane are complex numbers x + jz.

A body at elevation φ whose upper front hinge is at h holds its point p at h + p e^{jφ}.
"""

from __future__ import annotations

import cmath
import dataclasses
import itertools
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


def chain_points(placed: Placed) -> list[tuple[int, complex]]:
    """The taut chain from anchor to anchor round the rear edges: bodies and places, top to bottom.

    The rear side of the convex hull of anchors and edges, by turning corners (Andrew, Information
    Processing Letters 9(5), 1979).
    """
    top, end = placed.anchors
    along = (end - top) / abs(end - top)
    points = [(0, top)]
    for index, body in enumerate(placed.bodies):
        for edge in body.edges:
            # Behind the straight chain, between its ends: to the right of the way down.
            seen = (edge - top) * along.conjugate()
            if seen.imag < 0.0 < seen.real < abs(end - top):
                points.append((index, edge))
    points.append((len(placed.bodies) - 1, end))
    points.sort(key=lambda point: ((point[1] - top) * along.conjugate()).real)
    taut: list[tuple[int, complex]] = []
    for point in points:
        while len(taut) >= 2:
            (_, a), (_, b) = taut[-2:]
            bend = ((b - a).conjugate() * (point[1] - b)).imag
            if bend > 0.0:
                break
            taut.pop()
        taut.append(point)
    return taut


def place(hang: Hang, angles_deg: Sequence[float], tilt_deg: float, top_m: float = 0.0) -> Placed:
    """Place `hang` with `angles_deg` at its joints, top to bottom, a bottom frame's the last."""
    placed = _bare(hang, angles_deg, tilt_deg, top_m)
    for index, place, mass_kg in _hung(hang):
        body = placed.bodies[index]
        moment = body.mass_kg * body.cg + mass_kg * (body.hinge + place * body.turn)
        body.mass_kg += mass_kg
        body.cg = moment / body.mass_kg
    return placed


def _hung(hang: Hang) -> list[tuple[int, complex, float]]:
    """Masses besides those of frames and cabinets: body, place from its hinge in its axes, mass."""
    found: list[tuple[int, complex, float]] = []
    last = len(hang.cabinets)

    def from_hinge(index: int, x: float, z: float) -> complex:
        cabinet = hang.cabinets[index]
        return complex(x - cabinet.hinge_x_m, z - cabinet.height_m / 2.0)

    for piece in hang.pieces:
        if piece.on == "cabinet":
            assert piece.cabinet is not None
            place = from_hinge(piece.cabinet, *piece.at_m)
            found.append((piece.cabinet + 1, place, piece.mass_kg))
        else:
            body = 0 if piece.on == "frame" else last + 1
            found.append((body, complex(*piece.at_m), piece.mass_kg))
    for run in hang.runs:
        end = last if run.last is None else run.last + 1
        for index in range(run.first, end):
            mass_kg = run.mass_kg_m * hang.cabinets[index].height_m
            found.append((index + 1, from_hinge(index, run.x_m, 0.0), mass_kg))
    gear = hang.gear
    if gear is None or not gear.chain_mass_kg_m + gear.hoist_mass_kg + gear.bypass_mass_kg:
        return found
    bare = _bare(hang, joint_angles_deg(hang, hang.splays_deg), 0.0, 0.0)
    if hang.rigging != "compression" or len(bare.anchors) < 2:
        return found
    taut = chain_points(bare)
    line_m = sum(abs(b - a) for (_, a), (_, b) in itertools.pairwise(taut))
    whole_m = gear.pitch_m * gear.links
    per_m = (gear.chain_mass_kg_m * min(whole_m, line_m) + gear.bypass_mass_kg) / line_m
    shares = []
    for (one, a), (other, b) in itertools.pairwise(taut):
        shares += [(one, a, per_m * abs(b - a) / 2.0), (other, b, per_m * abs(b - a) / 2.0)]
    over_kg = gear.chain_mass_kg_m * max(0.0, whole_m - line_m) + gear.hoist_mass_kg
    shares.append((*(taut[0] if gear.hoist_end == "upper" else taut[-1]), over_kg))
    for body, at, mass_kg in shares:
        carrier = bare.bodies[body]
        found.append((body, (at - carrier.hinge) / carrier.turn, mass_kg))
    return found


def _bare(hang: Hang, angles_deg: Sequence[float], tilt_deg: float, top_m: float) -> Placed:
    """Place frames and cabinets alone."""

    def turned(angle_deg: float) -> complex:
        return cmath.exp(1j * math.radians(angle_deg))

    frame, first, last = hang.frame, hang.cabinets[0], hang.cabinets[-1]
    hinge, turn = complex(0.0, top_m), turned(tilt_deg)
    pin = frame.rear_pin_m or (first.rear_pin_x_m - first.hinge_x_m, first.rear_pin_inset_m)
    pin_at = hinge + complex(*pin) * turn
    at = hinge + complex(*frame.cg_m) * turn
    upper_z = frame.chain_anchor_m[1] if frame.chain_anchor_m is not None else 0.0
    outline = [hinge + complex(*c) * turn for c in frame.rear_outline_m if c[1] < upper_z]
    bodies = [Body(frame.mass_kg, hinge, turn, at, hinge, pin_at, pin_at, tuple(outline))]
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
        lower_z = tail.chain_anchor_m[1] if tail.chain_anchor_m is not None else 0.0
        outline = [hinge + complex(*c) * turn for c in tail.rear_outline_m if c[1] > lower_z]
        bodies.append(Body(tail.mass_kg, hinge, turn, at, hinge, pin_at, pin_at, tuple(outline)))
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
