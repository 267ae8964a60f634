"""Which load hangs on which point of the roof? A table, a DXF layer and an MVR scene of them.

An aid to qualified persons: manufacturers' manuals, local codes and licensed engineers prevail.
Every output carries this sentence.

Examples
--------
>>> import hangarc as ha
>>> from hangarc.io import roof_plot
>>> legs = ha.bridle([(0.0, -1.5, 16.0), (0.0, 1.5, 16.0)], load_n=4_000.0, apex_m=(0.0, 0.0, 14.0))
>>> points = roof_plot.bridle_points(legs, [(0.0, -1.5, 16.0), (0.0, 1.5, 16.0)], ["P8", "P9"])
>>> print(roof_plot.roof_table_csv(points).splitlines()[1])
P8,0.0,-1.5,16.0,2000.0,-0.0,1500.0,2000.0,not stated,not stated,not stated,not stated
"""

from __future__ import annotations

import csv
import dataclasses
import io
import os
import uuid
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import FaceType, instance, listed, real, real_array
from hangarc.suspension.bridles import Bridle

CAUTION = (
    "An aid to qualified persons. Manufacturers' manuals, local codes and licensed engineers "
    "prevail."
)

COLUMNS = (
    "point",
    "x_m",
    "y_m",
    "z_m",
    "vertical_n",
    "horizontal_x_n",
    "horizontal_y_n",
    "dynamic_vertical_n",
    "least_n",
    "greatest_n",
    "limit_n",
    "utilisation",
)

NOT_STATED = "not stated"


@dataclasses.dataclass(frozen=True, kw_only=True)
class RoofPoint(FaceType):
    """A load on one point of the roof.

    Parameters
    ----------
    name : str
        Name of the point.
    x_m, y_m, z_m : float
        Place in room axes.
    vertical_n : float
        Load at rest, positive down, hoist and chain included.
    horizontal_x_n, horizontal_y_n : float
        Horizontal force on the point, room axes.
    dynamic_factor : float
        Factor on the vertical load for starting and stopping, at least 1.
    least_n, greatest_n : float, optional
        Spread of the vertical load without its factor, e.g. the quantiles of `hoist_scatter` or the
        greatest while the hang is built.
    limit_n : float, optional
        Stated limit of the point for the vertical load; left out, not stated.

    Examples
    --------
    >>> import hangarc as ha
    >>> from hangarc.io import roof_plot
    >>> anchors_m = [(0.0, -1.5, 16.0), (0.0, 1.5, 16.0)]
    >>> legs = ha.bridle(anchors_m, load_n=4_000.0, apex_m=(0.0, 0.0, 14.0))
    >>> point = roof_plot.bridle_points(legs, anchors_m, ["P8", "P9"])[0]
    >>> point.name, round(point.vertical_n), round(point.horizontal_y_n), point.limit_n
    ('P8', 2000, 1500, None)
    """

    name: str
    x_m: float
    y_m: float
    z_m: float
    vertical_n: float
    horizontal_x_n: float = 0.0
    horizontal_y_n: float = 0.0
    dynamic_factor: float = 1.0
    least_n: float | None = None
    greatest_n: float | None = None
    limit_n: float | None = None

    def __post_init__(self) -> None:
        instance("name", self.name, str)
        for field in dataclasses.fields(self):
            value = getattr(self, field.name)
            optional = field.name in ("least_n", "greatest_n", "limit_n")
            if field.name != "name" and not (optional and value is None):
                object.__setattr__(self, field.name, real(field.name, value))
        if self.dynamic_factor < 1.0:
            raise InputError("dynamic_factor", self.dynamic_factor, "a number of at least 1")
        if self.limit_n is not None and self.limit_n <= 0.0:
            raise InputError("limit_n", self.limit_n, "a number above 0")

    @property
    def dynamic_vertical_n(self) -> float:
        """Vertical load with its dynamic factor."""
        return self.vertical_n * self.dynamic_factor

    @property
    def governing_n(self) -> float:
        """Greatest vertical load: at rest or of its spread, with its dynamic factor."""
        spread = self.vertical_n if self.greatest_n is None else self.greatest_n
        return max(self.vertical_n, spread) * self.dynamic_factor

    @property
    def utilisation(self) -> float | None:
        """Governing load over the stated limit; None is not stated, and never a pass."""
        return None if self.limit_n is None else self.governing_n / self.limit_n


