from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final, Literal, Protocol, final

import numpy as np
from numpy.typing import NDArray

from hangarc import _fields

__all__ = [
    "EVENNESS_BANDS",
    "FAR_FIELD_TOLERANCE",
    "LARGEST",
    "Air",
    "Balloon",
    "Beam",
    "Hang",
    "Study",
    "SweepQueue",
    "Venue",
    "__version__",
    "air_absorption_db_per_m",
    "area_levels",
    "band_lines_hz",
    "bridle_at",
    "bridle_forces_along",
    "bridle_of",
    "build_up",
    "bypass",
    "check",
    "close",
    "closing_remedies",
    "closing_sensitivities",
    "closing_spread",
    "closing_stages",
    "combine_loads",
    "compare_with_plan",
    "coverage",
    "edge_factor",
    "electronics",
    "emergency_stop_force_n",
    "evaluate",
    "fault",
    "forces_per_side",
    "full_drive",
    "gust_factor",
    "hang_on_hoists",
    "hang_on_lines",
    "hanging_tilt",
    "heavy_leg_of_length",
    "heavy_leg_of_pull",
    "hoist_loads",
    "hoist_scatter",
    "joint_loads",
    "lift_off",
    "lines_of_sight",
    "nearest_bridle_of_stock",
    "oblique_forces",
    "one_hole_table",
    "optimise_splays",
    "pan_hold",
    "part_loads",
    "parts_in_wind",
    "pick_for_tilt",
    "point_levels",
    "pose",
    "pressure",
    "pull_back",
    "registers",
    "rest_at_force",
    "rigid_hang",
    "seat_counts",
    "seat_levels",
    "section_coefficient",
    "sees",
    "set_thread_count",
    "shortening",
    "sound_speed_m_s",
    "start_stop_factor",
    "sweep_study",
    "thread_count",
    "throws",
    "touched_points",
    "trade_off",
    "turn",
    "unevenness_of_levels",
    "wanted_db",
    "weighting_db",
    "wind_loads",
    "wind_pressure",
    "wind_speeds_at_limits",
]

__version__: str
EVENNESS_BANDS: Final[list[int]]

def check(kind: str, data: Mapping[str, Any]) -> None: ...

@final
class Beam:
    def __new__(
        cls,
        length_m: float,
        supports: Sequence[tuple[float, float, float | None]],
        hinges_m: _fields.Numbers,
        loads: Sequence[tuple[float, float | None, float, float | None]],
        self_weight_n_m: float,
        ei_nm2: float,
        only_pull: bool,
    ) -> Beam: ...
    def __getnewargs__(self) -> tuple[object, ...]: ...
    def fields(self) -> _fields.BeamFields: ...
    def at(
        self, quantity: Literal["shear", "moment", "deflection"], x_m: _fields.Numbers
    ) -> NDArray[np.float64]: ...
    def settlement_influence(self) -> NDArray[np.float64]: ...
    def load_influence(self, x_m: _fields.Numbers) -> NDArray[np.float64]: ...
    def span_uses(
        self, span_table: Sequence[tuple[float, float | None, float | None]]
    ) -> list[_fields.SpanFields]: ...
    def limit_uses(
        self,
        moment_nm: float | None,
        shear_n: float | None,
        deflection_m: float | None,
        reaction_n: Sequence[float | None],
    ) -> list[_fields.LimitFields]: ...

