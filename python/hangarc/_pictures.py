"""The small pictures that notebooks show beside a result's table."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from hangarc._colours import FIRST, INK, PALE, SECOND, SHADE, THIRD
from hangarc._drawing import Drawing, ticks

if TYPE_CHECKING:
    from hangarc._pose import Pose, Throw
    from hangarc.closing.path import Closing
    from hangarc.model import Cabinet, FlyFrame, Venue
    from hangarc.statics.building import BuildUp
    from hangarc.statics.built import PlanComparison
    from hangarc.suspension.beams import Beam
    from hangarc.suspension.bridles import HeavyLeg
    from hangarc.suspension.lines import LiftOff
    from hangarc.work import Work

Array = NDArray[np.float64]
GRAPH_MARGIN_PX = (48.0, 26.0, 46.0, 38.0)
LEAST_SHARE = 1e-8


def bodies(drawing: Drawing, placed: Pose, *, chain: bool = True) -> None:
    """Draw frame, cabinets and chain."""
    for corners in placed.corners_m:
        drawing.polygon(corners, SHADE)
    ends = placed.pick_m[[np.argmax(placed.pick_m[:, 0]), np.argmin(placed.pick_m[:, 0])]]
    drawing.polygon(np.vstack([placed.hinge_m[:1], ends, placed.corners_m[0, 3:]]), PALE)
    if placed.chain_m is not None:
        tail = [placed.hinge_m[-1:], placed.chain_m[1:], placed.corners_m[-1, 2:3]]
        drawing.polygon(np.vstack(tail), PALE)
        if chain:
            drawing.line(placed.chain_m, SECOND, 1.6, "5 3")


def extent(placed: Pose) -> Array:
    """Every point of a placed hang."""
    parts = [placed.corners_m.reshape(-1, 2), placed.pick_m]
    if placed.chain_m is not None:
        parts.append(placed.chain_m)
    return np.vstack(parts)


def cabinet(one: Cabinet) -> str:
    """Draw a cabinet from the side: its hinges, rear pins and centre of gravity."""
    half, rear = one.height_m / 2.0, (one.rear_height_m or one.height_m) / 2.0
    outline = [(0.0, half), (0.0, -half), (-one.depth_m, -rear), (-one.depth_m, rear)]
    drawing = Drawing(
        outline, width_px=260, height_px=200, margin_px=(16, 22, 46, 22), words="a cabinet"
    )
    drawing.polygon(outline, SHADE)
    for height in (half, -half):
        drawing.ring((one.hinge_x_m, height), THIRD)
    for height in (half - one.rear_pin_inset_m, one.rear_pin_inset_m - half):
        drawing.ring((one.rear_pin_x_m, height), SECOND, 3.0)
    drawing.dot(one.cg_m, FIRST, 4.5)
    drawing.words(one.cg_m, "CG", FIRST, by_px=(8, 0), bold=True)
    drawing.arrow((0.0, 0.0), (34.0, 0.0), INK, 1.6)
    return drawing.svg()


def fly_frame(one: FlyFrame) -> str:
    """Draw a fly frame from the side: its hinge, pick holes, chain anchor and CG."""
    points = [(x, one.pick_z_m) for x in one.pick_x_m] + [(0.0, 0.0), one.cg_m]
    if one.chain_anchor_m is not None:
        points.append(one.chain_anchor_m)
    drawing = Drawing(
        points, width_px=320, height_px=160, margin_px=(20, 24, 20, 22), words="a fly frame"
    )
    front, rear = max(one.pick_x_m), min(one.pick_x_m)
    outline = [(0.0, 0.0), (front, one.pick_z_m), (rear, one.pick_z_m)]
    drawing.polygon([*outline, (rear, 0.0)] if rear < 0.0 else outline, PALE)
    for x in one.pick_x_m:
        drawing.dot((x, one.pick_z_m), INK, 2.2)
    drawing.ring((0.0, 0.0), THIRD)
    if one.chain_anchor_m is not None:
        drawing.ring(one.chain_anchor_m, SECOND, 3.0)
    drawing.dot(one.cg_m, FIRST, 4.5)
    drawing.words(one.cg_m, "CG", FIRST, by_px=(8, 0), bold=True)
    return drawing.svg()


def column(placed: Pose, *, chain: bool = True, words: str = "the hang from the side") -> str:
    """Draw a hang with its centre of gravity."""
    if placed.corners_m.ndim != 3 or not np.isfinite(placed.corners_m).all():
        return ""
    drawing = Drawing(extent(placed), width_px=240, height_px=300, words=words)
    bodies(drawing, placed, chain=chain)
    for hinge in placed.hinge_m:
        drawing.dot(hinge, INK, 1.8)
    drawing.dot(placed.cg_m, FIRST, 4.5)
    drawing.words(placed.cg_m, "CG", FIRST, by_px=(7, 0), bold=True)
    return drawing.svg()


def section(venue: Venue, placed: Pose | None = None, throws: Sequence[Throw | None] = ()) -> str:
    """Draw the floors of a venue, and the hang with the axes that meet something."""
    floors = [np.asarray(area.profile_m, float) for area in venue.areas if len(area.profile_m)]
    points = [*floors] if placed is None else [*floors, extent(placed)]
    walls = [np.asarray(s.profile_m, float) for s in venue.surfaces if len(s.profile_m)]
    if not points:
        return ""
    drawing = Drawing(
        np.vstack([*points, *walls]), width_px=440, height_px=240, words="the section of the room"
    )
    if placed is not None:
        for front, throw in zip(placed.front_m, throws, strict=False):
            if throw is not None:
                drawing.line([front, throw.point_m], SECOND, 0.7)
        bodies(drawing, placed, chain=False)
    for wall in walls:
        drawing.line(wall, INK, 1.4, "5 2")
    for floor in floors:
        drawing.line(floor, INK, 2.4)
    return drawing.svg()


def closing(result: Closing) -> str:
    """Draw the chain's force while it shortens, from the free hang to the closed one."""
    shortened_mm = (result.chain_free_m - np.asarray(result.path["chain_m"])) * 1e3
    force_kn = np.asarray(result.path["force_n"]) / 1e3
    if not len(force_kn) or not np.isfinite([shortened_mm, force_kn]).all():
        return ""
    drawing = graph(
        shortened_mm, force_kn, "chain shortened, mm", "chain force, kN", from_zero=True
    )
    drawing.line(np.column_stack([shortened_mm, force_kn]), FIRST, 2.0)
    for event in result.events:
        if event.contact == "arrives at stop":
            at = ((result.chain_free_m - event.chain_m) * 1e3, event.force_n / 1e3)
            drawing.dot(at, FIRST)
            drawing.words(at, str(event.joint), by_px=(-4, 9), anchor="end")
    if result.closing_force_n is not None:
        at = ((result.chain_free_m - result.chain_closed_m) * 1e3, result.closing_force_n / 1e3)
        drawing.dot(at, SECOND, 4.0)
        drawing.words(at, "closed", SECOND, by_px=(7, -4))
    return drawing.svg()


