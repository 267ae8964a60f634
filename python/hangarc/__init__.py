"""Geometry, statics and direct sound of flown columns of loudspeakers.

An aid to qualified persons. Manufacturers' manuals, local codes and licensed engineers prevail.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

from hangarc._core import __version__
from hangarc.acoustics import (
    AreaLevels,
    SeatLevels,
    air_absorption_db_per_m,
    area_levels,
    evenness_db,
    pressure,
    seat_levels,
    sound_speed_m_s,
)
from hangarc.aim import EdgeOfSeats, OffSeatsAxis, axes_off_seats
from hangarc.answers import (
    Answer,
    answer,
    evaluate,
)
from hangarc.closing import (
    Closing,
    ContactEvent,
    JointForces,
    LinkChoice,
    RestAtForce,
    Shortening,
    Snap,
    close,
    rest_at_force,
    shortening,
)
from hangarc.closing_answers import (
    BuildStage,
    BuildUp,
    Bypass,
    ClosingRemedies,
    ClosingSensitivities,
    ClosingSpread,
    build_up,
    bypass,
    closing_remedies,
    closing_sensitivities,
    closing_spread,
)
from hangarc.electronics import Electronics, electronics
from hangarc.errors import InputError
from hangarc.job import Anchor, Job, Suspension
from hangarc.kinematics import Pose, Throw, pose, throws
from hangarc.levels import (
    Coverage,
    LevelMap,
    PointLevels,
    band_lines_hz,
    coverage,
    headroom_db,
    rig_level_by_distance,
    rig_level_map,
    rig_levels,
    rig_pressure,
    rig_seat_levels,
    weighted_level_db,
    weighting_db,
)
from hangarc.model import (
    Air,
    BottomFrame,
    Cabinet,
    Ceiling,
    ClosingGear,
    FlyFrame,
    Goals,
    Hang,
    LineElement,
    SeatArea,
    SightLine,
    Source,
    Study,
    Surface,
    Venue,
    WantedLevel,
)
from hangarc.pull_back import PullBack, pull_back
from hangarc.readings import (
    BuiltCheck,
    Reading,
    ReadingCheck,
    Readings,
    blank_readings,
    check_readings,
)
from hangarc.rig import Balloon, Placed, Rig
from hangarc.search import (
    Beyond,
    CountRow,
    HoleRow,
    Margin,
    SearchResult,
    one_hole_table,
    optimise_splays,
    trade_off,
)
from hangarc.seating import seat_count, seat_counts
from hangarc.second_opinion import Verification, VerifiedRow, verify
from hangarc.sight import Sight, SightLines, edge_factor, lines_of_sight, sees
from hangarc.sound import Condition, OffSeatsLevel, Sound, Unevenness, unevenness, wanted_db
from hangarc.staging import ClosingStage, ClosingStages, closing_stages
from hangarc.statics import (
    HangingTilt,
    HoistLoads,
    JointLoads,
    LimitRow,
    LimitUse,
    PickForTilt,
    hanging_tilt,
    hoist_loads,
    joint_loads,
    part_loads,
    pick_for_tilt,
)
from hangarc.survey import AngleReading, LoadReading, PlanComparison, compare_with_plan
from hangarc.suspension.beams import (
    Beam,
    DistributedLoad,
    PointLoad,
    SpanLimit,
    SpanUse,
    beam,
)
from hangarc.suspension.bridles import (
    Bridle,
    HeavyLeg,
    MadeBridle,
    bridle,
    bridle_forces_along,
    bridle_from_stock,
    heavy_leg,
)
from hangarc.suspension.hoists import (
    HangOnHoists,
    HoistScatter,
    PanHold,
    RigidHang,
    hang_on_hoists,
    hoist_scatter,
    pan_hold,
    rigid_hang,
)
from hangarc.suspension.loads import (
    CombinedLoads,
    combine_loads,
    emergency_stop_force_n,
    start_stop_factor,
)
from hangarc.threads import set_thread_count, thread_count
from hangarc.wind import (
    PeakPressure,
    Wind,
    WindLoads,
    WindShadow,
    section_coefficient,
    wind_loads,
    wind_speed_at_limits,
)
from hangarc.work import Work

if TYPE_CHECKING:
    from hangarc import demo, io, plot, report, sweeps
    from hangarc.sweeps import sweep

__all__ = [
    "Air",
    "Anchor",
    "AngleReading",
    "Answer",
    "AreaLevels",
    "Balloon",
    "Beam",
    "Beyond",
    "BottomFrame",
    "Bridle",
    "BuildStage",
    "BuildUp",
    "BuiltCheck",
    "Bypass",
    "Cabinet",
    "Ceiling",
    "Closing",
    "ClosingGear",
    "ClosingRemedies",
    "ClosingSensitivities",
    "ClosingSpread",
    "ClosingStage",
    "ClosingStages",
    "CombinedLoads",
    "Condition",
    "ContactEvent",
    "CountRow",
    "Coverage",
    "DistributedLoad",
    "EdgeOfSeats",
    "Electronics",
    "FlyFrame",
    "Goals",
    "Hang",
    "HangOnHoists",
    "HangingTilt",
    "HeavyLeg",
    "HoistLoads",
    "HoistScatter",
    "HoleRow",
    "InputError",
    "Job",
    "JointForces",
    "JointLoads",
    "LevelMap",
    "LimitRow",
    "LimitUse",
    "LineElement",
    "LinkChoice",
    "LoadReading",
    "MadeBridle",
    "Margin",
    "OffSeatsAxis",
    "OffSeatsLevel",
    "PanHold",
    "PeakPressure",
    "PickForTilt",
    "Placed",
    "PlanComparison",
    "PointLevels",
    "PointLoad",
    "Pose",
    "PullBack",
    "Reading",
    "ReadingCheck",
    "Readings",
    "RestAtForce",
    "Rig",
    "RigidHang",
    "SearchResult",
    "SeatArea",
    "SeatLevels",
    "Shortening",
    "Sight",
    "SightLine",
    "SightLines",
    "Snap",
    "Sound",
    "Source",
    "SpanLimit",
    "SpanUse",
    "Study",
    "Surface",
    "Suspension",
    "Throw",
    "Unevenness",
    "Venue",
    "Verification",
    "VerifiedRow",
    "WantedLevel",
    "Wind",
    "WindLoads",
    "WindShadow",
    "Work",
    "__version__",
    "air_absorption_db_per_m",
    "answer",
    "area_levels",
    "axes_off_seats",
    "band_lines_hz",
    "beam",
    "blank_readings",
    "bridle",
    "bridle_forces_along",
    "bridle_from_stock",
    "build_up",
    "bypass",
    "check_readings",
    "close",
    "closing_remedies",
    "closing_sensitivities",
    "closing_spread",
    "closing_stages",
    "combine_loads",
    "compare_with_plan",
    "coverage",
    "demo",
    "edge_factor",
    "electronics",
    "emergency_stop_force_n",
    "evaluate",
    "evenness_db",
    "hang_on_hoists",
    "hanging_tilt",
    "headroom_db",
    "heavy_leg",
    "hoist_loads",
    "hoist_scatter",
    "io",
    "joint_loads",
    "lines_of_sight",
    "one_hole_table",
    "optimise_splays",
    "pan_hold",
    "part_loads",
    "pick_for_tilt",
    "plot",
    "pose",
    "pressure",
    "pull_back",
    "report",
    "rest_at_force",
    "rig_level_by_distance",
    "rig_level_map",
    "rig_levels",
    "rig_pressure",
    "rig_seat_levels",
    "rigid_hang",
    "seat_count",
    "seat_counts",
    "seat_levels",
    "section_coefficient",
    "sees",
    "set_thread_count",
    "shortening",
    "sound_speed_m_s",
    "start_stop_factor",
    "sweep",
    "sweeps",
    "thread_count",
    "throws",
    "trade_off",
    "unevenness",
    "verify",
    "wanted_db",
    "weighted_level_db",
    "weighting_db",
    "wind_loads",
    "wind_speed_at_limits",
]

_ON_FIRST_USE = frozenset({"demo", "io", "plot", "report", "sweeps"})


def __getattr__(name: str) -> Any:
    """Import the parts that need optional packages only when they are used."""
    if name == "sweep":
        value = importlib.import_module("hangarc.sweeps").sweep
    elif name in _ON_FIRST_USE:
        value = importlib.import_module(f"hangarc.{name}")
    else:
        raise AttributeError(f"module 'hangarc' has no attribute {name!r}")
    globals()[name] = value
    return value
