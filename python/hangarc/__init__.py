"""Geometry, statics and direct sound of flown columns of loudspeakers.

An aid to qualified persons. Manufacturers' manuals, local codes and licensed engineers prevail.
"""

from __future__ import annotations

import importlib
from types import ModuleType
from typing import TYPE_CHECKING

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
from hangarc.answers import (
    Answer,
    answer,
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
from hangarc.errors import InputError
from hangarc.kinematics import Pose, Throw, pose, throws
from hangarc.model import (
    Air,
    BottomFrame,
    Cabinet,
    ClosingGear,
    FlyFrame,
    Hang,
    LineElement,
    SeatArea,
    Source,
    Study,
    Venue,
)
from hangarc.search import Margin, SearchResult, optimise_splays
from hangarc.seating import seat_count, seat_counts
from hangarc.statics import (
    HangingTilt,
    HoistLoads,
    JointLoads,
    LimitRow,
    PickForTilt,
    hanging_tilt,
    hoist_loads,
    joint_loads,
    pick_for_tilt,
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

if TYPE_CHECKING:
    from hangarc import demo, io, plot, report

__all__ = [
    "Air",
    "Answer",
    "AreaLevels",
    "BottomFrame",
    "Bridle",
    "Cabinet",
    "Closing",
    "ClosingGear",
    "ContactEvent",
    "FlyFrame",
    "Hang",
    "HangingTilt",
    "HeavyLeg",
    "HoistLoads",
    "InputError",
    "JointForces",
    "JointLoads",
    "LimitRow",
    "LineElement",
    "LinkChoice",
    "MadeBridle",
    "Margin",
    "PickForTilt",
    "Pose",
    "RestAtForce",
    "SearchResult",
    "SeatArea",
    "SeatLevels",
    "Shortening",
    "Snap",
    "Source",
    "Study",
    "Throw",
    "Venue",
    "__version__",
    "air_absorption_db_per_m",
    "answer",
    "area_levels",
    "bridle",
    "bridle_forces_along",
    "bridle_from_stock",
    "close",
    "demo",
    "evenness_db",
    "hanging_tilt",
    "heavy_leg",
    "hoist_loads",
    "io",
    "joint_loads",
    "optimise_splays",
    "pick_for_tilt",
    "plot",
    "pose",
    "pressure",
    "report",
    "rest_at_force",
    "seat_count",
    "seat_counts",
    "seat_levels",
    "shortening",
    "sound_speed_m_s",
    "throws",
]

_ON_FIRST_USE = frozenset({"demo", "io", "plot", "report"})


def __getattr__(name: str) -> ModuleType:
    """Import the parts that need optional packages only when they are used."""
    if name in _ON_FIRST_USE:
        return importlib.import_module(f"hangarc.{name}")
    raise AttributeError(f"module 'hangarc' has no attribute {name!r}")
