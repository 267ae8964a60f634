"""What hoists and joints of a hang at rest carry, and which limit is used how far.

Utilisations are of stated limits. An aid to qualified persons; manufacturers' manuals, local codes
and licensed engineers prevail.

Examples
--------
>>> import hangarc as ha
>>> hang = ha.demo.hang()
>>> ha.hoist_loads(hang, 2.0, [0.15, -1.05]).load_n.round().tolist()
[2974.0, 1958.0]
>>> round(ha.hanging_tilt(hang, -0.35).tilt_deg, 2)
0.72
"""

from hangarc._pose import Pose, pose
from hangarc.statics.balance import (
    HangingTilt,
    HoistLoads,
    PickForTilt,
    hanging_tilt,
    hoist_loads,
    pick_for_tilt,
)
from hangarc.statics.building import BuildStage, BuildUp, build_up
from hangarc.statics.joints import JointLoads, joint_loads
from hangarc.statics.limits import LimitRow, LimitUse, part_loads
from hangarc.statics.pulled import PullBack, pull_back
from hangarc.statics.sides import Sides, forces_per_side

__all__ = [
    "BuildStage",
    "BuildUp",
    "HangingTilt",
    "HoistLoads",
    "JointLoads",
    "LimitRow",
    "LimitUse",
    "PickForTilt",
    "Pose",
    "PullBack",
    "Sides",
    "build_up",
    "forces_per_side",
    "hanging_tilt",
    "hoist_loads",
    "joint_loads",
    "part_loads",
    "pick_for_tilt",
    "pose",
    "pull_back",
]
