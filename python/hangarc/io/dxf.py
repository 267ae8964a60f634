"""Which seats does a drawing show? A venue's section read from a DXF file, and written to one.

A section is drawn in one plane: the drawing's x axis runs along the room, its y axis (or z, for a
drawing in space) is up. Every floor line is an open chain of straight lines on a layer of its own
or shared with others. The drawing's units and origin are turned into room axes: metres, x = 0 and
z = 0 at the point of the floor under the hang, x forward.

A floor plan gives the outlines of the same seats: how far they reach to the sides.

Examples
--------
>>> import hangarc as ha
>>> from hangarc.io import dxf
>>> sorted(ha.demo.section_layers())
['SEATS-BALCONY', 'SEATS-STALLS', 'SEATS-STALLS-REAR']
>>> dxf.read_venue(
...     ha.demo.SECTION_DXF, ha.demo.section_layers(), origin=ha.demo.ORIGIN_LAYER
... ).areas[0].profile_m
((7.0, 0.0), (15.0, 0.0), (23.0, 0.6))
"""

from __future__ import annotations

import contextlib
import dataclasses
import os
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from hangarc._errors import InputError, beside
from hangarc._keywords import by_name
from hangarc._record import instance, real
from hangarc.io.floor_lines import Corner, FloorLine, floor_lines, held, on_layer, outline
from hangarc.model import SeatArea, Venue

if TYPE_CHECKING:
    from ezdxf.document import Drawing


DIRECTIONS = {"right": 1.0, "left": -1.0}


@by_name
def read_venue(
    path: str | os.PathLike[str],
    layers: Mapping[str, Mapping[str, Any]],
    *,
    name: str | None = None,
    unit_m: float | None = None,
    origin: Sequence[float] | str = (0.0, 0.0),
    forward: Literal["right", "left"] = "right",
    up: Literal["y", "z"] = "y",
    flatten_m: float | None = None,
) -> Venue:
    """Read the seat areas of a venue from a section drawn in a DXF file.

    Lines that meet end to end on a layer make one floor line; each floor line makes one area, its
    corners ordered from the hang outwards. Text, dimensions, hatches and inserted blocks on the
    layers are not seats and are left out.

    Parameters
    ----------
    path : path
        The DXF file.
    layers : mapping of str to mapping
        For each layer to be read, the fields of its `SeatArea` other than `profile_m`;
        `width_m` is required, `name` defaults to the layer's. Several floor lines on one layer
        get their number behind the name, counted from the hang.
    name : str, optional
        Name of the venue; left out, the file's name without its ending.
    unit_m : float, optional
        Metres per drawing unit; left out, taken from the drawing's header ($INSUNITS).
    origin : (float, float) or str
        The floor under the hang, in drawing units; or the layer that holds one POINT there.
    forward : {"right", "left"}
        Where the hang faces in the drawing.
    up : {"y", "z"}
        The drawing's axis that points up; the third axis must not vary along a floor line.
    flatten_m : float, optional
        Replace curves by chords no farther than this from them; left out, curves are refused.

    Returns
    -------
    Venue

    Raises
    ------
    InputError
        The file is not a readable DXF; a layer is not in it (the error lists those that are) or
        holds no floor line; a curve without `flatten_m`; a closed or branching line; no unit; or
        an area's fields are refused.

    Examples
    --------
    >>> import hangarc as ha
    >>> from hangarc.io import dxf
    >>> layers = {"SEATS-STALLS": {"name": "Stalls", "width_m": 26.0}}
    >>> venue = dxf.read_venue(ha.demo.SECTION_DXF, layers, origin=ha.demo.ORIGIN_LAYER)
    >>> ha.model.seat_count(venue)
    846
    """
    path = Path(path)
    sign = _choice("forward", forward, DIRECTIONS)
    height_axis = _choice("up", up, {"y": 1, "z": 2})
    if flatten_m is not None and real("flatten_m", flatten_m) <= 0.0:
        raise InputError("flatten_m", flatten_m, "a number above 0")
    if not isinstance(layers, Mapping) or not layers:
        raise InputError("layers", layers, "at least one layer with the fields of its seats")
    with _refusing_broken_files(path):
        drawing = _open(path)
        units_per_m = _units_per_m(drawing, unit_m)
        origin_x, origin_z = _origin(drawing, origin, height_axis)

        def in_room(corner: Corner) -> Corner:
            x, z = corner
            return sign * (x - origin_x) / units_per_m, (z - origin_z) / units_per_m

        areas: list[SeatArea] = []
        for layer, fields in layers.items():
            lines = floor_lines(drawing, layer, height_axis, units_per_m, flatten_m)
            profiles = sorted(_outwards([in_room(corner) for corner in line]) for line in lines)
            for number, profile in enumerate(profiles, start=1):
                areas.append(_area(layer, fields, profile, number if len(profiles) > 1 else None))
    return Venue(name=path.stem if name is None else name, areas=areas)


