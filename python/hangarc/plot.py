"""Pictures of a hang, its seats and its forces.

Every function draws on the Axes it is given, or on new ones, and returns them; nothing is shown or
saved. Lines and marks differ in shape as well as in colour.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from hangarc._record import real_array
from hangarc.errors import InputError
from hangarc.kinematics import Pose, Throw, pose, throws
from hangarc.model import ClosingGear, Hang, Surface, Venue

try:
    import matplotlib.pyplot as plt
    from matplotlib.colors import BoundaryNorm, ListedColormap
    from matplotlib.patches import Polygon
except ModuleNotFoundError as error:
    raise ModuleNotFoundError("pictures need matplotlib: pip install 'hangarc[plot]'") from error

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import ArrayLike

    from hangarc.acoustics import SeatLevels
    from hangarc.closing import Closing
    from hangarc.search import SearchResult

INK = "#1d2b36"
PALE = "#c9d1d6"
SHADE = "#eef1f3"
FIRST = "#174f8a"
SECOND = "#c9641b"
THIRD = "#3f8f7f"
# From far below the mean to far above it; each has a lightness of its own, so that they stay apart
# in a grey print too.
STEPS = (
    "#2f3d80", "#5c7ec9", "#8db1e7", "#ccdcf3", "#fafafa",
    "#ffe3b3", "#f9b95f", "#e87f0f", "#b04915",
)  # fmt: skip
STEP_EDGES_DB = (-6.0, -4.5, -3.0, -1.5, 1.5, 3.0, 4.5, 6.0)


def section(
    hang: Hang,
    tilt_deg: float,
    top_m: float,
    venue: Venue,
    ax: Axes | None = None,
) -> Axes:
    """Draw the hang in the section, each axis out to the seats; a cross where it is blocked.

    An axis that meets no seat is dashed and runs to the edge of the picture.

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg, top_m : float
        Tilt of the fly frame; height of cabinet 0's upper front hinge.
    venue : Venue
        The seats.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
    """
    ax = _axes(ax, (11.0, 4.2))
    placed = pose(hang, tilt_deg, top_m)
    met = throws(hang, tilt_deg, top_m, venue)
    for front, throw in zip(placed.front_m, met, strict=True):
        if throw is not None:
            ends = np.stack([front, throw.point_m])
            ax.plot(*ends.T, color=SECOND, linewidth=0.8, zorder=2)
            blocked = throw.area is None
            ax.plot(
                *throw.point_m,
                marker="x" if blocked else "o",
                markersize=5.0 if blocked else 3.2,
                color=SECOND,
                zorder=4,
            )
    for surface in venue.surfaces:
        for line in _in_section(surface):
            ax.plot(*line.T, color=INK, linewidth=1.6, ls=(0, (5, 1.5)), zorder=3)
            ax.annotate(surface.name, _along(line, 0.5), xytext=(4, 3), textcoords="offset points",
                        color=INK, fontsize=8)  # fmt: skip
    for area in venue.areas:
        floor = np.asarray(area.profile_m)
        ax.plot(*floor.T, color=INK, linewidth=2.6, solid_capstyle="butt", zorder=3)
        ax.plot(floor[:, 0], floor[:, 1] + area.ear_height_m, color=INK, linewidth=0.8, ls=":")
        ax.annotate(
            area.name,
            _along(floor, 0.5),
            xytext=(4, -6),
            textcoords="offset points",
            ha="left",
            va="top",
            color=INK,
        )
    _draw_bodies(ax, placed)
    ax.plot([0.0, 0.0], [0.0, placed.trim_m], color=PALE, linewidth=1.0, ls="--", zorder=1)
    ax.annotate(
        f"trim {placed.trim_m:.2f} m",
        (0.0, placed.trim_m / 2.0),
        xytext=(5, 0),
        textcoords="offset points",
        va="center",
        color=INK,
    )
    ax.annotate(
        f"top {top_m:.2f} m, tilt {tilt_deg:+.1f}°",
        (placed.hinge_m[0, 0], placed.pick_m[:, 1].max()),
        xytext=(0, 8),
        textcoords="offset points",
        ha="left",
        color=INK,
    )
    ax.set_aspect("equal")
    ax.margins(x=0.03, y=0.08)
    (left, right), (low, high) = ax.get_xlim(), ax.get_ylim()
    words_m = 0.025 * (right - left)
    ax.set_xlim(left, right)
    ax.set_ylim(min(low, -words_m), max(high, placed.pick_m[:, 1].max() + words_m))
    ax.set_xlabel("distance from the hang, m")
    ax.set_ylabel("height, m")
    ax.set_title(
        "Section: cabinet axes to the seats (floor solid, ears dotted; × blocked; dashed: no seat)",
        loc="left",
    )
    _draw_axes_off_seats(ax, placed, met)
    return _plain(ax)


def _draw_axes_off_seats(ax: Axes, placed: Pose, met: Sequence[Throw | None]) -> None:
    """Run each axis that meets nothing to the edge of the picture as it stands."""
    box = np.array([ax.get_xlim(), ax.get_ylim()])
    for front, axis_deg, throw in zip(placed.front_m, placed.axis_deg, met, strict=True):
        if throw is None:
            along = np.array([np.cos(np.radians(axis_deg)), np.sin(np.radians(axis_deg))])
            ends = np.stack([front, front + along * np.hypot(*np.ptp(box, axis=1))])
            ax.plot(
                *ends.T, color=SECOND, linewidth=0.8, ls=(0, (5, 4)), zorder=2,
                scalex=False, scaley=False,
            )  # fmt: skip


def _in_section(surface: Surface) -> list[Any]:
    """Give the lines in which a surface meets the plane of the hang, y = 0."""
    if surface.profile_m:
        right, left = surface.across_m or (-1.0, 1.0)
        return [np.asarray(surface.profile_m)] if right <= 0.0 <= left else []
    corners = np.asarray(surface.polygon_m)
    met = []
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        if (a[1] > 0.0) != (b[1] > 0.0):
            met.append((a + a[1] / (a[1] - b[1]) * (b - a))[[0, 2]])
    met.sort(key=tuple)
    return [np.array(pair) for pair in zip(met[::2], met[1::2], strict=True)]


def column(hang: Hang, tilt_deg: float, ax: Axes | None = None) -> Axes:
    """Draw the hang from the side with the angle at each joint and the closing chain.

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg : float
        Tilt of the fly frame.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
    """
    ax = _axes(ax, (5.2, 7.2))
    placed = pose(hang, tilt_deg, 0.0)
    _draw_bodies(ax, placed)
    for number, corners in enumerate(placed.corners_m, start=1):
        at = np.average(corners, axis=0, weights=(3.0, 3.0, 1.0, 1.0))
        ax.annotate(str(number), (at[0], at[1]), ha="center", va="center", color=INK, fontsize=8)
    for joint, splay_deg in enumerate(hang.splays_deg, start=1):
        ax.annotate(
            f"joint {joint}: {splay_deg:g}°",
            placed.hinge_m[joint],
            xytext=(8, 0),
            textcoords="offset points",
            va="center",
            color=INK,
            fontsize=8,
        )
    if placed.chain_m is not None and hang.rigging == "compression":
        ax.plot(*placed.chain_m.T, color=SECOND, linewidth=1.4, ls="--", label="closing chain")
    ax.plot(*placed.pick_m.T, ls="", marker=".", color=INK, markersize=3, label="pick holes")
    ax.plot(
        *placed.cg_m, ls="", marker="P", color=FIRST, markersize=9, zorder=5,
        label="centre of gravity",
    )  # fmt: skip
    ax.legend(loc="upper left", bbox_to_anchor=(0.0, -0.09), ncols=2, frameon=False, fontsize=8)
    ax.set_aspect("equal")
    ax.margins(x=0.28, y=0.04)
    ax.set_xlabel("forward of the top hinge, m")
    ax.set_ylabel("above the top hinge, m")
    ax.set_title("Hang from the side", loc="left")
    return _plain(ax)


def joint_forces(
    forces_n: Mapping[str, Sequence[float]],
    limits_n: Mapping[str, Sequence[float | None]] | None = None,
    bottom: bool = True,
    ax: Axes | None = None,
) -> Axes:
    """Draw forces at the joints as bars, top joint uppermost, with stated limits as marks.

    Parameters
    ----------
    forces_n : mapping of str to sequence of float
        For each kind of force, one figure a joint; at most three kinds.
    limits_n : mapping of str to sequence of float or None, optional
        For the same kinds, the stated limits; None where none is stated.
    bottom : bool
        Whether the last joint is that of the bottom frame.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
    """
    ax = _axes(ax, (7.2, 5.2))
    count = len(next(iter(forces_n.values())))
    joints = np.arange(count)
    thick = 0.8 / len(forces_n)
    looks = zip((FIRST, SECOND, THIRD), ("", "////", "...."), strict=True)
    for place, ((name, force), (colour, hatch)) in enumerate(
        zip(forces_n.items(), looks, strict=False)
    ):
        at = joints + (place - (len(forces_n) - 1) / 2.0) * thick
        ax.barh(
            at,
            np.asarray(force) / 1e3,
            height=thick * 0.9,
            color=colour,
            hatch=hatch,
            edgecolor="white",
            linewidth=0.0,
            label=name,
        )
        stated = [
            (limit / 1e3, y)
            for limit, y in zip((limits_n or {}).get(name, ()), at, strict=False)
            if limit is not None
        ]
        if stated:
            ax.plot(
                *np.transpose(stated), ls="", marker="|", markersize=8, mew=2.0, color=colour,
                label=f"stated limit, {name}",
            )  # fmt: skip
    ax.axvline(0.0, color=INK, linewidth=0.8)
    ax.set_yticks(joints, _joint_names(count, bottom))
    ax.invert_yaxis()
    ax.set_xlabel("force, kN")
    ax.set_title("Forces at the joints", loc="left")
    ax.legend(loc="upper left", bbox_to_anchor=(0.0, -0.12), ncols=2, frameon=False, fontsize=8)
    return _plain(ax)


def seat_levels(levels: Mapping[str, SeatLevels], venue: Venue, ax: Axes | None = None) -> Axes:
    """Draw the level row by row, area by area, front to back.

    Each curve is relative to its own mean over the seats; the thin bar at a row spans the places
    across it.

    Parameters
    ----------
    levels : mapping of str to SeatLevels
        What to compare, all over the seats of `venue`; at most three.
    venue : Venue
        The seats.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
    """
    ax = _axes(ax, (11.0, 4.4))
    looks = zip((SECOND, FIRST, THIRD), ("--", "-", ":"), ("s", "o", "^"), strict=True)
    starts: list[int] = []
    for (name, heard), (colour, line, marker) in zip(levels.items(), looks, strict=False):
        mean_db = np.average(heard.level_db, weights=heard.weight)
        label = f"{name}, evenness {heard.evenness_db:.2f} dB"
        at, starts = 0, []
        for area in range(len(venue.areas)):
            starts.append(at)
            here = heard.area == area
            row_of, count = _rows(heard.position_m[here])
            relative = heard.level_db[here] - mean_db
            means = np.bincount(row_of, relative) / np.bincount(row_of)
            x = at + np.arange(count)
            ax.plot(
                x,
                means,
                ls=line,
                marker=marker,
                markersize=3.5,
                color=colour,
                label=label,
                zorder=3,
            )
            label = "_"
            for row in range(count):
                places = relative[row_of == row]
                ax.vlines(x[row], places.min(), places.max(), color=colour, lw=0.8, alpha=0.6)
            at += count + 2
        starts.append(at)
    ax.axhline(0.0, color=INK, linewidth=0.8)
    centres = []
    for area, (start, after) in enumerate(itertools.pairwise(starts)):
        if area % 2 == 0:
            ax.axvspan(start - 1.5, after - 1.5, color=SHADE, zorder=0, linewidth=0)
        centres.append((start + after - 3) / 2.0)
    ax.set_xticks(centres, [area.name for area in venue.areas])
    ax.tick_params(axis="x", length=0)
    ax.set_xlim(-1.5, starts[-1] - 1.5)
    ax.set_xlabel("rows, front to back within each area; thin bars span the places across")
    ax.set_ylabel("level over the mean of the seats, dB")
    first, last = heard.band_hz[[0, -1]]
    bands = f"third octaves {first:.0f} Hz to {last / 1000.0:.0f} kHz"
    ax.set_title(f"Level over the seats, {bands}, direct sound", loc="left")
    ax.legend(loc="best", frameon=True, framealpha=0.9, edgecolor="none", fontsize=9)
    return _plain(ax)


def band_levels(
    heard: SeatLevels,
    venue: Venue,
    name: str = "",
    key: bool = True,
    wanted_db: ArrayLike | None = None,
    ax: Axes | None = None,
) -> Axes:
    """Draw the level over seats and bands: a map of L_rb − T_r − M_b, rows in order, area by area.

    M_b is the band's own mean over the seats, which a filter on the whole hang sets; a row has the
    mean over its places. Steps and colours are the same in every picture, so that two of them
    compare; dots mark what lies more than 3 dB below the mean.

    Parameters
    ----------
    heard : SeatLevels
        Levels over the seats of `venue`.
    venue : Venue
        The seats.
    name : str
        What is heard, for the title.
    key : bool
        Whether to draw the key of the colours beside it.
    wanted_db : array_like, shape (n,), optional
        T_r, as `hangarc.wanted_db` gives it for a study; left out, the same level everywhere.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Raises
    ------
    InputError
        `wanted_db` is not one number a seat.
    """
    ax = _axes(ax, (11.0, 3.6))
    seats = len(heard.weight)
    wanted = np.zeros(seats) if wanted_db is None else real_array("wanted_db", wanted_db, 1)
    if wanted.shape != (seats,):
        raise InputError("wanted_db", wanted.shape, f"one level for each of {seats} seats")
    relative_db = heard.band_level_db - wanted
    relative_db = relative_db - np.average(relative_db, axis=1, weights=heard.weight)[:, None]
    bands = np.arange(len(heard.band_hz))
    colours = ListedColormap(STEPS[1:-1]).with_extremes(under=STEPS[0], over=STEPS[-1])
    steps = BoundaryNorm(STEP_EDGES_DB, len(STEPS) - 2)
    starts = [0]
    for area in range(len(venue.areas)):
        here = heard.area == area
        row_of, count = _rows(heard.position_m[here])
        places = np.bincount(row_of, minlength=count)
        sums = [np.bincount(row_of, levels, minlength=count) for levels in relative_db[:, here]]
        rows_db = np.array(sums) / places
        x = starts[-1] + np.arange(count + 1) - 0.5
        mesh = ax.pcolormesh(
            x, np.append(bands - 0.5, bands[-1] + 0.5), rows_db, cmap=colours, norm=steps,
            rasterized=True,
        )  # fmt: skip
        band, row = np.nonzero(rows_db < -3.0)
        ax.plot(starts[-1] + row, band, ls="", marker=".", markersize=2.5, color="white")
        starts.append(starts[-1] + count + 1)
    centres = [(start + after) / 2.0 - 1.0 for start, after in itertools.pairwise(starts)]
    ax.set_xticks(centres, [area.name for area in venue.areas])
    ax.set_xlim(-0.5, starts[-1] - 1.5)
    octaves = [band for band in bands if _is_octave(heard.band_hz[band])]
    ax.set_yticks(octaves, [_hertz(heard.band_hz[band]) for band in octaves])
    ax.tick_params(length=0)
    ax.set_xlabel("rows, front to back within each area")
    ax.set_ylabel("third octave, Hz")
    ax.set_title(f"Level over seats and bands{name and ', '}{name}", loc="left")
    if key:
        bar = plt.colorbar(mesh, ax=ax, extend="both", pad=0.015)
        bar.set_label("over the band's mean, dB\n(dots: more than 3 below)")
        bar.set_ticks(
            STEP_EDGES_DB, labels=[f"{edge:+g}".replace("-", "−") for edge in STEP_EDGES_DB]
        )
    for side in ("top", "right", "left", "bottom"):
        ax.spines[side].set_visible(False)
    return ax


def _rows(position_m: Any) -> tuple[Any, int]:
    """Number the row of each place from the front, and count the rows."""
    rows, row_of = np.unique(position_m[:, 0], return_inverse=True)
    return row_of, len(rows)


def _is_octave(frequency_hz: float) -> bool:
    """Whether a third octave is the middle one of an octave, of which 1 kHz is one."""
    return bool(round(10.0 * np.log10(frequency_hz / 1000.0)) % 3 == 0)


def _hertz(frequency_hz: float) -> str:
    nominal = 1000.0 * 2.0 ** round(np.log2(frequency_hz / 1000.0))
    return f"{nominal:g}" if nominal < 1000.0 else f"{nominal / 1000.0:g}k"


def closing_path(closing: Closing, gear: ClosingGear | None = None, ax: Axes | None = None) -> Axes:
    """Draw the chain force while the chain shortens, from the free hang to the closed one.

    Parameters
    ----------
    closing : Closing
        What `hangarc.close` gave.
    gear : ClosingGear, optional
        Its slip clutch's band is shaded.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
    """
    ax = _axes(ax, (7.2, 4.4))
    path = closing.path
    shortened_mm = (closing.chain_free_m - np.asarray(path["chain_m"])) * 1e3
    ax.plot(shortened_mm, np.asarray(path["force_n"]) / 1e3, color=FIRST, linewidth=1.8)
    for event in closing.events:
        if event.contact == "arrives at stop":
            at = ((closing.chain_free_m - event.chain_m) * 1e3, event.force_n / 1e3)
            ax.plot(*at, marker="o", markersize=4, color=FIRST)
            ax.annotate(
                str(event.joint), at, xytext=(-3, 5), textcoords="offset points", ha="right",
                color=INK, fontsize=8,
            )  # fmt: skip
    if closing.closing_force_n is not None:
        ax.plot(
            (closing.chain_free_m - closing.chain_closed_m) * 1e3,
            closing.closing_force_n / 1e3,
            ls="", marker="o", color=SECOND, zorder=4,
            label=f"closed at {closing.closing_force_n / 1e3:.2f} kN",
        )  # fmt: skip
    if gear is not None and gear.clutch_n is not None:
        low, high = gear.clutch_n
        ax.axhspan(
            low / 1e3, high / 1e3, facecolor=PALE, edgecolor="white", hatch="////", alpha=0.7,
            label=f"slip clutch {low / 1e3:g} to {high / 1e3:g} kN", zorder=0,
        )  # fmt: skip
    ax.set_ylim(bottom=0.0)
    ax.set_xlabel("chain shortened from the free hang, mm")
    ax.set_ylabel("chain force, kN")
    ax.set_title("Closing the rear; numbers: joints as they meet their stops", loc="left")
    ax.legend(loc="best", frameon=False, fontsize=9)
    return _plain(ax)


def trade_off(
    front: Sequence[SearchResult], against: str = "mean level", ax: Axes | None = None
) -> Axes:
    """Draw unevenness against mean level or closing force, one mark a hang.

    The ends carry their figures, and so does the knee: the hang farthest from the straight line
    between the ends, if it stands off that line by more than a tenth of the span of unevenness.

    Parameters
    ----------
    front : sequence of SearchResult
        What `hangarc.trade_off` gave.
    against : {"mean level", "closing force"}
        What unevenness was traded against.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Raises
    ------
    InputError
        An empty front, another quantity, or a closing force of a hang that no chain closes.
    """
    if not front:
        raise InputError("front", list(front), "at least one hang")
    if against not in _TRADED:
        raise InputError("against", against, " or ".join(map(repr, _TRADED)))
    ordered = sorted(front, key=lambda found: found.unevenness_db)
    traded = np.array([_traded(found, against) for found in ordered])
    unevenness_db = np.array([found.unevenness_db for found in ordered])
    axis, unit = _TRADED[against]
    ax = _axes(ax, (7.2, 4.4))
    ax.plot(traded, unevenness_db, color=FIRST, marker="o", markersize=5, linewidth=1.2, ls="--")
    ends: dict[int, tuple[int, int]] = {0: (0, -9), len(front) - 1: (0, 9)}
    for at, (right, above) in {**ends, **_knee(traded, unevenness_db)}.items():
        ax.annotate(
            f"{unevenness_db[at]:.2f} dB at {traded[at]:.2f} {unit}",
            (traded[at], unevenness_db[at]),
            xytext=(right, above),
            textcoords="offset points",
            ha={-1: "right", 0: "center", 1: "left"}[int(np.sign(right))],
            va="bottom" if above > 0 else "top",
            color=INK,
            fontsize=8,
        )
    ax.margins(x=0.22, y=0.16)
    ax.set_xlabel(axis)
    ax.set_ylabel("unevenness over seats and bands, dB")
    ax.set_title(f"Unevenness against {against}", loc="left")
    return _plain(ax)


_TRADED = {
    "mean level": ("mean level of the seats over one cabinet on its axis at 1 m, dB", "dB"),
    "closing force": ("closing force, kN", "kN"),
}


def _traded(found: SearchResult, against: str) -> float:
    if against == "mean level":
        return found.mean_db
    if found.closing_force_n is None:
        raise InputError("front", None, "hangs with a closing force, closed by a chain")
    return found.closing_force_n / 1e3


def _knee(across: Any, up: Any) -> dict[int, tuple[int, int]]:
    """Find the point that stands off the line of the ends most, and where its label is clear of it.

    None when all lie within a tenth of that line, each axis taken as a share of its span.
    """
    if len(up) < 3 or np.ptp(across) == 0.0 or np.ptp(up) == 0.0:
        return {}
    line = up[0] + (across - across[0]) / (across[-1] - across[0]) * (up[-1] - up[0])
    off = (up - line) / np.ptp(up)
    knee = int(np.argmax(np.abs(off)))
    if abs(off[knee]) <= 0.1:
        return {}
    above = 4 if off[knee] > 0.0 else -4
    return {knee: (-2 * above if across[-1] > across[0] else 2 * above, above)}


def _joint_names(count: int, bottom: bool) -> list[str]:
    last = count - 1
    names = [f"{joint}: cabinets {joint} and {joint + 1}" for joint in range(count)]
    names[0] = "0: fly frame and cabinet 1"
    if bottom:
        names[last] = f"{last}: cabinet {last} and bottom frame"
    return names


def _draw_bodies(ax: Axes, placed: Pose) -> None:
    look: dict[str, Any] = {"closed": True, "edgecolor": INK, "linewidth": 0.8, "zorder": 3}
    for corners in placed.corners_m:
        ax.add_patch(Polygon(corners, facecolor=SHADE, **look))
    ends = placed.pick_m[[np.argmax(placed.pick_m[:, 0]), np.argmin(placed.pick_m[:, 0])]]
    frame = np.vstack([placed.hinge_m[:1], ends, placed.corners_m[0, 3:]])
    ax.add_patch(Polygon(frame, facecolor=PALE, **look))
    if placed.chain_m is not None:
        tail = np.vstack([placed.hinge_m[-1:], placed.chain_m[1:], placed.corners_m[-1, 2:3]])
        ax.add_patch(Polygon(tail, facecolor=PALE, **look))
    ax.autoscale_view()


def _along(line: Any, share: float) -> Any:
    """Point at a share of the line's length."""
    steps = np.hypot(*np.diff(line, axis=0).T)
    run = np.concatenate([[0.0], np.cumsum(steps)]) / steps.sum()
    return np.interp(share, run, line[:, 0]), np.interp(share, run, line[:, 1])


def _axes(ax: Axes | None, size_in: tuple[float, float]) -> Axes:
    if ax is not None:
        return ax
    return plt.subplots(figsize=size_in, layout="constrained")[1]


def _plain(ax: Axes) -> Axes:
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    ax.grid(color=SHADE, linewidth=0.8)
    ax.set_axisbelow(True)
    return ax
