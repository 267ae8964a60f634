"""Wind on a hang: pressure, where it comes to rest, what hoists, joints and chain carry.

Utilisations are of stated limits. An aid to qualified persons; manufacturers' manuals, local codes
and licensed engineers prevail.
"""

from hangarc.wind.oblique import gust_factor, oblique_forces
from hangarc.wind.parts import PartsInWind, parts_in_wind
from hangarc.wind.swing import (
    PeakPressure,
    Wind,
    WindLoads,
    WindShadow,
    section_coefficient,
    wind_loads,
    wind_speed_at_limits,
)

__all__ = [
    "PartsInWind",
    "PeakPressure",
    "Wind",
    "WindLoads",
    "WindShadow",
    "gust_factor",
    "oblique_forces",
    "parts_in_wind",
    "section_coefficient",
    "wind_loads",
    "wind_speed_at_limits",
]
