"""What hangs where, and for whom: plain frozen data, checked on construction.

Every type raises `hangarc.InputError` on construction when a field is missing, of the wrong type,
not finite or out of the stated bounds.

Examples
--------
>>> import hangarc as ha
>>> hang = ha.demo.hang((2.0, 2.7, 4.2))
>>> len(hang.cabinets), hang.cabinets[0].mass_kg
(4, 64.5)
>>> ha.Hang.from_json(hang.to_json()) == hang
True
>>> ha.Air(humidity_percent=130.0)
Traceback (most recent call last):
    ...
hangarc.InputError: humidity_percent = 130.0: allowed is a number from 0 to 100
"""

from hangarc.model.balloon import Balloon, LeftOut, Measurement, brought_to_one_metre
from hangarc.model.company import Neighbour, Site
from hangarc.model.hardware import (
    BottomFrame,
    Cabinet,
    ClosingGear,
    FlyFrame,
    Hang,
    LineElement,
    Source,
)
from hangarc.model.room import Air, SeatArea, Surface, Venue
from hangarc.model.seating import seat_count, seat_counts
from hangarc.model.stated import (
    BottomFrameLimits,
    CabinetLimits,
    ClosingGearLimits,
    FlyFrameLimits,
)
from hangarc.model.steel import Piece, Run
from hangarc.model.study import Goals, QuietPlace, SightLine, Study, WantedLevel

__all__ = [
    "Air",
    "Balloon",
    "BottomFrame",
    "BottomFrameLimits",
    "Cabinet",
    "CabinetLimits",
    "ClosingGear",
    "ClosingGearLimits",
    "FlyFrame",
    "FlyFrameLimits",
    "Goals",
    "Hang",
    "LeftOut",
    "LineElement",
    "Measurement",
    "Neighbour",
    "Piece",
    "QuietPlace",
    "Run",
    "SeatArea",
    "SightLine",
    "Site",
    "Source",
    "Study",
    "Surface",
    "Venue",
    "WantedLevel",
    "brought_to_one_metre",
    "seat_count",
    "seat_counts",
]