@by_name
def bridle_points(
    bridle: Bridle,
    anchors_m: Sequence[Sequence[float]],
    names: Sequence[str],
    *,
    dynamic_factor: float = 1.0,
    limit_n: float | None = None,
) -> list[RoofPoint]:
    """Give the roof points of a bridle's anchors.

    Parameters
    ----------
    bridle : Bridle
        The bridle.
    anchors_m : sequence of points
        Its anchors, (x, z) or (x, y, z), in its order.
    names : sequence of str
        A name for each.
    dynamic_factor : float
        Factor on the vertical load, at least 1.
    limit_n : float, optional
        Stated limit of each anchor for the vertical load.

    Returns
    -------
    list of RoofPoint

    Raises
    ------
    InputError
        Not one name and one anchor a leg.

    Examples
    --------
    >>> import hangarc as ha
    >>> from hangarc.io import roof_plot
    >>> anchors_m = [(0.0, -1.5, 16.0), (0.0, 1.5, 16.0)]
    >>> legs = ha.bridle(anchors_m, load_n=4_000.0, apex_m=(0.0, 0.0, 14.0))
    >>> points = roof_plot.bridle_points(legs, anchors_m, ["P8", "P9"], dynamic_factor=1.3)
    >>> [round(point.vertical_n) for point in points]
    [2000, 2000]
    """
    legs = len(instance("bridle", bridle, Bridle).force_n)
    places_m = real_array("anchors_m", anchors_m, 2)
    given_names = listed("names", names)
    if places_m.ndim != 2 or len(places_m) != legs or places_m.shape[1] not in (2, 3):
        raise InputError("anchors_m", anchors_m, f"{legs} points (x, z) or (x, y, z), one per leg")
    if len(given_names) != legs:
        raise InputError("names", names, f"{legs} of them, one per leg")
    points = []
    for name, anchor, force in zip(given_names, places_m, bridle.anchor_force_n, strict=True):
        place, pull = (
            np.insert(values, 1, 0.0) if len(values) == 2 else values for values in (anchor, force)
        )
        points.append(
            RoofPoint(
                name=name,
                x_m=place[0],
                y_m=place[1],
                z_m=place[2],
                vertical_n=-float(pull[2]),
                horizontal_x_n=float(pull[0]),
                horizontal_y_n=float(pull[1]),
                dynamic_factor=dynamic_factor,
                limit_n=limit_n,
            )
        )
    return points


@by_name
def roof_table(points: Sequence[RoofPoint]) -> list[dict[str, float | str]]:
    """Give one row per point, the fields of `COLUMNS`; what nobody stated reads `not stated`.

    Parameters
    ----------
    points : sequence of RoofPoint
        At least one, with names of their own.

    Returns
    -------
    list of dict

    Raises
    ------
    InputError
        No point, something else, or a name given twice.

    Examples
    --------
    >>> import hangarc as ha
    >>> from hangarc.io import roof_plot
    >>> anchors_m = [(0.0, -1.5, 16.0), (0.0, 1.5, 16.0)]
    >>> legs = ha.bridle(anchors_m, load_n=4_000.0, apex_m=(0.0, 0.0, 14.0))
    >>> rows = roof_plot.roof_table(roof_plot.bridle_points(legs, anchors_m, ["P8", "P9"]))
    >>> sorted(rows[0])[:3]
    ['dynamic_vertical_n', 'greatest_n', 'horizontal_x_n']
    """
    points = _checked(points)
    rows = []
    for point in points:
        row: dict[str, float | str] = {"point": point.name}
        for column in COLUMNS[1:]:
            value = getattr(point, column)
            row[column] = NOT_STATED if value is None else value
        rows.append(row)
    return rows


