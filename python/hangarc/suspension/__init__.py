"""What lies between the fly frame and the roof: bridles, beams, hoists, load combinations.

Examples
--------
>>> import hangarc as ha
>>> legs = ha.bridle([(-2.0, 12.0), (1.0, 12.0)], load_n=5_000.0, apex_m=(0.0, 10.0))
>>> legs.force_n.round().tolist(), legs.horizontal_n.round().tolist()
([2357.0, 3727.0], [1667.0, 1667.0])
"""

from hangarc.suspension.beam_loads import DistributedLoad, PointLoad
from hangarc.suspension.beams import Beam, SpanLimit, SpanUse, beam
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
from hangarc.suspension.lines import LiftOff, OnLines, hang_on_lines, lift_off
from hangarc.suspension.loads import (
    CombinedLoads,
    combine_loads,
    emergency_stop_force_n,
    start_stop_factor,
)

__all__ = [
    "Beam",
    "Bridle",
    "CombinedLoads",
    "DistributedLoad",
    "HangOnHoists",
    "HeavyLeg",
    "HoistScatter",
    "LiftOff",
    "MadeBridle",
    "OnLines",
    "PanHold",
    "PointLoad",
    "RigidHang",
    "SpanLimit",
    "SpanUse",
    "beam",
    "bridle",
    "bridle_forces_along",
    "bridle_from_stock",
    "combine_loads",
    "emergency_stop_force_n",
    "hang_on_hoists",
    "hang_on_lines",
    "heavy_leg",
    "hoist_scatter",
    "lift_off",
    "pan_hold",
    "rigid_hang",
    "start_stop_factor",
]
