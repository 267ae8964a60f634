"""The crew's drawings: the column with everything the steps name, and the plan of its place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from hangarc._answers import Answer
from hangarc._pose import Pose, pose
from hangarc.plot.style import INK, PALE, SECOND, SHADE
from hangarc.report import fonts
from hangarc.report.telling import Telling

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MM_PER_IN = 25.4
WIDTH_MM, MOST_HEIGHT_MM = 58.0, 108.0
PLAN_MM = (58.0, 30.0)
LETTERS_MM = 3.5
# Printed as it is drawn; nothing on the sheet is smaller.
TEXT_PT = 8.0


def typeface() -> Any:
    """Settings with which drawings use the sheet's typeface."""
    from matplotlib import font_manager

    folder = fonts.folder()
    if folder is None:
        return {}
    for style in fonts.WEIGHTS.values():
        font_manager.fontManager.addfont(folder / f"FiraSansCondensed-{style}.ttf")
    return {"font.family": [fonts.NAME]}


def _axes(size_mm: tuple[float, float]) -> Axes:
    from matplotlib.figure import Figure

    figure = Figure(figsize=(size_mm[0] / MM_PER_IN, size_mm[1] / MM_PER_IN))
    ax = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    ax.set_axis_off()
    ax.set_aspect("equal")
    return ax


def column(answer: Answer, tell: Telling) -> Axes:
    """Draw the hang from the side: numbered cabinets and holes, pins, chain, and the swing."""
    hang, search = answer.hang, answer.search
    placed = pose(hang, search.tilt_deg, 0.0)
    ax = _axes((WIDTH_MM, MOST_HEIGHT_MM))
    hole = list(hang.frame.pick_x_m).index(search.pick_x_m[0])
    rear = answer.work.closing
    if rear is not None and answer.closing is not None:
        opened = pose(hang, rear.tilt_open_deg, 0.0,
                      splays_deg=answer.closing.free_angle_deg[1:-1])  # fmt: skip
        _outline(ax, opened, placed.pick_m[hole] - opened.pick_m[hole])
    _bodies(ax, placed, answer)
    _holes(ax, placed, answer)
    _tilt(ax, placed, answer, tell)
    _pins(ax, placed, answer, tell)
    if rear is not None:
        _swing(ax, placed, answer, tell, hole)
    _fit(ax)
    return ax


def _fit(ax: Axes) -> None:
    """Make the picture as high as what it shows, up to what a page has room for."""
    ax.autoscale_view()
    ax.margins(0.06, 0.04)
    (left, right), (low, high) = ax.get_xlim(), ax.get_ylim()
    # Holes have their numbers above all that is drawn.
    high += LETTERS_MM * max((right - left) / WIDTH_MM, (high - low) / MOST_HEIGHT_MM)
    ax.set_xlim(left, right)
    ax.set_ylim(low, high)
    height_mm = min(MOST_HEIGHT_MM, WIDTH_MM * (high - low) / (right - left))
    figure = ax.get_figure(root=True)
    assert figure is not None
    figure.set_size_inches(WIDTH_MM / MM_PER_IN, height_mm / MM_PER_IN)


def _polygon(ax: Axes, corners: Any, **look: Any) -> None:
    from matplotlib.patches import Polygon

    ax.add_patch(Polygon(corners, closed=True, **look))


def _outline(ax: Axes, opened: Pose, shift: Any) -> None:
    for corners in opened.corners_m:
        _polygon(ax, corners + shift, fill=False, edgecolor=PALE, linewidth=0.6, ls=(0, (3, 2)))


def _bodies(ax: Axes, placed: Pose, answer: Answer) -> None:
    look: dict[str, Any] = {"edgecolor": INK, "linewidth": 0.7, "zorder": 3}
    for number, corners in enumerate(placed.corners_m, start=1):
        _polygon(ax, corners, facecolor="white", **look)
        at = np.average(corners, axis=0, weights=(2.0, 2.0, 1.5, 1.5))
        ax.annotate(str(number), (at[0], at[1]), ha="center", va="center", color=INK,
                    fontsize=TEXT_PT, fontweight=600, zorder=6)  # fmt: skip
    order = np.argsort(placed.pick_m[:, 0])
    frame = np.vstack([placed.hinge_m[:1], placed.pick_m[order[[-1, 0]]], placed.corners_m[0, 3:]])
    _polygon(ax, frame, facecolor=SHADE, **look)
    if placed.chain_m is not None and answer.hang.bottom is not None:
        tail = np.vstack([placed.hinge_m[-1:], placed.chain_m[1:], placed.corners_m[-1, 2:3]])
        _polygon(ax, tail, facecolor=SHADE, **look)
    if placed.chain_m is not None and answer.hang.rigging == "compression":
        ax.plot(*placed.chain_m.T, color=SECOND, linewidth=1.3, zorder=5)


def _holes(ax: Axes, placed: Pose, answer: Answer) -> None:
    """Every hole a dot; those in use a ring, their number, and the hoist's line."""
    ax.plot(*placed.pick_m.T, ls="", marker=".", color=INK, markersize=1.6, zorder=4)
    span = np.ptp(placed.hinge_m[:, 1])
    for number, x_m in zip(answer.work.frame.holes, answer.search.pick_x_m, strict=True):
        at = placed.pick_m[list(answer.hang.frame.pick_x_m).index(x_m)]
        up = (at[0], at[1] + 0.07 * span)
        ax.plot([at[0], up[0]], [at[1], up[1]], color=INK, linewidth=1.0, zorder=4)
        ax.plot(*at, marker="o", markersize=4.5, mfc="white", mec=INK, zorder=5)
        ax.annotate(str(number), up, xytext=(0, 1.5), textcoords="offset points", ha="center",
                    color=INK, fontsize=TEXT_PT, fontweight=600)  # fmt: skip


