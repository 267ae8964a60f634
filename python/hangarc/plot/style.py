"""Colours, axes and the check for matplotlib that all pictures share."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import matplotlib.pyplot as plt
import numpy as np
from matplotlib.colors import BoundaryNorm, Colormap, ListedColormap
from matplotlib.ticker import FuncFormatter, MaxNLocator, ScalarFormatter

from hangarc._catalogue import M_PER_FT, Language
from hangarc._colours import FIRST, INK, PALE, SECOND, SHADE, THIRD

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.axis import Axis

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
    "colour_key",
    "in_feet",
    "name_axes",
    "plain_axes",
    "step_colours",
    "worded_axes",
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


def worded_axes(ax: Axes, said: Language, picture: str, **fields: object) -> Axes:
    """Name axes and picture in words, and leave out the frame's upper and right side."""
    name_axes(ax, said, picture, **fields)
    return plain_axes(ax)


def plain_axes(ax: Axes) -> Axes:
    """Leave out the frame's upper and right side."""
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    ax.grid(color=SHADE, linewidth=0.8)
    ax.set_axisbelow(True)
    return ax


def name_axes(ax: Axes, said: Language, picture: str, **fields: object) -> None:
    """Name axes and picture, and write the numbers at the ticks as the language does."""
    ax.set_xlabel(said.word(f"plot.{picture}_x", **fields))
    ax.set_ylabel(said.word(f"plot.{picture}_y", **fields))
    ax.set_title(said.word(f"plot.{picture}_title", **fields), loc="left")
    for axis in (ax.xaxis, ax.yaxis):
        if type(axis.get_major_formatter()) is ScalarFormatter:
            axis.set_major_formatter(_Ticks(said.decimal_sign))


def in_feet(*axes: Axis) -> None:
    """Set ticks at whole feet on axes in metres."""
    for axis in axes:
        axis.set_major_locator(_FeetLocator())
        axis.set_major_formatter(FuncFormatter(lambda at_m, _: f"{at_m / M_PER_FT:.0f}"))


class _FeetLocator(MaxNLocator):
    """Round numbers of feet on an axis in metres."""

    def __init__(self) -> None:
        super().__init__(nbins=6, steps=[1, 2, 5, 10], integer=True)

    def tick_values(self, vmin: float, vmax: float) -> Any:
        feet = super().tick_values(vmin / M_PER_FT, vmax / M_PER_FT)
        return np.asarray(feet) * M_PER_FT


class _Ticks(ScalarFormatter):
    """Writes numbers with the decimal sign of a language."""

    def __init__(self, decimal_sign: str) -> None:
        super().__init__()
        self._sign = decimal_sign

    def __call__(self, x: float, pos: Any = None) -> str:
        return super().__call__(x, pos).replace(".", self._sign)


def step_colours() -> tuple[Colormap, BoundaryNorm]:
    """Give the colours of the steps of level, and which level has which."""
    colours = ListedColormap(STEPS[1:-1]).with_extremes(under=STEPS[0], over=STEPS[-1])
    return colours, BoundaryNorm(STEP_EDGES_DB, len(STEPS) - 2)


def colour_key(ax: Axes, drawn: Any, said: Language, words: str, **look: Any) -> None:
    """Draw the key of the steps of level beside the picture."""
    figure = ax.get_figure(root=True)
    assert figure is not None
    bar = figure.colorbar(drawn, ax=ax, extend="both", **look)
    bar.set_label(words)
    edges = [said.trimmed(edge, sign=True).replace("-", "−") for edge in STEP_EDGES_DB]
    bar.set_ticks(STEP_EDGES_DB, labels=edges)