def rigid_hang(
    points_m: _fields.Points,
    cg_m: _fields.Numbers,
    weight_n: float,
    stiffness_n_m: _fields.Numbers | None,
    high_m: _fields.Numbers | None,
) -> _fields.RigidHangFields: ...
def hang_on_hoists(
    hang: Hang,
    points_m: _fields.Points,
    tilt_deg: float,
    top_m: float,
    position_m: tuple[float, float],
    pan_deg: float,
    lateral_cg_m: float,
    stiffness_n_m: _fields.Numbers | None,
    high_m: _fields.Numbers | None,
) -> _fields.HangOnHoistsFields: ...
def pan_hold(
    roof_spacing_m: float, frame_spacing_m: float, line_m: float, weight_n: float, pan_deg: float
) -> _fields.PanHoldFields: ...
def hoist_scatter(
    points_m: _fields.Points,
    mass_kg: _fields.Numbers,
    cg_m: _fields.Points,
    stiffness_n_m: _fields.Numbers,
    high_m: _fields.Numbers,
    mass_spread: float,
    cg_spread_m: float,
    high_spread_m: float,
    stiffness_spread: float,
    factor: float,
    gravity_m_s2: float,
    cases: int,
    seed: int,
    quantiles: _fields.Numbers,
    progress: Callable[[int, int], object] | None,
) -> _fields.ScatterFields | None: ...
def start_stop_factor(hoisting_class: str, speed_m_s: float) -> float: ...
def emergency_stop_force_n(
    weight_n: float, speed_m_s: float, stiffness_n_m: float, gravity_m_s2: float
) -> float: ...
def combine_loads(
    actions: Sequence[tuple[str, Sequence[float]]],
    sets: Sequence[tuple[str, Sequence[tuple[str, float]]]],
) -> _fields.CombinedLoadsFields: ...
def wind_pressure(wind: _fields.WindRow, height_m: float) -> _fields.PressureFields: ...
def section_coefficient(width_m: float, depth_m: float) -> float: ...
def wind_loads(
    hang: Hang, case: _fields.WindCase, pull_at_m: _fields.Numbers | None
) -> _fields.WindLoadsFields: ...
def parts_in_wind(
    hang: Hang,
    case: _fields.WindCase,
    preload_n: float,
    stiffness_n_m: float | None,
    lifting: tuple[float | None, float | None, float, float],
) -> _fields.PartsInWindFields: ...
def wind_speeds_at_limits(
    hang: Hang,
    case: _fields.WindCase,
    line_deg: float | None,
    turn_deg: float | None,
    hoist_n: float | None,
    total_n: float | None,
) -> list[tuple[str, float | None]]: ...
def compare_with_plan(
    hang: Hang,
    tilt_deg: float,
    pick_x_m: _fields.Numbers,
    readings: Sequence[tuple[str, int, float, float]],
    significance: float,
    most_wrong_pins: int,
) -> _fields.ComparisonFields: ...
def bridle_at(
    anchors_m: _fields.Points, apex_m: _fields.Numbers, load_n: float
) -> _fields.BridleFields: ...
def bridle_of(
    anchors_m: _fields.Points, lengths_m: _fields.Numbers, load_n: float
) -> _fields.BridleFields: ...
def bridle_forces_along(
    anchors_m: _fields.Points, apexes_m: _fields.Points, load_n: float
) -> NDArray[np.float64]: ...
def nearest_bridle_of_stock(
    anchors_m: _fields.Points,
    apex_m: _fields.Numbers,
    load_n: float,
    steels_m: _fields.Numbers,
    most_steels: int,
    pitch_m: float,
    most_links: int,
    fittings_m: float,
    within_m: float,
) -> _fields.MadeBridleFields: ...
def heavy_leg_of_length(
    span_m: float, rise_m: float, length_m: float, weight_n_m: float
) -> _fields.HeavyLegFields: ...
def heavy_leg_of_pull(
    span_m: float, rise_m: float, horizontal_n: float, weight_n_m: float
) -> _fields.HeavyLegFields: ...

@final
class Air:
    def __new__(cls, data: Mapping[str, Any]) -> Air: ...
    def to_json(self) -> str: ...
    @staticmethod
    def fields_of_json(text: str) -> dict[str, Any]: ...

@final
class Hang:
    def __new__(cls, data: Mapping[str, Any]) -> Hang: ...
    def to_json(self) -> str: ...
    @staticmethod
    def fields_of_json(text: str) -> dict[str, Any]: ...

@final
class Venue:
    def __new__(cls, data: Mapping[str, Any]) -> Venue: ...
    def to_json(self) -> str: ...
    @staticmethod
    def fields_of_json(text: str) -> dict[str, Any]: ...

@final
class Study:
    def __new__(cls, data: Mapping[str, Any]) -> Study: ...
    def to_json(self) -> str: ...
    @staticmethod
    def fields_of_json(text: str) -> dict[str, Any]: ...

