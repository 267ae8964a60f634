"""What crosses between the face and the core: dictionaries of named fields, with their types.

The core's structs in `src/python` derive these dictionaries; `tests/python/test_core.py` holds the
two against each other. Nothing here is made at run time: the types are for readers and `mypy`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal, TypedDict

import numpy as np
from numpy.typing import NDArray

from hangarc._ending import RestEnd
from hangarc._words import ConstraintKind, FactorUse, Part, State
from hangarc.acoustics.spread import OffSeatsKind
from hangarc.closing.let_off import BypassEnd
from hangarc.closing.links import ShorteningEnd
from hangarc.closing.path import ClosedState, ClutchState, ContactKind, PathEnd, SlackHoist
from hangarc.closing.stages import StageEnd
from hangarc.model.balloon import Along
from hangarc.search.result import Status
from hangarc.statics.built import FitEnd, Verdict
from hangarc.statics.pulled import PullBackEnd
from hangarc.suspension.lines import LinesEnd
from hangarc.wind.parts import PartsEnd

Numbers = Sequence[float] | NDArray[np.float64]
Points = Sequence[Sequence[float]] | NDArray[np.float64]
Pair = tuple[tuple[float, float], tuple[float, float]]
WindRow = tuple[float, float, tuple[str, float, float] | None]

# What is asked, as the core reads it: by item, or by attribute where it is a protocol.


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


class SidesCase(TypedDict):
    tilt_deg: float
    lean_deg: float
    cg_y_m: Numbers
    force_n: Points
    hinge_spacing_m: float
    link_spacing_m: float
    chain_spacing_m: float
    chain_force_n: float | None
    left_share: float
    link_over_hinge: float


class LinesCase(TypedDict):
    tilt_deg: float
    pick_x_m: Numbers
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


class Asked(TypedDict):
    mode: str
    seed: int
    budget_evaluations: int | None


# What is answered: a dictionary of the named fields.


class RefusedRow(TypedDict):
    seconds: float
    status: Literal["refused"]
    error_field: str
    error_text: str


class ConstraintFields(TypedDict):
    kind: ConstraintKind
    number: int | None
    part: Part | None


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


class ThrowFields(TypedDict):
    point_m: NDArray[np.float64]
    place_m: NDArray[np.float64]
    length_m: float
    area: int | None
    surface: str | None


class SightLinesFields(TypedDict):
    surface: NDArray[np.int64]
    share: NDArray[np.float64]
    names: list[str]


class ElectronicsFields(TypedDict):
    gains_db: NDArray[np.float64]
    band_hz: NDArray[np.float64]
    filter_db: NDArray[np.float64]
    unevenness_before_db: float
    mean_before_db: float
    unevenness_db: float
    mean_db: float
    converged: bool


class TurnFields(TypedDict):
    splays_deg: list[float]
    hang_json: str
    tilt_deg: float
    top_m: float
    pick_x_m: list[float]
    objective_db: list[float]
    feasible: list[bool]


class BeyondFields(TypedDict):
    variable: Literal["tilt_deg", "top_m"]
    end: float
    next: float
    objective_change_db: float
    missed: ConstraintFields | None


class CountFields(TypedDict):
    cabinets: int
    objective_db: float
    feasible: bool


class MarginFields(TypedDict):
    kind: ConstraintKind
    number: int | None
    part: Part | None
    value: float
    bound: float
    margin: float


class OffSeatsFields(TypedDict):
    kind: OffSeatsKind
    index: int | None
    position_m: NDArray[np.float64]
    level_db: float


class ConditionFields(TypedDict):
    air: int
    off: bool
    objective_db: float
    spread_db: float
    mean_db: float


class SoundFields(TypedDict):
    unevenness_db: float
    band_hz: NDArray[np.float64]
    band_spread_db: NDArray[np.float64]
    band_mean_db: NDArray[np.float64]
    mean_db: float
    spectral_spread_db: float
    share_3_db_below: float
    share_6_db_below: float
    evenness_db: float
    roughness_deg: float
    off_seats_db: float | None
    off_seats: list[OffSeatsFields]
    conditions: list[ConditionFields]


class AnswerFields(TypedDict):
    status: Status
    hang: dict[str, Any]
    splays_deg: NDArray[np.float64]
    tilt_deg: float
    top_m: float
    pick_x_m: NDArray[np.float64]
    gains_db: NDArray[np.float64]
    objective_db: float
    least_objective_db: float
    runs_db: NDArray[np.float64]
    beyond: list[BeyondFields]
    sound: SoundFields
    closing_force_n: float | None
    straight_objective_db: float
    straight_sound: SoundFields
    straight_tilt_deg: float
    straight_top_m: float
    evaluations: int
    limits: list[LimitFields]
    counts: list[CountFields]
    margins: list[MarginFields]
    nearest_study: dict[str, Any] | None


class HoleFields(TypedDict):
    joint: int
    from_deg: float
    to_deg: float
    objective_change_db: float
    spread_change_db: float
    mean_change_db: float
    closing_force_change_n: float | None
    joint_force_change_n: float
    missed: ConstraintFields | None


class PathFields(TypedDict):
    chain_m: NDArray[np.float64]
    force_n: NDArray[np.float64]
    energy_j: NDArray[np.float64]
    tilt_deg: NDArray[np.float64]
    angle_deg: NDArray[np.float64]
    contact_moment_nm: NDArray[np.float64]
    stop_force_n: NDArray[np.float64]
    hinge_force_n: NDArray[np.float64]
    hoist_load_n: NDArray[np.float64]


class JointForcesFields(TypedDict):
    contact_moment_nm: NDArray[np.float64]
    stop_force_n: NDArray[np.float64]
    hinge_force_n: NDArray[np.float64]


class EventFields(TypedDict):
    joint: int
    contact: ContactKind
    chain_m: float
    force_n: float
    in_snap: bool


class SnapFields(TypedDict):
    chain_m: float
    force_before_n: float
    force_after_n: float
    greatest_turn_deg: float
    energy_j: float


class ClosingFields(TypedDict):
    ended: PathEnd
    residual: float
    slack_hoist: SlackHoist
    closed_state: ClosedState
    closing_force_n: float | None
    holding_force_n: float | None
    pulling_force_n: float | None
    pulling_joint: int | None
    most_force_n: float | None
    peak_force_n: float
    straight_line_force_n: NDArray[np.float64]
    governing_joint: int | None
    order: list[int]
    chain_free_m: float
    chain_straight_m: float
    chain_closed_m: float
    free_angle_deg: NDArray[np.float64]
    stop_force_n: NDArray[np.float64] | None
    top_link_n: float | None
    at_closing: JointForcesFields | None
    at_preload: JointForcesFields | None
    events: list[EventFields]
    snaps: list[SnapFields]
    path: PathFields
    clutch: ClutchState
    limits: list[LimitFields]


class RestFields(TypedDict):
    ended: RestEnd
    residual: float
    angle_deg: NDArray[np.float64]
    chain_m: float
    contact_moment_nm: NDArray[np.float64]
    stop_force_n: NDArray[np.float64]
    hinge_force_n: NDArray[np.float64]


class LinkFields(TypedDict):
    link: int
    hoist_open_m: float
    hoist_closed_m: float
    spare_open_m: float
    spare_closed_m: float
    slack_links: int


class ShorteningFields(TypedDict):
    ended: ShorteningEnd
    links_feasible: NDArray[np.int64]
    link: int | None
    hoist_open_m: float | None
    hoist_closed_m: float | None
    spare_open_m: float | None
    spare_closed_m: float | None
    slack_links: int | None
    chain_free_m: float
    chain_closed_m: float
    neighbours: list[LinkFields]


class StageFields(TypedDict):
    cabinets: int
    joints: list[int]
    ended: StageEnd
    open_angle_deg: NDArray[np.float64]
    chain_open_m: float
    chain_closed_m: float
    shortening: ShorteningFields | None
    closing_force_n: float | None
    governing_joint: int | None
    peak_force_n: float | None
    left_on_open_n: float | None
    left_on_peak_n: float | None
    left_on_closed_n: float | None
    open_again: list[int]
    alone_force_n: float | None


class StagesFields(TypedDict):
    available_n: float
    closes: bool
    stages: list[StageFields]


class SensitivitiesFields(TypedDict):
    inputs: list[str]
    closing_force_n: NDArray[np.float64]
    hoist_load_n: NDArray[np.float64]


class SpreadFields(TypedDict):
    closes: NDArray[np.bool_]
    closing_force_n: NDArray[np.float64]
    hoist_load_n: NDArray[np.float64]


class BypassFields(TypedDict):
    ended: BypassEnd
    link: int
    slack_m: float
    force_n: float
    chain_m: float
    angle_deg: NDArray[np.float64]
    opening_deg: NDArray[np.float64]


class TiltFields(TypedDict):
    tilt_deg: float
    closing_force_n: float
    front_pick_up_m: float


class RemedyStageFields(TypedDict):
    cabinets: int
    closing_force_n: float
    chain_closed_m: float


class LandingFields(TypedDict):
    landed_n: float
    landed_share: float
    closing_force_n: float


class RemediesFields(TypedDict):
    available_n: float
    closing_force_n: float | None
    most_cabinets: int | None
    tilt: TiltFields | None
    stages: list[RemedyStageFields]
    staged: StagesFields
    landing: LandingFields | None


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


class ComparisonFields(TypedDict):
    ended: FitEnd
    chi_square: float
    freedom: int
    chi_square_limit: float
    p_value: float
    plan_accepted: bool
    tilt_deg: float
    residual: NDArray[np.float64]
    verdict: list[Verdict]
    other_hangs: list[tuple[list[tuple[int, float]], float]]
    deviation_deg: NDArray[np.float64]
    determined: NDArray[np.bool_]
    covariance_deg2: NDArray[np.float64]


class LeftOutFields(TypedDict):
    along: Along
    count: int
    level_rms_db: float
    level_most_db: float
    phase_rms_deg: float
    phase_most_deg: float


class LevelsFields(TypedDict):
    band_hz: NDArray[np.float64]
    band_level_db: NDArray[np.float64]
    greatest_level_db: NDArray[np.float64] | None
    level_db: NDArray[np.float64]


class FullDriveFields(TypedDict):
    share_db: NDArray[np.float64]
    gain_db: float
    hang: int
    cabinet: int
    band: int | None
    band_headroom_db: list[float | None]


class SightFields(TypedDict):
    seen: NDArray[np.bool_]
    position_m: NDArray[np.float64]
    area: NDArray[np.int64]


class SeatLevelsFields(TypedDict):
    band_hz: NDArray[np.float64]
    band_level_db: NDArray[np.float64]
    greatest_level_db: NDArray[np.float64] | None
    level_db: NDArray[np.float64]
    position_m: NDArray[np.float64]
    weight: NDArray[np.float64]
    area: NDArray[np.int64]
    cabinets_seen: NDArray[np.int64]
    evenness_db: float


class CoverageFields(TypedDict):
    fall_per_doubling_db: float | None
    spectral_spread_db: float
    share_of_holes: float


class UnevennessFields(TypedDict):
    unevenness_db: float
    band_spread_db: NDArray[np.float64]
    band_mean_db: NDArray[np.float64]
    mean_db: float
    spectral_spread_db: float
    share_3_db_below: float
    share_6_db_below: float


class AreaFields(TypedDict):
    mean_db: float
    least_db: float
    greatest_db: float
    evenness_db: float


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
    length_m: float
    horizontal_n: float
    vertical_n: NDArray[np.float64]
    force_n: NDArray[np.float64]
    sag_m: float
    residual: float
    converged: bool


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


class AnswerRow(SoundFields):
    seconds: float
    status: Status
    cabinets: int
    splays_deg: list[float]
    tilt_deg: float
    top_m: float
    trim_m: float
    pick_x_m: list[float]
    gains_db: list[float]
    objective_db: float
    straight_objective_db: float
    mass_kg: float
    hoist_load_n: list[float]
    closing_force_n: float | None
    greatest_utilisation: float | None
    greatest_part: tuple[str, int | None] | None
    limits_not_stated: int
    missed: list[ConstraintFields]
    evaluations: int