def bridle(anchors_m: Array, apex_m: Array, force_n: Array) -> str:
    """Draw the legs in the plane in which they spread most, with their forces."""
    if not np.isfinite([*anchors_m.ravel(), *apex_m]).all():
        return ""
    flat = np.vstack([anchors_m, apex_m])
    if flat.shape[1] == 3:
        _, _, ways = np.linalg.svd(flat[:, :2] - flat[:, :2].mean(axis=0))
        flat = np.column_stack([flat[:, :2] @ ways[0], flat[:, 2]])
    drawing = Drawing(
        flat, width_px=300, height_px=220, margin_px=(40, 20, 40, 50), words="the bridle"
    )
    for anchor, force in zip(flat[:-1], force_n, strict=True):
        drawing.line([anchor, flat[-1]], INK, 2.0, "" if force > 0.0 else "4 3")
        drawing.polygon(_support_px(drawing, anchor), PALE)
        said = f"{force / 1e3:.2f} kN" if force > 0.0 else "slack"
        middle = (anchor + flat[-1]) / 2.0
        drawing.words(middle, said, SECOND, by_px=(0, 4), anchor="middle", bold=True)
    drawing.arrow(flat[-1], (0.0, -38.0), FIRST)
    drawing.dot(flat[-1], INK, 3.5)
    return drawing.svg()


