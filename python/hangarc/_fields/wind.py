"""Wind: what crosses between the face and the core."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypedDict

import numpy as np
from numpy.typing import NDArray

from hangarc._ending import RestEnd
from hangarc._fields.numbers import Numbers, WindRow
from hangarc._fields.statics import LimitFields
from hangarc.wind.parts import PartsEnd


class WindCase(TypedDict):
    tilt_deg: float
    top_m: float
    pick_x_m: Numbers
    wind: WindRow
    wind_from: str
    coefficient: float | None
    structural_factor: float
    shadows: Sequence[tuple[tuple[float, float], float]]
    closed: bool


class PressureFields(TypedDict):
    mean_speed_m_s: float
    turbulence: float
    pressure_pa: float


class WindLoadsFields(TypedDict):
    ended: RestEnd
    residual: float
    pressure_pa: NDArray[np.float64]
    force_n: NDArray[np.float64]
    total_force_n: float
    line_deg: float
    tilt_deg: float
    lean_deg: float
    pan_moment_nm: float
    hoist_load_n: NDArray[np.float64]
    slack: NDArray[np.bool_]
    splay_deg: NDArray[np.float64]
    joint_moment_nm: NDArray[np.float64]
    hold_tilt_n: float
    hold_plumb_n: float


class PartsInWindFields(TypedDict):
    ended: PartsEnd
    residual: float
    total_force_n: float
    tilt_deg: float
    hoist_load_n: NDArray[np.float64]
    still_chain_force_n: float
    chain_force_n: float
    chain_m: float
    opening_deg: NDArray[np.float64]
    lifted: NDArray[np.bool_]
    contact_moment_nm: NDArray[np.float64]
    stop_force_n: NDArray[np.float64]
    hinge_force_n: NDArray[np.float64]
    limits: list[LimitFields]