def pose(
    hang: Hang, tilt_deg: float, top_m: float, splays_deg: Sequence[float] | None
) -> _fields.PoseFields: ...
def hoist_loads(
    hang: Hang, tilt_deg: float, pick_x_m: Sequence[float] | NDArray[np.float64]
) -> _fields.HoistLoadsFields: ...
def hanging_tilt(hang: Hang, pick_x_m: float) -> float: ...
def pick_for_tilt(hang: Hang, tilt_deg: float) -> _fields.PickForTiltFields: ...
def joint_loads(hang: Hang, tilt_deg: float) -> _fields.JointLoadsFields: ...
def part_loads(
    hang: Hang,
    tilt_deg: float,
    pick_x_m: Sequence[float] | NDArray[np.float64],
    lifting: tuple[float | None, float | None, float, float],
    preload_n: float,
    out_of_step_m: float,
) -> list[_fields.LimitFields]: ...
def forces_per_side(
    hang: Hang, tilt_deg: float, input: _fields.SidesCase
) -> _fields.SidesFields: ...
def hang_on_lines(
    hang: Hang, tilt_deg: float, pick_x_m: _fields.Numbers, input: _fields.LinesCase
) -> _fields.OnLinesFields: ...
def lift_off(hang: Hang, input: _fields.LiftCase) -> _fields.LiftOffFields: ...
def oblique_forces(hang: Hang, case: _fields.WindCase, from_deg: float) -> NDArray[np.float64]: ...
def gust_factor(gust_s: float, period_s: float) -> float: ...
def pull_back(
    hang: Hang,
    tilt_deg: float,
    top_m: float,
    pick_x_m: Sequence[float] | NDArray[np.float64],
    to_m: _fields.Numbers,
    attach_m: _fields.Numbers | None,
    force_n: float | None,
    limit_n: float | None,
) -> _fields.PullBackFields: ...
def seat_counts(venue: Venue) -> list[int]: ...
def throws(
    hang: Hang,
    tilt_deg: float,
    top_m: float,
    venue: Venue,
    position_m: tuple[float, float],
    pan_deg: float,
) -> list[_fields.ThrowFields | None]: ...
def wanted_db(study: Study) -> NDArray[np.float64]: ...
def unevenness_of_levels(
    band_level_db: list[list[float]], weight: list[float]
) -> _fields.UnevennessFields: ...
def lines_of_sight(
    venue: Venue, from_m: NDArray[np.float64], to_m: NDArray[np.float64]
) -> _fields.SightLinesFields: ...
def sees(rig: _Rig, venue: Venue) -> _fields.SightFields: ...
def edge_factor(detour_waves: NDArray[np.float64]) -> NDArray[np.complex128]: ...
def area_levels(
    level_db: NDArray[np.float64], weight: NDArray[np.float64], area: list[int]
) -> list[_fields.AreaFields]: ...
def air_absorption_db_per_m(frequency_hz: NDArray[np.float64], air: Air) -> NDArray[np.float64]: ...
def sound_speed_m_s(air: Air) -> float: ...
def pressure(
    rig: _Rig,
    receivers_m: NDArray[np.float64],
    frequency_hz: NDArray[np.float64],
    air: Air,
    registers: str,
    venue: Venue | None = None,
) -> NDArray[np.complex128]: ...
def point_levels(
    rig: _Rig,
    points_m: NDArray[np.float64],
    air: Air,
    bands: Sequence[int],
    lines_per_band: int,
    venue: Venue | None = None,
) -> _fields.LevelsFields: ...
def band_lines_hz(bands: Sequence[int], lines_per_band: int) -> NDArray[np.float64]: ...
def weighting_db(frequency_hz: NDArray[np.float64], weighting: str) -> NDArray[np.float64]: ...
def coverage(
    band_level_db: Sequence[Sequence[float]],
    level_db: Sequence[float],
    distance_m: Sequence[float],
    weight: Sequence[float],
    hole_depth_db: float,
) -> _fields.CoverageFields: ...
def turn(
    study: Study,
    now: tuple[float, float] | None,
    seed: int,
    progress: Callable[[int], object] | None,
) -> _fields.TurnFields: ...
def touched_points(rig: _Rig, points_m: NDArray[np.float64]) -> NDArray[np.bool_]: ...
def full_drive(
    rig: _Rig,
    air: Air,
    bands: Sequence[int],
    lines_per_band: int,
    spectrum_db: Sequence[float],
) -> _fields.FullDriveFields: ...

LARGEST: Final[float]
FAR_FIELD_TOLERANCE: Final[float]

@final
class Balloon:
    def __new__(
        cls,
        frequency_hz: Sequence[float],
        azimuth_deg: Sequence[float],
        elevation_deg: Sequence[float],
        response: NDArray[np.complex128],
    ) -> Balloon: ...
    @staticmethod
    def at_one_metre(
        distance_m: float,
        delay_s: float | None,
        frequency_hz: Sequence[float],
        azimuth_deg: Sequence[float],
        elevation_deg: Sequence[float],
        pressure: NDArray[np.complex128],
    ) -> tuple[NDArray[np.complex128], float]: ...
    def delay_s(self) -> float: ...
    def towards(
        self,
        azimuth_deg: Sequence[float],
        elevation_deg: Sequence[float],
        frequency_hz: Sequence[float],
    ) -> NDArray[np.complex128]: ...
    def left_out(self) -> list[_fields.LeftOutFields]: ...

