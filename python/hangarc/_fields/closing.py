"""Closing: what crosses between the face and the core."""

from __future__ import annotations

from typing import TypedDict

import numpy as np
from numpy.typing import NDArray

from hangarc._ending import RestEnd
from hangarc._fields.statics import LimitFields
from hangarc.closing.let_off import BypassEnd
from hangarc.closing.links import ShorteningEnd
from hangarc.closing.path import ClosingEnd, ClutchState, ContactKind, SlackHoist
from hangarc.closing.stages import StageEnd


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
    ended: ClosingEnd
    residual: float
    slack_hoist: SlackHoist
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
    stages: list[StageFields]


class SensitivitiesFields(TypedDict):
    inputs: list[str]
    closing_force_n: NDArray[np.float64]
    hoist_load_n: NDArray[np.float64]


class SpreadFields(TypedDict):
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