@by_name
def with_plan(
    venue: Venue,
    path: str | os.PathLike[str],
    layers: Mapping[str, str],
    *,
    unit_m: float | None = None,
    origin: Sequence[float] | str = (0.0, 0.0),
    forward: Literal["right", "left"] = "right",
    flatten_m: float | None = None,
) -> Venue:
    """Give a venue the outlines of its seats from a floor plan drawn in a DXF file.

    The section says how the floor rises (`read_venue`), the plan how far the seats reach: each
    layer holds one closed outline, whose corners become the area's `outline_m` in place of its
    `width_m`. The drawing's x axis runs along the room, its y axis across, to the left where it
    faces right.

    Parameters
    ----------
    venue : Venue
        The venue, as `read_venue` gave it.
    path : path
        The DXF file.
    layers : mapping of str to str
        For each layer to be read, the name of the area it outlines; other areas stay as they are.
    unit_m, origin, forward, flatten_m
        As in `read_venue`; `origin` is the point of the floor plan under the hang.

    Returns
    -------
    Venue

    Raises
    ------
    InputError
        As `read_venue`; an area that the venue does not have, or a layer that does not hold one
        closed line.

    Examples
    --------
    >>> import hangarc as ha
    >>> import pathlib
    >>> import tempfile
    >>> from ezdxf.filemanagement import new
    >>> from hangarc.io import dxf
    >>> drawing = new()
    >>> outline = [(7_000, -12_000), (23_000, -14_500), (23_000, 14_500), (7_000, 12_000)]
    >>> line = drawing.modelspace().add_lwpolyline(outline, close=True)
    >>> line.dxf.layer = "STALLS"
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "plan.dxf"
    >>> drawing.saveas(path)
    >>> venue = dxf.with_plan(ha.demo.study().venue, path, {"STALLS": "Stalls"}, unit_m=0.001)
    >>> len(venue.areas[0].outline_m)
    4
    """
    path = Path(path)
    sign = _choice("forward", forward, DIRECTIONS)
    if flatten_m is not None and real("flatten_m", flatten_m) <= 0.0:
        raise InputError("flatten_m", flatten_m, "a number above 0")
    if not isinstance(layers, Mapping) or not layers:
        raise InputError("layers", layers, "at least one layer with the name of its area")
    names = [area.name for area in venue.areas]
    outlines: dict[str, list[Corner]] = {}
    with _refusing_broken_files(path):
        drawing = _open(path)
        units_per_m = _units_per_m(drawing, unit_m)
        origin_x, origin_y = _origin(drawing, origin, 1)
        for layer, name in layers.items():
            if name not in names:
                raise InputError(f"layers[{layer}]", name, f"one of {', '.join(names)}")
            outlines[name] = [
                (sign * (x - origin_x) / units_per_m, sign * (y - origin_y) / units_per_m)
                for x, y in outline(drawing, layer, units_per_m, flatten_m)
            ]
    areas = []
    for area in venue.areas:
        if area.name in outlines:
            try:
                area = dataclasses.replace(area, width_m=(), outline_m=outlines[area.name])
            except InputError as error:
                field = f"areas[{area.name}].{error.field}"
                raise InputError(field, error.value, error.allowed) from None
        areas.append(area)
    return dataclasses.replace(venue, areas=areas)


@by_name
def write_section(
    path: str | os.PathLike[str],
    venue: Venue,
    *,
    layers: Sequence[str] | None = None,
    unit: Literal["mm", "cm", "m"] = "mm",
    origin: Sequence[float] = (0.0, 0.0),
    origin_layer: str = "HANG",
) -> None:
    """Draw the floor lines of `venue` as polylines, each on a layer, in a DXF file.

    Parameters
    ----------
    path : path
        The DXF file to be written.
    venue : Venue
        The seats.
    layers : sequence of str, optional
        One layer for each area; left out, the areas' names.
    unit : {"mm", "cm", "m"}
        The drawing's unit.
    origin : (float, float)
        Where the floor under the hang is drawn, in drawing units; a POINT stands there.
    origin_layer : str
        Layer of that point.

    Raises
    ------
    InputError
        As many layers as areas are not given, or the unit is none of those listed.

    Examples
    --------
    >>> import hangarc as ha
    >>> import pathlib
    >>> import tempfile
    >>> from hangarc.io import dxf
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "section.dxf"
    >>> layers = ["STALLS", "REAR", "BALCONY"]
    >>> dxf.write_section(path, ha.demo.study().venue, layers=layers, unit="mm")
    >>> path.stat().st_size > 0
    True
    """
    instance("venue", venue, Venue)
    if not isinstance(origin, Sequence) or isinstance(origin, str) or len(origin) != 2:
        raise InputError("origin", origin, "two numbers, (x, z)")
    ezdxf = _ezdxf()
    from ezdxf import units
    from ezdxf.enums import InsertUnits

    codes = {
        "mm": InsertUnits.Millimeters,
        "cm": InsertUnits.Centimeters,
        "m": InsertUnits.Meters,
    }
    code = _choice("unit", unit, codes)
    names = [area.name for area in venue.areas] if layers is None else list(layers)
    if len(names) != len(venue.areas):
        raise InputError("layers", names, f"{len(venue.areas)} layers, one for each area")
    per_m = units.conversion_factor(InsertUnits.Meters, code)
    at_x, at_z = (real("origin", part) for part in origin)
    drawing = ezdxf.new("R2010", setup=False, units=code)
    space = drawing.modelspace()
    drawing.layers.add(origin_layer)
    space.add_point((at_x, at_z), dxfattribs={"layer": origin_layer})
    for layer, area in zip(names, venue.areas, strict=True):
        if layer not in drawing.layers:
            drawing.layers.add(layer)
        corners = [(at_x + x * per_m, at_z + z * per_m) for x, z in area.profile_m]
        space.add_lwpolyline(corners, dxfattribs={"layer": layer})
        label = space.add_text(area.name, height=0.5 * per_m, dxfattribs={"layer": layer})
        label.set_placement((corners[0][0], corners[0][1] - per_m))
    # They come from a set, so in another order each time.
    drawing.classes.add_required_classes(drawing.dxfversion)
    drawing.classes.classes = dict(sorted(drawing.classes.classes.items()))
    drawing.saveas(path)


