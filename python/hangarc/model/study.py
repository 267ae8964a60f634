"""What is asked: a hang, a room, goals and bounds."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar, Literal

from hangarc import _core
from hangarc._display import html_table
from hangarc._record import Document, Record, kilonewtons
from hangarc.model.company import Neighbour, Site
from hangarc.model.hardware import Hang
from hangarc.model.room import Air, Venue


@dataclasses.dataclass(frozen=True, kw_only=True)
class QuietPlace(Record):
    """A place that shall stay quieter than the seats: a stage, a foyer, a neighbour's window.

    Parameters
    ----------
    name : str
        Name printed on sheets.
    place_m : (float, float, float)
        The place, (x, y, z) in room axes.
    most_db : float
        Its greatest level over the mean of the seats.

    Examples
    --------
    >>> import hangarc as ha
    >>> desk = ha.model.QuietPlace(name="stage desk", place_m=(-2.0, 0.0, 1.6), most_db=-12.0)
    >>> ha.Goals(quiet_places=[desk]).quiet_places[0].name
    'stage desk'
    """

    _kind: ClassVar[str] = "quiet_place"

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

    Examples
    --------
    >>> import hangarc as ha
    >>> screen = ha.model.SightLine(
    ...     name="last row to screen", from_m=(42.0, 12.4), to_m=(-3.0, 6.0)
    ... )
    >>> ha.Goals(sight_lines=[screen]).sight_lines[0].name
    'last row to screen'
    """

    _kind: ClassVar[str] = "sight_line"

    name: str
    from_m: Sequence[float]
    to_m: Sequence[float]


@dataclasses.dataclass(frozen=True, kw_only=True)
class WantedLevel(Record):
    """A level that is wanted in one block of seats, against the others.

    Parameters
    ----------
    area : str
        Name of the block.
    level_db : float or sequence of float
        One level for the whole block, or one at each corner of its floor line; up to a constant
        over all seats, −100 to 100 dB.

    Examples
    --------
    >>> import hangarc as ha
    >>> wanted = ha.model.WantedLevel(area="Balcony", level_db=-2.0)
    >>> ha.Goals(wanted=[wanted]).wanted[0].area
    'Balcony'
    """

    _kind: ClassVar[str] = "wanted_level"

    area: str
    level_db: float | Sequence[float]

    def __post_init__(self) -> None:
        if isinstance(self.level_db, int | float):
            object.__setattr__(self, "level_db", [self.level_db])
        super().__post_init__()


@dataclasses.dataclass(frozen=True, kw_only=True)
class Goals(Record):
    """Goals, prices and bounds of a splay search.

    It minimises spread − `level_price` · mean level + `roughness_price` · roughness of the pins
    + `off_seats_price` · level off the seats + `spectral_weight` · spectral spread.

    Parameters
    ----------
    measure : {"per band", "broadband"}
        The spread: over seats and third octaves (`hangarc.unevenness`), or over seats of levels
        summed over 1 to 8 kHz (`hangarc.evenness_db`), which hides holes that move with frequency.
    lowest_hz, highest_hz : float
        First and last third octave of the per-band measure, by any frequency in it.
    band_weight : sequence of float
        How much each of these bands counts, from the lowest; empty counts all alike.
    level_price : float
        Decibels of spread that a decibel of mean level is worth, 0 to 100.
    roughness_price : float
        Decibels of spread that a degree of roughness of the pins costs, 0 to 100. Roughness is
        the RMS second difference of the splays, one joint free for each gap between blocks.
    off_seats_price : float
        Decibels of spread that a decibel of level off the seats, over that of the seats, costs,
        0 to 100.
    most_off_seats_db : float, optional
        Greatest level off the seats, over the mean level of the seats.
    off_seats_m : sequence of (float, float, float)
        Places off the seats beside those behind the last rows, at front edges and on the stage,
        which follow from the venue.
    wanted : sequence of WantedLevel
        Levels wanted in some blocks against the others; left out, the same level everywhere.
    over : {"mean", "worst"}
        Of a study with several airs or with tolerances: the objective is their mean or the worst.
    spectral_weight : float
        How much a decibel of spectral spread counts beside the measure, 0 to 100.
    quiet_places : sequence of QuietPlace
        Places that shall stay quieter than the seats.
    least_mean_db : float, optional
        Mean level of the seats over the bands of the measure at equal drive, over that of one
        cabinet on its axis at 1 m.
    least_reach_db : float, optional
        Level, in dB re 20 µPa, that every seat shall reach at full drive; needs every source's
        `max_level_db`.
    most_closing_force_n : float, optional
        Greatest closing force of a compression hang.
    most_mass_kg : float, optional
        Greatest mass hung, fly frame included.
    building_stack : int, optional
        Cabinets on a cart while the hang is built. The loads of hoists, picks and roof points in
        every stage, the rear open, are then held to their limits in the search too, and no hoist
        may have to push. Left out, the search looks at the finished hang alone and the stages stand
        in the answer only: how many cabinets come on a cart is for the crew to say.
    sight_lines : sequence of SightLine
        Lines that the hang shall not cross.
    cabinet_range : (int, int), optional
        Smallest and largest number of cabinets, taken from the top of the list.
    gains_db : sequence of float
        Gains each cabinet may be set to, −60 to 20 dB; empty leaves all at 0 dB.

    Examples
    --------
    >>> import hangarc as ha
    >>> goals = ha.Goals(level_price=0.1, lowest_hz=500.0, highest_hz=4000.0, building_stack=4)
    >>> goals.measure
    'per band'
    """

    _kind: ClassVar[str] = "goals"
    _parts: ClassVar[Mapping[str, type[Record]]] = {
        "wanted": WantedLevel,
        "quiet_places": QuietPlace,
        "sight_lines": SightLine,
    }
    _earlier: ClassVar[Mapping[str, str]] = {"ceilings": "quiet_places"}

    measure: Literal["per band", "broadband"] = "per band"
    lowest_hz: float = 250.0
    highest_hz: float = 8000.0
    band_weight: Sequence[float] = ()
    level_price: float = 0.1
    roughness_price: float = 0.03
    off_seats_price: float = 0.0
    most_off_seats_db: float | None = None
    off_seats_m: Sequence[Sequence[float]] = ()
    wanted: Sequence[WantedLevel] = ()
    over: Literal["mean", "worst"] = "mean"
    spectral_weight: float = 0.0
    quiet_places: Sequence[QuietPlace] = ()
    least_mean_db: float | None = None
    least_reach_db: float | None = None
    most_closing_force_n: float | None = None
    most_mass_kg: float | None = None
    building_stack: int | None = None
    sight_lines: Sequence[SightLine] = ()
    cabinet_range: Sequence[int] | None = None
    gains_db: Sequence[float] = ()


