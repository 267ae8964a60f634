from collections.abc import Callable, Sequence
from typing import Any, Final, final

import numpy as np
from numpy.typing import NDArray

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
    "limit_s_per_term",
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

def check(kind: str, data: Any) -> None: ...

@final
class Beam:
    def __new__(
        cls,
        length_m: float,
        supports: Any,
        hinges_m: Any,
        loads: Any,
        self_weight_n_m: float,
        ei_nm2: float,
        only_pull: bool,
    ) -> Beam: ...
    def __getnewargs__(self) -> tuple[Any, ...]: ...
    def fields(self) -> dict[str, Any]: ...
    def at(self, quantity: str, x_m: Any) -> Any: ...
    def settlement_influence(self) -> Any: ...
    def load_influence(self, x_m: Any) -> Any: ...
    def span_uses(self, span_table: Any) -> list[dict[str, Any]]: ...
    def limit_uses(
        self,
        moment_nm: float | None,
        shear_n: float | None,
        deflection_m: float | None,
        reaction_n: Any,
    ) -> list[dict[str, Any]]: ...

def rigid_hang(
    points_m: Any, cg_m: Any, weight_n: float, stiffness_n_m: Any, high_m: Any
) -> dict[str, Any]: ...
def hang_on_hoists(
    hang: Hang,
    points_m: Any,
    tilt_deg: float,
    top_m: float,
    position_m: Any,
    pan_deg: float,
    lateral_cg_m: float,
    stiffness_n_m: Any,
    high_m: Any,
) -> dict[str, Any]: ...
def pan_hold(
    roof_spacing_m: float, frame_spacing_m: float, line_m: float, weight_n: float, pan_deg: float
) -> dict[str, Any]: ...
def hoist_scatter(
    points_m: Any,
    mass_kg: Any,
    cg_m: Any,
    stiffness_n_m: Any,
    high_m: Any,
    mass_spread: float,
    cg_spread_m: float,
    high_spread_m: float,
    stiffness_spread: float,
    factor: float,
    gravity_m_s2: float,
    cases: int,
    seed: int,
    quantiles: Any,
    progress: Any,
) -> dict[str, Any]: ...
def start_stop_factor(hoisting_class: str, speed_m_s: float) -> float: ...
def emergency_stop_force_n(
    weight_n: float, speed_m_s: float, stiffness_n_m: float, gravity_m_s2: float
) -> float: ...
def combine_loads(actions: Any, sets: Any) -> dict[str, Any]: ...
def wind_pressure(wind: Any, height_m: float) -> dict[str, Any]: ...
def section_coefficient(width_m: float, depth_m: float) -> float: ...
def wind_loads(hang: Hang, case: Any, pull_at_m: Any) -> dict[str, Any]: ...
def parts_in_wind(
    hang: Hang,
    case: Any,
    preload_n: float,
    stiffness_n_m: float | None,
    lifting: tuple[float | None, float | None, float, float],
) -> dict[str, Any]: ...
def wind_speeds_at_limits(
    hang: Hang,
    case: Any,
    line_deg: float | None,
    turn_deg: float | None,
    hoist_n: float | None,
    total_n: float | None,
) -> Any: ...
def compare_with_plan(
    hang: Hang,
    tilt_deg: float,
    pick_x_m: Any,
    readings: Any,
    significance: float,
    most_wrong_pins: int,
) -> dict[str, Any]: ...
def bridle_at(anchors_m: Any, apex_m: Any, load_n: float) -> dict[str, Any]: ...
def bridle_of(anchors_m: Any, lengths_m: Any, load_n: float) -> dict[str, Any]: ...
def bridle_forces_along(anchors_m: Any, apexes_m: Any, load_n: float) -> Any: ...
def nearest_bridle_of_stock(
    anchors_m: Any,
    apex_m: Any,
    load_n: float,
    steels_m: Any,
    most_steels: int,
    pitch_m: float,
    most_links: int,
    fittings_m: float,
    within_m: float,
) -> dict[str, Any]: ...
def heavy_leg_of_length(
    span_m: float, rise_m: float, length_m: float, weight_n_m: float
) -> dict[str, Any]: ...
def heavy_leg_of_pull(
    span_m: float, rise_m: float, horizontal_n: float, weight_n_m: float
) -> dict[str, Any]: ...