def _support_px(drawing: Drawing, point: Any) -> Array:
    """A small triangle at a point, in the subject's own units."""
    step = 7.0 / drawing.scale_px
    return np.asarray([point, point + step * (-1.0, 1.4), point + step * (1.0, 1.4)])


def beam(result: Beam) -> str:
    """Draw the bending moment along a beam, its supports below with what each carries."""
    length_m, supports, *_ = result._core.__getnewargs__()
    places = np.linspace(0.0, float(length_m), 161)  # type: ignore[arg-type]
    moment_knm = result.moment_nm(places) / 1e3
    if not np.isfinite(moment_knm).all():
        return ""
    drawing = graph(
        places, -moment_knm, "x, m", "bending moment, kN m, sagging downward", downward=True
    )
    zero = [(0.0, 0.0), (places[-1], 0.0)]
    outline = np.vstack([[(0.0, 0.0)], np.column_stack([places, -moment_knm]), zero[1:]])
    drawing.polygon(outline, "#dfe8f2", FIRST)
    drawing.line(zero, INK, 3.0)
    for (x, *_), reaction in zip(supports, result.reaction_n, strict=True):  # type: ignore[call-overload]
        drawing.arrow((x, 0.0), (0.0, 22.0 if reaction >= 0.0 else -22.0), SECOND, ends_there=True)
        below_px = -30.0 if reaction >= 0.0 else 30.0
        drawing.words(
            (x, 0.0),
            f"{reaction / 1e3:.2f} kN",
            SECOND,
            by_px=(0, below_px),
            anchor="middle",
            bold=True,
        )
    return drawing.svg()


def bars(values: Array, x_title: str, names: Sequence[str], *, names_px: float = 70.0) -> str:
    """Draw one bar for each of a few figures, the first uppermost."""
    values = np.asarray(values, float).ravel()
    if not 1 <= len(values) <= 40 or not np.isfinite(values).all():
        return ""
    high_px = 16.0
    low, high = min(0.0, values.min()), max(0.0, values.max())
    across = ticks(low, high if high > low else low + 1.0, 5)
    box = [(across[0], -len(values)), (across[-1], 0.0)]
    drawing = Drawing(
        box, width_px=330, height_px=high_px * len(values) + 60,
        margin_px=(names_px, 14, 20, 44),
        same_scale=False, words=x_title,
    )  # fmt: skip
    for row, (value, name) in enumerate(zip(values, names, strict=True)):
        drawing.polygon(
            [(0, -row - 0.15), (value, -row - 0.15), (value, -row - 0.85), (0, -row - 0.85)],
            FIRST, FIRST,
        )  # fmt: skip
        drawing.words((across[0], -row - 0.5), name, by_px=(-6, 0), anchor="end")
    drawing.line([(0, 0), (0, -len(values))], INK, 1.0)
    drawing.axes((across, x_title), ((), ""), origin=(across[0], -len(values)))
    return drawing.svg()


