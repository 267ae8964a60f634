"""The small plans, seen from above, that notebooks show beside a result's table."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from hangarc._colours import FIRST, INK, PALE, SECOND, SHADE
from hangarc._drawing import DOWN, Drawing, ticks
from hangarc._pictures import GRAPH_MARGIN_PX

if TYPE_CHECKING:
    from hangarc.acoustics.places import LevelMap
    from hangarc.model import Hang, SeatArea, Venue

Array = NDArray[np.float64]
#: A name, the hang, where it stands and its pan.
Place = tuple[str, "Hang", Sequence[float], float]

LEAST_M = 6.0
ARROW_PX = 34.0
STEP_DB = 3.0
STEPS = 8


def plan(places: Sequence[Place], venue: Venue | None = None) -> str:
    """Draw hangs from above, each with where it points, over the seats where they are known."""
    if not places:
        return ""
    seats = [] if venue is None else [_outline(area) for area in venue.areas]
    boxes = [_box(hang, at, pan_deg) for _, hang, at, pan_deg in places]
    points = np.vstack([*seats, *boxes])
    lack = np.maximum(LEAST_M - np.ptp(points, axis=0), 0.0) / 2.0
    points = np.vstack([points, points.min(axis=0) - lack, points.max(axis=0) + lack])
    beside_px = 20.0 + 7.0 * max(len(name) for name, *_ in places)
    drawing = Drawing(
        points, width_px=380, height_px=300, margin_px=(beside_px, 22, 50, 24), words="the plan"
    )
    for outline in seats:
        drawing.polygon(outline, SHADE, PALE)
    for (name, _, at, pan_deg), box in zip(places, boxes, strict=True):
        pan = math.radians(pan_deg)
        drawing.arrow(at, (ARROW_PX * math.cos(pan), ARROW_PX * math.sin(pan)), FIRST, 1.8)
        drawing.polygon(box, INK)
        ahead = math.cos(pan) >= 0.0
        rear_px = drawing.px(box)[:, 0]
        beside = ((rear_px.min() - 6.0) if ahead else (rear_px.max() + 6.0), drawing.px(at)[1])
        drawing.words_px(beside, name, FIRST, anchor="end" if ahead else "start", bold=True)
    _scale(drawing, points)
    return drawing.svg()


def _box(hang: Hang, at_m: Sequence[float], pan_deg: float) -> Array:
    """The widest cabinet from above, its front on the place."""
    deep = max(cabinet.depth_m for cabinet in hang.cabinets)
    half = max(cabinet.width_m for cabinet in hang.cabinets) / 2.0
    corners = np.array([(0.0, half), (0.0, -half), (-deep, -half), (-deep, half)])
    cos, sin = math.cos(math.radians(pan_deg)), math.sin(math.radians(pan_deg))
    turned = corners @ np.array([[cos, sin], [-sin, cos]])
    box: Array = turned + np.asarray(at_m, float)
    return box


def _outline(area: SeatArea) -> Array:
    """A block of seats from above: its outline, or its floor line as wide as its rows."""
    if len(area.outline_m):
        return np.asarray(area.outline_m, float)
    x = np.asarray(area.profile_m, float)[:, 0]
    half = np.broadcast_to(np.asarray(area.width_m, float), x.shape) / 2.0
    centre = area.row_centre_x_m
    if centre is None:
        return np.vstack([np.column_stack([x, half]), np.column_stack([x, -half])[::-1]])
    rows = []
    for radius, width in ((x[0] - centre, half[0]), (x[-1] - centre, half[-1])):
        turn = np.linspace(-1.0, 1.0, 25) * width / max(abs(radius), 1e-9)
        rows.append(np.column_stack([centre + radius * np.cos(turn), radius * np.sin(turn)]))
    return np.vstack([rows[0], rows[1][::-1]])


def _scale(drawing: Drawing, points: Array) -> None:
    """A bar of a round length below the plan."""
    low, high = points.min(axis=0), points.max(axis=0)
    long_m = next(step for step in ticks(0.0, (high[0] - low[0]) / 3.0, 3)[::-1] if step > 0.0)
    start, end = drawing.px((low[0], low[1])), drawing.px((low[0] + long_m, low[1]))
    start, end = start + 12.0 * DOWN, end + 12.0 * DOWN
    drawing.line_px([start, end], INK, 2.0)
    drawing.words_px((end[0] + 6.0, end[1]), f"{long_m:g} m")


def level_map(found: LevelMap) -> str:
    """Draw the levels of a map in steps under the greatest, so that a row is a few rectangles."""
    x, across = found.x_m, found.across_m
    if min(len(x), len(across)) < 2 or not np.isfinite(found.level_db).any():
        return ""
    rows, columns = (_thinned(len(axis), most) for axis, most in ((across, 32), (x, 48)))
    level_db = found.level_db[np.ix_(rows, columns)]
    top_db = float(np.nanmax(level_db))
    step = np.where(np.isfinite(level_db), (top_db - level_db) // STEP_DB, -1.0)
    step = np.minimum(step, STEPS - 1).astype(int)
    x_edges, y_edges = _edges(x[columns]), _edges(across[rows])
    wide, high = np.ptp(x_edges), np.ptp(y_edges)
    left, upper, right, lower = GRAPH_MARGIN_PX
    right += 50.0
    drawing = Drawing(
        [(x_edges[0], y_edges[0]), (x_edges[-1], y_edges[-1])], width_px=430, height_px=270,
        margin_px=(left, upper, right, lower), same_scale=bool(1 / 3 <= wide / high <= 3),
        words="levels over the map",
    )  # fmt: skip
    for index in range(int(step.max()) + 1):
        drawing.blocks(_runs(step == index, x_edges, y_edges), shade(index))
        x_px, y_px = drawing.width_px - right + 12.0, upper + 18.0 * index
        drawing.block_px((x_px, y_px), (x_px + 14.0, y_px + 14.0), shade(index))
        named = f"{top_db:.0f} dB" if index == 0 else f"−{STEP_DB * index:g} dB"
        drawing.words_px((x_px + 19.0, y_px + 7.0), named.replace("-", "−"))
    x_ticks, y_ticks = (_inside(axis) for axis in (x_edges, y_edges))
    drawing.axes((x_ticks, "x, m"), (y_ticks, ""), origin=(x_edges[0], y_edges[0]))
    drawing.words_px((left - 30.0, upper - 14.0), "across, m")
    return drawing.svg()


def _runs(chosen: NDArray[np.bool_], x_edges: Array, y_edges: Array) -> list[Array]:
    """Corners of the rectangles that cover the chosen cells, one for each run of a row."""
    found = []
    for row, of_row in enumerate(chosen):
        changes = np.flatnonzero(np.diff(np.concatenate([[False], of_row, [False]])))
        for first, last in changes.reshape(-1, 2):
            low, high = (x_edges[first], y_edges[row]), (x_edges[last], y_edges[row + 1])
            found.append(np.array([low, high]))
    return found


def _inside(edges: Array) -> list[float]:
    """Round figures within an axis."""
    low, high = sorted((float(edges[0]), float(edges[-1])))
    return [tick for tick in ticks(low, high, 5) if low <= tick <= high]


def shade(step: int) -> str:
    """The colour of a step under the greatest level, paler with each."""
    ramp = [(0.0, SECOND), (0.35, "#f0c27b"), (1.0, FIRST)]
    share = step / (STEPS - 1)
    (low, before), (high, after) = next(pair for pair in pairwise(ramp) if share <= pair[1][0])
    part = (share - low) / (high - low)
    mixed = (
        round((1.0 - part) * int(before[i : i + 2], 16) + part * int(after[i : i + 2], 16))
        for i in (1, 3, 5)
    )
    return "#" + "".join(f"{channel:02x}" for channel in mixed)


def _thinned(count: int, most: int) -> NDArray[np.int64]:
    """Which of so many to show."""
    return np.unique(np.linspace(0, count - 1, min(count, most)).round().astype(np.int64))


def _edges(middles: Array) -> Array:
    """Edges half-way between the middles."""
    between = (middles[1:] + middles[:-1]) / 2.0
    return np.concatenate([[2 * middles[0] - between[0]], between, [2 * middles[-1] - between[-1]]])