@final
class Air:
    def __new__(cls, data: Any) -> Air: ...
    def to_json(self) -> str: ...
    @staticmethod
    def fields_of_json(text: str) -> Any: ...

@final
class Hang:
    def __new__(cls, data: Any) -> Hang: ...
    def to_json(self) -> str: ...
    @staticmethod
    def fields_of_json(text: str) -> Any: ...

@final
class Venue:
    def __new__(cls, data: Any) -> Venue: ...
    def to_json(self) -> str: ...
    @staticmethod
    def fields_of_json(text: str) -> Any: ...

@final
class Study:
    def __new__(cls, data: Any) -> Study: ...
    def to_json(self) -> str: ...
    @staticmethod
    def fields_of_json(text: str) -> Any: ...

def pose(
    hang: Hang, tilt_deg: float, top_m: float, splays_deg: Sequence[float] | None
) -> dict[str, Any]: ...
def hoist_loads(
    hang: Hang, tilt_deg: float, pick_x_m: Sequence[float] | NDArray[np.float64]
) -> dict[str, Any]: ...
def hanging_tilt(hang: Hang, pick_x_m: float) -> float: ...
def pick_for_tilt(hang: Hang, tilt_deg: float) -> dict[str, Any]: ...
def joint_loads(hang: Hang, tilt_deg: float) -> dict[str, Any]: ...
def part_loads(
    hang: Hang,
    tilt_deg: float,
    pick_x_m: Sequence[float] | NDArray[np.float64],
    lifting: tuple[float | None, float | None, float, float],
    preload_n: float,
    out_of_step_m: float,
) -> list[dict[str, Any]]: ...
def forces_per_side(hang: Hang, case: Any) -> dict[str, Any]: ...
def hang_on_lines(hang: Hang, case: Any) -> dict[str, Any]: ...
def lift_off(hang: Hang, case: Any) -> dict[str, Any]: ...
def oblique_forces(hang: Hang, case: Any, from_deg: float) -> NDArray[np.float64]: ...
def gust_factor(gust_s: float, period_s: float) -> float: ...
def pull_back(
    hang: Hang,
    tilt_deg: float,
    top_m: float,
    pick_x_m: Sequence[float] | NDArray[np.float64],
    to_m: Any,
    attach_m: Any,
    force_n: float | None,
    limit_n: float | None,
) -> dict[str, Any]: ...
def seat_counts(venue: Venue) -> list[int]: ...
def throws(
    hang: Hang,
    tilt_deg: float,
    top_m: float,
    venue: Venue,
    position_m: tuple[float, float],
    pan_deg: float,
) -> list[dict[str, Any] | None]: ...
def wanted_db(study: Study) -> NDArray[np.float64]: ...
def unevenness_of_levels(
    band_level_db: list[list[float]], weight: list[float]
) -> dict[str, Any]: ...
def lines_of_sight(
    venue: Venue, from_m: NDArray[np.float64], to_m: NDArray[np.float64]
) -> dict[str, Any]: ...
def sees(rig: Any, venue: Venue) -> dict[str, Any]: ...
def edge_factor(detour_waves: NDArray[np.float64]) -> NDArray[np.complex128]: ...
def area_levels(
    level_db: NDArray[np.float64], weight: NDArray[np.float64], area: list[int]
) -> list[dict[str, Any]]: ...
def air_absorption_db_per_m(frequency_hz: NDArray[np.float64], air: Air) -> NDArray[np.float64]: ...
def sound_speed_m_s(air: Air) -> float: ...
def pressure(
    rig: Any,
    receivers_m: NDArray[np.float64],
    frequency_hz: NDArray[np.float64],
    air: Air,
    registers: str,
    venue: Venue | None = None,
) -> NDArray[np.complex128]: ...
def point_levels(
    rig: Any,
    points_m: NDArray[np.float64],
    air: Air,
    bands: Sequence[int],
    lines_per_band: int,
    venue: Venue | None = None,
) -> dict[str, Any]: ...
def band_lines_hz(bands: Sequence[int], lines_per_band: int) -> NDArray[np.float64]: ...
def weighting_db(frequency_hz: NDArray[np.float64], weighting: str) -> NDArray[np.float64]: ...
def coverage(
    band_level_db: Sequence[Sequence[float]],
    level_db: Sequence[float],
    distance_m: Sequence[float],
    weight: Sequence[float],
    hole_depth_db: float,
) -> dict[str, Any]: ...
def turn(
    study: Study,
    now: tuple[float, float] | None,
    seed: int,
    progress: Callable[[int], object] | None,
) -> dict[str, Any]: ...
def touched_points(rig: Any, points_m: NDArray[np.float64]) -> NDArray[np.bool_]: ...
def full_drive(
    rig: Any,
    air: Air,
    bands: Sequence[int],
    lines_per_band: int,
    spectrum_db: Sequence[float],
) -> dict[str, Any]: ...

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
    def left_out(self) -> list[dict[str, Any]]: ...