def seat_levels(distance_m: Array, level_db: Array, title: str) -> str:
    """Draw the level at each place over its distance."""
    if not np.isfinite([distance_m, level_db]).all():
        return ""
    drawing = graph(distance_m, level_db, "distance, m", title)
    every = max(1, len(distance_m) // 400)
    for at in zip(distance_m[::every], level_db[::every], strict=True):
        drawing.dot(at, FIRST, 1.6)
    return drawing.svg()


def bands(band_hz: Array, values_db: Array, title: str) -> str:
    """Draw one figure a third octave."""
    if len(band_hz) < 2 or not np.isfinite(values_db).all():
        return ""
    places = np.arange(len(band_hz), dtype=float)
    drawing = graph(places, values_db, "", title, from_zero=True, x_ticks=False)
    drawing.line(np.column_stack([places, values_db]), FIRST, 1.8)
    base = ticks(0.0, float(values_db.max()))[0]
    for place, hz, value in zip(places, band_hz, values_db, strict=True):
        drawing.dot((place, value), FIRST)
        if round(10 * np.log10(hz / 1000.0)) % 3 == 0:
            name = f"{hz:.0f}" if hz < 950 else f"{hz / 1000:.0f} k"
            drawing.words((place, base), name, by_px=(0, -13), anchor="middle")
    drawing.words((places[-1] / 2, base), "third octave, Hz", by_px=(0, -29), anchor="middle")
    return drawing.svg()


def checks(read_over_planned: Array, least: Array, most: Array, names: Sequence[str]) -> str:
    """Draw what was read less what was planned, within what is accepted."""
    points = np.concatenate([read_over_planned, least, most])
    points = points[np.isfinite(points)]
    if not len(points):
        return ""
    across = ticks(float(points.min()), float(points.max()), 5)
    rows = len(read_over_planned)
    drawing = Drawing(
        [(across[0], -rows), (across[-1], 0.0)], width_px=360, height_px=18.0 * rows + 60,
        margin_px=(110, 14, 20, 44), same_scale=False, words="readings against the plan",
    )  # fmt: skip
    for row, name in enumerate(names):
        low, high = least[row], most[row]
        low = low if np.isfinite(low) else across[0]
        high = high if np.isfinite(high) else across[-1]
        at = -row - 0.5
        drawing.line([(low, at), (high, at)], PALE, 9.0)
        inside = low <= read_over_planned[row] <= high
        drawing.dot((read_over_planned[row], at), THIRD if inside else SECOND, 4.0)
        drawing.words((across[0], at), name, by_px=(-6, 0), anchor="end")
    drawing.axes((across, "read less planned; bar: accepted"), ((), ""), origin=(across[0], -rows))
    return drawing.svg()


def build_up(result: BuildUp) -> str:
    """Draw what each hoist carries in each stage, the first stage uppermost."""
    names, loads = [], []
    for stage in result.stages:
        last = stage is result.stages[-1] and stage.closed
        state = "closed" if last and len(result.stages) > 1 else ""
        for hoist, load in enumerate(stage.hoist_load_n, start=1):
            said = f"{stage.cabinets} hung {state}".strip() if hoist == 1 else ""
            names.append(f"{said}, hoist {hoist}" if said else f"hoist {hoist}")
            loads.append(load / 1e3)
    return bars(np.asarray(loads), "load, kN", names, names_px=140.0)


def work(result: Work) -> str:
    """Draw where the hang is after each step: from its lowest point up to its picks."""
    steps: list[tuple[str, float, Array, Array | None]]
    steps = [("frame", result.frame.hinge_m, result.frame.pick_m, None)]
    for lift in result.lifts:
        steps.append((f"cart {lift.number}", lift.lowest_m, lift.pick_m, lift.hoist_load_n))
    rear = result.closing
    if rear is not None:
        closed_m = rear.pick_m
        steps.append(("closed", rear.lowest_closed_m, closed_m, rear.hoist_load_closed_n))
    trim = result.trim
    steps.append(("trim", trim.lowest_m, trim.pick_m, trim.hoist_load_n))
    if len(steps) > 14 or not all(np.isfinite([low, *high]).all() for _, low, high, _ in steps):
        return ""
    up = ticks(0.0, max(float(np.max(high)) for _, _, high, _ in steps))
    places = [float(place) for place in range(len(steps))]
    drawing = Drawing(
        [(-0.6, 0.0), (places[-1] + 0.6, up[-1])], width_px=max(300.0, 90.0 + 58.0 * len(steps)),
        height_px=240, margin_px=(48.0, 40.0, 20.0, 38.0), same_scale=False,
        words="heights and hoist loads step by step",
    )  # fmt: skip
    drawing.axes(
        ([-0.6, *places, places[-1] + 0.6], "greatest hoist load above each, kN"),
        (up, "height, m"), origin=(-0.6, 0.0), names=["", *(step[0] for step in steps), ""],
    )  # fmt: skip
    for place, (_, low, high, loads) in zip(places, steps, strict=True):
        top = float(np.max(high))
        drawing.polygon(
            [(place - 0.2, low), (place + 0.2, low), (place + 0.2, top), (place - 0.2, top)], SHADE
        )
        for pick in np.atleast_1d(high):
            drawing.line([(place - 0.2, pick), (place + 0.2, pick)], FIRST, 2.0)
        if loads is not None:
            said = f"{float(np.max(loads)) / 1e3:.2f}"
            drawing.words((place, top), said, SECOND, by_px=(0, 9), anchor="middle", bold=True)
    return drawing.svg()


def lift_off(result: LiftOff) -> str:
    """Draw what each hoist reads while the hang comes off its cart."""
    raised_mm, load_kn = result.raised_m * 1e3, result.hoist_load_n / 1e3
    if len(raised_mm) < 2 or not np.isfinite(load_kn).all():
        return ""
    drawing = graph(raised_mm, load_kn, "hoists raised, mm", "load, kN", from_zero=True)
    top = int(np.argmax(load_kn[-1]))
    for hoist, (line, colour) in enumerate(zip(load_kn.T, (FIRST, SECOND), strict=False)):
        drawing.line(np.column_stack([raised_mm, line]), colour, 1.8)
        beside = (-4.0, 9.0 if hoist == top else -11.0)
        end = (raised_mm[-1], line[-1])
        drawing.words(end, f"hoist {hoist + 1}", colour, by_px=beside, anchor="end")
    return drawing.svg()


def heavy_leg(result: HeavyLeg) -> str:
    """Draw the chain as it hangs, with what it pulls at its ends."""
    start_n, end_n = result.vertical_n
    weight_n_m, pull_n = (start_n + end_n) / result.length_m, max(result.horizontal_n, 1e-9)
    along = np.linspace(0.0, result.length_m, 121)
    upward = weight_n_m * along - start_n
    x = pull_n / weight_n_m * (np.arcsinh(upward / pull_n) - np.arcsinh(-start_n / pull_n))
    z = (np.hypot(pull_n, upward) - math.hypot(pull_n, start_n)) / weight_n_m
    points = np.column_stack([x, z])
    if not np.isfinite(points).all():
        return ""
    drawing = Drawing(
        points, width_px=340, height_px=240, margin_px=(56, 40, 56, 20), words="the chain"
    )
    drawing.line(points[[0, -1]], PALE, 1.0, "4 3")
    drawing.line(points, INK, 2.4)
    for end, force_n in zip(points[[0, -1]], result.force_n, strict=True):
        drawing.polygon(_support_px(drawing, end), PALE)
        said = f"{force_n / 1e3:.3g} kN"
        drawing.words(end, said, SECOND, by_px=(0, 20), anchor="middle", bold=True)
    return drawing.svg()


def deviations(result: PlanComparison) -> str:
    """Draw how far each joint seems off its pin, with twice its uncertainty."""
    spread = 2.0 * np.sqrt(np.maximum(np.diag(result.covariance_deg2)[1:], 0.0))
    known = np.asarray(result.determined, bool)
    if not known.any() or not np.isfinite([result.deviation_deg, spread]).all():
        return ""
    ends = np.concatenate([result.deviation_deg - spread, result.deviation_deg + spread])[
        np.concatenate([known, known])
    ]
    across = ticks(min(0.0, float(ends.min())), max(0.0, float(ends.max())), 5)
    rows = len(known)
    drawing = Drawing(
        [(across[0], -rows), (across[-1], 0.0)], width_px=340, height_px=18.0 * rows + 60,
        margin_px=(70, 14, 20, 44), same_scale=False, words="joints off their pins",
    )  # fmt: skip
    drawing.line([(0.0, 0.0), (0.0, -rows)], INK, 1.0)
    for row, (off, wide) in enumerate(zip(result.deviation_deg, spread, strict=True)):
        at = -row - 0.5
        drawing.words((across[0], at), f"joint {row + 1}", by_px=(-6, 0), anchor="end")
        if not known[row]:
            drawing.words((0.0, at), "not determined", by_px=(6, 0))
            continue
        odd = result.verdict[row] == "inconsistent"
        drawing.line([(off - wide, at), (off + wide, at)], PALE, 9.0)
        drawing.dot((off, at), SECOND if odd else THIRD, 4.0)
    title = "read less planned, °; bar: twice its uncertainty"
    drawing.axes((across, title), ((), ""), origin=(across[0], -rows))
    return drawing.svg()


def agreement(share: Array) -> str:
    """Draw each difference as its share of what is allowed, the greatest uppermost."""
    share = np.sort(np.abs(share[np.isfinite(share)]))[::-1]
    if not len(share):
        return ""
    powers = np.log10(np.maximum(share, LEAST_SHARE))
    low, high = math.log10(LEAST_SHARE), max(1.0, math.ceil(float(powers.max())))
    drawing = Drawing(
        [(low, 0.0), (high, float(len(share)))], width_px=340, height_px=230,
        margin_px=(20, 14, 24, 44), same_scale=False, words="differences over what is allowed",
    )  # fmt: skip
    drawing.line([(0.0, 0.0), (0.0, len(share))], SECOND, 1.4, "5 3")
    for row, power in enumerate(powers):
        drawing.dot((power, len(share) - row - 0.5), SECOND if power > 0.0 else THIRD, 2.2)
    steps = [float(power) for power in range(int(low), int(high) + 1, 2)]
    if steps[-1] < high:
        steps.append(high)
    names = ["≤1e-8", *(f"{10**power:g}" for power in steps[1:])]
    drawing.axes(
        (steps, "each figure's difference over the allowed one"),
        ((), ""),
        origin=(low, 0),
        names=names,
    )
    return drawing.svg()


def shares(rows: Sequence[tuple[str, str, float]]) -> str:
    """Draw for each figure which input adds most, and its share of the squares."""
    if not rows or not np.isfinite([share for *_, share in rows]).all():
        return ""
    drawing = Drawing(
        [(0.0, -float(len(rows))), (1.0, 0.0)], width_px=460, height_px=30.0 * len(rows) + 60,
        margin_px=(180, 14, 24, 44), same_scale=False, words="what adds most to each figure",
    )  # fmt: skip
    for row, (figure, most, share) in enumerate(rows):
        top, bottom = -row - 0.1, -row - 0.9
        drawing.polygon([(0, top), (1, top), (1, bottom), (0, bottom)], SHADE, PALE)
        drawing.polygon([(0, top), (share, top), (share, bottom), (0, bottom)], "#b9cbe2", FIRST)
        drawing.words((0.0, -row - 0.5), figure, by_px=(-6, 0), anchor="end")
        drawing.words((0.0, -row - 0.5), most, by_px=(6, 0), bold=True)
    steps = [0.0, 0.25, 0.5, 0.75, 1.0]
    names = [f"{step:.0%}" for step in steps]
    title = "share of the square that the inputs named add"
    drawing.axes((steps, title), ((), ""), origin=(0.0, -len(rows)), names=names)
    return drawing.svg()


def graph(
    x: Array,
    y: Array,
    x_title: str,
    y_title: str,
    *,
    from_zero: bool = False,
    x_ticks: bool = True,
    downward: bool = False,
    width_px: float = 360.0,
    height_px: float = 230.0,
) -> Drawing:
    """Lay out a graph with axes that cover the values."""
    low = min(0.0, float(np.min(y))) if from_zero else float(np.min(y))
    up = ticks(low, max(float(np.max(y)), low + 1e-6))
    across = ticks(float(np.min(x)), float(np.max(x)))
    ends = (across[0], across[-1]) if x_ticks else (float(np.min(x)), float(np.max(x)))
    drawing = Drawing(
        [(ends[0], up[0]), (ends[1], up[-1])], width_px=width_px, height_px=height_px,
        margin_px=GRAPH_MARGIN_PX, same_scale=False, words=f"{y_title} over {x_title}",
    )  # fmt: skip
    shown: Sequence[float] = across if x_ticks else ends
    names = [] if x_ticks else ["", ""]
    drawing.axes(
        (shown, x_title), (up, y_title), origin=(ends[0], up[0]), names=names, downward=downward
    )
    return drawing
