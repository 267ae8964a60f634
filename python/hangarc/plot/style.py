"""Colours, axes and the check for matplotlib that all pictures share."""

from __future__ import annotations

from typing import TYPE_CHECKING

import matplotlib.pyplot as plt

if TYPE_CHECKING:
    from matplotlib.axes import Axes


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
