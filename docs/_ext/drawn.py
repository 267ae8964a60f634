"""The figures: drawn by the library while the site is built."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import hangarc as ha
import matplotlib as mpl
import numpy as np
from hangarc.plot import FIRST, INK, SECOND
from sphinx.application import Sphinx

mpl.use("Agg")

import matplotlib.pyplot as plt
from matplotlib.axes import Axes

FIGURES = Path(__file__).parents[1] / "figures"
SPLAYS_DEG = (2.0, 2.7, 3.4, 4.2, 5.1, 7.2, 9.5)


def _note(ax: Axes, text: str, at: tuple[float, float], to: tuple[float, float]) -> None:
    arrow = {"arrowstyle": "-", "color": INK, "lw": 0.7}
    ax.annotate(text, at, to, arrowprops=arrow, fontsize=8, color=INK, va="center")


def signs(ax: Axes) -> None:
    """The axes of the room and of a body, tilt and splay."""
    hang, tilt_deg = ha.demo.hang((4.2, 6.1, 8.3)), 6.0
    placed = ha.pose(hang, tilt_deg)
    ha.plot.column(hang, tilt_deg, ax=ax)
    for index, (front, axis_deg) in enumerate(zip(placed.front_m, placed.axis_deg, strict=True)):
        ahead = np.array([np.cos(np.radians(axis_deg)), np.sin(np.radians(axis_deg))])
        end = front + 0.75 * ahead
        ax.annotate("", end, front, arrowprops={"arrowstyle": "->", "color": FIRST, "lw": 1.2})
        text = f"φ{index + 1} = {axis_deg:.1f}°"
        ax.text(*(front + 0.8 * ahead), text, fontsize=8, va="center")
    hinge = "upper front hinge of\ncabinet 1: x = 0, z = top"
    _note(ax, hinge, tuple(placed.hinge_m[0]), (0.25, 0.4))
    _note(ax, "φ3 = φ2 − splay\nof joint 2", tuple(placed.hinge_m[2]), (-1.55, -0.95))
    _note(ax, "front of cabinet 1 aims\nup by the tilt, 6°", tuple(placed.front_m[0]), (-1.7, 0.45))
    for name, step in (("x forward", (0.35, 0.0)), ("z up", (0.0, 0.35))):
        start = np.array([-1.65, -1.6])
        arrow = {"arrowstyle": "->", "color": INK, "lw": 1.2}
        ax.annotate("", start + step, start, arrowprops=arrow)
        ax.text(*(start + np.multiply(1.15, step)), name, fontsize=8)
    ax.set_xlim(-1.8, 1.5)
    ax.set_ylim(-1.75, 0.75)


def section(ax: Axes) -> None:
    """Where each axis meets the seats."""
    ha.plot.section(ha.demo.hang(SPLAYS_DEG), 0.0, 11.0, ha.demo.study().venue, ax=ax)


def picks(ax: Axes) -> None:
    """Hoist loads over tilt."""
    tilt_deg = np.linspace(-40.0, 40.0, 161)
    load_n = ha.hoist_loads(ha.demo.hang(SPLAYS_DEG), tilt_deg, [0.15, -1.05]).load_n
    for name, line, color in zip(("front", "rear"), load_n.T, (FIRST, SECOND), strict=True):
        ax.plot(tilt_deg, line / 1000.0, label=f"{name} hoist", color=color)
    ax.set_xlabel("tilt of the fly frame, °")
    ax.set_ylabel("load, kN")
    ax.legend(frameon=False)


def joints(ax: Axes) -> None:
    """Rear links of a tension hang, joint by joint."""
    found = ha.joint_loads(ha.demo.hang((2.1, 2.8, 3.6, 4.5, 5.5), rigging="tension"), 0.0)
    ha.plot.joint_forces({"rear link": found.rear_link_n}, ax=ax)


def closing(ax: Axes) -> None:
    """Chain force and joint angles while the chain shortens."""
    hang = ha.demo.hang(SPLAYS_DEG)
    ha.plot.closing_path(ha.close(hang, 0.0), gear=hang.gear, ax=ax)


START_DEG = (2.0, 2.7, 3.4, 4.2, 5.1)


def column(ax: Axes) -> None:
    """The first hang of the page to start with."""
    ha.plot.column(ha.demo.hang(START_DEG), 2.0, ax=ax)


def start(ax: Axes) -> None:
    """How it closes."""
    hang = ha.demo.hang(START_DEG)
    ha.plot.closing_path(ha.close(hang, 2.0), gear=hang.gear, ax=ax)


def bridle(ax: Axes) -> None:
    """Force in a leg over the load, for legs of equal length."""
    half_deg = np.linspace(0.0, 75.0, 151)
    legs = [
        ha.bridle(
            [(-np.sin(a), np.cos(a)), (np.sin(a), np.cos(a))], apex_m=(0.0, 0.0), load_n=1.0
        ).force_n[0]
        for a in np.radians(half_deg + 1e-6)
    ]
    ax.plot(2.0 * half_deg, legs, color=FIRST)
    ax.set_xlabel("included angle, °")
    ax.set_ylabel("force in each leg, of the load")
    ax.set_ylim(0.0, None)


def beam(ax: Axes) -> None:
    """Three hoists under a uniform load, and the middle one out of level."""
    low_m = np.linspace(-0.03, 0.03, 61)
    loads = [ha.suspension.DistributedLoad(from_m=0.0, to_m=12.0, start_n_m=500.0, end_n_m=500.0)]
    load_n = [
        ha.beam(12.0, [0.0, 6.0, 12.0], loads, ei_nm2=4e6, settlement_m=[0.0, z, 0.0]).reaction_n
        for z in low_m
    ]
    for name, line, color in zip(
        ("outer", "middle"), np.transpose(load_n)[:2], (SECOND, FIRST), strict=True
    ):
        ax.plot(1000.0 * low_m, line / 1000.0, label=f"{name} hoist", color=color)
    ax.set_xlabel("middle hoist low by, mm")
    ax.set_ylabel("load, kN")
    ax.legend(frameon=False)


def wind(ax: Axes) -> None:
    """Loads of two hoists in wind from the front."""
    hang, speed_m_s = ha.demo.hang(SPLAYS_DEG), np.linspace(0.0, 20.0, 41)
    load_n = np.array([
        ha.wind_loads(
            hang, 0.0, [0.15, -1.05], ha.Wind(speed_m_s=float(v)), top_m=11.0, closed=True
        ).hoist_load_n
        for v in speed_m_s
    ])  # fmt: skip
    for name, line, color in zip(("front", "rear"), load_n.T, (FIRST, SECOND), strict=True):
        ax.plot(speed_m_s, line / 1000.0, label=f"{name} hoist", color=color)
    ax.set_xlabel("gust speed, m/s")
    ax.set_ylabel("load, kN")
    ax.legend(frameon=False)


def line(ax: Axes) -> None:
    """A straight line near and far, at one frequency."""
    rig = ha.Placed(hang=ha.demo.hang((0.0,) * 11), tilt_deg=0.0, top_m=20.0)
    middle_m = 20.0 - 6.0 * 0.36
    distance_m = np.geomspace(1.0, 200.0, 400)
    points_m = np.column_stack([distance_m, 0.0 * distance_m, np.full_like(distance_m, middle_m)])
    for hz, color in ((500.0, SECOND), (4000.0, FIRST)):
        p = ha.pressure(rig, receivers_m=points_m, frequency_hz=[hz])[0]
        ax.semilogx(distance_m, 20.0 * np.log10(np.abs(p)), color=color, label=f"{hz:g} Hz")
    ax.set_xlabel("distance, m")
    ax.set_ylabel("level over one cabinet at 1 m, dB")
    ax.legend(frameon=False)


def air(ax: Axes) -> None:
    """What 100 m of air take, on a dry cold and a humid warm evening."""
    hz = np.geomspace(100.0, 16_000.0, 200)
    evenings = (("5 °C, 30 %", 5.0, 30.0, FIRST), ("25 °C, 70 %", 25.0, 70.0, SECOND))
    for name, t, h, color in evenings:
        ax.semilogx(hz, 100.0 * ha.air_absorption_db_per_m(hz, t, h), label=name, color=color)
    ax.set_xlabel("frequency, Hz")
    ax.set_ylabel("loss over 100 m, dB")
    ax.legend(frameon=False)


def edge(ax: Axes) -> None:
    """Pressure behind and beside an edge."""
    waves = np.linspace(-3.0, 3.0, 601)
    level_db = 20.0 * np.log10(np.abs(ha.acoustics.edge_factor(waves)))
    ax.plot(waves, level_db, color=FIRST)
    ax.set_xlabel("detour round the edge, wavelengths; negative in sight")
    ax.set_ylabel("level over the free path, dB")


DRAWINGS: dict[str, tuple[Callable[[Axes], None], tuple[float, float]]] = {
    "signs": (signs, (6.4, 5.2)),
    "section": (section, (7.2, 3.2)),
    "picks": (picks, (6.0, 3.0)),
    "joints": (joints, (5.0, 3.4)),
    "closing": (closing, (6.4, 3.4)),
    "column": (column, (5.4, 6.0)),
    "start": (start, (6.4, 3.4)),
    "bridle": (bridle, (5.6, 2.8)),
    "beam": (beam, (5.6, 2.8)),
    "wind": (wind, (5.6, 2.8)),
    "line": (line, (6.0, 3.0)),
    "air": (air, (5.6, 2.8)),
    "edge": (edge, (5.6, 2.8)),
}


def draw(app: Sphinx) -> None:
    """Draw what is not there yet."""
    FIGURES.mkdir(exist_ok=True)
    style = {"svg.fonttype": "none", "svg.hashsalt": "hangarc", "font.family": "sans-serif"}
    with mpl.rc_context(style):
        for name, (drawing, size) in DRAWINGS.items():
            path = FIGURES / f"{name}.svg"
            if path.exists() and app.builder.name == "dummy":
                continue
            figure, ax = plt.subplots(figsize=size, layout="constrained")
            drawing(ax)
            for place in ("left", "center"):
                ax.set_title("", loc=place)  # the page says what it shows
            figure.savefig(path, facecolor="white", metadata={"Date": None})
            plt.close(figure)


def setup(app: Sphinx) -> dict[str, Any]:
    """Draw before Sphinx looks for the figures."""
    app.connect("builder-inited", draw)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
