"""The closing problem written down a second time, for SciPy: energy, chain as a convex hull.

Shares nothing with the library: positions by summing rotated vectors, the taut chain as the rear
side of `scipy.spatial.ConvexHull`, gradients by moving every point with its body.
"""

from __future__ import annotations

import dataclasses
import itertools
from dataclasses import dataclass
from typing import Any

import builders
import hangarc as ha
import numpy as np
from scipy.optimize import minimize
from scipy.spatial import ConvexHull

GRAVITY = 9.80665


def rotated(angle: float, point: Any) -> np.ndarray:
    c, s = np.cos(angle), np.sin(angle)
    x, z = point
    return np.array([c * x - s * z, s * x + c * z])


@dataclass
class Reference:
    """V(θ) of joints 1 … n−1 with the frame held; joints 0 and n locked."""

    hang: ha.Hang
    tilt_deg: float
    # Mass, place from a cabinet's upper hinge in its axes, cabinet.
    hung: list[tuple[float, Any, int]] = dataclasses.field(default_factory=list)

    def __post_init__(self) -> None:
        hang = self.hang
        self.count = len(hang.cabinets)
        self.lower = np.full(self.count - 1, np.radians(hang.open_limit_deg))
        self.upper = np.radians(np.array(hang.splays_deg, dtype=float))

    def extra(self, hinges: list[np.ndarray], axes: np.ndarray) -> list[Any]:
        """Masses beside frames and cabinets that turn with a cabinet or the bottom frame."""
        return [
            (mass, hinges[cabinet] + rotated(axes[cabinet], place), cabinet)
            for mass, place, cabinet in self.hung
        ]

    def axes(self, theta: np.ndarray) -> np.ndarray:
        top = np.radians(self.tilt_deg - self.hang.frame_splay_deg)
        return top - np.concatenate([[0.0], np.cumsum(theta)])

    def points(self, theta: np.ndarray) -> tuple[list[Any], np.ndarray, np.ndarray]:
        """Masses as (kg, point, cabinet), chain points as rows with their cabinets, hinges."""
        axes = self.axes(theta)
        hang = self.hang
        tilt = np.radians(self.tilt_deg)
        masses, chain = [], [(*rotated(tilt, hang.frame.chain_anchor_m), -1)]
        chain += [(*rotated(tilt, corner), -1) for corner in hang.frame.rear_outline_m]
        hinge = np.zeros(2)
        hinges = [hinge]
        for i, cabinet in enumerate(hang.cabinets):
            half = cabinet.height_m / 2
            front = hinge - rotated(axes[i], (cabinet.hinge_x_m, half))
            masses.append((cabinet.mass_kg, front + rotated(axes[i], cabinet.cg_m), i))
            rear = (cabinet.rear_height_m or cabinet.height_m) / 2
            for z in (rear, -rear):
                chain.append((*(front + rotated(axes[i], (-cabinet.depth_m, z))), i))
            hinge = front + rotated(axes[i], (cabinet.hinge_x_m, -half))
            hinges.append(hinge)
        masses += self.extra(hinges, axes)
        tail, axis = hang.bottom, axes[-1] - np.radians(hang.bottom.fixed_splay_deg)
        masses.append((tail.mass_kg, hinge + rotated(axis, tail.cg_m), self.count - 1))
        for corner in tail.rear_outline_m:
            chain.append((*(hinge + rotated(axis, corner)), self.count - 1))
        chain.append((*(hinge + rotated(axis, tail.chain_anchor_m)), self.count - 1))
        return masses, np.array(chain), np.array(hinges)

    def moved(self, point: np.ndarray, cabinet: int, hinges: np.ndarray) -> np.ndarray:
        """∂point/∂θ_j for the joints above `cabinet`, shape (n−1, 2)."""
        change = np.zeros((self.count - 1, 2))
        for joint in range(1, cabinet + 1):
            dx, dz = point - hinges[joint]
            change[joint - 1] = (dz, -dx)
        return change

    def string(self, chain: np.ndarray) -> np.ndarray:
        """Rows of the taut chain, top to bottom."""
        start, end = chain[0, :2], chain[-1, :2]
        across = np.array([(end - start)[1], -(end - start)[0]])
        side = (chain[:, :2] - start) @ across
        behind = [i for i in range(1, len(chain) - 1) if side[i] > 1e-12]
        if not behind:
            return np.array([0, len(chain) - 1])
        keep = np.array([0, *behind, len(chain) - 1])
        hull = keep[ConvexHull(chain[keep, :2]).vertices]
        along = (chain[hull, :2] - start) @ (end - start)
        return hull[np.argsort(along)]

    def value(self, theta: np.ndarray, force_n: float) -> tuple[float, np.ndarray]:
        masses, chain, hinges = self.points(theta)
        energy, slope = 0.0, np.zeros(self.count - 1)
        for mass, point, cabinet in masses:
            energy += mass * GRAVITY * point[1]
            slope += mass * GRAVITY * self.moved(point, cabinet, hinges)[:, 1]
        way = self.string(chain)
        for a, b in itertools.pairwise(way):
            vector = chain[b, :2] - chain[a, :2]
            length = np.linalg.norm(vector)
            energy += force_n * length
            change = self.moved(chain[b, :2], int(chain[b, 2]), hinges) - self.moved(
                chain[a, :2], int(chain[a, 2]), hinges
            )
            slope += force_n * change @ vector / length
        return energy, slope

    def chain_m(self, theta: np.ndarray) -> float:
        _, chain, _ = self.points(theta)
        way = chain[self.string(chain), :2]
        return float(np.linalg.norm(np.diff(way, axis=0), axis=1).sum())

    def rest(self, force_n: float, start: np.ndarray | None = None) -> np.ndarray:
        """Angles of least energy by bounded minimisation, polished by Newton on the free ones."""
        scale = GRAVITY * sum(cabinet.mass_kg for cabinet in self.hang.cabinets)
        first = np.clip(np.zeros(self.count - 1), self.lower, self.upper)
        found = minimize(
            lambda theta: tuple(part / scale for part in self.value(theta, force_n)),
            first if start is None else start,
            jac=True,
            method="L-BFGS-B",
            bounds=list(zip(self.lower, self.upper, strict=True)),
            options={"ftol": 1e-16, "gtol": 1e-13, "maxiter": 20_000, "maxcor": 50},
        )
        return np.asarray(found.x)


def random_hang(rng: np.random.Generator, count: int | None = None) -> tuple[ha.Hang, float]:
    """A random compression hang with a tapered box, and a tilt (demo data)."""
    count = int(rng.integers(2, 25)) if count is None else count
    shapes = [
        builders.cabinet(
            mass_kg=float(rng.uniform(30, 110)),
            height_m=(height := float(rng.uniform(0.25, 0.45))),
            cg_m=(float(rng.uniform(-0.35, -0.2)), float(rng.uniform(-0.02, 0.02))),
            rear_height_m=height * float(rng.uniform(0.75, 0.95)),
        )
        for _ in range(2)
    ]
    change = int(rng.integers(1, count + 1))
    cabinets = [shapes[0]] * change + [shapes[1]] * (count - change)
    splays = np.sort(rng.choice(builders.POSITIONS_DEG[:9], count - 1))
    hang = builders.hang(
        [float(splay) for splay in splays],
        "compression",
        cabinets=cabinets,
        open_limit_deg=float(rng.uniform(-4, -1)),
    )
    return hang, float(rng.uniform(-12, 6))
