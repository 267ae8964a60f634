"""Floor plans: levels at the seats, and the difference of two systems."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.transforms import offset_copy

from hangarc._catalogue import Language
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._words import LanguageCode
from hangarc.model import Neighbour, Venue
from hangarc.plot.labels import along, name_things
from hangarc.plot.style import INK, axes_or_new, colour_key, in_feet, step_colours, worded_axes

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

    from hangarc.acoustics.seats import SeatLevels

# Areas above each other on the plan are told apart by their marks.
MARKS = "so^Dv<>"

# Of the arrow that shows where a hang points.
ARROW_M = 2.2


@by_name
def seat_plan(
    levels: SeatLevels,
    venue: Venue,
    *,
    band_hz: float | None = None,
    hung: Sequence[Neighbour] = (),
    feet: bool = False,
    language: LanguageCode = "en",
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
        A band that the levels do not have.

    Examples
    --------
    >>> import hangarc as ha
    >>> venue = ha.demo.study().venue
    >>> ax = ha.plot.seat_plan(ha.seat_levels(ha.demo.hang(), 2.0, 11.0, venue), venue)
    >>> ax.get_xlabel()
    'x, m'
    """
    said = Language(language)
    level_db, named = _of_band(levels, band_hz, said)
    relative_db = level_db - np.average(level_db, weights=levels.weight)
    return _plan(levels, relative_db, venue, hung, said, "plan", named, ax, feet)


@by_name
def plan_difference(
    after: SeatLevels,
    before: SeatLevels,
    venue: Venue,
    *,
    band_hz: float | None = None,
    hung: Sequence[Neighbour] = (),
    feet: bool = False,
    language: LanguageCode = "en",
    ax: Axes | None = None,
) -> Axes:
    """Draw the floor plan with the level of one system over that of another at every place.

    Parameters
    ----------
    after, before : SeatLevels
        Levels over the seats of `venue`; shown is `after` less `before`.
    venue, band_hz, hung, feet, language, ax
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
    said = Language(language)
    (after_db, named), (before_db, _) = (
        _of_band(levels, band_hz, said) for levels in (after, before)
    )
    return _plan(after, after_db - before_db, venue, hung, said, "difference", named, ax, feet)


def _of_band(
    levels: SeatLevels, band_hz: float | None, said: Language
) -> tuple[NDArray[np.float64], str]:
    """Levels of a band, or of all together, and its name."""
    if band_hz is None:
        first, last = map(said.band, levels.band_hz[[0, -1]])
        return levels.level_db, said.word("plot.all_bands", first=first, last=last)
    off = np.abs(10.0 * np.log10(levels.band_hz / band_hz))
    if off.min() > 0.5:
        held = ", ".join(f"{f:.0f}" for f in levels.band_hz)
        raise InputError("band_hz", band_hz, f"a third octave of {held} Hz")
    band = int(off.argmin())
    named = said.word("plot.one_band", band=said.band(levels.band_hz[band]))
    return levels.band_level_db[band], named


def _plan(
    levels: SeatLevels,
    shown_db: NDArray[np.float64],
    venue: Venue,
    hung: Sequence[Neighbour],
    said: Language,
    picture: str,
    named: str,
    ax: Axes | None,
    feet: bool,
) -> Axes:
    ax = axes_or_new(ax, (9.0, 5.6))
    colours, steps = step_colours()
    x, y = levels.position_m[:, 0], levels.position_m[:, 1]
    for index, area in enumerate(venue.areas):
        here = levels.area == index
        if not here.any():
            continue
        dots = ax.scatter(x[here], y[here], c=shown_db[here], cmap=colours, norm=steps, s=26,
                          marker=MARKS[index % len(MARKS)], edgecolors=INK, linewidths=0.35,
                          zorder=3, label=area.name)  # fmt: skip
    arrows = [_draw_arrow(ax, one) for one in hung]
    colour_key(ax, dots, said, said.word(f"plot.{picture}_key"), pad=0.015, shrink=0.9)
    if len(venue.areas) > 1:
        below = offset_copy(ax.transAxes, ax.get_figure(root=True), y=-28.0, units="points")
        legend = ax.legend(loc="upper center", bbox_to_anchor=(0.5, 0.0), bbox_transform=below,
                           frameon=False, ncols=len(venue.areas), fontsize=9)  # fmt: skip
        for handle in legend.legend_handles:
            if handle is not None:
                handle.set_facecolor("white")  # type: ignore[attr-defined]
    ax.set_aspect("equal")
    ax.margins(x=0.06, y=0.08)
    worded_axes(ax, said, picture, bands=named, unit="ft" if feet else "m")
    if feet:
        in_feet(ax.xaxis, ax.yaxis)
    things = [(one.name, arrow[:1]) for one, arrow in zip(hung, arrows, strict=True)]
    name_things(ax, things, np.vstack([levels.position_m[:, :2], along(arrows)]))
    return ax


def _draw_arrow(ax: Axes, one: Neighbour) -> NDArray[np.float64]:
    """Draw where a hang is and where it points, and give both ends."""
    pan = math.radians(one.site.pan_deg)
    x, y = one.site.position_m
    ends = np.array([(x, y), (x + ARROW_M * math.cos(pan), y + ARROW_M * math.sin(pan))])
    ax.annotate("", (ends[1, 0], ends[1, 1]), (x, y), zorder=5,
                arrowprops={"arrowstyle": "-|>", "color": INK, "linewidth": 1.6})  # fmt: skip
    ax.plot(*ends.T, ls="")
    ax.plot(x, y, marker="o", color=INK, markersize=5, zorder=5)
    return ends
