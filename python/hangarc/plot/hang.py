"""Sections: the hang in its hall, and the column by itself."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.patches import Polygon

from hangarc._catalogue import Language
from hangarc._keywords import by_name
from hangarc._pose import Pose, Throw, pose, throws
from hangarc._words import LanguageCode
from hangarc.model import Hang, Surface, Venue

if TYPE_CHECKING:
    from matplotlib.axes import Axes

from hangarc.plot.style import FIRST, INK, PALE, SECOND, SHADE, axes_or_new, in_feet, worded_axes


@by_name
def section(
    hang: Hang,
    tilt_deg: float,
    top_m: float,
    venue: Venue,
    *,
    position_m: Sequence[float] = (0.0, 0.0),
    pan_deg: float = 0.0,
    feet: bool = False,
    language: LanguageCode = "en",
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
    position_m, pan_deg : (float, float), float
        As in `throws`. The section is seen from the side, along y: a turned hang is foreshortened,
        and surfaces are cut where it hangs.
    feet : bool
        Whether lengths are written in feet.
    language : str
        Language of the words, one of `hangarc.report.languages()`.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Examples
    --------
    >>> import hangarc as ha
    >>> ax = ha.plot.section(ha.demo.hang(), 2.0, 11.0, ha.demo.study().venue)
    >>> ax.get_xlabel()
    'distance from the hang, m'
    """
    said, ax = Language(language), axes_or_new(ax, (11.0, 4.2))
    placed = pose(hang, tilt_deg, top_m)
    met = throws(hang, tilt_deg, top_m, venue, position_m=position_m, pan_deg=pan_deg)
    at_m = float(position_m[0])
    placed = _seen_from_the_side(placed, at_m, pan_deg)
    for front, throw in zip(placed.front_m, met, strict=True):
        if throw is not None:
            end = throw.place_m[[0, 2]]
            ax.plot(*np.stack([front, end]).T, color=SECOND, linewidth=0.8, zorder=2)
            blocked = throw.area is None
            ax.plot(
                *end,
                marker="x" if blocked else "o",
                markersize=5.0 if blocked else 3.2,
                color=SECOND,
                zorder=4,
            )
    for surface in venue.surfaces:
        for line in _in_section(surface, float(position_m[1])):
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
    draw_bodies(ax, placed)
    ax.plot([at_m, at_m], [0.0, placed.trim_m], color=PALE, linewidth=1.0, ls="--", zorder=1)
    ax.annotate(
        said.word("plot.trim", trim=said.length(placed.trim_m, feet=feet)),
        (at_m, placed.trim_m / 2.0),
        xytext=(5, 0),
        textcoords="offset points",
        va="center",
        color=INK,
        bbox={"boxstyle": "square,pad=0.1", "fc": "white", "ec": "none", "alpha": 0.8},
    )
    ax.annotate(
        said.word(
            "plot.top",
            top=said.length(top_m, feet=feet),
            tilt=said.trimmed(tilt_deg, sign=True),
        ),
        (placed.hinge_m[0, 0], placed.pick_m[:, 1].max()),
        xytext=(0, 8),
        textcoords="offset points",
        ha="left",
        color=INK,
    )
    ax.set_aspect("equal")
    ax.margins(x=0.03, y=0.08)
    (left, right), (low, high) = ax.get_xlim(), ax.get_ylim()
    # Room for the words below the floor and above the picks.
    words_m = 0.24 * (high - low)
    ax.set_xlim(left, right)
    ax.set_ylim(min(low, -words_m), max(high, placed.pick_m[:, 1].max() + words_m))
    _draw_axes_off_seats(ax, placed, met, pan_deg)
    sited = tuple(position_m) != (0.0, 0.0) or pan_deg != 0.0
    unit = "ft" if feet else "m"
    worded_axes(ax, said, "section", unit=unit)
    if feet:
        in_feet(ax.xaxis, ax.yaxis)
    if sited:
        ax.set_xlabel(f"x, {unit}")
    return ax


