"""The search: what crosses between the face and the core."""

from __future__ import annotations

from typing import Any, Literal, TypedDict

import numpy as np
from numpy.typing import NDArray

from hangarc._fields.statics import LimitFields
from hangarc._words import ConstraintKind, Part
from hangarc.acoustics.spread import OffSeatsKind
from hangarc.search.gains import ElectronicsEnd
from hangarc.search.result import SearchEnd


class ConstraintFields(TypedDict):
    kind: ConstraintKind
    number: int | None
    part: Part | None


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
    ended: ElectronicsEnd


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
    ended: SearchEnd
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


class AreaFields(TypedDict):
    mean_db: float
    least_db: float
    greatest_db: float
    evenness_db: float


class CoverageFields(TypedDict):
    fall_per_doubling_db: float | None
    spectral_spread_db: float
    share_of_holes: float
