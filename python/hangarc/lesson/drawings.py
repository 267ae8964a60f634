"""Drawings of the lessons, to scale, made from what the library calculates."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc._colours import FIRST, INK, PALE, SECOND, THIRD
from hangarc._drawing import Drawing
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._pictures import bodies, extent
from hangarc._pose import Pose, pose
from hangarc._record import instance, real, real_array, whole
from hangarc.closing import Closing, close
from hangarc.lesson.forces import forces_below, rear_pins
from hangarc.lesson.slider import Slider
from hangarc.model import Hang
from hangarc.statics import hanging_tilt, hoist_loads

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = NDArray[np.float64]

COLOURS = {
    "weight": INK, "rear link": SECOND, "chain": SECOND, "stop": FIRST, "front hinge": THIRD,
}  # fmt: skip
LONGEST_PX = 95.0


@by_name
def signs(hang: Hang, tilt_deg: float) -> Drawing:
    """Draw the room's axes, the tilt of the fly frame and the splay of the first joint.

    Parameters
    ----------
    hang : Hang
        The column, with at least two cabinets.
    tilt_deg : float
        Tilt of the fly frame.

    Returns
    -------
    Drawing

    Raises
    ------
    InputError
        As `hangarc.pose`.

    Examples
    --------
    >>> import hangarc as ha
    >>> drawing = ha.lesson.signs(ha.lesson.small_hang(3), 5.0)
    >>> type(drawing).__name__
    'Drawing'
    """
    placed = pose(instance("hang", hang, Hang), real("tilt_deg", tilt_deg), 0.0)
    reach_m = 1.1
    points = np.vstack([extent(placed), [(reach_m, 0.3)], [(-1.45, placed.trim_m - 0.1)]])
    drawing = Drawing(
        points, width_px=620, height_px=430, margin_px=(30, 28, 110, 18),
        words="room axes, tilt and splay",
    )  # fmt: skip
    bodies(drawing, placed)
    origin = placed.hinge_m[0]
    corner = (-1.40, placed.trim_m)
    drawing.arrow(corner, (60.0, 0.0), INK, 1.6)
    drawing.words(corner, "x, forward", by_px=(66, 0))
    drawing.arrow(corner, (0.0, 60.0), INK, 1.6)
    drawing.words(corner, "z, up", by_px=(0, 70), anchor="middle")
    for number, (front, axis_deg) in enumerate(zip(placed.front_m, placed.axis_deg, strict=True)):
        ahead = np.array([np.cos(np.radians(axis_deg)), np.sin(np.radians(axis_deg))])
        end = front + ahead * (reach_m - front[0])
        drawing.line([front, end], SECOND, 1.3)
        drawing.words(end, f"cabinet {number}: {axis_deg:+g}°", SECOND, by_px=(5, 0))
        drawing.line([front, (reach_m, front[1])], PALE, 1.0, "4 3")
        drawing.turn(front, 0.0, float(axis_deg), 95.0, SECOND)
    for joint, splay_deg in enumerate(hang.splays_deg, start=1):
        hinge = placed.hinge_m[joint]
        drawing.ring(hinge, THIRD, 3.5)
        drawing.words(hinge, f"splay {splay_deg:g}°", THIRD, by_px=(9, 0), bold=True)
    drawing.ring(origin, THIRD, 3.5)
    drawing.words(origin, "upper front hinge: x = 0, z = top_m", THIRD, by_px=(9, 3))
    drawing.words(placed.pick_m[0], f"tilt {tilt_deg:+g}°", FIRST, by_px=(4, 12), bold=True)
    drawing.dot(placed.cg_m, FIRST, 4.5)
    drawing.words(placed.cg_m, "CG", FIRST, by_px=(7, 0), bold=True)
    return drawing


@by_name
def balance(hang: Hang, pick_x_m: float | Sequence[float], tilt_deg: float = 0.0) -> Drawing:
    """Draw a hang on one pick as it comes to rest, or on two with their loads to scale.

    Parameters
    ----------
    hang : Hang
        The column.
    pick_x_m : float or (float, float)
        One pick, or the front and the rear one.
    tilt_deg : float
        The tilt that two hoists hold; on one pick it follows.

    Returns
    -------
    Drawing

    Raises
    ------
    InputError
        As `hangarc.hoist_loads`.

    Examples
    --------
    >>> import hangarc as ha
    >>> drawing = ha.lesson.balance(ha.lesson.small_hang(3), -0.3)
    >>> type(drawing).__name__
    'Drawing'
    """
    picks = np.atleast_1d(real_array("pick_x_m", pick_x_m, 1))
    one = len(picks) == 1
    tilt = hanging_tilt(hang, float(picks[0])).tilt_deg if one else real("tilt_deg", tilt_deg)
    placed = pose(hang, tilt, 0.0)
    loads = hoist_loads(hang, tilt, picks.tolist())
    angle = np.radians(tilt)
    along, up = np.array([np.cos(angle), np.sin(angle)]), np.array([-np.sin(angle), np.cos(angle)])
    points = [along * x + up * hang.frame.pick_z_m for x in picks]
    weight_n = placed.mass_kg * hang.gravity_m_s2
    scale = LONGEST_PX / weight_n
    drawing = Drawing(
        extent(placed), width_px=420, height_px=520, margin_px=(110, 125, 130, 30),
        words="a hang on its picks",
    )  # fmt: skip
    bodies(drawing, placed)
    for point, load in zip(points, loads.load_n, strict=True):
        drawing.arrow(point, (0.0, load * scale), SECOND)
        drawing.words(
            point, f"{load:.0f} N", SECOND, by_px=(6, max(load * scale, 12.0) - 6), bold=True
        )
    for hole in placed.pick_m:
        drawing.dot(hole, INK, 1.8)
    low = (placed.cg_m[0], placed.trim_m)
    drawing.line([(placed.cg_m[0], points[0][1]), low], FIRST, 1.2, "5 3")
    drawing.dot(placed.cg_m, FIRST, 5.0)
    drawing.words(placed.cg_m, "CG", FIRST, by_px=(8, 6), bold=True)
    drawing.arrow(placed.cg_m, (0.0, -weight_n * scale), INK)
    drawing.words(placed.cg_m, f"weight {weight_n:.0f} N", by_px=(8, -weight_n * scale), bold=True)
    drawing.words_px((10, 16), f"tilt {tilt:+.2f}°", FIRST, bold=True)
    return drawing


@by_name
def free_body(hang: Hang, tilt_deg: float, joint: int) -> Drawing:
    """Draw what hangs below a joint, cut free, with every force on it to scale.

    Parameters
    ----------
    hang, tilt_deg, joint
        As in `forces_below`, which gives the forces.

    Returns
    -------
    Drawing

    Raises
    ------
    InputError
        As `forces_below`.

    Examples
    --------
    >>> import hangarc as ha
    >>> drawing = ha.lesson.free_body(ha.lesson.small_hang(3, rigging="tension"), 0.0, 1)
    >>> type(drawing).__name__
    'Drawing'
    """
    forces = forces_below(hang, tilt_deg, joint)
    placed = pose(hang, tilt_deg, 0.0)
    parts = [*placed.corners_m[joint:].reshape(-1, 2)]
    if placed.chain_m is not None:
        parts.append(placed.chain_m[1])
    drawing = Drawing(
        np.array(parts), width_px=520, height_px=430, margin_px=(120, 110, 150, 70),
        words="what hangs below a joint, cut free",
    )  # fmt: skip
    for corners in placed.corners_m[joint:]:
        drawing.polygon(corners, "#eef1f3")
    if placed.chain_m is not None:
        tail = [placed.hinge_m[-1:], placed.chain_m[1:], placed.corners_m[-1, 2:3]]
        drawing.polygon(np.vstack(tail), PALE)
    scale = LONGEST_PX / max(force.size_n for force in forces)
    for force in forces:
        colour = COLOURS[force.name]
        tip = drawing.arrow(force.at_m, force.force_n * scale, colour)
        drawing.dot(force.at_m, colour, 3.5)
        right = force.at_m[0] > placed.hinge_m[joint, 0] - 0.15
        shift = (8.0, 0.0) if right else (-8.0, 0.0)
        drawing.words_px(
            tip + shift, f"{force.name} {force.size_n:.0f} N", colour,
            anchor="start" if right or force.name == "weight" else "end", bold=True,
        )  # fmt: skip
    return drawing


@by_name
def closing(
    hang: Hang, tilt_deg: float, *, states: int = 21, result: Closing | None = None
) -> Slider:
    """Draw the rear closing step by step, under a slider that shortens the chain.

    The chain's pull at both of its ends, the stops' forces on the cabinets below and the weight
    are drawn to one scale.

    Parameters
    ----------
    hang : Hang
        A compression hang with bottom frame and chain anchors.
    tilt_deg : float
        Tilt of the fly frame.
    states : int
        Places of the slider, 2 to 60, from the free hang to the closed one.
    result : Closing, optional
        What `hangarc.close` gave, where it is there already.

    Returns
    -------
    Slider

    Raises
    ------
    InputError
        As `hangarc.close`, or a hang that does not close.

    Examples
    --------
    >>> import hangarc as ha
    >>> slider = ha.lesson.closing(ha.lesson.small_hang(3), 0.0, states=3)
    >>> type(slider).__name__
    'Slider'
    """
    if not 2 <= whole("states", states) <= 60:
        raise InputError("states", states, "2 to 60")
    path = close(hang, tilt_deg) if result is None else instance("result", result, Closing)
    if path.ended != "closed":
        raise InputError("hang", hang, f"a hang that closes; this one ended: {path.ended}")
    chain_m = path.path["chain_m"]
    wanted_m = np.linspace(path.chain_free_m, path.chain_closed_m, states)
    rows = [int(np.argmin(np.abs(chain_m - length))) for length in wanted_m]
    rows[-1] = len(chain_m) - 1
    placed = [_row_pose(hang, path, row) for row in rows]
    sheet = np.vstack([extent(one) for one in placed])
    weight_n = placed[0].mass_kg * hang.gravity_m_s2
    longest_n = max(weight_n, float(np.max(path.path["stop_force_n"][:, 1:-1])))
    scale = LONGEST_PX / longest_n
    drawn = [
        _closing_state(hang, path, row, one, sheet, scale)
        for row, one in zip(rows, placed, strict=True)
    ]
    return Slider("chain shortened", drawn)


def _row_pose(hang: Hang, path: Closing, row: int) -> Pose:
    angles = path.path["angle_deg"][row]
    between = angles[1 : len(hang.cabinets)]
    return pose(hang, float(path.path["tilt_deg"][row]), 0.0, splays_deg=between)


def _closing_state(
    hang: Hang, path: Closing, row: int, placed: Pose, sheet: Array, scale: float
) -> tuple[str, str]:
    force_n = float(path.path["force_n"][row])
    short_mm = (path.chain_free_m - float(path.path["chain_m"][row])) * 1e3
    joints = range(1, len(hang.cabinets))
    stopped = [
        joint
        for joint in joints
        if abs(path.path["angle_deg"][row, joint] - hang.splays_deg[joint - 1]) < 1e-6
    ]
    drawing = Drawing(
        sheet, width_px=520, height_px=390, margin_px=(150, 16, 130, 16),
        words=f"the chain pulls with {force_n:.0f} N",
    )  # fmt: skip
    bodies(drawing, placed, chain=False)
    assert placed.chain_m is not None
    string = taut(placed.chain_m, placed.corners_m[:, 2:].reshape(-1, 2))
    drawing.line(string, SECOND, 1.8, "5 3" if force_n == 0.0 else "")
    for end, beside in ((0, 1), (-1, -2)):
        way = string[beside] - string[end]
        pull = force_n * way / np.linalg.norm(way)
        drawing.arrow(string[end], pull * scale, SECOND, 3.0)
    for joint in joints:
        upper, lower = rear_pins(hang, placed, joint)
        pushed_n = float(path.path["stop_force_n"][row, joint])
        if joint in stopped and pushed_n > 0.0:
            way = (lower - upper) / np.linalg.norm(lower - upper)
            drawing.arrow(lower, way * pushed_n * scale, FIRST, 2.6)
        drawing.ring(placed.hinge_m[joint], THIRD if joint in stopped else SECOND, 3.5)
        state = "on its stop" if joint in stopped else "open"
        drawing.words(
            placed.hinge_m[joint], f"joint {joint}: {state}",
            THIRD if joint in stopped else SECOND, by_px=(9, 0),
        )  # fmt: skip
    drawing.dot(placed.cg_m, INK, 4.0)
    weight_n = placed.mass_kg * hang.gravity_m_s2
    drawing.arrow(placed.cg_m, (0.0, -weight_n * scale), INK, 2.2)
    drawing.words_px((8, 14), f"chain {force_n:.0f} N", SECOND, bold=True)
    drawing.words_px((8, 30), "stops, on the cabinet below", FIRST)
    drawing.words_px((8, 46), f"weight {weight_n:.0f} N", INK)
    drawing.words_px((8, 62), "all forces to one scale", INK)
    said = (
        f"Chain shortened by {short_mm:.0f} mm, pulling with {force_n:.0f} N; "
        f"{len(stopped)} of {len(joints)} joints on their stops."
    )
    return said, drawing.svg()


def taut(ends_m: ArrayLike, edges_m: ArrayLike) -> Array:
    """Give the corners of a string pulled taut behind rear edges, from its upper to its lower end.

    The rear side of the convex hull of ends and edges, between the ends.
    """
    upper, lower = np.asarray(ends_m, float)
    between = [point for point in np.asarray(edges_m, float) if lower[1] < point[1] < upper[1]]
    string: list[Array] = []
    for point in sorted([upper, *between, lower], key=lambda p: -float(p[1])):
        while len(string) > 1 and _in_front(string[-2], string[-1], point):
            string.pop()
        string.append(point)
    return np.array(string)


def _in_front(a: Array, b: Array, c: Array) -> bool:
    """Whether b lies in front of, or on, the line from a down to c."""
    (ux, uz), (vx, vz) = c - a, b - a
    return bool(ux * vz - uz * vx >= -1e-12)


@by_name
def curves(
    x: ArrayLike,
    lines: dict[str, ArrayLike],
    x_title: str,
    y_title: str,
    *,
    log_x: bool = True,
    marks: dict[str, float] | None = None,
    ax: Axes | None = None,
) -> Axes:
    """Draw a few curves over one axis, apart by colour and by line.

    Parameters
    ----------
    x : array_like, shape (n,)
        Places along the axis.
    lines : dict of str to array_like
        The curves, by what they are; at most four.
    x_title, y_title : str
        Titles of the axes.
    log_x : bool
        Whether the axis is logarithmic.
    marks : dict of str to float, optional
        Places to mark by a plumb line, by what they are.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Raises
    ------
    InputError
        No curve, or more than four.

    Examples
    --------
    >>> import hangarc as ha
    >>> ax = ha.lesson.curves([100.0, 1000.0], {"air": [0.1, 0.5]}, "frequency, Hz", "loss, dB")
    >>> ax.get_xlabel()
    'frequency, Hz'
    """
    from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

    from hangarc.plot.style import axes_or_new, plain_axes

    if not 1 <= len(lines) <= 4:
        raise InputError("lines", len(lines), "1 to 4 of them")
    ax = axes_or_new(ax, (7.5, 3.4))
    places = real_array("x", x, 1)
    looks = ((FIRST, "-"), (SECOND, "--"), (THIRD, "-."), (INK, ":"))
    for (name, values), (colour, dash) in zip(lines.items(), looks, strict=False):
        ax.plot(places, real_array(name, values, 1), color=colour, ls=dash, lw=1.8, label=name)
    for name, at in (marks or {}).items():
        ax.axvline(real(name, at), color=INK, lw=0.9, ls=":")
        ax.annotate(f" {name}", (at, 0.03), xycoords=ax.get_xaxis_transform(), fontsize=8)
    if log_x:
        ax.set_xscale("log")
        ax.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
        ax.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
        ax.xaxis.set_minor_formatter(NullFormatter())
    ax.set_xlabel(x_title)
    ax.set_ylabel(y_title)
    ax.legend(frameon=False, fontsize=9)
    return plain_axes(ax)


@by_name
def in_wind(hang: Hang, tilt_deg: float, pick_x_m: Sequence[float], speed_m_s: float) -> Drawing:
    """Draw a closed hang in the wind from the front: the push on each cabinet, lines that lean.

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg : float
        Tilt in still air.
    pick_x_m : (float, float)
        Two picks.
    speed_m_s : float
        Speed of a gust.

    Returns
    -------
    Drawing

    Raises
    ------
    InputError
        As `hangarc.wind_loads`.

    Examples
    --------
    >>> import hangarc as ha
    >>> drawing = ha.lesson.in_wind(ha.lesson.small_hang(3), 0.0, [0.1, -0.6], 10.0)
    >>> type(drawing).__name__
    'Drawing'
    """
    from hangarc.wind import Wind, wind_loads

    blown = wind_loads(
        hang, tilt_deg, pick_x_m, Wind(speed_m_s=real("speed_m_s", speed_m_s)), top_m=8.0,
        closed=True,
    )  # fmt: skip
    placed = pose(hang, tilt_deg, 0.0)
    weight_n = placed.mass_kg * hang.gravity_m_s2
    drawing = Drawing(
        extent(placed), width_px=560, height_px=440, margin_px=(150, 110, 120, 30),
        words="a hang in the wind",
    )  # fmt: skip
    bodies(drawing, placed)
    scale = 60.0 / max(float(np.max(blown.force_n)), 1e-9)
    for front, force_n in zip(placed.front_m, blown.force_n, strict=True):
        drawing.arrow(front, (-force_n * scale, 0.0), FIRST, ends_there=True)
        drawing.words(front, f"{force_n:.0f} N", FIRST, by_px=(force_n * scale + 8, 0))
    lean = np.radians(blown.line_deg)
    angle = np.radians(tilt_deg)
    for x in np.atleast_1d(real_array("pick_x_m", pick_x_m, 1)):
        at = x * np.array([np.cos(angle), np.sin(angle)]) + hang.frame.pick_z_m * np.array(
            [-np.sin(angle), np.cos(angle)]
        )
        drawing.arrow(at, (95.0 * np.sin(lean), 95.0 * np.cos(lean)), SECOND)
        drawing.line([at, at + np.array([0.0, 95.0 / drawing.scale_px[1]])], PALE, 1.0, "4 3")
    drawing.words_px((8, 16), f"lines lean {blown.line_deg:.1f}°", SECOND, bold=True)
    drawing.words_px((8, 32), f"wind {blown.total_force_n:.0f} N", FIRST, bold=True)
    drawing.words_px((8, 48), f"weight {weight_n:.0f} N", INK, bold=True)
    drawing.arrow(placed.cg_m, (0.0, -80.0), INK)
    return drawing


__all__ = ["balance", "closing", "curves", "free_body", "in_wind", "signs"]