def sweep_study(
    study_json: str, asked: _fields.Asked, whole: bool
) -> _fields.RefusedRow | _fields.AnswerRow: ...

@final
class SweepQueue:
    def __new__(cls, asked: _fields.Asked, whole: bool) -> SweepQueue: ...
    def submit(self, number: int, study_json: str, alone: bool) -> None: ...
    def take(self, seconds: float) -> tuple[int, _fields.RefusedRow | _fields.AnswerRow] | None: ...
    def cancel(self) -> None: ...

def registers() -> list[str]: ...
def fault(text: str, on_pool: bool) -> None: ...
def thread_count() -> int: ...
def set_thread_count(threads: int) -> None: ...
def seat_levels(
    rig: _Rig,
    venue: Venue,
    air: Air,
    bands: Sequence[int],
    lines_per_band: int,
) -> _fields.SeatLevelsFields: ...
def close(
    hang: Hang,
    tilt_deg: float,
    top_joint_name: str,
    preload_n: float,
    steps: int,
    frame: str,
    pick_x_m: Sequence[float] | None,
    dynamic_factor: float,
    friction: float,
    pin_radius_m: float,
) -> _fields.ClosingFields: ...
def rest_at_force(
    hang: Hang, tilt_deg: float, force_n: float, top_joint_name: str
) -> _fields.RestFields: ...
def shortening(hang: Hang, tilt_deg: float) -> _fields.ShorteningFields: ...
def optimise_splays(
    study: Study,
    seed: int,
    prove: bool,
    budget_evaluations: int | None,
    budget_s: float | None,
    progress: Callable[[int], object] | None,
) -> _fields.AnswerFields: ...
def electronics(
    study: Study, tilt_deg: float, top_m: float, least_gain_db: float, most_filter_db: float
) -> _fields.ElectronicsFields: ...
def evaluate(study: Study) -> _fields.AnswerFields: ...
def one_hole_table(study: Study, tilt_deg: float, top_m: float) -> list[_fields.HoleFields]: ...
def trade_off(
    study: Study,
    against: str,
    points: int,
    seed: int,
    budget_evaluations: int | None,
    progress: Callable[[int], object] | None,
) -> list[_fields.AnswerFields]: ...
def build_up(
    hang: Hang, stack: int, cart_m: float, pick_x_m: Sequence[float], tilt_deg: float | None
) -> _fields.BuildUpFields: ...
def bypass(
    hang: Hang, tilt_deg: float, take_up_m: float, stiffness_n_m: float | None
) -> _fields.BypassFields: ...
def closing_remedies(
    hang: Hang, tilt_deg: float, available_n: float | None
) -> _fields.RemediesFields: ...
def closing_sensitivities(
    hang: Hang, tilt_deg: float, pick_x_m: Sequence[float] | None
) -> _fields.SensitivitiesFields: ...
def closing_stages(
    hang: Hang, tilt_deg: float, available_n: float | None, cabinets: list[int] | None
) -> _fields.StagesFields: ...
def closing_spread(
    hang: Hang,
    tilt_deg: float,
    pick_x_m: Sequence[float] | None,
    spreads: Sequence[float],
    cases: int,
    seed: int,
) -> _fields.SpreadFields: ...

# A rig as the core reads it, by attribute.

class _Placed(Protocol):
    @property
    def hang(self) -> Hang: ...
    @property
    def tilt_deg(self) -> float: ...
    @property
    def top_m(self) -> float: ...
    @property
    def position_m(self) -> tuple[float, float]: ...
    @property
    def pan_deg(self) -> float: ...
    @property
    def delay_s(self) -> float: ...
    @property
    def gain_db(self) -> float: ...
    @property
    def drive(self) -> Sequence[Sequence[complex]]: ...
    @property
    def balloon(self) -> Sequence[Balloon | None]: ...

class _Rig(Protocol):
    @property
    def hangs(self) -> Sequence[_Placed]: ...
    @property
    def floor_reflection(self) -> float: ...
    @property
    def far_field_tolerance(self) -> float: ...