def _ezdxf() -> Any:
    try:
        import ezdxf
    except ModuleNotFoundError as error:
        raise ModuleNotFoundError("DXF files need ezdxf: pip install 'hangarc[io]'") from error
    return ezdxf


def _choice(field: str, value: Any, choices: Mapping[str, Any]) -> Any:
    if not isinstance(value, str) or value not in choices:
        raise InputError(field, value, f"one of {', '.join(choices)}")
    return choices[value]


@contextlib.contextmanager
def _refusing_broken_files(path: Path) -> Iterator[None]:
    """Name the file where its parser stumbles, over which exception is anybody's guess."""
    try:
        yield
    except (InputError, ModuleNotFoundError, MemoryError):
        raise
    except Exception as error:
        said = f"{type(error).__name__}: {error}".rstrip(": ")
        raise InputError("path", path, f"a DXF file that is whole ({said})") from error


def _open(path: Path) -> Drawing:
    ezdxf = _ezdxf()
    try:
        drawing: Drawing = ezdxf.readfile(path)
    except OSError as error:
        why = f"{error.strerror or error}{beside(path)}"
        raise InputError("path", path, f"a readable DXF file ({why})") from None
    except (ezdxf.DXFError, UnicodeError) as error:
        raise InputError("path", path, f"a readable DXF file ({error})") from None
    return drawing


def _units_per_m(drawing: Drawing, unit_m: float | None) -> float:
    from ezdxf import units
    from ezdxf.enums import InsertUnits

    if unit_m is not None:
        if real("unit_m", unit_m) <= 0.0:
            raise InputError("unit_m", unit_m, "a number above 0")
        return 1.0 / unit_m
    try:
        return units.conversion_factor(InsertUnits.Meters, InsertUnits(drawing.units))
    except (TypeError, ValueError):
        raise InputError(
            "unit_m", None, f"metres per drawing unit; the drawing's header says {drawing.units}"
        ) from None


def _origin(drawing: Drawing, origin: Sequence[float] | str, height_axis: int) -> Corner:
    if isinstance(origin, str):
        entities = on_layer(drawing, "origin", origin)
        points = [entity for entity in entities if entity.dxftype() == "POINT"]
        if len(points) != 1:
            raise InputError("origin", origin, f"a layer with one POINT; it holds {held(entities)}")
        location = points[0].dxf.location
        return location[0], location[height_axis]
    if not isinstance(origin, Sequence) or len(origin) != 2:
        raise InputError("origin", origin, "two numbers, or a layer's name")
    return real("origin[0]", origin[0]), real("origin[1]", origin[1])


def _outwards(profile: FloorLine) -> FloorLine:
    return profile[::-1] if profile[-1] < profile[0] else profile


def _area(
    layer: str, fields: Mapping[str, Any], profile: FloorLine, number: int | None
) -> SeatArea:
    if not isinstance(fields, Mapping):
        raise InputError(f"layers[{layer}]", fields, "the fields of a SeatArea")
    if "profile_m" in fields:
        raise InputError(f"layers[{layer}].profile_m", "given", "left out; the drawing gives it")
    name = str(fields.get("name", layer))
    named = name if number is None else f"{name} {number}"
    try:
        return SeatArea.from_dict({**fields, "name": named, "profile_m": profile})
    except InputError as error:
        raise InputError(f"layers[{layer}].{error.field}", error.value, error.allowed) from None
