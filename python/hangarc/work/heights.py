"""Heights of picks and hooks, and holes as the crew counts them."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from hangarc.model import Hang

Array = NDArray[np.float64]


@dataclasses.dataclass(frozen=True)
class Heights:
    """Heights of picks and hooks over the first pick, at a tilt."""

    hang: Hang
    pick_x_m: Sequence[float]
    steel_m: float

    def picks_m(self, tilt_deg: float, first_m: float) -> Array:
        """Heights of the picks when the first is at `first_m`."""
        over = (np.asarray(self.pick_x_m) - self.pick_x_m[0]) * np.sin(np.radians(tilt_deg))
        return np.asarray(first_m + over)

    def hole(self, pick_x_m: float) -> int:
        """Index of a hole of the frame."""
        return list(self.hang.frame.pick_x_m).index(pick_x_m)

    def hooks_m(self, picks_m: Array) -> Array:
        """Heights of the hooks above picks at these heights."""
        return picks_m + self.steel_m


def hole_numbers(hang: Hang, pick_x_m: Sequence[float]) -> tuple[int, ...]:
    """Which holes these are, counted from the front of the frame."""
    holes = np.asarray(hang.frame.pick_x_m)
    return tuple(1 + int((holes > x + 1e-9).sum()) for x in pick_x_m)