def _tilt(ax: Axes, placed: Pose, answer: Answer, tell: Telling) -> None:
    """What the tilt is counted from: the level through the foremost hole."""
    front, rear = placed.pick_m[np.argsort(-placed.pick_m[:, 0])][[0, -1]]
    end_m = rear[0] - 0.35 * (front[0] - rear[0])
    ax.plot([end_m, front[0]], [front[1]] * 2, color=INK, linewidth=0.6, ls=(0, (6, 2, 1, 2)),
            zorder=2)  # fmt: skip
    along_m = (end_m - rear[0]) * np.tan(np.radians(answer.search.tilt_deg))
    ax.plot([end_m, rear[0]], [rear[1] + along_m, rear[1]], color=INK, linewidth=0.6, zorder=2)
    above = answer.search.tilt_deg >= 0.0
    ax.annotate(tell.text("tilt", answer.search.tilt_deg), (end_m, front[1]), ha="left",
                xytext=(0, 1.5 if above else -1.5), textcoords="offset points",
                va="bottom" if above else "top", color=INK, fontsize=TEXT_PT)  # fmt: skip


def _pins(ax: Axes, placed: Pose, answer: Answer, tell: Telling) -> None:
    for joint, splay_deg in enumerate(answer.hang.splays_deg, start=1):
        ax.annotate(
            f"{joint}: {tell.text('angle', splay_deg)}",
            placed.hinge_m[joint], xytext=(5, 0), textcoords="offset points", va="center",
            color=INK, fontsize=TEXT_PT, zorder=6,
            bbox={"boxstyle": "square,pad=0.1", "fc": "white", "ec": "none", "alpha": 0.85},
        )  # fmt: skip


def _swing(ax: Axes, placed: Pose, answer: Answer, tell: Telling, hole: int) -> None:
    rear = answer.work.closing
    assert rear is not None
    pick = placed.pick_m[hole] - [0.0, rear.pick_m[0]]
    start, end = rear.anchor_open_m + pick, rear.anchor_closed_m + pick
    floor_m = placed.pick_m[hole, 1] - rear.pick_m[0]
    ax.annotate("", end, start, zorder=7,
                arrowprops={"arrowstyle": "->", "color": INK, "linewidth": 0.9,
                            "connectionstyle": "arc3,rad=-0.2"})  # fmt: skip
    x0, x1 = pick[0] - rear.behind_m, pick[0] + rear.ahead_m
    ax.plot([x0, x1], [floor_m, floor_m], color=INK, linewidth=1.4, zorder=2)
    for x_m in (x0, x1):
        ax.plot([x_m, x_m], [floor_m, floor_m + 0.12], color=INK, linewidth=1.0, zorder=2)
    ax.plot([pick[0]] * 2, [floor_m, placed.pick_m[hole, 1]], color=PALE, linewidth=0.6,
            ls=(0, (6, 2, 1, 2)), zorder=1)  # fmt: skip
    for x_m, length_m, side in ((x0, rear.behind_m, "left"), (x1, rear.ahead_m, "right")):
        ax.annotate(tell.text("length", length_m), (x_m, floor_m), textcoords="offset points",
                    xytext=(2 if side == "left" else -2, 2), ha=side, va="bottom", color=INK,
                    fontsize=TEXT_PT)  # fmt: skip


def plan(answer: Answer, tell: Telling) -> Axes:
    """Draw the room's axes from the datum, and the hang with the way it points."""
    job = answer.job
    ax = _axes(PLAN_MM)
    x_m, y_m = job.position_m or (0.0, 0.0)
    place = np.array([-y_m, x_m])  # x up the paper, y to its left
    size = max(1.0, 0.6 * float(np.abs(place).max()))
    arrow: dict[str, Any] = {"arrowstyle": "-|>", "color": INK, "linewidth": 0.8,
                             "shrinkA": 0, "shrinkB": 0}  # fmt: skip
    for name, end, beside in (
        ("x", (0.0, 1.6 * size), (4, -5)),
        ("y", (-1.6 * size, 0.0), (0, -9)),
    ):
        ax.annotate("", end, (0.0, 0.0), arrowprops=arrow)
        ax.annotate(name, end, xytext=beside, textcoords="offset points",
                    fontsize=TEXT_PT, color=INK)  # fmt: skip
    ax.plot(0.0, 0.0, marker="+", markersize=9, mew=1.6, color=INK)
    ax.annotate(tell.word("who.datum"), (0.0, 0.0), xytext=(4, -12), textcoords="offset points",
                fontsize=TEXT_PT, color=INK)  # fmt: skip
    turn = np.radians(job.pan_deg or 0.0)
    forward = np.array([-np.sin(turn), np.cos(turn)]) * 0.9 * size
    tip = place + forward
    ax.annotate("", (tip[0], tip[1]), (place[0], place[1]), arrowprops={**arrow, "color": SECOND})
    ax.plot(*place, marker="s", markersize=5, color=SECOND)
    words = tell.word(f"side.{job.side}") if job.side else tell.word("picture.hang")
    ax.annotate(words, (place[0], place[1]), xytext=(6, 5), textcoords="offset points",
                fontsize=TEXT_PT, color=SECOND)  # fmt: skip
    reach = 1.9 * size
    ax.set_xlim(min(-reach, place[0] - size), max(reach, place[0] + size))
    ax.set_ylim(min(-0.6 * size, place[1] - size), max(reach, place[1] + 1.2 * size))
    return ax
