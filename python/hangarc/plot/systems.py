"""Several hangs in one room: section, spectra, arrival times."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.patches import Polygon
from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator

from hangarc._catalogue import Language
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._pose import pose, throws
from hangarc._record import real_array
from hangarc._words import LanguageCode
from hangarc.model import Neighbour, Venue
from hangarc.plot.labels import along, name_things
from hangarc.plot.style import (
    FIRST,
    INK,
    PALE,
    SECOND,
    SHADE,
    THIRD,
    axes_or_new,
    in_feet,
    worded_axes,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import ArrayLike, NDArray

    from hangarc.acoustics.seats import SeatLevels

# Of lines that stand for hangs or seats: colours and dashes that stay apart in grey too.
LOOKS = (
    (FIRST, "-", "o"),
    (SECOND, "--", "s"),
    (THIRD, ":", "^"),
    (INK, "-.", "D"),
)


@by_name
def system_section(
    hung: Sequence[Neighbour],
    venue: Venue,
    *,
    feet: bool = False,
    language: LanguageCode = "en",
    ax: Axes | None = None,
) -> Axes:
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
    >>> main = ha.model.Neighbour(
    ...     name="main", hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0, site=ha.model.Site()
    ... )
    >>> ax = ha.plot.system_section([main], ha.demo.study().venue)
    >>> ax.get_xlabel()
    'x, m'
    """
    said, ax = Language(language), axes_or_new(ax, (10.0, 4.6))
    things, floors = _draw_room(ax, venue)
    far_m = max([1.0, *(float(floor[:, 0].max()) for floor in floors)])
    lines = [line[i : i + 2] for line in floors for i in range(len(line) - 1)]
    seen_alike: dict[tuple[Any, ...], list[Neighbour]] = {}
    for one in hung:
        same = (one.site.position_m[0], abs(one.site.pan_deg), one.top_m, one.tilt_deg,
                tuple(one.hang.splays_deg))  # fmt: skip
        seen_alike.setdefault(same, []).append(one)
    hangs = []
    for alike in seen_alike.values():
        outline, axes = _draw_hang(ax, alike[0], venue, far_m)
        hangs.append((", ".join(one.name for one in alike), outline))
        lines += axes
    ax.set_aspect("equal")
    ax.margins(x=0.14, y=0.1)
    # Within the picture, so that none stretches it.
    ax.set_xlim(ax.get_xlim())
    ax.set_ylim(ax.get_ylim())
    worded_axes(ax, said, "system", unit="ft" if feet else "m")
    if feet:
        in_feet(ax.xaxis, ax.yaxis)
    name_things(ax, [*hangs, *things], along([*lines, *(_ends(o) for _, o in hangs)]))
    return ax


def _ends(outline: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.array([outline.min(axis=0), outline.max(axis=0)])


def _draw_room(ax: Axes, venue: Venue) -> tuple[list[Any], list[Any]]:
    """Draw floors and surfaces, and give what is to be named, and the floors."""
    things, floors = [], []
    for surface in venue.surfaces:
        points = np.asarray(surface.profile_m or [(p[0], p[2]) for p in surface.polygon_m])
        ax.plot(*points.T, color=INK, linewidth=1.6, ls=(0, (5, 1.5)), zorder=2)
        things.append((surface.name, points[[points[:, 1].argmax()]]))
        floors.append(points)
    for area in venue.areas:
        floor = np.asarray(area.profile_m, dtype=float)
        ears = floor + np.array([0.0, area.ear_height_m])
        ax.plot(*floor.T, color=INK, linewidth=2.6, solid_capstyle="butt", zorder=2)
        ax.plot(*ears.T, color=INK, linewidth=0.8, ls=":")
        things.append((area.name, floor.mean(axis=0)[None]))
        floors += [floor, ears]
    return things, floors


def _draw_hang(
    ax: Axes, one: Neighbour, venue: Venue, far_m: float
) -> tuple[NDArray[np.float64], list[Any]]:
    """Draw a hang with its axes, and give its outline and the ends of each axis."""
    placed = pose(one.hang, one.tilt_deg, one.top_m)
    shorter, x_m = math.cos(math.radians(one.site.pan_deg)), one.site.position_m[0]
    corners_m = placed.corners_m * [shorter, 1.0] + [x_m, 0.0]
    for corners in corners_m:
        ax.add_patch(Polygon(corners, facecolor=FIRST, edgecolor="white", linewidth=0.5,
                             zorder=4))  # fmt: skip
    met = throws(
        one.hang,
        one.tilt_deg,
        one.top_m,
        venue,
        position_m=one.site.position_m,
        pan_deg=one.site.pan_deg,
    )
    drawn = []
    for front, axis_deg, throw in zip(placed.front_m, placed.axis_deg, met, strict=True):
        start = np.array([x_m + front[0] * shorter, front[1]])
        if throw is None:
            rise = np.array([shorter, math.tan(math.radians(axis_deg))]) / max(shorter, 1e-6)
            end = start + rise * max(0.0, far_m - start[0])
        else:
            end = throw.place_m[[0, 2]]
            blocked = throw.area is None
            ax.plot(*end, marker="x" if blocked else "o", markersize=4.5 if blocked else 3.0,
                    color=SECOND, zorder=3)  # fmt: skip
        dashes = "--" if throw is None else "-"
        ax.plot(*np.stack([start, end]).T, color=SECOND, linewidth=0.7, ls=dashes, zorder=1)
        drawn.append((start, end))
    return corners_m.reshape(-1, 2), drawn


@by_name
def seat_spectra(
    levels: SeatLevels,
    seats: Mapping[str, int] | Sequence[int],
    *,
    language: LanguageCode = "en",
    ax: Axes | None = None,
) -> Axes:
    """Draw the levels of the third octaves at some seats.

    Parameters
    ----------
    levels : SeatLevels
        Levels at the seats.
    seats : mapping of str to int, or sequence of int
        Numbers of the seats, with their names; at most four.
    language : str
        Language of the words, one of `hangarc.report.languages()`.
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
    said = Language(language)
    if isinstance(seats, Mapping):
        named = dict(seats)
    else:
        named = {said.word("plot.seat", number=number): number for number in seats}
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
    ax.xaxis.set_major_formatter(FuncFormatter(lambda f, _: said.band(f)))
    ax.legend(frameon=False, fontsize=9)
    return worded_axes(ax, said, "spectra")


@by_name
def arrival_times(
    names: Sequence[str],
    time_s: ArrayLike,
    position_m: ArrayLike,
    *,
    feet: bool = False,
    language: LanguageCode = "en",
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
    feet : bool
        Whether lengths are written in feet.
    language : str
        Language of the words, one of `hangarc.report.languages()`.
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
    said, ax = Language(language), axes_or_new(ax, (9.0, 4.2))
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
    ax.legend(frameon=True, facecolor=SHADE, edgecolor="none", fontsize=9, ncols=2)
    if feet:
        in_feet(ax.xaxis)
    return worded_axes(ax, said, "arrivals", unit="ft" if feet else "m")
