"""What the seats hear: the direct sound of hangs, past floors and surfaces.

p(f, r) = Σ_s w_s D_v D_h e^{−jkd}/d · 10^{−α d/20}, summed over straight sub-elements s of the
cabinets' line elements: D_v = sin x / x with x = (k h_s/2) sin a (exact for a uniform line, far
field), D_h from the coverage angle, α the absorption of the air. Line elements are cut so short
that the far field of each piece leaves out at most 1 % of its pressure at the nearest receiver.
An element at 0 dB gain gives ``|p|·d = 1`` far away on its axis: 0 dB is that element's level at
1 m.

At seats each cabinet's pressure is multiplied by F(ν) of the edge that shades it most
(`edge_factor`). Reflections, wind and gradients of temperature are left out.

Examples
--------
>>> import hangarc as ha
>>> hang, venue = ha.demo.hang(), ha.demo.study().venue
>>> heard = ha.seat_levels(hang, 2.0, 11.0, venue)
>>> [round(block.mean_db, 1) for block in ha.acoustics.area_levels(heard)]
[-32.5, -25.1, -24.6]
"""

from hangarc._pose import Throw, throws
from hangarc.acoustics.aim import EdgeOfSeats, OffSeatsAxis, axes_off_seats
from hangarc.acoustics.air import air_absorption_db_per_m, sound_speed_m_s
from hangarc.acoustics.bands import band_lines_hz, weighting_db
from hangarc.acoustics.drive import FullDrive, full_drive
from hangarc.acoustics.field import pressure
from hangarc.acoustics.measures import Coverage, coverage, headroom_db, weighted_level_db
from hangarc.acoustics.places import (
    LevelMap,
    PointLevels,
    level_by_distance,
    level_map,
    point_levels,
)
from hangarc.acoustics.rig import Placed, Rig
from hangarc.acoustics.seats import (
    AreaLevels,
    SeatLevels,
    area_levels,
    evenness_db,
    seat_levels,
)
from hangarc.acoustics.sight import Sight, SightLines, edge_factor, lines_of_sight, sees
from hangarc.acoustics.spread import (
    Condition,
    OffSeatsLevel,
    Sound,
    Unevenness,
    unevenness,
    wanted_db,
)
from hangarc.model import Balloon

__all__ = [
    "AreaLevels",
    "Balloon",
    "Condition",
    "Coverage",
    "EdgeOfSeats",
    "FullDrive",
    "LevelMap",
    "OffSeatsAxis",
    "OffSeatsLevel",
    "Placed",
    "PointLevels",
    "Rig",
    "SeatLevels",
    "Sight",
    "SightLines",
    "Sound",
    "Throw",
    "Unevenness",
    "air_absorption_db_per_m",
    "area_levels",
    "axes_off_seats",
    "band_lines_hz",
    "coverage",
    "edge_factor",
    "evenness_db",
    "full_drive",
    "headroom_db",
    "level_by_distance",
    "level_map",
    "lines_of_sight",
    "point_levels",
    "pressure",
    "seat_levels",
    "sees",
    "sound_speed_m_s",
    "throws",
    "unevenness",
    "wanted_db",
    "weighted_level_db",
    "weighting_db",
]