@by_name
def roof_table_csv(points: Sequence[RoofPoint]) -> str:
    """Give `roof_table` as CSV text, its last line the caution.

    Parameters
    ----------
    points : sequence of RoofPoint
        At least one, with names of their own.

    Returns
    -------
    str

    Raises
    ------
    InputError
        As `roof_table`.

    Examples
    --------
    >>> import hangarc as ha
    >>> from hangarc.io import roof_plot
    >>> anchors_m = [(0.0, -1.5, 16.0), (0.0, 1.5, 16.0)]
    >>> legs = ha.bridle(anchors_m, load_n=4_000.0, apex_m=(0.0, 0.0, 14.0))
    >>> table = roof_plot.roof_table_csv(roof_plot.bridle_points(legs, anchors_m, ["P8", "P9"]))
    >>> len(table.splitlines())
    4
    """
    text = io.StringIO()
    writer = csv.DictWriter(text, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(roof_table(points))
    text.write(f"# {CAUTION}\n")
    return text.getvalue()


@by_name
def write_roof_dxf(
    points: Sequence[RoofPoint],
    path: str | os.PathLike[str],
    *,
    layer: str = "POINT LOADS",
    text_height_m: float = 0.15,
) -> None:
    """Write the points to a layer of a DXF drawing in metres: a cross, its loads, the caution.

    Parameters
    ----------
    points : sequence of RoofPoint
        At least one, with names of their own.
    path : path
        The file, overwritten.
    layer : str
        Name of the layer.
    text_height_m : float
        Height of the text, above 0.

    Raises
    ------
    InputError
        As `roof_table`, or a text height not above 0.

    Examples
    --------
    >>> import hangarc as ha
    >>> import pathlib
    >>> import tempfile
    >>> from hangarc.io import roof_plot
    >>> anchors_m = [(0.0, -1.5, 16.0), (0.0, 1.5, 16.0)]
    >>> legs = ha.bridle(anchors_m, load_n=4_000.0, apex_m=(0.0, 0.0, 14.0))
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "roof.dxf"
    >>> roof_plot.write_roof_dxf(roof_plot.bridle_points(legs, anchors_m, ["P8", "P9"]), path)
    >>> path.stat().st_size > 0
    True
    """
    from ezdxf import units
    from ezdxf.filemanagement import new

    points = _checked(points)
    height = real("text_height_m", text_height_m)
    if height <= 0.0:
        raise InputError("text_height_m", text_height_m, "a number above 0")
    drawing = new("R2010", units=units.M)
    drawing.layers.add(layer)
    space = drawing.modelspace()
    for point in points:
        place = (point.x_m, point.y_m, point.z_m)
        space.add_point(place, dxfattribs={"layer": layer})
        for dx, dy in ((height, 0.0), (0.0, height)):
            start = (point.x_m - dx, point.y_m - dy, point.z_m)
            end = (point.x_m + dx, point.y_m + dy, point.z_m)
            space.add_line(start, end, dxfattribs={"layer": layer})
        text = space.add_mtext(
            "\\P".join(_lines(point)), dxfattribs={"layer": layer, "char_height": height}
        )
        text.set_location((point.x_m + 1.5 * height, point.y_m + height, point.z_m))
    low_x = min(point.x_m for point in points)
    low_y = min(point.y_m for point in points)
    note = space.add_mtext(CAUTION, dxfattribs={"layer": layer, "char_height": height})
    note.set_location((low_x, low_y - 4.0 * height, 0.0))
    drawing.saveas(path)


@by_name
def write_roof_mvr(
    points: Sequence[RoofPoint],
    path: str | os.PathLike[str],
    *,
    layer: str = "Point loads",
    chain_m: float = 0.0,
) -> None:
    """Write the points as `Support` objects of an MVR scene (DIN SPEC 15801), by pymvr.

    The standard's `Support` has a place (millimetres, z up) and a chain length, but no field for
    loads: they stand in the object's name, and as CSV in the scene's user data.

    Parameters
    ----------
    points : sequence of RoofPoint
        At least one, with names of their own.
    path : path
        The file, overwritten.
    layer : str
        Name of the layer.
    chain_m : float
        Chain length of every support.

    Raises
    ------
    InputError
        As `roof_table`.

    Examples
    --------
    >>> import hangarc as ha
    >>> import pathlib
    >>> import tempfile
    >>> from hangarc.io import roof_plot
    >>> anchors_m = [(0.0, -1.5, 16.0), (0.0, 1.5, 16.0)]
    >>> legs = ha.bridle(anchors_m, load_n=4_000.0, apex_m=(0.0, 0.0, 14.0))
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "roof.mvr"
    >>> roof_plot.write_roof_mvr(roof_plot.bridle_points(legs, anchors_m, ["P8", "P9"]), path)
    >>> path.stat().st_size > 0
    True
    """
    import pymvr

    text = roof_table_csv(points)
    chain = real("chain_m", chain_m)
    supports = [
        pymvr.Support(
            name=" | ".join(_lines(point)),
            uuid=str(uuid.uuid5(uuid.NAMESPACE_URL, f"hangarc:{layer}:{point.name}")),
            matrix=pymvr.Matrix(_place_mm(point)),
            geometries=pymvr.Geometries(),
            chain_length=chain * 1000.0,
        )
        for point in points
    ]
    scene = pymvr.Scene(
        layers=pymvr.Layers(
            [
                pymvr.Layer(
                    name=layer,
                    uuid=str(uuid.uuid5(uuid.NAMESPACE_URL, f"hangarc:{layer}")),
                    child_list=pymvr.ChildList(supports=supports),
                )
            ]
        )
    )
    writer = pymvr.GeneralSceneDescriptionWriter()
    data = pymvr.Data(provider="hangarc")
    data.text = text
    writer.serialize_user_data(pymvr.UserData([data]))
    writer.serialize_scene(scene)
    writer.write_mvr(str(Path(path)))


def _checked(given: Sequence[RoofPoint]) -> list[RoofPoint]:
    points = listed("points", given, "a list of RoofPoint")
    if not points:
        raise InputError("points", given, "at least one RoofPoint")
    seen: set[str] = set()
    for index, point in enumerate(points):
        name = instance(f"points[{index}]", point, RoofPoint).name
        if name in seen:
            raise InputError(f"points[{index}].name", name, "a name of its own")
        seen.add(name)
    return points


def _lines(point: RoofPoint) -> list[str]:
    """Name and loads in kilonewtons, the horizontal ones where there are any."""
    lines = [point.name, f"V {point.vertical_n / 1000:.2f} kN"]
    horizontal_n = float(np.hypot(point.horizontal_x_n, point.horizontal_y_n))
    if horizontal_n > 0.0:
        lines.append(f"H {horizontal_n / 1000:.2f} kN")
    if point.dynamic_factor > 1.0:
        lines.append(f"V dynamic {point.dynamic_vertical_n / 1000:.2f} kN")
    if point.least_n is not None and point.greatest_n is not None:
        lines.append(f"V from {point.least_n / 1000:.2f} to {point.greatest_n / 1000:.2f} kN")
    elif point.greatest_n is not None:
        lines.append(f"V up to {point.greatest_n / 1000:.2f} kN")
    return lines


def _place_mm(point: RoofPoint) -> list[list[float]]:
    place = [point.x_m * 1000.0, point.y_m * 1000.0, point.z_m * 1000.0, 0.0]
    return [[1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0], place]
