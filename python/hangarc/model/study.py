"""What is asked: a hang, a room, goals and bounds."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from hangarc import _core
from hangarc._record import Document, Record
from hangarc.model.hardware import Hang
from hangarc.model.room import Air, Venue


@dataclasses.dataclass(frozen=True, kw_only=True)
class Ceiling(Record):
    """A place that shall stay quieter than the seats: a stage, a ceiling, a neighbour's window.

    Parameters
    ----------
    name : str
        Name printed on sheets.
    place_m : (float, float, float)
        The place, (x, y, z) in room axes.
    most_db : float
        Its greatest level over the mean of the seats.
    """

    _kind: ClassVar[str] = "ceiling"

    name: str
    place_m: Sequence[float]
    most_db: float


@dataclasses.dataclass(frozen=True, kw_only=True)
class SightLine(Record):
    """A line of sight in the vertical plane of the hang, which the hang shall not cross.

    Parameters
    ----------
    name : str
        Name printed on sheets.
    from_m, to_m : (float, float)
        Where one looks from and what one shall see, (x, z).
    """

    _kind: ClassVar[str] = "sight_line"

    name: str
    from_m: Sequence[float]
    to_m: Sequence[float]


@dataclasses.dataclass(frozen=True, kw_only=True)
class Goals(Record):
    """What is wanted of a hang besides even levels; the default asks for evenness alone.

    Parameters
    ----------
    spectral_weight : float
        How much a decibel of spectral spread counts against a decibel of evenness, 0 to 100.
    ceilings : sequence of Ceiling
        Places that shall stay quieter than the seats.
    least_mean_db : float, optional
        Mean level of the seats at equal drive, over that of one cabinet on its axis at 1 m.
    least_reach_db : float, optional
        Level, in dB re 20 µPa, that every seat shall reach at full drive; needs every source's
        `max_level_db`.
    most_closing_force_n : float, optional
        Greatest closing force of a compression hang.
    most_mass_kg : float, optional
        Greatest mass hung, fly frame included.
    sight_lines : sequence of SightLine
        Lines that the hang shall not cross.
    cabinet_range : (int, int), optional
        Smallest and largest number of cabinets, taken from the top of the list.
    gains_db : sequence of float
        Gains each cabinet may be set to, −60 to 20 dB; empty leaves all at 0 dB.
    """

    _kind: ClassVar[str] = "goals"
    _parts: ClassVar[Mapping[str, type[Record]]] = {
        "ceilings": Ceiling,
        "sight_lines": SightLine,
    }

    spectral_weight: float = 0.0
    ceilings: Sequence[Ceiling] = ()
    least_mean_db: float | None = None
    least_reach_db: float | None = None
    most_closing_force_n: float | None = None
    most_mass_kg: float | None = None
    sight_lines: Sequence[SightLine] = ()
    cabinet_range: Sequence[int] | None = None
    gains_db: Sequence[float] = ()


@dataclasses.dataclass(frozen=True, kw_only=True)
class Study(Document):
    """A hang to be aimed at a venue within given bounds.

    Parameters
    ----------
    name : str
        Name printed on sheets.
    hang : Hang
        The hang with the pins to start from.
    venue : Venue
        The seats.
    air : Air
        The air.
    tilt_range_deg, top_range_m : (float, float)
        Lowest and highest tilt of the fly frame, and height of cabinet 0's upper front hinge.
    tilt_step_deg, top_step_m : float
        Steps tried within the ranges.
    pick_x_m : sequence of float
        Two of the frame's holes for a frame held by two hoists; empty for one hoist in whichever
        hole gives the tilt.
    min_trim_m : float
        The lowest point of the hang stays at or above this.
    hoist_limit_n, roof_point_limit_n : float, optional
        Working load limit of each hoist and limit of each roof point.
    hoist_mass_kg : float
        Mass of each hoist with its chain, carried by the roof point.
    dynamic_factor : float
        Factor on hoist, frame and roof loads for starting and stopping, 1 to 5; 1 is the hang at
        rest.
    fall_db_per_doubling : float, optional
        Wanted change of level for each doubling of distance; left out, the same level everywhere.
    goals : Goals
        What is wanted besides even levels.
    lines_per_band : int
        Frequencies calculated in each third octave, 1 to 24.
    """

    _kind: ClassVar[str] = "study"
    _core_class: ClassVar[Any] = _core.Study
    _parts: ClassVar[Mapping[str, type[Record]]] = {
        "hang": Hang,
        "venue": Venue,
        "air": Air,
        "goals": Goals,
    }

    name: str
    hang: Hang
    venue: Venue
    air: Air = dataclasses.field(default_factory=Air)
    tilt_range_deg: Sequence[float]
    tilt_step_deg: float = 0.5
    top_range_m: Sequence[float]
    top_step_m: float = 0.25
    pick_x_m: Sequence[float] = ()
    min_trim_m: float = 0.0
    hoist_limit_n: float | None = None
    hoist_mass_kg: float = 0.0
    dynamic_factor: float = 1.0
    roof_point_limit_n: float | None = None
    fall_db_per_doubling: float | None = None
    goals: Goals = dataclasses.field(default_factory=Goals)
    lines_per_band: int = 5
