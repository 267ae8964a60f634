"""Where it hangs: the air, the seats and what stands between."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar, Literal

from hangarc import _core
from hangarc._display import html_table
from hangarc._record import Document, Record


@dataclasses.dataclass(frozen=True, kw_only=True)
class Air(Document[_core.Air]):
    """Temperature, humidity and pressure, taken as the same everywhere in the venue.

    Parameters
    ----------
    temperature_c : float
        Air temperature, −20 to 50 °C.
    humidity_percent : float
        Relative humidity, above 0 to 100 %.
    pressure_kpa : float
        Ambient pressure, above 0 to 200 kPa.

    Examples
    --------
    >>> import hangarc as ha
    >>> evening = ha.Air(temperature_c=12.0, humidity_percent=80.0)
    >>> round(ha.acoustics.sound_speed_m_s(evening), 1)
    339.1
    """

    _kind: ClassVar[str] = "air"
    _core_class: ClassVar[Any] = _core.Air

    temperature_c: float = 20.0
    humidity_percent: float = 50.0
    pressure_kpa: float = 101.325


@dataclasses.dataclass(frozen=True, kw_only=True)
class SeatArea(Record):
    """A block of seats: its floor line in the vertical section, and its width or outline in plan.

    Rows run at equal distances along the floor line: straight across, or as arcs about a centre.

    Parameters
    ----------
    name : str
        Name printed on sheets.
    profile_m : sequence of (float, float)
        Floor line in the plane y = 0, (x, z) of each corner.
    width_m : float or sequence of float
        Width of the block along its rows, everywhere or at each corner of the floor line; left out
        with an outline.
    outline_m : sequence of (float, float)
        Corners (x, y) of the block on the floor plan, in order; left out with widths. Only the
        floor inside it has seats.
    row_centre_x_m : float, optional
        The rows are arcs about the vertical line through (x, 0) here; the floor falls or rises with
        the distance from it as the floor line does.
    ear_height_m : float
        Ears above the floor.
    row_pitch_m, seat_pitch_m : float
        Distance between rows, and between seats within a row.
    places_across : int
        Places calculated across each row, 1 to 1000; 1 is the middle.
    weight : float
        How much a square metre of this block counts in measures.

    Examples
    --------
    >>> import hangarc as ha
    >>> stalls = ha.SeatArea(
    ...     name="Stalls", profile_m=[(7.0, 0.0), (23.0, 0.6)], width_m=[24.0, 29.0]
    ... )
    >>> ha.model.seat_count(ha.Venue(name="Hall (demo data)", areas=[stalls]))
    859
    """

    _kind: ClassVar[str] = "seat_area"

    name: str
    profile_m: Sequence[Sequence[float]]
    width_m: float | Sequence[float] = ()
    outline_m: Sequence[Sequence[float]] = ()
    row_centre_x_m: float | None = None
    ear_height_m: float = 1.2
    row_pitch_m: float = 0.9
    seat_pitch_m: float = 0.55
    places_across: int = 1
    weight: float = 1.0

    def __post_init__(self) -> None:
        if isinstance(self.width_m, int | float) and isinstance(self.profile_m, Sequence):
            object.__setattr__(self, "width_m", [self.width_m] * len(self.profile_m))
        super().__post_init__()


@dataclasses.dataclass(frozen=True, kw_only=True)
class Surface(Record):
    """A wall, a balcony front, a ceiling, a stage: it blocks sound and has no thickness.

    Either a line in the section that runs across the room, or a plane polygon in space.

    Parameters
    ----------
    name : str
        Name printed on sheets.
    profile_m : sequence of (float, float)
        Line in the section, (x, z) of each corner; left out with a polygon.
    across_m : (float, float), optional
        Its right and left end y across the room; left out, it goes on without end.
    polygon_m : sequence of (float, float, float)
        Corners (x, y, z) of a plane polygon that does not cross itself; left out with a line.

    Examples
    --------
    >>> import hangarc as ha
    >>> front = ha.Surface(name="balcony front", profile_m=[(30.0, 5.8), (30.0, 6.8)])
    >>> stalls = ha.SeatArea(name="Stalls", profile_m=[(7.0, 0.0), (23.0, 0.6)], width_m=24.0)
    >>> len(ha.Venue(name="Hall (demo data)", areas=[stalls], surfaces=[front]).surfaces)
    1
    """

    _kind: ClassVar[str] = "surface"

    name: str
    profile_m: Sequence[Sequence[float]] = ()
    across_m: Sequence[float] | None = None
    polygon_m: Sequence[Sequence[float]] = ()


@dataclasses.dataclass(frozen=True, kw_only=True)
class Venue(Document[_core.Venue]):
    """The audience areas of a room and what blocks sound in it, in room axes.

    Parameters
    ----------
    name : str
        Name printed on sheets.
    areas : sequence of SeatArea
        Audience areas, at least one.
    surfaces : sequence of Surface
        What blocks sound besides the floors; none between a seat's floor and its ears.
    floors_block : bool
        Whether the floors of the areas block sound.
    hidden_seats : {"keep", "leave out"}
        Whether seats that no cabinet sees count in measures, with what bends round edges to them.

    Examples
    --------
    >>> import hangarc as ha
    >>> venue = ha.demo.study().venue
    >>> [area.name for area in venue.areas]
    ['Stalls', 'Rear stalls', 'Balcony']
    """

    _kind: ClassVar[str] = "venue"
    _core_class: ClassVar[Any] = _core.Venue
    _parts: ClassVar[Mapping[str, type[Record]]] = {"areas": SeatArea, "surfaces": Surface}

    name: str
    areas: Sequence[SeatArea]
    surfaces: Sequence[Surface] = ()
    floors_block: bool = True
    hidden_seats: Literal["keep", "leave out"] = "keep"

    def _repr_html_(self) -> str:
        from hangarc import _pictures
        from hangarc.model.seating import seat_counts

        seats = seat_counts(self)
        rows = [("name", self.name)]
        rows += [
            (area.name, f"{count} seats") for area, count in zip(self.areas, seats, strict=True)
        ]
        rows += [("surface", surface.name) for surface in self.surfaces]
        return html_table("Venue", rows, _pictures.section(self))
