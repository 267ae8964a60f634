"""Wind on a hang: pressure, where it comes to rest, what hoists, joints and chain carry.

Utilisations are of stated limits. An aid to qualified persons; manufacturers' manuals, local codes
and licensed engineers prevail.

Examples
--------
>>> import hangarc as ha
>>> wind = ha.Wind(speed_m_s=10.0)
>>> loads = ha.wind_loads(ha.demo.hang(), 2.0, [0.15, -1.05], wind, top_m=11.0, closed=True)
>>> round(loads.total_force_n), loads.hoist_load_n.round().tolist()
(404, [3415.0, 1534.0])
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
