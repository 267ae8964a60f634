"""Several hangs in one room: plan, section, spectra, differences, arrival times."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import matplotlib.pyplot as plt
import numpy as np
from matplotlib.colors import BoundaryNorm, ListedColormap
from matplotlib.patches import Polygon
from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator

from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._pose import pose, throws
from hangarc._record import real_array
from hangarc.model import Neighbour, Venue
from hangarc.plot.style import (
    FIRST,
    INK,
    PALE,
    SECOND,
    SHADE,
    STEP_EDGES_DB,
    STEPS,
    THIRD,
    axes_or_new,
    plain_axes,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import ArrayLike, NDArray

    from hangarc.acoustics.seats import SeatLevels

# Behind words that lines may run under.
PLATE = {"boxstyle": "square,pad=0.1", "fc": "white", "ec": "none", "alpha": 0.85}

# Names of hangs no farther apart would cover the other hang.
CLOSE_M = 3.0

# Of lines that stand for hangs or seats: colours and dashes that stay apart in grey too.
LOOKS = (
    (FIRST, "-", "o"),
    (SECOND, "--", "s"),
    (THIRD, ":", "^"),
    (INK, "-.", "D"),
)


@by_name
def seat_plan(
    levels: SeatLevels,
    venue: Venue,
    *,
    band_hz: float | None = None,
    hung: Sequence[Neighbour] = (),
    ax: Axes | None = None,
) -> Axes:
    """Draw the floor plan with every place coloured by its level over the mean of the seats.

    Parameters
    ----------
    levels : SeatLevels
        Levels over the seats of `venue`.
    venue : Venue
        The seats.
    band_hz : float, optional
        The third octave to show, by any frequency in it; left out, all bands together.
    hung : sequence of Neighbour
        Hangs to draw as arrows along their pan.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Raises
    ------
    InputError
        A band that the levels do not have.

    Examples
    --------
    >>> import hangarc as ha
    >>> venue = ha.demo.study().venue
    >>> ax = ha.plot.seat_plan(ha.seat_levels(ha.demo.hang(), 2.0, 11.0, venue), venue)
    >>> ax.get_xlabel()
    'x, m'
    """
    level_db, named = _of_band(levels, band_hz)
    relative_db = level_db - np.average(level_db, weights=levels.weight)
    return _plan(levels, relative_db, venue, f"Level at the seats, {named}", hung, ax,
                 "over the mean of the seats, dB")  # fmt: skip


@by_name
def plan_difference(
    after: SeatLevels,
    before: SeatLevels,
    venue: Venue,
    *,
    band_hz: float | None = None,
    hung: Sequence[Neighbour] = (),
    ax: Axes | None = None,
) -> Axes:
    """Draw the floor plan with the level of one system over that of another at every place.

    Parameters
    ----------
    after, before : SeatLevels
        Levels over the seats of `venue`; shown is `after` less `before`.
    venue, band_hz, hung, ax
        As in `seat_plan`.

    Returns
    -------
    Axes

    Raises
    ------
    InputError
        A band that the levels do not have, or levels over other seats.

    Examples
    --------
    >>> import hangarc as ha
    >>> venue = ha.demo.study().venue
    >>> before, after = (
    ...     ha.seat_levels(ha.demo.hang(splays_deg), 2.0, 11.0, venue)
    ...     for splays_deg in ((0.0,) * 5, (2.0, 2.7, 3.4, 4.2, 5.1))
    ... )
    >>> ax = ha.plot.plan_difference(after, before, venue)
    >>> ax.get_xlabel()
    'x, m'
    """
    if before.position_m.shape != after.position_m.shape:
        raise InputError("before", before.position_m.shape, f"{after.position_m.shape}")
    (after_db, named), (before_db, _) = _of_band(after, band_hz), _of_band(before, band_hz)
    return _plan(after, after_db - before_db, venue, f"Difference of level, {named}", hung, ax,
                 "one over the other, dB")  # fmt: skip


def _of_band(levels: SeatLevels, band_hz: float | None) -> tuple[NDArray[np.float64], str]:
    if band_hz is None:
        first, last = levels.band_hz[[0, -1]]
        return levels.level_db, f"{first:.0f} Hz to {last:.0f} Hz"
    off = np.abs(10.0 * np.log10(levels.band_hz / band_hz))
    if off.min() > 0.5:
        held = ", ".join(f"{f:.0f}" for f in levels.band_hz)
        raise InputError("band_hz", band_hz, f"a third octave of {held} Hz")
    band = int(off.argmin())
    return levels.band_level_db[band], f"third octave at {levels.band_hz[band]:.0f} Hz"


def _plan(
    levels: SeatLevels,
    shown_db: NDArray[np.float64],
    venue: Venue,
    title: str,
    hung: Sequence[Neighbour],
    ax: Axes | None,
    key: str,
) -> Axes:
    ax = axes_or_new(ax, (9.0, 5.6))
    colours = ListedColormap(STEPS[1:-1]).with_extremes(under=STEPS[0], over=STEPS[-1])
    steps = BoundaryNorm(STEP_EDGES_DB, len(STEPS) - 2)
    x, y = levels.position_m[:, 0], levels.position_m[:, 1]
    # Areas above each other on the plan are told apart by their marks.
    marks = "so^Dv<>"
    for index, area in enumerate(venue.areas):
        here = levels.area == index
        if not here.any():
            continue
        dots = ax.scatter(x[here], y[here], c=shown_db[here], cmap=colours, norm=steps, s=26,
                          marker=marks[index % len(marks)], edgecolors=INK, linewidths=0.35,
                          zorder=3, label=area.name)  # fmt: skip
    for one in hung:
        _draw_arrow(ax, one)
    bar = plt.colorbar(dots, ax=ax, extend="both", pad=0.015, shrink=0.9)
    bar.set_label(key)
    bar.set_ticks(STEP_EDGES_DB, labels=[f"{edge:+g}".replace("-", "−") for edge in STEP_EDGES_DB])
    if len(venue.areas) > 1:
        legend = ax.legend(loc="upper center", bbox_to_anchor=(0.5, -0.12), frameon=False,
                           ncols=len(venue.areas), fontsize=9)  # fmt: skip
        for handle in legend.legend_handles:
            if handle is not None:
                handle.set_facecolor("white")  # type: ignore[attr-defined]
    ax.set_aspect("equal")
    ax.margins(x=0.06, y=0.08)
    ax.set_xlabel("x, m")
    ax.set_ylabel("y, m")
    ax.set_title(title, loc="left")
    return plain_axes(ax)


def _draw_arrow(ax: Axes, one: Neighbour) -> None:
    x, y = one.site.position_m
    pan = math.radians(one.site.pan_deg)
    tip = (x + 2.2 * math.cos(pan), y + 2.2 * math.sin(pan))
    ax.annotate("", tip, (x, y), zorder=5,
                arrowprops={"arrowstyle": "-|>", "color": INK, "linewidth": 1.6})  # fmt: skip
    ax.plot(x, y, marker="o", color=INK, markersize=5, zorder=5)
    ax.annotate(one.name, (x, y), xytext=(-4, 7), textcoords="offset points", ha="left",
                fontsize=8, color=INK)  # fmt: skip


@by_name
def system_section(hung: Sequence[Neighbour], venue: Venue, *, ax: Axes | None = None) -> Axes:
    """Draw every hang in the section, seen from the side, with its axes.

    Hangs to the left and right of each other lie over each other; each is where it hangs in x, its
    depth foreshortened by its pan. An axis ends at the seats, with a cross where something blocks
    it, and dashed where it meets nothing.

    Parameters
    ----------
    hung : sequence of Neighbour
        The hangs.
    venue : Venue
        The seats, floors and surfaces.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Examples
    --------
    >>> import hangarc as ha
    >>> main = ha.model.Neighbour(
    ...     name="main", hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0, site=ha.model.Site()
    ... )
    >>> ax = ha.plot.system_section([main], ha.demo.study().venue)
    >>> ax.get_xlabel()
    'x, m'
    """
    ax = axes_or_new(ax, (10.0, 4.6))
    for surface in venue.surfaces:
        points = np.asarray(surface.profile_m or [(p[0], p[2]) for p in surface.polygon_m])
        ax.plot(*points.T, color=INK, linewidth=1.6, ls=(0, (5, 1.5)), zorder=2)
        upper = points[points[:, 1].argmax()]
        ax.annotate(surface.name, upper, xytext=(-4, 3), textcoords="offset points",
                    ha="right", color=INK, fontsize=8, bbox=PLATE, zorder=6)  # fmt: skip
    far_m = 1.0
    for area in venue.areas:
        floor = np.asarray(area.profile_m)
        far_m = max(far_m, float(floor[:, 0].max()))
        ax.plot(*floor.T, color=INK, linewidth=2.6, solid_capstyle="butt", zorder=2)
        ax.plot(floor[:, 0], floor[:, 1] + area.ear_height_m, color=INK, linewidth=0.8, ls=":")
        ax.annotate(area.name, floor.mean(axis=0), xytext=(6, -6), textcoords="offset points",
                    ha="left", va="top", color=INK, fontsize=9)  # fmt: skip
    drawn: dict[tuple[Any, ...], list[str]] = {}
    for one in hung:
        same = (one.site.position_m[0], abs(one.site.pan_deg), one.top_m, one.tilt_deg,
                tuple(one.hang.splays_deg))  # fmt: skip
        drawn.setdefault(same, []).append(one.name)
        if len(drawn[same]) > 1:
            continue
        placed = pose(one.hang, one.tilt_deg, one.top_m)
        shorter, x_m = math.cos(math.radians(one.site.pan_deg)), one.site.position_m[0]
        for corners in placed.corners_m:
            ax.add_patch(Polygon(corners * [shorter, 1.0] + [x_m, 0.0], facecolor=FIRST,
                                 edgecolor="white", linewidth=0.5, zorder=4))  # fmt: skip
        met = throws(
            one.hang,
            one.tilt_deg,
            one.top_m,
            venue,
            position_m=one.site.position_m,
            pan_deg=one.site.pan_deg,
        )
        for front, axis_deg, throw in zip(placed.front_m, placed.axis_deg, met, strict=True):
            start = np.array([x_m + front[0] * shorter, front[1]])
            if throw is None:
                along = np.array([shorter, math.tan(math.radians(axis_deg))]) / max(shorter, 1e-6)
                end = start + along * max(0.0, far_m - start[0])
            else:
                end = throw.place_m[[0, 2]]
                blocked = throw.area is None
                ax.plot(
                    *end,
                    marker="x" if blocked else "o",
                    markersize=4.5 if blocked else 3.0,
                    color=SECOND,
                    zorder=3,
                )
            dashes = "--" if throw is None else "-"
            ax.plot(*np.stack([start, end]).T, color=SECOND, linewidth=0.7, ls=dashes, zorder=1)
    rearmost_m = min((x_m for x_m, *_ in drawn), default=0.0)
    for (x_m, _, top_m, *_), names in drawn.items():
        # Behind the hang no axis runs, unless another hangs there.
        close = 0.0 < x_m - rearmost_m < CLOSE_M
        at, side = ((6, 2), "left") if close else ((0, 5), "right")
        ax.annotate(", ".join(names), (x_m, top_m), xytext=at, textcoords="offset points",
                    ha=side, color=INK, fontsize=8, bbox=PLATE, zorder=6)  # fmt: skip
    ax.set_aspect("equal")
    ax.margins(x=0.14, y=0.1)
    ax.set_xlabel("x, m")
    ax.set_ylabel("height, m")
    ax.set_title(
        "Section: every hang with its axes (floors solid, ears dotted; × blocked; dashed: no seat)",
        loc="left",
    )
    return plain_axes(ax)


@by_name
def seat_spectra(
    levels: SeatLevels,
    seats: Mapping[str, int] | Sequence[int],
    *,
    ax: Axes | None = None,
) -> Axes:
    """Draw the levels of the third octaves at some seats.

    Parameters
    ----------
    levels : SeatLevels
        Levels at the seats.
    seats : mapping of str to int, or sequence of int
        Numbers of the seats, with their names; at most four.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Raises
    ------
    InputError
        No seats or more than four, or a number that no seat has.

    Examples
    --------
    >>> import hangarc as ha
    >>> venue = ha.demo.study().venue
    >>> heard = ha.seat_levels(ha.demo.hang(), 2.0, 11.0, venue)
    >>> ax = ha.plot.seat_spectra(heard, {"first row": 0, "last row": len(heard.weight) - 1})
    >>> ax.get_ylabel()
    'level, dB'
    """
    named = dict(seats) if isinstance(seats, Mapping) else {f"seat {n}": n for n in seats}
    if not 1 <= len(named) <= len(LOOKS):
        raise InputError("seats", len(named), f"1 to {len(LOOKS)} of them")
    ax = axes_or_new(ax, (9.0, 4.2))
    for (name, seat), (colour, line, mark) in zip(named.items(), LOOKS, strict=False):
        if not 0 <= seat < len(levels.weight):
            raise InputError(f"seats[{name!r}]", seat, f"0 to {len(levels.weight) - 1}")
        ax.plot(levels.band_hz, levels.band_level_db[:, seat], color=colour, ls=line, marker=mark,
                markersize=4.5, label=name)  # fmt: skip
    ax.set_xscale("log")
    octaves = [f for f in levels.band_hz if round(10 * math.log10(f / 1000.0)) % 3 == 0]
    ax.xaxis.set_major_locator(FixedLocator(octaves))
    ax.xaxis.set_minor_locator(NullLocator())
    ax.xaxis.set_major_formatter(FuncFormatter(lambda f, _: f"{f:.0f}"))
    ax.set_xlabel("third octave, Hz")
    ax.set_ylabel("level, dB")
    ax.set_title("Spectra at seats, direct sound", loc="left")
    ax.legend(frameon=False, fontsize=9)
    return plain_axes(ax)


@by_name
def arrival_times(
    names: Sequence[str],
    time_s: ArrayLike,
    position_m: ArrayLike,
    *,
    ax: Axes | None = None,
) -> Axes:
    """Draw when each hang arrives after the first one, over the distance of the places.

    A mark is the median of the places at one x, its bar their range.

    Parameters
    ----------
    names : sequence of str
        The hangs.
    time_s : array_like, shape (hangs, n)
        As `hangarc.search.arrivals_s` gives them.
    position_m : array_like, shape (n, 3)
        The places.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Raises
    ------
    InputError
        Times of another number of hangs or places.

    Examples
    --------
    >>> import hangarc as ha
    >>> import numpy as np
    >>> seats_m = np.array([(10.0, 0.0, 1.2), (20.0, 0.0, 1.4), (30.0, 0.0, 3.0)])
    >>> main = ha.model.Neighbour(
    ...     name="main", hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0, site=ha.model.Site()
    ... )
    >>> ax = ha.plot.arrival_times(["main"], ha.search.arrivals_s([main], seats_m), seats_m)
    >>> ax.get_ylabel()
    'after the first arrival, ms'
    """
    time = real_array("time_s", time_s, 2)
    places = real_array("position_m", position_m, 2)
    if time.shape != (len(names), len(places)):
        raise InputError("time_s", time.shape, f"shape ({len(names)}, {len(places)})")
    ax = axes_or_new(ax, (9.0, 4.2))
    late_ms = 1000.0 * (time - time.min(axis=0))
    rows, row_of = np.unique(np.round(places[:, 0], 2), return_inverse=True)
    apart_m = 0.006 * float(np.ptp(rows))
    for index, name in enumerate(names):
        colour, _, mark = LOOKS[index % len(LOOKS)]
        filled = "none" if index >= len(LOOKS) else colour
        x = rows + apart_m * (index - (len(names) - 1) / 2)
        of_rows = [late_ms[index, row_of == row] for row in range(len(rows))]
        ends = np.array([(late.min(), np.median(late), late.max()) for late in of_rows])
        ax.vlines(x, ends[:, 0], ends[:, 2], color=colour, linewidth=0.9, alpha=0.6)
        ax.plot(
            x,
            ends[:, 1],
            ls="",
            marker=mark,
            markersize=4,
            color=colour,
            markerfacecolor=filled,
            label=name,
        )
    ax.axhline(0.0, color=PALE, linewidth=1.0)
    ax.set_xlabel("x of the place, m")
    ax.set_ylabel("after the first arrival, ms")
    ax.set_title(
        "Arrival times, row by row (mark: median, bar: range); 0 is heard first", loc="left"
    )
    ax.legend(frameon=True, facecolor=SHADE, edgecolor="none", fontsize=9, ncols=2)
    return plain_axes(ax)
