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

__all__ = [
    "Air",
    "BottomFrame",
    "Cabinet",
    "ClosingGear",
    "FlyFrame",
    "Hang",
    "InputError",
    "LineElement",
    "Pose",
    "SeatArea",
    "Source",
    "Study",
    "Venue",
    "__version__",
    "pose",
]
