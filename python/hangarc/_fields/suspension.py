"""What hangs above: what crosses between the face and the core."""

from __future__ import annotations

from typing import TypedDict

import numpy as np
from numpy.typing import NDArray

from hangarc._fields.numbers import Numbers, Pair
from hangarc._fields.statics import LimitFields
from hangarc.suspension.bridles import LegEnd
from hangarc.suspension.lines import LinesEnd


class LinesCase(TypedDict):
    line_m: Numbers
    stiffness_n_m: Numbers
    longer_m: Numbers
    roof_forward_m: Numbers
    failed: int | None
    trimmed_loaded: bool
    hoist_limit_n: float | None


class LiftCase(TypedDict):
    cabinets: int
    pick_x_m: Numbers
    line_m: float
    stiffness_n_m: float
    floor_stiffness_n_m: float
    raised_m: Numbers


class RigidHangFields(TypedDict):
    load_n: NDArray[np.float64]
    slack: NDArray[np.bool_]
    residual: float


class HangOnHoistsFields(TypedDict):
    load_n: NDArray[np.float64]
    slack: NDArray[np.bool_]
    residual: float
    cg_m: NDArray[np.float64]
    weight_n: float
    lean_deg: float


class PanHoldFields(TypedDict):
    torque_nm: float
    line_force_n: float
    horizontal_n: float
    from_plumb_deg: float
    lift_m: float


class ScatterFields(TypedDict):
    load_n: NDArray[np.float64]
    tips: NDArray[np.bool_]
    least_n: NDArray[np.float64]
    mean_n: NDArray[np.float64]
    greatest_n: NDArray[np.float64]
    quantile_n: NDArray[np.float64]
    slack_share: NDArray[np.float64]


class CombinedLoadsFields(TypedDict):
    force_n: NDArray[np.float64]
    greatest_n: NDArray[np.float64]
    sets: list[str]
    governing: list[str]


class BridleFields(TypedDict):
    force_n: NDArray[np.float64]
    slack: NDArray[np.bool_]
    apex_m: NDArray[np.float64]
    length_m: NDArray[np.float64]
    horizontal_n: NDArray[np.float64]
    anchor_force_n: NDArray[np.float64]
    from_plumb_deg: NDArray[np.float64]
    included_angle_deg: NDArray[np.float64]


class MadeBridleFields(TypedDict):
    bridle: BridleFields
    steels_m: list[list[float]]
    links: list[int]
    miss_m: float


class HeavyLegFields(TypedDict):
    ended: LegEnd
    length_m: float
    horizontal_n: float
    vertical_n: NDArray[np.float64]
    force_n: NDArray[np.float64]
    sag_m: float
    residual: float


class OnLinesFields(TypedDict):
    ended: LinesEnd
    residual: float
    tilt_deg: float
    cg_moved_m: NDArray[np.float64]
    hoist_load_n: NDArray[np.float64]
    line_lean_deg: NDArray[np.float64]
    limits: list[LimitFields]


class LiftOffFields(TypedDict):
    ended: LinesEnd
    residual: float
    weight_n: float
    raised_m: NDArray[np.float64]
    tilt_deg: NDArray[np.float64]
    hoist_load_n: NDArray[np.float64]
    floor_n: NDArray[np.float64]
    free_at_m: float | None
    free_hoist_n: NDArray[np.float64]


class BeamFields(TypedDict):
    reaction_n: NDArray[np.float64]
    slack: NDArray[np.bool_]
    load_n: float
    moment_range_nm: Pair
    shear_range_n: Pair
    deflection_range_m: Pair


class SpanFields(TypedDict):
    from_m: float
    to_m: float
    uniform_n_m: float
    point_n: float
    row_span_m: float | None
    uniform_limit_n_m: float | None
    point_limit_n: float | None
    utilisation: float | None