def sweep_study(study_json: str, asked: dict[str, Any], whole: bool) -> dict[str, Any]: ...

@final
class SweepQueue:
    def __new__(cls, asked: dict[str, Any], whole: bool) -> SweepQueue: ...
    def submit(self, number: int, study_json: str, alone: bool) -> None: ...
    def take(self, seconds: float) -> tuple[int, dict[str, Any]] | None: ...
    def cancel(self) -> None: ...

def registers() -> list[str]: ...
def fault(text: str, on_pool: bool) -> None: ...
def thread_count() -> int: ...
def set_thread_count(threads: int) -> None: ...
def limit_s_per_term(registers: str, rounds: int) -> float: ...
def seat_levels(
    rig: Any,
    venue: Venue,
    air: Air,
    bands: Sequence[int],
    lines_per_band: int,
) -> dict[str, Any]: ...
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
) -> dict[str, Any]: ...
def rest_at_force(
    hang: Hang, tilt_deg: float, force_n: float, top_joint_name: str
) -> dict[str, Any]: ...
def shortening(hang: Hang, tilt_deg: float) -> dict[str, Any]: ...
def optimise_splays(
    study: Study,
    seed: int,
    prove: bool,
    budget_evaluations: int | None,
    budget_s: float | None,
    progress: Callable[[int], object] | None,
) -> dict[str, Any]: ...
def electronics(
    study: Study, tilt_deg: float, top_m: float, least_gain_db: float, most_filter_db: float
) -> dict[str, Any]: ...
def evaluate(study: Study) -> dict[str, Any]: ...
def one_hole_table(study: Study, tilt_deg: float, top_m: float) -> list[dict[str, Any]]: ...
def trade_off(
    study: Study,
    against: str,
    points: int,
    seed: int,
    budget_evaluations: int | None,
    progress: Callable[[int], object] | None,
) -> list[dict[str, Any]]: ...
def build_up(
    hang: Hang, stack: int, cart_m: float, pick_x_m: Sequence[float], tilt_deg: float | None
) -> dict[str, Any]: ...
def bypass(
    hang: Hang, tilt_deg: float, take_up_m: float, stiffness_n_m: float | None
) -> dict[str, Any]: ...
def closing_remedies(hang: Hang, tilt_deg: float, available_n: float | None) -> dict[str, Any]: ...
def closing_sensitivities(
    hang: Hang, tilt_deg: float, pick_x_m: Sequence[float] | None
) -> dict[str, Any]: ...
def closing_stages(
    hang: Hang, tilt_deg: float, available_n: float | None, cabinets: list[int] | None
) -> dict[str, Any]: ...
def closing_spread(
    hang: Hang,
    tilt_deg: float,
    pick_x_m: Sequence[float] | None,
    spreads: Sequence[float],
    cases: int,
    seed: int,
) -> dict[str, Any]: ...
