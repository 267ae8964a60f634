"""Names put where they cover as little as can be."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from hangarc.plot.style import INK

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = NDArray[np.float64]

# Behind words that lines may run under.
PLATE: dict[str, Any] = {"boxstyle": "square,pad=0.1", "fc": "white", "ec": "none", "alpha": 0.85}

# Points of type between a thing and its name; the nearest that is clear is taken.
GAPS_PT = (4.0, 9.0, 16.0, 26.0)

# Sideways and upright part of the side a name is on, the best first.
SIDES = ((-1, 1), (1, 1), (0, 1), (-1, 0), (1, 0), (-1, -1), (1, -1), (0, -1))
ACROSS: dict[int, Literal["left", "center", "right"]] = {-1: "right", 0: "center", 1: "left"}
UP: dict[int, Literal["bottom", "center", "top"]] = {-1: "top", 0: "center", 1: "bottom"}


def along(ends: Sequence[Any], count: int = 150) -> Array:
    """Points along lines, each given by its two ends."""
    share = np.linspace(0.0, 1.0, count)[:, None]
    lines = [np.asarray(a) + share * (np.asarray(b) - a) for a, b in ends]
    return np.vstack(lines) if lines else np.zeros((0, 2))


def name_things(
    ax: Axes, things: Sequence[tuple[str, Array]], drawn_m: Array, size_pt: float = 8.0
) -> None:
    """Write the name of each thing beside it, where it covers least of what is drawn.

    Parameters
    ----------
    ax : Axes
        With its limits as they stay.
    things : sequence of (str, ndarray of shape (n, 2))
        Name and outline of each.
    drawn_m : ndarray, shape (points, 2)
        Points of what names are kept off.
    """
    figure = ax.get_figure(root=True)
    assert figure is not None
    figure.draw_without_rendering()
    seen = ax.transData.transform(drawn_m)
    inside = ax.get_window_extent()
    taken: list[Any] = [text.get_window_extent() for text in ax.texts]
    for name, outline in things:
        words = ax.annotate(name, outline[0], xytext=(0, 0), textcoords="offset points",
                            color=INK, fontsize=size_pt, bbox=PLATE, zorder=6)  # fmt: skip
        best = None
        for gap_pt, (across, up) in itertools.product(GAPS_PT, SIDES):
            low, high = outline.min(axis=0), outline.max(axis=0)
            middle = (low + high) / 2.0
            words.xy = tuple(
                (low, middle, high)[side + 1][axis] for axis, side in enumerate((across, up))
            )
            words.set_position((gap_pt * across, gap_pt * up))
            words.set_horizontalalignment(ACROSS[across])
            words.set_verticalalignment(UP[up])
            box = words.get_window_extent()
            covers = int(np.sum(((seen > box.min) & (seen < box.max)).all(axis=1)))
            covers += 1000 * sum(bool(box.overlaps(other)) for other in taken)
            out = box.x0 < inside.x0 or box.x1 > inside.x1
            covers += 1000 * (out or box.y0 < inside.y0 or box.y1 > inside.y1)
            # A name far from its thing is another's.
            cost = covers + gap_pt
            if best is None or cost < best[0]:
                best = (cost, words.xy, words.get_position(), (across, up), box)
        assert best is not None
        _, words.xy, position, (across, up), box = best
        words.set_position(position)
        words.set_horizontalalignment(ACROSS[across])
        words.set_verticalalignment(UP[up])
        taken.append(box)
