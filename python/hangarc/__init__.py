"""Geometry, statics and direct sound of flown columns of loudspeakers.

An aid to qualified persons. Manufacturers' manuals, local codes and licensed engineers prevail.
"""

from hangarc._core import __version__
from hangarc.errors import InputError
from hangarc.kinematics import Pose, pose
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
from hangarc.statics import (
    HangingTilt,
    HoistLoads,
    JointLoads,
    PickForTilt,
    hanging_tilt,
    hoist_loads,
    joint_loads,
    pick_for_tilt,
)

__all__ = [
    "Air",
    "BottomFrame",
    "Cabinet",
    "ClosingGear",
    "FlyFrame",
    "Hang",
    "HangingTilt",
    "HoistLoads",
    "InputError",
    "JointLoads",
    "LineElement",
    "PickForTilt",
    "Pose",
    "SeatArea",
    "Source",
    "Study",
    "Venue",
    "__version__",
    "hanging_tilt",
    "hoist_loads",
    "joint_loads",
    "pick_for_tilt",
    "pose",
]