@dataclasses.dataclass(frozen=True, kw_only=True)
class Study(Document[_core.Study]):
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
    more_airs : sequence of Air
        Further airs that the hang shall serve in as well: another evening, another hour.
    splay_tolerance_deg, tilt_tolerance_deg : float
        How far each splay may be off its pin as built, and the frame off its tilt as hung, 0 to
        10°. Above 0 the goals are taken over four seeded draws within them too.
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
        What is wanted, and at what price.
    site : Site
        Where the hang hangs on the floor plan, and its signal.
    twin : Site, optional
        A second site at which the same hang hangs with the same pins, tilt and height.
    beside : sequence of Neighbour
        Hangs that sound beside it, as they hang.
    serves : sequence of str
        Names of the blocks that the hang is for, at which the curves aim that a search starts from;
        empty is all of them. The measures are those of all seats.
    lines_per_band : int
        Frequencies calculated in each third octave, 1 to 24.

    Examples
    --------
    >>> import hangarc as ha
    >>> study = ha.demo.study()
    >>> study.tilt_range_deg, study.top_range_m, study.min_trim_m
    ((-4.0, 4.0), (10.0, 12.0), 5.5)
    """

    _kind: ClassVar[str] = "study"
    _core_class: ClassVar[Any] = _core.Study
    _parts: ClassVar[Mapping[str, type[Record]]] = {
        "hang": Hang,
        "venue": Venue,
        "air": Air,
        "more_airs": Air,
        "goals": Goals,
        "site": Site,
        "twin": Site,
        "beside": Neighbour,
    }

    name: str
    hang: Hang
    venue: Venue
    air: Air = dataclasses.field(default_factory=Air)
    more_airs: Sequence[Air] = ()
    splay_tolerance_deg: float = 0.0
    tilt_tolerance_deg: float = 0.0
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
    site: Site = dataclasses.field(default_factory=Site)
    twin: Site | None = None
    beside: Sequence[Neighbour] = ()
    serves: Sequence[str] = ()
    lines_per_band: int = 6

    def _repr_html_(self) -> str:
        def band(values: Sequence[float], step: float, unit: str) -> str:
            low, high = values
            return f"{low:g} to {high:g} {unit} in steps of {step:g}"

        limits = {"hoist": self.hoist_limit_n, "roof point": self.roof_point_limit_n}
        stated = ", ".join(
            f"{name} {'not stated' if limit is None else kilonewtons(limit)}"
            for name, limit in limits.items()
        )
        picks = ", ".join(f"{x:g} m" for x in self.pick_x_m) or "one, wherever it gives the tilt"
        rows = [
            ("name", self.name),
            *self.hang.summary(),
            ("venue", f"{self.venue.name}: {', '.join(area.name for area in self.venue.areas)}"),
            ("tilt", band(self.tilt_range_deg, self.tilt_step_deg, "°")),
            ("top hinge", band(self.top_range_m, self.top_step_m, "m")),
            ("picks", picks),
            ("least trim", f"{self.min_trim_m:g} m"),
            ("stated limits", stated),
            ("dynamic factor", f"{self.dynamic_factor:g}"),
        ]
        from hangarc import _pictures
        from hangarc._pose import pose

        middle_deg, middle_m = (
            (low + high) / 2.0 for low, high in (self.tilt_range_deg, self.top_range_m)
        )
        placed = pose(self.hang, middle_deg, middle_m)
        return html_table("Study", rows, _pictures.section(self.venue, placed))
