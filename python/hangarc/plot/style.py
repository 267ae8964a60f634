"""Colours, axes and the check for matplotlib that all pictures share."""

from __future__ import annotations

from typing import TYPE_CHECKING

import matplotlib.pyplot as plt

from hangarc._colours import FIRST, INK, PALE, SECOND, SHADE, THIRD

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = [
    "FIRST",
    "INK",
    "PALE",
    "SECOND",
    "SHADE",
    "STEPS",
    "STEP_EDGES_DB",
    "THIRD",
    "axes_or_new",
    "plain_axes",
]


# From far below the mean to far above it; each has a lightness of its own, so that they stay apart
# in a grey print too.
STEPS = (
    "#2f3d80", "#5c7ec9", "#8db1e7", "#ccdcf3", "#fafafa",
    "#ffe3b3", "#f9b95f", "#e87f0f", "#b04915",
)  # fmt: skip

STEP_EDGES_DB = (-6.0, -4.5, -3.0, -1.5, 1.5, 3.0, 4.5, 6.0)


def axes_or_new(ax: Axes | None, size_in: tuple[float, float]) -> Axes:
    """Give the Axes, or new ones of this size where none are given."""
    if ax is not None:
        return ax
    return plt.subplots(figsize=size_in, layout="constrained")[1]


def plain_axes(ax: Axes) -> Axes:
    """Leave out the frame's upper and right side."""
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    ax.grid(color=SHADE, linewidth=0.8)
    ax.set_axisbelow(True)
    return ax
