"""Poses and loads: what crosses between the face and the core."""

from __future__ import annotations

from typing import TypedDict

import numpy as np
from numpy.typing import NDArray

from hangarc._ending import RestEnd
from hangarc._fields.numbers import Numbers, Points
from hangarc._words import FactorUse, Part, State
from hangarc.statics.built import PlanEnd, Verdict
from hangarc.statics.pulled import PullBackEnd


class SidesCase(TypedDict):
    lean_deg: float
    cg_y_m: Numbers
    force_n: Points
    hinge_spacing_m: float
    link_spacing_m: float
    chain_spacing_m: float
    chain_force_n: float | None
    left_share: float
    link_over_hinge: float


class HoistLoadsFields(TypedDict):
    load_n: NDArray[np.float64]
    slack: NDArray[np.bool_]
    unbalanced_moment_nm: float
    tilt_range_deg: tuple[float, float]


class PickForTiltFields(TypedDict):
    pick_x_m: float
    hole: int
    tilt_at_hole_deg: float
    tilt_range_deg: tuple[float, float]


class JointLoadsFields(TypedDict):
    weight_n: NDArray[np.float64]
    moment_nm: NDArray[np.float64]
    rear_link_n: NDArray[np.float64]
    hinge_force_n: NDArray[np.float64]


class LimitFields(TypedDict):
    part: Part
    number: int | None
    unit: str
    demand: float
    limit: float | None
    utilisation: float | None
    state: State
    factor_use: FactorUse
    dynamic_factor: float


class SidesFields(TypedDict):
    chain_force_n: NDArray[np.float64]
    stop_n: NDArray[np.float64]
    hinge_n: NDArray[np.float64]
    shear_n: NDArray[np.float64]
    roll_nm: NDArray[np.float64]
    pan_nm: NDArray[np.float64]
    lifted: NDArray[np.bool_]
    limits: list[LimitFields]


class PullBackFields(TypedDict):
    ended: PullBackEnd
    force_n: float
    attach_m: NDArray[np.float64]
    line_m: float
    free_tilt_deg: float | None
    hoist_load_n: NDArray[np.float64]
    hoist_lean_deg: float
    rear_link_n: NDArray[np.float64]
    rear_link_change_n: NDArray[np.float64]
    hinge_force_n: NDArray[np.float64]
    limits: list[LimitFields]


class ComparisonFields(TypedDict):
    ended: PlanEnd
    chi_square: float
    freedom: int
    chi_square_limit: float
    p_value: float
    tilt_deg: float
    residual: NDArray[np.float64]
    verdict: list[Verdict]
    other_hangs: list[tuple[list[tuple[int, float]], float]]
    deviation_deg: NDArray[np.float64]
    determined: NDArray[np.bool_]
    covariance_deg2: NDArray[np.float64]


class BuildStageFields(TypedDict):
    cabinets: int
    ended: RestEnd
    closed: bool
    mass_kg: float
    tilt_deg: float
    hoist_load_n: NDArray[np.float64]
    angle_deg: NDArray[np.float64]
    lowest_m: float
    lift_m: float | None


class BuildUpFields(TypedDict):
    stages: list[BuildStageFields]
    worst_load_n: float
    worst_stage: int


class PoseFields(TypedDict):
    axis_deg: NDArray[np.float64]
    hinge_m: NDArray[np.float64]
    front_m: NDArray[np.float64]
    corners_m: NDArray[np.float64]
    pick_m: NDArray[np.float64]
    chain_m: NDArray[np.float64] | None
    cg_m: NDArray[np.float64]
    mass_kg: float
    trim_m: float
