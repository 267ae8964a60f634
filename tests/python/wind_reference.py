"""The hang in the wind written down a second time: bodies, energy, moments and a general minimiser.

Shares nothing with the library: every body's points are placed one by one, each joint's moment is
summed about its hinge.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import hangarc as ha
import numpy as np
from scipy.optimize import minimize

G = 9.80665


def rotated(angle: float, point: Any) -> np.ndarray:
    c, s = np.cos(angle), np.sin(angle)
    x, z = point
    return np.array([c * x - s * z, s * x + c * z])


@dataclass
class Reference:
    """U(tilt, θ) of a compression hang with dead wind loads; no pick is a frame that is held."""

    hang: ha.Hang
    tilt_deg: float
    pick_x_m: float | None
    wind_n: np.ndarray

    def __post_init__(self) -> None:
        splays = np.radians(np.array(self.hang.splays_deg, dtype=float))
        self.bounds = [(min(np.radians(self.hang.open_limit_deg), s), s) for s in splays]
        self.weight_n = G * ha.pose(self.hang, 0.0).mass_kg
        self.length_m = sum(cabinet.height_m for cabinet in self.hang.cabinets)

    def loads(self, q: np.ndarray) -> tuple[np.ndarray, list[list[tuple[Any, Any]]]]:
        """Hinges, and per body (frame and cabinet 0 first) its places with their forces."""
        hang, tilt = self.hang, q[0]
        axes = tilt - np.radians(hang.frame_splay_deg) - np.concatenate([[0.0], np.cumsum(q[1:])])
        pick = rotated(tilt, (self.pick_x_m or 0.0, hang.frame.pick_z_m))
        hinge = -pick if self.pick_x_m is not None else np.zeros(2)
        hinges, bodies = [hinge], []
        frame_cg = hinge + rotated(tilt, hang.frame.cg_m)
        for i, cabinet in enumerate(hang.cabinets):
            half = cabinet.height_m / 2
            front = hinge - rotated(axes[i], (cabinet.hinge_x_m, half))
            places = [(front + rotated(axes[i], cabinet.cg_m), (0.0, -G * cabinet.mass_kg))]
            middle = rotated(axes[i], (-cabinet.depth_m / 2, 0.0))
            places.append((front + middle, (self.wind_n[i], 0.0)))
            if i == 0:
                places.append((frame_cg, (0.0, -G * hang.frame.mass_kg)))
            hinge = front + rotated(axes[i], (cabinet.hinge_x_m, -half))
            hinges.append(hinge)
            bodies.append(places)
        if hang.bottom is not None:
            at = hinge + rotated(axes[-1], hang.bottom.cg_m)
            bodies[-1].append((at, (0.0, -G * hang.bottom.mass_kg)))
        return np.array(hinges), bodies

    def energy_j(self, q: np.ndarray) -> float:
        _, bodies = self.loads(q)
        return -sum(float(np.dot(force, at)) for places in bodies for at, force in places)

    def slopes_nm(self, q: np.ndarray) -> np.ndarray:
        """∂U/∂tilt about the pick, then ∂U/∂θ of every joint between cabinets."""
        hinges, bodies = self.loads(q)

        def turning(first: int, about: np.ndarray) -> float:
            arms = [(at - about, f) for places in bodies[first:] for at, f in places]
            return sum(float(arm[0] * f[1] - arm[1] * f[0]) for arm, f in arms)

        tilting = 0.0 if self.pick_x_m is None else -turning(0, np.zeros(2))
        joints = [turning(j + 1, hinges[j + 1]) for j in range(len(bodies) - 1)]
        return np.array([tilting, *joints])

    def unrest(self, q: np.ndarray) -> float:
        """The greatest moment not in balance, or off a bound, over weight times length."""
        worst = abs(self.slopes_nm(q)[0])
        for (low, high), angle, slope in zip(
            self.bounds, q[1:], self.slopes_nm(q)[1:], strict=True
        ):
            if angle >= high - 1e-12:
                worst = max(worst, slope if high - low > 1e-12 else 0.0)
            elif angle <= low + 1e-12:
                worst = max(worst, -slope)
            else:
                worst = max(worst, abs(slope))
        return float(worst / (self.weight_n * self.length_m))

    def least_energy(self) -> np.ndarray:
        """By L-BFGS-B from the open limits, its answer within the bounds."""
        tilt = np.radians(self.tilt_deg)
        bounds = [(tilt, tilt) if self.pick_x_m is None else (-3.0, 3.0), *self.bounds]
        scale = self.weight_n * self.length_m
        found = minimize(
            lambda q: self.energy_j(q) / scale,
            np.array([tilt, *(low for low, _ in self.bounds)]),
            jac=lambda q: self.slopes_nm(q) / scale,
            bounds=bounds,
            method="L-BFGS-B",
            options={"ftol": 0.0, "gtol": 1e-12, "maxiter": 10_000, "maxfun": 50_000},
        )
        return np.asarray(found.x)