def _seen_from_the_side(placed: Pose, at_m: float, pan_deg: float) -> Pose:
    """Where a hang is in x and z that hangs at x and is turned."""

    def seen(points: Any) -> Any:
        return points * [np.cos(np.radians(pan_deg)), 1.0] + [at_m, 0.0]

    return dataclasses.replace(
        placed,
        hinge_m=seen(placed.hinge_m),
        front_m=seen(placed.front_m),
        corners_m=seen(placed.corners_m),
        pick_m=seen(placed.pick_m),
        chain_m=None if placed.chain_m is None else seen(placed.chain_m),
    )


def _draw_axes_off_seats(
    ax: Axes, placed: Pose, met: Sequence[Throw | None], pan_deg: float
) -> None:
    """Run each axis that meets nothing to the edge of the picture as it stands."""
    box = np.array([ax.get_xlim(), ax.get_ylim()])
    for front, axis_deg, throw in zip(placed.front_m, placed.axis_deg, met, strict=True):
        if throw is None:
            axis = np.radians(axis_deg)
            along = np.array([np.cos(axis) * np.cos(np.radians(pan_deg)), np.sin(axis)])
            ends = np.stack([front, front + along * np.hypot(*np.ptp(box, axis=1))])
            ax.plot(
                *ends.T, color=SECOND, linewidth=0.8, ls=(0, (5, 4)), zorder=2,
                scalex=False, scaley=False,
            )  # fmt: skip


def _in_section(surface: Surface, y_m: float) -> list[Any]:
    """Give the lines in which a surface meets the upright plane of one y."""
    if surface.profile_m:
        right, left = surface.across_m or (y_m, y_m)
        return [np.asarray(surface.profile_m)] if right <= y_m <= left else []
    corners = np.asarray(surface.polygon_m)
    met = []
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        if (a[1] > y_m) != (b[1] > y_m):
            met.append((a + (a[1] - y_m) / (a[1] - b[1]) * (b - a))[[0, 2]])
    met.sort(key=tuple)
    return [np.array(pair) for pair in zip(met[::2], met[1::2], strict=True)]


@by_name
def column(
    hang: Hang, tilt_deg: float, *, language: LanguageCode = "en", ax: Axes | None = None
) -> Axes:
    """Draw the hang from the side with the angle at each joint and the closing chain.

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg : float
        Tilt of the fly frame.
    language : str
        Language of the words, one of `hangarc.report.languages()`.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Examples
    --------
    >>> import hangarc as ha
    >>> ax = ha.plot.column(ha.demo.hang(), 2.0)
    >>> ax.get_ylabel()
    'above the top hinge, m'
    """
    said, ax = Language(language), axes_or_new(ax, (5.2, 7.2))
    placed = pose(hang, tilt_deg, 0.0)
    draw_bodies(ax, placed)
    for number, corners in enumerate(placed.corners_m, start=1):
        at = np.average(corners, axis=0, weights=(3.0, 3.0, 1.0, 1.0))
        ax.annotate(str(number), (at[0], at[1]), ha="center", va="center", color=INK, fontsize=8)
    for joint, splay_deg in enumerate(hang.splays_deg, start=1):
        ax.annotate(
            said.word("plot.pin", joint=joint, splay=said.trimmed(splay_deg)),
            placed.hinge_m[joint],
            xytext=(8, 0),
            textcoords="offset points",
            va="center",
            color=INK,
            fontsize=8,
        )
    if placed.chain_m is not None and hang.rigging == "compression":
        ax.plot(
            *placed.chain_m.T, color=SECOND, linewidth=1.4, ls="--", label=said.word("plot.chain")
        )
    ax.plot(
        *placed.pick_m.T, ls="", marker=".", color=INK, markersize=3, label=said.word("plot.holes")
    )
    ax.plot(
        *placed.cg_m, ls="", marker="P", color=FIRST, markersize=9, zorder=5,
        label=said.word("plot.cg"),
    )  # fmt: skip
    ax.legend(loc="upper left", bbox_to_anchor=(0.0, -0.09), ncols=2, frameon=False, fontsize=8)
    ax.set_aspect("equal")
    ax.margins(x=0.28, y=0.04)
    return worded_axes(ax, said, "column")


def draw_bodies(ax: Axes, placed: Pose) -> None:
    """Draw frame, cabinets and chain of a placed hang."""
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
