"""Demo data of the lessons: hardware of round numbers, so that every lever can be read off.

Nothing here describes a real product.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._pose import pose
from hangarc._record import instance, real, real_array, whole
from hangarc.acoustics import air_absorption_db_per_m, pressure
from hangarc.model import (
    BottomFrame,
    Cabinet,
    ClosingGear,
    FlyFrame,
    Hang,
    LineElement,
    Source,
)

Levels = NDArray[np.float64]

#: So high that no floor is near, and a level that stands for silence.
HIGH_M, QUIETEST_DB = 1000.0, -300.0
#: Farther away the air leaves nothing to take its absorption out of again.
FARTHEST_M = 1000.0

#: Whole degrees, so that a splay can be read off a drawing.
POSITIONS_DEG = tuple(float(angle) for angle in range(7))

FRAME = FlyFrame(
    mass_kg=70.0,
    height_m=0.20,
    cg_m=(-0.35, 0.10),
    pick_x_m=[0.1 - 0.1 * hole for hole in range(10)],
    pick_z_m=0.20,
    chain_anchor_m=(-0.80, 0.0),
)

CABINET = Cabinet(
    name="lesson cabinet (demo data)",
    mass_kg=60.0,
    height_m=0.40,
    depth_m=0.60,
    width_m=1.00,
    cg_m=(-0.30, 0.0),
    rear_pin_x_m=-0.50,
    rear_pin_inset_m=0.05,
    rear_height_m=0.36,
    splay_positions_deg=POSITIONS_DEG,
    source=Source(elements=[LineElement(height_m=0.36)], coverage_deg=90.0),
)

BOTTOM = BottomFrame(mass_kg=20.0, cg_m=(-0.40, -0.10), chain_anchor_m=(-0.80, -0.05))

GEAR = ClosingGear(pitch_m=0.03, links=120, hoist_min_m=0.3, hoist_max_m=1.4)


@by_name
def small_hang(
    count: int = 3,
    *,
    rigging: Literal["tension", "compression"] = "compression",
    splays_deg: Sequence[float] | None = None,
) -> Hang:
    """Build the hang of the lessons: cabinets of 60 kg, 0.40 m high, pinned in whole degrees.

    Fly frame 70 kg, its centre of gravity 0.35 m behind the front hinge. Each cabinet's centre of
    gravity lies 0.30 m behind the hinge, its rear pins 0.50 m. A compression hang has a bottom
    frame of 20 kg, its centre of gravity 0.40 m behind the hinge, and a chain 0.80 m behind the
    hinges. Demo data.

    Parameters
    ----------
    count : int
        Cabinets, 1 to 24.
    rigging : {"tension", "compression"}
        How the rear is joined.
    splays_deg : sequence of float, optional
        Splays, whole degrees from 0 to 6; left out, all 0.

    Returns
    -------
    Hang

    Raises
    ------
    InputError
        A count out of range, or a splay that the cabinet has no pin for.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.lesson.small_hang(3)
    >>> len(hang.cabinets), hang.rigging
    (3, 'compression')
    """
    if not 1 <= whole("count", count) <= 24:
        raise InputError("count", count, "1 to 24")
    closed = isinstance(rigging, str) and rigging == "compression"
    return Hang(
        frame=FRAME,
        cabinets=[CABINET] * count,
        splays_deg=[0.0] * (count - 1) if splays_deg is None else splays_deg,
        rigging=rigging,
        bottom=BOTTOM if closed else None,
        gear=GEAR if closed else None,
        open_limit_deg=-2.0,
    )


@by_name
def line_source(
    length_m: float, *, count: int = 16, arc_deg: float = 0.0, fill: float = 1.0
) -> Hang:
    """Build a line source in equal pieces that radiate alike to all sides, without a shape.

    Parameters
    ----------
    length_m : float
        Length from the uppermost to the lowest end, above 0.
    count : int
        Pieces, 2 to 400.
    arc_deg : float
        Angle by which the last piece aims below the first, 0 to 180; 0 is a straight line.
    fill : float
        Share of each piece that radiates, above 0 to 1.

    Returns
    -------
    Hang
        Hung with its uppermost end at `top_m`; demo data.

    Raises
    ------
    InputError
        A number out of range.

    Examples
    --------
    >>> import hangarc as ha
    >>> line = ha.lesson.line_source(4.0, count=8)
    >>> len(line.cabinets), line.cabinets[0].height_m
    (8, 0.5)
    """
    for name, value, low, high in (
        ("length_m", length_m, 0.0, 100.0),
        ("arc_deg", arc_deg, -1e-9, 180.0),
        ("fill", fill, 0.0, 1.0),
    ):
        if not low < real(name, value) <= high:
            raise InputError(name, value, f"above {max(low, 0.0):g}, up to {high:g}")
    if not 2 <= whole("count", count) <= 400:
        raise InputError("count", count, "2 to 400")
    piece_m = length_m / count
    splay_deg = arc_deg / (count - 1)
    piece = Cabinet(
        name="piece of a line (demo data)",
        mass_kg=5.0,
        height_m=piece_m,
        depth_m=0.4,
        width_m=0.8,
        cg_m=(-0.2, 0.0),
        rear_pin_x_m=-0.3,
        rear_pin_inset_m=piece_m / 5,
        splay_positions_deg=sorted({0.0, splay_deg}),
        source=Source(elements=[LineElement(height_m=piece_m * fill)]),
    )
    frame = FlyFrame(
        mass_kg=20.0, height_m=0.2, cg_m=(-0.2, 0.1), pick_x_m=[0.0, -0.3], pick_z_m=0.2
    )
    return Hang(
        frame=frame, cabinets=[piece] * count, splays_deg=[splay_deg] * (count - 1),
        rigging="tension",
    )  # fmt: skip


@by_name
def level_db(line: Hang, distance_m: Sequence[float], frequency_hz: Sequence[float]) -> Levels:
    """Level of a line source in front of its middle, without the air's absorption.

    The energy mean over the frequencies; 0 dB is one piece at 1 m.

    Parameters
    ----------
    line : Hang
        What `line_source` gave.
    distance_m, frequency_hz : sequence of float
        Distances from the middle of the line, up to 1000; frequencies to take the mean over, 20 to
        20,000.

    Returns
    -------
    ndarray, shape (distances,)

    Raises
    ------
    InputError
        A distance or a frequency out of range, or as `hangarc.pressure`.

    Examples
    --------
    >>> import hangarc as ha
    >>> line = ha.lesson.line_source(4.0)
    >>> ha.lesson.level_db(line, [100.0, 200.0], [1000.0]).round(1).tolist()
    [-16.0, -22.0]
    """
    far = np.atleast_1d(real_array("distance_m", distance_m, 1))
    for index, distance in enumerate(far):
        _near_enough(f"distance_m[{index}]", distance)
    start, ahead = _middle(line)
    return _mean_level_db(line, start + far[:, None] * ahead, far, frequency_hz)


@by_name
def pattern_db(
    line: Hang, angle_deg: Sequence[float], frequency_hz: Sequence[float], distance_m: float
) -> Levels:
    """Level of a line source around its middle, over that on its axis, without absorption.

    Parameters
    ----------
    line : Hang
        What `line_source` gave.
    angle_deg : sequence of float
        Angles up from the axis of its middle.
    frequency_hz : sequence of float
        Frequencies to take the mean over.
    distance_m : float
        Distance from the middle, above 0, up to 1000.

    Returns
    -------
    ndarray, shape (angles,)

    Raises
    ------
    InputError
        As `level_db`.

    Examples
    --------
    >>> import hangarc as ha
    >>> line = ha.lesson.line_source(4.0)
    >>> ha.lesson.pattern_db(line, [0.0, 30.0], [1000.0], 200.0).round(0).tolist()
    [0.0, -30.0]
    """
    _near_enough("distance_m", real("distance_m", distance_m))
    start, ahead = _middle(line)
    angles = np.radians(np.append(np.atleast_1d(real_array("angle_deg", angle_deg, 1)), 0.0))
    (x, z), far = ahead, np.full(len(angles), distance_m)
    ways = np.column_stack(
        [x * np.cos(angles) - z * np.sin(angles), x * np.sin(angles) + z * np.cos(angles)]
    )
    around = _mean_level_db(line, start + distance_m * ways, far, frequency_hz)
    over: Levels = np.subtract(around[:-1], around[-1])
    return over


def _near_enough(field: str, distance_m: float) -> None:
    if not 0.0 < distance_m <= FARTHEST_M:
        raise InputError(field, distance_m, f"above 0, up to {FARTHEST_M:g}")


def _middle(line: Hang) -> tuple[Levels, Levels]:
    """Middle of the front of a line high above everything, and the way ahead of it."""
    placed = pose(instance("line", line, Hang), 0.0, HIGH_M)
    middle, odd = divmod(len(placed.axis_deg), 2)
    axis = np.radians(np.mean(placed.axis_deg))
    start = placed.front_m[middle] if odd else placed.hinge_m[middle]
    return start, np.array([np.cos(axis), np.sin(axis)])


def _mean_level_db(line: Hang, points_m: Levels, far_m: Levels, frequency_hz: Any) -> Levels:
    f = np.atleast_1d(real_array("frequency_hz", frequency_hz, 1))
    if not f.size or not ((f >= 20.0) & (f <= 20_000.0)).all():
        raise InputError("frequency_hz", frequency_hz, "at least one, each 20 to 20,000 Hz")
    p = pressure(line, 0.0, HIGH_M, points_m, f)
    kept_db = np.outer(air_absorption_db_per_m(f), far_m)
    with np.errstate(divide="ignore"):
        found: Levels = 10.0 * np.log10(np.mean(np.abs(p) ** 2 * 10.0 ** (kept_db / 10.0), axis=0))
    quiet: Levels = np.asarray(np.maximum(found, QUIETEST_DB))
    return quiet
