"""Levels of a rig at points, by distance and on maps."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import Result, instance, real, real_array, whole
from hangarc._tables import band_columns, dataset_of, place_columns
from hangarc.acoustics.air import air_or_room
from hangarc.acoustics.bands import band_numbers
from hangarc.acoustics.field import points
from hangarc.acoustics.rig import Placed, Rig, placed_rig
from hangarc.model import Air, Venue

ANY_LINE: NDArray[np.float64] = np.array([1000.0])


@dataclasses.dataclass(frozen=True, eq=False)
class PointLevels(Result):
    """Direct-sound levels at points in space; 0 dB is one element on its axis at 1 m.

    Attributes
    ----------
    position_m : ndarray, shape (n, 3)
        The points.
    band_hz : ndarray, shape (b,)
        Mid-band frequencies, IEC 61260-1:2014, base ten.
    band_level_db : ndarray, shape (b, n)
        Energy mean over the lines of each third octave.
    level_db : ndarray, shape (n,)
        Energy mean over the bands.
    greatest_level_db : ndarray, shape (n,), or None
        `level_db` with the rig driven until its first cabinet reaches its `max_level_db`, in dB re
        20 µPa, for a signal of equal energy in these bands; None is *not stated*: a cabinet
        states no such level.

    Examples
    --------
    >>> import hangarc as ha
    >>> rig = ha.Placed(hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0)
    >>> found = ha.acoustics.point_levels(rig, [(10.0, 0.0, 1.2), (40.0, 0.0, 9.0)])
    >>> found.level_db.round(1).tolist()
    [-32.6, -23.6]
    >>> found.band_level_db.shape  # third octaves, points
    (10, 2)
    """

    position_m: NDArray[np.float64]
    band_hz: NDArray[np.float64]
    band_level_db: NDArray[np.float64]
    level_db: NDArray[np.float64]
    greatest_level_db: NDArray[np.float64] | None

    def to_xarray(self) -> Any:
        """Give the levels as an xarray Dataset over band and point.

        ``band_level_db`` over (``band_hz``, ``point``) and ``level_db`` over ``point``.

        Returns
        -------
        xarray.Dataset

        Raises
        ------
        ModuleNotFoundError
            xarray is not installed.

        Examples
        --------
        >>> import hangarc as ha
        >>> rig = ha.Placed(hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0)
        >>> found = ha.acoustics.point_levels(rig, [(10.0, 0.0, 1.2), (20.0, 0.0, 1.2)])
        >>> dict(found.to_xarray().sizes)
        {'band_hz': 10, 'point': 2}
        """
        places = place_columns(self.position_m)
        return dataset_of(self, ("point",), {name: ("point", at) for name, at in places.items()})

    def _columns(self) -> dict[str, Any]:
        more = {"level_db": self.level_db, "greatest_level_db": self.greatest_level_db}
        stated = {name: value for name, value in more.items() if value is not None}
        return {**place_columns(self.position_m), **stated, **band_columns(self)}

    def _picture(self) -> str:
        from hangarc import _pictures

        distance_m = np.hypot(self.position_m[:, 0], self.position_m[:, 1])
        return _pictures.seat_levels(distance_m, self.level_db, "level, dB")


@by_name
def point_levels(
    rig: Placed | Rig,
    points_m: ArrayLike,
    *,
    air: Air | None = None,
    lowest_hz: float = 1000.0,
    highest_hz: float = 8000.0,
    lines_per_band: int = 5,
    venue: Venue | None = None,
) -> PointLevels:
    """Levels of a hang as it hangs, or of several, at points in space.

    Parameters
    ----------
    rig : Placed or Rig
        A hang as it hangs, or several.
    points_m : array_like, shape (n, 3) or (n, 2)
        Points (x, y, z), or (x, z) in the plane y = 0.
    air, lowest_hz, highest_hz, lines_per_band
        As in `seat_levels`.
    venue : Venue, optional
        As in `pressure`.

    Raises
    ------
    InputError
        As `pressure`.

    Examples
    --------
    >>> import hangarc as ha
    >>> rig = ha.Placed(hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0)
    >>> seat_m = (10.0, 0.0, 1.2)
    >>> found = ha.acoustics.point_levels(rig, [seat_m], lowest_hz=125.0, highest_hz=250.0)
    >>> found.band_hz.astype(int).tolist(), found.band_level_db.round(1).tolist()
    ([125, 158, 199, 251], [[-10.2], [-12.3], [-16.2], [-23.0]])
    """
    position_m = points("points_m", points_m)
    bands = band_numbers(lowest_hz, highest_hz)
    count = whole("lines_per_band", lines_per_band, 24)
    fields = _core.point_levels(
        placed_rig(rig)._fields_for(_core.band_lines_hz(bands, count)),
        position_m,
        air_or_room(air).handle,
        bands,
        count,
        None if venue is None else instance("venue", venue, Venue).handle,
    )
    return PointLevels(position_m=position_m, **fields)


@by_name
def level_by_distance(
    rig: Placed | Rig,
    distance_m: ArrayLike,
    *,
    height_m: float = 1.2,
    azimuth_deg: float = 0.0,
    air: Air | None = None,
    lowest_hz: float = 1000.0,
    highest_hz: float = 8000.0,
    lines_per_band: int = 5,
    venue: Venue | None = None,
) -> PointLevels:
    """Levels along a level line that leaves the origin of the floor plan.

    Parameters
    ----------
    rig : Placed or Rig
        A hang as it hangs, or several.
    distance_m : array_like, shape (n,)
        Distances from the origin.
    height_m : float
        Height above z = 0; the default is a seated ear's.
    azimuth_deg : float
        Direction of the line, positive to the left.
    air, lowest_hz, highest_hz, lines_per_band, venue
        As in `point_levels`.

    Examples
    --------
    >>> import hangarc as ha
    >>> rig = ha.Placed(hang=ha.demo.hang((0.0, 0.0, 0.0)), tilt_deg=0.0, top_m=2.0)
    >>> ha.acoustics.level_by_distance(rig, [10.0, 20.0, 40.0]).level_db.round(1).tolist()
    [-9.5, -14.9, -21.2]
    """
    distance = real_array("distance_m", distance_m, 1).ravel()
    azimuth = math.radians(real("azimuth_deg", azimuth_deg))
    height = np.full(len(distance), real("height_m", height_m))
    line = np.column_stack([distance * math.cos(azimuth), distance * math.sin(azimuth), height])
    return point_levels(
        rig,
        line,
        air=air,
        lowest_hz=lowest_hz,
        highest_hz=highest_hz,
        lines_per_band=lines_per_band,
        venue=venue,
    )


@dataclasses.dataclass(frozen=True, eq=False)
class LevelMap(Result):
    """Levels on a plane of points, ready for a contour plot.

    Attributes
    ----------
    x_m : ndarray, shape (nx,)
        Columns.
    across_m : ndarray, shape (na,)
        Rows: y of a plan, z of a section.
    band_hz : ndarray, shape (b,)
        Mid-band frequencies.
    band_level_db : ndarray, shape (b, na, nx)
        Energy mean over the lines of each third octave.
    level_db : ndarray, shape (na, nx)
        Energy mean over the bands. NaN, here and in the bands, is a point that touches a source.

    Examples
    --------
    >>> import hangarc as ha
    >>> rig = ha.Placed(hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0)
    >>> found = ha.acoustics.level_map(rig, [10.0, 20.0, 40.0], z_m=[1.2, 3.0])
    >>> found.level_db.round(1).tolist()
    [[-32.6, -29.6, -26.7], [-30.0, -25.0, -25.6]]
    """

    x_m: NDArray[np.float64]
    across_m: NDArray[np.float64]
    band_hz: NDArray[np.float64]
    band_level_db: NDArray[np.float64]
    level_db: NDArray[np.float64]

    def _picture(self) -> str:
        from hangarc import _plans

        return _plans.level_map(self)

    def to_xarray(self) -> Any:
        """Give the map as an xarray Dataset over band, row and column.

        ``band_level_db`` over (``band_hz``, ``across_m``, ``x_m``) and ``level_db``.

        Returns
        -------
        xarray.Dataset

        Raises
        ------
        ModuleNotFoundError
            xarray is not installed.

        Examples
        --------
        >>> import hangarc as ha
        >>> rig = ha.Placed(hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0)
        >>> found = ha.acoustics.level_map(rig, [10.0, 20.0], y_m=[-5.0, 0.0, 5.0])
        >>> dict(found.to_xarray().sizes)
        {'band_hz': 10, 'across_m': 3, 'x_m': 2}
        """
        axes = {"across_m": ("across_m", self.across_m), "x_m": ("x_m", self.x_m)}
        return dataset_of(self, ("across_m", "x_m"), axes)

    def _columns(self) -> dict[str, Any]:
        across, along = np.meshgrid(self.across_m, self.x_m, indexing="ij")
        flat = {"x_m": along.ravel(), "across_m": across.ravel(), "level_db": self.level_db.ravel()}
        return {**flat, **band_columns(self)}


@by_name
def level_map(
    rig: Placed | Rig,
    x_m: ArrayLike,
    *,
    y_m: ArrayLike = 0.0,
    z_m: ArrayLike = 1.2,
    air: Air | None = None,
    lowest_hz: float = 1000.0,
    highest_hz: float = 8000.0,
    lines_per_band: int = 5,
    venue: Venue | None = None,
) -> LevelMap:
    """Levels over a plan at one height, or over a vertical section at one y.

    Parameters
    ----------
    rig : Placed or Rig
        A hang as it hangs, or several.
    x_m : array_like, shape (nx,)
        Columns of the map.
    y_m, z_m : float or array_like, shape (na,)
        One of them gives the rows, the other is a number.
    air, lowest_hz, highest_hz, lines_per_band, venue
        As in `point_levels`.

    Raises
    ------
    InputError
        Both or neither of `y_m` and `z_m` are arrays; else as `pressure`.

    Examples
    --------
    >>> import hangarc as ha
    >>> rig = ha.Placed(hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0)
    >>> found = ha.acoustics.level_map(rig, [10.0, 20.0], y_m=[-5.0, 0.0, 5.0], z_m=1.2)
    >>> found.level_db.round(1).tolist()
    [[-34.6, -30.2], [-32.6, -29.6], [-34.6, -30.2]]
    """
    columns = real_array("x_m", x_m, 1).ravel()
    y, z = real_array("y_m", y_m, 1), real_array("z_m", z_m, 1)
    plan = np.ndim(y_m) == 1
    if plan == (np.ndim(z_m) == 1):
        raise InputError("z_m", z_m, "a number where y_m is an array, and an array where it is not")
    rows, still = (y, z.item()) if plan else (z, y.item())
    across, along = np.meshgrid(rows, columns, indexing="ij")
    flat = np.full(across.size, still)
    order = (across.ravel(), flat) if plan else (flat, across.ravel())
    places = points("x_m", np.column_stack([along.ravel(), *order]))
    touched = _core.touched_points(placed_rig(rig)._fields_for(ANY_LINE), places)
    levels = point_levels(
        rig,
        places[~touched],
        air=air,
        lowest_hz=lowest_hz,
        highest_hz=highest_hz,
        lines_per_band=lines_per_band,
        venue=venue,
    )
    band_level_db = np.full((len(levels.band_hz), len(places)), np.nan)
    band_level_db[:, ~touched] = levels.band_level_db
    level_db = np.full(len(places), np.nan)
    level_db[~touched] = levels.level_db
    return LevelMap(
        x_m=columns,
        across_m=rows,
        band_hz=levels.band_hz,
        band_level_db=band_level_db.reshape(len(levels.band_hz), *across.shape),
        level_db=level_db.reshape(across.shape),
    )
