"""Levels at the seats."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from hangarc._catalogue import Language
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import real_array
from hangarc._words import LanguageCode
from hangarc.model import Venue

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import ArrayLike

    from hangarc.acoustics.seats import SeatLevels
from hangarc.plot.style import (
    FIRST,
    INK,
    SECOND,
    SHADE,
    THIRD,
    axes_or_new,
    colour_key,
    name_axes,
    step_colours,
    worded_axes,
)


@by_name
def seat_levels(
    levels: Mapping[str, SeatLevels],
    venue: Venue,
    *,
    language: LanguageCode = "en",
    ax: Axes | None = None,
) -> Axes:
    """Draw the level row by row, area by area, front to back.

    Each curve is relative to its own mean over the seats; the thin bar at a row spans the places
    across it.

    Parameters
    ----------
    levels : mapping of str to SeatLevels
        What to compare, all over the seats of `venue`; at most three.
    venue : Venue
        The seats.
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
    >>> venue = ha.demo.study().venue
    >>> heard = {"curved": ha.seat_levels(ha.demo.hang(), 2.0, 11.0, venue)}
    >>> ax = ha.plot.seat_levels(heard, venue)
    >>> ax.get_ylabel()
    'level over the mean of the seats, dB'
    """
    said, ax = Language(language), axes_or_new(ax, (11.0, 4.4))
    looks = zip((SECOND, FIRST, THIRD), ("--", "-", ":"), ("s", "o", "^"), strict=True)
    starts: list[int] = []
    for (name, heard), (colour, line, marker) in zip(levels.items(), looks, strict=False):
        mean_db = np.average(heard.level_db, weights=heard.weight)
        label = said.word("plot.evenness", name=name, evenness=said.number(heard.evenness_db, 2))
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
    first, last = map(said.band, heard.band_hz[[0, -1]])
    ax.legend(loc="best", frameon=True, framealpha=0.9, edgecolor="none", fontsize=9)
    return worded_axes(ax, said, "rows", first=first, last=last)


@by_name
def band_levels(
    heard: SeatLevels,
    venue: Venue,
    *,
    name: str = "",
    key: bool = True,
    wanted_db: ArrayLike | None = None,
    language: LanguageCode = "en",
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
        T_r, as `hangarc.acoustics.wanted_db` gives it for a study; left out, the same level
        everywhere.
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
        `wanted_db` is not one number per seat.

    Examples
    --------
    >>> import hangarc as ha
    >>> venue = ha.demo.study().venue
    >>> ax = ha.plot.band_levels(ha.seat_levels(ha.demo.hang(), 2.0, 11.0, venue), venue)
    >>> ax.get_xlabel()
    'rows, front to back within each area'
    """
    said, ax = Language(language), axes_or_new(ax, (11.0, 3.6))
    seats = len(heard.weight)
    wanted = np.zeros(seats) if wanted_db is None else real_array("wanted_db", wanted_db, 1)
    if wanted.shape != (seats,):
        raise InputError("wanted_db", wanted.shape, f"one level for each of {seats} seats")
    relative_db = heard.band_level_db - wanted
    relative_db = relative_db - np.average(relative_db, axis=1, weights=heard.weight)[:, None]
    bands = np.arange(len(heard.band_hz))
    colours, steps = step_colours()
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
    name_axes(ax, said, "bands", name=name and f", {name}")
    if key:
        colour_key(ax, mesh, said, said.word("plot.bands_key"), pad=0.015)
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
